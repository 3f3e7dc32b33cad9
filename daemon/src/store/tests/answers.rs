//! What is answered in a guided visit comes back, and stands where other tables hold it.

use endarc_protocol::words::EndCriterion;
use rusqlite::Connection;

use super::super::words::VisitState;
use super::super::{DATABASE_FILE, NewAnswer};
use super::*;
use crate::visit::course::answer::{Cautions, Consent, Person, Plan};
use crate::visit::course::cautions::Caution;
use crate::visit::course::records::Pain;
use crate::visit::{Answer, Step, Way};

fn at() -> Timestamp {
    "2026-11-25T08:32:00Z".parse().unwrap()
}

async fn answer(to: &WriterHandle, visit: VisitId, step: Step, answer: Answer) {
    let new = NewAnswer { visit, at_s: 12.5, at: at(), step, answer };
    to.save(Write::Answer(Box::new(new))).await.unwrap();
}

fn answers() -> Vec<(Step, Answer)> {
    let person = Person { code: Some("P-020".to_owned()), ..Person::default() };
    let apply = vec![Caution::Operation];
    let consent = Consent {
        contact: true,
        keeping: true,
        years: 10,
        research: false,
        guardian: false,
        child: false,
        agreed: "a sister stays".to_owned(),
    };
    let plan = Plan {
        end_criterion: EndCriterion::PelvisMoves,
        primary: Way { side: Side::Right, direction: Direction::Internal },
        repetitions: 3,
        warm_up: 1,
        by_chance: false,
        short: false,
    };
    vec![
        (Step::Person, Answer::Person(person)),
        (Step::Cautions, Answer::Cautions(Cautions { apply, looked_at: "surgeon".to_owned() })),
        (Step::Consent, Answer::Consent(consent)),
        (Step::Plan, Answer::Plan(plan)),
        (Step::Treatment, Answer::Pain(Pain { rating: 3, side: Some(Side::Right) })),
    ]
}

#[tokio::test]
async fn answers_come_back_and_stand_in_their_tables() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let visit = begin(&to).await;
    for (step, one) in answers() {
        answer(&to, visit, step, one).await;
    }
    writer.close().await.unwrap();
    let reader = Reader::open(dir.path()).unwrap();
    let read: Vec<_> =
        reader.answers(visit).unwrap().into_iter().map(|one| (one.step, one.answer)).collect();
    assert_eq!(read, answers());
    let record = reader.visit(visit).unwrap().unwrap();
    assert_eq!(record.summary.person.as_str(), "P-020");
    assert_eq!(record.primary, Some((Side::Right, Direction::Internal)));
    assert_eq!(record.end_criterion, Some(EndCriterion::PelvisMoves));

    let db = Connection::open(dir.path().join(DATABASE_FILE)).unwrap();
    let count = |sql: &str| db.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(count("SELECT count(*) FROM person"), 1, "nobody is left without a visit");
    let all = i64::try_from(Caution::ALL.len()).unwrap();
    assert_eq!(count("SELECT count(*) FROM caution"), all);
    assert_eq!(count("SELECT count(*) FROM caution WHERE answer = 'yes' AND note = 'surgeon'"), 1);
    assert_eq!(count("SELECT count(*) FROM consent WHERE purpose = 'contact' AND given"), 1);
    assert_eq!(count("SELECT rating FROM pain WHERE phase = 'treatment'"), 3);
}

#[tokio::test]
async fn a_person_who_was_here_is_known_and_a_visit_that_broke_off_is_found() {
    let dir = tempfile::tempdir().unwrap();
    let writer = start(dir.path());
    let to = writer.handle();
    let first = begin(&to).await;
    for (step, one) in answers() {
        answer(&to, first, step, one).await;
    }
    let end = |state| Write::EndVisit { visit: first, state, ended_s: 20.0 };
    to.save(end(VisitState::Interrupted)).await.unwrap();
    let second = begin(&to).await;
    writer.close().await.unwrap();

    let reader = Reader::open(dir.path()).unwrap();
    let known = reader.known("p-020").unwrap().unwrap();
    assert_eq!((known.since.as_str(), known.answers.len()), ("2026-11-25", 5));
    assert_eq!(reader.known("P-099").unwrap(), None);

    let since = "2026-11-25T08:00:00Z".parse().unwrap();
    let found = reader.broken_off(second, None, since).unwrap().unwrap();
    assert_eq!(found.answers, answers());
    assert!(reader.broken_off(second, Some("P-020"), since).unwrap().is_some());
    assert!(reader.broken_off(second, Some("P-021"), since).unwrap().is_none(), "another person's");
    let later = "2026-11-25T09:00:00Z".parse().unwrap();
    assert!(reader.broken_off(second, None, later).unwrap().is_none(), "too long ago");
}
