//! The order that is asked about, one line of a known part.

use crate::cli::failure::Failure;
use crate::http::orders::line_dto::PriorityName;
use crate::http::plans::asked_line::{AskedLineBody, hypothetical};
use crate::http::whole::Whole;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use spindlebook_domain::code::Code;
use spindlebook_domain::plan::hypothetical::Hypothetical;
use spindlebook_domain::shop::Shop;

#[derive(Args, Debug)]
#[command(next_help_heading = "The order")]
pub struct LineArgs {
    /// The part's code
    #[arg(long, value_name = "CODE")]
    part: String,
    /// Its revision; without it the newest that has a routing
    #[arg(long, value_name = "CODE")]
    revision: Option<String>,
    /// How many pieces
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    quantity: u32,
    /// Due until the end of this day, like 2026-11-20
    #[arg(long, value_name = "DATE")]
    due: Option<NaiveDate>,
    /// How its hours of lateness count
    #[arg(long, value_enum, default_value = "normal")]
    priority: Priority,
    /// When its material is expected; without it, it is here
    #[arg(long, value_name = "DATE")]
    material: Option<NaiveDate>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Priority {
    Rush,
    Normal,
    Fill,
}

impl LineArgs {
    pub fn line(&self, shop: &Shop) -> Result<Hypothetical, Failure> {
        let part = shop
            .parts
            .values()
            .find(|part| part.code.as_str().eq_ignore_ascii_case(&self.part));
        let part =
            part.ok_or_else(|| Failure::refused(format!("there is no part `{}` at this site", self.part)))?;
        let revision = self.revision.clone().map(Code::try_from).transpose();
        let asked = AskedLineBody {
            part: Some(part.id),
            revision: revision.map_err(|error| Failure::usage(format!("--revision: {error}")))?,
            operations: Vec::new(),
            quantity: Whole::clamped(i64::from(self.quantity)),
            due: self.due,
            priority: match self.priority {
                Priority::Rush => PriorityName::Rush,
                Priority::Normal => PriorityName::Normal,
                Priority::Fill => PriorityName::Fill,
            },
            material_expected: self.material,
        };
        hypothetical(shop, 0, &asked).map_err(|problem| Failure::refused(problem.to_string()))
    }
}
