//! A clinic's own reliability study: it replaces the assumed floors.

use std::num::NonZeroUsize;

use crate::statistics::{Days, Sem};

/// What a study repeated, and so what its error covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Covers {
    /// Measured twice with the strap left in place.
    SameStrap,
    /// Measured twice with the strap taken off in between.
    NewStrap,
    /// Measured on different days.
    OtherDay,
}

/// The error of a measurement as a study with this set-up found it; one rater.
#[derive(Debug, Clone, PartialEq)]
pub struct ReliabilityStudy {
    name: String,
    covers: Covers,
    repetitions: NonZeroUsize,
    sem: Sem,
    unseen_variance: f64,
    freedom: f64,
}

/// Why numbers are no [`ReliabilityStudy`].
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum StudyError {
    /// A standard error of nothing at all.
    #[error("a standard error of measurement of 0° is no result: give that of the study")]
    NoError,
    /// A study that repeated nothing.
    #[error(
        "{freedom} degrees of freedom: at least 1 is needed, (subjects − 1) × (measurements − 1)"
    )]
    NoFreedom {
        /// What was given.
        freedom: f64,
    },
}

impl ReliabilityStudy {
    /// From its published numbers: the standard error of one measurement that was the mean of
    /// `repetitions`, degrees, its degrees of freedom, and the scatter of single repetitions within a
    /// measurement (a standard deviation), degrees.
    ///
    /// # Errors
    /// Any [`StudyError`].
    pub fn new(
        name: &str,
        covers: Covers,
        (sem, freedom): (Sem, f64),
        (repetitions, scatter): (NonZeroUsize, Sem),
    ) -> Result<Self, StudyError> {
        if sem.value() <= 0.0 {
            return Err(StudyError::NoError);
        }
        if !freedom.is_finite() || freedom < 1.0 {
            return Err(StudyError::NoFreedom { freedom });
        }
        let shown = scatter.of_mean(repetitions).value().powi(2);
        let unseen_variance = (sem.value().powi(2) - shown).max(0.0);
        Ok(Self { name: name.to_owned(), covers, repetitions, sem, unseen_variance, freedom })
    }

    /// From measurements of several persons on several days, one measurement being the mean of a
    /// day's repetitions.
    ///
    /// # Errors
    /// [`StudyError::NoError`] if nothing differed.
    pub fn from_days(name: &str, days: &Days) -> Result<Self, StudyError> {
        let (components, count) = (days.components(), days.repetitions());
        let scatter = Sem::new(components.repetitions.sqrt());
        let sem = components.sem_of_visit(count).zip(scatter.ok());
        let (sem, scatter) = sem.ok_or(StudyError::NoError)?;
        Self::new(name, Covers::OtherDay, (sem, days.freedom()), (count, scatter))
    }

    /// What it is called where a limit is told.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What its error covers.
    #[must_use]
    pub const fn covers(&self) -> Covers {
        self.covers
    }

    /// Its standard error of measurement, degrees, of a mean of [`Self::repetitions`].
    #[must_use]
    pub const fn sem(&self) -> Sem {
        self.sem
    }

    /// How many repetitions made one measurement.
    #[must_use]
    pub const fn repetitions(&self) -> NonZeroUsize {
        self.repetitions
    }

    /// Variance of one measurement that its repetitions do not show, degrees².
    pub(super) const fn unseen_variance(&self) -> f64 {
        self.unseen_variance
    }

    /// Degrees of freedom of its standard error.
    pub(super) const fn freedom(&self) -> f64 {
        self.freedom
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_repetitions_show_is_taken_out_of_the_error() {
        let three = NonZeroUsize::new(3).unwrap();
        let of = |deg: f64| Sem::new(deg).unwrap();
        let study =
            ReliabilityStudy::new("ours", Covers::NewStrap, (of(2.0), 19.0), (three, of(1.5)));
        assert!((study.unwrap().unseen_variance() - (4.0 - 0.75)).abs() < 1e-12);
        let all_shown =
            ReliabilityStudy::new("ours", Covers::NewStrap, (of(1.0), 19.0), (three, of(3.0)));
        assert!(all_shown.unwrap().unseen_variance().abs() < 1e-12);
        let refused = |sem, freedom| {
            ReliabilityStudy::new("", Covers::NewStrap, (of(sem), freedom), (three, of(1.0)))
        };
        assert_eq!(refused(0.0, 9.0), Err(StudyError::NoError));
        assert_eq!(refused(1.0, 0.0), Err(StudyError::NoFreedom { freedom: 0.0 }));
    }

    #[test]
    fn a_table_of_days_is_a_study() {
        let person = |at: f64| vec![vec![at, at + 1.0], vec![at + 3.0, at + 4.0]];
        let days = Days::new(&[person(30.0), person(40.0), person(50.0)]).unwrap();
        let study = ReliabilityStudy::from_days("ours", &days).unwrap();
        // By hand: within 0.5, mean square of days 2·3·4.5/3 = 9, so days (9 − 0.5)/2 = 4.25.
        assert!((study.unseen_variance() - 4.25).abs() < 1e-9);
        assert!((study.sem().value().powi(2) - (4.25 + 0.25)).abs() < 1e-9);
        assert!((study.freedom() - 3.0).abs() < 1e-12);
    }
}
