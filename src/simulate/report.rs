//! What a study of the knowledge found.

use super::{
    AIM_CALIBRATION, AIM_FIRST, AIM_WITHIN_TWO, Difference, Mistaken, Paired, Stress, Study,
    Summary,
};
use crate::knowledge::Family;
use crate::text::Paper;
use crate::text::figures::{count, minutes, money, percent};

/// How many faults are shown before the rest is counted.
const FAULTS: usize = 12;
/// How many mistakes are shown.
const MISTAKES: usize = 12;
/// A fault whose right repair comes first less often is a weak spot,
const WEAK: f64 = 0.6;
/// unless it is rarer than this given the complaint.
const RARE: f64 = 0.01;
/// A measurement that tells two faults apart less than this hardly does.
const HARDLY: f64 = 0.3;

/// What a study found, the weakest faults first; all of them with `every_fault`.
pub fn study(paper: &mut Paper, family: &Family, study: &Study, every_fault: bool) {
    let symptom = family.symptom(study.symptom);
    paper.heading(format!("{} [{}]", symptom.title, symptom.name));
    figures(paper, study);
    faults(paper, family, study, every_fault);
    isolation(paper, study);
    mistakes(paper, family, study);
    calibration(paper, study);
    stressed(paper, study);
}

/// The faults of all complaints that are weak spots: what they are taken for, and why. Each is named in the
/// family's ambiguities, or said not to be.
pub fn weak_spots(paper: &mut Paper, family: &Family, studies: &[Study]) {
    let mut rows = Vec::new();
    for study in studies {
        for fault in study
            .faults
            .iter()
            .filter(|fault| fault.probability >= RARE && fault.summary.first < WEAK)
        {
            let mut taken: Vec<&Mistaken> = study
                .mistaken
                .iter()
                .filter(|mistaken| mistaken.hypothesis == fault.hypothesis)
                .collect();
            taken.sort_by(|a, b| b.share.total_cmp(&a.share));
            let mut whys: Vec<&str> = taken
                .iter()
                .filter_map(|mistaken| mistaken.stated)
                .map(|ambiguity| family.ambiguities[ambiguity].why.as_str())
                .collect();
            whys.dedup();
            let why = if whys.is_empty() {
                "not stated by the family".to_owned()
            } else {
                whys.join(" ")
            };
            let taken: Vec<String> = taken
                .iter()
                .map(|mistaken| {
                    let repairs = family.repair_names(&mistaken.first);
                    format!("{repairs} {}", percent(mistaken.share))
                })
                .collect();
            rows.push(vec![
                family.symptom(study.symptom).name.clone(),
                fault.name.clone(),
                percent(fault.summary.first),
                percent(fault.summary.within_two),
                taken.join(", "),
                why,
            ]);
        }
    }
    paper.heading("Weak spots");
    if rows.is_empty() {
        paper.text(format!(
            "None: the right repair comes first in {} or more of the vehicles of every fault that turns up in {} of the jobs or more.",
            percent(WEAK),
            percent(RARE)
        ));
        return;
    }
    paper.text(format!(
        "Faults that turn up in {} of a complaint's jobs or more and whose right repair comes first in fewer than {} of them:",
        percent(RARE),
        percent(WEAK)
    ));
    paper.table(
        &["complaint", "fault", "first", "in two", "taken for", "why"],
        rows,
        &[2, 3],
    );
}

/// Whether a figure is where it is wanted.
fn aim(met: bool) -> &'static str {
    if met { "met" } else { "MISSED" }
}

