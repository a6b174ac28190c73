//! Room history.
