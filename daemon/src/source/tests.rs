//! Sources played to the end, stopped, and refused.

use std::fs;
use std::path::Path;

use endarc_protocol::motion_csv;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::{SensorRole, Side, TestKind, TrialType};
use endarc_simulator::Scenario;

use super::*;

async fn all(source: Source, stop: CancellationToken) -> Vec<SourceEvent> {
    let (sender, mut receiver) = mpsc::channel(4);
    let playing = tokio::spawn(source.play(Pace::Fast, Monotonic::start(), sender, stop));
    let mut events = Vec::new();
    while let Some(stamped) = receiver.recv().await {
        events.push(stamped.event);
    }
    playing.await.unwrap();
    events
}

fn assert_in_order(events: &[SourceEvent]) {
    assert!(events.windows(2).all(|pair| pair[0].time_s() <= pair[1].time_s()));
    assert!(matches!(events.last(), Some(SourceEvent::Ended { .. })));
}

#[tokio::test]
async fn the_simulated_clinic_sends_from_three_sensors_and_marks_every_phase() {
    let source = sim(&Scenario::clinic());
    assert_eq!(source.info().roles().len(), 3);
    let events = all(source, CancellationToken::new()).await;
    assert_in_order(&events);
    let begun = |trial_type| {
        let begins = |event: &&SourceEvent| matches!(event, SourceEvent::SpanBegan(mark) if mark.trial_type == trial_type);
        events.iter().filter(begins).count()
    };
    for trial_type in TrialType::ALL {
        assert!(begun(*trial_type) >= 1, "{trial_type}");
    }
}

#[tokio::test]
async fn a_stopped_source_ends_with_what_it_told_last() {
    let stop = CancellationToken::new();
    stop.cancel();
    let events = all(sim(&Scenario::clinic()), stop).await;
    assert_eq!(events, [SourceEvent::Ended { time_s: 0.0 }]);
}

fn write_motion(folder: &Path, name: &str, times_s: &[f64]) {
    let sample =
        |&time_s: &f64| Sample { time_s, accel_m_s2: [0.0, 0.0, 9.81], ..Sample::default() };
    let mut text = Vec::new();
    motion_csv::write(&mut text, times_s.iter().map(sample)).unwrap();
    fs::write(folder.join(name), text).unwrap();
}

fn write_events(folder: &Path) {
    let text = "onset,duration,trial_type,side\n0.5,1,neutral,\n1.5,1,baseline,left\n";
    fs::write(folder.join("events.csv"), text).unwrap();
}

fn read(folder: &Path, side: Option<Side>) -> Result<Source, ReplayError> {
    replay(folder, side, TestKind::ProneHipRotation)
}

#[tokio::test]
async fn a_folder_is_played_in_order_of_time() {
    let folder = tempfile::tempdir().unwrap();
    write_motion(folder.path(), "left-shank.csv", &[0.1, 0.5, 1.5]);
    write_motion(folder.path(), "pelvis.csv", &[0.2, 0.6]);
    write_events(folder.path());
    let source = read(folder.path(), None).unwrap();
    assert_eq!(source.info().roles(), [SensorRole::LeftShank, SensorRole::Pelvis]);
    let events = all(source, CancellationToken::new()).await;
    assert_in_order(&events);
    let kinds: String = events
        .iter()
        .map(|event| match event {
            SourceEvent::SpanBegan(_) => 'b',
            SourceEvent::SpanEnded(_) => 'e',
            SourceEvent::Sample { .. } => 's',
            SourceEvent::Notification { .. } => 'n',
            SourceEvent::Link { .. } | SourceEvent::Radio { .. } | SourceEvent::Ended { .. } => '.',
        })
        .collect();
    // Marks come before the samples of their moment, and an end before the next beginning.
    assert_eq!(kinds, "ssbssebse.");
}

#[test]
fn one_shank_file_needs_its_side_and_two_refuse_it() {
    let folder = tempfile::tempdir().unwrap();
    write_events(folder.path());
    let error = |side| read(folder.path(), side).unwrap_err().to_string();
    assert!(error(None).contains("no left-shank.csv"), "{}", error(None));
    write_motion(folder.path(), "shank.csv", &[0.1]);
    assert!(error(None).contains("--side left"), "{}", error(None));
    let source = read(folder.path(), Some(Side::Right)).unwrap();
    assert_eq!(source.info().roles(), [SensorRole::RightShank]);
    write_motion(folder.path(), "left-shank.csv", &[0.1]);
    assert!(error(Some(Side::Left)).contains("leave --side out"));
}

#[test]
fn what_is_wrong_in_a_folder_names_the_file_and_line() {
    let folder = tempfile::tempdir().unwrap();
    let error = || read(folder.path(), None).unwrap_err().to_string();
    write_motion(folder.path(), "left-shank.csv", &[0.1]);
    assert!(error().contains("events.csv"), "{}", error());
    fs::write(folder.path().join("events.csv"), "onset,duration,trial_type\n0,x,neutral\n")
        .unwrap();
    assert!(error().contains("events.csv: line 2"), "{}", error());
    write_events(folder.path());
    fs::write(folder.path().join("pelvis.csv"), "time_s\n").unwrap();
    assert!(error().contains("pelvis.csv: line 1"), "{}", error());
    let missing = read(&folder.path().join("nowhere"), None).unwrap_err().to_string();
    assert!(missing.contains("nowhere"), "{missing}");
}
