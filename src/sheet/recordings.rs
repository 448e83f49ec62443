//! The recordings that readings of a job came from.

use std::collections::BTreeMap;

use crate::record::{Event, History, Marked, Picture};

/// The recordings that readings of a job came from, in order. The windows are those of the readings that were not taken
/// back, each with the number of its reading.
pub fn recordings(history: &History) -> Vec<Picture> {
    let lines = history.state().readings.iter().map(|taken| taken.line);
    let number_of: BTreeMap<u64, usize> = lines.zip(1..).collect();
    let entries = history.entries().iter();
    let pictures = entries.filter_map(|entry| {
        let Event::Note {
            recording: Some(picture),
            ..
        } = &entry.event
        else {
            return None;
        };
        let windows = picture.windows.iter().zip(entry.line + 1..);
        let windows = windows.filter_map(|(window, line)| {
            let number = number_of.get(&line)?;
            Some(Marked {
                words: format!("reading {number}: {}", window.words),
                ..window.clone()
            })
        });
        Some(Picture {
            windows: windows.collect(),
            ..(**picture).clone()
        })
    });
    pictures
        .filter(|picture| !picture.windows.is_empty())
        .collect()
}
