use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::Code;
use spindlebook_domain::ids::{MachineId, Seq};
use spindlebook_domain::machine::{Machine, MachineTool, SetMachineTools};
use utoipa::ToSchema;

/// Tool life, at most a year.
pub type LifeS = Whole<0, 31_536_000>;

/// What is in a machine's magazine.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MachineTools, example = json!({"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "tools": [{"tool": "T12", "life_left_s": 5400}, {"tool": "T12", "life_left_s": 3600}], "changed_seq": 31}))]
pub struct ToolsDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(max_items = 1000)]
    pub tools: Vec<ToolDto>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// Twins are the same tool twice.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = MachineTool)]
pub struct ToolDto {
    #[schema(value_type = text::Code)]
    pub tool: Code,
    pub life_left_s: LifeS,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"tools": [{"tool": "T12", "life_left_s": 5400}, {"tool": "T12", "life_left_s": 3600}]}))]
pub struct ToolsBody {
    #[schema(max_items = 1000)]
    pub tools: Vec<ToolDto>,
}

impl ToolsBody {
    pub fn into_command(self, machine: MachineId, expected: Option<Seq>) -> SetMachineTools {
        let tools = self.tools.into_iter().map(|tool| MachineTool {
            tool: tool.tool,
            life_left_s: tool.life_left_s.to(),
        });
        SetMachineTools {
            machine,
            tools: tools.collect(),
            expected,
        }
    }
}

impl From<&Machine> for ToolsDto {
    fn from(machine: &Machine) -> Self {
        let tools = machine.tools.iter().map(|tool| ToolDto {
            tool: tool.tool.clone(),
            life_left_s: Whole::clamped(i64::from(tool.life_left_s)),
        });
        Self {
            machine: machine.id,
            tools: tools.collect(),
            changed_seq: machine.tools_changed_seq,
        }
    }
}
