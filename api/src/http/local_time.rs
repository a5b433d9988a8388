//! Instants that a body may give either as such or by the wall clock of the site.

use super::body;
use super::instant::{AtLocal, Instant};
use crate::problem::{Code, FieldError, Place, Problem};
use chrono_tz::Tz;
use spindlebook_domain::local_time::{LocalInstant, LocalTimeRefusal, resolve};
use spindlebook_domain::time::Timestamp;

/// The two fields in which one instant can stand. `place` is the pointer of the object that holds them.
pub struct Given<'a> {
    pub place: &'a dyn Fn() -> String,
    pub field: &'static str,
    pub local_field: &'static str,
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

impl Given<'_> {
    /// `None` where neither field is there.
    pub fn instant(&self, zone: Tz) -> Result<Option<Timestamp>, Problem> {
        match (self.at, self.at_local) {
            (Some(_), Some(_)) => {
                let detail = format!("`{}` stands there already; send one of the two", self.field);
                Err(body::invalid(FieldError::at(
                    self.local_place(),
                    "repeated",
                    detail,
                )))
            }
            (Some(at), None) => Ok(Some(at.0)),
            (None, Some(local)) => {
                let occurrence = local.occurrence.map(Into::into);
                let at =
                    resolve(zone, local.local.0, occurrence).map_err(|refusal| self.refused(&refusal))?;
                Ok(Some(at))
            }
            (None, None) => Ok(None),
        }
    }

    pub fn required(&self, zone: Tz) -> Result<Timestamp, Problem> {
        self.instant(zone)?.ok_or_else(|| {
            let place = Place::pointer(format!("{}/{}", (self.place)(), self.field));
            let detail = format!("`{}` is missing; send it, or `{}`", self.field, self.local_field);
            body::invalid(FieldError::at(place, "missing", detail))
        })
    }

    fn local_place(&self) -> Place {
        Place::pointer(format!("{}/{}", (self.place)(), self.local_field))
    }

    /// Both instants that can be meant are told, so that a screen can offer them.
    fn refused(&self, refusal: &LocalTimeRefusal) -> Problem {
        let sentence = refusal.to_string();
        let problem = match refusal {
            LocalTimeRefusal::DoesNotExist { earlier, later, .. } => {
                Problem::new(Code::LocalTimeDoesNotExist, format!("{sentence}."))
                    .with("earlier", instant_json(earlier))
                    .with("later", instant_json(later))
            }
            LocalTimeRefusal::ExistsTwice { first, second, .. } => Problem::new(
                Code::LocalTimeExistsTwice,
                format!("{sentence}; send `occurrence`."),
            )
            .with("first", instant_json(first))
            .with("second", instant_json(second)),
        };
        problem.with_field(FieldError::at(self.local_place(), refusal.code(), sentence))
    }
}

fn instant_json(one: &LocalInstant) -> serde_json::Value {
    serde_json::json!({ "at": one.at.to_string(), "local": one.to_string() })
}
