//! What a record is called when nobody names it.

use jiff::civil::Date;

/// The file name of a date's record with a running number: `2026-11-25-1.job.jsonl`.
pub fn file_name(date: Date, number: u32) -> String {
    format!("{date}-{number}.job.jsonl")
}
