//! The commands: a file each, its arguments and what it does.
//!
//! The highest room: it may import every other.

mod check;
mod diagnose;
mod diff;
mod draw;
mod inputs;
mod job;
mod learn;
mod new;
mod next;
mod paired;
mod papers;
mod pause;
mod plan;
mod progress;
mod schema;
mod show;
mod study;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::PathBuf;
use std::time::Duration;

use clap::{Parser, Subcommand};

use crate::decide::Limits;
use crate::load::Findings;
use crate::record::Clock;

/// Halfsplit names the next measurement for a driveline complaint, and says when to stop measuring
/// and repair.
#[derive(Debug, Parser)]
#[command(
    name = "halfsplit",
    version,
    propagate_version = true,
    max_term_width = 80
)]
struct Halfsplit {
    /// Read the knowledge from this folder instead of the knowledge in the program
    #[arg(long, global = true, value_name = "DIR")]
    knowledge: Option<PathBuf>,

    /// Lay figures learned from closed jobs over the knowledge: a reviewed file of `learn`
    #[arg(long, global = true, value_name = "FILE")]
    overlay: Option<PathBuf>,

    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Find out what is wrong with a vehicle, measurement by measurement
    Diagnose(diagnose::Diagnose),
    /// Rank the next measurements for a complaint, once
    Next(next::Next),
    /// Work out the whole test order of least expected cost, and how near to the best it is
    Plan(plan::Plan),
    /// Check knowledge: what is wrong, what is probably not meant, whether the cases come out
    Check(check::Check),
    /// Learn from closed jobs how common causes are and how they read
    Learn(learn::Learn),
    /// Tell what differs between two editions of the knowledge, and what that does to the answers
    Diff(diff::Diff),
    /// Show a cause, a measurement, a repair or a symptom's tree in full
    Show(show::Show),
    /// See how well the knowledge diagnoses vehicles drawn from it
    Study(study::Study),
    /// Draw the fault tree of a symptom, as SVG or for Graphviz
    Draw(draw::Draw),
    /// Start a family, a symptom, a measurement or a cause as a commented file to fill in
    New(new::New),
    /// Write what an editor needs to complete and check knowledge files while one types
    Schema(schema::SchemaOf),
    /// Write completions for a shell
    Completions(papers::Completions),
    /// Write the manual page
    Manual(papers::ManualPage),
}

/// Why a command ended without doing what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The arguments do not fit what is known.
    #[error("{0}")]
    Usage(String),
    /// The knowledge has errors.
    #[error("the knowledge has errors")]
    Findings(Findings),
    /// A file or a folder could not be used.
    #[error("{0}")]
    Files(String),
    /// The screen or the input failed.
    #[error(transparent)]
    Io(#[from] io::Error),
}

pub use pause::pause;

/// How long the plan is searched before a proposal: a person waits, so a quarter of a second.
pub const AT_THE_PROMPT: Limits = Limits {
    time: Duration::from_millis(250),
    opened: u64::MAX,
    bytes: 256 << 20,
};

/// Everything went as asked.
pub const DONE: u8 = 0;
/// There are findings.
pub const FINDINGS: u8 = 1;
/// The arguments or a file cannot be used.
pub const UNUSABLE: u8 = 2;

/// Where a command writes and reads.
pub struct Streams<'s> {
    /// What was asked for.
    pub out: &'s mut dyn Write,
    /// What went wrong, and progress.
    pub err: &'s mut dyn Write,
    /// What is typed.
    pub input: &'s mut dyn io::BufRead,
    /// Whether a person sits at the input and reads the output.
    pub interactive: bool,
    /// The columns of the screen.
    pub width: usize,
    /// What time it is.
    pub clock: Clock,
    /// Lets time pass, at most so long; tells whether a line waits to be read before that.
    pub pause: &'s mut dyn FnMut(Duration) -> bool,
    /// How long the plan may be searched before each proposal.
    pub thinking: Limits,
}

