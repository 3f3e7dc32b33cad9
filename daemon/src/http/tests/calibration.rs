//! Asking for a calibration or levelling.

use endarc_protocol::words::SensorRole;

use super::*;
use crate::order::{Order, Refusal};

fn ask(body: &str) -> Request<Body> {
    post("/api/calibration", body)
}

/// What is asked of the pipeline, which answers so, and what the page is told.
async fn asked(request: Request<Body>, answer: Result<(), Refusal>) -> (Order, Response<Body>) {
    let mut bench = Bench::default();
    let router = bench.router();
    let told = async {
        let asked = bench.orders.recv().await.expect("an order");
        asked.answer.send(answer).expect("the page waits");
        asked.order
    };
    let (order, answer) = tokio::join!(told, router.oneshot(request));
    (order, answer.expect("the router always answers"))
}

#[tokio::test]
async fn what_is_asked_for_reaches_the_pipeline() {
    let cases = [
        (
            r#"{"order":"calibrate","sensor":"pelvis","temperature_c":23}"#,
            Order::Calibrate { sensor: SensorRole::Pelvis, temperature_c: Some(23.0) },
        ),
        (
            r#"{"order":"level","sensor":"left-shank","table":" room 2 "}"#,
            Order::Level { sensor: SensorRole::LeftShank, table: "room 2".to_owned() },
        ),
        (r#"{"order":"finish"}"#, Order::Finish),
        (r#"{"order":"stop"}"#, Order::Stop),
    ];
    for (body, expected) in cases {
        let (order, answer) = asked(ask(body), Ok(())).await;
        assert_eq!((order, answer.status()), (expected, StatusCode::ACCEPTED), "{body}");
    }
}

#[tokio::test]
async fn a_table_is_chosen_by_its_name() {
    let cases = [(r#"{"table":"Room 2"}"#, Some(Box::new(room_2()))), (r#"{"table":null}"#, None)];
    for (body, table) in cases {
        let (order, answer) = asked(post("/api/table", body), Ok(())).await;
        assert_eq!(
            (order, answer.status()),
            (Order::UseTable(table), StatusCode::ACCEPTED),
            "{body}"
        );
    }
    let mut bench = Bench::default();
    let unknown = bench.send(post("/api/table", r#"{"table":"room 9"}"#)).await;
    assert!(problem(unknown, StatusCode::NOT_FOUND).await.contains("/api/tables"));
    assert!(bench.orders.try_recv().is_err(), "nothing was asked");
    let listed = json(bench.send(get("/api/tables")).await).await;
    assert_eq!(listed[0]["table"], "room 2");
}

#[tokio::test]
async fn a_refusal_is_a_conflict_with_its_reason() {
    let reason = "never seen on top: z down";
    let (_, answer) = asked(ask(r#"{"order":"finish"}"#), Err(Refusal::from(reason))).await;
    assert_eq!(problem(answer, StatusCode::CONFLICT).await, reason);
}

#[tokio::test]
async fn another_shape_is_explained_and_nothing_is_asked() {
    let mut bench = Bench::default();
    for body in [
        r#"{"order":"fly"}"#,
        r#"{"order":"calibrate"}"#,
        r#"{"order":"calibrate","sensor":"nose"}"#,
        r#"{"order":"calibrate","sensor":"pelvis","temperature_c":500}"#,
        r#"{"order":"level","sensor":"pelvis","table":" "}"#,
    ] {
        problem(bench.send(ask(body)).await, StatusCode::UNPROCESSABLE_ENTITY).await;
    }
    let other = bench.send(ask(r#"{"order":"stop","visit":"3"}"#)).await;
    problem(other, StatusCode::CONFLICT).await;
    assert!(bench.orders.try_recv().is_err(), "nothing was asked");
}

#[tokio::test]
async fn a_pipeline_that_has_ended_is_said() {
    let mut bench = Bench::default();
    bench.orders.close();
    let detail = problem(bench.send(ask(r#"{"order":"stop"}"#)).await, StatusCode::CONFLICT).await;
    assert!(detail.contains("nothing is being recorded"), "{detail}");
}
