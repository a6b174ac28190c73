//! Room dashboard.
