//! What the page asks for beside the visit: calibrating a sensor, levelling a table.

use std::collections::VecDeque;

use endarc_analysis::orientation::STANDARD_GRAVITY_M_S2;
use endarc_protocol::words::SensorRole;

use super::fed::{Fed, History};
use super::{Core, Intake, Output};
use crate::calibrating;
use crate::levelled::LevelledTable;
use crate::order::{Order, Refusal};
use crate::pipeline::keeper::{Answer, Known};
use crate::store::TableRecord;
use crate::visit::{self, Announcement, VisitEvent, exchanged, strings};

impl Core {
    /// Does what is asked for, or says why not.
    pub(in crate::pipeline) fn order(&mut self, order: Order) -> Result<Vec<Output>, Refusal> {
        match order {
            Order::Calibrate { sensor, temperature_c } => {
                self.may_begin(sensor)?;
                self.desk.calibrate(sensor, temperature_c);
            }
            Order::Level { sensor, table } => {
                self.may_begin(sensor)?;
                let own_sd_rad = self
                    .given
                    .corrections
                    .known(sensor)
                    .map(|(prior, _)| prior.largest_sd_m_s2() / STANDARD_GRAVITY_M_S2);
                self.desk.level(sensor, table, own_sd_rad);
            }
            Order::Finish => {
                let found = self.desk.finish()?;
                self.outputs.push(Output::Found(found));
            }
            Order::Stop => self.desk.stop(),
            Order::Exchange => self.exchange()?,
            Order::Answer(answer) => self.answered(&answer)?,
            Order::Person(person, known) => {
                self.answered(&visit::Answer::Person(*person))?;
                self.visit(VisitEvent::Known(known.map(|known| *known)));
            }
            Order::UseTable(table) => {
                self.visit.may_calibrate()?;
                self.use_table(table.map(|table| *table));
            }
        }
        Ok(std::mem::take(&mut self.outputs))
    }

    /// The sensors of the two shanks change places, from the visit's start on: the legs are fed anew.
    fn exchange(&mut self) -> Result<(), Refusal> {
        self.visit.may_exchange()?;
        // What waits for a late sensor belongs to before.
        while let Some(timed) = self.merge.pop_any() {
            self.item(timed);
        }
        // One of those may have been the first capture.
        self.visit.may_exchange()?;
        self.flush();
        self.outputs.push(Output::Exchanged);
        self.exchanged = !self.exchanged;
        for intake in &mut self.intakes {
            intake.wear(exchanged(intake.role()));
        }
        self.given.corrections.exchange();
        let announcement = self.visit.exchange(self.now_s);
        self.outputs.push(Output::Announce(announcement));
        self.make_limbs();
        match self.history.exchange() {
            Some(fed) => fed.into_iter().for_each(|one| self.feed_again(one)),
            None => self.say(strings::PREPARE_ANEW),
        }
        let effects = self.visit.prepare_anew(self.now_s);
        self.carry_all(effects);
        Ok(())
    }

    /// Something was answered in a guided visit.
    fn answered(&mut self, answer: &visit::Answer) -> Result<(), Refusal> {
        if self.desk.is_busy() {
            return Err(strings::CALIBRATION_FIRST.into());
        }
        let effects = self.visit.answer(answer, self.now_s)?;
        self.carry_all(effects);
        Ok(())
    }

    fn feed_again(&mut self, one: Fed) {
        let mut events = VecDeque::new();
        match one {
            Fed::Sample(role, sample) => self.feed(role, &sample),
            Fed::Begin(side, trial_type, time_s) => {
                self.limb(side, |limb, told| limb.begin(trial_type, time_s, told), &mut events);
            }
            Fed::End(side, time_s) => {
                self.limb(side, |limb, told| limb.end(time_s, told), &mut events);
            }
            Fed::Mark(side, time_s) => {
                self.limb(side, |limb, told| limb.mark(time_s, told), &mut events);
            }
        }
        for event in events {
            self.visit(event);
        }
    }

    /// Takes what the store has to say.
    pub(in crate::pipeline) fn answer(&mut self, answer: Answer) -> Vec<Output> {
        match answer {
            Answer::Visit(event) => self.visit(event),
            Answer::Known(known) => self.known(known),
            Answer::NotKnown(reason) => self.desk.not_kept(&reason),
        }
        std::mem::take(&mut self.outputs)
    }

    /// What was found is on disk, and counts from now on.
    fn known(&mut self, known: Known) {
        match known {
            Known::Sensor(role, calibration) => {
                self.desk.kept(calibrating::calibration_lines(&calibration));
                // The visit may have begun meanwhile: it goes on with what it began with.
                if self.visit.may_calibrate().is_ok() {
                    self.given.corrections.calibrated(role, &calibration);
                    // What was fed before was corrected otherwise, and nothing rests on it.
                    self.history = History::new();
                    self.make_limbs();
                }
            }
            Known::Table(record) => {
                self.desk.kept(calibrating::level_lines(&record.level));
                if self.visit.may_calibrate().is_ok() {
                    self.use_table(Some(record));
                }
            }
        }
    }

    /// The visit is measured on this table.
    fn use_table(&mut self, table: Option<TableRecord>) {
        self.outputs.push(Output::UseTable(table.as_ref().map(|table| table.name.clone())));
        self.given.levelling = table.as_ref().map(|table| table.level.levelling());
        self.given.table = table.as_ref().map(LevelledTable::from);
        self.make_limbs();
    }

    /// The visit's first span begins: nothing is laid about any more.
    pub(super) fn break_off(&mut self) {
        if self.desk.is_busy() {
            self.desk.stop();
            self.say(strings::CALIBRATION_BROKEN_OFF);
        }
    }

    pub(super) fn say(&mut self, line: &str) {
        let line = line.to_owned();
        self.outputs.push(Output::Announce(Announcement { time_s: self.now_s, line }));
    }

    fn may_begin(&self, sensor: SensorRole) -> Result<(), Refusal> {
        self.visit.may_calibrate()?;
        if self.desk.is_busy() {
            return Err(Refusal(
                "a sensor is being laid about already: stop that first".to_owned(),
            ));
        }
        let roles: Vec<SensorRole> = self.intakes.iter().map(Intake::role).collect();
        if !roles.contains(&sensor) {
            let there: Vec<&str> = roles.iter().map(|role| role.as_str()).collect();
            let there = there.join(", ");
            return Err(Refusal(format!("no {sensor} sensor is here; those that are: {there}")));
        }
        Ok(())
    }
}
