//! Asking a running daemon over HTTP.

use std::io::{BufRead, BufReader};
use std::time::Duration;

use serde_json::Value;
use ureq::Agent;

/// Longer than any answer takes on a slow and busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// An answer, whatever its status.
#[derive(Debug)]
pub struct Answer {
    /// The HTTP status.
    pub status: u16,
    /// The media type without parameters.
    pub media_type: String,
    /// The body as text.
    pub body: String,
}

/// The live stream; an iterator over the states it sends.
pub struct Live(BufReader<ureq::BodyReader<'static>>);

/// Asks for an address.
///
/// # Panics
/// When nobody answers.
#[must_use]
pub fn get(address: &str) -> Answer {
    let mut response = agent().get(address).call().expect("the daemon answers");
    let media_type = response.body().mime_type().unwrap_or_default().to_owned();
    let body = response.body_mut().read_to_string().expect("the answer is text");
    Answer { status: response.status().as_u16(), media_type, body }
}

/// Sends JSON to an address, as the page does.
///
/// # Panics
/// When nobody answers.
#[must_use]
pub fn post(address: &str, body: &Value) -> Answer {
    let request = agent().post(address).content_type("application/json");
    let mut response = request.send(body.to_string()).expect("the daemon answers");
    let media_type = response.body().mime_type().unwrap_or_default().to_owned();
    let body = response.body_mut().read_to_string().expect("the answer is text");
    Answer { status: response.status().as_u16(), media_type, body }
}

impl Answer {
    /// The body as JSON.
    ///
    /// # Panics
    /// When it is not, or the request failed.
    #[must_use]
    pub fn json(&self) -> Value {
        assert_eq!((self.status, self.media_type.as_str()), (200, "application/json"), "{self:?}");
        serde_json::from_str(&self.body).expect("the body is JSON")
    }

    /// The detail of a problem with this status (RFC 9457).
    ///
    /// # Panics
    /// When it is none.
    #[must_use]
    pub fn problem(&self, status: u16) -> String {
        let shape = (self.status, self.media_type.as_str());
        assert_eq!(shape, (status, "application/problem+json"), "{self:?}");
        let problem: Value = serde_json::from_str(&self.body).expect("the body is JSON");
        problem["detail"].as_str().expect("a problem has a detail").to_owned()
    }
}

impl Live {
    /// Listens to the live stream at an address.
    ///
    /// # Panics
    /// When it is not one.
    #[must_use]
    pub fn listen(address: &str) -> Self {
        let response = agent().get(address).call().expect("the daemon answers");
        assert_eq!(response.body().mime_type(), Some("text/event-stream"));
        Self(BufReader::new(response.into_body().into_reader()))
    }

    /// The first state that is as wanted.
    ///
    /// # Panics
    /// When the stream ends without one, or takes too long.
    pub fn first(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        self.find(|state| wanted(state)).expect("the stream ended before the wanted state")
    }
}

impl Iterator for Live {
    type Item = Value;

    /// The next state; none once the daemon has gone.
    fn next(&mut self) -> Option<Value> {
        loop {
            let mut line = String::new();
            match self.0.read_line(&mut line) {
                Ok(0) => return None,
                Ok(_) => {}
                Err(error) if error.kind() == std::io::ErrorKind::TimedOut => panic!("{error}"),
                // A daemon that is killed cuts the connection off.
                Err(_cut_off) => return None,
            }
            if let Some(data) = line.strip_prefix("data:") {
                return Some(serde_json::from_str(data).expect("an event holds JSON"));
            }
        }
    }
}

impl std::fmt::Debug for Live {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Live").finish_non_exhaustive()
    }
}

fn agent() -> Agent {
    let config = Agent::config_builder()
        .http_status_as_error(false)
        .proxy(None)
        .timeout_global(Some(PATIENCE));
    config.build().into()
}
