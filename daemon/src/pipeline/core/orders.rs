//! What the page asks for beside the visit: calibrating a sensor, levelling a table.

use endarc_analysis::orientation::STANDARD_GRAVITY_M_S2;
use endarc_protocol::words::SensorRole;

use super::{Core, Intake, Output};
use crate::calibrating;
use crate::levelled::LevelledTable;
use crate::order::{Order, Refusal};
use crate::pipeline::keeper::{Answer, Known};
use crate::store::TableRecord;
use crate::visit::{Announcement, strings};

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
            Order::UseTable(table) => {
                self.visit.may_calibrate()?;
                self.use_table(table.map(|table| *table));
            }
        }
        Ok(std::mem::take(&mut self.outputs))
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
