//! How often verdicts are right, on simulated visits.
//!
//! `cargo bench -p endarc-tests --bench verdicts [-- VISITS]` prints the calibration: false changes against
//! the size of the shifts between phases, power, coverage, loosening, and looks after every
//! repetition. `-- --signals [VISITS]` prints the instrument's errors within and between phases on
//! visits from raw signals, which the calibration is built on.

#![expect(clippy::expect_used, reason = "a scenario that does not parse is a fault of this bench")]

#[path = "../end_range/seeded_visit.rs"]
mod seeded_visit;
mod signals;

use endarc_analysis::verdict::{Conditions, Looks};
use endarc_tests::repeated_visit::Hands;
use endarc_tests::verdict_rates::{
    ASSUMED_SHIFT_DEG, ASSUMED_SHIFT_MOVED_DEG, Rates, exceeds_at_some_look, looking,
    looking_with_study, rates,
};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let given = arguments.iter().find_map(|argument| argument.parse().ok());
    if arguments.iter().any(|argument| argument == "--signals") {
        return signals::print(given.unwrap_or(300));
    }
    let visits = given.unwrap_or(10_000);
    println!("{visits} visits for each line; scatter 0.5° to 3°, 3 to 6 repetitions\n");
    false_changes(visits);
    power(visits);
    coverage(visits);
    loosening(visits);
    looks(visits);
}

const UNMOVED: Hands = Hands { end_shift_deg: ASSUMED_SHIFT_DEG, ..Hands::USUAL };
const MOVED: Hands =
    Hands { end_shift_deg: ASSUMED_SHIFT_MOVED_DEG, strap_moved: true, ..Hands::USUAL };

fn false_changes(visits: u64) {
    println!("No true change: share that exceeds, by the shift of a whole phase (one SD)");
    println!("{:>8} {:>12} {:>12} {:>14}", "shift", "unmoved", "moved", "any of three");
    for end_shift_deg in
        [0.0, 0.5, 1.0, 1.5, ASSUMED_SHIFT_DEG, 2.0, 2.5, 3.0, ASSUMED_SHIFT_MOVED_DEG, 3.5, 4.0]
    {
        let unmoved = rates(&Hands { end_shift_deg, ..UNMOVED }, visits);
        let moved = rates(&Hands { end_shift_deg, ..MOVED }, visits);
        println!(
            "{end_shift_deg:>7.2}° {:>12} {:>12} {:>14}",
            percent(unmoved.exceeds),
            percent(moved.exceeds),
            percent(unmoved.any_exceeds),
        );
    }
    println!("\nThe same by a strap that slips unseen (one SD), ends shifted by 1°");
    for strap_shift_deg in [0.5, 1.0, 1.5, 2.0, 3.0] {
        let hands = Hands { strap_shift_deg, end_shift_deg: 1.0, ..UNMOVED };
        println!("{strap_shift_deg:>7.2}° {:>12}", percent(rates(&hands, visits).exceeds));
    }
    println!("\nThe same at the assumed shift, by scatter of repetitions and their number");
    println!("{:>8} {:>12} {:>12} {:>12}", "scatter", "3", "6", "mean limit 3");
    for scatter in [0.5, 1.0, 1.5, 2.0, 3.0, 5.0] {
        let of =
            |counts| rates(&Hands { scatter_deg: (scatter, scatter), counts, ..UNMOVED }, visits);
        let (three, six) = (of(&[3]), of(&[6]));
        println!(
            "{scatter:>7.1}° {:>12} {:>12} {:>11.1}°",
            percent(three.exceeds),
            percent(six.exceeds),
            three.limit_deg
        );
    }
}

fn power(visits: u64) {
    println!("\nTrue change: share that exceeds at the assumed shift");
    println!("{:>8} {:>12} {:>12}", "of limit", "unmoved, 6°", "moved, 9°");
    for times in [0.5, 1.0, 1.5, 2.0, 2.5] {
        let of =
            |hands: Hands, floor: f64| rates(&Hands { gain_deg: times * floor, ..hands }, visits);
        let (unmoved, moved) = (of(UNMOVED, 6.0), of(MOVED, 9.0));
        println!("{times:>8.1} {:>12} {:>12}", percent(unmoved.exceeds), percent(moved.exceeds));
    }
}

fn coverage(visits: u64) {
    println!("\nCoverage of the 95 % intervals at the assumed shift, by scatter of repetitions");
    println!("{:>8} {:>22} {:>22}", "scatter", "of the true change", "of the change taken");
    let line = |name: String, rates: &Rates| {
        println!(
            "{name:>8} {:>22} {:>22}",
            percent(rates.covers),
            percent(rates.repetitions_cover)
        );
    };
    for scatter in [0.5, 1.0, 2.0, 3.0, 5.0] {
        line(
            format!("{scatter:.1}°"),
            &rates(&Hands { scatter_deg: (scatter, scatter), ..UNMOVED }, visits),
        );
    }
    line("usual".to_owned(), &rates(&UNMOVED, visits));
    line("moved".to_owned(), &rates(&MOVED, visits));
    line("gain 12°".to_owned(), &rates(&Hands { gain_deg: 12.0, ..UNMOVED }, visits));
}

fn loosening(visits: u64) {
    println!("\nNo true change, the first baseline repetition falls short; ends shifted by 1°");
    println!(
        "{:>8} {:>12} {:>18} {:>18}",
        "short by", "exceeds", "warm-up asked for", "gain of 12° seen"
    );
    for creep_deg in [0.0, 2.0, 4.0, 6.0, 8.0, 12.0] {
        let hands = Hands { creep_deg, end_shift_deg: 1.0, ..UNMOVED };
        let (none, gain) =
            (rates(&hands, visits), rates(&Hands { gain_deg: 12.0, ..hands }, visits));
        println!(
            "{creep_deg:>7.0}° {:>12} {:>18} {:>18}",
            percent(none.exceeds),
            percent(none.warm_up),
            percent(gain.exceeds)
        );
    }
}

fn looks(visits: u64) {
    println!("\nNo true change, looked at after each of the retest repetitions 3 to 6");
    let line = |name: &str, hands: &Hands, of: &dyn Fn(Looks) -> Conditions| {
        let claims =
            |looks, hands: &Hands| percent(exceeds_at_some_look(&of(looks), hands, visits));
        println!(
            "{name:>18} {:>22} {:>18} {:>18}",
            claims(Looks::Once, hands),
            claims(Looks::AfterEach, hands),
            claims(Looks::AfterEach, &Hands { gain_deg: 12.0, ..*hands }),
        );
    };
    println!(
        "{:>18} {:>22} {:>18} {:>18}",
        "shift", "as if looked at once", "with spent error", "gain of 12° seen"
    );
    for end_shift_deg in [0.0, 1.0, ASSUMED_SHIFT_DEG, 2.5, 3.0] {
        let hands = Hands { end_shift_deg, ..UNMOVED };
        line(&format!("{end_shift_deg:.2}°"), &hands, &looking);
    }
    for end_shift_deg in [0.0, 1.0] {
        let hands = Hands { end_shift_deg, scatter_deg: (2.0, 2.0), ..UNMOVED };
        let name = format!("{end_shift_deg:.2}°, own study");
        line(&name, &hands, &|looks| looking_with_study(looks, &hands));
    }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}
