//! Wrong usage: exit status 2, and the usage on stderr.

use endarc_tests::run;

#[test]
fn wrong_usage_is_told_apart_from_failure() {
    let lines = [
        "",
        "measure",
        "orient",
        "orient motion.csv",
        "orient motion.csv --output out.csv --sideways",
        "analyse shank.csv --side left --test prone-hip-rotation",
        "analyse shank.csv --events e.csv --side inner --test prone-hip-rotation",
        "analyse shank.csv --events e.csv --side left --test standing-on-one-leg",
        "simulate clinic",
        "demo --speed backwards",
        "demo --fast --speed 2",
        "run --listen nowhere",
        "run --source ble",
        "visits --json extra",
    ];
    for line in lines {
        let ended = run(line.split_whitespace());
        assert_eq!(ended.code(), 2, "'{line}': {ended:?}");
        assert_eq!(ended.stdout, "", "'{line}'");
        assert!(
            ended.stderr.contains("Usage:") || ended.stderr.contains("--help"),
            "'{line}': {ended:?}"
        );
    }
}

#[test]
fn an_unknown_word_is_answered_with_the_known_ones() {
    let line = "analyse shank.csv --events e.csv --side inner --test prone-hip-rotation";
    let ended = run(line.split(' '));
    assert!(ended.stderr.contains("left") && ended.stderr.contains("right"), "{}", ended.stderr);
}

#[test]
fn help_is_an_answer() {
    for line in ["--help", "analyse --help", "--version"] {
        let ended = run(line.split(' ')).done();
        assert!(ended.stdout.contains("endarc"), "{line}: {ended:?}");
        assert_eq!(ended.stderr, "", "{line}");
    }
}
