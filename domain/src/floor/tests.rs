mod acts;
mod first_piece;
mod marks;
mod opening;
mod properties;
mod refusals;
pub(crate) mod small_shop;