/// Runs the program on its arguments and gives its exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>, streams: &mut Streams<'_>) -> u8 {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let parsed = match Halfsplit::try_parse_from(&arguments) {
        Ok(parsed) => parsed,
        Err(error) => return usage(&error, &arguments, streams),
    };
    match parsed
        .execute(streams)
        .and_then(|code| streams.out.flush().map(|()| code).map_err(Error::from))
    {
        Ok(code) => code,
        // Whoever read the output has seen enough.
        Err(Error::Io(error)) if error.kind() == io::ErrorKind::BrokenPipe => DONE,
        Err(error) => {
            let code = match error {
                Error::Findings(_) => FINDINGS,
                Error::Usage(_) | Error::Files(_) | Error::Io(_) => UNUSABLE,
            };
            // Nowhere is left to tell where even this cannot be written.
            let _ = tell(&error, streams);
            code
        }
    }
}

/// Writes what the arguments ask of clap: help and the version to the output, everything else is an error.
fn usage(error: &clap::Error, arguments: &[OsString], streams: &mut Streams<'_>) -> u8 {
    let text = error.render();
    // What was typed stands in the text; where it could steer the terminal, the text goes without styles.
    let plain = |argument: &OsString| {
        argument
            .to_str()
            .is_some_and(|text| crate::text::clean(text) == text)
    };
    let text = if arguments.iter().all(plain) {
        text.ansi().to_string()
    } else {
        let lines: Vec<String> = text.to_string().lines().map(crate::text::clean).collect();
        format!("{}\n", lines.join("\n"))
    };
    let written = if error.use_stderr() {
        streams.err.write_all(text.as_bytes())
    } else {
        streams.out.write_all(text.as_bytes())
    };
    match written {
        Ok(()) if error.use_stderr() => UNUSABLE,
        Ok(()) | Err(_) => DONE,
    }
}

/// Writes what went wrong.
fn tell(error: &Error, streams: &mut Streams<'_>) -> io::Result<()> {
    if let Error::Findings(findings) = error {
        writeln!(streams.err, "{findings}\n")?;
    }
    writeln!(
        streams.err,
        "halfsplit: {}",
        crate::text::clean(&error.to_string())
    )
}

impl Command {
    /// Whether it uses the figures of the knowledge as they are with an overlay.
    const fn takes_overlay(&self) -> bool {
        matches!(
            self,
            Self::Diagnose(_)
                | Self::Next(_)
                | Self::Plan(_)
                | Self::Show(_)
                | Self::Draw(_)
                | Self::Study(_)
        )
    }
}

impl Halfsplit {
    fn execute(self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        let knowledge = self.knowledge.as_deref();
        let basis = inputs::Basis {
            folder: knowledge,
            overlay: self.overlay.as_deref(),
        };
        if basis.overlay.is_some() && !self.command.takes_overlay() {
            return Err(Error::Usage(
                "--overlay is for diagnose, next, plan, show, draw and study: nothing else here reads learned figures"
                    .to_owned(),
            ));
        }
        match self.command {
            Command::Diagnose(diagnose) => diagnose.execute(&basis, streams),
            Command::Next(next) => next.execute(&basis, streams),
            Command::Show(show) => show.execute(&basis, streams),
            Command::Plan(plan) => plan.execute(&basis, streams),
            Command::Check(check) => check.execute(knowledge, streams),
            Command::Learn(learn) => learn.execute(knowledge, streams),
            Command::Diff(diff) => diff.execute(knowledge, streams),
            Command::Study(study) => study.execute(&basis, streams),
            Command::Draw(draw) => draw.execute(&basis, streams),
            Command::New(new) => new.execute(knowledge, streams),
            Command::Schema(schema) => schema.execute(streams),
            Command::Completions(completions) => completions.execute(streams),
            Command::Manual(page) => page.execute(streams),
        }
    }
}
