//! A sheet as Markdown.

use super::tree::{Branch, Likely};
use super::value::Sheet;
use crate::drawing::{letter, sketch};
use crate::text::Paper;
use crate::text::figures::{minutes, money, percent, short};

/// The columns of a sketch of traces.
const SKETCHED: usize = 76;

/// A sheet as a paper, to be written as Markdown.
pub fn markdown(sheet: &Sheet) -> Paper {
    let mut paper = Paper::default();
    paper.title(match &sheet.order {
        Some(order) => format!("Job sheet, order {order}"),
        None => format!("Job sheet {}", sheet.job),
    });
    if sheet.invented {
        paper.text("Demonstration. The limits on this sheet are invented: use them on no vehicle.");
    }
    for warning in &sheet.warnings {
        paper.text(format!("Note. {warning}"));
    }
    let shown = |time| sheet.clock.shown(time);
    let vehicle = sheet.vehicle.as_deref().unwrap_or("no sheet of limits");
    let said: Vec<String> = sheet
        .complaint
        .iter()
        .map(|words| format!("“{words}”"))
        .collect();
    let mut fields = vec![
        ("State", sheet.verdict.stage.word().to_owned()),
        ("Vehicle", vehicle.to_owned()),
        ("Opened", shown(sheet.opened)),
        ("Last entry", shown(sheet.last)),
        ("The customer says", said.join("; ")),
        ("Complaint", sheet.symptoms.join("; ")),
        ("Not", sheet.absent.join("; ")),
    ];
    fields.retain(|(_, text)| !text.is_empty());
    let fields = fields
        .into_iter()
        .map(|(name, text)| vec![name.to_owned(), text]);
    paper.table(&["", ""], fields.collect(), &[]);
    paper.heading("Verdict");
    paper.text(&sheet.verdict.headline);
    for words in &sheet.verdict.grounds {
        paper.text(words);
    }
    if let Some(next) = &sheet.verdict.next {
        paper.text(format!("Next: {next}"));
    }
    for found in &sheet.on_the_way {
        let (time, parts) = (minutes(found.minutes), money(found.parts));
        paper.item(format!(
            "Found on the way: {}: {time}, parts {parts} ({})",
            found.title, found.words
        ));
    }
    repairs(&mut paper, sheet);
    readings(&mut paper, sheet);
    course(&mut paper, sheet);
    for tree in &sheet.trees {
        paper.heading(format!("Fault tree: {}", tree.symptom));
        branches(&mut paper, &tree.below, 0);
    }
    time(&mut paper, sheet);
    if !sheet.set_aside.is_empty() {
        paper.heading("Set aside");
        for aside in &sheet.set_aside {
            let why = aside
                .why
                .as_ref()
                .map_or_else(String::new, |why| format!(" ({why})"));
            paper.item(format!("{}: {}{why}", aside.title, aside.how));
        }
    }
    if !sheet.notes.is_empty() {
        paper.heading("Remarks");
        for note in &sheet.notes {
            paper.item(format!("{}: {}", shown(note.time), note.words));
        }
    }
    paper.text(&sheet.notice);
    recordings(&mut paper, sheet);
    paper
}

fn repairs(paper: &mut Paper, sheet: &Sheet) {
    for repair in &sheet.repairs {
        paper.heading(format!("Repair: {}", repair.titles.join("; and ")));
        let cured = match repair.cured {
            Some(true) => "It cured the complaint.",
            Some(false) => "It did not cure the complaint.",
            None => "Whether it cured the complaint is not said yet.",
        };
        paper.text(format!(
            "{}. Done for: {} ({}). Parts by the knowledge: {}. {cured}",
            sheet.clock.shown(repair.time),
            repair.causes.join("; and "),
            percent(repair.probability),
            money(repair.parts)
        ));
        let rows = repair.proofs.iter().map(|proof| {
            let before = proof.before.clone().unwrap_or_default();
            let right = if proof.as_expected { "yes" } else { "NO" };
            vec![
                proof.title.clone(),
                before,
                proof.after.clone(),
                right.to_owned(),
            ]
        });
        let header = ["proved with", "before", "after", "as it should be"];
        paper.table(&header, rows.collect(), &[]);
    }
}

