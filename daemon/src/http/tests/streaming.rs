//! The live stream, through a real port where the connection matters.

use std::time::Duration;

use futures::StreamExt;
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

use super::super::state::VIEWERS;
use super::super::{bind, serve};
use super::*;

/// One event's `id` and data, read from the text of the stream.
fn parse(event: &str) -> (u64, Value) {
    let field = |name: &str| event.lines().find_map(|line| line.strip_prefix(name)).map(str::trim);
    let id = field("id:").expect("an id").parse().expect("a number");
    (id, serde_json::from_str(field("data:").expect("data")).expect("JSON"))
}

/// A real server and one viewer that has sent its request.
async fn viewer(bench: &Bench) -> (TcpStream, tokio::task::JoinHandle<std::io::Result<()>>) {
    let listener = bind("127.0.0.1:0".parse().expect("an address")).await.expect("a port");
    let address = listener.local_addr().expect("an address");
    let server = tokio::spawn(serve(listener, bench.app.clone(), bench.stop.clone()));
    let mut stream = TcpStream::connect(address).await.expect("a connection");
    let request = format!("GET /api/live HTTP/1.1\r\nHost: {address}\r\n\r\n");
    stream.write_all(request.as_bytes()).await.expect("a sent request");
    (stream, server)
}

#[tokio::test]
async fn the_first_event_is_the_present_state_and_the_next_only_the_newest() {
    let bench = Bench::default();
    let answer = bench.send(get("/api/live")).await;
    assert_eq!(answer.headers()["content-type"], "text/event-stream");
    let mut body = answer.into_body().into_data_stream();
    let first = body.next().await.expect("an event").expect("bytes");
    let (id, state) = parse(std::str::from_utf8(&first).expect("text"));
    assert_eq!((id, &state["sequence"]), (7, &Value::from(7)));
    // The viewer looks away while a hundred states pass.
    for sequence in 8..108 {
        bench.live.send_replace(Arc::new(LiveState { sequence, ..LiveState::default() }));
    }
    let second = body.next().await.expect("an event").expect("bytes");
    assert_eq!(parse(std::str::from_utf8(&second).expect("text")).0, 107);
}

#[tokio::test(start_paused = true)]
async fn at_most_thirty_events_a_second_are_sent() {
    let bench = Bench::default();
    let mut body = bench.send(get("/api/live")).await.into_body().into_data_stream();
    let began = tokio::time::Instant::now();
    let mut events = 0;
    let mut sequence = 7;
    while began.elapsed() < Duration::from_secs(10) {
        sequence += 1;
        bench.live.send_replace(Arc::new(LiveState { sequence, ..LiveState::default() }));
        body.next().await.expect("an event").expect("bytes");
        events += 1;
    }
    assert!((270..=300).contains(&events), "{events} events in 10 s");
}

#[tokio::test(start_paused = true)]
async fn silence_is_filled_with_comments() {
    let bench = Bench::default();
    let mut body = bench.send(get("/api/live")).await.into_body().into_data_stream();
    body.next().await.expect("an event").expect("bytes");
    let silence = body.next().await.expect("a comment").expect("bytes");
    assert!(silence.starts_with(b":"), "{silence:?}");
}

#[tokio::test]
async fn streams_end_when_the_daemon_stops() {
    let bench = Bench::default();
    let (stream, server) = viewer(&bench).await;
    let mut lines = BufReader::new(stream);
    let mut line = String::new();
    while !line.starts_with("data:") {
        line.clear();
        assert_ne!(lines.read_line(&mut line).await.expect("a line"), 0, "the stream ended early");
    }
    bench.stop.cancel();
    let mut rest = Vec::new();
    lines.read_to_end(&mut rest).await.expect("the end of the stream");
    server.await.expect("no panic").expect("served to the end");
}

#[tokio::test]
async fn a_viewer_that_never_reads_costs_nothing() {
    let bench = Bench::default();
    // More than the sockets' buffers take, so that the server is stuck in the first event.
    let long = LiveState { prompt: "x".repeat(32 << 20), ..LiveState::default() };
    bench.live.send_replace(Arc::new(long));
    let (stalled, server) = viewer(&bench).await;
    stalled.readable().await.expect("the first bytes");
    let mut states = Vec::new();
    for sequence in 8..1008 {
        let state = Arc::new(LiveState { sequence, ..LiveState::default() });
        states.push(Arc::downgrade(&state));
        bench.live.send_replace(state);
        tokio::task::yield_now().await;
    }
    let held = states.iter().filter(|state| state.strong_count() > 0).count();
    assert_eq!(held, 1, "only the newest of 1000 states is held for a viewer that never reads");
    bench.stop.cancel();
    drop(stalled);
    server.await.expect("no panic").expect("served to the end");
}

#[tokio::test]
async fn a_place_is_given_back_when_a_viewer_leaves() {
    let bench = Bench::default();
    let router = bench.router();
    let watch = || async { router.clone().oneshot(get("/api/live")).await.expect("an answer") };
    let mut viewers = Vec::new();
    for _ in 0..VIEWERS {
        viewers.push(watch().await);
    }
    problem(watch().await, StatusCode::SERVICE_UNAVAILABLE).await;
    drop(viewers.pop());
    assert_eq!(watch().await.status(), StatusCode::OK);
}
