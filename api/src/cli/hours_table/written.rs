//! Numbers in words: hours, shares, counts.

use spindlebook_domain::hours::Share;

/// Hours to two digits, half a hundredth up.
pub fn decimal_hours(seconds: i64) -> String {
    let hundredths = (seconds.abs() * 100 + 1_800) / 3_600;
    let sign = if seconds < 0 && hundredths > 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", hundredths / 100, hundredths % 100)
}

/// Hours and minutes, half a minute up.
pub fn hours_and_minutes(seconds: i64) -> String {
    let minutes = (seconds + 30) / 60;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

/// The denominator stands above it.
pub fn percent(share: Option<Share>) -> String {
    share.map_or_else(|| "–".to_owned(), |share| format!("{:.1}", share.percent()))
}

/// With a comma every three digits.
pub fn count(number: usize) -> String {
    let digits = number.to_string();
    let mut written = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            written.push(',');
        }
        written.push(digit);
    }
    written
}
