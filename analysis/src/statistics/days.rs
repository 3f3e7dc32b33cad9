//! Scatter within a day and between days, from persons measured on several days.

use std::num::NonZeroUsize;

use super::mean;
use super::sem::Sem;

/// Persons × days × repetitions, the same number of each, every value finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    values: Vec<f64>,
    days: usize,
    repetitions: usize,
}

/// Why a table is no [`Days`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DaysError {
    /// Fewer than two persons, days or repetitions.
    #[error(
        "{persons} persons on {days} days with {repetitions} repetitions: at least 2 of each are needed"
    )]
    TooFew {
        /// Persons.
        persons: usize,
        /// Days of the first person.
        days: usize,
        /// Repetitions on the first day of the first person.
        repetitions: usize,
    },
    /// A person has other days, or a day other repetitions, than the first.
    #[error(
        "person {person}, day {day}: not as many days or repetitions as the first person's first day"
    )]
    Ragged {
        /// Which person, from 1.
        person: usize,
        /// Which day, from 1.
        day: usize,
    },
    /// A value is NaN or infinite.
    #[error("person {person}, day {day}: a value is not finite")]
    NotFinite {
        /// Which person, from 1.
        person: usize,
        /// Which day, from 1.
        day: usize,
    },
}

/// Variances by where they arise; one that comes out below nothing is nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// Between persons.
    pub persons: f64,
    /// Between days of one person.
    pub days: f64,
    /// Between repetitions of one day.
    pub repetitions: f64,
}

impl Days {
    /// One table of days per person, one row of repetitions per day.
    ///
    /// # Errors
    /// Any [`DaysError`].
    pub fn new(persons: &[Vec<Vec<f64>>]) -> Result<Self, DaysError> {
        let days = persons.first().map_or(0, Vec::len);
        let repetitions = persons.first().and_then(|days| days.first()).map_or(0, Vec::len);
        if persons.len() < 2 || days < 2 || repetitions < 2 {
            return Err(DaysError::TooFew { persons: persons.len(), days, repetitions });
        }
        let mut values = Vec::with_capacity(persons.len() * days * repetitions);
        for (person, table) in (1..).zip(persons) {
            if table.len() != days {
                return Err(DaysError::Ragged { person, day: table.len().min(days) + 1 });
            }
            for (day, row) in (1..).zip(table) {
                if row.len() != repetitions {
                    return Err(DaysError::Ragged { person, day });
                }
                if !row.iter().all(|value| value.is_finite()) {
                    return Err(DaysError::NotFinite { person, day });
                }
                values.extend_from_slice(row);
            }
        }
        Ok(Self { values, days, repetitions })
    }

    /// Repetitions of each day; at least 2.
    #[must_use]
    pub fn repetitions(&self) -> NonZeroUsize {
        NonZeroUsize::new(self.repetitions).unwrap_or(NonZeroUsize::MIN)
    }

    /// Degrees of freedom of the scatter between days, persons × (days − 1).
    #[must_use]
    pub fn freedom(&self) -> f64 {
        let persons = self.values.len() / (self.days * self.repetitions);
        (persons * (self.days - 1)) as f64
    }

    /// Variance components of the nested design, from its mean squares (Searle, Casella & McCulloch,
    /// Variance Components, 1992, chapter 4; from memory, the derivation is elementary).
    #[must_use]
    pub fn components(&self) -> Components {
        let (days, repetitions) = (self.days as f64, self.repetitions as f64);
        let day_means: Vec<f64> = self.values.chunks_exact(self.repetitions).map(mean).collect();
        let person_means: Vec<f64> = day_means.chunks_exact(self.days).map(mean).collect();
        let persons = person_means.len() as f64;
        let grand = mean(&person_means);
        let around = |values: &[f64], size: usize, means: &[f64]| -> f64 {
            let groups = values.chunks_exact(size).zip(means);
            groups.flat_map(|(group, mean)| group.iter().map(move |v| (v - mean).powi(2))).sum()
        };
        let within = around(&self.values, self.repetitions, &day_means)
            / (persons * days * (repetitions - 1.0));
        let of_days =
            repetitions * around(&day_means, self.days, &person_means) / (persons * (days - 1.0));
        let of_persons =
            repetitions * days * person_means.iter().map(|one| (one - grand).powi(2)).sum::<f64>()
                / (persons - 1.0);
        Components {
            persons: ((of_persons - of_days) / (days * repetitions)).max(0.0),
            days: ((of_days - within) / repetitions).max(0.0),
            repetitions: within,
        }
    }
}

impl Components {
    /// Error of a mean of `count` repetitions of one day as a measure of the person on any day.
    /// More repetitions do not take out the part of the day. `None` if a component is no variance.
    #[must_use]
    pub fn sem_of_visit(&self, count: NonZeroUsize) -> Option<Sem> {
        Sem::new((self.days + self.repetitions / count.get() as f64).sqrt()).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The peak flows of Bland & Altman (Lancet 1986; i:307–310) with the two meters as two "days":
    /// the mean square within is the mean of the squared within-subject SDs (15.306669, 19.910831),
    /// that of the days is Σd̄²/n of the differences of means (mean −6.029412, SD 33.204137).
    #[test]
    fn components_are_those_of_the_published_means() {
        let rows = &crate::statistics::examples::PEAK_FLOW;
        let table: Vec<Vec<Vec<f64>>> =
            rows.iter().map(|r| vec![vec![r[0], r[1]], vec![r[2], r[3]]]).collect();
        let found = Days::new(&table).unwrap().components();
        let within = 15.306_669_f64.powi(2).midpoint(19.910_831_f64.powi(2));
        assert!((found.repetitions - within).abs() < 1e-3);
        let of_days = (16.0 * 33.204_137_f64.powi(2) + 17.0 * 6.029_412_f64.powi(2)) / 17.0;
        assert!((found.days - (of_days - within) / 2.0).abs() < 1e-2);
        let three = NonZeroUsize::new(3).unwrap();
        let sem = found.sem_of_visit(three).unwrap().value();
        assert!((sem * sem - (found.days + found.repetitions / 3.0)).abs() < 1e-9);
    }

    #[test]
    fn a_table_that_cannot_be_used_says_where() {
        let row = || vec![1.0, 2.0];
        let refused = |persons: &[Vec<Vec<f64>>]| Days::new(persons).unwrap_err();
        assert_eq!(
            refused(&[vec![row(), row()]]),
            DaysError::TooFew { persons: 1, days: 2, repetitions: 2 }
        );
        assert_eq!(
            refused(&[vec![row(), row()], vec![row()]]),
            DaysError::Ragged { person: 2, day: 2 }
        );
        assert_eq!(
            refused(&[vec![row(), row()], vec![row(), vec![1.0]]]),
            DaysError::Ragged { person: 2, day: 2 }
        );
        assert_eq!(
            refused(&[vec![row(), row()], vec![vec![1.0, f64::NAN], row()]]),
            DaysError::NotFinite { person: 2, day: 1 }
        );
    }
}
