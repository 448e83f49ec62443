//! The tests, one binary: each module says what belongs in it.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    clippy::cast_precision_loss,
    clippy::similar_names,
    clippy::too_many_lines,
    clippy::format_push_string,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test may fail loudly and tell a long story, and exact values are compared where they are exact"
)]

/// Two editions of the knowledge held against each other.
mod comparison;
/// What an attack found: hostile knowledge, damaged records, killed programs, outputs, numbers at their edge.
mod faults;

/// Drawings of fault trees.
mod drawing;
/// Recordings of the scan tool, against drives of a model whose truth is known.
mod recording;

/// Set-ups, repair order, ranking and the policy, against hand sums and exhaustive search.
mod planning;

/// The units and how they convert.
mod units;

/// Answers as people give them: words, units, typing errors, what is said instead of an answer.
mod answers;
/// Published examples of belief and of choosing a test.
mod bay;
mod belief_published;
/// The whole of the reasoning against an obvious second implementation.
mod belief_referee;
/// A page that listens, and a browser without a window.
mod browser;
/// Jobs on a family, everything by the names of its files.
mod by_name;
/// What becomes a candidate, and the rules of rows, shares and misfits, by hand sums.
mod candidates;
/// The check of a knowledge folder, as a command, and the cases it plays.
mod check_command;
/// The page of published checks, which the tests write.
mod checks;
/// How a workshop words complaints, against the patterns of the shipped knowledge.
mod complaints;
/// What a reading says about the bands of its true value.
mod conformity;
/// What a careless tree gets wrong, where no worked case can state it.
mod distinctions;
/// Each complaint answered as each of its causes would make the readings come out.
mod each_cause;
/// What a person types for a number.
mod entry;
/// Whatever a person types.
mod entry_properties;
/// Families as textbooks state them, written as YAML and loaded.
mod family_text;
/// How well readings fit, and what a number says without a sheet or from raw readings.
mod fit;
/// Derived quantities.
mod formula;
/// Job records of earlier versions: every later one resumes them.
mod frozen;
/// Text that would steer a terminal or mislead a reader.
mod hostile_text;
/// The rooms of the house, and what each may use.
mod house;
/// What an instrument's data sheet makes of a reading.
mod instruments;
/// Knowledge that loads: what is probably not meant.
mod job;
/// A folder of jobs at a glance.
mod jobs;
mod judgement;
#[cfg(unix)]
mod keyboard;
/// Learned figures laid over the knowledge, as every command uses them.
mod laid_over;
/// What closed jobs say about the knowledge's figures.
mod learning;
/// Knowledge files: what is found wrong, where, and what is suggested.
mod loading;
/// Single edits of the shipped files.
mod loading_edits;
/// Hostile files and folders.
mod loading_hostile;
/// The papers and schemas of knowledge files.
mod loading_papers;
/// Rules of order in the knowledge: what waits for what.
mod order_rules;
/// The commands shown in README and docs.
mod papers;
/// The plan for the foreman, as a command.
mod plan_command;
/// A technician who answers every prompt of a session.
mod player;
/// Practice: exercises, what their vehicles answer, and that nothing gives the fault away.
mod practice;
/// Practice on the page.
mod practice_page;
/// The shop's profile: which file, what it changes, and what is refused.
mod profile;
/// The real program: exit codes, pipes, colours.
mod program;
/// Published examples of choosing a test.
mod ranking_published;
/// The job record: what is kept, what is refused, what it amounts to.
mod record;
/// Figures that other libraries computed.
mod reference;
/// What must never be done with a vehicle, whatever way the planner finds.
mod safety;
/// What an editor is given to check knowledge files by, on real files and spoilt ones.
mod schemas;
/// Screens as they are set.
mod screens;
/// A family of another trade, from what `new` writes.
mod second_family;
/// The shop's page: jobs by forms, two people on one job, and what is not heard.
mod serve;
/// Recordings on the shop's page: sent, looked at, taken, and what is not heard.
mod serve_recording;
/// Sessions by prompts and answers alone, and what survives stopping.
mod session_core;
/// What can be typed into a session, and what comes of it.
mod sessions;
/// Another vehicle than was thought, and equipment that is not here.
mod sessions_changed;
/// The end of sessions: which cause was found.
mod sessions_closing;
/// Random lines typed into sessions.
mod sessions_random;
/// Readings as they are really taken, typed into sessions.
mod sessions_readings;
/// Sessions and their records: stopping, coming back, damage.
mod sessions_record;
/// A job on one sheet: the example, what must stand on it, hostile text.
mod sheet;
/// The knowledge that is shipped.
mod shipped;
/// A shop to run the program in.
mod shop;
/// What a repair shows on the way, from the knowledge to the bay.
mod shown;
/// Slips of a maintainer: one finding each, and the figures that a moved point gives away.
mod slips;
/// Families, symptoms, measurements and causes that the program starts.
mod starting;
/// Drawn vehicles, and how they are diagnosed.
mod study;
/// Everything that is shipped, looked at piece by piece.
mod sweep;
/// Learned figures written into a folder of knowledge, as `learn --apply` does it.
mod taken_over;
/// A technician at its prompts.
mod technician;
/// A textbook family and edits to it.
mod textbook;
/// The clock of timed tests.
mod timing;
/// What a person says, and what a reading finds beside the complaint.
mod told;
/// Fault trees against published examples.
mod trees_published;
/// Fault trees against trying everything.
mod trees_referee;
/// Fault trees that are large, deep or wide.
mod trees_size;
/// A plain list of gates to write trees with, try everything on, and draw on a failure.
mod trees_sketch;
/// The shape of trouble codes.
mod trouble_codes;
/// One whole job of each complaint, from the customer's words to the closed record.
mod whole_jobs;
/// The worked cases of the shipped knowledge, played through the prompts.
mod worked_cases;
