//! Verdicts are right as often as they say, on a thousand seeded visits each.
//!
//! The bench `verdicts` prints the same for ten thousand and more. A share of a thousand is itself
//! uncertain: bounds are three standard errors wide.

use endarc_analysis::verdict::Looks;
use endarc_tests::repeated_visit::Hands;
use endarc_tests::verdict_rates::{
    ASSUMED_SHIFT_DEG, ASSUMED_SHIFT_MOVED_DEG, exceeds_at_some_look, looking, looking_with_study,
    rates,
};

const VISITS: u64 = 1000;

const UNMOVED: Hands = Hands { end_shift_deg: ASSUMED_SHIFT_DEG, ..Hands::USUAL };
const MOVED: Hands =
    Hands { end_shift_deg: ASSUMED_SHIFT_MOVED_DEG, strap_moved: true, ..Hands::USUAL };

/// Three standard errors of a share of [`VISITS`].
fn allowance(share: f64) -> f64 {
    3.0 * (share * (1.0 - share) / VISITS as f64).sqrt()
}

fn at_most(found: f64, share: f64, what: &str) {
    println!("{what}: {:.1} %, at most {:.0} %", 100.0 * found, 100.0 * share);
    assert!(found <= share + allowance(share), "{what}: {found}");
}

fn at_least(found: f64, share: f64, what: &str) {
    println!("{what}: {:.1} %, at least {:.0} %", 100.0 * found, 100.0 * share);
    assert!(found >= share - allowance(share), "{what}: {found}");
}

#[test]
fn a_hip_that_did_not_change_exceeds_in_no_more_than_one_of_twenty() {
    for end_shift_deg in [0.0, 1.0, ASSUMED_SHIFT_DEG] {
        let hands = Hands { end_shift_deg, ..UNMOVED };
        at_most(rates(&hands, VISITS).exceeds, 0.05, &format!("shift {end_shift_deg}°"));
    }
    at_most(rates(&MOVED, VISITS).exceeds, 0.05, "strap moved");
    let slipping = Hands { strap_shift_deg: 1.5, end_shift_deg: 1.0, ..UNMOVED };
    at_most(rates(&slipping, VISITS).exceeds, 0.05, "strap slips unseen");
    // Not because nothing ever exceeds: shifts far beyond what is assumed break it.
    let breaking = rates(&Hands { end_shift_deg: 4.0, ..UNMOVED }, VISITS).exceeds;
    assert!(breaking > 0.15, "{breaking}");
}

#[test]
fn a_change_of_twice_the_limit_is_seen_in_nine_of_ten() {
    let unmoved = Hands { gain_deg: 12.0, ..UNMOVED };
    at_least(rates(&unmoved, VISITS).exceeds, 0.9, "strap unmoved");
    let moved = Hands { gain_deg: 18.0, ..MOVED };
    at_least(rates(&moved, VISITS).exceeds, 0.9, "strap moved");
}

#[test]
fn intervals_cover_what_they_claim() {
    for hands in [UNMOVED, MOVED, Hands { gain_deg: 12.0, ..UNMOVED }] {
        let found = rates(&hands, VISITS);
        for share in [found.covers, found.repetitions_cover] {
            assert!((0.94 - 0.02..=0.96 + 0.02).contains(&share), "{found:?}");
        }
    }
}

#[test]
fn a_first_repetition_that_falls_short_is_no_gain() {
    for creep_deg in [2.0, 4.0, 6.0, 8.0, 12.0] {
        let hands = Hands { creep_deg, end_shift_deg: 1.0, ..UNMOVED };
        let found = rates(&hands, VISITS);
        at_most(found.exceeds, 0.05, &format!("short by {creep_deg}°"));
        // Hands that scatter by up to 3° hide much of a smaller one.
        if creep_deg >= 12.0 {
            at_least(found.warm_up, 0.9, "warm-up asked for");
        }
    }
}

#[test]
fn looking_after_every_repetition_keeps_the_rate() {
    for end_shift_deg in [0.0, ASSUMED_SHIFT_DEG] {
        let hands = Hands { end_shift_deg, ..UNMOVED };
        let spent = exceeds_at_some_look(&looking(Looks::AfterEach), &hands, VISITS);
        at_most(spent, 0.05, &format!("shift {end_shift_deg}°"));
    }
    // Where no floor hides it, looks that are not paid for do more harm than is allowed.
    let hands = Hands { end_shift_deg: 0.0, scatter_deg: (2.0, 2.0), ..UNMOVED };
    let claims = |looks| exceeds_at_some_look(&looking_with_study(looks, &hands), &hands, VISITS);
    let (unpaid, paid) = (claims(Looks::Once), claims(Looks::AfterEach));
    println!("own study: {:.1} % unpaid", 100.0 * unpaid);
    at_most(paid, 0.05, "own study");
    assert!(unpaid > 1.5 * paid, "{unpaid} and {paid}");
}
