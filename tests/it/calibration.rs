//! Sensors are calibrated and tables levelled from recordings whose errors are known.

mod browser;
mod commands;
mod measuring;
mod page;
mod rests;
mod second_opinion;
mod tables;
