//! What a page from elsewhere cannot do to the daemon of this computer (hazard H40: DNS rebinding,
//! requests without preflight), and how errors are told (RFC 9457).

use std::io::{Read, Write};
use std::net::TcpStream;

use endarc_tests::daemon::kept;
use endarc_tests::{Daemon, Scratch, scenario};
use serde_json::Value;

/// Takes back the last repetition, if it is let through.
const UNDO: &str = r#"{"kind":"undo"}"#;

#[test]
fn a_page_from_elsewhere_gets_no_answer_and_changes_nothing() {
    let scratch = Scratch::new();
    let daemon = start(&scratch);
    let port = authority(&daemon).rsplit(':').next().unwrap().to_owned();
    let own = authority(&daemon);
    let foreign = format!("evil.example:{port}");
    daemon.live().first(|state| kept(state) > 0);

    // Called by a name that somebody else resolves to this computer, whatever is asked for.
    for path in ["/", "/api/state", "/api/live", "/api/visits", "/api/openapi.json", "/nowhere"] {
        let answer = ask(&daemon, "GET", path, &[("Host", &foreign)], "");
        assert_problem(&answer, &[400, 403, 421]);
        let origin = format!("http://{foreign}");
        let headers = [
            ("Host", foreign.as_str()),
            ("Origin", &origin),
            ("Connection", "Upgrade"),
            ("Upgrade", "websocket"),
        ];
        assert_problem(&ask(&daemon, "GET", path, &headers, ""), &[400, 403, 421]);
    }
    // A right name and no name, or two of them.
    assert_problem(&ask(&daemon, "GET", "/", &[], ""), &[400, 421]);
    assert_problem(
        &ask(&daemon, "GET", "/", &[("Host", &own), ("Host", &foreign)], ""),
        &[400, 421],
    );

    // A foreign page that sends to the right name.
    let json = ("Content-Type", "application/json");
    let text = ("Content-Type", "text/plain");
    for origin in ["http://evil.example", "https://evil.example", "null", "http://localhost:1"] {
        for kind in [json, text] {
            let headers = [("Host", own.as_str()), ("Origin", origin), kind];
            assert_problem(&ask(&daemon, "POST", "/api/mark", &headers, UNDO), &[403]);
        }
    }
    // A form of a foreign page needs no preflight; it cannot send JSON.
    let form = ("Content-Type", "application/x-www-form-urlencoded");
    for kind in [text, form] {
        let headers = [("Host", own.as_str()), kind];
        assert_problem(&ask(&daemon, "POST", "/api/mark", &headers, UNDO), &[415]);
    }
    let headers = [("Host", own.as_str()), ("Sec-Fetch-Site", "cross-site")];
    assert_problem(&ask(&daemon, "GET", "/api/state", &headers, ""), &[403]);

    // Nothing of it came through: nothing was taken back.
    let ended = daemon.stop();
    assert!(!ended.stderr.contains("struck out"), "{}", ended.stderr);
}

#[test]
fn the_own_page_is_let_through() {
    let scratch = Scratch::new();
    let daemon = start(&scratch);
    let own = authority(&daemon);
    let port = own.rsplit(':').next().unwrap();
    let (localhost, origin) = (format!("localhost:{port}"), format!("http://localhost:{port}"));
    daemon.live().first(|state| kept(state) > 0);
    for host in [&own, &localhost] {
        assert_eq!(ask(&daemon, "GET", "/api/state", &[("Host", host)], "").status, 200);
    }
    let headers = [
        ("Host", localhost.as_str()),
        ("Origin", &origin),
        ("Sec-Fetch-Site", "same-origin"),
        ("Content-Type", "application/json; charset=utf-8"),
    ];
    let answer = ask(&daemon, "POST", "/api/mark", &headers, UNDO);
    assert_eq!(answer.status, 202, "{answer:?}");
    // And it is heard.
    let mut live = daemon.live();
    live.first(|state| kept(state) > 0);
    let ended = daemon.stop();
    assert!(ended.stderr.contains("struck out"), "{}", ended.stderr);
}

