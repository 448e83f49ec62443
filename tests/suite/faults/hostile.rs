//! Knowledge that would take all the time or memory: the check names the file, the line and what breaks the budget, and what
//! asks for it is refused in words.

use halfsplit::infer::{Complaint, Model, Unexplained, candidates};
use halfsplit::knowledge::{Family, SymptomId};
use halfsplit::lint::check;
use halfsplit::load::{Code, Finding, Source, load};

/// A family of these causes and trees, each cause with one of so many repairs and a rate.
struct Bench {
    order: usize,
    repairs: usize,
    rate: u32,
    measurements: usize,
    causes: Vec<String>,
    trees: Vec<String>,
    shared: String,
}

impl Bench {
    fn new(causes: Vec<String>, top: &str) -> Self {
        Self {
            order: 2,
            repairs: 1,
            rate: 1,
            measurements: 1,
            causes,
            trees: vec![format!(
                "symptom: s\ntitle: S\ncomplaints: [hum]\ntop: {top}\n"
            )],
            shared: String::new(),
        }
    }

    fn source(&self) -> Source {
        let family = format!(
            "family: b\ntitle: B\nnotice: n\nworth: w\nmax_order: {}\nshop: {{labour_rate: 60, escalation: {{minutes: 9, parts: 2}}}}\ncare: {{close-out: Look}}\nset_ups: {{}}\ninstruments: {{}}\n",
            self.order
        );
        let mut causes = "repairs:\n".to_owned();
        for repair in 0..self.repairs {
            causes +=
                &format!("  r{repair}: {{title: R, minutes: 5, parts: 3, verify: it hums}}\n");
        }
        causes += "causes:\n";
        for (place, cause) in self.causes.iter().enumerate() {
            let (repair, rate) = (place % self.repairs, self.rate);
            causes += &format!(
                "  {cause}: {{title: C, part: p, rate: {rate}, repair: r{repair}, source: s}}\n"
            );
        }
        let mut measurements = "measurements:\n".to_owned();
        for measurement in 0..self.measurements {
            measurements += &format!(
                "  look{measurement}:\n    title: L\n    ask: L\n    reading: {{choices: {{dark: Dark, normal: Fine}}}}\n    minutes: 2\n    source: s\n    shows: {{dark: {{c0: 0.9}}}}\n"
            );
        }
        let mut files = vec![
            ("b/family.yaml".to_owned(), family),
            ("b/causes.yaml".to_owned(), causes),
            ("b/measurements/m.yaml".to_owned(), measurements),
        ];
        for (place, tree) in self.trees.iter().enumerate() {
            files.push((format!("b/trees/t{place}.yaml"), tree.clone()));
        }
        if !self.shared.is_empty() {
            files.push((
                "b/trees/parts.yaml".to_owned(),
                format!("shared:\n{}", self.shared),
            ));
        }
        Source::texts(files)
    }

    /// What the check finds of these codes.
    fn found(&self, code: Code) -> Vec<Finding> {
        let source = self.source();
        let found = match load(&source) {
            Ok(loaded) => check(&source, &loaded).findings,
            Err(findings) => findings,
        };
        found
            .0
            .into_iter()
            .filter(|finding| finding.code == code)
            .collect()
    }

    fn family(&self) -> Family {
        load(&self.source()).unwrap().knowledge.families.remove(0)
    }

    /// The check says it at the tree, and who asks for the candidates is told.
    fn is_refused(&self, words: &str) {
        let found = self.found(Code::TooMuch);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(
            (found[0].place.file.as_str(), found[0].place.line),
            ("b/trees/t0.yaml", 4)
        );
        assert!(found[0].words.contains(words), "{}", found[0].words);
        assert!(candidates(&self.family(), &[SymptomId::at(0)], &[]).is_err());
    }
}

fn causes(count: usize) -> Vec<String> {
    (0..count).map(|cause| format!("c{cause}")).collect()
}

