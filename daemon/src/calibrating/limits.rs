//! What may be told along with a calibration or a levelling.

/// A table's name without the blanks around it.
///
/// # Errors
/// A sentence that says what a name is.
pub fn table_name(text: &str) -> Result<String, String> {
    let name = text.trim();
    if name.is_empty() || name.chars().count() > LONGEST_NAME {
        return Err(format!("a table's name has 1 to {LONGEST_NAME} characters"));
    }
    Ok(name.to_owned())
}

/// How warm a sensor is, °C.
///
/// # Errors
/// A sentence that says what is possible.
pub fn temperature(celsius: f64) -> Result<f64, String> {
    if (-40.0..=85.0).contains(&celsius) {
        Ok(celsius)
    } else {
        Err("a sensor works between −40 and 85 °C".to_owned())
    }
}

const LONGEST_NAME: usize = 64;
