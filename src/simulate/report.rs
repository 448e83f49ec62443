//! What a study found, for the screen and as Markdown.

use super::calibration::Class;
use super::mistaken::{Mistaken, Split};
use super::paired::{Difference, Paired};
use super::study::{AIM_CALIBRATION, AIM_FIRST, AIM_WITHIN_TWO, Fault, Study};
use super::summary::Summary;
use crate::knowledge::Family;
use crate::text::figures::{count, minutes, money, percent};
use crate::text::{Column, Paper};

/// How many faults are shown before the rest is left out, where not all are asked for.
const FAULTS: usize = 12;
/// How many mistakes are shown.
const MISTAKES: usize = 12;
/// A fault whose right repair comes first less often is a weak spot,
const WEAK: f64 = 0.6;
/// unless it is rarer than this given the complaint.
const RARE: f64 = 0.01;
/// A measurement that tells two faults apart less than this hardly does.
const HARDLY: f64 = 0.3;

/// What the figures are and are not.
const ABOUT: &str = "Of every fault that the family lists for a complaint, vehicles are drawn: each measurement's outcome \
from the row of the fault, a number uniformly from the outcome's band, its reading with the error of the instrument. Each \
vehicle is diagnosed as the program advises, repair after repair, until it is cured or handed on. A fault counts by how \
probable it is given the complaint. This says how well the program works if the knowledge is right; where it is not, the \
last table of each complaint gives an idea. It does not say that the knowledge is right: only closed jobs do.";

/// The whole report: weak spots, then every complaint with every fault; `made` says of what and with which command,
/// `picture` is the file of [`calibration_svg`](super::calibration_svg).
pub fn whole_report(
    paper: &mut Paper,
    family: &Family,
    studies: &[Study],
    made: &[String],
    picture: &str,
) {
    paper.title(format!(
        "How well the knowledge diagnoses: {}",
        family.title
    ));
    for text in made {
        paper.text(text);
    }
    paper.text(&family.worth);
    paper.text(ABOUT);
    paper.picture(
        "Stated against observed probability, one panel per complaint; points on the diagonal are calibrated",
        picture,
    );
    weak_spots(paper, studies);
    for study in studies {
        study_report(paper, family, study, true);
    }
}

/// What a study found, the weakest faults first; all of them with `every_fault`.
pub fn study_report(paper: &mut Paper, family: &Family, study: &Study, every_fault: bool) {
    let name = &study.symptom;
    let symptom = family.symptom_named(name).map(|id| family.symptom(id));
    let title = symptom.map_or("", |symptom| &symptom.title);
    paper.heading(format!("{title} [{name}]"));
    figures(paper, study);
    faults(paper, study, every_fault);
    let isolation = &study.isolation;
    paper.text(format!(
        "With everything measured that can be, {} of the vehicles come down to one repair, {} to one or two, {} to three \
         at most (the right one among those that hold 95 % of the belief).",
        percent(isolation.one),
        percent(isolation.two),
        percent(isolation.three)
    ));
    mistakes(paper, study);
    calibration(paper, study);
    stressed(paper, study);
}

/// The faults of all complaints that are weak spots: what they are taken for, and why, where the family says so.
fn weak_spots(paper: &mut Paper, studies: &[Study]) {
    let weak = |fault: &&Fault| fault.probability >= RARE && fault.summary.first < WEAK;
    let mut rows = Vec::new();
    for study in studies {
        let weak = study.faults.iter().filter(weak);
        rows.extend(weak.map(|fault| weak_spot(study, fault)));
    }
    paper.heading("Weak spots");
    let (rare, weak) = (percent(RARE), percent(WEAK));
    if rows.is_empty() {
        paper.text(format!(
            "None: the right repair comes first in {weak} or more of the vehicles of every fault that turns up in {rare} \
             of the jobs or more."
        ));
        return;
    }
    paper.text(format!(
        "Faults that turn up in {rare} of a complaint's jobs or more and whose right repair comes first in fewer than \
         {weak} of them:"
    ));
    let header = ["complaint", "fault", "first", "in two", "taken for", "why"];
    paper.table(&header, rows, &[2, 3]);
}

