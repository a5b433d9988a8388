//! The HTTP edge: one folder a resource, one file an operation.

pub mod ask;
pub mod body;
pub mod command;
pub mod find;
pub mod instant;
pub mod limits;
pub mod local_time;
pub mod page;
pub mod parameters;
pub mod shown;
pub mod text;
pub mod whole;
pub mod window;

pub mod cells;
pub mod clients;
pub mod hours;
pub mod ledger;
pub mod machines;
pub mod oauth;
pub mod plans;
pub mod readings;
pub mod session;
pub mod signals;
pub mod site;
pub mod users;
