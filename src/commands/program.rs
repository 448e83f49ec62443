//! The command line as a whole: its global options, and which command runs.

use std::ffi::OsString;
use std::io;
use std::path::PathBuf;

use clap::{CommandFactory, Parser, Subcommand};

use super::basis::Basis;
use super::completions::Completions;
use super::streams::MayLeave;
use super::{DONE, Error, Result, Streams, UNUSABLE};
use super::{
    cards, check, diagnose, diff, draw, jobs, learn, manual, new, next, plan, practice, recording,
    schema, serve, sheet, show, study, tables,
};
use crate::text::clean;

/// Tells a driveline technician which measurement to take next, and when to stop measuring and repair.
#[derive(Debug, Parser)]
#[command(
    name = "halfsplit",
    version,
    propagate_version = true,
    max_term_width = 80
)]
struct Halfsplit {
    /// Use the knowledge in this folder instead of the knowledge built into the program
    #[arg(long, global = true, value_name = "DIR")]
    knowledge: Option<PathBuf>,

    /// Use the figures that `learn` wrote to this file, after a person has reviewed them
    #[arg(long, global = true, value_name = "FILE")]
    overlay: Option<PathBuf>,

    /// Use this shop's profile instead of the one that `HALFSPLIT_SHOP` or the user's configuration names
    #[arg(long, global = true, value_name = "FILE")]
    shop: Option<PathBuf>,

    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Diagnose a vehicle, one measurement at a time
    Diagnose(diagnose::Diagnose),
    /// List the candidates and rank the next measurements, once
    Next(next::Next),
    /// Print the whole test plan and its expected cost
    Plan(plan::Plan),
    /// Serve the jobs of a folder as a page for a tablet and a desk
    Serve(serve::Serve),
    /// List the jobs of a folder: open, waiting for proof, to hand on, closed
    Jobs(jobs::Jobs),
    /// Take readings and events from a recording of the scan tool
    Recording(recording::Recording),
    /// Write a job on one sheet: HTML, Markdown or JSON
    Sheet(sheet::Sheet),
    /// Validate a knowledge folder: errors, doubtful entries, worked cases
    Check(check::Check),
    /// Write what the knowledge covers as tables: HTML and CSV
    Tables(tables::WriteTables),
    /// Estimate rates and likelihoods from closed jobs
    Learn(learn::Learn),
    /// Show what differs between two versions of the knowledge, and which answers change
    Diff(diff::Diff),
    /// Show a cause, measurement, repair, set-up, vehicle or fault tree
    Show(show::Show),
    /// Simulate vehicles and measure how well the knowledge diagnoses them
    Study(study::Study),
    /// Practise on a vehicle with a hidden fault
    Practice(practice::Practice),
    /// Print cards of measurements, to hang up or hand out
    Cards(cards::Cards),
    /// Draw the fault tree of a symptom, as SVG or for Graphviz
    Draw(draw::Draw),
    /// Start a family, or something in one, from a commented template
    New(new::New),
    /// Print JSON Schemas of the knowledge files, for completion in an editor
    Schema(schema::SchemaOf),
    /// Print a completion script for a shell
    Completions(Completions),
    /// Print the manual page, in the format of `man`
    Manual,
}

/// Runs the program on its arguments and gives its exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>, streams: &mut Streams<'_>) -> u8 {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let program = match Halfsplit::try_parse_from(&arguments) {
        Ok(program) => program,
        Err(error) => return usage(&error, &arguments, streams),
    };
    program.execute(streams).unwrap_or_else(|error| {
        let code = error.code();
        if code != DONE {
            // Where even this cannot be written there is nowhere left to say so.
            let _ = tell(&error, streams);
        }
        code
    })
}

/// Writes what clap has to say: help and the version to the output, everything else as an error.
fn usage(error: &clap::Error, arguments: &[OsString], streams: &mut Streams<'_>) -> u8 {
    let text = error.render();
    // The message repeats the arguments: where those could steer the terminal, it is written without styles.
    let plain = |argument: &OsString| argument.to_str().is_some_and(|text| clean(text) == text);
    let text = if arguments.iter().all(plain) {
        text.ansi().to_string()
    } else {
        let lines: Vec<String> = text.to_string().lines().map(clean).collect();
        format!("{}\n", lines.join("\n"))
    };
    let (to, code) = if error.use_stderr() {
        (&mut *streams.err, UNUSABLE)
    } else {
        (&mut *streams.out, DONE)
    };
    match to.write_all(text.as_bytes()).and_then(|()| to.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => UNUSABLE,
        _ => code,
    }
}

