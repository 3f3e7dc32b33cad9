//! The program `endarc`; everything is in the library of the same name.

fn main() {}