fn readings(paper: &mut Paper, sheet: &Sheet) {
    paper.heading("Readings");
    let rows = sheet.readings.iter().map(|of| {
        let limits = of.limits.iter().map(|limit| {
            let words = limit.words.as_deref().unwrap_or("not on the sheet");
            let source = limit.source.as_deref().unwrap_or("no source");
            format!("{words} ({source})")
        });
        let met = of
            .conditions
            .iter()
            .map(|met| format!("{} {}", met.question, met.answer));
        let mut says = of.outcome.clone();
        if let Some(why) = &of.why_not {
            says = format!("{says}; does not count: {why}");
        }
        if let Some(number) = of.replaced_by {
            says = format!("{says}; taken again: reading {number}");
        }
        let typed = match &of.value {
            Some(value) if *value != of.typed => format!("{}: {value}", of.typed),
            _ => of.typed.clone(),
        };
        vec![
            of.number.to_string(),
            of.title.clone(),
            typed,
            says,
            limits.collect::<Vec<_>>().join("; "),
            met.collect::<Vec<_>>().join("; "),
        ]
    });
    let header = ["", "measured", "typed", "reads", "limits", "conditions"];
    paper.table(&header, rows.collect(), &[0]);
    if sheet.taken_back > 0 {
        paper.text(format!(
            "Answers taken back: {}. They stay in the record.",
            sheet.taken_back
        ));
    }
}

fn course(paper: &mut Paper, sheet: &Sheet) {
    let course = &sheet.course;
    if course.steps.is_empty() {
        return;
    }
    paper.heading("How the chances went");
    for (title, place) in course.followed.iter().zip(0..) {
        paper.item(format!("{}: {title}", letter(place)));
    }
    paper.item("N: nothing listed");
    let rows = course.steps.iter().map(|step| {
        let mut chances: Vec<String> = step.chances.iter().copied().map(percent).collect();
        chances.resize(4, String::new());
        let mut row = vec![step.after.clone()];
        row.extend(chances);
        row.push(percent(step.unlisted));
        row
    });
    let header = ["after", "A", "B", "C", "D", "N"];
    paper.table(&header, rows.collect(), &[1, 2, 3, 4, 5]);
}

fn branches(paper: &mut Paper, below: &[Branch], depth: usize) {
    for branch in below {
        let now = match branch.now {
            Likely::Unlikely => " (unlikely)".to_owned(),
            Likely::Repaired => " (repaired: that did not cure it)".to_owned(),
            Likely::Found => " (found)".to_owned(),
            Likely::Above => " (as above)".to_owned(),
            Likely::InQuestion => branch
                .probability
                .map_or_else(String::new, |chance| format!(" {}", percent(chance))),
        };
        let takes = branch
            .takes
            .as_ref()
            .map_or_else(String::new, |takes| format!(", {takes}:"));
        paper.item(format!(
            "{}{}{now}{takes}",
            "· ".repeat(depth),
            branch.title
        ));
        branches(paper, &branch.below, depth + 1);
    }
}

fn time(paper: &mut Paper, sheet: &Sheet) {
    paper.heading("Time");
    let row = |name: String, expected, clock| vec![name, minutes(expected), minutes(clock)];
    let of_readings = sheet.readings.iter().map(|of| {
        row(
            format!("Reading {}", of.number),
            of.expected_minutes,
            of.clock_minutes,
        )
    });
    let of_repairs = sheet.repairs.iter().map(|of| {
        row(
            of.titles.join("; and "),
            of.expected_minutes,
            of.clock_minutes,
        )
    });
    let all = row(
        "All of the job".to_owned(),
        sheet.time.expected,
        sheet.time.clock,
    );
    let rows = of_readings.chain(of_repairs).chain([all]);
    paper.table(
        &["for", "expected", "by the clock"],
        rows.collect(),
        &[1, 2],
    );
}

fn recordings(paper: &mut Paper, sheet: &Sheet) {
    for picture in &sheet.recordings {
        paper.heading(format!("Recording {}", picture.file));
        paper.verbatim(sketch(picture, SKETCHED));
        for (event, number) in picture.events.iter().zip(1..) {
            paper.item(format!(
                "Event {number}, {} s: {}",
                short(event.from),
                event.words
            ));
        }
        for window in &picture.windows {
            paper.item(&window.words);
        }
    }
}
