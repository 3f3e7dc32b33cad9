//! Finding and assigning against a scripted radio, under the runtime's stopped time.

use std::sync::Arc;
use std::time::Duration;

use endarc_protocol::words::SensorRole;
use tokio::sync::{oneshot, watch};

use super::*;
use crate::live::{LinkWord, LiveSensor};
use crate::source::ble::tests::fake::Fake;
use crate::store::{self, Reader, Writer};

const IDS: [&str; 2] =
    ["5C0A1D3E-0000-4000-8000-0000000000A1", "5C0A1D3E-0000-4000-8000-0000000000B2"];

struct Bench {
    fake: Fake,
    fitting: Fitting,
    live: watch::Sender<Arc<LiveState>>,
    folder: tempfile::TempDir,
    writer: Writer,
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Bench {
    fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let data_dir = folder.path().join("data");
        let writer = Writer::start(store::open(&data_dir).unwrap()).unwrap();
        let (live, seen) = watch::channel(Arc::new(LiveState::waiting()));
        let profiles = Some(folder.path().join("profiles"));
        let surroundings = Surroundings { data_dir, writer: writer.handle(), live: seen, profiles };
        let (fake, stop) = (Fake::new(&IDS), CancellationToken::new());
        let (fitting, task) = start(fake.clone(), surroundings, stop.clone());
        Self { fake, fitting, live, folder, writer, stop, task }
    }

    async fn ask(&self, order: FittingOrder) -> Result<(), String> {
        let (answer, awaited) = oneshot::channel();
        self.fitting.orders.send(FittingAsked { order, answer }).await.unwrap();
        awaited.await.unwrap().map_err(|refusal| refusal.0)
    }

    /// Waits for a state that is as wanted.
    async fn until(&mut self, wanted: impl Fn(&FittingState) -> bool) -> FittingState {
        let state = &mut self.fitting.state;
        let waiting = state.wait_for(|state| wanted(state));
        let state = tokio::time::timeout(Duration::from_secs(60), waiting).await;
        FittingState::clone(&state.expect("in time").unwrap())
    }

    /// A visit with a sensor whose link is doing so.
    fn visit(&self, link: LinkWord) {
        let sensor = LiveSensor {
            role: SensorRole::LeftShank,
            received: 1,
            lost: 0,
            duplicate: 0,
            reordered: 0,
            late: 0,
            malformed: 0,
            saturated: 0,
            data_age_s: None,
            calibrated_at: None,
            link: Some(link),
            battery_percent: None,
            battery_low: false,
        };
        let sensors = vec![sensor];
        self.live.send_replace(Arc::new(LiveState { sensors, ..LiveState::waiting() }));
    }

    async fn end(self) {
        self.stop.cancel();
        self.task.await.unwrap();
        self.writer.close().await.unwrap();
    }
}

#[tokio::test]
async fn a_scan_shows_what_is_there_and_pauses_while_sensors_stream() {
    let mut bench = Bench::start();
    bench.ask(FittingOrder::Scan).await.unwrap();
    let state = bench.until(|state| state.sensors.len() == 2).await;
    assert_eq!(state.search, Search::Scanning);
    assert!(state.sensors.iter().all(|one| one.profile.as_deref() == Some("reference")));
    assert!(state.sensors.iter().all(|one| one.signal_dbm == Some(-60) && one.role.is_none()));
    bench.visit(LinkWord::Streaming);
    bench.until(|state| state.search == Search::Paused).await;
    assert!(!bench.fake.world().scanning);
    bench.visit(LinkWord::Lost);
    bench.until(|state| state.search == Search::Scanning).await;
    bench.ask(FittingOrder::Stop).await.unwrap();
    bench.until(|state| state.search == Search::Off).await;
    assert!(!bench.fake.world().scanning);
    bench.end().await;
}

#[tokio::test]
async fn the_sensor_that_is_turned_is_named_and_assigned() {
    let mut bench = Bench::start();
    let refused = bench.ask(FittingOrder::Move).await.unwrap_err();
    assert!(refused.contains("look for them"), "{refused}");
    bench.ask(FittingOrder::Scan).await.unwrap();
    bench.until(|state| state.sensors.len() == 2).await;
    bench.ask(FittingOrder::Move).await.unwrap();
    bench.fake.world().devices[1].turning_rad_s = 3.0;
    let fake = bench.fake.clone();
    let sending = tokio::spawn(async move { fake.send_for(30.0).await });
    let state = bench.until(|state| state.moved.is_some()).await;
    assert_eq!((state.search, state.moved.as_deref()), (Search::Moving, Some(IDS[1])));
    sending.abort();
    let assign = |role| FittingOrder::Assign { address: IDS[1].to_owned(), role, profile: None };
    bench.ask(assign(SensorRole::Pelvis)).await.unwrap();
    let name = Some(" the grey one ".to_owned());
    bench.ask(FittingOrder::Rename { address: IDS[1].to_owned(), name }).await.unwrap();
    let state = bench.until(|state| state.sensors.iter().any(|one| one.name.is_some())).await;
    let worn = state.sensors.iter().find(|one| one.address == IDS[1]).unwrap();
    assert_eq!((worn.role, worn.name.as_deref()), (Some(SensorRole::Pelvis), Some("the grey one")));
    let stored = Reader::open(&bench.folder.path().join("data")).unwrap().assignments().unwrap();
    assert_eq!(stored.len(), 1);
    bench.ask(FittingOrder::Forget { address: IDS[1].to_owned() }).await.unwrap();
    bench.until(|state| state.sensors.iter().all(|one| one.role.is_none())).await;
    let refused = bench.ask(FittingOrder::Forget { address: IDS[0].to_owned() }).await;
    assert!(refused.unwrap_err().contains("no such sensor"));
    bench.end().await;
}

/// H23: what was not seen is not assigned, and a visit's sensors are not taken away from it.
#[tokio::test]
async fn what_is_not_there_is_refused_and_a_visit_is_left_alone() {
    let mut bench = Bench::start();
    let unseen = FittingOrder::Assign {
        address: "C0:FF".to_owned(),
        role: SensorRole::Pelvis,
        profile: None,
    };
    assert!(bench.ask(unseen).await.unwrap_err().contains("not seen"));
    bench.ask(FittingOrder::Scan).await.unwrap();
    bench.until(|state| state.sensors.len() == 2).await;
    bench.visit(LinkWord::Searching);
    assert!(bench.ask(FittingOrder::Move).await.unwrap_err().contains("visit"));
    bench.end().await;
}

#[tokio::test]
async fn a_radio_that_is_not_there_is_told_with_the_remedy() {
    let mut bench = Bench::start();
    bench.fake.world().trouble = Some(crate::source::Trouble::NoAdapter);
    bench.ask(FittingOrder::Scan).await.unwrap();
    let state = bench.until(|state| state.trouble.is_some()).await;
    assert!(state.trouble.unwrap().contains("plug one in"));
    bench.until(|state| state.search == Search::Off).await;
    bench.end().await;
}
