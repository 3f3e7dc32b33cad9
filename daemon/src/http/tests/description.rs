//! The OpenAPI description.

use super::*;

/// Every route of the interface, with its method.
const ROUTES: [(&str, &str); 21] = [
    ("/api/live", "get"),
    ("/api/state", "get"),
    ("/api/status", "get"),
    ("/api/visits", "get"),
    ("/api/visits/{id}", "get"),
    ("/api/mark", "post"),
    ("/api/course", "get"),
    ("/api/answer", "post"),
    ("/api/calibration", "post"),
    ("/api/exchange", "post"),
    ("/api/sensors", "get"),
    ("/api/sensors", "post"),
    ("/api/tables", "get"),
    ("/api/table", "post"),
    ("/api/people/{person}/visits", "get"),
    ("/api/visits/{id}/sheet", "get"),
    ("/api/visits/{id}/curves", "get"),
    ("/api/visits/{id}/repetitions/{repetition}/raw", "get"),
    ("/api/visits/{id}/report", "get"),
    ("/api/visits/{id}/amend", "post"),
    ("/api/openapi.json", "get"),
];

#[tokio::test]
async fn the_description_lists_every_route_and_no_other() {
    let answer = Bench::default().send(get("/api/openapi.json")).await;
    assert_eq!(answer.status(), StatusCode::OK);
    let document = json(answer).await;
    assert!(document["openapi"].as_str().expect("a version").starts_with("3.1"));
    let paths = document["paths"].as_object().expect("paths");
    let methods = paths.values().map(|path| path.as_object().expect("methods").len());
    assert_eq!(methods.sum::<usize>(), ROUTES.len());
    for (path, method) in ROUTES {
        assert!(paths[path][method]["responses"].is_object(), "{method} {path}");
    }
}

#[tokio::test]
async fn every_described_route_answers() {
    let bench = Bench::answering();
    for (path, method) in ROUTES {
        let request = match (method, path) {
            ("post", "/api/mark") => post(path, r#"{"kind":"next"}"#),
            ("post", "/api/sensors") => post(path, r#"{"order":"scan"}"#),
            ("post", "/api/answer") => post(path, r#"{"answer":{"what":"next"}}"#),
            ("post", "/api/exchange") => post(path, "{}"),
            ("post", "/api/table") => post(path, r#"{"table":"room 2"}"#),
            ("post", "/api/visits/{id}/amend") => post(path, r#"{"change":"notes","text":""}"#),
            ("post", "/api/calibration") => post(path, r#"{"order":"stop"}"#),
            _ => get(path),
        };
        let status = bench.send(request).await.status();
        let no_visit = path.contains("{id}") && status == StatusCode::NOT_FOUND;
        assert!(status.is_success() || no_visit, "{method} {path}: {status}");
    }
}

#[tokio::test]
async fn every_reference_in_the_description_leads_somewhere() {
    let document = serde_json::to_value(super::super::openapi()).expect("JSON");
    let text = document.to_string();
    let references: Vec<_> = text.split(r##""$ref":"#"##).skip(1).collect();
    assert!(!references.is_empty());
    for reference in references {
        let pointer = reference.split('"').next().unwrap_or_default();
        assert!(document.pointer(pointer).is_some(), "{pointer} is not in the document");
    }
}
