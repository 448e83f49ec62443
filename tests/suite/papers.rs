use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::shop::{Shop, program};

/// A command shown in a paper, what is typed into it, and what it must print: in order, `…` alone on
/// a line standing for lines that are left out.
struct Example {
    file: String,
    arguments: Vec<String>,
    typed: String,
    printed: Vec<String>,
}

fn examples() -> Vec<Example> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = vec![root.join("README.md"), root.join("DEVELOPERS.md")];
    files.extend(
        fs::read_dir(root.join("docs"))
            .unwrap()
            .map(|entry| entry.unwrap().path()),
    );
    files.retain(|file| file.extension().is_some_and(|ending| ending == "md"));
    files.sort();
    files
        .iter()
        .flat_map(|file| {
            examples_of(
                &file.display().to_string(),
                &fs::read_to_string(file).unwrap(),
            )
        })
        .collect()
}

fn examples_of(file: &str, text: &str) -> Vec<Example> {
    text.split("```console\n")
        .skip(1)
        .map(|block| {
            let mut lines = block.split("\n```").next().unwrap().lines().peekable();
            let command = lines
                .next()
                .unwrap()
                .strip_prefix("$ halfsplit ")
                .unwrap_or_else(|| panic!("{file}: {block}"));
            let (command, typed) = match command.strip_suffix(" <<TYPED") {
                None => (command, String::new()),
                Some(command) => {
                    let typed: Vec<&str> =
                        lines.by_ref().take_while(|line| *line != "TYPED").collect();
                    (command, typed.join("\n") + "\n")
                }
            };
            Example {
                file: file.to_owned(),
                arguments: command.split(' ').map(str::to_owned).collect(),
                typed,
                printed: lines.map(str::to_owned).collect(),
            }
        })
        .collect()
}

/// Whether the lines stand in the text in order, one below the other but for what `…` leaves out.
fn stands(text: &str, printed: &[String]) -> Result<(), String> {
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    let mut at = 0;
    let mut skipping = false;
    for wanted in printed {
        if wanted == "…" {
            skipping = true;
            continue;
        }
        let found = if skipping {
            lines[at..].iter().position(|line| line == wanted)
        } else {
            (lines.get(at) == Some(&wanted.as_str())).then_some(0)
        };
        let Some(found) = found else {
            return Err(format!(
                "{wanted:?} does not follow in\n{}",
                lines[at..].join("\n")
            ));
        };
        at += found + 1;
        skipping = false;
    }
    if skipping || at == lines.len() {
        Ok(())
    } else {
        Err(format!("more is printed:\n{}", lines[at..].join("\n")))
    }
}

#[test]
fn every_command_shown_in_a_paper_prints_what_is_shown() {
    let examples = examples();
    assert!(examples.len() >= 5, "{}", examples.len());
    // What the commands of one paper write stands for those further down.
    let mut folders: BTreeMap<String, TempDir> = BTreeMap::new();
    for example in examples {
        let arguments: Vec<&str> = example.arguments.iter().map(String::as_str).collect();
        if arguments[0] == "new" {
            let folder = folders
                .entry(example.file.clone())
                .or_insert_with(|| TempDir::new().unwrap());
            let output = program(&arguments, "", folder.path(), &BTreeMap::new());
            let out = String::from_utf8(output.stdout).unwrap();
            if let Err(words) = stands(&out, &example.printed) {
                panic!(
                    "{}: halfsplit {}: {words}",
                    example.file,
                    arguments.join(" ")
                );
            }
            continue;
        }
        let shop = if arguments[0] == "diagnose" {
            Shop::diagnose(arguments[1..].iter().copied())
        } else {
            Shop::new().arguments(arguments.iter().copied())
        };
        let told = shop.types(example.typed.clone()).run();
        if let Err(words) = stands(&told.out, &example.printed) {
            panic!(
                "{}: halfsplit {}: {words}",
                example.file,
                arguments.join(" ")
            );
        }
    }
}
