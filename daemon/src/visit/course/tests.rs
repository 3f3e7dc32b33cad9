//! A guided visit, step by step.

use endarc_analysis::limb::LimbAngle;
use endarc_protocol::words::{Direction, EndCriterion};

use super::answer::{Cautions, Consent, Growth, Skip, Withdraw};
use super::cautions::Caution;
use super::*;

fn course() -> Course {
    Course::new(TestKind::ProneHipRotation, Side::ALL, "7")
}

fn consent() -> Consent {
    Consent {
        contact: true,
        keeping: true,
        years: 10,
        research: false,
        guardian: false,
        child: false,
        agreed: String::new(),
    }
}

fn plan() -> Plan {
    Plan {
        end_criterion: EndCriterion::FirstResistance,
        primary: Way { side: Side::Right, direction: Direction::Internal },
        repetitions: 2,
        warm_up: 0,
        by_chance: false,
        short: false,
    }
}

/// Answers everything that is asked, up to the sensors.
fn answered(person: Person) -> Course {
    let mut course = course();
    for answer in [
        Answer::Person(person),
        Answer::Cautions(Cautions::default()),
        Answer::Consent(consent()),
        Answer::Plan(plan()),
    ] {
        course.answer(&answer, 1.0).unwrap();
    }
    course
}

fn lying(time_s: f64) -> LimbAngle {
    LimbAngle::unknown(time_s, 0.0, [0.0, 0.0, 1.0])
}

fn raised(time_s: f64) -> LimbAngle {
    LimbAngle { raised: true, knee_flexion_deg: Some(90.0), ..lying(time_s) }
}

fn skip(reason: &str) -> Answer {
    Answer::Skip(Skip { reason: reason.to_owned() })
}

#[test]
fn what_is_answered_leads_to_the_sensors_and_is_kept() {
    let mut course = course();
    let acts = course.answer(&Answer::Person(Person::default()), 1.0).unwrap();
    assert_eq!(acts[0], Act::Answered(Step::Person, Answer::Person(Person::default())));
    assert_eq!(course.step, Step::Cautions);
    let course = answered(Person::default());
    assert_eq!(course.step, Step::Sensors);
    assert_eq!(course.answers.len(), 4);
}

#[test]
fn a_caution_that_applies_asks_who_has_looked_at_it() {
    let mut course = course();
    course.answer(&Answer::Person(Person::default()), 1.0).unwrap();
    let apply = vec![Caution::Operation];
    let told = Cautions { apply: apply.clone(), looked_at: " ".to_owned() };
    assert_eq!(course.answer(&Answer::Cautions(told), 2.0), Err(strings::LOOKED_AT.to_owned()));
    assert_eq!(course.step, Step::Cautions);
    let told = Cautions { apply, looked_at: "surgeon, last week".to_owned() };
    course.answer(&Answer::Cautions(told), 2.0).unwrap();
    assert_eq!(course.step, Step::Consent);
}

#[test]
fn a_child_is_asked_about_the_growth_plate_and_consents_with_its_guardian() {
    let mut course = course();
    course.answer(&Answer::Person(Person { under_18: true, ..Person::default() }), 1.0).unwrap();
    course.answer(&Answer::Cautions(Cautions::default()), 1.0).unwrap();
    assert_eq!(course.step, Step::Growth);
    let limps = Growth { limp: true, ..Growth::default() };
    let refused = course.answer(&Answer::Growth(limps), 1.0);
    assert_eq!(refused, Err(strings::GROWTH_PLATE.to_owned()));
    course.answer(&Answer::Growth(Growth::default()), 1.0).unwrap();
    let refused = course.answer(&Answer::Consent(consent()), 1.0);
    assert_eq!(refused, Err(strings::GUARDIAN.to_owned()));
    let both = Consent { guardian: true, child: true, ..consent() };
    course.answer(&Answer::Consent(both), 1.0).unwrap();
    assert_eq!(course.step, Step::Plan);
}

