//! One integration binary.
