//! Sensors are calibrated and tables levelled from recordings whose errors are known.

mod commands;
mod measuring;
mod rests;
mod second_opinion;
mod tables;
