//! Room inspection.
