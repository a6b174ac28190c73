//! How the connection to the broker is.

/// The state of the connection, for the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Link {
    /// A connection is being made.
    Connecting {
        /// What made it necessary.
        why: String,
    },
    /// Connected and subscribed.
    Up {
        /// Since when, microseconds since 1970-01-01 UTC.
        since_us: i64,
    },
    /// No connection, or none that readings come by; it is tried again by itself.
    Down {
        /// What went wrong.
        why: String,
    },
}
