//! The course of a guided visit: what is asked, what was answered, and answering.

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::calibration::ask;
use super::handlers::{look_up, same_visit, sent};
use super::problem::Problem;
use super::state::Shared;
use crate::live::LiveCourse;
use crate::order::Order;
use crate::visit::Answer;
use crate::visit::course::cautions::Caution;

/// An example of what to send, told with every refused shape.
const EXAMPLE: &str = r#"{"answer": {"what": "next"}}"#;

/// What is asked and what was answered.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct CourseSheet {
    /// As in the live state: newer answers count it up.
    revision: u32,
    /// What speaks for caution, in the order in which it is asked.
    cautions: Vec<CautionQuestion>,
    /// What was answered in this visit: the newest of each kind that is replaced, all of the others.
    answers: Vec<Answer>,
    /// The day of the person's last visit; null for one who was not here before.
    known_since: Option<String>,
    /// What was answered in earlier visits, the newest of each kind.
    known: Vec<Answer>,
}

/// One thing that is asked about.
#[derive(Debug, Serialize, ToSchema)]
struct CautionQuestion {
    /// The word it is answered by.
    #[schema(value_type = String)]
    caution: Caution,
    /// The question.
    question: &'static str,
}

/// What is asked, and what was answered so far.
#[utoipa::path(
    get, path = "/api/course", tag = "live", operation_id = "course",
    responses(
        (status = 200, description = "What is asked and was answered; nothing was in a visit that is not \
         guided", body = CourseSheet),
    ),
)]
pub(super) async fn course(State(shared): State<Shared>) -> Json<CourseSheet> {
    let state = shared.app.live.borrow().clone();
    Json(sheet(state.course.as_ref()))
}

fn sheet(course: Option<&LiveCourse>) -> CourseSheet {
    let question = |&caution: &Caution| CautionQuestion { caution, question: caution.question() };
    let known = course.and_then(|course| course.known.clone());
    CourseSheet {
        revision: course.map_or(0, |course| course.revision),
        cautions: Caution::ALL.iter().map(question).collect(),
        answers: course.map(|course| course.answers.clone()).unwrap_or_default(),
        known_since: known.as_ref().map(|known| known.since.clone()),
        known: known.map(|known| known.answers).unwrap_or_default(),
    }
}

/// Something that is answered.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AnswerRequest {
    /// What.
    answer: Answer,
    /// The visit that is meant; may be left out.
    #[serde(default)]
    visit: Option<String>,
}

/// Answers what a guided visit asks, leaves a step out, does one again, or notes something.
#[utoipa::path(
    post, path = "/api/answer", tag = "live", operation_id = "answer",
    request_body = AnswerRequest,
    responses(
        (status = 202, description = "Taken; the live state shows what came of it"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "Not this daemon's own page", body = Problem,
         content_type = "application/problem+json"),
        (status = 409, description = "Not taken: the detail says why and what to do", body = Problem,
         content_type = "application/problem+json"),
        (status = 413, description = "Too long", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not application/json", body = Problem,
         content_type = "application/problem+json"),
        (status = 422, description = "JSON of another shape", body = Problem,
         content_type = "application/problem+json"),
        (status = 503, description = "Too many at once, or the store is busy", body = Problem,
         content_type = "application/problem+json"),
    ),
)]
pub(super) async fn answer(
    State(shared): State<Shared>,
    request: Result<Json<AnswerRequest>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let request = sent(request, EXAMPLE)?;
    same_visit(&shared.app.live.borrow(), request.visit.as_deref())?;
    let order = match request.answer {
        Answer::Person(person) if person.code.is_some() => {
            let code = person.code.clone().unwrap_or_default();
            let known = look_up(&shared, move |source| source.known(&code)).await?;
            Order::Person(Box::new(person), known.map(Box::new))
        }
        answer => Order::Answer(Box::new(answer)),
    };
    ask(&shared, order).await
}
