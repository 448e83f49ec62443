//! Puts the shipped knowledge into the program: each file as text, and with what a YAML parser says of it, so that
//! the program need not parse it again each time it starts. `src/load/shipped.rs` reads what is written here.

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

use hidden::is_hidden_in_text;

#[allow(dead_code, reason = "some of it only the program itself needs")]
#[path = "src/load/document.rs"]
mod document;
#[path = "src/text/hidden.rs"]
mod hidden;

fn main() -> Result<(), Box<dyn Error>> {
    // The compiler itself watches only the files that were there before.
    println!("cargo:rerun-if-changed=knowledge");
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-changed=src/load/document.rs");
    println!("cargo:rerun-if-changed=src/text/hidden.rs");
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("knowledge");
    let out = PathBuf::from(env::var("OUT_DIR")?);
    let mut paths = Vec::new();
    walk(&root, &mut paths)?;
    let mut files = Vec::new();
    for path in paths {
        let name = path.strip_prefix(&root)?.to_string_lossy();
        files.push((name.replace('\\', "/"), path));
    }
    files.sort();
    let mut list = String::from("&[\n");
    for (number, (name, path)) in files.iter().enumerate() {
        let text = fs::read_to_string(path)?;
        let parsed = out.join(format!("{number}.document"));
        fs::write(&parsed, stored(&text).unwrap_or_default())?;
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

/// The document of a text as bytes, as `src/load/shipped.rs` reads them. `None` where a shipped file has a mistake: the
/// program then parses it, and says which.
fn stored(text: &str) -> Option<Vec<u8>> {
    let (document, flaws) = document::parse(text, &is_hidden_in_text).ok()?;
    if !flaws.is_empty() || text.chars().any(is_hidden_in_text) {
        return None;
    }
    let document::Items::Read(items) = document.items else {
        return None;
    };
    let rewritten = document.texts.rewritten;
    let mut bytes = document::number(rewritten.len()).to_le_bytes().to_vec();
    bytes.extend(rewritten.bytes());
    bytes.extend(items.iter().flat_map(stored_item));
    Some(bytes)
}

fn stored_item(item: &document::Item) -> impl Iterator<Item = u8> + use<> {
    let first = item.place.column << 8 | item.shape as u32;
    let numbers = [first, item.place.line, item.start, item.extent];
    numbers.into_iter().flat_map(u32::to_le_bytes)
}
