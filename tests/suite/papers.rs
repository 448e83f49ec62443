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

/// The folders `older` and `newer` that a page compares: the family on the page of the knowledge format,
/// and the same with the edits shown in the blocks of the page marked `diff`. A block names its file; each run of
/// `-` lines stands in it once and becomes the `+` lines behind it.
fn editions(page: &str) -> TempDir {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = TempDir::new().unwrap();
    let knowledge = fs::read_to_string(root.join("docs/knowledge.md")).unwrap();
    for block in knowledge.split("```yaml\n# ").skip(1) {
        let (path, rest) = block.split_once('\n').unwrap();
        for edition in ["older", "newer"] {
            let path = folder.path().join(edition).join(path);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, rest.split("```").next().unwrap()).unwrap();
        }
    }
    let page = fs::read_to_string(page).unwrap();
    for block in page.split("```diff\n# ").skip(1) {
        let mut lines = block.split("\n```").next().unwrap().lines().peekable();
        let path = folder.path().join("newer").join(lines.next().unwrap());
        let mut text = fs::read_to_string(&path).unwrap();
        while lines.peek().is_some() {
            let mut run = |sign: char| {
                let mut run = String::new();
                while let Some(line) = lines.next_if(|line| line.starts_with(sign)) {
                    run.push_str(&line[1..]);
                    run.push('\n');
                }
                run
            };
            let (was, now) = (run('-'), run('+'));
            assert_eq!(text.matches(&was).count(), 1, "{}: {was}", path.display());
            text = text.replacen(&was, &now, 1);
        }
        fs::write(&path, text).unwrap();
    }
    folder
}

#[test]
fn every_command_shown_in_a_paper_prints_what_is_shown() {
    let examples = examples();
    assert!(examples.len() >= 5, "{}", examples.len());
    // What the commands of one paper write stands for those further down.
    let mut folders: BTreeMap<String, TempDir> = BTreeMap::new();
    for example in examples {
        let mut arguments: Vec<&str> = example.arguments.iter().map(String::as_str).collect();
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
        let editions = (arguments == ["diff", "older", "newer"]).then(|| editions(&example.file));
        let base = editions.as_ref().map_or_else(String::new, |folder| {
            format!("{}/", folder.path().display())
        });
        let paths = [format!("{base}older"), format!("{base}newer")];
        if editions.is_some() {
            arguments = vec!["diff", &paths[0], &paths[1]];
        }
        let shop = if arguments[0] == "diagnose" {
            Shop::diagnose(arguments[1..].iter().copied()).shipped()
        } else {
            Shop::new().arguments(arguments.iter().copied()).shipped()
        };
        let shop = match editions {
            // The family of the page has a warning or two of its own.
            Some(_) => shop.may_complain(),
            None => shop,
        };
        let told = shop.types(example.typed.clone()).run();
        let out = match base.as_str() {
            "" => told.out,
            base => told.out.replace(base, ""),
        };
        if let Err(words) = stands(&out, &example.printed) {
            panic!(
                "{}: halfsplit {}: {words}",
                example.file,
                arguments.join(" ")
            );
        }
    }
}
