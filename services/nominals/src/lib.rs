//! Room nominals.
