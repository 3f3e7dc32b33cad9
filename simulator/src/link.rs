//! The radio link: when a notification arrives, and whether it does.

use crate::scenario::Link;
use crate::seed::Chance;

/// Between two notifications that were held up together, s.
const APART_S: f64 = 0.000_2;

/// Which frames of one stream are lost. Asked frame by frame, in order.
#[derive(Debug, Clone)]
pub(crate) struct Losses {
    chance: Chance,
    probability: f64,
}

impl Losses {
    pub(crate) fn new(link: &Link, seed: u64, name: &str) -> Self {
        Self { chance: Chance::new(seed, &format!("loss/{name}")), probability: link.loss }
    }

    /// Whether the next frame is lost.
    pub(crate) fn next_is_lost(&mut self) -> bool {
        self.chance.unit() < self.probability
    }
}

/// When what one sensor sends arrives: a delay, a jitter, and now and then a stall after which
/// everything held up comes in a burst. The order is kept, as a link layer keeps it.
#[derive(Debug, Clone)]
pub(crate) struct Arrivals {
    link: Link,
    jitter: Chance,
    stalls: Chance,
    stall_s: f64,
    last_s: f64,
}

impl Arrivals {
    pub(crate) fn new(link: Link, seed: u64, name: &str) -> Self {
        let mut stalls = Chance::new(seed, &format!("stalls/{name}"));
        let stall_s = next_stall(&link, 0.0, &mut stalls);
        Self {
            link,
            jitter: Chance::new(seed, &format!("jitter/{name}")),
            stalls,
            stall_s,
            last_s: f64::NEG_INFINITY,
        }
    }

    /// When something sent at a visit time arrives, s of visit time.
    pub(crate) fn arrival_s(&mut self, sent_s: f64) -> f64 {
        let jitter_s = self.jitter.exponential(self.link.jitter_ms * 1e-3);
        let mut arrival_s = sent_s + self.link.delay_ms * 1e-3 + jitter_s;
        while arrival_s > self.stall_s + self.link.burst_s {
            let over_s = self.stall_s + self.link.burst_s;
            self.stall_s = next_stall(&self.link, over_s, &mut self.stalls);
        }
        if arrival_s > self.stall_s {
            arrival_s = self.stall_s + self.link.burst_s;
        }
        self.last_s = arrival_s.max(self.last_s + APART_S);
        self.last_s
    }
}

/// When the first stall after a time begins; never, where the link has none.
fn next_stall(link: &Link, after_s: f64, chance: &mut Chance) -> f64 {
    if link.burst_every_s > 0.0 {
        after_s + chance.exponential(link.burst_every_s)
    } else {
        f64::INFINITY
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arrivals(link: Link) -> Vec<(f64, f64)> {
        let mut arrivals = Arrivals::new(link, 5, "test");
        (0..20_000)
            .map(|n| f64::from(n) * 0.01)
            .map(|sent_s| (sent_s, arrivals.arrival_s(sent_s)))
            .collect()
    }

    #[test]
    fn a_quiet_link_only_delays() {
        let link = Link { jitter_ms: 0.0, ..Link::default() };
        for (sent_s, arrival_s) in arrivals(link) {
            assert!((arrival_s - sent_s - 0.012).abs() < 1e-9);
        }
    }

    #[test]
    fn jitter_is_never_negative_and_has_its_mean() {
        let all = arrivals(Link::default());
        assert!(all.iter().all(|(sent_s, arrival_s)| arrival_s - sent_s >= 0.012));
        assert!(all.windows(2).all(|pair| pair[0].1 < pair[1].1));
        let mean_s = all.iter().map(|(sent_s, at_s)| at_s - sent_s).sum::<f64>() / 20_000.0;
        // Keeping the order makes a few later than their own jitter.
        assert!((0.0155..0.0175).contains(&mean_s), "{mean_s}");
    }

    #[test]
    fn a_stall_holds_everything_up_and_releases_it_at_once() {
        let link = Link { jitter_ms: 0.0, burst_every_s: 10.0, burst_s: 0.3, ..Link::default() };
        let all = arrivals(link);
        let longest_s = all.windows(2).map(|pair| pair[1].1 - pair[0].1).fold(0.0, f64::max);
        assert!((0.29..0.32).contains(&longest_s), "{longest_s}");
        let held_up = all.iter().filter(|(sent_s, at_s)| at_s - sent_s > 0.02).count();
        // About 20 stalls of 30 frames in 200 s.
        assert!((200..1_200).contains(&held_up), "{held_up}");
    }

    #[test]
    fn losses_have_their_probability() {
        let link = Link { loss: 0.1, ..Link::default() };
        let mut losses = Losses::new(&link, 5, "test");
        let lost = (0..10_000).filter(|_| losses.next_is_lost()).count();
        assert!((900..1_100).contains(&lost), "{lost}");
    }
}
