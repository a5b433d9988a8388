//! The HTTP edge: one folder a resource, one file an operation.

pub mod body;
pub mod clients;
pub mod command;
pub mod limits;
pub mod oauth;
pub mod page;
pub mod parameters;
pub mod session;
pub mod shown;
pub mod text;
pub mod users;
pub mod whole;
