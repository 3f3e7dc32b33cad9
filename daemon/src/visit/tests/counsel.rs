//! Whether more repetitions would settle it: told, kept as looks, and ended by a pain stop.

use endarc_analysis::result::More;

use super::*;
use crate::live::{Advice, LiveMore};

/// A visit whose baseline and retest have these internal end ranges of the left leg, the retest still
/// running; and the looks that were to be stored.
fn retest(marks: Marks, before: &[f64], after: &[f64]) -> (Visit, Vec<Look>) {
    let mut visit = visit(marks);
    let mut looks = Vec::new();
    let mut number = 0;
    for (trial_type, phase, values) in
        [(TrialType::Baseline, Phase::Baseline, before), (TrialType::Retest, Phase::Retest, after)]
    {
        let begin = mark(trial_type, Some(Side::Left), f64::from(number));
        feed(&mut visit, VisitEvent::SpanBegan(begin), f64::from(number));
        for value in values {
            let at_s = f64::from(number) + 10.0;
            let place = number as usize;
            feed(&mut visit, captured(place, &repetition(phase, *value, at_s)), at_s);
            for effect in visit.handle(kept(place, &place.to_string()), at_s) {
                if let Effect::Store(Record::Look(look)) = effect {
                    looks.push(look);
                }
            }
            number += 1;
        }
    }
    (visit, looks)
}

fn internal(visit: &Visit) -> LiveMore {
    let more = visit.state(90.0).more;
    more.into_iter().find(|one| one.direction == Direction::Internal).unwrap()
}

#[test]
fn so_many_more_are_asked_for_until_there_are_enough_to_compare() {
    let (visit, looks) = retest(Marks::Therapist, &[30.0, 31.0, 29.5], &[45.0]);
    let told = internal(&visit);
    assert_eq!((told.made, told.most, told.advice), (1, 6, Advice::NotEnoughYet));
    assert_eq!((told.repetitions, told.line.as_str()), (2, "not enough yet: 2 more"));
    assert_eq!(looks, [], "two say nothing of a change");
    let (visit, looks) = retest(Marks::Therapist, &[30.0, 31.0, 29.5], &[45.0, 44.5, 45.5]);
    assert_eq!(internal(&visit).advice, Advice::Settled);
    let told: Vec<_> = looks.iter().map(|look| (look.retest_count, look.told)).collect();
    assert_eq!(told, [(3, More::Settled)]);
}

/// 7.2° is more than the floor; looked at after each repetition, three do not settle it, and with
/// so little scatter the sixth does not either (7.23°); 7.5° the fifth does.
#[test]
fn each_look_is_kept_and_costs_what_it_costs() {
    let (before, after) = ([30.0, 30.1, 29.9], [37.5, 37.6, 37.4]);
    let (visit, looks) = retest(Marks::Therapist, &before, &after);
    let told = internal(&visit);
    assert_eq!((told.advice, told.repetitions), (Advice::MoreWouldSettle, 2), "{}", told.line);
    assert_eq!(looks[0].told, More::Repetitions(2));
    assert!(!told.line.contains('°'), "{}", told.line);
    // Where the source has settled how many there are, a look decides nothing and costs nothing.
    let (visit, looks) = retest(Marks::Source, &before, &after);
    assert_eq!((internal(&visit).advice, looks), (Advice::Settled, Vec::new()));
}

#[test]
fn none_are_asked_for_where_the_limit_decides_or_six_are_made() {
    let (visit, _) = retest(Marks::Therapist, &[30.0, 31.0, 29.5], &[32.0, 31.0, 33.0]);
    let told = internal(&visit);
    assert_eq!((told.advice, told.repetitions), (Advice::LimitDecides, 0));
    let (visit, looks) = retest(Marks::Therapist, &[30.0, 31.0, 29.5], &[36.6; 7]);
    let told = internal(&visit);
    assert_eq!((told.made, told.repetitions), (7, 0));
    assert_eq!(told.advice, Advice::MoreCannotSettle);
    let counts: Vec<usize> = looks.iter().map(|look| look.retest_count).collect();
    assert_eq!(counts, [3, 4, 5, 6], "what is beyond the sixth is not looked at");
}

#[test]
fn after_a_pain_stop_none_are_asked_for() {
    let (mut visit, _) = retest(Marks::Therapist, &[30.0, 31.0, 29.5], &[45.0]);
    let effects = visit.handle(VisitEvent::Command(Command::PainStop), 40.0);
    let stop = Record::Mark { time_s: 40.0, command: Command::PainStop };
    assert_eq!(records(&effects), [&stop]);
    assert_eq!(lines(&effects), [strings::STOPPED_FOR_PAIN]);
    let told = internal(&visit);
    assert_eq!((told.advice, told.repetitions), (Advice::StoppedForPain, 0));
    assert_eq!(visit.state(41.0).prompt, strings::STOPPED);
}

#[test]
fn nothing_is_told_but_while_a_retest_runs() {
    let (mut visit, _) = retest(Marks::Source, &[30.0, 31.0, 29.5], &[45.0]);
    feed(&mut visit, VisitEvent::SpanEnded(mark(TrialType::Retest, Some(Side::Left), 50.0)), 50.0);
    assert_eq!(visit.state(50.0).more, []);
}
