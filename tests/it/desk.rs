//! The desk in a real browser: history, movements, putting right, and what is kept of that.

use endarc_tests::browser::{self, Browser};
use endarc_tests::{Daemon, Process, Scratch, axe, endarc, skip};
use serde_json::json;

/// Two visits of one person, recorded as the demo does.
fn recorded() -> Scratch {
    let scratch = Scratch::new();
    for _ in 0..2 {
        let mut demo = endarc(["demo", "--fast", "--data-dir"]);
        let output = demo.arg(scratch.at("data")).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    scratch
}

/// The desk of a data folder.
fn desk(scratch: &Scratch) -> Daemon {
    let mut command = endarc(["desk", "--listen", "127.0.0.1:0", "--data-dir"]);
    command.arg(scratch.at("data"));
    let mut desk = Daemon::of(Process::start(command));
    desk.page = desk.page.trim_end_matches("desk").to_owned();
    desk
}

/// Waits until the view of an address is drawn.
fn open(browser: &mut Browser, page: &str, view: &str) {
    browser.open("about:blank");
    browser.open(&format!("{page}desk{view}"));
    let hash = if view.is_empty() { "#" } else { view };
    browser.wait_for(&format!("document.querySelector('#view')?.dataset.drawn === '{hash}'"));
}

#[test]
fn a_person_is_shown_over_time() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let scratch = recorded();
    let desk = desk(&scratch);
    let mut browser = Browser::start(program, [1280, 800]);
    open(&mut browser, &desk.page, "");
    assert!(
        browser.value("document.querySelectorAll('#view tbody tr').length").as_u64() >= Some(2)
    );
    open(&mut browser, &desk.page, "#person/P-014");
    // Two visits, two legs, two directions, before and after: a mark and a bar of three lines each.
    let marks = browser.value("document.querySelectorAll('.legs .mean-mark').length");
    assert_eq!(marks, json!(16));
    assert_eq!(browser.value("document.querySelectorAll('.legs .bar').length"), json!(48));
}

#[test]
fn a_movement_is_looked_at_closer_and_as_it_was_read() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let scratch = recorded();
    let desk = desk(&scratch);
    let mut browser = Browser::start(program, [1280, 800]);
    open(&mut browser, &desk.page, "#visit/1");
    let all = "document.querySelectorAll('.repetition')";

    // Its movement: the curve reaches the end range it is said to have.
    browser.value(&format!("{all}[0].open = true"));
    browser.wait_for(&format!("{all}[0].querySelector('.movement .curve')"));
    let id = browser.value(&format!("{all}[0].dataset.repetition"));
    let reached = browser.value(&format!(
        "(async () => {{
            const sheet = await (await fetch('/api/visits/1/sheet')).json();
            const curves = await (await fetch('/api/visits/1/curves')).json();
            const one = sheet.repetitions.find((it) => it.id === {id});
            const curve = curves.find((it) => it.repetition === {id});
            const near = curve.time_s.findIndex((time) => time >= one.end_range_at_s);
            const sign = one.direction === 'external' ? -1 : 1;
            return Math.abs(sign * curve.angle_deg[near] - one.end_range_deg);
        }})()"
    ));
    assert!(reached.as_f64().unwrap() < 1.0, "the curve is {reached}° off its end range");
    // Closer, and the raw readings it comes from.
    let closer = format!("[...{all}[0].querySelectorAll('.buttons button')]");
    let points =
        format!("{all}[0].querySelector('.movement .curve').getAttribute('points').length");
    let wide = browser.value(&points).as_u64().unwrap();
    browser.value(&format!("{closer}[0].click()"));
    assert!(browser.value(&points).as_u64().unwrap() < wide, "closer shows less");
    browser.value(&format!("{closer}.at(-1).click()"));
    browser.wait_for(&format!("{all}[0].querySelectorAll('.movement .curve').length === 3"));
}

