//! Events CSVs that are refused.

use endarc_tests::{Scratch, run};

use super::{assert_refused, motion, resting};

const CASES: [(&str, &[&str]); 10] = [
    ("", &["line 1", "onset", "expected"]),
    ("onset,duration,trial_type\n", &["no events"]),
    ("start,length,what\n1,2,neutral\n", &["line 1", "onset"]),
    ("onset,duration,trial_type\n1,2,neutral\n5,9,before\n", &["line 3", "'before'", "baseline"]),
    ("onset,duration,trial_type\nnan,2,neutral\n", &["line 2", "onset", "seconds"]),
    ("onset,duration,trial_type\n1,-2,neutral\n", &["line 2", "duration", "seconds"]),
    ("onset,duration,trial_type\n1,two,neutral\n", &["line 2", "duration", "'two'"]),
    ("onset,duration,trial_type\n1,2,neutral\n5,9\n", &["line 3", "cut off"]),
    ("onset,duration,trial_type,side\n1,2,neutral,both\n", &["line 2", "'both'", "left"]),
    ("onset,duration,trial_type\n5,9,baseline\n", &["neutral"]),
];

#[test]
fn the_line_and_what_is_allowed_are_named() {
    for (text, words) in CASES {
        let scratch = Scratch::new();
        let shank = scratch.file("shank.csv", motion(&resting(2000)));
        let events = scratch.file("events.csv", text);
        let ended = run([
            "analyse".as_ref(),
            shank.as_os_str(),
            "--events".as_ref(),
            events.as_os_str(),
            "--side".as_ref(),
            "left".as_ref(),
            "--test".as_ref(),
            "prone-hip-rotation".as_ref(),
        ]);
        assert_refused(&ended, &events, words);
    }
}