#[test]
fn without_consent_to_contact_nothing_is_measured() {
    let mut course = course();
    course.answer(&Answer::Person(Person::default()), 1.0).unwrap();
    course.answer(&Answer::Cautions(Cautions::default()), 1.0).unwrap();
    let refused = course.answer(&Answer::Consent(Consent { contact: false, ..consent() }), 1.0);
    assert_eq!(refused, Err(strings::NO_CONTACT.to_owned()));
    assert_eq!(course.step, Step::Consent);
}

#[test]
fn consent_that_is_withdrawn_ends_what_is_being_measured() {
    let mut course = answered(Person::default());
    drop(course.next(2.0));
    let withdrawn = Answer::Withdraw(Withdraw { contact: true, keeping: false });
    let acts = course.answer(&withdrawn, 3.0).unwrap();
    assert!(acts.contains(&Act::EndSpans));
    assert_eq!(course.prompt(|_, _| 0, 3.0), strings::WITHDRAWN);
}

#[test]
fn nothing_new_is_said_of_a_known_person_only() {
    let mut course = course();
    course.answer(&Answer::Person(Person::default()), 1.0).unwrap();
    let refused = course.answer(&Answer::NothingNew {}, 1.0);
    assert_eq!(refused, Err(strings::NOT_KNOWN.to_owned()));
    course.know(Some(Known {
        since: "2026-11-20".to_owned(),
        answers: vec![Answer::Cautions(Cautions::default())],
    }));
    course.answer(&Answer::NothingNew {}, 1.0).unwrap();
    assert_eq!(course.step, Step::Consent);
}

#[test]
fn a_step_is_left_out_with_a_reason_only() {
    let mut course = course();
    assert!(course.answer(&skip(""), 1.0).is_err());
    course.answer(&skip("emergency"), 1.0).unwrap();
    let steps = course.live(|_, _| 0, 1.0).steps;
    assert_eq!(steps[0].reason.as_deref(), Some("emergency"));
    assert_eq!(course.step, Step::Cautions);
}

#[test]
fn a_barred_direction_is_no_primary_measure_and_no_target() {
    let barred = Way { side: Side::Right, direction: Direction::Internal };
    let mut course = course();
    let person = Person { barred: vec![barred], ..Person::default() };
    course.answer(&Answer::Person(person), 1.0).unwrap();
    course.answer(&Answer::Cautions(Cautions::default()), 1.0).unwrap();
    course.answer(&Answer::Consent(consent()), 1.0).unwrap();
    assert_eq!(course.answer(&Answer::Plan(plan()), 1.0), Err(strings::BARRED.to_owned()));
    let primary = Way { direction: Direction::External, ..barred };
    course.answer(&Answer::Plan(Plan { primary, ..plan() }), 1.0).unwrap();
    assert!(course.targets.wanted().all(|(way, _)| way != barred));
    assert_eq!(course.targets.left(|_, _| 0), 6);
}

#[test]
fn the_pedal_alone_goes_from_the_sensors_to_the_end() {
    let mut course = answered(Person::default());
    assert!(course.mark_goes_on());
    let mut begun = Vec::new();
    for step in 0..12 {
        let now_s = f64::from(step);
        let acts = course.next(now_s);
        begun.extend(acts.iter().filter_map(|act| match act {
            Act::Begin(trial_type, side) => Some((*trial_type, *side)),
            _ => None,
        }));
        if let Some(side) = course.awaited {
            let told = course.limb(side, &raised(now_s));
            begun.extend(told.iter().filter_map(|act| match act {
                Act::Begin(trial_type, side) => Some((*trial_type, *side)),
                _ => None,
            }));
        }
        if acts.contains(&Act::EndSource) {
            break;
        }
    }
    // The knee bends begin with the first lift.
    let expected = [
        (TrialType::Neutral, Some(Side::Right)),
        (TrialType::Neutral, Some(Side::Left)),
        (TrialType::Baseline, None),
        (TrialType::Treatment, Some(Side::Right)),
        (TrialType::Retest, None),
    ];
    assert_eq!(begun, expected);
    assert_eq!(course.step, Step::Summary);
}

