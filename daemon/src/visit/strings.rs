//! Every sentence a visit says, in one place.
//!
//! Plain words for somebody who glances from two metres: what to do, what was heard, what is
//! wrong. Nothing here judges a person.

use endarc_analysis::repetition::rest::RestMoved;
use endarc_analysis::result::{AlignmentKind, AlignmentReport, More, Repetition};
use endarc_analysis::strap::StrapMoved;
use endarc_protocol::words::{Direction, SensorRole, Side, TrialType};

use super::event::{Link, Loss, LossCause, SpanMark};
use crate::live::Advice;

/// Shown between spans.
pub const BETWEEN: &str = "Wait: between two measurements.";
/// Shown before the first span.
pub const BEFORE: &str = "Sensors on, prone, knee bent.";
/// Shown while the final values are computed.
pub const CLOSING: &str = "Over: computing final values.";
/// Shown when the visit is closed.
pub const CLOSED: &str = "The visit is closed and kept.";
/// Said when the source brings its own marks.
pub const NEXT_NOT_HERE: &str = "this source brings its own marks: 'next' has no effect here";
/// Said when a mark is stored.
pub const MARKED: &str = "this position is marked: while measuring, it is an end range";
/// Said when the person stopped for pain.
pub const STOPPED_FOR_PAIN: &str = "stopped for pain, and noted: no more repetitions are asked for";
/// What the therapist is asked after that, while measuring.
pub const STOPPED: &str = "Stopped for pain: no more. Next when ready.";
/// Said when there is nothing to take back.
pub const NOTHING_TO_UNDO: &str = "nothing to take back: no repetition is kept yet";
/// The reason stored with a repetition that the therapist took back.
pub const TAKEN_BACK: &str = "taken back by the therapist";
/// Said when the disk takes what is recorded again.
pub const SAVING_AGAIN: &str = "saving again; nothing was lost";
/// Said when the source has ended.
pub const SOURCE_ENDED: &str = "the sensors have stopped; what was recorded is being closed";

/// Why nothing is calibrated or levelled any more.
pub const CALIBRATE_BEFORE: &str = "the visit has begun, and what it measures rests on its sensors as they are: calibrate and level \
     before the first neutral hold";
/// Why the sensors do not change places where there is one.
pub const ONE_SHANK: &str = "only one shank wears a sensor: there is nothing to exchange";
/// Why the sensors do not change places any more.
pub const EXCHANGE_BEFORE: &str = "a repetition is captured already, and it says which leg it is of: \
     end this visit, strap the sensors on as they are named, and begin another";
/// Said when the sensors have changed places.
pub const EXCHANGED: &str = "the two shank sensors are exchanged: what either sent, from the start of \
     the visit on, is the other leg's";
/// Said when the legs are to be prepared once more.
pub const PREPARE_ANEW: &str =
    "the visit has gone on for long: hold neutral and bend the knee of each leg once more";
/// Why nothing is done any more.
pub const NOTHING_RECORDED: &str = "nothing is being recorded any more";
/// Said when a visit's first span begins while a sensor is laid about.
pub const CALIBRATION_BROKEN_OFF: &str =
    "measuring begins: the calibration that was going on is put away, and nothing of it is kept";
/// Said when a pedal is pressed while a sensor is laid about.
pub const CALIBRATION_FIRST: &str =
    "a sensor is being laid about: finish or stop that before measuring";

/// What the therapist is asked to do within a span.
#[must_use]
pub fn prompt(span: &SpanMark, aligned: bool) -> String {
    let leg = legs(span.side);
    match span.trial_type {
        TrialType::Neutral => format!("Neutral, {leg}: upright, still."),
        TrialType::AlignKnee if aligned => {
            format!("Knee bends, {leg}: enough.")
        }
        TrialType::AlignKnee => format!("Bend and straighten, {leg}."),
        TrialType::Baseline => {
            format!("Baseline, {leg}: turn, hold.")
        }
        TrialType::Treatment => format!("Treatment, {leg}."),
        TrialType::Retest => {
            format!("Retest, {leg}: turn, hold.")
        }
    }
}

