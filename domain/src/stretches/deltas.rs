//! Packs a sorted list by storing each instant as its distance from the one before: 4 bytes instead of 9.

use crate::time::Timestamp;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

pub trait Placed: Clone {
    fn place(&mut self) -> &mut Timestamp;
}

pub fn serialize<T: Placed + Serialize, S: Serializer>(list: &[T], serializer: S) -> Result<S::Ok, S::Error> {
    let mut before = 0;
    serializer.collect_seq(list.iter().map(|item| {
        let mut item = item.clone();
        let at = item.place().us();
        *item.place() = Timestamp(at.wrapping_sub(before));
        before = at;
        item
    }))
}

pub fn deserialize<'de, T: Placed + Deserialize<'de>, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<Vec<T>, D::Error> {
    let mut list = Vec::<T>::deserialize(deserializer)?;
    let mut before = 0_i64;
    for item in &mut list {
        before = before.wrapping_add(item.place().us());
        *item.place() = Timestamp(before);
    }
    Ok(list)
}
