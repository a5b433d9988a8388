mod acts;
mod first_piece;
mod properties;
mod refusals;
pub(crate) mod small_shop;
