//! Everything between a source's event and what is to be stored, said and shown, without a task or
//! a queue: events in, [`Output`] out.
//!
//! Decode and clock per sensor, order of time over all sensors, one state machine per leg, the
//! visit. The same events give the same outputs.

mod effects;
mod fed;
mod links;
mod orders;
mod status;

use endarc_analysis::levelling::Levelling;
use endarc_analysis::limb::{Limb, LimbConfig, LimbEvent};
use endarc_analysis::orientation::BiasState;
use endarc_protocol::sample::Sample;
use endarc_protocol::stream::Counters;
use endarc_protocol::words::{SensorRole, Side, TestKind};

use fed::{Fed, History};

use super::intake::{Intake, Taken};
use super::merge::{Item, Merge, Timed};
use crate::calibrating::{Desk, Feed, Found};
use crate::corrections::Corrections;
use crate::levelled::LevelledTable;
use crate::live::{LiveSensor, LiveState};
use crate::source::{Identity, SourceEvent, SourceInfo};
use crate::store::VisitId;
use crate::store::records::VisitRecord;
use crate::store::rows::RawChunk;
use crate::visit::{
    Announcement, Command, Marks, Opening, Record, Visit, VisitEvent, exchanged, strings,
};

/// What is to be done about an event, in this order.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Output {
    /// Store raw samples.
    Chunk(RawChunk),
    /// Store a record.
    Record(Record),
    /// Store what was found of a sensor or table.
    Found(Found),
    /// Store what is known of a gyroscope's bias at a time, s of visit time.
    Bias(SensorRole, f64, BiasState),
    /// Store which table the visit is measured on.
    UseTable(Option<String>),
    /// Store that the sensors of the two shanks have changed places.
    Exchanged,
    /// Store what a sensor says of itself.
    Identity {
        /// The sensor's address.
        address: String,
        /// What it says.
        identity: Box<Identity>,
    },
    /// Tell it.
    Announce(Announcement),
    /// End the source.
    EndSource,
}

/// What is known of a visit's sensors and table before it begins.
#[derive(Debug, Clone, Default)]
pub(super) struct Given {
    corrections: Corrections,
    levelling: Option<Levelling>,
    table: Option<LevelledTable>,
}

impl Given {
    /// What is stored with the visit.
    pub(super) fn of(visit: &VisitRecord) -> Self {
        Self {
            corrections: Corrections::of(visit),
            levelling: visit.levelling(),
            table: visit.table.as_ref().map(LevelledTable::from),
        }
    }
}

/// The whole way of a visit's data, as one state machine.
#[derive(Debug)]
pub(super) struct Core {
    intakes: Vec<Intake>,
    merge: Merge,
    limbs: Vec<(Side, Limb)>,
    visit: Visit,
    /// The newest visit time that was seen.
    now_s: f64,
    outputs: Vec<Output>,
    /// Empty between samples; kept for its capacity.
    limb_events: Vec<LimbEvent>,
    /// What the legs are made of, once more whenever more is known.
    test: TestKind,
    given: Given,
    desk: Desk,
    history: History,
    /// Whether the sensors of the two shanks have changed places.
    exchanged: bool,
    /// Whether the visit is led by its guide.
    guided: bool,
    /// Each sensor's address, by where the source says that it is worn.
    addresses: Vec<(SensorRole, String)>,
    /// When what is being taken in arrived, s on the daemon's clock.
    arrived_s: f64,
    /// When those samples arrived that were fed on since this was last asked for.
    fed: Vec<f64>,
}

impl Core {
    /// The way of a visit that has just been opened in the store.
    pub(super) fn new(info: &SourceInfo, visit_id: VisitId, person: &str, given: Given) -> Self {
        let roles = info.roles();
        let opening = Opening {
            visit_id: visit_id.to_string(),
            person: person.to_owned(),
            test: info.test,
            start_s: info.start_s,
            sensors: roles.clone(),
            marks: info.marks,
        };
        let mut core = Self {
            intakes: info.sensors.iter().map(|sensor| Intake::new(visit_id, sensor)).collect(),
            merge: Merge::new(&roles, info.start_s),
            limbs: Vec::new(),
            visit: Visit::start(&opening),
            now_s: info.start_s,
            outputs: Vec::new(),
            limb_events: Vec::new(),
            test: info.test,
            given,
            desk: Desk::default(),
            history: History::new(),
            exchanged: false,
            guided: info.marks == Marks::Guide,
            addresses: info.sensors.iter().map(|one| (one.role, one.address.clone())).collect(),
            arrived_s: 0.0,
            fed: Vec::new(),
        };
        core.make_limbs();
        core
    }

