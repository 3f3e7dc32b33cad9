//! Statistics on two published tables that are too large, or not free, to stand in the code.
//!
//! Expected values: R 4.2.2 (`lm`, `anova`, `t.test`) and psych 2.2.9, on the same files.

use std::fs;
use std::path::Path;

use endarc_analysis::statistics::paired::{MeanTest, paired, welch};
use endarc_analysis::statistics::repeatability::{repeatability_coefficient, within_subject_sd};
use endarc_analysis::statistics::{
    Agreement, Differences, IccForm, LimitError, MeanSquares, Multiplier, Ratings, Sem, icc,
    replicates,
};
use endarc_tests::reference;

/// Bland & Altman, Stat Methods Med Res 1999; 8:135–160, table 1: systolic pressure of 85 persons,
/// three replicates each by two observers and a machine.
#[test]
fn pressures_of_three_ways_agree_as_published() {
    let Some(reference) = reference() else { return };
    let rows = numbers(&reference.join("reference/data/bland_altman_1999_sbp.csv"));
    assert_eq!(rows.len(), 255);
    let first = |column: usize| rows.iter().filter(|row| row[1] == 1.0).map(move |r| r[column]);
    let single = |one: usize, two: usize| -> Agreement {
        let differences = Differences::of(first(one).zip(first(two))).unwrap();
        differences.agreement(Multiplier::Usual, LimitError::Of1999).unwrap()
    };
    let (j, r, s) = (2, 3, 4);
    let machine = single(j, s);
    near(machine.bias, -16.294_117_65, 1e-6);
    near(machine.sd, 19.610_992_74, 1e-6);
    near(machine.lower.value, -54.731_663_43, 1e-6);
    near(machine.upper.value, 22.143_428_13, 1e-6);
    let observer = single(j, r);
    near(observer.bias, 0.282_352_941_2, 1e-6);
    near(observer.sd, 2.119_140_463_0, 1e-6);

    let table = |column: usize| -> Ratings {
        let triples: Vec<[f64; 3]> =
            rows.chunks_exact(3).map(|three| [0, 1, 2].map(|at| three[at][column])).collect();
        Ratings::new(&triples).unwrap()
    };
    let expected = [
        (j, 37.407_843_14, 6.116_195_152, 16.953_228_02, 0.961_536_041_7),
        (r, 37.980_392_16, 6.162_823_392, 17.082_474_91, 0.960_231_884_4),
        (s, 83.141_176_47, 9.118_178_353, 25.274_300_92, 0.922_030_934_2),
    ];
    for (column, square, sd, coefficient, correlation) in expected {
        let table = table(column);
        let squares = MeanSquares::of(&table);
        near(squares.within_targets, square, 1e-6);
        near(within_subject_sd(&table), sd, 1e-6);
        near(repeatability_coefficient(&table), coefficient, 1e-6);
        near(icc::icc(&squares, IccForm::OneWay).unwrap().value, correlation, 1e-6);
    }

    let of_three = replicates::agreement(&table(j), &table(s), Multiplier::Usual).unwrap().unwrap();
    near(of_three.bias, -15.619_607_84, 1e-6);
    near(of_three.sd.powi(2), 438.858_481_2, 1e-6);
    near(of_three.lower.value, -56.679_548_68, 1e-6);
    near(of_three.upper.value, 25.440_332_99, 1e-6);
    assert!(of_three.upper.ci95[0] < of_three.upper.value);
}

/// Chatfield, Problem Solving 1995: hip rotation of 39 persons before and after, 27 of them
/// stretched.
#[test]
fn hips_before_and_after_are_those_of_the_trial() {
    let Some(reference) = reference() else { return };
    let hips = hips(&reference.join("reference/data/chatfield_hip_mobility.csv"));
    assert_eq!(hips.len(), 78);
    let of = |group: &'static str| hips.iter().filter(move |hip| hip.group == group);

    let controls: Vec<[f64; 2]> = of("control").map(|hip| [hip.before, hip.after]).collect();
    let squares = MeanSquares::of(&Ratings::new(&controls).unwrap());
    let consistency = icc::icc(&squares, IccForm::Consistency).unwrap();
    near(consistency.value, 0.809_791_597_8, 1e-5);
    near(consistency.ci95.unwrap()[0], 0.609_071_897_0, 1e-5);
    near(consistency.ci95.unwrap()[1], 0.913_023_654_1, 1e-5);
    near(Sem::consistency(&squares).value(), 3.608_439, 1e-5);
    near(Sem::consistency(&squares).mdc95(), 10.002_080, 1e-5);

    sides_changed(&hips);
    sides_differ(&hips);
    groups_differ(&hips);
}