fn figures(paper: &mut Paper, study: &Study) {
    let listed = &study.listed;
    paper.text(format!(
        "{} vehicles drawn. Time and cost are from the complaint to the cure, or until the job is handed on.",
        listed.jobs + study.unlisted.jobs
    ));
    let share = |name: &str, figure: f64, wanted: String, met: bool| {
        vec![
            name.to_owned(),
            percent(figure),
            format!("{wanted}: {}", aim(met)),
        ]
    };
    let plain = |name: &str, text: String| vec![name.to_owned(), text, String::new()];
    let rows = vec![
        share(
            "right repair first",
            listed.first,
            format!("at least {}", percent(AIM_FIRST)),
            listed.first >= AIM_FIRST,
        ),
        share(
            "within two repairs",
            listed.within_two,
            format!("at least {}", percent(AIM_WITHIN_TWO)),
            listed.within_two >= AIM_WITHIN_TWO,
        ),
        share(
            "calibration error",
            study.calibration.error,
            format!("under {}", percent(AIM_CALIBRATION)),
            study.calibration.error < AIM_CALIBRATION,
        ),
        plain("first, looks counted", percent(listed.first_of_all)),
        plain("never cured", percent(listed.never)),
        plain("readings, mean", count(listed.readings)),
        plain("time, mean", minutes(listed.minutes.mean)),
        plain("time, nine in ten", minutes(listed.minutes.ninth)),
        plain("cost, mean", money(listed.cost.mean)),
        plain("cost, nine in ten", money(listed.cost.ninth)),
    ];
    paper.table(&["figure", "found", "aim"], rows, &[1]);
    paper.text(format!(
        "A look is a repair done for what it shows on the way, while another is believed the likelier cure; it counts as \
         a measurement, and only in `looks counted` as a repair. `Right repair first` is sure to about {} (one standard error of the draw). If every statement were honest, \
         chance alone would make the calibration error about {}.",
        percent(listed.first_error),
        percent(study.calibration.by_chance)
    ));
    if study.unlisted.jobs > 0 {
        paper.text(format!(
            "With {} of the vehicles something was wrong that is not listed; they were handed on after {} and {} on average.",
            study.unlisted.jobs,
            minutes(study.unlisted.minutes.mean),
            money(study.unlisted.cost.mean),
        ));
    }
}

fn faults(paper: &mut Paper, family: &Family, study: &Study, every_fault: bool) {
    let symptom = &family.symptom(study.symptom).name;
    let mut faults: Vec<_> = study.faults.iter().collect();
    if !every_fault {
        // What misses most comes first: how often it turns up times how often it is missed.
        let missed = |probability: f64, summary: &Summary| probability * (1.0 - summary.first);
        faults.sort_by(|a, b| {
            missed(b.probability, &b.summary).total_cmp(&missed(a.probability, &a.summary))
        });
        faults.truncate(FAULTS);
    }
    paper.heading(if every_fault {
        format!("Each fault: {symptom}")
    } else {
        format!("Where most is missed: {symptom}")
    });
    let rows = faults
        .iter()
        .map(|fault| {
            let summary = &fault.summary;
            vec![
                fault.name.clone(),
                percent(fault.probability),
                percent(summary.first),
                percent(summary.within_two),
                percent(summary.never),
                format!("{:.0}", summary.minutes.mean),
                format!("{:.0}", summary.minutes.ninth),
                money(summary.cost.mean),
                money(summary.cost.ninth),
            ]
        })
        .collect();
    paper.table(
        &[
            "fault", "of all", "first", "in two", "never", "min", "9/10", "cost", "9/10",
        ],
        rows,
        &[1, 2, 3, 4, 5, 6, 7, 8],
    );
}

fn isolation(paper: &mut Paper, study: &Study) {
    let isolation = &study.isolation;
    paper.text(format!(
        "With everything measured that can be, {} of the vehicles come down to one repair, {} to one or two, {} to three \
         at most (the right one among those that hold 95 % of the belief).",
        percent(isolation.one),
        percent(isolation.two),
        percent(isolation.three)
    ));
}

