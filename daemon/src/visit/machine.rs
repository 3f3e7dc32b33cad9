//! The state machine itself: which event does what.

mod guided;
mod showing;

use endarc_analysis::limb::LimbEvent;
use endarc_protocol::words::{SensorRole, Side};

use super::counsel::looks;
use super::course::Course;
use super::effect::{Announcement, Effect, Record};
use super::event::{Loss, LossCause, Marks, Opening, RepetitionKey, SpanMark, VisitEvent};
use super::exchange::Exchange;
use super::legs::Leg;
use super::notebook::Notebook;
use super::plan::Plan;
use super::sensors::{Sensors, Silence};
use super::spans::Spans;
use super::strings;
use crate::live::LiveVisit;

/// How far the visit has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Samples come.
    Recording,
    /// The source has ended, final values do not exist yet.
    Closing,
    /// Closed in the store.
    Closed,
}

/// One visit: fed what happened, it says what is to be done.
#[derive(Debug, Clone)]
pub struct Visit {
    identity: LiveVisit,
    pub(super) plan: Option<Plan>,
    pub(super) course: Option<Course>,
    pub(super) spans: Spans,
    exchange: Exchange,
    legs: [Leg; 2],
    sensors: Sensors,
    pub(super) notebook: Notebook,
    saving: bool,
    /// What is wrong with the radio.
    radio: Option<String>,
    stage: Stage,
    measured: bool,
    /// What was said when the sensors were seen to be exchanged, until that is settled.
    offer: Option<String>,
}

impl Visit {
    /// A visit that has just been opened in the store.
    #[must_use]
    pub fn start(opening: &Opening) -> Self {
        let sides: Vec<Side> = opening.sensors.iter().filter_map(|role| role.side()).collect();
        Self {
            identity: LiveVisit {
                id: opening.visit_id.clone(),
                person: opening.person.clone(),
                test: opening.test.to_string(),
            },
            plan: (opening.marks == Marks::Therapist).then(|| Plan::new(&sides)),
            course: (opening.marks == Marks::Guide)
                .then(|| Course::new(opening.test, &sides, &opening.visit_id)),
            spans: Spans::default(),
            exchange: Exchange::default(),
            legs: [Leg::new(Side::Left), Leg::new(Side::Right)],
            sensors: Sensors::new(&opening.sensors, opening.start_s),
            notebook: Notebook::new(opening.test, looks(opening.marks)),
            saving: true,
            radio: None,
            stage: Stage::Recording,
            measured: false,
            offer: None,
        }
    }

    /// Takes what happened, at `now_s` of visit time, and says what is to be done, in this order.
    #[must_use]
    pub fn handle(&mut self, event: VisitEvent, now_s: f64) -> Vec<Effect> {
        let mut effects = self.watch_silence(now_s);
        self.lead(&event, now_s, &mut effects);
        match event {
            VisitEvent::SpanBegan(mark) => self.begin(mark, &mut effects),
            VisitEvent::SpanEnded(mark) => self.end(&mark, &mut effects),
            VisitEvent::Limb { side, event } => self.limb(side, event, now_s, &mut effects),
            VisitEvent::Received { role, samples } => {
                let line = match self.sensors.received(role, samples, now_s) {
                    None => None,
                    Some(Silence::SinceStart) => Some(strings::speaks_at_last(role)),
                    Some(Silence::SinceSample) => Some(strings::speaks_again(role)),
                };
                effects.extend(line.map(|line| announce(now_s, line)));
            }
            VisitEvent::Lost(loss) => self.lost(loss, now_s, &mut effects),
            VisitEvent::Link { role, link } => {
                if self.sensors.link(role, &link) {
                    let line = strings::link(role, &link);
                    effects.extend(line.map(|line| announce(now_s, line)));
                }
            }
            VisitEvent::Battery { role, percent } => {
                let low = self.sensors.battery(role, percent);
                effects.extend(low.map(|low| announce(now_s, strings::battery_low(role, low))));
            }
            VisitEvent::Radio(trouble) => {
                // That all is well from the start is no news.
                if trouble.is_some() || self.radio.is_some() {
                    effects.push(announce(now_s, strings::radio(trouble.as_deref())));
                }
                self.radio = trouble;
            }
            VisitEvent::Command(command) => self.command(command, now_s, &mut effects),
            VisitEvent::Kept { key, id } => {
                if let Some(repetition) = self.notebook.kept(key, id) {
                    effects.push(announce(now_s, strings::kept(&repetition)));
                    effects.extend(self.look(&repetition, now_s));
                }
            }
            VisitEvent::NotKept { key, reason } => {
                self.notebook.strike_out(key);
                effects.push(announce(now_s, strings::not_kept(&reason)));
            }
            VisitEvent::SavingAgain => {
                if !std::mem::replace(&mut self.saving, true) {
                    effects.push(announce(now_s, strings::SAVING_AGAIN.to_owned()));
                }
            }
            VisitEvent::NotSaving(reason) => {
                if std::mem::replace(&mut self.saving, false) {
                    effects.push(announce(now_s, strings::not_saving(&reason)));
                }
            }
            // The guide has heard of these already.
            VisitEvent::Tick | VisitEvent::Known(_) | VisitEvent::TakeUp(_) => {}
            VisitEvent::SourceEnded => self.source_ended(now_s, &mut effects),
            VisitEvent::Finished(finished) => {
                self.stage = Stage::Closed;
                if let Some(repetitions) = finished.repetitions {
                    self.notebook.finish(repetitions);
                }
                effects.extend(finished.remarks.into_iter().map(|line| announce(now_s, line)));
            }
        }
        effects
    }

