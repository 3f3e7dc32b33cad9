//! `endarc export`: what leaves passes the validators of its format, and says whose it is only when
//! asked to. All tests share one recorded visit.

mod csv;
mod folder;
mod recorded;
