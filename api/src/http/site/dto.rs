use crate::http::text;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::site::{ChangeSite, Site};
use utoipa::ToSchema;

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Site, example = json!({"id": "01936b5e-5c00-7000-8000-000000000001", "code": "north", "name": "Invented shop",
    "zone": "Europe/Berlin", "changed_seq": 1}))]
pub struct SiteDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: SiteId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[schema(value_type = text::Zone)]
    pub zone: Tz,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

impl From<&Site> for SiteDto {
    fn from(site: &Site) -> Self {
        Self {
            id: site.id,
            code: site.code.clone(),
            name: site.name.clone(),
            zone: site.zone,
            changed_seq: site.changed_seq,
        }
    }
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Invented shop", "zone": "Europe/Berlin"}))]
pub struct SiteBody {
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// Shifts, days, weeks and months are cut in it, those of the past too.
    #[schema(value_type = text::Zone)]
    pub zone: ZoneName,
}

impl SiteBody {
    pub fn into_command(self, expected: Option<Seq>) -> ChangeSite {
        ChangeSite {
            name: self.name,
            zone: self.zone.0,
            expected,
        }
    }
}

/// A zone whose refusal says what a zone looks like.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(try_from = "String")]
pub struct ZoneName(pub Tz);

#[derive(Debug, thiserror::Error)]
#[error("`{0}` is no IANA time zone: use a name like Europe/Berlin or America/New_York")]
pub struct NoSuchZone(String);

impl TryFrom<String> for ZoneName {
    type Error = NoSuchZone;
    fn try_from(name: String) -> Result<Self, NoSuchZone> {
        let zone = name.parse().map(Self);
        zone.map_err(|_| NoSuchZone(name.chars().take(64).collect()))
    }
}