    /// Legs of which nothing is known yet.
    fn make_limbs(&mut self) {
        let roles: Vec<SensorRole> = self.intakes.iter().map(Intake::role).collect();
        let pelvis = roles.contains(&SensorRole::Pelvis);
        let limb = |side| {
            let (test, levelling) = (self.test, self.given.levelling);
            let offsets = self.given.corrections.offsets(side);
            Limb::new(LimbConfig { side, test, pelvis, levelling, offsets })
        };
        self.limbs = roles.iter().filter_map(|role| role.side()).map(|s| (s, limb(s))).collect();
    }

    /// Takes an event of the source in, which came at `arrived_s` on the daemon's clock: bytes become
    /// samples. What comes of them is told by [`Self::go_on`].
    pub(super) fn take_in(&mut self, event: SourceEvent, arrived_s: f64) {
        self.arrived_s = arrived_s;
        self.now_s = self.now_s.max(event.time_s());
        match event {
            SourceEvent::Notification { arrival_s, role, characteristic, bytes } => {
                self.receive(role, |intake| intake.notification(arrival_s, characteristic, &bytes));
            }
            SourceEvent::Sample { role, sample } => {
                self.receive(role, |intake| intake.sample(sample));
            }
            SourceEvent::Link { time_s, role, news } => self.link(time_s, role, news),
            SourceEvent::Radio { trouble, .. } => {
                self.visit(VisitEvent::Radio(trouble.map(|trouble| trouble.to_string())));
            }
            // In a guided visit the source's own marks do not count.
            SourceEvent::SpanBegan(_) | SourceEvent::SpanEnded(_) if self.guided => {}
            SourceEvent::SpanBegan(mark) => self.put(mark.time_s, Item::SpanBegan(mark)),
            SourceEvent::SpanEnded(mark) => self.put(mark.time_s, Item::SpanEnded(mark)),
            SourceEvent::Ended { .. } => self.end(),
        }
    }

    /// Goes on with all that is complete by now.
    pub(super) fn go_on(&mut self) -> Vec<Output> {
        self.advance();
        std::mem::take(&mut self.outputs)
    }

    /// Takes a command of the therapist. Nothing begins while a sensor is being laid about.
    pub(super) fn command(&mut self, command: Command) -> Vec<Output> {
        let always = matches!(command, Command::Undo | Command::PainStop);
        if self.desk.is_busy() && !always {
            self.say(strings::CALIBRATION_FIRST);
            return std::mem::take(&mut self.outputs);
        }
        self.put(self.now_s, Item::Command(command));
        self.advance();
        std::mem::take(&mut self.outputs)
    }

    /// Takes what the rest of the program has to say to the visit.
    pub(super) fn tell(&mut self, event: VisitEvent) -> Vec<Output> {
        self.visit(event);
        std::mem::take(&mut self.outputs)
    }

    /// Lets time go by while nothing comes.
    pub(super) fn tick(&mut self, now_s: f64) -> Vec<Output> {
        self.now_s = self.now_s.max(now_s);
        self.visit(VisitEvent::Tick);
        self.advance();
        std::mem::take(&mut self.outputs)
    }

    /// The newest visit time that was seen, s.
    pub(super) const fn now_s(&self) -> f64 {
        self.now_s
    }

    /// What a viewer is shown now.
    pub(super) fn state(&self) -> LiveState {
        let mut state = self.visit.state(self.now_s);
        state.calibration = self.desk.live();
        state.table.clone_from(&self.given.table);
        for sensor in &mut state.sensors {
            let known = self.given.corrections.known(sensor.role);
            sensor.calibrated_at = known.map(|(_, at)| at.to_string());
            if let Some(intake) = self.intakes.iter().find(|one| one.role() == sensor.role) {
                count(sensor, &intake.counters());
            }
        }
        state
    }

    /// `role` is where the source says that the sensor is worn.
    fn receive(&mut self, role: SensorRole, take: impl FnOnce(&mut Intake) -> Taken) {
        let role = if self.exchanged { exchanged(role) } else { role };
        let Some(intake) = self.intakes.iter_mut().find(|intake| intake.role() == role) else {
            return;
        };
        let taken = take(intake);
        self.taken(role, taken);
    }