/// A gate over groups of so many causes each.
fn groups(gate: &str, groups: usize, of: usize) -> (Vec<String>, String) {
    let all = causes(groups * of);
    let gates: Vec<String> = all
        .chunks(of)
        .map(|group| format!("{{event: e, any: [{}]}}", group.join(", ")))
        .collect();
    (all, format!("{{{gate}: [{}]}}", gates.join(", ")))
}

#[test]
fn sets_of_causes_that_multiply_are_refused_by_the_check_and_by_the_job() {
    for (gate, count, of, order) in [
        ("all", 2, 400, 2),
        ("all", 3, 100, 3),
        ("all", 4, 100, 4),
        ("at_least: 2, of", 40, 40, 2),
        ("at_least: 3, of", 20, 20, 3),
        ("at_least: 10, of", 20, 20, 4),
    ] {
        let (causes, top) = groups(gate, count, of);
        let mut bench = Bench::new(causes, &top);
        bench.order = order;
        bench.is_refused("too many sets of causes");
    }
}

#[test]
fn weak_causes_that_outweigh_one_another_in_any_number_are_refused() {
    for (count, order) in [(50, 4), (1_000, 2)] {
        let leaves: Vec<String> = causes(count)
            .iter()
            .map(|c| format!("{{cause: {c}, strength: 0.01}}"))
            .collect();
        let mut bench = Bench::new(causes(count), &format!("{{any: [{}]}}", leaves.join(", ")));
        (bench.order, bench.rate) = (order, 900);
        bench.is_refused("too many sets of causes");
    }
}

#[test]
fn more_uncertain_parts_in_several_places_than_can_be_told_apart_are_refused() {
    let pairs: Vec<String> = (0..17)
        .map(|at| {
            format!(
                "{{event: e, all: [{{shared: p{at}}}, {{shared: p{}}}]}}",
                (at + 1) % 17
            )
        })
        .collect();
    let mut bench = Bench::new(causes(2), &format!("{{any: [c1, {}]}}", pairs.join(", ")));
    let parts =
        (0..17).map(|at| format!("  p{at}: {{event: e, any: [{{cause: c0, strength: 0.5}}]}}"));
    bench.shared = parts.collect::<Vec<_>>().join("\n") + "\n";
    bench.is_refused("uncertain events stand in several places");
}

#[test]
fn more_repairs_than_a_plan_can_weigh_are_found_by_the_check() {
    let top = format!("{{any: [{}]}}", causes(129).join(", "));
    let mut bench = Bench::new(causes(129), &top);
    bench.repairs = 128;
    assert!(bench.found(Code::TooMuch).is_empty());
    bench.repairs = 129;
    let found = bench.found(Code::TooMuch);
    assert!(found[0].words.contains("129 repairs"), "{found:?}");
    assert_eq!(found[0].place.file, "b/trees/t0.yaml");
}

#[test]
fn more_candidates_than_can_be_foreseen_are_refused_by_the_check_and_by_the_job() {
    let top = format!("{{any: [{}]}}", causes(4_000).join(", "));
    let mut bench = Bench::new(causes(4_000), &top);
    let found = |bench: &Bench| {
        let mut too_much = bench.found(Code::TooMuch).into_iter();
        too_much.find(|finding| finding.words.contains("4000 sets of causes"))
    };
    // Two outcomes each.
    bench.measurements = 500;
    assert_eq!(found(&bench), None);
    bench.measurements = 501;
    assert_eq!(found(&bench).unwrap().place.file, "b/trees/t0.yaml");
    let family = bench.family();
    let complaint = Complaint {
        present: vec![SymptomId::at(0)],
        ..Complaint::default()
    };
    assert!(matches!(
        Model::new(&family, None, complaint),
        Err(Unexplained::TooMuchToForesee { .. })
    ));
}

#[test]
fn a_complaint_that_takes_more_causes_together_than_are_looked_at_is_found_by_the_check() {
    let found = Bench::new(causes(3), "{all: [c0, c1, c2]}").found(Code::GateOutOfReach);
    assert!(found[0].words.contains("no 2 causes together"), "{found:?}");
}

