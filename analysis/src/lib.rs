//! Samples to orientation, hip angle, repetitions and verdicts.
