//! What is kept beside the values: the gyroscopes' biases, and a contraction's barriers.

use endarc_tests::truth::number;
use endarc_tests::{Daemon, Deadline, Scratch, run};
use serde_json::Value;

/// One leg; the person pushes against the hand on the way to each end. An invented person.
const CONTRACTS: &str = r#"seed = 9
person = "P-904"

[[sensors]]
role = "right-shank"
gyro_offset_deg_s = 1.5

[[script]]
align-knee = { times = 3, side = "right" }

[[script]]
neutral = { side = "right" }

[[script]]
baseline = { side = "right", repetitions = 2, styles = ["contract"] }
"#;

#[test]
fn barriers_and_biases_are_kept_with_the_visit() {
    let scratch = Scratch::new();
    let scenario = scratch.file("contracts.toml", CONTRACTS).display().to_string();
    let folder = scratch.at("recording");
    run(["simulate", &scenario, "--output", &folder.display().to_string()]).done();
    let truth = std::fs::read_to_string(folder.join("truth.json")).unwrap();
    let truth: Value = serde_json::from_str(&truth).unwrap();

    let data = scratch.at("data");
    let mut daemon = Daemon::start(&data, &format!("sim:{scenario}"), &["--fast"]);
    daemon.process.line_with("closed and kept", Deadline::after_s(120));
    let id = daemon.get("/api/state").json()["visit"]["id"].as_str().unwrap().to_owned();
    let stored = daemon.get(&format!("/api/visits/{id}")).json();
    assert_eq!(daemon.stop().code(), 0);

    let file = |name: &str| folder.join(name).display().to_string();
    let (shank, events) = (file("right-shank.csv"), file("events.csv"));
    let fixed = ["analyse", &shank, "--events", &events, "--side", "right", "--json"];
    let analysed = run(fixed.iter().chain(&["--test", "prone-hip-rotation"])).done().json();
    for repetitions in [&stored["repetitions"], &analysed["repetitions"]] {
        let repetitions = repetitions.as_array().unwrap();
        let true_ones = truth["repetitions"].as_array().unwrap();
        assert_eq!((repetitions.len(), true_ones.len()), (4, 4));
        for (one, true_one) in repetitions.iter().zip(true_ones) {
            let barriers = &one["barriers"];
            let error = number(barriers, "start_deg") - number(true_one, "start_barrier_deg");
            assert!(error.abs() < 1.5, "{one} {true_one}");
            assert_eq!(barriers["end_deg"], one["end_range_deg"]);
            let (start_s, end_s) = (number(barriers, "start_s"), number(barriers, "end_s"));
            assert!(start_s < end_s && end_s <= number(one, "end_range_at_s"), "{one}");
        }
    }

    let biases = stored["biases"].as_array().unwrap();
    assert_eq!(biases.len(), 3, "one at the end of each span: {biases:#?}");
    let last = &biases[2];
    assert_eq!(last["role"], "right-shank");
    let length = |key: &str| {
        let part = |axis: usize| last[key][axis].as_f64().unwrap();
        (0..3).map(|axis| part(axis).powi(2)).sum::<f64>().sqrt()
    };
    let (bias, sd) = (length("bias_deg_s"), length("sd_deg_s"));
    println!("bias {bias:.3}°/s ± {sd:.3}°/s, true 1.5°/s");
    assert!((bias - 1.5).abs() < 3.0 * sd && (0.0..0.5).contains(&sd), "{last}");
    assert!(last["age_s"].as_f64().is_none_or(|age_s| age_s >= 0.0), "{last}");
}