#[test]
fn what_is_complete_is_done_once_the_leg_is_laid_down() {
    let mut course = answered(Person::default());
    course.enter(Step::Baseline, &mut Vec::new());
    drop(course.limb(Side::Left, &raised(10.0)));
    assert_eq!(course.time(12.0, |_, _| 2), []);
    assert_eq!(course.prompt(|_, _| 2, 12.0), strings::ENOUGH);
    drop(course.limb(Side::Left, &lying(13.0)));
    assert_eq!(course.time(13.0, |_, _| 1), []);
    assert_eq!(course.time(20.0, |_, _| 2), []);
    assert!(!course.time(21.0, |_, _| 2).is_empty());
    assert_eq!(course.step, Step::Treatment);
}

#[test]
fn baseline_is_measured_again_only_before_the_leg_is_treated() {
    let mut course = answered(Person::default());
    course.enter(Step::Baseline, &mut Vec::new());
    course.pass(Passed::Done, &mut Vec::new());
    let again = Answer::Again(Again { step: Step::Baseline });
    let mut treated = course.clone();
    course.answer(&again, 20.0).unwrap();
    assert_eq!(course.step, Step::Baseline);
    // A key ends it: what is wanted is there already.
    assert_eq!(course.time(30.0, |_, _| 2), []);
    drop(treated.limb(Side::Right, &raised(21.0)));
    assert_eq!(treated.answer(&again, 22.0), Err(strings::TREATED.to_owned()));
}

#[test]
fn the_legs_lie_flat_for_a_minute_before_the_retest() {
    let mut course = answered(Person::default());
    course.enter(Step::Settle, &mut Vec::new());
    assert_eq!(course.time(100.0, |_, _| 0), []);
    assert_eq!(course.prompt(|_, _| 0, 130.0), "Both legs flat: 30 s more.");
    let acts = course.time(160.0, |_, _| 0);
    assert!(acts.contains(&Act::Begin(TrialType::Retest, None)), "{acts:?}");
}

#[test]
fn warm_up_movements_are_left_out_of_each_side_and_direction() {
    let mut course = course();
    course.targets =
        Targets::new(TestKind::ProneHipRotation, Side::ALL, &[], &Plan { warm_up: 1, ..plan() }, 1);
    assert!(!course.warms_up(Side::Left, Direction::Internal), "nothing is measured yet");
    course.step = Step::Baseline;
    assert!(course.warms_up(Side::Left, Direction::Internal));
    assert!(!course.warms_up(Side::Left, Direction::Internal));
    assert!(course.warms_up(Side::Left, Direction::External));
}

#[test]
fn a_visit_that_broke_off_is_taken_up_at_its_sensors() {
    let before = answered(Person::default());
    let steps = [Step::Person, Step::Cautions, Step::Consent, Step::Plan];
    let answers = steps.into_iter().zip(before.answers.clone()).collect();
    let mut course = course();
    let acts = course.take_up(&BrokenOff { answers }, 0.0);
    assert_eq!(course.step, Step::Sensors);
    assert_eq!(course.answers, before.answers);
    let stored = acts.iter().filter(|act| matches!(act, Act::Answered(..))).count();
    assert_eq!(stored, 4, "they are this visit's answers as well");
}

#[test]
fn an_answer_is_kept_as_json_and_read_back() {
    for answer in [
        Answer::NothingNew {},
        Answer::Person(Person { barred: vec![plan().primary], ..Person::default() }),
        Answer::Plan(plan()),
        skip("x"),
    ] {
        let text = serde_json::to_string(&answer).unwrap();
        assert_eq!(serde_json::from_str::<Answer>(&text).unwrap(), answer, "{text}");
    }
    let unknown = r#"{"what": "person", "name": "Ada"}"#;
    assert!(serde_json::from_str::<Answer>(unknown).is_err());
}
