//! Pieces that resources are made of.

use serde_json::{Value, json};

/// An id: letters, digits, `-` and `.`, 64 at most.
pub(super) fn id(text: &str) -> String {
    let allowed = |c: char| if c.is_ascii_alphanumeric() || "-.".contains(c) { c } else { '-' };
    text.chars().map(allowed).take(64).collect()
}

/// A resource with its address in the bundle.
#[derive(Debug)]
pub(super) struct Entry {
    /// `urn:uuid:…`
    pub(super) url: String,
    /// The resource.
    pub(super) resource: Value,
}

impl Entry {
    /// A reference to it.
    pub(super) fn reference(&self) -> Value {
        json!({ "reference": self.url })
    }

    /// It as it stands in the bundle.
    pub(super) fn value(self) -> Value {
        json!({ "fullUrl": self.url, "resource": self.resource })
    }
}

/// An angle: degrees in UCUM, to a ten-thousandth.
pub(super) fn degrees(value: f64) -> Value {
    quantity(value, "deg")
}

/// A time in seconds, likewise.
pub(super) fn seconds(value: f64) -> Value {
    quantity(value, "s")
}

fn quantity(value: f64, unit: &str) -> Value {
    json!({
        "value": (value * 1e4).round() / 1e4,
        "unit": unit,
        "system": "http://unitsofmeasure.org",
        "code": unit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_has_no_character_that_an_id_may_not_have() {
        assert_eq!(id("P_014=x/ä"), "P-014-x--");
        assert_eq!(id(&"x".repeat(80)).len(), 64);
    }
}