/// Whether more repetitions of a retest would settle what is compared; no angle in it.
#[must_use]
pub fn more(advice: Advice, repetitions: usize) -> String {
    match advice {
        Advice::NotEnoughYet => format!("not enough yet: {repetitions} more"),
        Advice::MoreWouldSettle => {
            let cost_s = More::Repetitions(repetitions).duration_s();
            format!("{repetitions} more would settle it, if they go on like these: {cost_s:.0} s")
        }
        Advice::Settled => "settled: more would not change what is said".to_owned(),
        Advice::LimitDecides => "more cannot settle it: the limit decides".to_owned(),
        Advice::MoreCannotSettle => "more cannot settle it".to_owned(),
        Advice::BaselineTooShort => {
            "no comparison: the baseline has too few repetitions".to_owned()
        }
        Advice::StoppedForPain => "stopped for pain: no more are asked for".to_owned(),
        Advice::NoClaim => "no claim can be made about this change".to_owned(),
    }
}

/// A span began.
#[must_use]
pub fn span_began(span: &SpanMark) -> String {
    let leg = legs(span.side);
    match span.trial_type {
        TrialType::Neutral => format!("neutral, {leg}: shank upright and still"),
        TrialType::AlignKnee => format!("knee bends, {leg}: finding how the sensor sits"),
        TrialType::Baseline => format!("baseline, {leg}: measuring before treatment"),
        TrialType::Treatment => format!("treatment, {leg}: movements are counted as dose"),
        TrialType::Retest => format!("retest, {leg}: measuring again"),
    }
}

/// A leg's sensor is aligned.
#[must_use]
pub fn aligned(side: Side, report: &AlignmentReport) -> String {
    let how = match report.kind {
        AlignmentKind::KneeBends => "from the knee bends",
        AlignmentKind::Quick => "from the neutral hold alone",
    };
    format!("{side} shank: sensor aligned {how}, knee axis good to {:.1}°", report.uncertainty_deg)
}

/// An alignment was refused.
#[must_use]
pub fn alignment_refused(side: Side, reason: &str) -> String {
    format!("{side} shank: not aligned: {reason}")
}

/// The other leg's sensor moved while this leg was named.
#[must_use]
pub fn exchanged(side: Side) -> String {
    format!(
        "the knee of the {side} leg was to be bent, but the sensor of the {} leg moved: the two are \
         exchanged, or the other leg was bent. Put that right before measuring",
        side.other()
    )
}

/// The strap has moved on the shank.
#[must_use]
pub fn strap_moved(side: Side, moved: &StrapMoved) -> String {
    format!(
        "{side} shank: the strap moved by {:.0}°; repetitions from here on say so",
        moved.by_rad.to_degrees()
    )
}

/// The movements of a leg set out from another place than before.
#[must_use]
pub fn rest_moved(side: Side, moved: &RestMoved) -> String {
    format!(
        "{side} leg: it rests {:.0}° from where it did: check the strap and the person's position, \
         then hold neutral anew; end ranges from here on may not compare",
        moved.by_deg.abs()
    )
}

/// A leg was lifted.
#[must_use]
pub fn raised(side: Side) -> String {
    format!("{side} leg in the hands")
}

/// A leg was laid down.
#[must_use]
pub fn laid_down(side: Side) -> String {
    format!("{side} leg laid down")
}

/// A repetition is on disk.
#[must_use]
pub fn kept(repetition: &Repetition) -> String {
    format!(
        "kept: {}, {} {}, {:.1}° ± {:.1}°",
        repetition.phase,
        repetition.side,
        direction(repetition.direction),
        repetition.end_range_deg,
        repetition.uncertainty_deg
    )
}

/// A repetition was struck out.
#[must_use]
pub fn struck_out(repetition: &Repetition, reason: &str) -> String {
    format!(
        "struck out: {}, {} {}, {:.1}°: {reason}",
        repetition.phase,
        repetition.side,
        direction(repetition.direction),
        repetition.end_range_deg
    )
}

/// A direction with what the foot does, which is the same in every position.
#[must_use]
pub const fn direction(direction: Direction) -> &'static str {
    match direction {
        Direction::Internal => "internal (foot outward)",
        Direction::External => "external (foot inward)",
        Direction::Flexion => "flexion",
    }
}

