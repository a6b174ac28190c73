//! Room build-record.
