//! Whole-program tests of `endarc`.
