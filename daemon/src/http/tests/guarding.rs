//! Foreign pages are kept out, and errors are problems.

use super::*;

#[tokio::test]
async fn a_foreign_host_is_refused_before_routing() {
    let bench = Bench::default();
    for path in ["/", "/api/state", "/api/live", "/nowhere"] {
        let request = Request::get(path).header("host", "evil.example:8420").body(Body::empty());
        let answer = bench.send(request.expect("a request")).await;
        problem(answer, StatusCode::MISDIRECTED_REQUEST).await;
    }
}

#[tokio::test]
async fn one_host_and_only_one_is_needed() {
    let bench = Bench::default();
    let none = Request::get("/").body(Body::empty()).expect("a request");
    problem(bench.send(none).await, StatusCode::MISDIRECTED_REQUEST).await;
    let two = Request::get("/").header("host", HOST).header("host", "evil.example");
    let two = two.body(Body::empty()).expect("a request");
    problem(bench.send(two).await, StatusCode::MISDIRECTED_REQUEST).await;
    let absolute = Request::get("http://evil.example/").header("host", HOST);
    let absolute = absolute.body(Body::empty()).expect("a request");
    problem(bench.send(absolute).await, StatusCode::MISDIRECTED_REQUEST).await;
}

#[tokio::test]
async fn a_foreign_page_can_neither_write_nor_watch() {
    let mut bench = Bench::default();
    for origin in ["http://evil.example", "http://127.0.0.1:9", "null"] {
        let mut request = mark(r#"{"kind":"mark"}"#);
        request.headers_mut().insert("origin", origin.parse().expect("a header"));
        problem(bench.send(request).await, StatusCode::FORBIDDEN).await;
    }
    for site in ["cross-site", "same-site"] {
        let mut request = get("/api/live");
        request.headers_mut().insert("sec-fetch-site", site.parse().expect("a header"));
        problem(bench.send(request).await, StatusCode::FORBIDDEN).await;
    }
    assert!(bench.commands.try_recv().is_err(), "nothing was done");
}

#[tokio::test]
async fn a_write_must_be_json() {
    let mut bench = Bench::default();
    let mut request = mark(r#"{"kind":"mark"}"#);
    request.headers_mut().insert("content-type", "text/plain".parse().expect("a header"));
    problem(bench.send(request).await, StatusCode::UNSUPPORTED_MEDIA_TYPE).await;
    assert!(bench.commands.try_recv().is_err(), "nothing was done");
}

#[tokio::test]
async fn marks_arrive_in_order_and_a_full_queue_is_said() {
    let mut bench = Bench::default();
    for kind in ["mark", "undo"] {
        let answer = bench.send(mark(&format!(r#"{{"kind":"{kind}"}}"#))).await;
        assert_eq!(answer.status(), StatusCode::ACCEPTED);
    }
    let full = bench.send(mark(r#"{"kind":"next"}"#)).await;
    problem(full, StatusCode::SERVICE_UNAVAILABLE).await;
    assert_eq!(bench.commands.recv().await, Some(Command::Mark));
    assert_eq!(bench.commands.recv().await, Some(Command::Undo));
    assert!(bench.commands.try_recv().is_err());
}

#[tokio::test]
async fn a_mark_for_another_visit_changes_nothing() {
    let mut bench = Bench::default();
    let other = bench.send(mark(r#"{"kind":"undo","visit":"3"}"#)).await;
    problem(other, StatusCode::CONFLICT).await;
    bench.live.send_replace(Arc::new(LiveState { ended: true, ..LiveState::default() }));
    problem(bench.send(mark(r#"{"kind":"undo"}"#)).await, StatusCode::CONFLICT).await;
    assert!(bench.commands.try_recv().is_err(), "nothing was done");
}

#[tokio::test]
async fn a_body_of_another_shape_is_explained() {
    let bench = Bench::default();
    let cases = [
        ("{", StatusCode::BAD_REQUEST),
        (r#"{"kind":"stop"}"#, StatusCode::UNPROCESSABLE_ENTITY),
        (r#"{"kind":"mark","angle":3}"#, StatusCode::UNPROCESSABLE_ENTITY),
    ];
    for (body, status) in cases {
        let detail = problem(bench.send(mark(body)).await, status).await;
        assert!(detail.contains(r#"{"kind": "mark"}"#), "{detail}");
    }
    let long = format!(r#"{{"kind":"{}"}}"#, "x".repeat(5000));
    problem(bench.send(mark(&long)).await, StatusCode::PAYLOAD_TOO_LARGE).await;
}

#[tokio::test]
async fn unknown_paths_and_methods_are_problems() {
    let bench = Bench::default();
    problem(bench.send(get("/nowhere")).await, StatusCode::NOT_FOUND).await;
    problem(bench.send(get("/api/visits/")).await, StatusCode::NOT_FOUND).await;
    let wrong = bench.send(get("/api/mark")).await;
    assert_eq!(wrong.headers()["allow"], "POST");
    problem(wrong, StatusCode::METHOD_NOT_ALLOWED).await;
    let delete = Request::delete("/api/state").header("host", HOST).body(Body::empty());
    let delete = bench.send(delete.expect("a request")).await;
    problem(delete, StatusCode::METHOD_NOT_ALLOWED).await;
}

#[tokio::test]
async fn every_answer_carries_the_headers_that_keep_scripts_out() {
    let bench = Bench::default();
    for (path, cache) in [("/", "no-cache"), ("/api/state", "no-store"), ("/nowhere", "no-cache")] {
        let answer = bench.send(get(path)).await;
        let headers = answer.headers();
        let policy = headers["content-security-policy"].to_str().expect("text");
        assert!(policy.contains("default-src 'self'"), "{policy}");
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(headers["x-content-type-options"], "nosniff");
        assert_eq!(headers["referrer-policy"], "no-referrer");
        assert_eq!(headers["cache-control"], cache);
    }
}
