//! The runner against a scripted radio, under the runtime's stopped time.

mod elsewhere;
pub(crate) mod fake;

use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::profile::Profile;
use endarc_protocol::stream::{GapCause, Output, SensorStream};
use endarc_protocol::words::SensorRole;
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use super::life::{Cause, News};
use super::runner::{Wanted, run};
use super::timeline::Timeline;
use super::trouble::Trouble;
use crate::clock::Monotonic;
use crate::source::{LinkNews, SourceEvent, Stamped};
use fake::Fake;

const LEFT: SensorRole = SensorRole::LeftShank;
/// Ids as macOS gives them: no hardware address.
const IDS: [&str; 3] = [
    "5C0A1D3E-0000-4000-8000-0000000000A1",
    "5C0A1D3E-0000-4000-8000-0000000000B2",
    "5C0A1D3E-0000-4000-8000-0000000000C3",
];

/// The first of them, in the order of their roles.
fn wanted(sensors: usize) -> Vec<Wanted> {
    let profile = Arc::new(Profile::reference());
    let wanted = |(&role, id): (&SensorRole, &str)| Wanted {
        role,
        address: id.to_owned(),
        profile: Arc::clone(&profile),
    };
    SensorRole::ALL.iter().zip(IDS).take(sensors).map(wanted).collect()
}

/// The runner while it runs.
struct Running {
    fake: Fake,
    events: mpsc::Receiver<Stamped>,
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Running {
    fn start(fake: &Fake, sensors: usize, queue: usize) -> Self {
        let (to_here, events) = mpsc::channel(queue);
        let stop = CancellationToken::new();
        let timeline = Timeline::new(Monotonic::start());
        let running = run(fake.clone(), wanted(sensors), timeline, to_here, stop.clone());
        let task = tokio::spawn(async move { running.await.say().await });
        Self { fake: fake.clone(), events, stop, task }
    }

    /// Sends for so long, and takes what comes meanwhile.
    async fn hear_for(&mut self, seconds: f64) -> Vec<SourceEvent> {
        let mut heard = Vec::new();
        let fake = self.fake.clone();
        let sending = fake.send_for(seconds);
        tokio::pin!(sending);
        loop {
            tokio::select! {
                biased;
                Some(stamped) = self.events.recv() => heard.push(stamped.event),
                () = &mut sending => return heard,
            }
        }
    }

    /// Ends it; gives what was still in the queue.
    async fn end(mut self) -> Vec<SourceEvent> {
        self.stop.cancel();
        let mut rest = Vec::new();
        while let Some(stamped) = self.events.recv().await {
            rest.push(stamped.event);
        }
        self.task.await.unwrap();
        rest
    }
}

fn notifications(events: &[SourceEvent], of: SensorRole) -> usize {
    let is = |event: &&SourceEvent| matches!(event, SourceEvent::Notification { role, .. } if *role == of);
    events.iter().filter(is).count()
}

fn states(events: &[SourceEvent], of: SensorRole) -> Vec<News> {
    let state = |event: &SourceEvent| match event {
        SourceEvent::Link { role, news: LinkNews::State(news), .. } if *role == of => {
            Some(news.clone())
        }
        _ => None,
    };
    events.iter().filter_map(state).collect()
}

/// What a sensor's stream makes of the events: its readings and gaps.
fn decoded(events: &[SourceEvent], of: SensorRole) -> Vec<Output> {
    let mut stream = SensorStream::new(&Profile::reference());
    let mut outputs = Vec::new();
    for event in events {
        match event {
            SourceEvent::Notification { arrival_s, role, characteristic, bytes } if *role == of => {
                stream.push(*arrival_s, *characteristic, bytes, &mut outputs);
            }
            SourceEvent::Link { time_s, role, news: LinkNews::State(News::Up) } if *role == of => {
                stream.restart(*time_s);
            }
            _ => {}
        }
    }
    stream.flush(&mut outputs);
    outputs
}

#[tokio::test(start_paused = true)]
async fn sensors_are_found_connected_one_by_one_and_stream() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 3, 4096);
    let mut events = running.hear_for(10.0).await;
    for &role in SensorRole::ALL.iter().take(3) {
        let expected = [News::Searching, News::Connecting, News::Up, News::Streaming];
        assert_eq!(states(&events, role), expected, "{role}");
        assert!(notifications(&events, role) > 500, "{role}");
        // The epoch is announced before anything of it.
        let up = events.iter().position(|event| {
            matches!(event, SourceEvent::Link { role: own, news: LinkNews::State(News::Up), .. }
                if *own == role)
        });
        let first = events.iter().position(
            |event| matches!(event, SourceEvent::Notification { role: own, .. } if *own == role),
        );
        assert!(up < first, "{role}");
    }
    let battery = events.iter().any(|event| match event {
        SourceEvent::Link { news: LinkNews::Identity(identity), .. } => {
            identity.battery_percent == Some(87)
        }
        _ => false,
    });
    assert!(battery);
    {
        let world = fake.world();
        assert_eq!(world.most_connecting, 1);
        assert!(!world.connected_in_scan);
        assert!(!world.scanning);
    }
    events.extend(running.end().await);
    let world = fake.world();
    for (device, &role) in world.devices.iter().zip(SensorRole::ALL) {
        assert!(!device.connected && !device.started, "{role} was not left");
        assert_eq!(device.sent, notifications(&events, role) as u64, "{role}");
    }
}