    /// Whether sensors may be laid about and known anew: only before the first span begins, for what
    /// is measured afterwards rests on them.
    ///
    /// # Errors
    /// A sentence that says why not.
    pub const fn may_calibrate(&self) -> Result<(), &'static str> {
        match (self.stage, self.measured) {
            (Stage::Recording, false) => Ok(()),
            (Stage::Recording, true) => Err(strings::CALIBRATE_BEFORE),
            (Stage::Closing | Stage::Closed, _) => Err(strings::NOTHING_RECORDED),
        }
    }

    fn legs_of<'a>(&'a self, span: &'a SpanMark) -> impl Iterator<Item = &'a Leg> {
        self.legs.iter().filter(|leg| span.concerns(leg.side()) && self.is_worn(leg.side()))
    }

    fn is_worn(&self, side: Side) -> bool {
        self.sensors.is_worn(SensorRole::shank(side))
    }

    pub(super) fn worn_sides(&self, span: &SpanMark) -> Vec<Side> {
        let concerned = |side: &Side| span.concerns(*side) && self.is_worn(*side);
        Side::ALL.iter().copied().filter(concerned).collect()
    }

    pub(super) fn begin(&mut self, mark: SpanMark, effects: &mut Vec<Effect>) {
        let Some(ended) = self.spans.begin(mark) else {
            return;
        };
        self.exchange.begin(&mark, turned_deg(&self.legs));
        self.measured = true;
        for span in ended {
            self.ended(&SpanMark { time_s: mark.time_s, ..span }, effects);
        }
        let begin =
            |side| Effect::BeginLimb { side, trial_type: mark.trial_type, time_s: mark.time_s };
        effects.push(announce(mark.time_s, strings::span_began(&mark)));
        effects.push(Effect::Store(Record::SpanBegan(mark)));
        effects.extend(self.worn_sides(&mark).into_iter().map(begin));
    }

    fn end(&mut self, mark: &SpanMark, effects: &mut Vec<Effect>) {
        if self.spans.end(mark).is_some() {
            self.ended(mark, effects);
        }
    }

    pub(super) fn ended(&mut self, mark: &SpanMark, effects: &mut Vec<Effect>) {
        if let Some(side) = self.exchange.end(mark, turned_deg(&self.legs)) {
            let warning = strings::exchanged(side);
            effects.push(announce(mark.time_s, warning.clone()));
            self.leg(side).refused(warning.clone());
            self.offer = self.may_exchange().is_ok().then_some(warning);
        }
        let end = |side| Effect::EndLimb { side, time_s: mark.time_s };
        effects.extend(self.worn_sides(mark).into_iter().map(end));
        effects.push(Effect::Store(Record::SpanEnded(*mark)));
    }

    fn limb(&mut self, side: Side, event: LimbEvent, now_s: f64, effects: &mut Vec<Effect>) {
        match event {
            LimbEvent::Angle(angle) => self.leg(side).angle(angle),
            LimbEvent::Aligned(report) => {
                self.leg(side).aligned(report.kind);
                effects.push(announce(now_s, strings::aligned(side, &report)));
                effects.push(Effect::Store(Record::Alignment { side, time_s: now_s, report }));
            }
            LimbEvent::AlignmentRefused { time_s, reason } => {
                effects.push(announce(time_s, strings::alignment_refused(side, &reason)));
                self.leg(side).refused(reason);
            }
            LimbEvent::StrapMoved(moved) => {
                effects.push(announce(moved.noticed_s, strings::strap_moved(side, &moved)));
            }
            LimbEvent::RestMoved(moved) => {
                effects.push(announce(moved.noticed_s, strings::rest_moved(side, &moved)));
            }
            LimbEvent::Raised { time_s } => effects.push(announce(time_s, strings::raised(side))),
            LimbEvent::LaidDown { time_s } => {
                effects.push(announce(time_s, strings::laid_down(side)));
            }
            LimbEvent::Captured { number, repetition } => {
                let key = RepetitionKey { side, number };
                let direction = repetition.direction;
                self.notebook.captured(key, repetition.clone());
                self.offer = None;
                effects.push(Effect::Store(Record::Repetition { key, repetition }));
                self.leave_out_warm_up(key, direction, now_s, effects);
            }
            LimbEvent::Refined { number, repetition } => {
                let key = RepetitionKey { side, number };
                if self.notebook.refined(key, repetition.clone()) {
                    effects.push(Effect::Store(Record::Refined { key, repetition }));
                }
            }
        }
    }

    /// Whether the sensors of the two shanks may still change places: as long as no value rests on
    /// which leg they are on.
    ///
    /// # Errors
    /// A sentence that says why not.
    pub fn may_exchange(&self) -> Result<(), &'static str> {
        let worn = |side: &Side| self.is_worn(*side);
        match self.stage {
            Stage::Closing | Stage::Closed => Err(strings::NOTHING_RECORDED),
            Stage::Recording if !Side::ALL.iter().all(worn) => Err(strings::ONE_SHANK),
            Stage::Recording if !self.notebook.is_empty() => Err(strings::EXCHANGE_BEFORE),
            Stage::Recording => Ok(()),
        }
    }

    /// The sensors of the two shanks change places: nothing is known of the legs any more.
    pub fn exchange(&mut self, now_s: f64) -> Announcement {
        self.sensors.exchange();
        self.legs = [Leg::new(Side::Left), Leg::new(Side::Right)];
        self.exchange = Exchange::default();
        self.offer = None;
        Announcement { time_s: now_s, line: strings::EXCHANGED.to_owned() }
    }

    fn leg(&mut self, side: Side) -> &mut Leg {
        let [left, right] = &mut self.legs;
        match side {
            Side::Left => left,
            Side::Right => right,
        }
    }

    fn lost(&mut self, loss: Loss, now_s: f64, effects: &mut Vec<Effect>) {
        self.sensors.lost(loss.role, loss.lost);
        if loss.cause != LossCause::SamplesMissing {
            effects.push(announce(now_s, strings::lost(&loss)));
        }
        effects.push(Effect::Store(Record::Loss(loss)));
    }

    fn watch_silence(&mut self, now_s: f64) -> Vec<Effect> {
        if self.stage != Stage::Recording {
            return Vec::new();
        }
        let fallen = self.sensors.fallen_silent(now_s);
        fallen.into_iter().map(|role| announce(now_s, strings::fallen_silent(role))).collect()
    }

    fn source_ended(&mut self, now_s: f64, effects: &mut Vec<Effect>) {
        if self.stage != Stage::Recording {
            return;
        }
        for span in self.spans.end_all() {
            self.ended(&SpanMark { time_s: now_s, ..span }, effects);
        }
        let silent = self.sensors.silent().map(|(role, from_s)| Loss {
            role,
            from_s,
            to_s: now_s,
            lost: 0,
            cause: LossCause::LinkLost,
        });
        effects.extend(silent.map(|loss| Effect::Store(Record::Loss(loss))));
        effects.push(announce(now_s, strings::SOURCE_ENDED.to_owned()));
        self.stage = Stage::Closing;
    }
}

/// How far each leg's sensor has turned in all, degrees.
fn turned_deg(legs: &[Leg; 2]) -> impl Fn(Side) -> f64 {
    let turned = legs.each_ref().map(|leg| (leg.side(), leg.turned_deg()));
    move |side| turned.iter().find(|(of, _)| *of == side).map_or(0.0, |(_, turned)| *turned)
}

pub(super) fn announce(time_s: f64, line: String) -> Effect {
    Effect::Announce(Announcement { time_s, line })
}
