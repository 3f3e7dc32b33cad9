//! Before against after, with its error.
//!
//! The rule: same rater, same visit, same strap; a single person's change counts only if it exceeds both
//! what the scatter of the person's own repetitions allows (two-sided 95 %, Student's t) and a floor
//! that stands for what repetitions cannot show: a new decision on where the end is. The floor, 6° or, if
//! the strap moved, 9°, is our assumption from smallest detectable changes of 5.4° (Krause et al., Knee Surg Sports Traumatol
//! Arthrosc 2015, seated) and 6.1–8.6° (Gradoz et al. 2018, supine and seated); no study of this
//! set-up exists.

use endarc_protocol::words::{Direction, Phase, Side, TestKind};
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::result::{Finding, Flag, Repetition, Verdict};

/// Before against after of one leg: internal, external, total.
#[must_use]
pub fn verdicts(side: Side, test: TestKind, repetitions: &[Repetition]) -> Vec<Verdict> {
    let group = |direction, phase| Group::of(side, direction, phase, repetitions);
    let pairs = test
        .directions()
        .iter()
        .map(|&d| (d, group(d, Phase::Baseline), group(d, Phase::Retest)))
        .collect::<Vec<_>>();
    let mut verdicts: Vec<Verdict> = pairs
        .iter()
        .map(|(direction, before, after)| compare(side, Some(*direction), before, after))
        .collect();
    if let [(_, in_before, in_after), (_, ex_before, ex_after)] = pairs.as_slice() {
        verdicts.push(compare(side, None, &in_before.plus(ex_before), &in_after.plus(ex_after)));
    }
    verdicts
}

/// The end ranges of one direction and phase, or sums of two such.
#[derive(Debug, Clone, Default)]
struct Group {
    count: usize,
    mean_deg: Option<f64>,
    /// Sum of squares around the mean, and its degrees of freedom.
    squares: f64,
    freedom: f64,
    /// Variance of the mean in units of the scatter: 1/k, or a sum of such.
    inverse_count: f64,
    instrument_sd_deg: f64,
    /// Whether the strap moved before or among them.
    strap_moved: bool,
}

impl Group {
    fn of(side: Side, direction: Direction, phase: Phase, repetitions: &[Repetition]) -> Self {
        let own: Vec<&Repetition> = repetitions
            .iter()
            .filter(|r| r.side == side && r.direction == direction && r.phase == phase)
            .collect();
        let count = own.len();
        if count == 0 {
            return Self::default();
        }
        let k = count as f64;
        let mean = own.iter().map(|r| r.end_range_deg).sum::<f64>() / k;
        Self {
            count,
            mean_deg: Some(mean),
            squares: own.iter().map(|r| (r.end_range_deg - mean).powi(2)).sum(),
            freedom: k - 1.0,
            inverse_count: 1.0 / k,
            instrument_sd_deg: own.iter().map(|r| r.uncertainty_deg).sum::<f64>() / k,
            strap_moved: own.iter().any(|r| r.flags.contains(&Flag::StrapMoved)),
        }
    }

    /// Internal and external together: total rotation.
    fn plus(&self, other: &Self) -> Self {
        Self {
            count: self.count.min(other.count),
            mean_deg: self.mean_deg.zip(other.mean_deg).map(|(a, b)| a + b),
            squares: self.squares + other.squares,
            freedom: self.freedom + other.freedom,
            inverse_count: self.inverse_count + other.inverse_count,
            instrument_sd_deg: self.instrument_sd_deg.hypot(other.instrument_sd_deg),
            strap_moved: self.strap_moved || other.strap_moved,
        }
    }
}