    fn taken(&mut self, role: SensorRole, taken: Taken) {
        self.outputs.extend(taken.chunks.into_iter().map(Output::Chunk));
        for loss in taken.losses {
            self.visit(VisitEvent::Lost(loss));
        }
        if let Ok(samples @ 1..) = u64::try_from(taken.samples.len()) {
            self.visit(VisitEvent::Received { role, samples });
        }
        for raw in taken.samples {
            let sample = self.given.corrections.correct(role, &raw);
            let found = match self.desk.wants(role) {
                Some(Feed::Raw) => self.desk.push(&raw),
                Some(Feed::Corrected) => self.desk.push(&sample),
                None => None,
            };
            self.outputs.extend(found.map(Output::Found));
            self.put(sample.time_s, Item::Sample(role, sample, self.arrived_s));
        }
    }

    fn put(&mut self, time_s: f64, item: Item) {
        self.merge.push(time_s, item, self.now_s);
    }

    /// Hands on whatever is complete by now.
    fn advance(&mut self) {
        while let Some(timed) = self.merge.pop(self.now_s) {
            self.item(timed);
        }
    }

    fn end(&mut self) {
        let roles: Vec<SensorRole> = self.intakes.iter().map(Intake::role).collect();
        for role in roles {
            let Some(intake) = self.intakes.iter_mut().find(|one| one.role() == role) else {
                continue;
            };
            let taken = intake.finish();
            self.taken(role, taken);
        }
        while let Some(timed) = self.merge.pop_any() {
            self.item(timed);
        }
        self.visit(VisitEvent::SourceEnded);
    }

    /// What the legs' filters know of their gyroscopes by now.
    fn biases(&mut self, at_s: f64) {
        let shanks =
            self.limbs.iter().map(|(side, limb)| (SensorRole::shank(*side), limb.shank_bias()));
        let pelvis = self.limbs.first().and_then(|(_, limb)| limb.pelvis_bias());
        let pelvis = pelvis.map(|state| (SensorRole::Pelvis, state));
        self.outputs
            .extend(shanks.chain(pelvis).map(|(role, state)| Output::Bias(role, at_s, state)));
    }

    /// Cuts the chunks that are being filled.
    fn flush(&mut self) {
        let chunks = self.intakes.iter_mut().filter_map(Intake::flush);
        self.outputs.extend(chunks.map(Output::Chunk));
    }

    fn item(&mut self, Timed { time_s, item }: Timed) {
        match item {
            Item::SpanBegan(mark) => {
                self.break_off();
                self.visit(VisitEvent::SpanBegan(mark));
            }
            Item::SpanEnded(mark) => self.visit(VisitEvent::SpanEnded(mark)),
            // It was held back until the samples before it had come: its own time counts.
            Item::Command(command) => self.visit_at(VisitEvent::Command(command), time_s),
            Item::Sample(role, sample, arrived_s) => {
                self.sample(role, &sample);
                self.fed.push(arrived_s);
            }
        }
    }

    fn sample(&mut self, role: SensorRole, sample: &Sample) {
        self.history.push(Fed::Sample(role, *sample));
        self.feed(role, sample);
    }

    fn feed(&mut self, role: SensorRole, sample: &Sample) {
        for index in 0..self.limbs.len() {
            let Some((side, limb)) = self.limbs.get_mut(index) else { return };
            match role.side() {
                None if role == SensorRole::Pelvis => limb.pelvis(sample, &mut self.limb_events),
                Some(own) if own == *side => limb.shank(sample, &mut self.limb_events),
                _ => continue,
            }
            let side = *side;
            let mut events = std::mem::take(&mut self.limb_events);
            for event in events.drain(..) {
                self.visit(VisitEvent::Limb { side, event });
            }
            self.limb_events = events;
        }
    }

    /// Feeds the visit with what happens now.
    fn visit(&mut self, event: VisitEvent) {
        self.visit_at(event, self.now_s);
    }
}

/// What became of notifications, beside the samples that the visit counts itself.
const fn count(sensor: &mut LiveSensor, counters: &Counters) {
    sensor.duplicate = counters.duplicate;
    sensor.reordered = counters.reordered;
    sensor.late = counters.late;
    sensor.malformed = counters.malformed;
    sensor.saturated = counters.saturated;
}
