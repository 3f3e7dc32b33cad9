//! A simulated person, hand and sensors.
