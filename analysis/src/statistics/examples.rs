//! Published examples, held to the digits of independent programs (R 4.2.2 with psych 2.2.9,
//! pingouin 0.7.0, numpy, scipy) or of the papers. Two larger ones are in the whole-program tests.

use super::agreement::{Differences, LimitError, Multiplier};
use super::concordance::{concordance, pearson};
use super::icc::{IccForm, icc};
use super::paired::{paired, standardised};
use super::repeatability::{repeatability_of_pairs, within_subject_sd};
use super::sem::{Sem, standard_error_of_estimate, standard_error_of_prediction};
use super::{MeanSquares, Ratings, replicates};

/// Shrout & Fleiss, Psychol Bull 1979; 86:420–428, table 2: six targets, four judges.
const JUDGES: [[f64; 4]; 6] = [
    [9.0, 2.0, 5.0, 8.0],
    [6.0, 1.0, 3.0, 2.0],
    [8.0, 4.0, 6.0, 8.0],
    [7.0, 1.0, 2.0, 6.0],
    [10.0, 5.0, 6.0, 9.0],
    [6.0, 2.0, 4.0, 7.0],
];

/// Bland & Altman, Lancet 1986; i:307–310, peak expiratory flow in l/min: two readings with a large
/// meter, two with a small one.
pub(super) const PEAK_FLOW: [[f64; 4]; 17] = [
    [494.0, 490.0, 512.0, 525.0],
    [395.0, 397.0, 430.0, 415.0],
    [516.0, 512.0, 520.0, 508.0],
    [434.0, 401.0, 428.0, 444.0],
    [476.0, 470.0, 500.0, 500.0],
    [557.0, 611.0, 600.0, 625.0],
    [413.0, 415.0, 364.0, 460.0],
    [442.0, 431.0, 380.0, 390.0],
    [650.0, 638.0, 658.0, 642.0],
    [433.0, 429.0, 445.0, 432.0],
    [417.0, 420.0, 432.0, 420.0],
    [656.0, 633.0, 626.0, 605.0],
    [267.0, 275.0, 260.0, 227.0],
    [478.0, 492.0, 477.0, 467.0],
    [178.0, 165.0, 259.0, 268.0],
    [423.0, 372.0, 350.0, 370.0],
    [427.0, 421.0, 451.0, 443.0],
];

/// Weir, J Strength Cond Res 2005; 19:231–240, set A: eight subjects, two trials.
const TRIALS: [[f64; 2]; 8] = [
    [146.0, 140.0],
    [148.0, 152.0],
    [170.0, 152.0],
    [90.0, 99.0],
    [157.0, 145.0],
    [156.0, 153.0],
    [176.0, 167.0],
    [205.0, 218.0],
];

/// Student, Biometrika 1908; 6:1–25: hours of sleep gained with two drugs.
const SLEEP: [(f64, f64); 10] = [
    (0.7, 1.9),
    (-1.6, 0.8),
    (-0.2, 1.1),
    (-1.2, 0.1),
    (-0.1, -0.1),
    (3.4, 4.4),
    (3.7, 5.5),
    (0.8, 1.6),
    (0.0, 4.6),
    (2.0, 3.4),
];

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected}");
}

fn near_both(found: [f64; 2], expected: [f64; 2], tolerance: f64) {
    near(found[0], expected[0], tolerance);
    near(found[1], expected[1], tolerance);
}

fn table(rows: &[[f64; 4]], columns: [usize; 2]) -> Ratings {
    let picked: Vec<_> = rows.iter().map(|row| columns.map(|place| row[place])).collect();
    Ratings::new(&picked).unwrap()
}

#[test]
fn mean_squares_of_the_judges() {
    let found = MeanSquares::of(&Ratings::new(&JUDGES).unwrap());
    near(found.between_targets, 11.241_666_667, 1e-8);
    near(found.between_raters, 32.486_111_111, 1e-8);
    near(found.residual, 1.019_444_444, 1e-8);
    near(found.within_targets, 6.263_888_889, 1e-8);
    let (f, p) = found.targets_test().unwrap();
    near(f, 11.027_247_956_4, 1e-8);
    near(p, 0.000_134_566_5, 1e-8);
    near(Sem::consistency(&found).value(), 1.009_675, 1e-6);
    near(Sem::agreement(&found).value(), 2.502_776, 1e-6);
}

/// Shrout & Fleiss, table 4, print .17 .29 .71 .44 .62 .91.
#[test]
fn the_six_intraclass_correlations_of_the_judges() {
    let squares = MeanSquares::of(&Ratings::new(&JUDGES).unwrap());
    let expected = [
        (IccForm::OneWay, 0.17, 0.165_741_768_4, [-0.132_932_324_9, 0.722_560_062_3]),
        (IccForm::Agreement, 0.29, 0.289_763_779_5, [0.018_786_513_4, 0.761_084_369_6]),
        (IccForm::Consistency, 0.71, 0.714_840_714_8, [0.342_464_765_0, 0.945_858_260_0]),
        (IccForm::OneWayMean, 0.44, 0.442_797_133_7, [-0.884_442_155_2, 0.912_415_420_3]),
        (IccForm::AgreementMean, 0.62, 0.620_050_547_6, [0.071_136_815_3, 0.927_232_040_2]),
        (IccForm::ConsistencyMean, 0.91, 0.909_315_542_4, [0.675_674_713_8, 0.985_891_678_2]),
    ];
    for (form, printed, value, ci95) in expected {
        let found = icc(&squares, form).unwrap();
        near(found.value, value, 1e-8);
        near(found.value, printed, 0.005);
        near_both(found.ci95.unwrap(), ci95, 1e-8);
    }
}

