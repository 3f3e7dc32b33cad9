//! Contraction within a movement: the limb stands at a first barrier, gives while the person pushes
//! against the hand, and then goes further, to a second barrier. One cycle, not two repetitions.

use super::Point;

/// Where a contraction–lengthening cycle began and where it ended. Angles along the direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Barriers {
    /// Where the limb stood before it gave, degrees.
    pub start_deg: f64,
    /// Where it stood in the end, degrees: the end range.
    pub end_deg: f64,
    /// When it began to give, s.
    pub start_s: f64,
    /// When it arrived at its end, s.
    pub end_s: f64,
}

/// The barriers of a movement whose smoothed angle along its direction is `level_deg` (one per
/// point) and that arrives at its end, `end_deg`, at the point `arrives`. Of several contractions the
/// last one counts. `None` where the limb did not stay back by 1.5° for at least 2 s on the way.
pub(super) fn barriers(
    points: &[Point],
    level_deg: &[f64],
    arrives: usize,
    end_deg: f64,
) -> Option<Barriers> {
    let end_s = points.get(arrives)?.time_s;
    let (mut stood, mut below_since_s) = (0, None);
    let (mut found, mut given) = (None, false);
    for at in 1..=arrives {
        let time_s = points[at].time_s;
        if level_deg[at] >= level_deg[stood] {
            if given {
                found = Some(stood);
            }
            (stood, given) = (at, false);
        }
        if level_deg[at] > level_deg[stood] - LEAST_GIVE_DEG {
            below_since_s = None;
        } else {
            let since_s = *below_since_s.get_or_insert(time_s);
            given = given || time_s - since_s > LEAST_CONTRACTION_S;
        }
    }
    let stood = found?;
    let near = |at: &usize| level_deg[*at] > level_deg[stood] - BAND_DEG;
    let first = (0..=stood).rev().take_while(near).last()?;
    let last = (stood..=arrives).take_while(near).last()?;
    let start_deg = level_deg[first..=last].iter().sum::<f64>() / (last - first + 1) as f64;
    Some(Barriers { start_deg, end_deg, start_s: points[last].time_s, end_s })
}

// A sag stays below this; a limb gives 2–5° (common practice).
const LEAST_GIVE_DEG: f64 = 1.5;
// A dip on the way or a swing is shorter; a contraction takes some 10 s (common practice).
const LEAST_CONTRACTION_S: f64 = 2.0;
const BAND_DEG: f64 = 0.5;
