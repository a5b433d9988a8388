//! The HTTP edge: one folder a resource, one file an operation.

pub mod body;
pub mod parameters;
pub mod whole;
