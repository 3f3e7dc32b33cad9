//! The live page in a real browser, while a simulated visit is measured.

use endarc_tests::browser::{self, Browser};
use endarc_tests::{Daemon, Process, Scratch, endarc, scenario, skip};

/// A tablet on its side, px.
const TABLET: [u32; 2] = [1280, 800];

/// Whether a phase is marked as the present one.
const PHASE: &str = "document.querySelector('#phases [aria-current]')?.textContent";

/// How many high-water lines are drawn.
const LINES: &str = "document.querySelectorAll('#gauge .mark').length";

#[test]
fn a_visit_is_shown_from_its_first_repetition_to_its_summary() {
    let Some(mut browser) = browser() else { return };
    // The demo, as a newcomer runs it.
    let demo = Daemon::of(Process::start(endarc(["demo", "--speed", "12", "--json"])));
    browser.open(&demo.page);

    // Measuring, with the switch set to hide: the count is shown, no angle and no line is.
    browser.wait_for("document.querySelector('#buttons button')");
    browser.value(&format!("{}?.click()", button("Angles while measuring: shown")));
    browser.wait_for(&button("Angles while measuring: hidden"));
    let figure = "document.querySelector('.leg.in-hand .figure')?.textContent";
    let means = "document.querySelectorAll('#gauge .mean, .means:not([hidden]) td').length";
    let measuring = format!("{PHASE} === 'baseline' && /^[1-9]\\d*×$/.test({figure})");
    // Both counts at that very moment: the leg may be laid down a moment later.
    let shown = browser.wait_for(&format!("{measuring} && [{LINES}, {means}]"));
    assert_eq!(shown, serde_json::json!([0, 0]), "lines or means are shown while measuring");

    // And set to show: the angle of the leg in the hands, and a line for each that was kept.
    browser.value(&format!("{}.click()", button("Angles while measuring: hidden")));
    let angle = format!("/^\\d+°$/.test({figure})");
    browser.wait_for(&format!("{PHASE} === 'baseline' && {angle} && {LINES} > 0"));

    // Treatment: the gauge is open, what was kept is drawn.
    browser.wait_for(&format!("{PHASE} === 'treatment' && {LINES} > 0"));
    browser.wait_for(&format!("{PHASE} === 'treatment' && {angle}"));

    // The end: a summary with the words that must stand there.
    browser.wait_for("document.body.classList.contains('ended')");
    let summary = browser.wait_for("document.querySelector('#summary table')?.innerText");
    for word in ["left", "right", "internal", "external", "total", "°"] {
        assert!(summary.as_str().unwrap().contains(word), "no '{word}': {summary}");
    }
    let page = browser.value("document.body.innerText");
    for words in ["P-014", "Stop on pain", "not a medical device"] {
        assert!(page.as_str().unwrap().contains(words), "no '{words}': {page}");
    }
    assert!(browser.value(LINES).as_u64() >= Some(12), "all kept repetitions are drawn");
    assert_quiet(&browser);
    assert_stays_here(&browser, &demo.page);
}

#[test]
fn a_lost_daemon_is_said_and_a_new_one_found() {
    let Some(mut browser) = browser() else { return };
    let scratch = Scratch::new();
    let file = scratch.file("scenario.toml", scenario::two_legs(3));
    let (data, source) = (scratch.at("data"), format!("sim:{}", file.display()));
    let daemon = Daemon::start(&data, &source, &["--speed", "1"]);
    let page = daemon.page.clone();
    browser.open(&page);
    let lost = "document.querySelector('#lost')";
    browser.wait_for(&format!("{lost}.hidden && document.querySelector('#person').textContent"));
    daemon.process.kill();
    let said = browser.wait_for(&format!("!{lost}.hidden && {lost}.textContent"));
    assert!(said.as_str().unwrap().contains("lost"), "{said}");

    let mut command = endarc(["run", "--source", &source, "--speed", "1", "--listen"]);
    command.arg(page.trim_start_matches("http://").trim_end_matches('/'));
    command.arg("--data-dir").arg(&data);
    let next = Daemon::of(Process::start(command));
    assert_eq!(next.page, page);
    browser.wait_for(&format!("{lost}.hidden"));
    assert_stays_here(&browser, &page);
}

#[test]
fn nothing_is_cut_off_at_the_sizes_in_use() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let scratch = Scratch::new();
    let file = scratch.file("scenario.toml", scenario::two_legs(3));
    let source = format!("sim:{}", file.display());
    let daemon = Daemon::start(&scratch.at("data"), &source, &["--speed", "10"]);
    // A laptop, a tablet on its side and upright, a phone.
    for size in [[1920, 1080], TABLET, [800, 1280], [390, 844]] {
        let mut browser = Browser::start(program, size);
        browser.open(&daemon.page);
        browser.wait_for("document.querySelector('#person').textContent.includes('P-901')");
        let over = "document.documentElement.scrollWidth - document.documentElement.clientWidth";
        assert_eq!(browser.value(over), 0, "{size:?}: the page is wider than the window");
        assert_quiet(&browser);
    }
}

/// The button that says this, if there is one.
fn button(says: &str) -> String {
    let buttons = "[...document.querySelectorAll('#buttons button')]";
    format!("{buttons}.find((button) => button.textContent === '{says}')")
}

/// A browser, or a word about why the test is skipped.
fn browser() -> Option<Browser> {
    let Some(program) = browser::installed() else {
        skip("no chromium is in PATH");
        return None;
    };
    Some(Browser::start(program, TABLET))
}

/// Nothing was thrown, and nothing written to the console that is not good news.
fn assert_quiet(browser: &Browser) {
    let thrown = browser.events("Runtime.exceptionThrown");
    assert!(thrown.is_empty(), "{thrown:#?}");
    let mut told = browser.events("Runtime.consoleAPICalled");
    told.retain(|call| ["error", "warning", "assert"].iter().any(|kind| call["type"] == *kind));
    assert!(told.is_empty(), "{told:#?}");
    let mut logged = browser.events("Log.entryAdded");
    logged
        .retain(|event| ["error", "warning"].iter().any(|level| event["entry"]["level"] == *level));
    assert!(logged.is_empty(), "{logged:#?}");
}

/// The page asked nobody but its own daemon for anything.
fn assert_stays_here(browser: &Browser, page: &str) {
    let requests = browser.events("Network.requestWillBeSent");
    assert!(requests.len() > 5, "only {} requests were seen", requests.len());
    for request in requests {
        let url = request["request"]["url"].as_str().unwrap();
        assert!(url.starts_with(page) || url.starts_with("data:"), "asked for {url}");
    }
}