fn mistakes(paper: &mut Paper, family: &Family, study: &Study) {
    if study.mistaken.is_empty() {
        return;
    }
    paper.heading(format!(
        "Taken for something else first: {}",
        family.symptom(study.symptom).name
    ));
    let rows = study
        .mistaken
        .iter()
        .take(MISTAKES)
        .map(|mistaken| {
            vec![
                name_of(study, mistaken),
                family.repair_names(&mistaken.first),
                percent(mistaken.share),
                split(family, mistaken),
            ]
        })
        .collect();
    paper.table(
        &[
            "fault",
            "repaired first",
            "of its jobs",
            "what tells them apart",
        ],
        rows,
        &[2],
    );
}

fn name_of(study: &Study, mistaken: &Mistaken) -> String {
    study
        .faults
        .iter()
        .find(|fault| fault.hypothesis == mistaken.hypothesis)
        .map_or_else(String::new, |fault| fault.name.clone())
}

fn split(family: &Family, mistaken: &Mistaken) -> String {
    let stated = if mistaken.stated.is_some() {
        "; the family says so"
    } else {
        ""
    };
    match mistaken.split {
        Some(split) if split.apart >= HARDLY => format!(
            "{} to {}, {}{stated}",
            family.measurement(split.measurement).name,
            percent(split.apart),
            minutes(split.minutes)
        ),
        Some(_) | None => format!("nothing{stated}"),
    }
}

fn calibration(paper: &mut Paper, study: &Study) {
    paper.text(
        "Of the repairs advised, how probable the cure was said to be, and how often it was one:",
    );
    let rows = study
        .calibration
        .classes
        .iter()
        .map(|class| {
            vec![
                format!("{:.0} to {:.0} %", class.from * 100.0, class.to * 100.0),
                class.times.to_string(),
                percent(class.share),
                percent(class.said),
                percent(class.was),
            ]
        })
        .collect();
    paper.table(
        &["said", "repairs", "of all", "said, mean", "was so"],
        rows,
        &[1, 2, 3, 4],
    );
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
    let mut rows = vec![row(
        "as it says".to_owned(),
        &study.listed,
        study.calibration.error,
    )];
    rows.extend(
        study
            .stressed
            .iter()
            .map(|(stress, summary, error)| row(in_words(*stress), summary, *error)),
    );
    paper.table(
        &[
            "vehicles",
            "first",
            "in two",
            "min",
            "cost",
            "calibration error",
        ],
        rows,
        &[1, 2, 3, 4, 5],
    );
}

/// A stress in words.
#[must_use]
pub fn in_words(stress: Stress) -> String {
    match stress {
        Stress::Rates(factor) => format!("rates off by a factor of {factor}"),
        Stress::Shows(by) => format!("`shows` figures off by {by}"),
        Stress::Misread(share) => format!("one reading in {:.0} wrong", 1.0 / share),
    }
}

/// Two versions on the same vehicles; `whose` vehicles they are.
pub fn paired(paper: &mut Paper, whose: &str, paired: &Paired) {
    paper.text(format!(
        "{} vehicles as {whose} has them, diagnosed with both:",
        paired.vehicles
    ));
    let row = |name: &str, figure: &Difference, show: &dyn Fn(f64) -> String| {
        vec![
            name.to_owned(),
            show(figure.old),
            show(figure.new),
            change(figure.change(), show),
            format!("± {}", show(figure.within)),
            if figure.is_clear() {
                "clear"
            } else {
                "may be chance"
            }
            .to_owned(),
        ]
    };
    paper.table(
        &["figure", "old", "new", "change", "95 %", ""],
        vec![
            row("right repair first", &paired.first, &percent),
            row("within two repairs", &paired.within_two, &percent),
            row("time, mean", &paired.minutes, &minutes),
            row("cost, mean", &paired.cost, &money),
        ],
        &[1, 2, 3, 4],
    );
}

/// By how much, and which way.
fn change(by: f64, show: &dyn Fn(f64) -> String) -> String {
    // Two sums of the same shares differ by rounding.
    if by.abs() < 1e-9 {
        "none".to_owned()
    } else {
        let sign = if by < 0.0 { "-" } else { "+" };
        format!("{sign}{}", show(by.abs()))
    }
}
