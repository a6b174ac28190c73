//! Room drawing.
