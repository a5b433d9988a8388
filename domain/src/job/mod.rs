//! Temporary stand-in until the topic of orders is merged.
use crate::code::Code;
use crate::ids::{JobId, PartId};
use crate::part::{FrozenRouting, Machining, Work};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Job {
    pub id: JobId,
    pub code: Code,
    pub part: PartId,
    pub revision: Code,
    pub routing: FrozenRouting,
    pub operations: Vec<AtOperation>,
    pub material_arrived: bool,
}
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, Default)]
pub struct AtOperation {
    pub number: u16,
    pub waiting: u32,
    pub clamped: u32,
    pub rework_clamped: u32,
    pub inspection: u32,
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
}
impl Job {
    pub fn machining(&self, operation: u16) -> Option<&Machining> {
        self.routing
            .operations
            .iter()
            .find(|o| o.number == operation)
            .and_then(|o| match &o.work {
                Work::Machining(m) => Some(m),
                Work::Manual(_) => None,
            })
    }
}
