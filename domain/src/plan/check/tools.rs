//! A load is cut only where every tool lasts for all of it.

use super::case::{Case, named};
use crate::floor::work;
use crate::plan::model::ToolLife;

pub(super) fn check(case: &mut Case<'_>) {
    if case.options.tool_life == ToolLife::Renewed {
        return;
    }
    for (machine, loads) in case.by_machine() {
        let Some(machine) = case.shop.machines.get(&machine) else {
            continue;
        };
        let mut tools = machine.tools.clone();
        for load in loads {
            let needed = work::tool_use(case.shop, &load.clamped, load.cell);
            if !case.is_running(load)
                && let Some(short) = work::short_tool(&tools, &needed)
            {
                case.fault(
                    "tool-life",
                    format!(
                        "{}: tool {} is short by {} s",
                        named(load.key),
                        short.tool,
                        short.short_s()
                    ),
                );
            }
            work::take_tool_life(&mut tools, &needed);
        }
    }
}
