//! SQLite storage.