/// H24: after three reconnects there is still one stream, and each sample comes once.
#[tokio::test(start_paused = true)]
async fn a_lost_link_is_taken_up_again_with_the_same_stream() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 1, 4096);
    let mut events = running.hear_for(7.0).await;
    for _ in 0..3 {
        fake.drop_link(0);
        events.extend(running.hear_for(7.0).await);
    }
    assert_eq!(fake.world().devices[0].streams, 1);
    let last_second = running.hear_for(1.0).await;
    let samples = notifications(&last_second, LEFT);
    assert!((99..=101).contains(&samples), "{samples}");
    events.extend(last_second);
    let states = states(&events, LEFT);
    let count = |news: &News| states.iter().filter(|one| *one == news).count();
    assert_eq!(count(&News::Lost(Cause::LinkLost)), 3);
    assert_eq!(count(&News::Up), 4);
    let gaps: Vec<_> = decoded(&events, LEFT)
        .into_iter()
        .filter_map(|output| if let Output::Gap(gap) = output { Some(gap) } else { None })
        .collect();
    assert_eq!(gaps.len(), 3, "{gaps:?}");
    for gap in gaps {
        assert_eq!(gap.cause, GapCause::Restart);
        assert!((0.2..1.0).contains(&(gap.to_s - gap.from_s)), "{gap:?}");
    }
    running.end().await;
}

/// H25: one sensor's loss costs the others nothing.
#[tokio::test(start_paused = true)]
async fn the_others_stream_on_while_one_is_lost() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 3, 4096);
    let mut events = running.hear_for(10.0).await;
    fake.world().devices[1].connect_hangs = true;
    fake.drop_link(1);
    events.extend(running.hear_for(60.0).await);
    for role in [SensorRole::ALL[0], SensorRole::ALL[2]] {
        let states = states(&events, role);
        assert!(!states.iter().any(|news| matches!(news, News::Lost(_))), "{states:?}");
        let gaps = decoded(&events, role).into_iter().filter(|one| matches!(one, Output::Gap(_)));
        assert_eq!(gaps.count(), 0, "{role}");
    }
    fake.world().devices[1].connect_hangs = false;
    events = running.hear_for(60.0).await;
    assert!(states(&events, SensorRole::ALL[1]).contains(&News::Streaming));
    running.end().await;
}

/// H26: connected, but silent.
#[tokio::test(start_paused = true)]
async fn a_silent_link_is_ended_and_taken_up_again() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 1, 4096);
    running.hear_for(3.0).await;
    fake.world().devices[0].silent = true;
    let events = running.hear_for(5.5).await;
    let expected = [News::Silent, News::Lost(Cause::Silent)];
    assert_eq!(states(&events, LEFT)[..2], expected);
    fake.world().devices[0].silent = false;
    let events = running.hear_for(3.0).await;
    assert!(notifications(&events, LEFT) > 100);
    running.end().await;
}

/// The pipeline stalls: the back end's small queue is emptied all the same, and what does not fit
/// into ours is counted and said.
#[tokio::test(start_paused = true)]
async fn a_slow_pipeline_loses_nothing_silently() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 1, 256);
    let mut events = running.hear_for(2.0).await;
    // Nobody takes anything for five seconds.
    fake.send_for(5.0).await;
    events.extend(running.hear_for(2.0).await);
    let sent = fake.world().devices[0].sent;
    events.extend(running.end().await);
    let overflows: u64 = events
        .iter()
        .filter_map(|event| match event {
            SourceEvent::Link { news: LinkNews::Overflow { notifications, .. }, .. } => {
                Some(*notifications)
            }
            _ => None,
        })
        .sum();
    assert!(overflows > 200, "{overflows}");
    assert_eq!(notifications(&events, LEFT) as u64 + overflows, sent);
}

