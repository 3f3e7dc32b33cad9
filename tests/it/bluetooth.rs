//! The built program over a virtual peripheral on a private message bus, `btleplug` unmodified.
//!
//! Everything that BlueZ was seen to do to a user of `btleplug` is a test, here or in the daemon's own
//! tests against a scripted radio (`daemon/src/source/ble/tests.rs`, `…/life/tests/`):
//!
//! | event | test |
//! | --- | --- |
//! | link lost or ended; streams do not end with it | `disconnect` here; `a_lost_link_is_taken_up_again_with_the_same_stream` (H24) |
//! | silent device | `silence` here (H26); `a_silent_link_is_ended_and_taken_up_again` |
//! | device object removed | `removed` here; `life/tests` |
//! | adapter unplugged; missing at start | `unplugged`, `no adapter` here; `a_radio_that_is_not_ready_is_waited_for` |
//! | adapter off and on | `off and on` here; `life/tests/radio.rs` |
//! | bluetoothd killed and restarted: packets just stop | `bluetoothd` here |
//! | bus killed: streams silent for ever, calls hang | `bus` here; `a_dead_bus_is_noticed_by_the_silence_and_left` |
//! | connect timed out, BlueZ goes on trying and connects by itself | `away` here; `life/tests/turns.rs` (H27) |
//! | `disconnect()` takes seconds, or hangs | `stopping_takes_a_few_seconds_at_most` |
//! | two sensors of one name (H23) | the shank sensors of every visit here; they are bound by address |
//! | permission refused | `refused permission` here; `a_radio_that_is_not_ready_is_waited_for` |
//! | a queue of 16 that drops silently (other systems) | `what_the_back_end_drops_shows_as_a_gap`, `a_slow_pipeline_loses_nothing_silently` |
//! | services changed (H28) | `a_sensor_that_lacks_its_data_is_forgotten_and_tried_anew` |
//!
//! What is compared: the final and the live value of every repetition, with those of the same motion
//! through `--source sim:` on the virtual clock. Both receive the same counts. What differs is when they
//! arrive, so where the sensors' clocks are put on the host's, and that over the radio the sensors are
//! heard at rest before the visit, by which their offsets are learnt. So final values are held to two
//! stated standard uncertainties, live ones to four, and the difference between two final values in the
//! same direction, which an offset does not touch, to 0.2°.

mod demo;
mod faults;
mod load;
mod same;
mod visit;

use std::sync::{Mutex, MutexGuard, PoisonError};

/// One of these at a time: each needs the machine's processors in real time.
fn real_time() -> MutexGuard<'static, ()> {
    static TURN: Mutex<()> = Mutex::new(());
    TURN.lock().unwrap_or_else(PoisonError::into_inner)
}
