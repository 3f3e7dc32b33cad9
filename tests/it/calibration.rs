//! Sensors are calibrated and tables levelled from recordings whose errors are known.

mod commands;
mod measuring;
mod page;
mod rests;
mod second_opinion;
mod tables;
