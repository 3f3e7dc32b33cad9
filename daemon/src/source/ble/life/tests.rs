//! What happens to sensors and radios, and what must follow. No IO anywhere.

mod radio;
mod streaming;
mod turns;

use super::*;

/// A life with its clock.
struct Bench {
    life: Life,
    now_s: f64,
}

impl Bench {
    /// A radio that is ready, and so many sensors that nothing was done for yet but a search.
    fn ready(sensors: usize) -> Self {
        let mut bench = Self { life: Life::new(sensors, 0.0), now_s: 0.0 };
        assert_eq!(bench.hear(Event::Tick), [Action::Open]);
        assert_eq!(bench.hear(Event::Opened(Ok(()))), [Action::AskAdapter]);
        assert_eq!(bench.hear(Event::Adapter(Ok(true))), [Action::Do(0, Step::Find)]);
        bench
    }

    /// The same, with every sensor streaming.
    fn streaming(sensors: usize) -> Self {
        let mut bench = Self::ready(sensors);
        for which in 0..sensors {
            bench.done(which, Step::Find);
            bench.take_up(which);
        }
        bench
    }

    fn hear(&mut self, event: Event) -> Vec<Action> {
        self.life.handle(event, self.now_s)
    }

    fn done(&mut self, which: Which, step: Step) -> Vec<Action> {
        self.hear(Event::Done(which, step, Ok(())))
    }

    fn fails(&mut self, which: Which, step: Step, trouble: Trouble) -> Vec<Action> {
        self.hear(Event::Done(which, step, Err(trouble)))
    }

    /// From the connection that was just asked for to the first data.
    fn take_up(&mut self, which: Which) {
        assert_eq!(self.done(which, Step::Connect), [Action::Do(which, Step::Discover)]);
        let up = [Action::Tell(which, News::Up), Action::Do(which, Step::Subscribe)];
        assert_eq!(self.done(which, Step::Discover), up);
        assert_eq!(self.done(which, Step::Subscribe), [Action::Do(which, Step::Start)]);
        self.done(which, Step::Start);
        let told = self.hear(Event::Data(which, self.now_s));
        assert_eq!(told, [Action::Tell(which, News::Streaming)]);
    }

    /// Lets time go by, in ticks; gives what was to be done meanwhile and when.
    fn wait(&mut self, seconds: f64) -> Vec<(f64, Action)> {
        self.wait_hearing(seconds, &[])
    }

    /// The same while these sensors send.
    fn wait_hearing(&mut self, seconds: f64, senders: &[Which]) -> Vec<(f64, Action)> {
        let mut did = Vec::new();
        let ticks = (seconds / 0.1).round() as usize;
        for _ in 0..ticks {
            self.now_s += 0.1;
            for &which in senders {
                let actions = self.hear(Event::Data(which, self.now_s));
                did.extend(actions.into_iter().map(|action| (self.now_s, action)));
            }
            let actions = self.hear(Event::Tick);
            did.extend(actions.into_iter().map(|action| (self.now_s, action)));
        }
        did
    }
}

/// When something was done first.
fn first(did: &[(f64, Action)], what: &Action) -> Option<f64> {
    did.iter().find(|(_, action)| action == what).map(|(at_s, _)| *at_s)
}

#[test]
fn a_sensor_is_found_connected_held_against_its_profile_and_started() {
    let mut bench = Bench::ready(1);
    let connecting = [Action::Tell(0, News::Connecting), Action::Do(0, Step::Connect)];
    assert_eq!(bench.done(0, Step::Find), connecting);
    bench.take_up(0);
    assert_eq!(bench.wait_hearing(60.0, &[0]), []);
}

#[test]
fn one_that_is_not_seen_is_scanned_for_and_the_scan_stops_before_it_is_connected() {
    let mut bench = Bench::ready(1);
    let searching = [Action::Tell(0, News::Searching), Action::Scan(true)];
    assert_eq!(bench.fails(0, Step::Find, Trouble::NotSeen), searching);
    assert_eq!(bench.hear(Event::Scan(true, Ok(()))), [Action::Look]);
    let looks = bench.wait(10.0);
    assert!(looks.iter().all(|(_, action)| *action == Action::Look));
    assert!((15..=21).contains(&looks.len()), "{}", looks.len());
    assert_eq!(bench.hear(Event::Seen(0)), [Action::Scan(false)]);
    assert_eq!(bench.wait(1.0), []);
    assert_eq!(bench.hear(Event::Scan(false, Ok(()))), [Action::Do(0, Step::Find)]);
}
