use crate::http::size::{MassG, SizeDto};
use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{PartId, Seq};
use spindlebook_domain::part::{AddPart, AddRevision, Blank, ChangePart, Part, Revision, RevisionFacts};
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// A part in all its revisions, the oldest first.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Part, example = json!({"id": "01936b5e-5c00-7000-8000-000000000501", "code": "4711", "name": "Valve housing",
    "revisions": [{"revision": "A", "mass_g": 2100, "size": null, "blank": {"name": "Bar 80 x 80, EN AW-6082", "mass_g": 3400,
    "size": null}, "routing_seq": 22}], "changed_seq": 22}))]
pub struct PartDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PartId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[schema(max_items = 100)]
    pub revisions: Vec<RevisionDto>,
    /// The entry that last changed it, or one of its revisions or routings: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// What the drawing says. Null: not known, which is not nothing.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Revision)]
pub struct RevisionDto {
    #[schema(value_type = text::Code)]
    pub revision: Code,
    /// Of a finished piece.
    pub mass_g: Option<u32>,
    pub size: Option<SizeDto>,
    pub blank: Option<BlankDto>,
    /// The entry that set its routing. Null: it has none yet, and cannot be released.
    #[schema(value_type = Option<text::Seq>)]
    pub routing_seq: Option<Seq>,
}

/// What a piece is made from.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Blank)]
pub struct BlankDto {
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub mass_g: Option<MassG>,
    pub size: Option<SizeDto>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"revision": "B", "mass_g": 2100, "blank": {"name": "Bar 80 x 80, EN AW-6082", "mass_g": 3400}}))]
pub struct RevisionBody {
    #[schema(value_type = text::Code)]
    pub revision: Code,
    pub mass_g: Option<MassG>,
    pub size: Option<SizeDto>,
    pub blank: Option<BlankDto>,
}

/// With its first revision.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "4711", "name": "Valve housing", "revision": {"revision": "A", "mass_g": 2100}}))]
pub struct AddPartBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub revision: RevisionBody,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "4711", "name": "Valve housing"}))]
pub struct ChangePartBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
}

/// A page of parts.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct PartPage {
    #[schema(max_items = 200)]
    pub items: Vec<PartDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl RevisionBody {
    fn facts(self) -> RevisionFacts {
        RevisionFacts {
            revision: self.revision,
            mass_g: self.mass_g.map(Whole::to),
            size: self.size.map(Into::into),
            blank: self.blank.map(|blank| Blank {
                name: blank.name,
                mass_g: blank.mass_g.map(Whole::to),
                size: blank.size.map(Into::into),
            }),
        }
    }

    pub fn into_command(self, part: PartId) -> AddRevision {
        AddRevision {
            part,
            facts: self.facts(),
        }
    }
}

impl AddPartBody {
    pub fn into_command(self, part: PartId) -> AddPart {
        AddPart {
            part,
            code: self.code,
            name: self.name,
            revision: self.revision.facts(),
        }
    }
}

impl ChangePartBody {
    pub fn into_change(self, part: PartId, expected: Option<Seq>) -> ChangePart {
        ChangePart {
            part,
            code: self.code,
            name: self.name,
            expected,
        }
    }
}

impl From<&Revision> for RevisionDto {
    fn from(revision: &Revision) -> Self {
        let facts = &revision.facts;
        let blank = |blank: &Blank| BlankDto {
            name: blank.name.clone(),
            mass_g: blank.mass_g.map(|mass_g| Whole::clamped(i64::from(mass_g))),
            size: blank.size.map(SizeDto::from),
        };
        Self {
            revision: facts.revision.clone(),
            mass_g: facts.mass_g,
            size: facts.size.map(SizeDto::from),
            blank: facts.blank.as_ref().map(blank),
            routing_seq: revision.routing.as_ref().map(|_| revision.routing_seq),
        }
    }
}

impl PartDto {
    pub fn of(part: &Part, _: &Shop) -> Self {
        Self {
            id: part.id,
            code: part.code.clone(),
            name: part.name.clone(),
            revisions: part.revisions.iter().map(RevisionDto::from).collect(),
            changed_seq: part.changed_seq,
        }
    }
}
