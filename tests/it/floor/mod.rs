//! The floor by HTTP.

mod acts;
mod counts;
mod holds;
mod hours;
mod input;
mod opening;
pub mod small_cell;
pub mod working_cell;
