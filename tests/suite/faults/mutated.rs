//! Bounded mutation runs over the fuzz targets.

use super::Draws;
use super::targets::{knowledge, knowledge_file, record_line, session, typed};
use crate::textbook::FILES;

/// A few small changes: bits, bytes, lines and words put in, taken out, doubled and swapped.
pub(super) fn mutate(bytes: &mut Vec<u8>, draws: &mut Draws) {
    const WORDS: [&[u8]; 16] = [
        b"-1",
        b"1e308",
        b".nan",
        b"0",
        b"null",
        b"{}",
        b"[]",
        b"*a",
        b"&a ",
        b"!!str ",
        b"\xff",
        b"\0",
        b"\xe2\x80\xae",
        b"\n",
        b": ",
        b"any: [",
    ];
    for _ in 0..=draws.below(4) {
        if bytes.is_empty() {
            return;
        }
        let at = draws.below(bytes.len());
        match draws.below(6) {
            0 => bytes[at] ^= 1 << draws.below(8),
            1 => {
                bytes.remove(at);
            }
            2 => {
                let word = draws.of(&WORDS);
                bytes.splice(at..at, word.iter().copied());
            }
            3 => {
                let end = (at + draws.below(40)).min(bytes.len());
                let part = bytes[at..end].to_vec();
                let to = draws.below(bytes.len());
                bytes.splice(to..to, part);
            }
            4 => {
                let end = (at + draws.below(40)).min(bytes.len());
                bytes.drain(at..end);
            }
            _ => {
                let mut lines: Vec<Vec<u8>> = bytes
                    .split_inclusive(|byte| *byte == b'\n')
                    .map(<[u8]>::to_vec)
                    .collect();
                let (one, other) = (draws.below(lines.len()), draws.below(lines.len()));
                lines.swap(one, other);
                *bytes = lines.concat();
            }
        }
    }
}

fn of_knowledge(times: usize) {
    let mut draws = Draws(3);
    for _ in 0..times {
        let mut files: Vec<(String, Vec<u8>)> = FILES
            .iter()
            .map(|(path, text)| ((*path).to_owned(), text.as_bytes().to_vec()))
            .collect();
        let place = draws.below(files.len());
        mutate(&mut files[place].1, &mut draws);
        if draws.below(50) == 0 {
            knowledge_file(&files[place].1);
        }
        knowledge(files);
    }
}

#[test]
fn mutated_knowledge_is_refused_in_words_or_gives_beliefs() {
    of_knowledge(1_000);
}

#[test]
#[ignore = "the long form"]
fn knowledge_mutated_a_hundred_thousand_times_is_refused_in_words_or_gives_beliefs() {
    of_knowledge(100_000);
}

fn of_typing(times: usize) {
    let seeds: [&[u8]; 8] = [
        b"12.5 kPa",
        b"1,200 rpm",
        b"78C",
        b"10..12 V",
        b"0.35 +- 0.02",
        b"= -450",
        b"P0841 u0100",
        b"not taken",
    ];
    let lines = b"it slips in forward\nslipping\ntake recent-work\nnormal\nback\nalso no-drive\nskip\nwhy\nrepair\nyes\n1\ndone\n";
    let mut draws = Draws(4);
    for turn in 0..times {
        let mut bytes = draws.of(&seeds).to_vec();
        mutate(&mut bytes, &mut draws);
        typed(&bytes);
        record_line(&bytes);
        if turn % 200 == 0 {
            let mut bytes = lines.to_vec();
            mutate(&mut bytes, &mut draws);
            session(&bytes);
        }
    }
}

#[test]
fn mutated_typing_is_read_asked_about_or_refused() {
    of_typing(1_000);
}

#[test]
#[ignore = "the long form"]
fn typing_mutated_a_hundred_thousand_times_is_read_asked_about_or_refused() {
    of_typing(100_000);
}
