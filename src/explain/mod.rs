//! Results to words and pictures; it decides nothing.
