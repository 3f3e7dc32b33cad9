//! The legs lie flat for a minute between treatment and retest.

/// So long, s; common practice.
const FLAT_S: f64 = 60.0;

/// Since when both legs lie.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Flat {
    since_s: Option<f64>,
}

impl Flat {
    /// Takes whether a leg is in the hands; how long is left, s.
    pub(super) fn push(&mut self, raised: bool, now_s: f64) -> f64 {
        if raised {
            self.since_s = None;
            return FLAT_S;
        }
        let since_s = *self.since_s.get_or_insert(now_s);
        (FLAT_S - (now_s - since_s)).max(0.0)
    }

    /// How long is left, s.
    pub(super) fn left_s(&self, now_s: f64) -> f64 {
        self.since_s.map_or(FLAT_S, |since_s| (FLAT_S - (now_s - since_s)).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leg_that_is_lifted_begins_the_minute_anew() {
        let mut flat = Flat::default();
        assert_eq!(flat.push(false, 10.0), 60.0);
        assert_eq!(flat.push(false, 50.0), 20.0);
        assert_eq!(flat.push(true, 60.0), 60.0);
        assert_eq!(flat.push(false, 61.0), 60.0);
        assert_eq!(flat.push(false, 121.0), 0.0);
    }
}
