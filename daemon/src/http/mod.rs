//! The local HTTP interface and the page.
