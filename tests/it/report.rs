//! The report of a visit: as HTML in a real browser's eyes, as PDF by its text, in both languages.

use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;

use endarc_tests::{Scratch, endarc, skip};

/// One recorded visit that all of these tests report.
static VISIT: LazyLock<Scratch> = LazyLock::new(|| {
    let scratch = Scratch::new();
    let demo = endarc(["demo", "--fast", "--data-dir"]).arg(scratch.at("data")).output().unwrap();
    assert!(demo.status.success(), "{}", String::from_utf8_lossy(&demo.stderr));
    scratch
});

/// Writes a report of the visit; returns the scratch folder it is in.
fn report(arguments: &[&str], file: &Path) {
    let kind = if file.extension().is_some_and(|end| end == "pdf") { "--pdf" } else { "--html" };
    let mut command = endarc(["report", "1", kind]);
    let output =
        command.arg(file).args(arguments).arg("--data-dir").arg(VISIT.at("data")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stdout.is_empty());
}

/// What must stand in every report for the record, whatever was measured.
const ALWAYS: [&str; 6] = [
    "a measurement, not a diagnosis",
    "Limited rotation can be bone or joint as well as muscle",
    "assessment by someone licensed",
    "stretching may not change it",
    "Force not measured",
    "not a medical device",
];

#[test]
fn the_record_tells_measure_method_and_limits_in_html() {
    let scratch = Scratch::new();
    let file = scratch.at("record.html");
    report(&[], &file);
    let page = std::fs::read_to_string(&file).unwrap();
    for words in ALWAYS {
        assert!(page.contains(words), "no '{words}'");
    }
    for words in [
        "P-014",
        "left, internal",
        "right, total",
        "our assumed limit of 6.0°",
        "8.5°",
        "smallest detectable changes of 5.4° to 8.6°",
        "movements to and fro",
        "End criterion",
        "residual",
        "Not levelled",
        "not calibrated",
        "algorithm",
        "not recorded",
        "Ellison",
    ] {
        assert!(page.contains(words), "no '{words}'");
    }
    // Nothing is fetched and nothing runs; ranges only on demand.
    for words in ["<script", "http-equiv", "src=", "@import", "url(", "<link", "Kouyoumdjian"] {
        assert!(!page.contains(words), "'{words}' in the page");
    }
    report(&["--ranges"], &file);
    let page = std::fs::read_to_string(&file).unwrap();
    assert!(page.contains("Kouyoumdjian") && page.contains("context only"), "no ranges");
}

#[test]
fn the_person_reads_plain_words_in_two_languages() {
    let scratch = Scratch::new();
    let file = scratch.at("person.html");
    report(&["--for", "person"], &file);
    let page = std::fs::read_to_string(&file).unwrap();
    for words in ["Right hip, turned inward (the foot goes outward)", "within what measuring alone"]
    {
        assert!(page.contains(words), "no '{words}': {page}");
    }
    for words in ["normal", "abnormal", "risk", "MDC", "algorithm version"] {
        assert!(!page.contains(words), "'{words}' is not for this page");
    }
    report(&["--for", "person", "--lang", "de"], &file);
    let page = std::fs::read_to_string(&file).unwrap();
    for words in ["<html lang=\"de\">", "keine Diagnose", "Rechte Hüfte", "Knochen oder Gelenk"] {
        assert!(page.contains(words), "no '{words}'");
    }
}

#[test]
fn the_pdf_holds_its_text_on_one_page_of_either_size() {
    if Command::new("pdftotext").arg("-v").output().is_err() {
        return skip("no pdftotext (poppler-utils) is in PATH");
    }
    let scratch = Scratch::new();
    let file = scratch.at("record.pdf");
    for (paper, size) in [("a4", "595.28 x 841.89"), ("letter", "612 x 792")] {
        for whom in ["record", "person"] {
            report(&["--for", whom, "--paper", paper], &file);
            let about = run("pdfinfo", &file, &[]);
            assert!(about.contains("Pages:           1"), "{whom} on {paper}: {about}");
            assert!(about.contains(size), "{paper}: {about}");
            let text = run("pdftotext", &file, &["-"]);
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            let expected: &[&str] = if whom == "record" { &ALWAYS } else { &ALWAYS[..4] };
            for words in expected {
                assert!(text.contains(words), "no '{words}' for {whom} on {paper}: {text}");
            }
            for words in ["P-014", "Left leg", "foot outward", "35.", "−", "95 % interval"] {
                assert!(
                    whom == "person" && words == "−" || text.contains(words),
                    "no '{words}' for {whom} on {paper}: {text}"
                );
            }
        }
    }
}

#[test]
fn a_visit_that_is_not_there_and_a_lost_folder_are_told_with_their_remedy() {
    let scratch = Scratch::new();
    let file = scratch.at("record.pdf");
    let told = |visit: &str, file: &Path| {
        let mut command = endarc(["report", visit, "--pdf"]);
        let output = command.arg(file).arg("--data-dir").arg(VISIT.at("data")).output().unwrap();
        assert_eq!(output.status.code(), Some(1));
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(told("99", &file).contains("endarc visits"));
    assert!(told("1", &scratch.at("gone/record.pdf")).contains("create it first"));
    assert!(!file.exists());
    let nothing_asked = endarc(["report", "1"]).output().unwrap();
    assert_eq!(nothing_asked.status.code(), Some(2));
}

/// What a program of poppler says of a file.
fn run(program: &str, file: &Path, more: &[&str]) -> String {
    let output = Command::new(program).arg(file).args(more).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}
