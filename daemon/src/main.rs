//! The program `endarc`.
fn main() {}
