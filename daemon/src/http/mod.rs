//! The local HTTP interface and the page.
//!
//! Loopback only. [`bind()`] or [`bind_or_next`] opens the port, [`serve()`] answers on it until told
//! to stop. Requests pass `guard` first (whose page may talk to us), then `routes`; answers pass
//! `headers` and `problem`, so that every error is an RFC 9457 problem.

mod assets;
mod bind;
mod calibration;
mod course;
mod desk;
mod events;
mod exchange;
mod guard;
mod handlers;
mod headers;
mod names;
mod patience;
mod problem;
mod routes;
mod sensors;
mod serve;
mod state;
mod stored;
mod tables;
mod visits;

pub use bind::{BindError, bind, bind_or_next};
pub use names::OwnNames;
pub use problem::Problem;
pub use routes::openapi;
pub use serve::serve;
pub use state::{AppState, Asked, Command};
pub use stored::StoredVisits;
pub use visits::{
    VisitBarriers, VisitBias, VisitChange, VisitDetail, VisitRepetition, VisitSource,
    VisitSourceError, VisitSummary,
};

#[cfg(test)]
mod tests;