fn sides_changed(hips: &[Hip]) {
    let changed = |group: &str, side: &str| -> (MeanTest, f64) {
        let own = hips.iter().filter(|hip| hip.group == group && hip.side == side);
        let pairs = own.map(|hip| (hip.after, hip.before));
        let differences = Differences::of(pairs).unwrap();
        (paired(&differences).unwrap(), differences.sd())
    };
    let expected = [
        (
            "treat",
            "right",
            [
                7.555_555_556,
                5.549_312_732,
                7.074_717_213,
                1.635_418_59e-7,
                5.360_320_552,
                9.750_790_56,
            ],
        ),
        (
            "treat",
            "left",
            [
                5.629_629_63,
                7.022_755_038,
                4.165_375_765,
                0.000_303_378_681_3,
                2.851_520_262,
                8.407_738_997,
            ],
        ),
        (
            "control",
            "right",
            [
                2.166_666_667,
                5.828_352_852,
                1.287_765_804,
                0.224_259_827_3,
                -1.536_492_063,
                5.869_825_396,
            ],
        ),
        (
            "control",
            "left",
            [
                -0.25,
                4.158_780_416,
                -0.208_240_233_2,
                0.838_846_963_4,
                -2.892_363_012,
                2.392_363_012,
            ],
        ),
    ];
    for (group, side, [mean, deviation, t, p, low, high]) in expected {
        let (test, sd) = changed(group, side);
        for (found, expected) in [
            (test.mean, mean),
            (sd, deviation),
            (test.t, t),
            (test.p, p),
            (test.ci95[0], low),
            (test.ci95[1], high),
        ] {
            near(found, expected, 1e-7);
        }
    }
}

fn sides_differ(hips: &[Hip]) {
    let of = |side: &'static str| hips.iter().filter(move |hip| hip.side == side);
    let pairs = of("right").map(|right| {
        let left = of("left").find(|left| left.person == right.person).unwrap();
        (right.before, left.before)
    });
    let differences = Differences::of(pairs).unwrap();
    let found = differences.agreement(Multiplier::Usual, LimitError::Of1999).unwrap();
    assert_eq!(differences.count(), 39);
    near(found.bias, 1.846_153_846, 1e-6);
    near(found.sd, 9.826_222_869, 1e-6);
    near(found.lower.value, -17.413_242_98, 1e-6);
    near(found.upper.value, 21.105_550_67, 1e-6);
    assert_eq!(differences.values().iter().filter(|one| one.abs() >= 10.0).count(), 11);
}

/// Two hips of one person are not two persons: the mean of both counts once.
fn groups_differ(hips: &[Hip]) {
    let changes = |group: &str| -> Vec<f64> {
        let right = hips.iter().filter(|hip| hip.group == group && hip.side == "right");
        right
            .map(|right| {
                let both = hips.iter().filter(|hip| hip.person == right.person);
                both.map(|hip| hip.after - hip.before).sum::<f64>() / 2.0
            })
            .collect()
    };
    let found = welch(&changes("control"), &changes("treat")).unwrap();
    near(found.t, -3.239_241_8, 1e-6);
    near(found.freedom, 26.355_689, 1e-6);
    near(found.p, 0.003_232_716, 1e-6);
    near(found.ci95[0], -9.207_250_760, 1e-6);
    near(found.ci95[1], -2.061_267_759, 1e-6);
}

struct Hip {
    person: String,
    side: String,
    group: String,
    before: f64,
    after: f64,
}

fn hips(file: &Path) -> Vec<Hip> {
    let text = fs::read_to_string(file).unwrap();
    let parse = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        Hip {
            person: cells[0].to_owned(),
            side: cells[1].to_owned(),
            group: cells[2].to_owned(),
            before: cells[5].parse().unwrap(),
            after: cells[6].parse().unwrap(),
        }
    };
    text.lines().skip(1).map(parse).collect()
}

fn numbers(file: &Path) -> Vec<Vec<f64>> {
    let text = fs::read_to_string(file).unwrap();
    let row = |line: &str| line.split(',').map(|cell| cell.parse().unwrap()).collect();
    text.lines().skip(1).map(row).collect()
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected}");
}
