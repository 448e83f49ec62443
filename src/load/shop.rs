//! The shop's profile: a file beside the knowledge, whose names are those of the knowledge.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::finding::Findings;
use super::log::{Log, say};
use super::node::{File, Kind};
use super::raw::shop::ShopFile;
use super::source::Source;
use super::value::{Placed, read};
use super::yaml;
use crate::knowledge::{Family, Knowledge, Workshop};
use crate::units::{Money, System};

/// The longest name of a currency, in characters.
const LONGEST_CURRENCY: usize = 12;

/// A shop's profile.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShopProfile {
    /// What bears on the diagnosis.
    pub workshop: Workshop,
    /// How readings are shown; none where the vehicle's sheet says it.
    pub units: Option<System>,
    /// The folder of the records of jobs.
    pub jobs: Option<PathBuf>,
    /// Whether others see that folder too.
    pub shared: bool,
}

/// Reads a shop's profile from the text of a file: every mistake in it where there are any.
pub fn shop(path: &Path, text: Vec<u8>, knowledge: &Knowledge) -> Result<ShopProfile, Findings> {
    let source = Source::texts([(path.display().to_string(), text)]);
    let log = Log::new(&source.files);
    let mut profile = ShopProfile::default();
    for file in &source.files {
        super::folder::no_text(file, &log);
        let (read_file, reports) = yaml::read_file(file, 0);
        for report in reports {
            log.add(report);
        }
        // A file of comments alone says nothing.
        let node = read_file.as_ref().map(File::root);
        let node = node.filter(|node| !matches!(node.kind(), Kind::Null));
        if let Some(file) = node.and_then(|node| read(node, &log)) {
            profile = checked(&file, path, knowledge, &log);
        }
    }
    let findings = log.finish();
    if findings.have_errors() {
        Err(findings)
    } else {
        Ok(profile)
    }
}

fn checked<'k>(
    file: &ShopFile,
    path: &Path,
    knowledge: &'k Knowledge,
    log: &Log<'_>,
) -> ShopProfile {
    let families = || knowledge.families.iter();
    let equipment = families().flat_map(|family| family.equipment());
    let equipment: BTreeSet<&str> = equipment.collect();
    let mut lacks = Vec::new();
    for entry in &file.equipment.0 {
        let name = entry.name.as_str();
        if !equipment.contains(name) {
            say!(log, entry.spot; UnknownInstrument, "no set-up and no instrument of the knowledge is called `{name}`" =>
                "`halfsplit show` lists the instruments; set-ups tie up: {}", set_ups(knowledge);
                log.nearest(name, equipment.iter().copied()));
        }
        if entry.value == Some(false) {
            lacks.push(name.to_owned());
        }
    }
    let names = |family: &'k Family| family.measurements.iter().map(|of| of.name.as_str());
    let measurements = || families().flat_map(names);
    let first_looks = file.first_looks.as_ref().map(|looks| {
        for look in looks.iter().filter(|look| measurements().all(|known| known != look.value)) {
            say!(log, look.spot; UnknownMeasurement, "there is no measurement called `{}`", look.value;
                log.nearest(&look.value, measurements()));
        }
        looks.iter().map(|look| look.value.clone()).collect()
    });
    if let Some(Placed { value: text, spot }) = &file.currency
        && text.chars().count() > LONGEST_CURRENCY
    {
        say!(log, *spot; BadNumber, "`{text}` is too long for the name of a currency" =>
            "at most {LONGEST_CURRENCY} characters, as EUR or $");
    }
    ShopProfile {
        workshop: Workshop {
            lacks,
            labour_rate: file.labour_rate.map(Money::get),
            currency: file.currency.as_ref().map(|name| name.value.clone()),
            first_looks,
        },
        units: file.units,
        jobs: (file.jobs.as_ref()).map(|jobs| path.parent().unwrap_or(Path::new("")).join(jobs)),
        shared: file.shared,
    }
}

/// The equipment of set-ups, joined.
fn set_ups(knowledge: &Knowledge) -> String {
    let set_ups = knowledge.families.iter().flat_map(|family| &family.set_ups);
    let equipment: BTreeSet<&str> = set_ups
        .filter_map(|set_up| set_up.equipment.as_deref())
        .collect();
    equipment.into_iter().collect::<Vec<_>>().join(", ")
}