#[test]
fn complaints_that_are_cheap_alone_and_too_many_together_end_the_check_in_words() {
    let (causes, top) = groups("at_least: 2, of", 12, 12);
    let mut bench = Bench::new(causes, &top);
    bench.trees = (0..40)
        .map(|tree| format!("symptom: s{tree}\ntitle: S\ncomplaints: [hum]\ntop: {top}\n"))
        .collect();
    let found = bench.found(Code::TooMuch);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0]
            .words
            .contains("those from here on are not checked"),
        "{found:?}"
    );
}

#[test]
fn several_complaints_at_once_are_refused_before_their_sets_are_formed() {
    let all = causes(120);
    let mut bench = Bench::new(all.clone(), "{any: [c0]}");
    bench.trees = (all.chunks(30).enumerate())
        .map(|(tree, of)| {
            format!(
                "symptom: s{tree}\ntitle: S\ncomplaints: [hum]\ntop: {{any: [{}]}}\n",
                of.join(", ")
            )
        })
        .collect();
    let family = bench.family();
    let together = |count: usize| {
        candidates(
            &family,
            &(0..count).map(SymptomId::at).collect::<Vec<_>>(),
            &[],
        )
    };
    assert_eq!(together(3).unwrap().len(), 27_000);
    let refused = together(4).unwrap_err().to_string();
    assert!(
        refused.contains("take the complaints one by one"),
        "{refused}"
    );
}

#[test]
fn patterns_that_would_take_much_memory_are_refused_at_the_one_that_breaks_the_budget() {
    let patterns = vec!["'\\w{10}'"; 200].join(", ");
    let mut bench = Bench::new(causes(1), "{any: [c0]}");
    bench.trees = vec![format!(
        "symptom: s\ntitle: S\ncomplaints: [{patterns}]\ntop: {{any: [c0]}}\n"
    )];
    let found = bench.found(Code::TooMuch);
    assert_eq!((found.len(), found[0].place.line), (1, 3), "{found:?}");
    assert!(
        found[0].words.contains("characters and ranges"),
        "{found:?}"
    );
}

#[test]
fn a_folder_of_too_many_values_is_refused_at_the_file_that_breaks_the_limit() {
    let words = "[a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a, a]\n";
    let file = format!("x:\n{}", format!("- {words}").repeat(17_000));
    let files = (1..=6).map(|number| (format!("b/measurements/m{number}.yaml"), file.clone()));
    let findings = load(&Source::texts(files)).unwrap_err();
    let found: Vec<&Finding> = findings
        .0
        .iter()
        .filter(|finding| finding.code == Code::TooMuch)
        .collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].place.file, "b/measurements/m5.yaml");
}

#[test]
fn a_family_of_twenty_thousand_causes_loads_and_has_its_candidates() {
    let top = format!("{{any: [{}]}}", causes(20_000).join(", "));
    let mut bench = Bench::new(causes(20_000), &top);
    bench.repairs = 100;
    assert_eq!(
        candidates(&bench.family(), &[SymptomId::at(0)], &[])
            .unwrap()
            .len(),
        20_000
    );
}

#[cfg(unix)]
#[test]
fn links_out_of_a_knowledge_folder_are_not_read_and_links_inside_are() {
    use std::fs;
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let (inside, outside) = (folder.path().join("k"), folder.path().join("private.yaml"));
    for (path, text) in crate::textbook::FILES {
        let file = inside.join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    fs::rename(
        inside.join("bench/causes.yaml"),
        inside.join("bench/cases/kept"),
    )
    .unwrap();
    symlink("cases/kept", inside.join("bench/causes.yaml")).unwrap();
    assert!(load(&Source::folder(&inside).unwrap()).is_ok());
    fs::write(&outside, "a private file").unwrap();
    symlink(&outside, inside.join("bench/cases/private.yaml")).unwrap();
    symlink("/proc/self", inside.join("bench/process")).unwrap();
    let words = load(&Source::folder(&inside).unwrap())
        .unwrap_err()
        .to_string();
    assert!(
        words.contains("bench/cases/private.yaml")
            && words.contains("a link out of the knowledge folder"),
        "{words}"
    );
    assert!(!words.contains("a private file"), "{words}");
}