#[test]
fn a_repetition_is_struck_out_and_counts_again() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let scratch = recorded();
    let desk = desk(&scratch);
    let mut browser = Browser::start(program, [1280, 800]);

    open(&mut browser, &desk.page, "#visit/1");
    let all = "document.querySelectorAll('.repetition')";
    let count = browser.value(&format!("{all}.length")).as_u64().unwrap();
    assert!(count >= 24, "{count} repetitions");
    let text = browser.value("document.querySelector('.verdicts').innerText");
    let before = text.as_str().unwrap().to_owned();

    // The report comes as a file, in either form.
    for (query, media) in [("", "text/html; charset=utf-8"), ("&paper=a4", "application/pdf")] {
        let told = browser.value(&format!(
            "fetch('/api/visits/1/report?for=record{query}').then((it) => it.headers.get('content-type'))"
        ));
        assert_eq!(told, json!(media));
    }

    // Without a reason nothing is struck out; with one it is, and the comparison follows.
    browser.value(&format!("{all}[0].open = true"));
    browser.wait_for(&format!("{all}[0].querySelector('[data-change=\"strike-out\"]')"));
    let strike = format!("{all}[0].querySelector('[data-change=\"strike-out\"]').click()");
    browser.value(&strike);
    assert_eq!(browser.value("document.querySelectorAll('.struck').length"), json!(0));
    browser.value(&format!("{all}[0].querySelector('.amend input').value = 'the foot slipped'"));
    browser.value(&strike);
    browser.wait_for("document.querySelectorAll('.struck').length === 1");
    let now = browser.value("document.querySelector('.verdicts').innerText");
    assert_ne!(now.as_str().unwrap(), before, "the comparison is computed anew");
    let page = browser.value("document.querySelector('#view').innerText");
    for words in ["struck out: the foot slipped", "What was put right", "repetition 1"] {
        assert!(page.as_str().unwrap().contains(words), "no '{words}': {page}");
    }

    // It is kept: another start of the program, and the report, say the same; then it counts again.
    assert!(desk.stop().status.success());
    let mut report = endarc(["report", "1", "--html"]);
    let file = scratch.at("report.html");
    report.arg(&file).arg("--data-dir").arg(scratch.at("data"));
    assert!(report.output().unwrap().status.success());
    assert!(std::fs::read_to_string(&file).unwrap().contains("the foot slipped"));
    let desk = self::desk(&scratch);
    open(&mut browser, &desk.page, "#visit/1");
    browser.value("document.querySelector('.struck').open = true");
    browser.wait_for("document.querySelector('.struck [data-change=\"restore\"]')");
    browser.value("document.querySelector('.struck .amend input').value = 'it did not'");
    browser.value("document.querySelector('.struck [data-change=\"restore\"]').click()");
    browser.wait_for("document.querySelectorAll('.struck').length === 0");
    let now = browser.value("document.querySelector('.verdicts').innerText");
    assert_eq!(now.as_str().unwrap(), before);
    let sheet = desk.get("/api/visits/1/sheet").json();
    let audit: Vec<_> =
        sheet["audit"].as_array().unwrap().iter().map(|one| one["action"].clone()).collect();
    assert_eq!(audit, ["strike-out", "restore"]);
}

#[test]
fn a_phase_is_put_right_notes_are_kept_and_reports_come_as_files() {
    let scratch = recorded();
    let desk = desk(&scratch);
    let sheet = desk.get("/api/visits/1/sheet").json();
    let one = sheet["repetitions"][0].clone();
    let move_to = |phase: &str, reason: &str| {
        let body =
            json!({"change": "relabel", "repetition": one["id"], "phase": phase, "reason": reason});
        desk.post("/api/visits/1/amend", &body)
    };
    assert_eq!(move_to("treatment", "").status, 409, "a reason is asked for");
    assert_eq!(move_to("baseline", "again").status, 409, "it is there already");
    let moved = move_to("treatment", "a warm-up").json();
    let is = |sheet: &serde_json::Value| {
        let all = sheet["repetitions"].as_array().unwrap();
        all.iter().find(|it| it["id"] == one["id"]).unwrap()["phase"].clone()
    };
    assert_eq!(is(&moved), "treatment");
    assert_eq!(moved["audit"][0]["detail"], "a warm-up; baseline → treatment");
    let count = |sheet: &serde_json::Value| {
        let all = sheet["means"].as_array().unwrap();
        let same = |it: &&serde_json::Value| {
            it["side"] == one["side"]
                && it["direction"] == one["direction"]
                && it["phase"] == "baseline"
        };
        all.iter().find(same).unwrap()["count"].as_u64().unwrap()
    };
    assert_eq!(count(&moved) + 1, count(&sheet));

    let notes = json!({"change": "notes", "text": "bolster under the ankle"});
    assert_eq!(desk.post("/api/visits/1/amend", &notes).json()["notes"], "bolster under the ankle");
    assert_eq!(desk.get("/api/visits/99/sheet").status, 404);
    let answer = desk.get("/api/visits/1/report?for=person&lang=de");
    assert_eq!(answer.status, 200);
    assert!(answer.body.starts_with("<!doctype html>") && answer.body.contains("keine Diagnose"));
}

#[test]
fn the_desk_can_be_used_by_everyone_at_the_sizes_in_use() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let Some(axe) = axe::script() else { return };
    let scratch = recorded();
    let desk = desk(&scratch);
    for size in [[1280, 800], [1024, 768], [768, 1024], [390, 844]] {
        let mut browser = Browser::start(program, size);
        for view in ["", "#person/P-014", "#visit/1"] {
            open(&mut browser, &desk.page, view);
            browser.value("document.querySelector('.repetition') && (document.querySelector('.repetition').open = true)");
            let over =
                "document.documentElement.scrollWidth - document.documentElement.clientWidth";
            assert_eq!(browser.value(over), 0, "{view} at {size:?} is wider than the window");
            let violations = axe::violations(&mut browser, &axe);
            assert!(violations.is_empty(), "{view} at {size:?}: {violations:#?}");
        }
    }
}
