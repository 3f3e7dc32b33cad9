//! What every export says of itself.

/// The words that every export carries.
pub(super) const CAUTION: &str = "Research and documentation tool; not a medical device; not for \
     diagnosis or for deciding treatment. Accuracy is as stated with each value, under the \
     conditions in which it was measured. Whoever holds these files is responsible for them.";

/// What a person outside has to know about codes and dates.
pub(super) const CODES: &str = "Codes of persons, raters and sensors are drawn anew for each export \
     unless its maker kept them; dates may have been moved by whole days, alike for all of one \
     person's. This is pseudonymised, not anonymous, data.";

/// How angles are to be read.
pub(super) const ANGLES: &str = "Angles are in degrees. Hip rotation follows the ISB convention \
     (Wu et al. 2002; Grood & Suntay 1983): internal rotation positive, external negative, on both \
     sides. An end range is told along its own direction, so it is positive unless neutral was not \
     reached. Each has one standard uncertainty and the version of the algorithm that made it.";

/// The program, with its version.
pub(super) const PROGRAM: &str = concat!("endarc ", env!("CARGO_PKG_VERSION"));

/// A readable page for the folder's top; `files` is what the format adds.
pub(super) fn page(files: &str) -> String {
    format!(
        "# Hip rotation end range, exported\n\nMade by {PROGRAM}.\n\n{CAUTION}\n\n{CODES}\n\n\
         {ANGLES}\n\n{files}\n\n`sha256sum -c SHA256SUMS` checks that every file is as it was made.\n"
    )
}
