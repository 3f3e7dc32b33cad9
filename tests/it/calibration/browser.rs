//! Calibrating by the page itself, in a real browser.

use endarc_tests::browser::{self, Browser};
use endarc_tests::{Daemon, Scratch, skip};

use super::rests::{CHEAP, FACES, Recording};

/// The sizes in use, px: a tablet on its side and upright, a phone.
const SIZES: [[u32; 2]; 3] = [[1024, 768], [768, 1024], [390, 844]];

/// A sensor that lies, is laid on its six sides, and lies again; the visit begins long after.
fn recording(scratch: &Scratch) -> String {
    let folder = scratch.at("rests");
    std::fs::create_dir(&folder).unwrap();
    let mut about = Recording::new(CHEAP, 51);
    about.lie(FACES[4], 60.0);
    for face in FACES {
        about.carry(1.0);
        about.lie(face, 5.0);
    }
    about.lie(FACES[4], 600.0);
    about.write(folder.join("left-shank.csv"));
    std::fs::write(folder.join("events.csv"), "onset,duration,trial_type\n690,1,neutral\n")
        .unwrap();
    format!("replay:{}", folder.display())
}

/// The button of the section that says this.
fn button(says: &str) -> String {
    format!("[...document.querySelectorAll('button')].find((one) => one.textContent === '{says}')")
}

fn click(browser: &mut Browser, says: &str) {
    browser.wait_for(&format!("({0})?.checkVisibility() && ({0}.click(), true)", button(says)));
}

#[test]
fn a_sensor_is_calibrated_from_the_page() {
    let Some(program) = browser::installed() else { return skip("no chromium is in PATH") };
    let mut browsers = SIZES.map(|size| Browser::start(program, size));
    let scratch = Scratch::new();
    let source = recording(&scratch);
    let daemon = Daemon::start(&scratch.at("data"), &source, &["--speed", "8"]);
    for browser in &mut browsers {
        browser.open(&daemon.page);
        browser.wait_for("document.querySelector('#test').textContent !== ''");
    }
    let [own, others @ ..] = &mut browsers;
    click(own, "Sensors and table");
    // What is typed into a field marks nothing.
    own.value(
        "document.querySelector('.card input').dispatchEvent(
             new KeyboardEvent('keydown', { key: 'm', bubbles: true }))",
    );
    click(own, "Begin with this sensor");
    own.wait_for("document.querySelectorAll('.rest-tile.done').length > 0");
    click(own, "Finish");
    let reason = own.wait_for("document.querySelector('.reason').textContent");
    assert!(reason.as_str().unwrap().contains("never seen on top"), "{reason}");
    own.wait_for("document.querySelectorAll('.rest-tile.done').length === 6");
    own.wait_for("document.querySelector('#prompt').textContent.startsWith('All six sides')");
    click(own, "Finish");
    let result = own.wait_for("document.querySelector('.result').innerText");
    assert!(result.as_str().unwrap().contains("gravity by"), "{result}");

    // What is begun on one page is shown on every page, and fits.
    for browser in others {
        browser.wait_for("document.querySelector('.result').innerText");
    }
    click(own, "Another");
    own.wait_for("document.querySelector('.card select').innerText.includes('20')");
    for browser in &mut browsers {
        browser.wait_for("document.querySelector('.choice').checkVisibility()");
        let over = "document.documentElement.scrollWidth - document.documentElement.clientWidth";
        assert_eq!(browser.value(over), 0, "the page is wider than the window");
        let thrown = browser.events("Runtime.exceptionThrown");
        assert!(thrown.is_empty(), "{thrown:#?}");
        let marks = |request: &&serde_json::Value| {
            request["request"]["url"].as_str().is_some_and(|url| url.ends_with("/api/mark"))
        };
        let requests = browser.events("Network.requestWillBeSent");
        assert_eq!(requests.into_iter().filter(marks).count(), 0, "a key was taken for the pedal");
    }
    assert_eq!(daemon.stop().code(), 0);
}
