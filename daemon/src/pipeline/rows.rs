//! The visit's words as the store's rows.

use endarc_analysis::ALGORITHM_VERSION;
use endarc_analysis::orientation::BiasState;
use endarc_analysis::result::{self, AlignmentReport, Finding, More, Repetition};
use endarc_protocol::words::SensorRole;

use crate::clock;
use crate::source::Identity;
use crate::store::rows::{
    Alignment, Gap, GyroBias, Look, Mark, NewRepetition, RepetitionValue, Verdict,
};
pub(crate) use crate::store::words::ValueKind;
use crate::store::words::{AlignmentKind, Finding as StoredFinding, GapCause, LookTold};
use crate::store::{SensorIdentity, VisitId};
use crate::visit::{self, Command, Loss, LossCause};

/// The strapping of every sensor: within a visit none is strapped on anew yet.
pub(crate) const STRAP_EPOCH: u32 = 0;

/// How a sensor sat.
pub(crate) fn alignment(
    visit: VisitId,
    role: SensorRole,
    at_s: f64,
    report: &AlignmentReport,
) -> Alignment {
    Alignment {
        visit,
        role,
        strap_epoch: STRAP_EPOCH,
        at_s,
        kind: match report.kind {
            result::AlignmentKind::KneeBends => AlignmentKind::KneeBends,
            result::AlignmentKind::Quick => AlignmentKind::Quick,
        },
        knee_axis: report.knee_axis,
        long_axis: report.long_axis,
        residual_deg: report.residual_deg,
        uncertainty_deg: report.uncertainty_deg,
        neutral_deg: report.neutral_deg,
        algorithm_version: ALGORITHM_VERSION.to_owned(),
    }
}

/// A repetition with its first value.
pub(crate) fn repetition(
    visit: VisitId,
    repetition: &Repetition,
    kind: ValueKind,
) -> NewRepetition {
    NewRepetition {
        visit,
        side: repetition.side,
        phase: repetition.phase,
        direction: repetition.direction,
        rater: None,
        end_criterion: None,
        strap_epoch: Some(STRAP_EPOCH),
        value: value(repetition, kind),
    }
}

/// A repetition's value.
pub(crate) fn value(repetition: &Repetition, kind: ValueKind) -> RepetitionValue {
    RepetitionValue {
        kind,
        algorithm_version: ALGORITHM_VERSION.to_owned(),
        end_range_deg: repetition.end_range_deg,
        uncertainty_deg: repetition.uncertainty_deg,
        start_s: repetition.start_s,
        end_range_at_s: repetition.end_range_at_s,
        hold_s: repetition.hold_s,
        knee_flexion_deg: repetition.knee_flexion_deg,
        pelvis_roll_deg: repetition.pelvis_roll_deg,
        barriers: repetition.barriers,
        flags: repetition.flags.iter().map(|flag| flag.as_str().to_owned()).collect(),
        computed_at: clock::wall().timestamp(),
    }
}

/// Before against after.
pub(crate) fn verdict(visit: VisitId, verdict: &result::Verdict) -> Verdict {
    let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    Verdict {
        visit,
        side: verdict.side,
        direction: verdict.direction,
        baseline_count: count(verdict.baseline_count),
        retest_count: count(verdict.retest_count),
        baseline_mean_deg: verdict.baseline_mean_deg,
        retest_mean_deg: verdict.retest_mean_deg,
        change_deg: verdict.change_deg,
        ci95_deg: verdict.ci95_deg,
        mdc95_deg: Some(verdict.mdc95_deg),
        mdc95_source: verdict.mdc95_source.clone(),
        finding: match verdict.finding {
            Finding::NotEnough => StoredFinding::NotEnough,
            Finding::NoClaim => StoredFinding::NoClaim,
            Finding::WithinError => StoredFinding::WithinError,
            Finding::ExceedsError => StoredFinding::ExceedsError,
        },
        statement: verdict.statement.clone(),
        algorithm_version: ALGORITHM_VERSION.to_owned(),
        computed_at: clock::wall().timestamp(),
    }
}

/// A look at an open comparison.
pub(crate) fn look(visit: VisitId, look: &visit::Look) -> Look {
    Look {
        visit,
        side: look.side,
        direction: look.direction,
        retest_count: u32::try_from(look.retest_count).unwrap_or(u32::MAX),
        told: match look.told {
            More::Settled => LookTold::Settled,
            More::Repetitions(_) => LookTold::More,
            More::FloorDecides => LookTold::LimitDecides,
            // After a stop nothing is told that could decide whether to go on.
            More::OutOfReach | More::StoppedByPain => LookTold::OutOfReach,
        },
        at_s: look.time_s,
    }
}

/// What is known of a gyroscope's bias by now.
pub(crate) fn gyro_bias(visit: VisitId, role: SensorRole, at_s: f64, state: BiasState) -> GyroBias {
    GyroBias {
        visit,
        role,
        strap_epoch: STRAP_EPOCH,
        at_s,
        state,
        algorithm_version: ALGORITHM_VERSION.to_owned(),
    }
}

/// A stretch without samples.
pub(crate) fn gap(visit: VisitId, loss: &Loss) -> Gap {
    Gap {
        visit,
        role: loss.role,
        from_s: loss.from_s,
        to_s: loss.to_s.max(loss.from_s),
        lost: u32::try_from(loss.lost).unwrap_or(u32::MAX),
        cause: match loss.cause {
            LossCause::LinkLost => GapCause::LinkLost,
            LossCause::SamplesMissing => GapCause::SamplesMissing,
            LossCause::SamplesRejected => GapCause::SamplesRejected,
            LossCause::SensorRestarted => GapCause::SensorRestarted,
            LossCause::Silent => GapCause::Silent,
            LossCause::HostAsleep => GapCause::HostAsleep,
            LossCause::Malformed => GapCause::Malformed,
            LossCause::Overrun => GapCause::Overrun,
        },
    }
}

/// What a sensor says of itself.
pub(crate) fn identity(address: String, said: Identity) -> SensorIdentity {
    let now = clock::wall().timestamp();
    SensorIdentity {
        address,
        manufacturer: said.manufacturer,
        model: said.model,
        serial: said.serial,
        firmware: said.firmware,
        battery: said.battery_percent.map(|percent| (percent, now)),
    }
}

/// The kind of a mark by which the therapist marked a position.
pub(crate) const MARK: &str = "mark";

/// The kind of a mark by which the therapist said that the person stopped for pain.
pub(crate) const PAIN_STOP: &str = "pain-stop";

/// A marked moment.
pub(crate) fn mark(visit: VisitId, at_s: f64, command: Command) -> Mark {
    let kind = match command {
        Command::Mark => MARK,
        Command::Next => "next",
        Command::Undo => "undo",
        Command::PainStop => PAIN_STOP,
    };
    Mark { visit, at_s, kind: kind.to_owned(), note: None }
}
