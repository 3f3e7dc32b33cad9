//! Whether the place from which the movements set out has moved: a strap that slipped, or a person
//! who turned on the table.

use endarc_protocol::words::Direction;

/// The limb rests somewhere else than before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestMoved {
    /// By how much, degrees, positive towards internal rotation (or flexion).
    pub by_deg: f64,
    /// When the last movement from the old place began, s: it moved during or after that one.
    pub since_s: f64,
    /// When it showed, s.
    pub noticed_s: f64,
}

/// Compares where movements in one direction set out. Only a movement that came back and sets out
/// again the same way shows it; one straight through from the other end does not.
#[derive(Debug, Clone, Default)]
pub(super) struct RestWatch {
    before: Option<SetOut>,
}

#[derive(Debug, Clone, Copy)]
struct SetOut {
    direction: Direction,
    from_deg: f64,
    at_s: f64,
}

impl RestWatch {
    /// A movement sets out from an angle (internal positive).
    pub(super) fn sets_out(
        &mut self,
        direction: Direction,
        from_deg: f64,
        at_s: f64,
        noticed_s: f64,
    ) -> Option<RestMoved> {
        let before = self.before.replace(SetOut { direction, from_deg, at_s })?;
        let by_deg = from_deg - before.from_deg;
        (before.direction == direction && by_deg.abs() > MOVED_DEG).then_some(RestMoved {
            by_deg,
            since_s: before.at_s,
            noticed_s,
        })
    }
}

// A hand brings the limb back to within a few degrees of where it was (common practice).
const MOVED_DEG: f64 = 10.0;
