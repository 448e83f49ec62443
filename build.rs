//! Puts the shipped knowledge into the program: each file as text, and with what a YAML parser says of it, so that
//! the program need not parse it again each time it starts. `src/load/shipped.rs` reads what is written here.

use std::borrow::Cow;
use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

use granit_parser::{Event, Options, Parser, ScalarStyle};

fn main() -> Result<(), Box<dyn Error>> {
    // The compiler itself watches only the files that were there before.
    println!("cargo:rerun-if-changed=knowledge");
    println!("cargo:rerun-if-changed=build.rs");
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("knowledge");
    let out = PathBuf::from(env::var("OUT_DIR")?);
    let mut paths = Vec::new();
    walk(&root, &mut paths)?;
    paths.sort();
    let mut list = String::from("&[\n");
    for (number, path) in paths.iter().enumerate() {
        let text = fs::read_to_string(path)?;
        let parsed = out.join(format!("{number}.events"));
        fs::write(&parsed, events(&text).unwrap_or_default())?;
        let name = path.strip_prefix(&root)?.to_string_lossy();
        let name = name.replace('\\', "/");
        let [path, parsed] = [path, &parsed].map(|path| path.to_string_lossy());
        writeln!(
            list,
            "({name:?}, include_str!({path:?}), include_bytes!({parsed:?})),"
        )?;
    }
    list.push_str("]\n");
    fs::write(out.join("shipped.rs"), list)?;
    Ok(())
}

fn walk(folder: &Path, paths: &mut Vec<PathBuf>) -> Result<(), Box<dyn Error>> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            walk(&path, paths)?;
        } else {
            paths.push(path);
        }
    }
    Ok(())
}

/// The events of a text: each a letter, its line and column, and for a text its length and where in the file it
/// stands, or its length and itself where the file has it otherwise. `None` where the text is no YAML or uses more of
/// it than shipped files do: the program then parses it.
fn events(text: &str) -> Option<Vec<u8>> {
    let mut options = Options::default();
    options.set_emit_comments(false);
    let mut bytes = Vec::new();
    for event in Parser::new_from_str_with_options(text, options) {
        let (event, span) = event.ok()?;
        let letter = match &event {
            Event::StreamStart
            | Event::DocumentStart(false, None)
            | Event::DocumentEnd
            | Event::StreamEnd => continue,
            Event::SequenceStart(_, 0, None) => b'[',
            Event::SequenceEnd => b']',
            Event::MappingStart(_, 0, None) => b'{',
            Event::MappingEnd => b'}',
            Event::Scalar(Cow::Borrowed(_), ScalarStyle::Plain, 0, None) => b'p',
            Event::Scalar(Cow::Owned(_), ScalarStyle::Plain, 0, None) => b'P',
            Event::Scalar(Cow::Borrowed(_), _, 0, None) => b'q',
            Event::Scalar(Cow::Owned(_), _, 0, None) => b'Q',
            _ => return None,
        };
        bytes.push(letter);
        number(&mut bytes, span.start.line());
        number(&mut bytes, span.start.col() + 1);
        if let Event::Scalar(scalar, ..) = event {
            number(&mut bytes, scalar.len());
            match scalar {
                Cow::Borrowed(part) => {
                    number(&mut bytes, part.as_ptr() as usize - text.as_ptr() as usize);
                }
                Cow::Owned(own) => bytes.extend(own.bytes()),
            }
        }
    }
    Some(bytes)
}

/// A number in groups of seven bits, the lowest first, the last without the top bit.
fn number(bytes: &mut Vec<u8>, mut number: usize) {
    while number > 127 {
        bytes.push(number.to_le_bytes()[0] | 128);
        number >>= 7;
    }
    bytes.push(number.to_le_bytes()[0]);
}
