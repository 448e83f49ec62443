use halfsplit::decide::OrderBy;
use halfsplit::decide::{Circumstances, Standing};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::{MeasurementId, RepairId};

use crate::family_text::Textbook;
use crate::shop::{Shop, family, vehicle};

fn repair(name: &str) -> RepairId {
    family().repair_named(name).unwrap()
}

fn measurement(name: &str) -> MeasurementId {
    family().measurement_named(name).unwrap()
}

fn slipping(repaired: Vec<RepairId>) -> Model<'static> {
    let complaint = Complaint {
        present: vec![family().symptom_named("slipping").unwrap()],
        absent: Vec::new(),
        repaired,
    };
    Model::new(family(), Some(vehicle("demo-estate")), complaint).unwrap()
}

fn standing<'m>(model: &'m Model<'static>) -> Standing<'m, 'static> {
    let arrival = Circumstances::on_arrival(family());
    Standing::new(model, Vec::new(), &arrival, OrderBy::default()).unwrap()
}

#[test]
fn the_problem_knows_what_each_repair_shows() {
    let model = slipping(Vec::new());
    let standing = standing(&model);
    let groups = standing.problem.groups();
    let strainer = repair("renew-strainer").index();
    let group = groups.iter().position(|g| g.repairs == [strainer]).unwrap();
    assert_eq!(
        standing.shown_by(group),
        [measurement("strainer-look"), measurement("tray-residue")]
    );
    // In the lift's way: engine off 1, raised 4, tray off 40, and its own 5.
    let residue = standing.rank_of(measurement("tray-residue")).unwrap();
    assert_eq!(residue.minutes, 50.0);
}

#[test]
fn after_a_repair_in_vain_what_it_showed_needs_no_set_up_and_no_time() {
    let model = slipping(vec![repair("renew-strainer")]);
    let standing = standing(&model);
    let residue = standing.rank_of(measurement("tray-residue")).unwrap();
    assert_eq!((residue.minutes, residue.way.order.len()), (0.0, 0));
    assert!(standing.is_open_to_view(measurement("tray-residue")));
    // The valve body stayed on.
    let valves = standing.rank_of(measurement("valves-by-hand")).unwrap();
    assert!(valves.minutes > 100.0);
}

#[test]
fn the_bay_says_what_to_look_at_and_asks_for_it_after_a_repair_in_vain() {
    // Pressure that falls off with speed: the strainer first.
    let told = Shop::job("slipping")
        .types(
            "take gauge-against-speed\nyes\nyes\nyes\nfalls-off\nrepair\ndone\nskip\nskip\nno\n\
             take tray-residue\nlining\n",
        )
        .run();
    told.says("Look at while it is open  Strainer and its seal; What lies in")
        .says("open: takes no time now")
        .says_not("Fluid drained, tray off, strainer reachable (40)");
    assert!(
        told.readings()
            .iter()
            .any(|(name, outcome, _)| name == "tray-residue" && outcome == "lining")
    );
}

#[test]
fn candidates_with_the_same_repairs_left_are_one_group() {
    // Odds 1/99 each: {a} and {c} 0.001/99, {a, b} 1/99². With b repaired in vain both {a} and {a, b} need a:
    // (0.099 + 1)/(0.099 + 1 + 0.099).
    let book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .cause("c", 10.0)
        .symptom(
            "s",
            "any: [{cause: a, strength: 0.001}, {cause: c, strength: 0.001}, {event: both, all: [a, b]}]",
        )
        .load();
    let family = &book.families[0];
    let repair = |name: &str| family.repair_named(name).unwrap();
    let complaint = Complaint {
        present: vec![family.symptom_named("s").unwrap()],
        absent: Vec::new(),
        repaired: vec![repair("repair-b")],
    };
    let model = Model::new(family, None, complaint).unwrap();
    let arrival = Circumstances::on_arrival(family);
    let standing = Standing::new(&model, Vec::new(), &arrival, OrderBy::default()).unwrap();
    let groups = standing.repairs_by_probability();
    assert_eq!(groups[0].0, [repair("repair-a")]);
    assert_eq!(groups[1].0, [repair("repair-c")]);
    assert_eq!(groups.len(), 2);
    assert!((groups[0].1 - 1.099 / 1.198).abs() < 1e-9, "{groups:?}");
}
