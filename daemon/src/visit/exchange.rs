//! Sensors exchanged between the legs: internal rotation would be taken for external without a sign of
//! trouble, so the first lift of a named leg shows which sensor moves.

use endarc_protocol::words::{Side, TrialType};

use super::event::SpanMark;

/// The knee bends of one leg that are watched.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Exchange {
    watched: Option<Watched>,
}

#[derive(Debug, Clone, Copy)]
struct Watched {
    side: Side,
    named_deg: f64,
    other_deg: f64,
}

impl Exchange {
    /// A span begins; `turned_deg` is how far each leg's sensor has turned in all.
    pub(super) fn begin(&mut self, mark: &SpanMark, turned_deg: impl Fn(Side) -> f64) {
        if let (TrialType::AlignKnee, Some(side)) = (mark.trial_type, mark.side) {
            let (named_deg, other_deg) = (turned_deg(side), turned_deg(side.other()));
            self.watched = Some(Watched { side, named_deg, other_deg });
        }
    }

    /// A span ended; the leg that was named while the other leg's sensor moved, if that is so.
    pub(super) fn end(
        &mut self,
        mark: &SpanMark,
        turned_deg: impl Fn(Side) -> f64,
    ) -> Option<Side> {
        let watched = self
            .watched
            .take_if(|w| mark.trial_type == TrialType::AlignKnee && mark.side == Some(w.side))?;
        let named_deg = turned_deg(watched.side) - watched.named_deg;
        let other_deg = turned_deg(watched.side.other()) - watched.other_deg;
        (other_deg > BENT_DEG && named_deg < UNMOVED_SHARE * other_deg).then_some(watched.side)
    }
}

// A knee that was bent and straightened once turns its sensor by more.
const BENT_DEG: f64 = 90.0;
// The other leg may be nudged meanwhile.
const UNMOVED_SHARE: f64 = 0.3;

#[cfg(test)]
mod tests {
    use super::*;

    fn run(left_deg: f64, right_deg: f64) -> Option<Side> {
        let mark =
            SpanMark { trial_type: TrialType::AlignKnee, side: Some(Side::Right), time_s: 1.0 };
        let mut exchange = Exchange::default();
        exchange.begin(&mark, |_| 100.0);
        exchange.end(&mark, |side| 100.0 + if side == Side::Left { left_deg } else { right_deg })
    }

    #[test]
    fn the_other_sensor_moves_when_the_two_are_exchanged() {
        assert_eq!(run(260.0, 15.0), Some(Side::Right));
        assert_eq!(run(15.0, 260.0), None);
        assert_eq!(run(10.0, 5.0), None, "nobody moved");
        assert_eq!(run(200.0, 260.0), None, "both moved");
    }
}