/// A sensor has fallen silent.
#[must_use]
pub fn fallen_silent(role: SensorRole) -> String {
    format!("no data from the {} sensor", place(role))
}

/// A sensor that was silent from the visit's start speaks.
#[must_use]
pub fn speaks_at_last(role: SensorRole) -> String {
    format!("first data from the {} sensor", place(role))
}

/// Said once a battery has proved to be low.
pub(super) fn battery_low(role: SensorRole, percent: u8) -> String {
    format!(
        "the battery of the {} sensor is down to {percent} %: charge it after this visit",
        place(role)
    )
}

/// A silent sensor speaks again.
#[must_use]
pub fn speaks_again(role: SensorRole) -> String {
    format!("data from the {} sensor again", place(role))
}

/// How long a sensor has been silent, for the notice beside a leg.
#[must_use]
pub fn no_data_for(role: SensorRole, silent_s: f64) -> String {
    format!("No data from the {} sensor for {silent_s:.0} s.", place(role))
}

/// Samples are missing.
#[must_use]
pub fn lost(loss: &Loss) -> String {
    let sensor = place(loss.role);
    let length_s = loss.to_s - loss.from_s;
    let count = match loss.lost {
        0 => String::new(),
        1 => " (1 sample)".to_owned(),
        lost => format!(" ({lost} samples)"),
    };
    match loss.cause {
        LossCause::LinkLost => format!("{sensor} sensor: silent for {length_s:.1} s{count}"),
        LossCause::SamplesMissing => format!("{sensor} sensor: {length_s:.2} s missing{count}"),
        LossCause::SamplesRejected => format!("{sensor} sensor: unusable values{count}"),
        LossCause::SensorRestarted => {
            format!("{sensor} sensor: started anew, {length_s:.1} s missing{count}")
        }
        LossCause::Silent => {
            format!("{sensor} sensor: connected, but silent for {length_s:.1} s{count}")
        }
        LossCause::HostAsleep => {
            format!("{sensor} sensor: the computer slept, {length_s:.0} s missing{count}")
        }
        LossCause::Malformed => format!("{sensor} sensor: unreadable notifications{count}"),
        LossCause::Overrun => {
            format!("{sensor} sensor: this computer was too slow for {length_s:.1} s{count}")
        }
    }
}

/// How a sensor's link is doing; `None` where samples say it.
#[must_use]
pub fn link(role: SensorRole, link: &Link) -> Option<String> {
    let sensor = place(role);
    match link {
        Link::Searching => Some(format!("{sensor} sensor: looking for it: is it switched on?")),
        Link::Connecting => Some(format!("{sensor} sensor: connecting")),
        Link::Lost => Some(format!("{sensor} sensor: link lost, taking it up again")),
        Link::Refused(why) => Some(format!("{sensor} sensor: {why}")),
        Link::Streaming | Link::Silent => None,
    }
}

/// Something is wrong with the radio, or no more.
#[must_use]
pub fn radio(trouble: Option<&str>) -> String {
    trouble
        .map_or_else(|| "Bluetooth is ready".to_owned(), |trouble| format!("Bluetooth: {trouble}"))
}

/// The store refused a repetition.
#[must_use]
pub fn not_kept(reason: &str) -> String {
    format!("NOT KEPT: the last repetition could not be stored: {reason}")
}

/// What is recorded does not reach the disk.
#[must_use]
pub fn not_saving(reason: &str) -> String {
    format!("NOT SAVING: {reason}")
}

fn place(role: SensorRole) -> &'static str {
    match role {
        SensorRole::LeftShank => "left shank",
        SensorRole::RightShank => "right shank",
        SensorRole::Pelvis => "pelvis",
        SensorRole::LeftThigh => "left thigh",
        SensorRole::RightThigh => "right thigh",
    }
}

fn legs(side: Option<Side>) -> &'static str {
    match side {
        Some(Side::Left) => "left leg",
        Some(Side::Right) => "right leg",
        None => "both legs",
    }
}
