//! The outside of oddleg, for the tests that stand there.
