//! What is asked before a limb is moved. It asks; it never clears anyone.
//!
//! The list follows what teaching texts and clinics' own pages name as reasons to refer, to stop or to
//! take care (red flags of the hip, contraindications to mobilisation, restrictions after hip
//! replacement, the shank as a lever on the knee); common practice, in our own words.

use endarc_protocol::words;

/// The version of the wordings below and of those for consent; stored with each answer.
pub const WORDING: &str = "1";

words! {
    /// One thing that is asked about.
    Caution, "caution", {
        /// A break that may not have healed.
        Fracture = "fracture",
        /// Infection of a joint or of the whole person.
        Infection = "infection",
        /// Cancer, or signs of it.
        Cancer = "cancer",
        /// Pain that rest does not ease.
        NightPain = "night-pain",
        /// The leg does not bear.
        CannotStand = "cannot-stand",
        /// An inflamed or stiffened joint.
        Inflamed = "inflamed",
        /// An artificial joint or an operation.
        Operation = "operation",
        /// Bone without blood supply, or cortisone for long.
        BoneSupply = "bone-supply",
        /// Brittle bone.
        Osteoporosis = "osteoporosis",
        /// A clot in a vein.
        Vein = "vein",
        /// Nerves of the saddle, bladder, bowel, legs.
        Nerves = "nerves",
        /// A knee that is no lever.
        Knee = "knee",
        /// Lying prone does not do.
        Prone = "prone",
        /// Very loose joints.
        Loose = "loose",
        /// Pain that nobody has looked at.
        Unexplained = "unexplained",
    }
}

impl Caution {
    /// The question, in words a person follows.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Fracture => "A fall, or a broken or cracked bone that may not have healed",
            Self::Infection => "Fever, feeling ill, or a joint that is hot, red and swollen",
            Self::Cancer => "Cancer now or earlier, or losing weight without a reason",
            Self::NightPain => {
                "Pain at night or at rest that nothing eases, or quickly getting worse"
            }
            Self::CannotStand => "Cannot stand on the leg, or cannot move the hip",
            Self::Inflamed => "A joint disease that is active now, or a joint grown stiff",
            Self::Operation => {
                "A hip or knee replacement, or an operation on hip, knee or back: what did the \
                 surgeon forbid?"
            }
            Self::BoneSupply => "Poor blood supply of the hip bone, or cortisone for a long time",
            Self::Osteoporosis => "Osteoporosis, or bones that break easily",
            Self::Vein => "One calf or thigh swollen, warm or tender, or a clot",
            Self::Nerves => {
                "Numb between the legs, new trouble with bladder or bowel, or legs getting weaker"
            }
            Self::Knee => "A knee that hurts, gives way or was operated on: the shank is the lever",
            Self::Prone => "Pregnant, or cannot lie on the front (belly, breath, back)",
            Self::Loose => "Joints that are very loose",
            Self::Unexplained => "Pain that nobody has looked at yet",
        }
    }
}