/// The back end drops without a word: the sensor's own counter tells.
#[tokio::test(start_paused = true)]
async fn what_the_back_end_drops_shows_as_a_gap() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 1, 4096);
    let mut events = running.hear_for(2.0).await;
    // Between two ticks, when the queue is empty.
    tokio::time::sleep(Duration::from_millis(5)).await;
    for _ in 0..40 {
        fake.send(0);
    }
    tokio::time::sleep(Duration::from_millis(1)).await;
    events.extend(running.hear_for(2.0).await);
    let lost: Vec<u64> = decoded(&events, LEFT)
        .into_iter()
        .filter_map(|output| if let Output::Gap(gap) = output { Some(gap.lost) } else { None })
        .collect();
    assert_eq!(lost, [24]);
    running.end().await;
}

/// No adapter at start; it is plugged in later. Permission refused; it is granted later.
#[tokio::test(start_paused = true)]
async fn a_radio_that_is_not_ready_is_waited_for() {
    for trouble in [Trouble::NoAdapter, Trouble::Refused, Trouble::NoService, Trouble::Off] {
        let fake = Fake::new(&IDS);
        fake.world().trouble = Some(trouble.clone());
        let mut running = Running::start(&fake, 1, 4096);
        let events = running.hear_for(10.0).await;
        let said = |wanted: Option<&Trouble>, events: &[SourceEvent]| {
            let is = |event: &&SourceEvent| matches!(event, SourceEvent::Radio { trouble, .. } if trouble.as_ref() == wanted);
            events.iter().filter(is).count()
        };
        assert_eq!(said(Some(&trouble), &events), 1, "{trouble}");
        fake.world().trouble = None;
        let events = running.hear_for(10.0).await;
        assert_eq!(said(None, &events), 1, "{trouble}");
        assert!(notifications(&events, LEFT) > 100, "{trouble}");
        assert_eq!(fake.world().opened, 1);
        running.end().await;
    }
}

/// The bus dies: every call hangs, nothing is told. A new radio is opened.
#[tokio::test(start_paused = true)]
async fn a_dead_bus_is_noticed_by_the_silence_and_left() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 1, 4096);
    running.hear_for(3.0).await;
    {
        let mut world = fake.world();
        world.hangs = true;
        world.devices[0].silent = true;
    }
    running.hear_for(4.0).await;
    fake.world().devices[0].silent = false;
    let events = running.hear_for(10.0).await;
    assert_eq!(fake.world().opened, 2);
    assert!(states(&events, LEFT).contains(&News::Streaming), "{:?}", states(&events, LEFT));
    assert!(notifications(&events, LEFT) > 300);
    running.end().await;
}

/// BlueZ takes two seconds for a disconnect, and may hang: none of that is part of the visit.
#[tokio::test(start_paused = true)]
async fn a_visit_ends_before_its_sensors_are_left() {
    let fake = Fake::new(&IDS);
    let (to_here, mut events) = mpsc::channel(4096);
    let (stop, timeline) = (CancellationToken::new(), Timeline::new(Monotonic::start()));
    let running = tokio::spawn(run(fake.clone(), wanted(3), timeline, to_here, stop.clone()));
    fake.send_for(10.0).await;
    fake.world().hangs = true;
    let before = tokio::time::Instant::now();
    stop.cancel();
    let farewell = running.await.unwrap();
    while events.recv().await.is_some() {}
    assert!(before.elapsed() < Duration::from_millis(100), "{:?}", before.elapsed());
    farewell.say().await;
    assert!(before.elapsed() > Duration::from_secs(2), "{:?}", before.elapsed());
}

/// Stopping never hangs, whatever hangs itself.
#[tokio::test(start_paused = true)]
async fn stopping_takes_a_few_seconds_at_most() {
    let fake = Fake::new(&IDS);
    let mut running = Running::start(&fake, 3, 4096);
    running.hear_for(5.0).await;
    fake.world().hangs = true;
    let before = tokio::time::Instant::now();
    running.end().await;
    assert!(before.elapsed() < Duration::from_secs(6), "{:?}", before.elapsed());
}

#[tokio::test(start_paused = true)]
async fn a_sensor_that_lacks_its_data_is_forgotten_and_tried_anew() {
    let fake = Fake::new(&IDS);
    fake.world().devices[0].lacks_data = true;
    let mut running = Running::start(&fake, 1, 4096);
    let events = running.hear_for(10.0).await;
    let states = states(&events, LEFT);
    assert!(states.iter().any(|news| matches!(news, News::Failed(Trouble::Lacks(_)))));
    assert_eq!(states.last(), Some(&News::Streaming));
    running.end().await;
}
