//! How a report is cut into rows: the same options for every command that prints one.

use chrono_tz::Tz;
use clap::{Args, ValueEnum};
use spindlebook_domain::hours::rows::{By, DayRule};

#[derive(Args, Clone, Copy, Debug)]
pub struct RowChoice {
    /// What a row is
    #[arg(long = "by", value_enum, id = "by")]
    by_word: ByWord,
    /// Which day a night shift belongs to: calendar cuts it at midnight, shift-date keeps it whole with the day on
    /// which it began
    #[arg(long = "day-rule", value_enum, default_value = "calendar", id = "day_rule")]
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
        let rows = match (self.by(), self.day_rule()) {
            (By::Shift, _) => "by shift and by the gaps between shifts; a night shift belongs to the date on which it begins".to_owned(),
            (by, DayRule::Calendar) => format!("by {} of calendar days, from midnight to midnight: a night shift is cut in two", noun(by)),
            (by, DayRule::ShiftDate) => format!("by {} of shift dates, from first shift to first shift: a night shift stays whole", noun(by)),
        };
        format!("{rows}; times of {zone}")
    }
}

const fn noun(by: By) -> &'static str {
    match by {
        By::Shift => "shift",
        By::Day => "day",
        By::Week => "ISO week",
        By::Month => "month",
    }
}
