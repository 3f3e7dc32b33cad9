//! A real browser, driven through its own debugging protocol.
//!
//! Chromium speaks the DevTools protocol over a pair of pipes (`--remote-debugging-pipe`): JSON
//! messages that each end in a zero byte, read from file descriptor 3 and written to 4.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, sync_channel};
use std::thread;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::wait::Deadline;

/// Names under which systems install it.
const NAMES: [&str; 2] = ["chromium", "chromium-browser"];

/// How long a browser may take to do one thing, s.
const PATIENCE_S: u64 = 120;

/// How many messages may wait to be read.
const MESSAGES: usize = 100_000;

/// Moves the pair of pipes from standard input and output to where the browser wants them.
const MOVE_PIPES: &str = r#"exec "$0" "$@" 3<&0 4>&1 0</dev/null 1>/dev/null 2>/dev/null"#;

/// A browser with one page; killed when dropped.
#[derive(Debug)]
pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    session: Option<String>,
    sent: u64,
    /// Everything the browser told of its own accord.
    events: Vec<Value>,
    /// Its settings and cache, new for each browser.
    _profile: TempDir,
}

/// The browser's program, if one is in the path.
#[must_use]
pub fn installed() -> Option<&'static str> {
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let is_there = |name: &str| std::env::split_paths(&folders).any(|dir| dir.join(name).is_file());
    NAMES.into_iter().find(|name| is_there(name))
}

impl Browser {
    /// Starts a browser with an empty page of this size, px, and listens to all it tells of it.
    ///
    /// # Panics
    /// When it does not start.
    #[must_use]
    pub fn start(program: &str, [width, height]: [u32; 2]) -> Self {
        let profile = TempDir::with_prefix("endarc-browser-").expect("a scratch folder");
        let mut child = command(program, profile.path(), [width, height]).spawn().expect("sh");
        let to = child.stdin.take().expect("stdin is piped");
        let from = listen(BufReader::new(child.stdout.take().expect("stdout is piped")));
        let mut browser =
            Self { child, to, from, session: None, sent: 0, events: Vec::new(), _profile: profile };
        let page = browser.call("Target.createTarget", json!({"url": "about:blank"}));
        let target = json!({"targetId": page["targetId"], "flatten": true});
        let session = browser.call("Target.attachToTarget", target);
        browser.session = session["sessionId"].as_str().map(str::to_owned);
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        browser
    }

    /// Opens an address, and waits until the page and all it names are loaded.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub fn open(&mut self, address: &str) {
        let loaded = self.events("Page.loadEventFired").len();
        let answer = self.call("Page.navigate", json!({"url": address}));
        assert!(answer.get("errorText").is_none(), "{address}: {answer}");
        let by = Deadline::after_s(PATIENCE_S);
        while self.events("Page.loadEventFired").len() == loaded {
            let told = self.from.recv_timeout(by.left());
            self.events.push(told.unwrap_or_else(|error| panic!("{address}: {error}")));
        }
    }

    /// What an expression is on the page.
    ///
    /// # Panics
    /// When it throws.
    pub fn value(&mut self, expression: &str) -> Value {
        let arguments =
            json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let answer = self.call("Runtime.evaluate", arguments);
        assert!(answer.get("exceptionDetails").is_none(), "{expression}: {answer}");
        answer["result"]["value"].clone()
    }

    /// Waits until an expression holds on the page, looked at before each frame that is drawn, and
    /// gives its value.
    ///
    /// # Panics
    /// When it does not come to hold.
    pub fn wait_for(&mut self, expression: &str) -> Value {
        self.value(&format!(
            "new Promise((done) => {{
               const look = () => {{
                 const value = {expression};
                 if (value) done(value); else requestAnimationFrame(look);
               }};
               look();
             }})"
        ))
    }

    /// Presses a key and lets it go, as a keyboard or pedal does; `key` by its name in the DOM, e.g.
    /// `PageDown`.
    pub fn press(&mut self, key: &str) {
        for kind in ["rawKeyDown", "keyUp"] {
            self.call("Input.dispatchKeyEvent", json!({"type": kind, "key": key}));
        }
    }

    /// Cuts the page off from the network, or lets it back.
    pub fn cut_off(&mut self, offline: bool) {
        let conditions = json!({
            "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1,
        });
        self.call("Network.emulateNetworkConditions", conditions);
    }

    /// A picture of the page at this size, px, as a PNG in base64.
    ///
    /// # Panics
    /// When there is none.
    #[must_use]
    pub fn picture(&mut self, [width, height]: [u32; 2]) -> String {
        let size = json!({
            "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false,
        });
        self.call("Emulation.setDeviceMetricsOverride", size);
        self.wait_for("new Promise((done) => requestAnimationFrame(() => done(true)))");
        let answer = self.call("Page.captureScreenshot", json!({"format": "png"}));
        answer["data"].as_str().expect("a picture").to_owned()
    }

    /// All events of a kind so far, e.g. `Network.requestWillBeSent`.
    #[must_use]
    pub fn events(&self, method: &str) -> Vec<&Value> {
        let of_kind = self.events.iter().filter(|event| event["method"] == method);
        of_kind.map(|event| &event["params"]).collect()
    }

    /// Asks the browser, and waits for the answer.
    fn call(&mut self, method: &str, arguments: Value) -> Value {
        self.sent += 1;
        let mut message = json!({"id": self.sent, "method": method, "params": arguments});
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        let by = Deadline::after_s(PATIENCE_S);
        write!(self.to, "{message}\0").and_then(|()| self.to.flush()).expect("the browser listens");
        loop {
            let told = self.from.recv_timeout(by.left());
            let told = told.unwrap_or_else(|error| panic!("{method} {arguments}: {error}"));
            if told["id"] == self.sent {
                assert!(told.get("error").is_none(), "{method}: {told}");
                return told["result"].clone();
            }
            self.events.push(told);
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // It ends its own helpers when it is asked; both fail where it has ended already.
        let message = json!({"id": self.sent + 1, "method": "Browser.close"});
        let asked = write!(self.to, "{message}\0").and_then(|()| self.to.flush());
        let by = Deadline::after_s(5);
        while asked.is_ok() && self.from.recv_timeout(by.left()).is_ok() {}
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

fn command(program: &str, profile: &Path, [width, height]: [u32; 2]) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", MOVE_PIPES, program, "--headless", "--remote-debugging-pipe"]);
    command.arg(format!("--user-data-dir={}", profile.display()));
    command.arg(format!("--window-size={width},{height}"));
    // It opens our own page only, and its sandbox does not run for root.
    command.args(["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"]);
    command.args(["--disable-background-networking", "--disable-component-update"]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped());
    command
}

/// Hands on the browser's messages as they come.
fn listen(mut from: impl BufRead + Send + 'static) -> Receiver<Value> {
    let (send, receive) = sync_channel(MESSAGES);
    thread::spawn(move || {
        let mut message = Vec::new();
        while matches!(from.read_until(0, &mut message), Ok(1..)) {
            message.pop();
            let value = serde_json::from_slice(&message).unwrap_or(Value::Null);
            if send.send(value).is_err() {
                return;
            }
            message.clear();
        }
    });
    receive
}
