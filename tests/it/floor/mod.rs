//! The floor by HTTP.

mod acts;
mod input;
mod opening;
mod small_cell;
