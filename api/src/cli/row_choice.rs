//! How a report is cut into rows: the same options for every command that prints one.

use chrono_tz::Tz;
use clap::{Args, ValueEnum};
use spindlebook_domain::hours::rows::{By, DayRule};

#[derive(Args, Clone, Copy, Debug)]
pub struct RowChoice {
    /// What a row is
    #[arg(long = "by", value_enum, id = "by", value_name = "ROW")]
    by_word: ByWord,
    /// Which day a night shift belongs to: calendar cuts it at midnight, shift-date keeps it whole with the day on
    /// which it began
    #[arg(
        long = "day-rule",
        value_enum,
        default_value = "calendar",
        id = "day_rule",
        value_name = "RULE"
    )]
    rule_word: RuleWord,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ByWord {
    Shift,
    Day,
    Week,
    Month,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum RuleWord {
    Calendar,
    #[value(alias = "shift_date")]
    ShiftDate,
}

impl RowChoice {
    pub const fn by(self) -> By {
        match self.by_word {
            ByWord::Shift => By::Shift,
            ByWord::Day => By::Day,
            ByWord::Week => By::Week,
            ByWord::Month => By::Month,
        }
    }

    pub const fn day_rule(self) -> DayRule {
        match self.rule_word {
            RuleWord::Calendar => DayRule::Calendar,
            RuleWord::ShiftDate => DayRule::ShiftDate,
        }
    }

    /// What the rows are, in words.
    pub fn sentence(self, zone: Tz) -> String {
        const CUT: &str = "from midnight to midnight: a night shift is cut in two";
        const WHOLE: &str = "from first shift to first shift: a night shift stays whole";
        let rows = match (self.by(), self.day_rule()) {
            (By::Shift, _) => {
                "by shift, with the gaps between shifts; a night shift belongs to the date on which it begins"
                    .to_owned()
            }
            (By::Day, DayRule::Calendar) => format!("by calendar day, {CUT}"),
            (By::Week, DayRule::Calendar) => format!("by ISO week of calendar days, {CUT}"),
            (By::Month, DayRule::Calendar) => format!("by month of calendar days, {CUT}"),
            (By::Day, DayRule::ShiftDate) => format!("by shift date, {WHOLE}"),
            (By::Week, DayRule::ShiftDate) => format!("by ISO week of shift dates, {WHOLE}"),
            (By::Month, DayRule::ShiftDate) => format!("by month of shift dates, {WHOLE}"),
        };
        format!("{rows}; times of {zone}")
    }
}