fn weak_spot(study: &Study, fault: &Fault) -> Vec<String> {
    let all = study.mistaken.iter();
    let mut taken: Vec<&Mistaken> = all.filter(|one| one.fault == fault.name).collect();
    taken.sort_by(|a, b| b.share.total_cmp(&a.share));
    let mut whys: Vec<&str> = taken
        .iter()
        .filter_map(|one| one.stated.as_deref())
        .collect();
    whys.dedup();
    if whys.is_empty() {
        whys.push("not stated by the family");
    }
    let taken: Vec<String> = taken
        .iter()
        .map(|one| format!("{} {}", one.first.join(" + "), percent(one.share)))
        .collect();
    vec![
        study.symptom.clone(),
        fault.name.clone(),
        percent(fault.summary.first),
        percent(fault.summary.within_two),
        taken.join(", "),
        whys.join(" "),
    ]
}

fn figures(paper: &mut Paper, study: &Study) {
    let (listed, unlisted) = (&study.listed, &study.unlisted);
    paper.text(format!(
        "{} vehicles drawn. Time and cost are from the complaint to the cure, or until the job is handed on.",
        listed.jobs + unlisted.jobs
    ));
    let aim = |name: &str, found, words: String, met| {
        let met = if met { "met" } else { "MISSED" };
        vec![name.to_owned(), percent(found), format!("{words}: {met}")]
    };
    let at_least = |name, found, least| {
        let words = format!("at least {}", percent(least));
        aim(name, found, words, found >= least)
    };
    let error = study.calibration.error;
    let under = format!("under {}", percent(AIM_CALIBRATION));
    let other = |name: &str, found| vec![name.to_owned(), found, String::new()];
    let rows = vec![
        at_least("right repair first", listed.first, AIM_FIRST),
        at_least("within two repairs", listed.within_two, AIM_WITHIN_TWO),
        aim("calibration error", error, under, error < AIM_CALIBRATION),
        other("first, looks counted", percent(listed.first_of_all)),
        other("never cured", percent(listed.never)),
        other(
            "told that nothing listed fits",
            percent(listed.nothing_fits),
        ),
        other(
            "told that the readings fit badly",
            percent(listed.fits_badly),
        ),
        other(
            "unit out or opened in vain",
            percent(listed.unit_out_in_vain),
        ),
        other("readings, mean", count(listed.readings)),
        other("time, mean", minutes(listed.minutes.mean)),
        other("time, nine in ten", minutes(listed.minutes.ninth)),
        other("cost, mean", money(listed.cost.mean)),
        other("cost, nine in ten", money(listed.cost.ninth)),
    ];
    paper.table(&["figure", "found", "aim"], rows, &[1]);
    paper.text(format!(
        "A look is a repair done for what it shows on the way, while another is believed the likelier cure; it counts as \
         a measurement, and only in `looks counted` as a repair. `Right repair first` is sure to about {} (one standard \
         error of the draw). If every statement were exact, chance alone would make the calibration error about {}.",
        percent(listed.first_error),
        percent(study.calibration.by_chance)
    ));
    if unlisted.jobs > 0 {
        paper.text(format!(
            "With {} of the vehicles something was wrong that is not listed. Of {} of them it was said that nothing listed \
             fits, of {} that the readings fit nothing well; {} were handed on before any repair; in {} the unit was taken \
             out or opened in vain. They were handed on after {} and {} on average.",
            unlisted.jobs,
            percent(unlisted.nothing_fits),
            percent(unlisted.fits_badly),
            percent(unlisted.handed_on_at_once),
            percent(unlisted.unit_out_in_vain),
            minutes(unlisted.minutes.mean),
            money(unlisted.cost.mean),
        ));
    }
}

fn faults(paper: &mut Paper, study: &Study, every_fault: bool) {
    let mut faults: Vec<&Fault> = study.faults.iter().collect();
    if !every_fault {
        // What misses most comes first: how often it turns up times how often it is missed.
        let missed = |fault: &Fault| fault.probability * (1.0 - fault.summary.first);
        faults.sort_by(|a, b| missed(b).total_cmp(&missed(a)));
        faults.truncate(FAULTS);
    }
    let which = if every_fault {
        "Each fault"
    } else {
        "Where most is missed"
    };
    paper.heading(format!("{which}: {}", study.symptom));
    let columns: [Column<Fault>; 9] = [
        ("fault", |fault| fault.name.clone()),
        ("of all", |fault| percent(fault.probability)),
        ("first", |fault| percent(fault.summary.first)),
        ("in two", |fault| percent(fault.summary.within_two)),
        ("never", |fault| percent(fault.summary.never)),
        ("min", |fault| format!("{:.0}", fault.summary.minutes.mean)),
        ("9/10", |fault| {
            format!("{:.0}", fault.summary.minutes.ninth)
        }),
        ("cost", |fault| money(fault.summary.cost.mean)),
        ("9/10", |fault| money(fault.summary.cost.ninth)),
    ];
    paper.table_of(&columns, faults, &[1, 2, 3, 4, 5, 6, 7, 8]);
}