#[test]
fn every_error_is_a_problem() {
    let scratch = Scratch::new();
    let daemon = start(&scratch);
    let own = authority(&daemon);
    let host = ("Host", own.as_str());
    let json = ("Content-Type", "application/json");
    assert_problem(&ask(&daemon, "GET", "/nowhere", &[host], ""), &[404]);
    assert_problem(&ask(&daemon, "GET", "/api/visits/none", &[host], ""), &[404]);
    assert_problem(&ask(&daemon, "POST", "/api/state", &[host, json], "{}"), &[405]);
    assert_problem(&ask(&daemon, "GET", "/api/mark", &[host], ""), &[405]);
    assert_problem(&ask(&daemon, "POST", "/api/mark", &[host, json], "{\"kind\""), &[400]);
    assert_problem(
        &ask(&daemon, "POST", "/api/mark", &[host, json], "{\"kind\":\"jump\"}"),
        &[422],
    );
    let long = format!("{{\"kind\":\"mark\",\"visit\":\"{}\"}}", "9".repeat(100_000));
    assert_problem(&ask(&daemon, "POST", "/api/mark", &[host, json], &long), &[413]);
    let other = r#"{"kind":"undo","visit":"999"}"#;
    assert_problem(&ask(&daemon, "POST", "/api/mark", &[host, json], other), &[409]);
}

#[test]
fn the_page_may_load_nothing_from_elsewhere() {
    let scratch = Scratch::new();
    let daemon = start(&scratch);
    let answer = ask(&daemon, "GET", "/", &[("Host", &authority(&daemon))], "");
    let head = answer.head.to_ascii_lowercase();
    let policy = head.lines().find(|line| line.starts_with("content-security-policy:")).unwrap();
    assert!(
        policy.contains("default-src 'none'") || policy.contains("default-src 'self'"),
        "{policy}"
    );
    assert!(!policy.contains("unsafe-inline") && !policy.contains("http:"), "{policy}");
    assert!(head.contains("referrer-policy: no-referrer"), "{head}");
    assert!(head.contains("x-content-type-options: nosniff"), "{head}");
}

fn start(scratch: &Scratch) -> Daemon {
    let file = scratch.file("scenario.toml", scenario::two_legs(3));
    let source = format!("sim:{}", file.display());
    Daemon::start(&scratch.at("data"), &source, &["--speed", "10"])
}

/// Host and port of the daemon's page.
fn authority(daemon: &Daemon) -> String {
    daemon.page.trim_start_matches("http://").trim_end_matches('/').to_owned()
}

/// An answer with its head as it came.
#[derive(Debug)]
struct Raw {
    status: u16,
    head: String,
    body: String,
}

/// Sends a request written by hand: a client library would put the headers right.
fn ask(daemon: &Daemon, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Raw {
    let mut stream = TcpStream::connect(authority(daemon)).unwrap();
    let mut request = format!("{method} {path} HTTP/1.1\r\n");
    for (name, value) in headers {
        request.push_str(&format!("{name}: {value}\r\n"));
    }
    if !headers.iter().any(|(name, _)| *name == "Connection") {
        request.push_str("Connection: close\r\n");
    }
    request.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
    stream.write_all(request.as_bytes()).unwrap();
    answer(stream)
}

/// Reads until the daemon closes, or the announced body is whole.
fn answer(mut stream: TcpStream) -> Raw {
    stream.set_read_timeout(Some(std::time::Duration::from_secs(60))).unwrap();
    let (mut bytes, mut piece) = (Vec::new(), [0; 4096]);
    loop {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        if let Some((head, body)) = text.split_once("\r\n\r\n")
            && length(head).is_some_and(|length| body.len() >= length)
        {
            let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap();
            return Raw { status, head: head.to_owned(), body: body.to_owned() };
        }
        match stream.read(&mut piece) {
            Ok(0) => panic!("the daemon closed the connection after: {text}"),
            Ok(count) => bytes.extend_from_slice(&piece[..count]),
            Err(error) => panic!("{error} after: {text}"),
        }
    }
}

/// How long the body will be.
fn length(head: &str) -> Option<usize> {
    let head = head.to_ascii_lowercase();
    head.lines().find_map(|line| line.strip_prefix("content-length:")?.trim().parse().ok())
}

/// Holds an answer against RFC 9457: media type, and the members that every problem has.
fn assert_problem(answer: &Raw, statuses: &[u16]) {
    assert!(statuses.contains(&answer.status), "{statuses:?}: {answer:?}");
    let head = answer.head.to_ascii_lowercase();
    assert!(head.contains("content-type: application/problem+json"), "{answer:?}");
    let problem: Value = serde_json::from_str(&answer.body).expect("a problem is JSON");
    assert_eq!(problem["status"], answer.status, "{problem}");
    for member in ["type", "title", "detail"] {
        assert!(problem[member].as_str().is_some_and(|text| !text.is_empty()), "{problem}");
    }
}