#[test]
fn agreement_of_two_meters() {
    let pairs = PEAK_FLOW.map(|row| (row[0], row[2]));
    let differences = Differences::of(pairs).unwrap();
    let of_1986 = differences.agreement(Multiplier::Two, LimitError::Of1986).unwrap();
    near(of_1986.bias, -2.117_647_058_8, 1e-9);
    near(of_1986.sd, 38.765_129_873_6, 1e-9);
    near(of_1986.bias_error, 9.401_925_003_5, 1e-9);
    near_both(of_1986.bias_ci95, [-22.048_837_696_6, 17.813_543_579_0], 1e-8);
    near(of_1986.lower.value, -79.647_906_806_0, 1e-8);
    near(of_1986.upper.value, 75.412_612_688_4, 1e-8);
    near(of_1986.limit_error, 16.284_611_795_0, 1e-8);
    near_both(of_1986.lower.ci95, [-114.169_742, -45.126_072], 1e-5);
    near_both(of_1986.upper.ci95, [40.890_778, 109.934_448], 1e-5);
    // The paper rounds bias and deviation first: -79.7 and 75.5, -114.3 to -45.1, 40.9 to 110.1.
    near_both(of_1986.lower.ci95, [-114.3, -45.1], 0.15);
    near_both(of_1986.upper.ci95, [40.9, 110.1], 0.2);

    let of_1999 = differences.agreement(Multiplier::Usual, LimitError::Of1999).unwrap();
    near_both(
        [of_1999.lower.value, of_1999.upper.value],
        [-78.097_301_611_1, 73.862_007_493_4],
        1e-8,
    );
    near(of_1999.limit_error, 16.395_107_984_7, 1e-8);
    let exact = differences.agreement(Multiplier::Exact, LimitError::Of1999).unwrap();
    near_both([exact.lower.value, exact.upper.value], [-78.095_905_467_1, 73.860_611_349_5], 1e-7);

    near(pearson(&pairs).unwrap(), 0.943_279, 1e-6);
    near(concordance(&pairs).unwrap(), 0.942_742, 1e-6);
}

/// The paper prints 43.2, 56.4 and a corrected deviation of 37.7 after rounding (from memory). We
/// correct by the within-subject deviations, as the paper of 1999 does; by the deviations of the
/// replicates' differences around their own mean it is 37.8008.
#[test]
fn repeatability_of_two_meters() {
    let (large, small) = (table(&PEAK_FLOW, [0, 1]), table(&PEAK_FLOW, [2, 3]));
    near(repeatability_of_pairs(&large).unwrap(), 43.293_798, 1e-5);
    near(repeatability_of_pairs(&small).unwrap(), 56.316_333, 1e-5);
    near(within_subject_sd(&large), 15.306_669, 1e-6);
    near(within_subject_sd(&small), 19.910_831, 1e-6);
    let found = replicates::agreement(&large, &small, Multiplier::Usual).unwrap().unwrap();
    near(found.bias, -6.029_412, 1e-5);
    near(found.bias_error * 17_f64.sqrt(), 33.204_137, 1e-5);
    near(found.sd, 37.7, 0.05);
    let scatter = |columns: [usize; 2]| {
        Differences::of(PEAK_FLOW.map(|row| (row[columns[0]], row[columns[1]]))).unwrap().sd()
    };
    let around = (scatter([0, 1]).powi(2) + scatter([2, 3]).powi(2)) / 4.0;
    let of_means = found.bias_error.powi(2) * 17.0;
    near((of_means + around).sqrt(), 37.800_803, 1e-5);
    let squares = MeanSquares::of(&large);
    let forms = [IccForm::OneWay, IccForm::Agreement, IccForm::Consistency];
    for (form, value) in forms.into_iter().zip([0.983_165, 0.983_164, 0.983_046]) {
        near(icc(&squares, form).unwrap().value, value, 1e-6);
    }
}

/// Weir (2005), p. 236, prints 7.6, 7.1 and 10.2.
#[test]
fn errors_of_two_trials() {
    let squares = MeanSquares::of(&Ratings::new(&TRIALS).unwrap());
    let of = |form| icc(&squares, form).unwrap();
    let sem = Sem::consistency(&squares);
    near(sem.value(), 7.556_927, 1e-6);
    near(sem.mdc95(), 20.946_732, 1e-6);
    let sd = (squares.total_squares / 15.0).sqrt();
    let consistency = of(IccForm::Consistency).value;
    near(standard_error_of_estimate(sd, consistency).unwrap(), 7.111_8, 1e-4);
    near(standard_error_of_prediction(sd, consistency).unwrap(), 10.197_3, 1e-4);
    near(of(IccForm::OneWay).value, 0.950_053, 1e-6);
    near(of(IccForm::Agreement).value, 0.949_975, 1e-6);
    near(consistency, 0.947_016, 1e-6);
    near_both(of(IccForm::Agreement).ci95.unwrap(), [0.786_959, 0.989_637], 1e-6);
    // Trials differ less than chance makes them: their part of the error is nothing.
    near(Sem::agreement(&squares).value(), sem.value(), 1e-12);
}

/// R's example of the paired t-test (`?sleep`).
#[test]
fn the_t_of_two_drugs() {
    let differences = Differences::of(SLEEP).unwrap();
    let found = paired(&differences).unwrap();
    near(found.t, -4.062_127_683, 1e-8);
    near(found.freedom, 9.0, 0.0);
    near(found.p, 0.002_832_890_197, 1e-8);
    near(found.mean, -1.58, 1e-8);
    near_both(found.ci95, [-2.459_885_763, -0.700_114_237], 1e-8);
    near(standardised(&differences).unwrap(), -1.284_557_563, 1e-8);
}
