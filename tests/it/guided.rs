//! A guided visit in a real browser: what is asked is answered on the page, then limb and pedal alone
//! lead through it.

use endarc_tests::browser::{self, Browser};
use endarc_tests::{Daemon, Scratch, scenario, skip};
use serde_json::{Value, json};

/// The step that is shown.
const STEP: &str = "document.querySelector('#step').textContent";

#[test]
fn limb_and_pedal_alone_lead_through_a_visit() {
    let Some(mut browser) = browser() else { return };
    let scratch = Scratch::new();
    let file = scratch.file("scenario.toml", scenario::guided(5, 300));
    let source = format!("sim:{}", file.display());
    let daemon = Daemon::start(&scratch.at("data"), &source, &["--guided", "--speed", "6"]);
    browser.open(&daemon.page);
    answer_all(&mut browser);
    look(&mut browser, "sensors");
    // From here on nobody touches the mouse.
    browser.press("PageDown");
    at(&mut browser, "Prepare the right leg");
    let prompt = browser.value("document.querySelector('#prompt').textContent");
    assert!(prompt.as_str().unwrap().contains("RIGHT knee"), "{prompt}");
    // The page is loaded again in the middle, and comes back to the same place.
    browser.open(&daemon.page);
    at(&mut browser, "Baseline");
    // While a leg is in the hands, no angle and no line is seen.
    let figure = "document.querySelector('.leg.in-hand .figure')?.textContent";
    browser.wait_for(&format!("/^[1-9]\\d*×$/.test({figure})"));
    assert_eq!(browser.value("document.querySelectorAll('#gauge .mark').length"), 0);
    look(&mut browser, "baseline");
    at(&mut browser, "Treatment");
    // Open now: the angle of the leg that is treated.
    browser.wait_for(&format!("/^\\d+°$/.test({figure})"));
    look(&mut browser, "treatment");
    // The pedal says that treatment is done, once the leg lies.
    browser.wait_for("!document.querySelector('.leg.in-hand')");
    browser.press("PageDown");
    at(&mut browser, "Legs flat");
    look(&mut browser, "flat");
    at(&mut browser, "Retest");
    at(&mut browser, "Notes");
    look(&mut browser, "notes");
    browser.press("PageDown");
    browser.wait_for("document.body.classList.contains('ended')");
    look(&mut browser, "ended");

    let state = daemon.get("/api/state").json();
    let counted = |phase: &str| kept(&state, |one| one["phase"] == phase);
    assert_eq!((counted("baseline"), counted("retest")), (8, 8), "{state:#}");
    let answers = daemon.get("/api/course").json();
    assert!(answers["cautions"].as_array().unwrap().len() > 10);
}

#[test]
fn what_broke_off_is_taken_up_and_a_known_person_is_asked_for_news_only() {
    let Some(mut browser) = browser() else { return };
    let scratch = Scratch::new();
    let file = scratch.file("scenario.toml", scenario::guided(6, 3000));
    let (data, source) = (scratch.at("data"), format!("sim:{}", file.display()));
    let daemon = Daemon::start(&data, &source, &["--guided", "--speed", "1"]);
    browser.open(&daemon.page);
    answer_all(&mut browser);
    daemon.process.kill();

    let daemon = Daemon::start(&data, &source, &["--guided", "--speed", "1"]);
    browser.open(&daemon.page);
    at(&mut browser, "Sensors");
    drop(daemon.stop());

    // It was ended in order this time: the next visit is a new one of a known person.
    let daemon = Daemon::start(&data, &source, &["--guided", "--speed", "1"]);
    browser.open(&daemon.page);
    at(&mut browser, "Person");
    submit(&mut browser);
    at(&mut browser, "Cautions");
    browser.wait_for("document.querySelector('#course .one-key')");
    browser.press("PageDown");
    at(&mut browser, "Consent");
}

/// Answers what is asked before anything is measured, as a first visit does.
fn answer_all(browser: &mut Browser) {
    for (step, before) in [
        ("Person", ""),
        ("Cautions", ""),
        (
            "Consent",
            "document.querySelectorAll('#course .tick input').forEach((one, i) => { one.checked = i < 2; });",
        ),
        (
            "Plan",
            "[...document.querySelectorAll('#course select')].slice(2, 4).forEach((one, i) => { one.value = ['2', '0'][i]; });",
        ),
    ] {
        at(browser, step);
        browser.wait_for("document.querySelector('#course .ready')");
        look(browser, &step.to_lowercase());
        browser.value(before);
        submit(browser);
    }
    at(browser, "Sensors");
}

fn submit(browser: &mut Browser) {
    browser.wait_for("document.querySelector('#course .ready')");
    browser.value("document.querySelector('#course .ready').click()");
}

/// Waits until a step is shown.
fn at(browser: &mut Browser, step: &str) {
    browser.wait_for(&format!("{STEP}.startsWith({})", json!(format!("{step} ("))));
}

fn kept(state: &Value, wanted: impl Fn(&Value) -> bool) -> usize {
    state["repetitions"].as_array().unwrap().iter().filter(|one| wanted(one)).count()
}

/// Looks at what is shown with axe-core, by WCAG 2.2 A and AA; `ENDARC_AXE` names its script.
fn accessible(browser: &mut Browser, name: &str) {
    let Some(file) = std::env::var_os("ENDARC_AXE") else {
        return skip("ENDARC_AXE does not name the script of axe-core");
    };
    let script = std::fs::read_to_string(file).unwrap();
    browser.value(&format!("{script};0"));
    let tags = "['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']";
    let found = browser.value(&format!(
        "axe.run(document, {{ runOnly: {tags} }}).then((result) => result.violations.map((one) =>
           `${{one.id}}: ${{one.help}}: ${{one.nodes.map((node) => node.target).join(' ')}}`))"
    ));
    assert_eq!(found, json!([]), "{name}");
}

/// Holds the page against axe-core, and keeps pictures of it where a folder is named for them.
fn look(browser: &mut Browser, name: &str) {
    accessible(browser, name);
    let Some(folder) = std::env::var_os("ENDARC_PICTURES") else { return };
    for size in [[1280, 800], [1024, 768], [768, 1024]] {
        let file = format!("{name}-{}x{}.png.base64", size[0], size[1]);
        std::fs::write(std::path::Path::new(&folder).join(file), browser.picture(size)).unwrap();
    }
}

fn browser() -> Option<Browser> {
    let Some(program) = browser::installed() else {
        skip("no chromium is in PATH");
        return None;
    };
    Some(Browser::start(program, [1024, 768]))
}
