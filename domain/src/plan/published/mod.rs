//! Published problems as degenerate shops: the same search, asked questions whose answers are known.
//!
//! Each problem has a builder, which the search trusts, and a plainly written evaluator of its own, which judges the
//! schedule that the search ends with. A value below a proven optimum would mean that the evaluator is wrong.

pub mod job_shop;
pub mod pool;
pub mod setups;
pub mod tardiness;
