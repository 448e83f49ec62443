//! How a table is written: delimiters, decimal signs, headers, units, clocks, and what is refused.

use halfsplit::recording::Table;
use halfsplit::recording::table::Unreadable;
use halfsplit::units::Unit;

use super::driveline::{Chance, Faults, Recorder, drive, road_test};
use super::{family, report};

/// How a text is written.
fn table(text: &str) -> Table {
    Table::of(text.as_bytes()).map_or_else(|error| panic!("{error}"), |(table, _)| table)
}

/// Why a text is refused.
fn refusal(text: &[u8]) -> String {
    match Table::of(text) {
        Ok(_) => panic!("it is read"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn a_table_with_semicolons_decimal_commas_and_lines_above_its_header_is_read() {
    let text = "Log of a drive;;;\nDate: today;;;\nTime [s];Engine speed [rpm];Throttle [%];Lever\n\
                0,0;712;0,5;P\n0,1;715;0,5;P\n0,2;718;1,0;P\n";
    let table = table(text);
    assert_eq!(
        (
            table.delimiter,
            table.decimal_comma,
            table.header,
            table.first
        ),
        (';', true, 3, 4)
    );
    assert_eq!(table.columns[1].name, "Engine speed");
    assert_eq!(table.columns[1].unit, Some(Unit::PerMinute));
}

#[test]
fn units_stand_in_brackets_in_a_row_of_their_own_or_at_the_end_of_a_name() {
    let apart = table("time\tengine\tfluid temp\ns\trpm\t°C\n0\t700\t80\n1\t702\t80\n");
    let ends = table("time_s,engine_speed_rpm,fluid_temp_C\n0,700,80\n1,702,80\n");
    for table in [&apart, &ends] {
        assert_eq!(
            table.columns[1].unit,
            Some(Unit::PerMinute),
            "{:?}",
            table.columns
        );
        assert_eq!(table.first, if table.delimiter == '\t' { 3 } else { 2 });
    }
    assert_eq!(apart.columns[2].unit, Some(Unit::Celsius));
}

#[test]
fn a_clock_may_count_milliseconds_or_tell_the_time_of_day_over_midnight() {
    let of = |first: &str, then: &str| {
        let text = format!("Time,Engine speed,Turbine speed\n{first},700,690\n{then},720,700\n");
        report(&text).unwrap().seconds
    };
    assert_eq!(of("120", "220"), 0.1);
    assert_eq!(of("23:59:59.5", "00:00:00.5"), 1.0);
    assert_eq!(
        of("2026-01-01T08:00:00.250", "2026-01-01T08:00:01.500"),
        1.25
    );
}

#[test]
fn a_column_goes_by_the_clock_to_its_left() {
    let text = "Time 1 (s),Engine speed (rpm),Time 2 (s),Fluid temperature (°C)\n\
                0.0,700,0.0,80\n0.1,710,5.0,81\n0.2,720,10.0,82\n";
    let report = report(text).unwrap();
    let every: Vec<f64> = report
        .signals
        .iter()
        .map(|signal| signal.interval)
        .collect();
    assert_eq!(every, [0.1, 5.0]);
}

#[test]
fn what_is_no_table_of_signals_over_time_is_refused_with_its_row_and_column() {
    assert!(refusal(b"").starts_with("row 1, column 1: this is no table"));
    assert!(refusal(b"\xff\xfea\0b\0").contains("UTF-16"));
    assert!(refusal(b"a,b\n1,\x002\n").starts_with("row 2, column 1: this is no text"));
    assert!(refusal(b"engine,turbine\n700,690\n710,700\n").contains("no column tells the time"));
    assert!(refusal(b"0.0,700\n0.1,710\n").contains("a row of names belongs above it"));
    let shifted = "Time (s),Engine speed (rpm)\n0.0,700\n0.1,710,5\n";
    let Err(Unreadable::Refused(refused)) = report(shifted) else {
        panic!("it is read");
    };
    assert_eq!((refused.row, refused.column.as_str()), (3, "3"));
}

#[test]
fn impossible_values_are_left_out_and_told() {
    let mut text = String::from("Time (s),Engine speed (rpm),Selector\n");
    for row in 0..200 {
        let speed = if row == 50 { 65_535 } else { 700 + row % 3 };
        text += &format!("{}.{},{speed},P\n", row / 10, row % 10);
    }
    let report = report(&text).unwrap();
    let engine = report
        .signals
        .iter()
        .find(|signal| signal.signal == "engine-speed")
        .unwrap();
    assert_eq!((engine.samples, engine.unreadable), (199, 1));
    assert!(
        report.remarks[0].contains("row 52: \"65535\"") || report.remarks[0].contains("row 52"),
        "{:?}",
        report.remarks
    );
}

#[test]
fn a_column_is_not_proposed_where_its_numbers_cannot_be_the_signal() {
    // Called secondary speed, and four times the primary: no pulley pair turns so.
    let mut text = String::from("Time (s),Primary speed (rpm),Secondary speed (rpm)\n");
    for row in 0..50 {
        text += &format!("{row},{},{}\n", 1000 + row, 4 * (1000 + row));
    }
    let report = report(&text).unwrap();
    let found: Vec<&str> = report
        .signals
        .iter()
        .map(|signal| signal.signal.as_str())
        .collect();
    assert_eq!(found, ["primary-speed"]);
    assert!(family().signal_named("secondary-speed").is_some());
}

/// Changes a text as a transfer, an editor or an export may.
fn mutated(text: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = text.to_vec();
    for _ in 0..=chance.below(6) {
        let at = chance.below(bytes.len().max(1));
        let strange = [
            b',', b';', b'\t', b'"', b'\n', 0, b'-', b'.', 0xff, b'e', b'9', b':',
        ];
        match chance.below(6) {
            0 => bytes.truncate(at),
            1 => bytes.insert(at.min(bytes.len()), strange[chance.below(strange.len())]),
            2 if at < bytes.len() => bytes[at] = strange[chance.below(strange.len())],
            3 => {
                let end = (at + chance.below(200)).min(bytes.len());
                bytes.drain(at.min(end)..end);
            }
            4 => {
                let end = (at + chance.below(400)).min(bytes.len());
                let piece = bytes[at.min(end)..end].to_vec();
                let to = chance.below(bytes.len().max(1)).min(bytes.len());
                bytes.splice(to..to, piece);
            }
            _ => {
                let line = bytes.iter().position(|byte| *byte == b'\n').unwrap_or(0);
                bytes.drain(..line);
            }
        }
    }
    bytes
}

/// Reads mutations of a table; gives how many were refused.
fn mutations(count: u64) -> usize {
    let moments = drive(&road_test()[..6], &Faults::default());
    let text = Recorder::at(5.0, 3).table(&moments);
    let mut refused = 0;
    for seed in 0..count {
        let bytes = mutated(text.as_bytes(), &mut Chance::new(seed));
        let read = Table::of(bytes.as_slice()).and_then(|(table, source)| {
            let mapping = halfsplit::recording::Mapping::propose(family(), &table);
            let drive = halfsplit::recording::Drive::read(family(), &table, &mapping, source)?;
            Ok(halfsplit::recording::events(&drive, None).len())
        });
        if let Err(error) = read {
            let words = error.to_string();
            assert!(
                words.starts_with("row ") && words.contains(", column "),
                "{seed}: {words}"
            );
            refused += 1;
        }
    }
    refused
}

#[test]
fn a_malformed_table_is_read_or_refused_with_row_and_column() {
    let refused = mutations(500);
    assert!((20..480).contains(&refused), "{refused} refused");
}

#[test]
#[ignore = "10,000 tables, a minute"]
fn ten_thousand_malformed_tables_are_read_or_refused_with_row_and_column() {
    mutations(10_000);
}
