//! A sensor that streams, and what may happen to it then.

use super::*;

/// H26: "no data" within a second, the link forced down at about five.
#[test]
fn silence_is_said_after_a_second_and_ended_after_five() {
    let mut bench = Bench::streaming(1);
    let did = bench.wait(1.2);
    assert_eq!(first(&did, &Action::Tell(0, News::Silent)), Some(bench.now_s - 0.1));
    assert!(first(&did, &Action::Do(0, Step::Check)).is_some());
    assert_eq!(bench.done(0, Step::Check), []);
    let did = bench.wait(4.0);
    let lost = first(&did, &Action::Tell(0, News::Lost(Cause::Silent))).unwrap();
    assert!((5.0..5.2).contains(&lost), "{lost}");
    assert_eq!(did.last().unwrap().1, Action::Do(0, Step::Leave));
    assert_eq!(bench.done(0, Step::Leave), []);
    let did = bench.wait(0.5);
    assert!(first(&did, &Action::Do(0, Step::Connect)).is_some());
    bench.take_up(0);
}

#[test]
fn a_silence_that_ends_by_itself_is_over() {
    let mut bench = Bench::streaming(1);
    bench.wait(2.0);
    bench.done(0, Step::Check);
    let told = bench.hear(Event::Data(0, bench.now_s));
    assert_eq!(told, [Action::Tell(0, News::Streaming)]);
    assert_eq!(bench.wait_hearing(10.0, &[0]), []);
}

/// A lost link does not end the stream, and its news may be wrong: the connection is asked.
#[test]
fn news_of_a_lost_link_is_checked_before_it_is_believed() {
    let mut bench = Bench::streaming(1);
    assert_eq!(bench.hear(Event::Connected(0, false)), [Action::Do(0, Step::Check)]);
    assert_eq!(bench.done(0, Step::Check), []);
    assert_eq!(bench.hear(Event::Connected(0, false)), [Action::Do(0, Step::Check)]);
    let lost = bench.fails(0, Step::Check, Trouble::NotConnected);
    assert_eq!(lost, [Action::Tell(0, News::Lost(Cause::LinkLost))]);
    let did = bench.wait(0.5);
    // The same handle serves: nothing is searched.
    let again = [Action::Tell(0, News::Connecting), Action::Do(0, Step::Connect)];
    assert_eq!(did.iter().map(|(_, action)| action.clone()).collect::<Vec<_>>(), again);
    bench.take_up(0);
}

/// The system forgets a device (it was removed, or its service started anew): every call on the
/// old handle fails for ever.
#[test]
fn a_forgotten_device_is_searched_anew() {
    let mut bench = Bench::streaming(1);
    bench.wait(1.2);
    bench.fails(0, Step::Check, Trouble::Forgotten);
    let did = bench.wait(0.5);
    assert_eq!(did.last().unwrap().1, Action::Do(0, Step::Find));
    let searching = [Action::Tell(0, News::Searching), Action::Scan(true)];
    assert_eq!(bench.fails(0, Step::Find, Trouble::NotSeen), searching);
}

/// A connect that timed out goes on in the system: a connection that comes by itself, and data
/// without having been asked for, are taken over.
#[test]
fn a_connection_that_comes_by_itself_is_taken_over() {
    for event in [Event::Connected(0, true), Event::Data(0, 20.0)] {
        let mut bench = Bench::ready(1);
        bench.done(0, Step::Find);
        let failed = bench.fails(0, Step::Connect, Trouble::InProgress);
        assert_eq!(failed, [Action::Tell(0, News::Failed(Trouble::InProgress))]);
        let connecting = [Action::Tell(0, News::Connecting), Action::Do(0, Step::Connect)];
        assert_eq!(bench.hear(event), connecting);
        bench.take_up(0);
    }
}

/// H28: what the system remembers of a sensor may be of before a change of its firmware.
#[test]
fn one_that_lacks_what_its_profile_says_is_forgotten_once_and_then_rarely_tried() {
    let lacks = || Trouble::Lacks(uuid::Uuid::from_u128(7));
    let mut bench = Bench::ready(1);
    for wait_s in [0.5, 35.0] {
        bench.done(0, Step::Find);
        bench.done(0, Step::Connect);
        let did = bench.fails(0, Step::Discover, lacks());
        let told = Action::Tell(0, News::Failed(lacks()));
        assert_eq!(did, [told, Action::Do(0, Step::Forget)]);
        bench.done(0, Step::Forget);
        let did = bench.wait(wait_s);
        assert_eq!(did.len(), 1, "{did:?}");
        assert_eq!(did[0].1, Action::Do(0, Step::Find));
        assert!(wait_s < 1.0 || did[0].0 > 29.0, "{did:?}");
    }
}

/// H27 (b): a sensor whose pairing fails every time.
#[test]
fn five_failed_pairings_are_enough() {
    let mut bench = Bench::ready(1);
    bench.done(0, Step::Find);
    for _ in 0..4 {
        bench.fails(0, Step::Connect, Trouble::Authentication);
        bench.done(0, Step::Leave);
        let did = bench.wait(10.0);
        assert_eq!(did.last().unwrap().1, Action::Do(0, Step::Connect));
    }
    let last = bench.fails(0, Step::Connect, Trouble::Authentication);
    assert_eq!(last, [Action::Tell(0, News::GivenUp(Trouble::Authentication))]);
    assert_eq!(bench.wait(600.0), []);
}

/// H08: no volley after a sleep, and the cause is known.
#[test]
fn after_a_sleep_connections_are_checked_and_the_loss_is_the_sleeps() {
    let mut bench = Bench::streaming(2);
    bench.now_s += 90.0;
    let did = bench.hear(Event::Slept(90.0));
    assert_eq!(did, [Action::Do(0, Step::Check), Action::Do(1, Step::Check)]);
    let asleep = |which| [Action::Tell(which, News::Lost(Cause::HostAsleep))];
    assert_eq!(bench.fails(0, Step::Check, Trouble::NotConnected), asleep(0));
    assert_eq!(bench.fails(1, Step::Check, Trouble::NotConnected), asleep(1));
    let did = bench.wait(0.6);
    let connects =
        did.iter().filter(|(_, action)| matches!(action, Action::Do(_, Step::Connect))).count();
    assert_eq!(connects, 1, "{did:?}");
}
