use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::path::Path;

use halfsplit::commands::shop_file;
use halfsplit::knowledge::Workshop;
use halfsplit::load::shop;
use halfsplit::units::System;
use serde_json::Value;

use super::by_name::shipped;
use super::shop::{Shop, program};

/// A profile in a folder that lasts as long as the first of these.
fn profile(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.yaml");
    fs::write(&path, text).unwrap();
    (folder, path.to_str().unwrap().to_owned())
}

/// The measurements that `next` offers with some arguments.
fn offered(arguments: &[&str]) -> Vec<String> {
    let told = Shop::new()
        .shipped()
        .arguments(["next", "slipping", "--vehicle", "demo-estate", "--json"])
        .arguments(arguments.iter().copied())
        .run();
    let answer: Value = serde_json::from_str(&told.out).unwrap();
    let offers = answer["measurements"].as_array().unwrap().iter();
    offers
        .map(|offer| offer["id"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn the_example_of_the_page_and_the_commented_start_are_the_same_profile() {
    let page = include_str!("../../docs/shop.md");
    let example = page
        .split("```")
        .nth(1)
        .unwrap()
        .strip_prefix("yaml\n")
        .unwrap();
    let read = |text: &str| shop(Path::new("there/shop.yaml"), text.into(), shipped()).unwrap();
    let profile = read(example);
    assert_eq!(
        profile.workshop,
        Workshop {
            lacks: vec!["second person".to_owned(), "gauge-10-mpa-fine".to_owned()],
            labour_rate: Some(95.0),
            currency: Some("EUR".to_owned()),
            first_looks: Some(
                ["recent-work", "dtc-group", "fluid-level"]
                    .map(str::to_owned)
                    .to_vec()
            ),
        }
    );
    assert_eq!(profile.units, Some(System::Metric));
    assert_eq!(profile.jobs.as_deref(), Some(Path::new("there/jobs")));
    assert!(profile.shared);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.yaml");
    Shop::new()
        .arguments(["new", "shop", path.to_str().unwrap()])
        .run();
    let start = fs::read_to_string(&path).unwrap();
    assert_eq!(read(&start), halfsplit::load::ShopProfile::default());
    let fields = [
        "equipment",
        "labour_rate",
        "currency",
        "units",
        "first_looks",
        "jobs",
        "shared",
    ];
    let uncommented = start.lines().filter_map(|line| line.strip_prefix("# "));
    let uncommented = uncommented.filter(|line| {
        fields
            .iter()
            .any(|field| line.starts_with(&format!("{field}: ")))
    });
    assert_eq!(read(&uncommented.collect::<Vec<_>>().join("\n")), profile);
    // No file is overwritten.
    Shop::new()
        .arguments(["new", "shop", path.to_str().unwrap()])
        .fails_with(2)
        .run();
}

#[test]
fn what_is_unknown_is_refused_with_its_line_and_what_would_fit() {
    for (text, found) in [
        (
            "labor_rate: 90\nunits: metrc\n",
            [
                ":1:1: error[unknown-field]",
                "`labour_rate`",
                ":2:8: error[unknown-word]",
                "`metric`",
            ],
        ),
        (
            "equipment: {lifft: false}\nfirst_looks: [fluid-levl]\n",
            [
                ":1:13: error[unknown-instrument]",
                "`lift`",
                ":2:15: error[unknown-measurement]",
                "`fluid-level`",
            ],
        ),
    ] {
        let (_folder, path) = profile(text);
        let told = Shop::new()
            .shipped()
            .arguments([
                "next",
                "slipping",
                "--vehicle",
                "demo-estate",
                "--shop",
                &path,
            ])
            .fails_with(2)
            .run();
        for words in found.iter().chain(&["the shop's profile has errors"]) {
            assert!(told.err.contains(words), "{words}\n{}", told.err);
        }
    }
}

#[test]
fn what_the_shop_lacks_is_never_proposed() {
    let all = offered(&[]);
    let family = &shipped().families[0];
    for lacking in ["lift", "scan tool", "second person", "pressure gauge set"] {
        let (_folder, path) = profile(&format!("equipment: {{{lacking}: false}}\n"));
        let lacks = vec![lacking.to_owned()];
        let left_out = Workshop {
            lacks,
            ..Workshop::default()
        }
        .left_out(family);
        let left_out: Vec<&str> = left_out
            .iter()
            .map(|id| family.measurement(*id).name.as_str())
            .collect();
        assert!(
            all.iter().any(|id| left_out.contains(&id.as_str())),
            "{lacking}"
        );
        for arguments in [["--shop", path.as_str()], ["--without", lacking]] {
            let offered = offered(&arguments);
            assert!(!offered.is_empty());
            let proposed: Vec<&String> = offered
                .iter()
                .filter(|id| left_out.contains(&id.as_str()))
                .collect();
            assert!(proposed.is_empty(), "{lacking}: {proposed:?}");
        }
    }
    // A set-up that needs another with that equipment.
    let instrument = Workshop {
        lacks: vec!["gauge-10-mpa".to_owned()],
        ..Workshop::default()
    };
    assert!(!instrument.left_out(family).is_empty());
}

#[test]
fn a_job_keeps_the_shop_it_was_opened_in_and_options_win() {
    let text = "equipment: {scan tool: false}\nlabour_rate: 120\ncurrency: EUR\nfirst_looks: [leak-look]\n";
    let (_folder, path) = profile(text);
    let told = Shop::diagnose([
        "slipping",
        "--vehicle",
        "demo-estate",
        "--shop",
        &path,
        "--labour-rate",
        "60",
    ])
    .shipped()
    .types("stop\n")
    .run();
    told.says("This shop: labour 60 EUR an hour; without scan tool; first leak-look.")
        .says("1 Outside leaks");
    let kept = told.state().opened.shop.unwrap();
    assert_eq!(kept.labour_rate, Some(60.0));
    assert_eq!(kept.lacks, ["scan tool"]);
    // Without the file, the record says it.
    let record = told.record();
    let arguments = ["next", "--json", "--job", record.to_str().unwrap()];
    let next = Shop::new().shipped().arguments(arguments).run();
    let answer: Value = serde_json::from_str(&next.out).unwrap();
    let offers = answer["measurements"].as_array().unwrap();
    assert!(offers.iter().all(|offer| offer["id"] != "dtc-group"));
    assert_eq!(answer["prompt"]["measure"]["measurement"], "leak-look");
}

#[test]
fn records_lie_in_the_shops_folder_of_jobs() {
    let (folder, path) = profile("jobs: kept\nshared: true\n");
    let kept = folder.path().join("kept");
    fs::create_dir(&kept).unwrap();
    let told = Shop::new()
        .shipped()
        .arguments([
            "diagnose",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--shop",
            &path,
        ])
        .types("stop\n")
        .run();
    told.says("Others see that folder.");
    assert_eq!(fs::read_dir(kept).unwrap().count(), 1);
}

#[test]
fn the_variable_comes_before_the_users_folder_and_an_empty_one_means_none() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("halfsplit/shop.yaml");
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(&file, "labour_rate: 90\n").unwrap();
    let of = |named: Option<&str>| {
        shop_file(|name| match name {
            "HALFSPLIT_SHOP" => named.map(OsString::from),
            _ => Some(folder.path().as_os_str().to_owned()),
        })
    };
    assert_eq!(of(Some("/there/a.yaml")), Some("/there/a.yaml".into()));
    assert_eq!(of(Some("")), None);
    assert_eq!(of(None), Some(file.clone()));
    let variables = BTreeMap::from([("HALFSPLIT_SHOP", file.to_str().unwrap())]);
    let next = ["next", "slipping", "--vehicle", "demo-estate"];
    let shown = String::from_utf8(program(&next, "", folder.path(), &variables).stdout).unwrap();
    assert!(shown.contains("This shop: labour 90 an hour."), "{shown}");
    fs::remove_file(&file).unwrap();
    assert_eq!(of(None), None);
}