fn compare(side: Side, direction: Option<Direction>, before: &Group, after: &Group) -> Verdict {
    let change_deg = before.mean_deg.zip(after.mean_deg).map(|(before, after)| after - before);
    let freedom = before.freedom + after.freedom;
    let scatter = (freedom >= 1.0).then(|| {
        let pooled = (before.squares + after.squares) / freedom;
        (pooled * (before.inverse_count + after.inverse_count)).sqrt()
    });
    let own_limit_deg = scatter.zip(student_975(freedom)).map(|(sd, t)| t * sd);
    let ci95_deg = change_deg.zip(own_limit_deg).map(|(change, own)| {
        // Deliberately wide: much of the instrument's error is the same before and after and would
        // cancel, but how much is not known here, so all of it counts on both sides.
        let instrument = NORMAL_975 * before.instrument_sd_deg.hypot(after.instrument_sd_deg);
        let half = own.hypot(instrument);
        [change - half, change + half]
    });
    let floor = Floor::of(before.strap_moved || after.strap_moved);
    // Total rotation adds two end decisions, independent of each other.
    let ends: f64 = if direction.is_some() { 1.0 } else { 2.0 };
    let floor_deg = floor.deg * ends.sqrt();
    let mdc95_deg = own_limit_deg.map_or(floor_deg, |own| own.max(floor_deg));
    let own_decides = mdc95_deg > floor_deg;
    let enough = before.count >= LEAST_REPETITIONS && after.count >= LEAST_REPETITIONS;
    let finding = match change_deg {
        Some(change) if enough && change.abs() > mdc95_deg => Finding::ExceedsError,
        Some(_) if enough => Finding::WithinError,
        _ => Finding::NotEnough,
    };
    Verdict {
        side,
        direction,
        baseline_count: before.count,
        retest_count: after.count,
        baseline_mean_deg: before.mean_deg,
        retest_mean_deg: after.mean_deg,
        change_deg,
        ci95_deg,
        mdc95_deg,
        mdc95_source: match (own_decides, direction) {
            (true, _) => OWN_SOURCE.to_owned(),
            (false, Some(_)) => floor.source(),
            (false, None) => format!("√2 times the floor of one direction: {}", floor.source()),
        },
        finding,
        statement: statement(
            finding,
            change_deg,
            mdc95_deg,
            (!own_decides).then_some(floor),
            before,
            after,
        ),
    }
}

fn statement(
    finding: Finding,
    change_deg: Option<f64>,
    limit_deg: f64,
    floor: Option<Floor>,
    before: &Group,
    after: &Group,
) -> String {
    // As many decimals as it takes to show which of the two is larger.
    let rounded = |value: f64| (value * 10.0).round();
    let alike = change_deg.is_some_and(|change| rounded(change.abs()) == rounded(limit_deg));
    let decimals = if alike { 2 } else { 1 };
    let limit = match floor {
        None => {
            format!("the limit of {limit_deg:.decimals$}° that this visit's own scatter sets")
        }
        Some(floor) => format!(
            "our assumed limit of {limit_deg:.decimals$}° ({}); no study of this set-up exists",
            floor.strap
        ),
    };
    match (finding, change_deg) {
        (Finding::ExceedsError, Some(change)) => {
            format!("Change of {change:+.decimals$}° exceeds {limit}.")
        }
        (Finding::WithinError, Some(change)) => {
            format!("Change of {change:+.decimals$}° does not exceed {limit}.")
        }
        _ => format!(
            "No comparison: {} repetition(s) before and {} after, at least {LEAST_REPETITIONS} of each are needed.",
            before.count, after.count
        ),
    }
}

/// What repetitions cannot show, as a limit.
#[derive(Debug, Clone, Copy)]
struct Floor {
    deg: f64,
    strap: &'static str,
}

impl Floor {
    const fn of(strap_moved: bool) -> Self {
        if strap_moved {
            Self { deg: 9.0, strap: "strap moved" }
        } else {
            Self { deg: 6.0, strap: "strap unmoved" }
        }
    }

    fn source(&self) -> String {
        format!(
            "assumed floor for one rater, one visit, {}; from published smallest detectable changes \
             of 5.4° to 8.6° in other positions; no study of this set-up exists",
            self.strap
        )
    }
}

/// The 97.5 % quantile of Student's t; `None` without a degree of freedom.
fn student_975(freedom: f64) -> Option<f64> {
    StudentsT::new(0.0, 1.0, freedom).ok().map(|t| t.inverse_cdf(0.975))
}

const LEAST_REPETITIONS: usize = 3;
const NORMAL_975: f64 = 1.959_964;
const OWN_SOURCE: &str = "scatter of this visit's own repetitions (two-sided 95 %, Student's t)";

