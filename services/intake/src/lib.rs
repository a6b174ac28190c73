//! Room intake.
