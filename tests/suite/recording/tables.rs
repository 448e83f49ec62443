//! How a table is written: delimiters, decimal signs, headers, units, clocks, and what is refused.

use halfsplit::recording::Table;
use halfsplit::recording::series::{Cursor, median};
use halfsplit::recording::table::Unreadable;
use halfsplit::units::Unit;

use super::driveline::{Chance, Faults, Recorder, drive, road_test};
use super::{drive_of, family, report};

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
    assert!(refusal(b"a,b\n1,\x002\n").starts_with("row 2, column 1: this is no text"));
    assert!(refusal(b"engine,turbine\n700,690\n710,700\n").contains("no column tells the time"));
    assert!(refusal(b"0.0,700\n0.1,710\n").contains("a row of names belongs above it"));
    let shifted = "Time (s),Engine speed (rpm)\n0.0,700\n0.1,710,5\n";
    assert_eq!(refused(shifted), (3, "3".to_owned()));
}

#[test]
fn a_signal_of_one_sample_has_no_event() {
    let report = report("Time (s),Engine speed (rpm),Throttle (%)\n0,,1\n1,700,2\n2,,1\n").unwrap();
    let samples: Vec<usize> = report.signals.iter().map(|signal| signal.samples).collect();
    assert_eq!((samples, report.events.len()), (vec![1, 3], 0));
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

#[test]
fn a_table_in_utf_16_of_either_byte_order_is_read_as_in_utf_8() {
    let text = "Time (s),Engine speed (rpm),Fluid temperature (°C)\r\n0.0,700,80\r\n0.1,710,81\r\n";
    let units = || std::iter::once(0xfeff).chain(text.encode_utf16());
    let little: Vec<u8> = units().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = units().flat_map(u16::to_be_bytes).collect();
    for bytes in [little, big] {
        let read = Table::of(bytes.as_slice()).unwrap().0;
        assert_eq!(read, table(text));
        assert_eq!(read.columns[2].unit, Some(Unit::Celsius));
    }
}

#[test]
fn a_header_in_windows_1252_has_its_degrees() {
    let text = b"Time (s);Fluid temperature (\xb0C);Lag (\xb5s)\n0,0;80,5;1\n0,1;81,0;2\n";
    let (table, _) = Table::of(text.as_slice()).unwrap();
    assert_eq!(table.columns[1].unit, Some(Unit::Celsius));
    assert_eq!(table.columns[2].name, "Lag (µs)");
}

#[test]
fn rows_are_counted_by_line_ends_of_either_kind() {
    for end in ["\n", "\r\n"] {
        let rows = [
            "Drive",
            "",
            "Time (s),Engine speed (rpm)",
            "0.0,700",
            "",
            "0.1,705",
            "0.2,710,5",
        ];
        let text = rows.join(end);
        let table = table(&text);
        assert_eq!((table.header, table.first), (3, 4), "{end:?}");
        assert_eq!(refused(&text), (7, "3".to_owned()), "{end:?}");
    }
}

#[test]
fn a_row_far_down_is_named_though_blocks_of_rows_are_read_side_by_side() {
    // Quoted cells with line ends and quotation marks of their own: 60,000 rows in some ten blocks, of two lines each.
    let mut text = String::from("Time (s),Note,Engine speed (rpm)\n");
    for row in 0..60_000 {
        text += &format!(
            "{}.{:02},\"a \"\"b\"\",\nc {row}\",{}\n",
            row / 50,
            2 * (row % 50),
            700 + row % 50
        );
    }
    let read = report(&text).unwrap();
    assert_eq!((read.rows, read.seconds), (60_000, 1199.98));
    assert_eq!(read.signals[0].samples, 60_000);
    assert_eq!(
        refused(&format!("{text}1200.0,x,700,9\n")),
        (120_002, "4".to_owned())
    );
    assert_eq!(
        refused(&format!("{text}1200.0,\"x,700\n")),
        (120_002, "2".to_owned())
    );
    assert_eq!(refused(&format!("{text}noon,x,700\n")).0, 120_002);
    // Of two refusals the first counts.
    assert_eq!(
        refused(&format!("{text}1200.0,x,700,9\nnoon,\"x\n")).0,
        120_002
    );
}

/// The row and the column of a refused table.
fn refused(text: &str) -> (u64, String) {
    match report(text) {
        Err(Unreadable::Refused(refused)) => (refused.row, refused.column),
        read => panic!("{:?}", read.map(|report| report.rows)),
    }
}

#[test]
fn samples_are_kept_to_the_last_digit() {
    // Numbers of 0 to 4 digits, some of many, at uneven times.
    let mut chance = Chance::new(3);
    let mut text = String::from("Time (s),Engine speed (rpm)\n");
    let (mut samples, mut time) = (Vec::new(), 0.0);
    for row in 0..3000 {
        time += 0.011 + 0.05 * chance.share();
        let digits = if row > 2000 { 12 } else { chance.below(5) };
        let cells = (
            format!("{time:.3}"),
            format!("{:.digits$}", chance.between(0.0, 6000.0)),
        );
        text += &format!("{},{}\n", cells.0, cells.1);
        samples.push((
            cells.0.parse::<f64>().unwrap(),
            cells.1.parse::<f64>().unwrap(),
        ));
    }
    let drive = drive_of(&text);
    let series = drive.signals.iter().flatten().next().unwrap();
    let start = samples[0].0;
    for sample in &mut samples {
        sample.0 -= start;
    }
    assert_eq!(series.samples().collect::<Vec<_>>(), samples);
    // Between them: on the line, whether it is searched or walked to.
    let mut cursor = Cursor::new(series);
    for place in 0..5000 {
        let at = if place < 4000 {
            f64::from(place) * 0.03 - 1.0
        } else {
            chance.between(-1.0, 130.0)
        };
        let next = samples
            .iter()
            .position(|(time, _)| *time > at)
            .unwrap_or(samples.len());
        let expected = next.checked_sub(1).and_then(|before| {
            let ((from, a), (to, b)) = (samples[before], *samples.get(next)?);
            Some(a + (b - a) * (at - from) / (to - from))
        });
        let close = |found: Option<f64>| match (found, expected) {
            (Some(found), Some(expected)) => (found - expected).abs() < 1e-6,
            (found, expected) => found == expected,
        };
        assert!(close(series.at(at)) && close(cursor.at(at)), "{at}");
    }
}

#[test]
fn the_middle_of_numbers_is_that_of_the_sorted_ones() {
    let mut chance = Chance::new(9);
    for count in 1..60 {
        let mut numbers: Vec<f64> = (0..count).map(|_| chance.below(20) as f64).collect();
        let mut sorted = numbers.clone();
        sorted.sort_by(f64::total_cmp);
        let middle = f64::midpoint(sorted[(count - 1) / 2], sorted[count / 2]);
        assert_eq!(median(&mut numbers), Some(middle), "{sorted:?}");
    }
    assert_eq!(median(&mut []), None);
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
