//! One joint's course over time: minimum-jerk moves with pauses between them.

use super::jet::Jet;

/// One move; before it the track stands at `from`, after it at `to`.
#[derive(Debug, Clone, Copy)]
struct Move {
    start_s: f64,
    duration_s: f64,
    from: f64,
    to: f64,
}

/// A course made of moves in order of time.
#[derive(Debug, Clone)]
pub(crate) struct Track {
    at_first: f64,
    moves: Vec<Move>,
}

impl Track {
    /// A track that stands still at a value.
    pub(crate) const fn standing(at: f64) -> Self {
        Self { at_first: at, moves: Vec::new() }
    }

    /// Appends a move. One that begins before the last has ended begins when that ends: the limb is
    /// in one place at a time.
    pub(crate) fn move_to(&mut self, to: f64, start_s: f64, duration_s: f64) {
        let free_s =
            self.moves.last().map_or(f64::NEG_INFINITY, |last| last.start_s + last.duration_s);
        self.moves.push(Move { start_s: start_s.max(free_s), duration_s, from: self.end(), to });
    }

    /// Where the track stands after its last move.
    pub(crate) fn end(&self) -> f64 {
        self.moves.last().map_or(self.at_first, |last| last.to)
    }

    /// Value and derivatives at a time.
    pub(crate) fn at(&self, time_s: f64) -> Jet {
        let begun = self.moves.partition_point(|one| one.start_s <= time_s);
        let last_begun = begun.checked_sub(1).and_then(|place| self.moves.get(place));
        last_begun.map_or_else(
            || Jet::still(self.at_first),
            |one| Jet::minimum_jerk(one.from, one.to, one.duration_s, time_s - one.start_s),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_track_stands_before_between_and_after_its_moves() {
        let mut track = Track::standing(1.0);
        track.move_to(3.0, 1.0, 2.0);
        track.move_to(-1.0, 2.0, 1.0);
        assert_eq!(track.at(0.0), Jet::still(1.0));
        assert_eq!(track.at(2.0).value, 2.0);
        assert_eq!(track.at(3.5).value, 1.0, "the second move waits for the first");
        assert_eq!(track.at(7.0), Jet::still(-1.0));
        assert_eq!(track.end(), -1.0);
    }
}
