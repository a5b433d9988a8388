//! Key performance indicators of ISO 22400-2.
