use super::line_dto::{LineNumber, Pieces, PriorityName, QuotedDto};
use crate::http::body;
use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::at_or_now;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place, Problem};
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Deserialize;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{JobId, OrderId, PartId, Seq};
use spindlebook_domain::order::{
    Arrived, ChangeLine, ExpectMaterial, Material, NewLine, ReceiveMaterial, ReleaseLine, Ship,
};
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// A line as it is entered.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = NewLine, example = json!({"number": 1, "part": "01936b5e-5c00-7000-8000-000000000501", "revision": "A", "quantity": 24,
    "due": "2026-11-20", "priority": "normal", "material": {"expected": "2026-11-09"},
    "quoted": [{"operation": 10, "setup_s": 3600, "run_s": 11520}]}))]
pub struct NewLineBody {
    /// Without it, one more than the highest.
    pub number: Option<LineNumber>,
    #[schema(value_type = uuid::Uuid)]
    pub part: PartId,
    #[schema(value_type = text::Code)]
    pub revision: Code,
    pub quantity: Pieces,
    pub due: NaiveDate,
    #[serde(default)]
    pub priority: PriorityName,
    /// Without it the line waits for its material, and nobody knows until when.
    #[serde(default)]
    pub material: NewMaterialBody,
    #[serde(default)]
    #[schema(max_items = 50)]
    pub quoted: Vec<QuotedDto>,
}

#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = NewMaterial)]
pub struct NewMaterialBody {
    pub expected: Option<NaiveDate>,
    /// It is here already.
    pub arrived: Option<NewArrivedBody>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = NewArrived)]
pub struct NewArrivedBody {
    /// Heat or certificate.
    #[schema(value_type = Option<text::Name>)]
    pub certificate: Option<Name>,
}

/// All three are replaced.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"quantity": 12, "due": "2026-11-20", "priority": "rush"}))]
pub struct ChangeLineBody {
    pub quantity: Pieces,
    pub due: NaiveDate,
    pub priority: PriorityName,
}

/// Either when it is expected (null: nobody knows), or that it is here.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"arrived": {"at": "2026-11-09T07:30:00Z", "certificate": "Heat 4482"}}))]
pub struct MaterialBody {
    pub expected: Option<NaiveDate>,
    pub arrived: Option<ArrivedBody>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ArrivedBody {
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// Heat or certificate; it may come later, once.
    #[schema(value_type = Option<text::Name>)]
    pub certificate: Option<Name>,
}

/// Without lines: all that are entered, each with as many blanks as pieces.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"lines": [{"line": 1, "blanks": 25}]}))]
pub struct ReleaseBody {
    #[serde(default)]
    #[schema(max_items = 200)]
    pub lines: Vec<ReleaseLineBody>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ReleaseLine)]
pub struct ReleaseLineBody {
    pub line: LineNumber,
    /// Blanks given out for it; without it, as many as pieces are wanted.
    pub blanks: Option<Whole<0, 1_000_000>>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pieces": 10, "job": "01936b5e-5c00-7000-8000-000000000801"}))]
pub struct ShipBody {
    pub pieces: Pieces,
    /// The lot that they are from; needed where the line has several.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub job: Option<JobId>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

impl NewLineBody {
    pub fn into_line(self, now: Timestamp) -> NewLine {
        let arrived = self.material.arrived.map(|arrived| Arrived {
            at: now,
            certificate: arrived.certificate,
        });
        NewLine {
            number: self.number.map(Whole::to),
            part: self.part,
            revision: self.revision,
            quantity: self.quantity.to(),
            due: self.due,
            priority: self.priority.into(),
            material: Material {
                expected: self.material.expected,
                arrived,
            },
            quoted: self.quoted.into_iter().map(Into::into).collect(),
        }
    }
}

impl ChangeLineBody {
    pub fn into_command(self, order: OrderId, line: u32, expected: Option<Seq>) -> ChangeLine {
        ChangeLine {
            order,
            line,
            quantity: self.quantity.to(),
            due: self.due,
            priority: self.priority.into(),
            expected,
        }
    }
}

impl MaterialBody {
    /// With the instant at which it arrived, if it has.
    pub fn into_command(
        self,
        order: OrderId,
        line: u32,
        zone: Tz,
        now: Timestamp,
    ) -> Result<(Command, Option<Timestamp>), Problem> {
        let Some(arrived) = self.arrived else {
            let expected = self.expected;
            let command = ExpectMaterial {
                order,
                line,
                expected,
            };
            return Ok((command.into(), None));
        };
        if self.expected.is_some() {
            let detail = "what is here is not expected: send either `expected` or `arrived`";
            return Err(body::invalid(FieldError::at(
                Place::pointer("/expected".to_owned()),
                "unknown",
                detail,
            )));
        }
        let at = at_or_now(zone, arrived.at, arrived.at_local, now)?;
        let command = ReceiveMaterial {
            order,
            line,
            at,
            certificate: arrived.certificate,
        };
        Ok((command.into(), Some(at)))
    }
}

impl ReleaseBody {
    pub fn into_lines(self) -> Vec<ReleaseLine> {
        let one = |line: ReleaseLineBody| ReleaseLine {
            line: line.line.to(),
            blanks: line.blanks.map(Whole::to),
        };
        self.lines.into_iter().map(one).collect()
    }
}

impl ShipBody {
    pub fn into_command(self, order: OrderId, line: u32, zone: Tz, now: Timestamp) -> Result<Ship, Problem> {
        Ok(Ship {
            order,
            line,
            job: self.job,
            pieces: self.pieces.to(),
            at: at_or_now(zone, self.at, self.at_local, now)?,
        })
    }
}