fn mistakes(paper: &mut Paper, study: &Study) {
    if study.mistaken.is_empty() {
        return;
    }
    paper.heading(format!("Taken for something else first: {}", study.symptom));
    let columns: [Column<Mistaken>; 4] = [
        ("fault", |mistaken| mistaken.fault.clone()),
        ("repaired first", |mistaken| mistaken.first.join(" + ")),
        ("of its jobs", |mistaken| percent(mistaken.share)),
        ("what tells them apart", told_apart),
    ];
    paper.table_of(&columns, study.mistaken.iter().take(MISTAKES), &[2]);
}

fn told_apart(mistaken: &Mistaken) -> String {
    let stated = match mistaken.stated {
        Some(_) => "; the family says so",
        None => "",
    };
    match &mistaken.split {
        Some(Split {
            measurement,
            apart,
            minutes: time,
        }) if *apart >= HARDLY => {
            format!(
                "{measurement} to {}, {}{stated}",
                percent(*apart),
                minutes(*time)
            )
        }
        _ => format!("nothing{stated}"),
    }
}

fn calibration(paper: &mut Paper, study: &Study) {
    paper.text(
        "Of the repairs advised, how probable the cure was said to be, and how often it was one:",
    );
    let columns: [Column<Class>; 5] = [
        ("said", |class| {
            format!("{:.0} to {:.0} %", class.from * 100.0, class.to * 100.0)
        }),
        ("repairs", |class| class.times.to_string()),
        ("of all", |class| percent(class.share)),
        ("said, mean", |class| percent(class.said)),
        ("was so", |class| percent(class.was)),
    ];
    paper.table_of(&columns, &study.calibration.classes, &[1, 2, 3, 4]);
}

fn stressed(paper: &mut Paper, study: &Study) {
    if study.stressed.is_empty() {
        return;
    }
    paper.text("And where the vehicles are not as the knowledge says:");
    let row = |name: String, summary: &Summary, error: f64| {
        vec![
            name,
            percent(summary.first),
            percent(summary.within_two),
            format!("{:.0}", summary.minutes.mean),
            money(summary.cost.mean),
            percent(error),
        ]
    };
    let as_it_says = row(
        "as it says".to_owned(),
        &study.listed,
        study.calibration.error,
    );
    let others = study.stressed.iter().map(|stressed| {
        let name = stressed.stress.to_string();
        row(name, &stressed.summary, stressed.calibration_error)
    });
    let header = [
        "vehicles",
        "first",
        "in two",
        "min",
        "cost",
        "calibration error",
    ];
    let rows = std::iter::once(as_it_says).chain(others).collect();
    paper.table(&header, rows, &[1, 2, 3, 4, 5]);
}

/// Two versions on the same vehicles, complaint by complaint.
pub fn paired_report(paper: &mut Paper, family: &Family, found: &[Paired]) {
    let mut last = "";
    for paired in found {
        let name = paired.symptom.as_str();
        if name != last {
            let symptom = family.symptom_named(name).map(|id| family.symptom(id));
            let title = symptom.map_or("", |symptom| &symptom.title);
            paper.heading(format!("{title} [{name}]"));
            last = name;
        }
        paper.text(format!(
            "{} vehicles as {} has them, diagnosed with both:",
            paired.vehicles, paired.vehicles_of
        ));
        let rows = vec![
            difference("right repair first", &paired.first, percent),
            difference("within two repairs", &paired.within_two, percent),
            difference("time, mean", &paired.minutes, minutes),
            difference("cost, mean", &paired.cost, money),
        ];
        let header = ["figure", "old", "new", "change", "95 %", ""];
        paper.table(&header, rows, &[1, 2, 3, 4]);
    }
}

fn difference(name: &str, figure: &Difference, show: fn(f64) -> String) -> Vec<String> {
    let by = figure.change();
    let sign = if by < 0.0 { "-" } else { "+" };
    let clear = if figure.is_clear() {
        "clear"
    } else {
        "may be chance"
    };
    // Two sums of the same shares differ by rounding.
    let change = if by.abs() < 1e-9 {
        "none".to_owned()
    } else {
        format!("{sign}{}", show(by.abs()))
    };
    vec![
        name.to_owned(),
        show(figure.old),
        show(figure.new),
        change,
        format!("± {}", show(figure.within)),
        clear.to_owned(),
    ]
}