/// Writes what went wrong.
fn tell(error: &Error, streams: &mut Streams<'_>) -> io::Result<()> {
    if let Error::Findings(findings) | Error::Shop(findings) = error {
        writeln!(streams.err, "{findings}\n")?;
    }
    writeln!(streams.err, "halfsplit: {}", clean(&error.to_string()))
}

impl Command {
    /// Whether it uses the figures of an overlay.
    const fn takes_overlay(&self) -> bool {
        self.takes_shop()
            || matches!(
                self,
                Self::Show(_) | Self::Draw(_) | Self::Study(_) | Self::Check(_) | Self::Diff(_)
            )
    }

    /// Whether it works for a shop.
    const fn takes_shop(&self) -> bool {
        matches!(
            self,
            Self::Diagnose(_)
                | Self::Next(_)
                | Self::Plan(_)
                | Self::Serve(_)
                | Self::Jobs(_)
                | Self::Sheet(_)
        )
    }
}

impl Halfsplit {
    fn execute(self, streams: &mut Streams<'_>) -> Result {
        let folder = self.knowledge.as_deref();
        let shop = streams.shop.clone();
        let basis = Basis {
            folder,
            overlay: self.overlay.as_deref(),
            shop: self.shop.as_deref().or(shop.as_deref()),
        };
        if self.shop.is_some() && !self.command.takes_shop() {
            return Err(Error::Usage(
                "--shop is for diagnose, next, plan, serve, jobs and sheet: no other command asks what the shop has"
                    .to_owned(),
            ));
        }
        if basis.overlay.is_some() && !self.command.takes_overlay() {
            return Err(Error::Usage(
                "--overlay is for diagnose, next, plan, serve, jobs, sheet, show, draw, study, check and diff: no other command uses learned figures"
                    .to_owned(),
            ));
        }
        // A session ends with its reader; every other command runs on to its exit code.
        let ends = matches!(self.command, Command::Diagnose(_) | Command::Practice(_));
        let streams = &mut Streams {
            out: &mut MayLeave::new(streams.out, !ends),
            err: streams.err,
            input: streams.input,
            editor: match &mut streams.editor {
                Some(editor) => Some(&mut **editor),
                None => None,
            },
            interactive: streams.interactive,
            width: streams.width,
            height: streams.height,
            clock: streams.clock.clone(),
            shop: None,
            mappings: streams.mappings.clone(),
            pause: streams.pause,
        };
        let code = match self.command {
            Command::Diagnose(diagnose) => diagnose.execute(&basis, streams),
            Command::Next(next) => next.execute(&basis, streams),
            Command::Show(show) => show.execute(&basis, streams),
            Command::Plan(plan) => plan.execute(&basis, streams),
            Command::Serve(serve) => serve.execute(&basis, streams),
            Command::Jobs(jobs) => jobs.execute(&basis, streams),
            Command::Recording(recording) => recording.execute(&basis, streams),
            Command::Sheet(sheet) => sheet.execute(&basis, streams),
            Command::Check(check) => check.execute(&basis, streams),
            Command::Tables(tables) => tables.execute(&basis, streams),
            Command::Learn(learn) => learn.execute(folder, streams),
            Command::Diff(diff) => diff.execute(&basis, streams),
            Command::Study(study) => study.execute(&basis, streams),
            Command::Practice(practice) => practice.execute(&basis, streams),
            Command::Cards(cards) => cards.execute(&basis, streams),
            Command::Draw(draw) => draw.execute(&basis, streams),
            Command::New(new) => new.execute(folder, streams),
            Command::Schema(schema) => schema.execute(folder, streams),
            Command::Completions(completions) => completions.execute(&mut Self::command(), streams),
            Command::Manual => manual::execute(Self::command(), streams),
        }?;
        streams.out.flush()?;
        Ok(code)
    }
}
