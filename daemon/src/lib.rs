//! The program `endarc`: acquisition, visits, storage, page, command line and exports.

pub mod calibrating;
pub mod cli;
pub mod clock;
pub mod commands;
pub mod corrections;
pub mod demo;
pub mod error;
pub mod export;
pub mod finalise;
pub mod folders;
pub mod http;
pub mod levelled;
pub mod live;
pub mod order;
pub mod output;
mod pairing;
pub mod pipeline;
pub mod profiles;
pub mod report;
pub mod sensor_calibration;
pub mod session;
pub mod signals;
pub mod source;
pub mod store;
pub mod tilt;
pub mod visit;
pub mod words;
