//! The program `endarc`: acquisition, visits, storage, page, command line and exports.

pub mod cli;
pub mod clock;
pub mod commands;
pub mod error;
pub mod folders;
pub mod http;
pub mod live;
pub mod output;
pub mod store;
