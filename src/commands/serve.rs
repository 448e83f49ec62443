//! `serve`: the shop's page.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};

use clap::Args;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;

use super::basis::{Basis, source, whole_knowledge_on};
use super::practice::with_sealed;
use super::shop::ShopArguments;
use super::{DONE, Error, Result, Streams};
use crate::jobs::Folder;
use crate::knowledge::{Exercise, Knowledge};
use crate::load::{Source, load};
use crate::practice::exercise_called;
use crate::serve::{Guard, Key, Server, Site, Start};
use crate::text::{Tone, clean};

/// The port where none is named.
const PORT: u16 = 7411;
/// How the names of sealed exercises end.
const SEALED_ENDING: &str = ".sealed";

/// Serve the jobs of a folder as a page, for a tablet at the vehicle and a screen at the desk.
#[derive(Debug, Args)]
pub(super) struct Serve {
    /// The folder of the records; without it the one of the shop's profile, else this folder
    #[arg(value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// The port
    #[arg(long, value_name = "PORT", default_value_t = PORT)]
    port: u16,
    /// Listen on this address of the shop's own network, behind a key; without it, on this computer alone
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<IpAddr>,
    /// A name or an address that tablets reach this computer by
    #[arg(long = "host", value_name = "NAME", requires = "listen")]
    hosts: Vec<String>,
    #[command(flatten)]
    shop: ShopArguments,
}

impl Serve {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let mut unpriced = whole_knowledge_on(basis, streams)?;
        let profile = self.shop.of(basis.shop, None, &mut unpriced.clone())?;
        let folder = self.folder.clone().or_else(|| profile.jobs.clone());
        let folder = folder.unwrap_or_else(|| PathBuf::from("."));
        if !folder.is_dir() {
            return Err(Error::of_file(&folder, "there is no such folder of jobs"));
        }
        add_sealed(&mut unpriced, basis, &folder, streams)?;
        let own = IpAddr::V4(Ipv4Addr::LOCALHOST);
        let at = self.listen.unwrap_or(own);
        if at.is_unspecified() && self.hosts.is_empty() {
            return Err(Error::Usage(format!(
                "with --listen {at}, name the address that tablets reach this computer by: --host 192.168.1.20"
            )));
        }
        let refused = |error: io::Error| Error::Files(format!("{at}, port {}: {error}", self.port));
        let listener = TcpListener::bind(SocketAddr::new(at, self.port)).map_err(refused)?;
        let address = listener.local_addr()?;
        let key = if at.is_loopback() {
            None
        } else {
            Some(Key::new()?)
        };
        let guard = Guard::new(address, &self.hosts, key.clone())?;
        let site = Site::new(Start {
            knowledge: unpriced,
            profile,
            folder: folder.clone(),
            clock: streams.clock.clone(),
            guard,
            mappings: streams.mappings.clone(),
        });
        let host = self.hosts.first().cloned().unwrap_or_else(|| match at {
            IpAddr::V4(at) => at.to_string(),
            IpAddr::V6(at) => format!("[{at}]"),
        });
        tell(
            streams,
            &folder,
            &format!("http://{host}:{}", address.port()),
            key.as_ref(),
        )?;
        Server::new(listener, site)?.run()?;
        Ok(DONE)
    }
}

/// Adds the sealed exercises of the folder; one that cannot be used is told of.
fn add_sealed(
    knowledge: &mut Knowledge,
    basis: &Basis<'_>,
    folder: &Path,
    streams: &mut Streams<'_>,
) -> Result<()> {
    let mut files = Folder::files(folder, SEALED_ENDING)?;
    if files.is_empty() {
        return Ok(());
    }
    files.sort();
    let source = source(basis.folder)?;
    for file in files {
        let mut used = Err(Error::Files("the knowledge has no family".to_owned()));
        for family in &mut knowledge.families {
            used = sealed_exercise(&source, &file, &family.name);
            if let Ok(exercise) = &used {
                family.exercises.push(exercise.clone());
                break;
            }
        }
        if let Err(error) = used {
            let words = format!("halfsplit: {} is left out: {error}", file.display());
            writeln!(streams.err, "{}", clean(&words))?;
        }
    }
    Ok(())
}

/// The exercise of a sealed file, read as one of a family.
fn sealed_exercise(source: &Source, file: &Path, family: &str) -> Result<Exercise> {
    let (source, name) = with_sealed(source.clone(), file, Some(family))?;
    let read = load(&source)?.knowledge;
    let exercise = read
        .family(family)
        .and_then(|family| exercise_called(family, &name));
    exercise
        .cloned()
        .ok_or_else(|| Error::Files("it holds no exercise".to_owned()))
}

/// Says where the page is, and how to get in.
fn tell(
    streams: &mut Streams<'_>,
    folder: &Path,
    address: &str,
    key: Option<&Key>,
) -> io::Result<()> {
    let page = &mut streams.page();
    page.text(Tone::Strong, 0, &format!("The page: {address}/"))?;
    page.text(
        Tone::Plain,
        0,
        &format!(
            "Jobs in {}. Ctrl+C ends it; every answer is on disk before the next page.",
            folder.display()
        ),
    )?;
    let Some(key) = key else {
        page.text(
            Tone::Plain,
            0,
            "This computer alone reaches it. `--listen` opens it to the shop's network.",
        )?;
        return streams.out.flush();
    };
    let key = key.shown();
    page.text(Tone::Strong, 0, &format!("Key: {key}"))?;
    page.text(
        Tone::Plain,
        0,
        "Plain HTTP: whoever listens in on this network can read it. Use it on the shop's own network alone. Whoever has \
         the key may use the page, until this program ends.",
    )?;
    let link = format!("{address}/key?key={key}");
    page.lines(0, &link)?;
    if let Some(code) = QrCode::new(link.as_bytes())
        .ok()
        .filter(|_| streams.interactive)
    {
        let square = code.render::<Dense1x2>().build();
        for line in square.lines() {
            writeln!(streams.out, "{}", clean(line))?;
        }
    }
    streams.out.flush()
}
