//! Tests of the interface as a client meets it: through the router, or through a real port.

mod calibration;
mod description;
mod guarding;
mod page;
mod stored;
mod streaming;
mod visits;

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, Response, StatusCode};
use endarc_analysis::levelling::{LevellingMethod, TableLevel};
use serde_json::Value;
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;
use tower::ServiceExt;

use super::names::OwnNames;
use super::routes::router;
use super::state::{AppState, Asked, Command, Shared};
use super::visits::{VisitDetail, VisitSource, VisitSourceError, VisitSummary};
use crate::desk::Desk;
use crate::fitting::{Fitting, FittingAsked};
use crate::live::LiveState;
use crate::meters::Meters;
use crate::store::{TableRecord, Writer, open};
use crate::visit::Known;

/// The name under which the tests call the router.
const HOST: &str = "127.0.0.1:8420";

/// A store in memory; `None` is one that cannot be read.
struct Memory(Option<Vec<VisitDetail>>);

impl VisitSource for Memory {
    fn visits(&self) -> Result<Vec<VisitSummary>, VisitSourceError> {
        Ok(self.all()?.iter().map(|visit| visit.summary.clone()).collect())
    }

    fn visit(&self, id: &str) -> Result<Option<VisitDetail>, VisitSourceError> {
        Ok(self.all()?.iter().find(|visit| visit.summary.id == id).cloned())
    }

    fn tables(&self) -> Result<Vec<TableRecord>, VisitSourceError> {
        self.all().map(|_| vec![room_2()])
    }

    fn known(&self, _person: &str) -> Result<Option<Known>, VisitSourceError> {
        self.all().map(|_| None)
    }
}

/// An invented table.
fn room_2() -> TableRecord {
    let level = TableLevel {
        sideways_rad: 0.03,
        sideways_sd_rad: 0.003,
        head_foot_rad: 0.0,
        head_foot_sd_rad: 0.003,
        method: LevellingMethod::Turned,
    };
    let levelled_at = "2026-11-01T10:00:00Z".parse().expect("a time");
    TableRecord { name: "room 2".to_owned(), levelled_at, level }
}

impl Memory {
    fn all(&self) -> Result<&Vec<VisitDetail>, VisitSourceError> {
        let unreadable = || VisitSourceError("the database is locked".to_owned());
        self.0.as_ref().ok_or_else(unreadable)
    }
}

/// The interface with the ends that the rest of the daemon would hold.
struct Bench {
    app: AppState,
    live: watch::Sender<Arc<LiveState>>,
    commands: mpsc::Receiver<Command>,
    orders: mpsc::Receiver<Asked>,
    fitted: mpsc::Receiver<FittingAsked>,
    stop: CancellationToken,
    /// An empty store behind the desk; held, so that it is not closed.
    _store: (tempfile::TempDir, Writer),
}

impl Bench {
    fn new(visits: impl VisitSource) -> Self {
        let (live, seen) =
            watch::channel(Arc::new(LiveState { sequence: 7, ..LiveState::default() }));
        let (sender, commands) = mpsc::channel(2);
        let (asking, orders) = mpsc::channel(1);
        let visits = Arc::new(visits);
        let (fit, fitted) = mpsc::channel(1);
        let (_, state) = watch::channel(Arc::default());
        let fitting = Fitting { orders: fit, state };
        let dir = tempfile::tempdir().expect("a folder");
        let writer = Writer::start(open(dir.path()).expect("a store")).expect("a thread");
        let desk = Desk::new(dir.path().to_owned(), writer.handle());
        let app = AppState {
            live: seen,
            visits,
            desk,
            commands: sender,
            orders: asking,
            fitting,
            meters: Meters::start(),
        };
        let stop = CancellationToken::new();
        Self { app, live, commands, orders, fitted, stop, _store: (dir, writer) }
    }

    /// A bench whose pipeline does whatever is asked for.
    fn answering() -> Self {
        let mut bench = Self::default();
        let mut orders = std::mem::replace(&mut bench.orders, mpsc::channel(1).1);
        let mut fitted = std::mem::replace(&mut bench.fitted, mpsc::channel(1).1);
        tokio::spawn(async move {
            while let Some(asked) = fitted.recv().await {
                asked.answer.send(Ok(())).expect("the page waits");
            }
        });
        tokio::spawn(async move {
            while let Some(asked) = orders.recv().await {
                asked.answer.send(Ok(())).expect("the page waits");
            }
        });
        bench
    }

    fn router(&self) -> Router {
        let own = OwnNames::of(HOST.parse().expect("an address"));
        router(Shared::new(self.app.clone(), self.stop.clone()), own)
    }

    async fn send(&self, request: Request<Body>) -> Response<Body> {
        self.router().oneshot(request).await.expect("the router always answers")
    }
}

impl Default for Bench {
    fn default() -> Self {
        Self::new(Memory(Some(Vec::new())))
    }
}

/// A GET as the own page would send it.
fn get(path: &str) -> Request<Body> {
    Request::get(path).header("host", HOST).body(Body::empty()).expect("a request")
}

/// A mark as the own page would send it.
fn mark(body: &str) -> Request<Body> {
    post("/api/mark", body)
}

/// A write as the own page would send it.
fn post(path: &str, body: &str) -> Request<Body> {
    Request::post(path)
        .header("host", HOST)
        .header("origin", format!("http://{HOST}"))
        .header("content-type", "application/json")
        .body(Body::from(body.to_owned()))
        .expect("a request")
}

async fn json(response: Response<Body>) -> Value {
    let bytes = to_bytes(response.into_body(), 1 << 20).await.expect("a body");
    serde_json::from_slice(&bytes).expect("JSON")
}

/// Checks that an answer is a problem with this status (RFC 9457), and returns its detail.
async fn problem(response: Response<Body>, status: StatusCode) -> String {
    assert_eq!(response.status(), status);
    assert_eq!(response.headers()["content-type"], "application/problem+json");
    let problem = json(response).await;
    assert_eq!(problem["status"], status.as_u16());
    assert_eq!(problem["type"], "about:blank");
    assert_eq!(problem["title"], status.canonical_reason().expect("a known status"));
    problem["detail"].as_str().expect("a detail").to_owned()
}
