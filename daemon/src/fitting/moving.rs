//! Which of the sensors in sight is being turned by a hand.

use std::sync::Arc;

use endarc_protocol::profile::Profile;
use endarc_protocol::sample::Sample;
use endarc_protocol::words::SensorRole;

use crate::source::ble::{Seen, Wanted};
use crate::source::{Decoder, LinkNews, News, SourceEvent, SourceSensor, Trouble};

/// A sensor that turns faster is being turned by a hand, rad/s: 90 °/s (our choice).
const TURNED_RAD_S: f64 = std::f64::consts::FRAC_PI_2;
/// So many samples in a row: no knock.
const SAMPLES: u32 = 10;

/// A sensor in sight that may be the one that moves.
#[derive(Debug)]
struct Candidate {
    /// Stands for the sensor while it is told apart from the others; nothing is worn yet.
    slot: SensorRole,
    seen: Seen,
    turned: u32,
}

/// Sensors that are connected to see which one moves.
#[derive(Debug)]
pub(crate) struct Moving {
    candidates: Vec<Candidate>,
    decoder: Decoder,
}

/// What became of one of them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Heard {
    /// It sends.
    Streams(Seen),
    /// It cannot be connected.
    Fails(Seen, Trouble),
    /// It has just begun to be turned.
    Moves(Seen),
}

impl Moving {
    /// Of these sensors, as many as there are places to wear one; and what is wanted of the radio.
    pub(crate) fn new(
        sensors: impl IntoIterator<Item = (Seen, Arc<Profile>)>,
    ) -> (Self, Vec<Wanted>) {
        let (mut candidates, mut wanted, mut told) = (Vec::new(), Vec::new(), Vec::new());
        for (&slot, (seen, profile)) in SensorRole::ALL.iter().zip(sensors) {
            let address = seen.address.clone();
            told.push(SourceSensor {
                role: slot,
                address: address.clone(),
                name: seen.name.clone(),
                profile: Some(Arc::clone(&profile)),
            });
            wanted.push(Wanted { role: slot, address, profile });
            candidates.push(Candidate { slot, seen, turned: 0 });
        }
        (Self { candidates, decoder: Decoder::new(&told) }, wanted)
    }

    /// Takes an event of the source.
    pub(crate) fn hear(&mut self, event: &SourceEvent) -> Option<Heard> {
        let Self { candidates, decoder } = self;
        let at =
            |candidates: &[Candidate], slot| candidates.iter().position(|one| one.slot == slot);
        if let SourceEvent::Link { role, news: LinkNews::State(news), .. } = event {
            let seen = &at(candidates, *role).and_then(|at| candidates.get(at))?.seen;
            match news {
                News::Streaming => return Some(Heard::Streams(seen.clone())),
                News::Failed(trouble) | News::GivenUp(trouble) => {
                    return Some(Heard::Fails(seen.clone(), trouble.clone()));
                }
                _ => {}
            }
        }
        let mut moved = None;
        decoder.take(event, |role, sample| {
            let Some(one) = at(candidates, role).and_then(|at| candidates.get_mut(at)) else {
                return;
            };
            one.turned = if turns(&sample) { one.turned.saturating_add(1) } else { 0 };
            if one.turned == SAMPLES {
                moved = Some(Heard::Moves(one.seen.clone()));
            }
        });
        moved
    }
}

fn turns(sample: &Sample) -> bool {
    let [x, y, z] = sample.gyro_rad_s;
    (x * x + y * y + z * z).sqrt() > TURNED_RAD_S
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(role: SensorRole, n: u32, rad_s: f64) -> SourceEvent {
        let time_s = f64::from(n) * 0.01;
        let gyro_rad_s = [0.0, rad_s, 0.0];
        SourceEvent::Sample { role, sample: Sample { time_s, gyro_rad_s, ..Sample::default() } }
    }

    #[test]
    fn the_one_that_is_turned_is_named_once_and_a_knock_is_not() {
        let profile = Arc::new(Profile::reference());
        let seen = |address: &str| Seen { address: address.to_owned(), ..Seen::default() };
        let sensors = ["C0:01", "C0:02"].map(|address| (seen(address), Arc::clone(&profile)));
        let (mut moving, wanted) = Moving::new(sensors);
        let slots: Vec<SensorRole> = wanted.iter().map(|one| one.role).collect();
        let mut heard = Vec::new();
        for n in 0..60 {
            // The first is knocked for 50 ms, the second turned from 0.3 s on.
            let knock = if n < 5 { 4.0 } else { 0.0 };
            heard.extend(moving.hear(&turned(slots[0], n, knock)));
            let turn = if n < 30 { 0.1 } else { 2.0 };
            heard.extend(moving.hear(&turned(slots[1], n, turn)));
        }
        assert_eq!(heard, [Heard::Moves(seen("C0:02"))]);
    }
}
