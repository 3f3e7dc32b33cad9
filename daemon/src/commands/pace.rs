//! How fast visit time runs, on the command line.

use crate::source::Pace;

/// How fast visit time runs.
#[derive(Debug, Clone, Copy, clap::Args)]
pub(super) struct PaceArgs {
    /// Run on a virtual clock, as fast as this computer can
    #[arg(long, conflicts_with = "speed")]
    pub(super) fast: bool,
    /// Run so many times as fast as real time
    #[arg(long, value_name = "N", value_parser = speed)]
    speed: Option<f64>,
}

impl PaceArgs {
    /// The pace that was asked for: real time, unless something else was.
    #[must_use]
    pub(super) fn pace(&self) -> Pace {
        match (self.fast, self.speed) {
            (true, _) => Pace::Fast,
            (false, Some(speed)) => Pace::Times(speed),
            (false, None) => Pace::REAL,
        }
    }
}

fn speed(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(speed) if (0.1..=1000.0).contains(&speed) => Ok(speed),
        _ => Err("a number from 0.1 to 1000 is wanted".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_speed_that_can_be_run_is_taken() {
        assert_eq!(speed("20"), Ok(20.0));
        for text in ["0", "-1", "nan", "inf", "fast", "1e9"] {
            assert!(speed(text).is_err(), "{text}");
        }
    }

    #[test]
    fn real_time_is_what_runs_unasked() {
        let pace = |fast, speed| PaceArgs { fast, speed }.pace();
        assert_eq!(pace(false, None), Pace::REAL);
        assert_eq!(pace(false, Some(20.0)), Pace::Times(20.0));
        assert!(pace(true, None).is_fast());
    }
}
