//! The floor by HTTP.

mod acts;
mod input;
mod opening;
pub mod small_cell;
