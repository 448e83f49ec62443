//! The shop's profile: which file it is, and what options say instead.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::Args;

use super::{Error, Result};
use crate::files;
use crate::knowledge::{Family, Knowledge, Workshop};
use crate::load::{ShopProfile, shop};
use crate::text;
use crate::units::Money;

/// The largest profile, in bytes.
const LARGEST_PROFILE: u64 = 1 << 20;
/// The environment variable that names the profile; empty, there is none.
const VARIABLE: &str = "HALFSPLIT_SHOP";

/// The profile that is used where no option names one, from variables of the environment: what `HALFSPLIT_SHOP` names,
/// else `halfsplit/shop.yaml` in the user's folder of configuration, where there is such a file.
pub fn shop_file(variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    if let Some(named) = variable(VARIABLE) {
        return (!named.is_empty()).then(|| named.into());
    }
    let file = own_folder(variable)?.join("shop.yaml");
    file.is_file().then_some(file)
}

/// The file of what the columns of recordings are, where no option names one: `halfsplit/recordings.json` in the user's
/// folder of configuration, whether it is there yet or not.
pub fn mappings_file(variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    Some(own_folder(variable)?.join("recordings.json"))
}

/// The program's folder in the user's folder of configuration.
fn own_folder(variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    let folder = |name| {
        variable(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    let config = if cfg!(windows) {
        folder("APPDATA")
    } else {
        folder("XDG_CONFIG_HOME").or_else(|| Some(folder("HOME")?.join(".config")))
    };
    Some(config?.join("halfsplit"))
}

/// The profile in a file; none says nothing.
fn profile(file: Option<&Path>, knowledge: &Knowledge) -> Result<ShopProfile> {
    let Some(path) = file else {
        return Ok(ShopProfile::default());
    };
    let read = files::read(path, LARGEST_PROFILE);
    let refused = |error| Error::of_file(path, format_args!("the shop's profile: {error}"));
    let read = read.map_err(refused)?;
    shop(path, read, knowledge).map_err(Error::Shop)
}

// No doc comment: clap would take it for the text of the command.
#[derive(Debug, Default, Args)]
pub(super) struct ShopArguments {
    /// Propose nothing that takes this equipment, this instrument or this measurement, besides what the shop lacks
    #[arg(long, value_name = "NAME")]
    without: Vec<String>,
    /// Labour costs so much an hour
    #[arg(long, value_name = "MONEY")]
    labour_rate: Option<f64>,
}

impl ShopArguments {
    /// The shop that a command works for: that of the job's record where there is a job, else that of the profile, and
    /// over it what the options say. Its labour rate goes into the knowledge.
    pub(super) fn of(
        &self,
        file: Option<&Path>,
        job: Option<Workshop>,
        knowledge: &mut Knowledge,
    ) -> Result<ShopProfile> {
        let mut shop = profile(file, knowledge)?;
        if let Some(kept) = job {
            shop.workshop = kept;
        }
        for name in &self.without {
            lacking(&knowledge.families, name)?;
            shop.workshop.lacks.push(name.clone());
        }
        if let Some(rate) = self.labour_rate {
            money(rate)?;
            shop.workshop.labour_rate = Some(rate);
        }
        for family in &mut knowledge.families {
            shop.workshop.price(family);
        }
        Ok(shop)
    }
}

/// Refuses what no measurement, no instrument and no equipment is called.
pub(super) fn lacking(families: &[Family], name: &str) -> Result<()> {
    let equipment = families.iter().flat_map(Family::equipment);
    let measurements = families.iter().flat_map(|family| &family.measurements);
    let known: BTreeSet<&str> = measurements
        .map(|it| it.name.as_str())
        .chain(equipment)
        .collect();
    if known.contains(name) {
        return Ok(());
    }
    let kind = "measurement, instrument or equipment";
    Err(Error::Usage(text::unknown(
        kind,
        name,
        known.iter().copied(),
    )))
}

/// A labour rate that was typed.
pub(super) fn money(rate: f64) -> Result<Money> {
    Money::new(rate).ok_or_else(|| Error::Usage(format!("{rate} is no labour rate")))
}
