//! Tools: what a machine's magazine has left, and what a load takes of it.

use super::take::Taking;
use super::{ToolLife, ToolNeed};
use crate::code::Code;
use crate::machine::Machine;
use std::collections::BTreeMap;

/// Where the tools of a machine lie in the model. A machine without a list of tools is not judged.
#[derive(Clone, Debug, Default)]
pub struct Magazine {
    tools: Vec<(Code, usize)>,
}

impl Taking<'_> {
    pub(super) fn take_tools(&mut self, machine: usize, from: &Machine) {
        let mut magazine = Magazine::default();
        for tool in &from.tools {
            magazine
                .tools
                .push((tool.tool.clone(), self.model.tool_life.len()));
            self.model.tool_life.push(i64::from(tool.life_left_s));
        }
        debug_assert_eq!(self.magazines.len(), machine);
        self.magazines.push(magazine);
    }

    /// What a load needs on a machine: the first of its needs, and how many.
    pub(super) fn take_needs(&mut self, machine: usize, needed: &BTreeMap<Code, u64>) -> (usize, usize) {
        let first = self.model.needs.len();
        let magazine = &self.magazines[machine];
        if self.options.tool_life == ToolLife::Renewed || magazine.tools.is_empty() {
            return (first, 0);
        }
        for (tool, needed_s) in needed.iter().filter(|(_, needed_s)| **needed_s > 0) {
            let first_twin = self.model.twins.len();
            let twins = magazine
                .tools
                .iter()
                .filter(|(known, _)| known.is_spoken_like(tool));
            self.model.twins.extend(twins.map(|(_, place)| *place));
            self.model.needs.push(ToolNeed {
                needed_s: i64::try_from(*needed_s).unwrap_or(i64::MAX),
                first_twin,
                twins: self.model.twins.len() - first_twin,
            });
            self.tool_names.push(tool.clone());
        }
        (first, self.model.needs.len() - first)
    }
}
