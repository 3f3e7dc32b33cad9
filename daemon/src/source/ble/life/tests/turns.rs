//! Several sensors at one radio.

use super::*;

#[test]
fn one_is_taken_up_after_the_other() {
    let mut bench = Bench::ready(3);
    for which in 0..3 {
        bench.done(which, Step::Find);
        assert_eq!(bench.wait_hearing(3.0, &[]).len(), 0);
        bench.done(which, Step::Connect);
        bench.done(which, Step::Discover);
        bench.done(which, Step::Subscribe);
        let next = bench.done(which, Step::Start);
        let expected = (which < 2).then_some(Action::Do(which + 1, Step::Find));
        assert_eq!(next, expected.into_iter().collect::<Vec<_>>());
        // The others would fall silent in this test.
        bench.life.sensors[which].stage = Stage::GivenUp;
    }
}

/// H27 (c): a connect that does not return must not hold the others up.
#[test]
fn one_that_does_not_connect_gives_way_while_others_wait() {
    let mut bench = Bench::ready(2);
    bench.done(0, Step::Find);
    let did = bench.wait(7.0);
    let given_way = first(&did, &Action::Abandon(0, Step::Connect)).unwrap();
    assert!((6.0..6.2).contains(&given_way), "{given_way}");
    assert!(first(&did, &Action::Do(0, Step::Leave)).is_some());
    assert!(first(&did, &Action::Do(1, Step::Find)).is_some());
}

#[test]
fn one_alone_is_waited_for_as_long_as_the_call_may_take() {
    let mut bench = Bench::ready(1);
    bench.done(0, Step::Find);
    assert_eq!(bench.wait(20.0), []);
}

/// H27 (a): four sensors that are off for ten minutes.
#[test]
fn sensors_that_are_off_make_no_storm() {
    let mut bench = Bench::ready(4);
    let mut connecting: Option<Which> = None;
    let mut connects = 0;
    bench.done(0, Step::Find);
    let mut pending = vec![Action::Do(0, Step::Connect)];
    let mut since_s = 0.0;
    while bench.now_s < 600.0 {
        for action in std::mem::take(&mut pending) {
            match action {
                Action::Do(which, Step::Find) => pending.extend(bench.done(which, Step::Find)),
                Action::Do(which, Step::Connect) => {
                    assert_eq!(connecting, None, "two connects at once");
                    (connecting, since_s) = (Some(which), bench.now_s);
                    connects += 1;
                }
                Action::Abandon(which, Step::Connect) => {
                    assert_eq!(connecting.take(), Some(which));
                }
                Action::Do(which, Step::Leave) => pending.extend(bench.done(which, Step::Leave)),
                _ => {}
            }
        }
        if let Some(which) = connecting.filter(|_| bench.now_s - since_s > 15.0) {
            connecting = None;
            pending.extend(bench.fails(which, Step::Connect, Trouble::TimedOut));
        }
        pending.extend(bench.wait(0.1).into_iter().map(|(_, action)| action));
    }
    assert!((20..=100).contains(&connects), "{connects}");
}

/// A missing sensor is searched while others stream, but only in spells.
#[test]
fn a_scan_while_others_stream_is_short_and_rare() {
    let mut bench = Bench::streaming(2);
    bench.hear(Event::Connected(1, false));
    bench.fails(1, Step::Check, Trouble::Forgotten);
    let (mut on_s, mut since_s) = (0.0, None);
    let mut pending: Vec<Action> = Vec::new();
    while bench.now_s < 100.0 {
        for action in std::mem::take(&mut pending) {
            match action {
                Action::Do(1, Step::Find) => {
                    pending.extend(bench.fails(1, Step::Find, Trouble::NotSeen));
                }
                Action::Scan(on) => {
                    if on {
                        since_s = Some(bench.now_s);
                    } else {
                        on_s += bench.now_s - since_s.take().unwrap();
                    }
                    pending.extend(bench.hear(Event::Scan(on, Ok(()))));
                }
                _ => {}
            }
        }
        pending.extend(bench.wait_hearing(0.1, &[0]).into_iter().map(|(_, action)| action));
    }
    assert!((25.0..40.0).contains(&on_s), "{on_s} s of 100 s");
}
