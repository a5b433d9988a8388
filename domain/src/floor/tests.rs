mod acts;
mod first_piece;
mod properties;
mod refusals;
pub mod small_shop;
