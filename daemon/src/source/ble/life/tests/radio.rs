//! What may be wrong with the radio itself.

use super::*;

/// The adapter is missing, off, forbidden, or its service does not run: said once, asked again
/// until it is well.
#[test]
fn a_radio_that_is_not_ready_is_asked_again_and_its_trouble_said_once() {
    for trouble in [Trouble::NoAdapter, Trouble::Refused, Trouble::NoService] {
        let mut bench = Bench { life: Life::new(1, 0.0), now_s: 0.0 };
        bench.hear(Event::Tick);
        bench.hear(Event::Opened(Ok(())));
        let told = bench.hear(Event::Adapter(Err(trouble.clone())));
        assert_eq!(told, [Action::TellRadio(Some(trouble.clone()))]);
        for _ in 0..5 {
            let did = bench.wait(2.1);
            assert_eq!(did.len(), 1, "{did:?}");
            assert_eq!(did[0].1, Action::AskAdapter);
            assert_eq!(bench.hear(Event::Adapter(Err(trouble.clone()))), []);
        }
        bench.wait(2.1);
        let well = bench.hear(Event::Adapter(Ok(true)));
        assert_eq!(well, [Action::TellRadio(None), Action::Do(0, Step::Find)]);
    }
}

#[test]
fn an_adapter_that_is_switched_off_and_on_again_takes_its_sensors_up_again() {
    let mut bench = Bench::streaming(1);
    let told = bench.hear(Event::Adapter(Err(Trouble::Off)));
    assert_eq!(told, [Action::TellRadio(Some(Trouble::Off))]);
    bench.hear(Event::Connected(0, false));
    bench.fails(0, Step::Check, Trouble::NotConnected);
    let did = bench.wait(10.0);
    // Nothing is connected, and above all no scan, which would switch it on.
    assert!(did.iter().all(|(_, action)| *action == Action::AskAdapter), "{did:?}");
    let did = bench.hear(Event::Adapter(Ok(true)));
    let again =
        [Action::TellRadio(None), Action::Tell(0, News::Connecting), Action::Do(0, Step::Connect)];
    assert_eq!(did, again);
}

/// The bus is gone: calls hang. Only a new radio helps, and every handle of the old one is dead.
#[test]
fn a_dead_bus_is_left_for_a_new_one() {
    let mut bench = Bench::streaming(2);
    bench.wait(1.2);
    let told = bench.fails(0, Step::Check, Trouble::NoBus);
    let expected =
        [Action::TellRadio(Some(Trouble::NoBus)), Action::Tell(0, News::Lost(Cause::LinkLost))];
    assert_eq!(told, expected);
    bench.fails(1, Step::Check, Trouble::NoBus);
    let did = bench.wait(2.1);
    assert!(first(&did, &Action::Open).is_some());
    let failed = bench.hear(Event::Opened(Err(Trouble::NoBus)));
    assert_eq!(failed, []);
    let did = bench.wait(2.2);
    assert!(first(&did, &Action::Open).is_some());
    assert_eq!(bench.hear(Event::Opened(Ok(()))), [Action::AskAdapter]);
    let did = bench.hear(Event::Adapter(Ok(true)));
    assert_eq!(did, [Action::TellRadio(None), Action::Do(0, Step::Find)]);
}

/// A call that fails because of the radio makes the radio be looked after.
#[test]
fn a_call_that_fails_by_the_radio_asks_the_radio() {
    let mut bench = Bench::ready(1);
    bench.done(0, Step::Find);
    let did = bench.fails(0, Step::Connect, Trouble::Off);
    assert_eq!(did[0], Action::AskAdapter);
    assert_eq!(bench.wait(5.0), []);
    let told = bench.hear(Event::Adapter(Ok(false)));
    assert_eq!(told, [Action::TellRadio(Some(Trouble::Off))]);
}

/// A scan that does not start: the adapter may be gone. It is asked, and the scan is tried again,
/// not at once.
#[test]
fn a_scan_that_does_not_start_asks_the_adapter_and_is_tried_again_later() {
    let mut bench = Bench::ready(1);
    bench.fails(0, Step::Find, Trouble::NotSeen);
    let failed = bench.hear(Event::Scan(true, Err(Trouble::Forgotten)));
    assert_eq!(failed, [Action::AskAdapter]);
    assert_eq!(bench.hear(Event::Adapter(Ok(true))), []);
    let did = bench.wait(2.2);
    assert_eq!(did.len(), 1, "{did:?}");
    assert_eq!(did[0].1, Action::Scan(true));
    assert!(did[0].0 >= 2.0);
}