#[cfg(test)]
mod tests {
    use super::*;

    fn repetitions(phase: Phase, values: &[f64]) -> Vec<Repetition> {
        values
            .iter()
            .map(|&end_range_deg| Repetition {
                side: Side::Right,
                phase,
                direction: Direction::Internal,
                end_range_deg,
                uncertainty_deg: 0.2,
                start_s: 0.0,
                end_range_at_s: 1.0,
                hold_s: 1.0,
                knee_flexion_deg: Some(90.0),
                pelvis_roll_deg: None,
                barriers: None,
                flags: Vec::new(),
            })
            .collect()
    }

    /// The within-session example of the reference sheet: 31.2, 32.0, 31.5 before and 35.9, 36.4, 35.2
    /// after give a change of 4.2667 with a limit of 1.163 from their own scatter (s_w 0.5132, 4
    /// degrees of freedom): past its own limit, not past the floor of 6°.
    #[test]
    fn a_change_past_its_own_scatter_but_not_the_floor_is_within_error() {
        let mut all = repetitions(Phase::Baseline, &[31.2, 32.0, 31.5]);
        all.extend(repetitions(Phase::Retest, &[35.9, 36.4, 35.2]));
        let verdict = &verdicts(Side::Right, TestKind::ProneHipRotation, &all)[0];
        assert!((verdict.change_deg.unwrap() - 4.2667).abs() < 1e-4);
        let ci = verdict.ci95_deg.unwrap();
        let instrument = NORMAL_975 * 0.2 * std::f64::consts::SQRT_2;
        assert!(((ci[1] - ci[0]) / 2.0 - 1.163_f64.hypot(instrument)).abs() < 1e-3);
        assert_eq!(verdict.finding, Finding::WithinError);
        assert!(verdict.statement.contains("does not exceed our assumed limit of 6.0°"));
    }

    #[test]
    fn a_large_change_exceeds_and_a_scattered_one_does_not() {
        let mut all = repetitions(Phase::Baseline, &[30.0, 31.0, 29.5]);
        all.extend(repetitions(Phase::Retest, &[40.0, 39.0, 41.0]));
        assert_eq!(
            verdicts(Side::Right, TestKind::ProneHipRotation, &all)[0].finding,
            Finding::ExceedsError
        );
        let mut scattered = repetitions(Phase::Baseline, &[20.0, 30.0, 40.0]);
        scattered.extend(repetitions(Phase::Retest, &[30.0, 38.0, 46.0]));
        let verdict = &verdicts(Side::Right, TestKind::ProneHipRotation, &scattered)[0];
        assert_eq!(verdict.finding, Finding::WithinError);
        assert_eq!(verdict.mdc95_source, OWN_SOURCE);
    }

    /// Two directions, two end decisions: the limit of the total is √2 times that of one.
    #[test]
    fn the_total_has_a_larger_limit() {
        let all = repetitions(Phase::Baseline, &[30.0, 31.0, 29.5]);
        let total = &verdicts(Side::Right, TestKind::ProneHipRotation, &all)[2];
        assert_eq!(total.direction, None);
        assert!((total.mdc95_deg - 8.485).abs() < 1e-3);
    }

    /// A change that rounds to its limit is told with one decimal more.
    #[test]
    fn a_statement_never_contradicts_its_numbers() {
        let mut all = repetitions(Phase::Baseline, &[30.0, 30.1, 29.9]);
        all.extend(repetitions(Phase::Retest, &[36.04, 35.94, 36.14]));
        let statement = &verdicts(Side::Right, TestKind::ProneHipRotation, &all)[0].statement;
        assert!(statement.starts_with("Change of +6.04° exceeds our assumed limit of 6.00°"));
    }

    #[test]
    fn too_few_repetitions_give_no_comparison() {
        let all = repetitions(Phase::Baseline, &[30.0, 31.0]);
        let verdict = &verdicts(Side::Right, TestKind::ProneHipRotation, &all)[0];
        assert_eq!((verdict.finding, verdict.change_deg), (Finding::NotEnough, None));
        assert!(verdict.ci95_deg.is_none());
    }
}
