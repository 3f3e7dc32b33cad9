//! Motion CSVs that are refused, and those that are answered in spite of something.

use std::fs;

use endarc_tests::{Ended, Scratch, run};

use super::{HEADER, assert_only, assert_refused, motion, resting};

/// What stands in the file, and what must be said about it.
struct Case {
    content: Vec<u8>,
    words: &'static [&'static str],
}

fn case(content: impl Into<Vec<u8>>, words: &'static [&'static str]) -> Case {
    Case { content: content.into(), words }
}

/// A resting sensor of 20 rows with one row replaced, by the number of its line.
fn with_line(line: usize, row: &str) -> String {
    let mut rows = resting(20);
    rows[line - 2] = row.to_owned();
    motion(&rows)
}

fn refused_cases() -> Vec<Case> {
    let rest = "0.1,-9.8,0.2,0,0,0";
    let garbage: Vec<u8> =
        (0..4096_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let cut_off = motion(&resting(20));
    vec![
        case("", &["empty", "time_s"]),
        case(format!("{HEADER}\n"), &["no samples"]),
        case("time,ax,ay,az,gx,gy,gz\n0,1,2,3,4,5,6\n", &["line 1", "time_s", "expected"]),
        case(motion(&resting(3)).replace("gyr_z", "gyro_z"), &["line 1", "gyr_z"]),
        case(with_line(9, &format!("0.06,{rest}")), &["line 9", "sort", "time_s"]),
        case(with_line(9, &format!("0.01,{rest}")), &["line 9", "sort", "time_s"]),
        case(with_line(9, &format!("nan,{rest}")), &["line 9", "time_s", "not finite"]),
        case(with_line(9, &format!("inf,{rest}")), &["line 9", "time_s", "not finite"]),
        case(with_line(9, &format!("soon,{rest}")), &["line 9", "time_s", "'soon'"]),
        case(with_line(9, "0.07,0.1,-9.8,two,0,0,0"), &["line 9", "acc_z", "'two'"]),
        case(with_line(9, "0.07,0.1,-9.8"), &["line 9", "fields", "cut off"]),
        case(&cut_off.as_bytes()[..cut_off.len() - 12], &["line 21", "fields", "cut off"]),
        case(garbage, &["CSV"]),
        case([0xff; 64], &["UTF-8"]),
    ]
}

#[test]
fn orient_refuses_and_writes_nothing() {
    for case in refused_cases() {
        let scratch = Scratch::new();
        let file = scratch.file("motion.csv", &case.content);
        assert_refused(&orient(&scratch, &[]), &file, case.words);
        assert_refused(&orient(&scratch, &["--offline"]), &file, case.words);
        assert_only(&scratch, &["motion.csv"]);
    }
}

#[test]
fn an_earlier_output_outlives_a_refused_input() {
    let scratch = Scratch::new();
    scratch.file("motion.csv", with_line(9, "cut"));
    scratch.file("out.csv", "kept");
    assert_eq!(orient(&scratch, &[]).code(), 1);
    assert_eq!(fs::read_to_string(scratch.at("out.csv")).unwrap(), "kept");
    assert_only(&scratch, &["motion.csv", "out.csv"]);
}

#[test]
fn analyse_refuses_and_prints_nothing() {
    for case in refused_cases() {
        let scratch = Scratch::new();
        let file = scratch.file("motion.csv", &case.content);
        assert_refused(&analyse(&scratch, &[]), &file, case.words);
        assert_refused(&analyse(&scratch, &["--live"]), &file, case.words);
    }
}

#[test]
fn a_faulty_pelvis_file_is_the_one_that_is_named() {
    for case in refused_cases() {
        let scratch = Scratch::new();
        scratch.file("motion.csv", motion(&resting(2000)));
        let file = scratch.file("pelvis.csv", &case.content);
        let pelvis = file.display().to_string();
        assert_refused(&analyse(&scratch, &["--pelvis", &pelvis]), &file, case.words);
    }
}

#[test]
fn a_sample_that_is_not_finite_is_counted_and_keeps_its_row() {
    for (offline, value) in [(false, "NaN"), (true, "NaN"), (false, "inf"), (true, "-inf")] {
        let scratch = Scratch::new();
        let mut rows = resting(500);
        rows[300] = format!("3.000,0.1,{value},0.2,0.001,0.002,-0.001");
        rows[301] = format!("3.010,0.1,-9.8,0.2,0.001,{value},-0.001");
        scratch.file("motion.csv", motion(&rows));
        let options: &[&str] = if offline { &["--offline"] } else { &[] };
        let ended = orient(&scratch, options).done();
        assert!(ended.stderr.contains("2 samples rejected"), "{}", ended.stderr);
        assert!(ended.stderr.contains("line 302"), "{}", ended.stderr);
        let rows = orientations(&scratch);
        assert_eq!(rows.len(), 500);
        assert_eq!(rows[300][0], 3.0);
        // Nothing of it stays behind: the sensor rests, so every row has its up vector (gravity
        // is not exactly along -y: 0.1 and 0.2 m/s² across).
        for row in &rows {
            assert!(row.iter().all(|value| value.is_finite()), "{row:?}");
            let norm = row[1..5].iter().map(|part| part * part).sum::<f64>().sqrt();
            assert!((norm - 1.0).abs() < 1e-6, "{row:?}");
            let [w, x, y, z] = [row[1], row[2], row[3], row[4]];
            let up_y = 2.0 * (y * z + w * x);
            assert!((up_y + 0.99974).abs() < 1e-3, "{row:?}");
        }
    }
}

#[test]
fn one_row_has_an_orientation_but_no_movement() {
    let scratch = Scratch::new();
    let file = scratch.file("motion.csv", motion(&resting(1)));
    for options in [&[][..], &["--offline"]] {
        orient(&scratch, options).done();
        assert_eq!(orientations(&scratch).len(), 1);
    }
    assert_refused(&analyse(&scratch, &[]), &file, &["line 2", "only sample"]);
}

#[test]
fn accelerations_in_g_are_refused() {
    // Gravity is the only measure of the unit, and no offset of a working sensor hides a factor of
    // ten: 9.8 m/s² must be refused when it is written as 1.
    let scratch = Scratch::new();
    let rows: Vec<String> = (0..6000)
        .map(|row| format!("{:.3},0.01,0.02,-1.0,0,0,0", f64::from(row) / 100.0))
        .collect();
    let file = scratch.file("motion.csv", motion(&rows));
    assert_refused(&analyse(&scratch, &["--live"]), &file, &["m/s²"]);
    assert_refused(&analyse(&scratch, &[]), &file, &["m/s²"]);
}

fn orient(scratch: &Scratch, options: &[&str]) -> Ended {
    let (input, output) = (scratch.at("motion.csv"), scratch.at("out.csv"));
    let mut arguments = vec!["orient".into(), input.into_os_string()];
    arguments.extend(["--output".into(), output.into_os_string()]);
    arguments.extend(options.iter().map(Into::into));
    run(arguments)
}

/// `endarc analyse` with events that fit a recording of 60 s.
fn analyse(scratch: &Scratch, options: &[&str]) -> Ended {
    let text = "onset,duration,trial_type\n0.5,3,neutral\n5,20,baseline\n30,20,retest\n";
    let events = scratch.file("events.csv", text);
    let mut arguments = vec!["analyse".into(), scratch.at("motion.csv").into_os_string()];
    arguments.extend(["--events".into(), events.into_os_string()]);
    let fixed = ["--side", "right", "--test", "prone-hip-rotation", "--json"];
    arguments.extend(fixed.iter().chain(options).map(Into::into));
    run(arguments)
}

/// The rows of what `endarc orient` wrote.
fn orientations(scratch: &Scratch) -> Vec<Vec<f64>> {
    let text = fs::read_to_string(scratch.at("out.csv")).unwrap();
    let (header, rows) = text.split_once('\n').unwrap();
    assert_eq!(header, "time_s,q_w,q_x,q_y,q_z,incl_sd_deg");
    rows.lines().map(|row| row.split(',').map(|field| field.parse().unwrap()).collect()).collect()
}
