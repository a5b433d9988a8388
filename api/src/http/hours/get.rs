use super::csv;
use super::dto::{ByName, DayRuleName, HoursDto};
use crate::auth::op;
use crate::hours::{Hours, HoursError, HoursRequest};
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::http::window;
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{HttpRequest, get};
use serde::Deserialize;
use spindlebook_domain::cell::Cell;
use spindlebook_domain::machine::Machine;
use spindlebook_domain::shop::Shop;
use utoipa::{IntoParams, ToSchema};

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct HoursQuery {
    /// The cell, by code or id. May be left out where `machine` is given.
    #[param(value_type = Option<text::CodeOrId>)]
    pub cell: Option<String>,
    /// Only this machine, by code or id.
    #[param(value_type = Option<text::CodeOrId>)]
    pub machine: Option<String>,
    #[param(value_type = text::InstantOrDate)]
    pub from: String,
    /// What lies before it; of a date, before its beginning. At most 400 days after `from`.
    #[param(value_type = text::InstantOrDate)]
    pub to: String,
    /// Without it, by day.
    #[param(inline)]
    pub by: Option<ByName>,
    /// Without it, calendar days. Shifts are always whole.
    #[param(inline)]
    pub day_rule: Option<DayRuleName>,
    /// Goes before the header `Accept`.
    #[param(inline)]
    pub format: Option<Format>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Format {
    Json,
    Csv,
}

/// Report planned and realised spindle hours
///
/// For every row and machine: where its seconds went, what was planned, what it is measured against. As JSON, or as a
/// table for a spreadsheet (`Accept: text/csv` or `format=csv`). Rows that have not begun are left out; the one in
/// progress is cut at `as_of`.
#[utoipa::path(
    operation_id = "getHours",
    tag = "Hours",
    params(HoursQuery),
    responses((status = 200, description = "The report", content((HoursDto = "application/json"), (String = "text/csv"))))
)]
#[get("/v1/hours")]
pub async fn get_hours(
    ask: Ask<op::GetHours>,
    query: Parameters<HoursQuery>,
    hours: Data<Hours>,
    request: HttpRequest,
) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let format = format_of(query.format, &request)?;
    let (cell, machine) = cell_and_machine(&ask.shop, &query)?;
    let zone = ask.site()?.zone;
    let source = ask.hours_source();
    let asked = HoursRequest {
        cell: cell.id,
        machine: machine.map(|machine| machine.id),
        window: window::read(zone, &query.from, &query.to)?,
        by: query.by.unwrap_or(ByName::Day).into(),
        rule: query.day_rule.unwrap_or(DayRuleName::Calendar).into(),
    };
    let report = hours.report(&source, &asked).await?;
    let rules = (asked.by, asked.rule);
    let report = HoursDto::new(&ask.shop, cell, zone, rules, asked.window, source.as_of, &report);
    match format {
        Format::Json => Shown::new(&report),
        Format::Csv => Ok(Shown::of_type(csv::MEDIA_TYPE, csv::table(&report)?)),
    }
}

fn cell_and_machine<'a>(
    shop: &'a Shop,
    query: &HoursQuery,
) -> Result<(&'a Cell, Option<&'a Machine>), Problem> {
    let cell = query
        .cell
        .as_deref()
        .map(|named| find::cell(shop, named))
        .transpose()?;
    let machine = query
        .machine
        .as_deref()
        .map(|named| find::machine(shop, named))
        .transpose()?;
    match (cell, machine) {
        (Some(cell), Some(machine)) if machine.cell != cell.id => {
            let detail = format!("{} is not in the cell {}", machine.code, cell.code);
            Err(wrong("machine", "invalid", &detail))
        }
        (Some(cell), machine) => Ok((cell, machine)),
        (None, Some(machine)) => Ok((find::cell_at(shop, machine.cell)?, Some(machine))),
        (None, None) => Err(wrong(
            "cell",
            "missing",
            "`cell` is missing; send it, or `machine`",
        )),
    }
}

/// What the parameter says, else the first of the types in `Accept` that can be given.
fn format_of(asked: Option<Format>, request: &HttpRequest) -> Result<Format, Problem> {
    if let Some(format) = asked {
        return Ok(format);
    }
    let accept = request
        .headers()
        .get(header::ACCEPT)
        .and_then(|value| value.to_str().ok());
    let Some(accept) = accept.filter(|accept| !accept.trim().is_empty()) else {
        return Ok(Format::Json);
    };
    let given = accept.split(',').filter_map(|range| {
        let mut parts = range.split(';').map(str::trim);
        let format = match parts.next()? {
            "application/json" | "application/*" | "*/*" => Format::Json,
            "text/csv" | "text/*" => Format::Csv,
            _ => return None,
        };
        let quality = parts
            .find_map(|part| part.strip_prefix("q="))
            .map_or(Ok(1.0), str::parse::<f32>);
        quality
            .ok()
            .filter(|quality| *quality > 0.0)
            .map(|quality| (quality, format))
    });
    // Of equal wishes the first one stands.
    let best = given.reduce(|best, one| if one.0 > best.0 { one } else { best });
    best.map(|(_, format)| format).ok_or_else(|| {
        let detail = format!("`{accept}` is not given here; ask for application/json or text/csv");
        let field = FieldError::at(Place::Header("Accept"), "unknown", detail.clone());
        Problem::new(Code::NotAcceptable, format!("{detail}.")).with_field(field)
    })
}

fn wrong(parameter: &'static str, code: &'static str, detail: &str) -> Problem {
    let field = FieldError::at(Place::parameter(parameter), code, detail);
    Problem::new(Code::QueryInvalid, format!("Parameter {parameter}: {detail}.")).with_field(field)
}

impl From<HoursError> for Problem {
    fn from(error: HoursError) -> Self {
        match error {
            HoursError::Store(error) => error.into(),
            other => Self::fault(&other),
        }
    }
}
