//! `endarc export`: what leaves passes the validators of its format, and says whose it is only when
//! asked to, and comes back the same. All tests share one recorded visit.

mod bids;
mod csv;
mod fhir;
mod folder;
mod reanalyse;
mod recorded;
mod round_trip;
