//! Leading through the six rests while a sensor sends.

use endarc_analysis::calibration::{Face, Progress};
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use crate::calibrating::Sides;
use crate::clock::Monotonic;
use crate::commands::run::{runtime, said, source};
use crate::commands::stdio::note;
use crate::error::Failure;
use crate::pipeline::queues;
use crate::signals;
use crate::source::{Decoder, Pace, Source, SourceSensor, SourceSpec};

/// What was found out: the sensor's address, its rests, and the name it gives itself.
type Led = (String, Sides, Option<String>);

/// Plays a source until the sensor has rested on all six sides, or nothing comes any more.
pub(super) fn lead(spec: &SourceSpec, called: &str, pace: Pace) -> Result<Led, Failure> {
    let source = source(spec, None, None)?;
    let sensor = find(&source.info().sensors, called)?.clone();
    note(&format!("{}.", Sides::HOW));
    let rests = runtime()?.block_on(follow(source, &sensor, pace))?;
    Ok((sensor.address, rests, sensor.name))
}

/// The sensor that is called so by address, name or place.
fn find<'a>(sensors: &'a [SourceSensor], called: &str) -> Result<&'a SourceSensor, Failure> {
    let is_meant = |one: &&SourceSensor| {
        one.address == called || one.name.as_deref() == Some(called) || one.role.as_str() == called
    };
    sensors.iter().find(is_meant).ok_or_else(|| {
        let there: Vec<&str> = sensors.iter().map(|one| one.address.as_str()).collect();
        Failure::Said(format!("{called} does not send; those that do: {}", there.join(", ")))
    })
}

async fn follow(source: Source, sensor: &SourceSensor, pace: Pace) -> Result<Sides, Failure> {
    let stop = CancellationToken::new();
    signals::cancel_when_asked(stop.clone()).map_err(said)?;
    let mut decoder = Decoder::new(&source.info().sensors);
    let (to_here, mut events) = mpsc::channel(queues::SOURCE);
    let playing = tokio::spawn(source.play(pace, Monotonic::start(), to_here, stop.clone()));
    let mut rests = Sides::default();
    let mut told = Told::default();
    while let Some(stamped) = events.recv().await {
        decoder.take(&stamped.event, |role, sample| {
            if role == sensor.role {
                rests.push(&sample);
            }
        });
        let progress = rests.progress();
        told.tell(&progress);
        if progress.is_complete() {
            break;
        }
    }
    stop.cancel();
    drop(events);
    playing.await.map_err(said)?;
    Ok(rests)
}

/// What was told last, so that only what changes is told.
#[derive(Default)]
struct Told {
    on_top: Option<Face>,
    still: bool,
    done: usize,
}

impl Told {
    fn tell(&mut self, progress: &Progress) {
        let done: Vec<Face> = Face::ALL.into_iter().filter(|&face| progress.has(face)).collect();
        if (progress.on_top, progress.still, done.len()) == (self.on_top, self.still, self.done) {
            return;
        }
        *self = Self { on_top: progress.on_top, still: progress.still, done: done.len() };
        let (prompt, left) = (Sides::prompt(progress), Sides::left(progress));
        note(&format!("{prompt}  ({} of 6; {left})", done.len()));
    }
}
