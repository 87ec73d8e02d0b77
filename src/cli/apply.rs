//! `layrule check --apply`: the changes that findings carry, made in the plans themselves.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use super::Console;
use super::jobs::{CheckedBy, Job};
use super::new_file::NewFile;
use super::problem::Problem;
use super::tidy::difference;
use crate::checker::mend::{mend, no_worse};
use crate::checker::{self, Report};
use crate::layout::tree::{Reading, Record, RecordEntry, RoomEntry, SensorReading, Statement};
use crate::measure::plan::Measured;
use crate::model::Stage;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::source::{Disk, Memory, Overlay, Reader as _, printable};
use crate::text::counted;
use crate::worded::Worded as _;

/// A plan about to be changed.
struct Changed<'j> {
    job: &'j Job,
    path: &'j PathBuf,
    before: String,
    after: String,
    made: Vec<String>,
}

/// Mends the plans of a run, or with `dry_run` shows what would be changed. What can't be done is told of.
///
/// # Errors
/// Where a plan could not be read or written; the others are done all the same.
pub(super) fn apply(
    jobs: &[Job],
    setting: &CheckedBy<'_>,
    dry_run: bool,
    console: &Console,
) -> Result<(), Vec<Problem>> {
    let mut problems = Vec::new();
    let mut changed = Vec::new();
    let mut dropped = 0;
    for job in jobs {
        let Some(path) = &job.path else {
            problems.push(Problem::new("changes can't be made to standard input").help("name the plan's file"));
            continue;
        };
        // What can't be read is told of by the check that follows.
        let Ok(before) = Disk.read(path) else { continue };
        if printable(before.clone()) != before {
            let problem =
                Problem::new(format!("{} is not changed: it holds characters that a terminal would obey", job.name));
            problems.push(problem.help("take the control characters out first"));
            continue;
        }
        if is_laid(&before) {
            console
                .say(&format!("{}: not changed; its record says what was laid, and it is drawn as built\n", job.name));
            continue;
        }
        let library = Library::new(&Disk, setting.folder(job), setting.here);
        let check = |text: &str| {
            let loaded = library.load_text(path, &job.name, text.to_string());
            checker::untried(&Measured::new(resolve(loaded)), setting.rules(job), setting.today)
        };
        let mended = mend(&before, &check(&before), check);
        dropped += mended.dropped.len();
        if mended.text != before {
            changed.push(Changed { job, path, before, after: mended.text, made: mended.made });
        }
    }
    keep_the_others_sound(jobs, setting, &mut changed);
    let (mut made, mut files) = (0, 0);
    for one in &changed {
        if dry_run {
            (made, files) = (made + one.made.len(), files + 1);
            let shown = difference(&one.job.name, &one.before, &one.after, console.stdout_color);
            console.print(shown.as_bytes()).map_err(|problem| vec![problem])?;
            continue;
        }
        match write(one) {
            Ok(()) => {
                (made, files) = (made + one.made.len(), files + 1);
                one.made.iter().for_each(|what| console.say(&format!("{}: {what}\n", one.job.name)));
            }
            Err(problem) => problems.push(problem),
        }
    }
    let verb = if dry_run { "would be made" } else { "made" };
    let mut closing = format!("{} {verb} in {}", counted(made, "change"), counted(files, "file"));
    if dropped > 0 {
        closing.push_str(&format!("; {dropped} tried and not kept, since they bring other findings or leave as many"));
    }
    console.say(&format!("{closing}\n"));
    if problems.is_empty() { Ok(()) } else { Err(problems) }
}

/// Whether a plan's record says that cable was laid: from there on the plan shows what is in the floor, and no longer what might be.
fn is_laid(text: &str) -> bool {
    let later = |entry: &RecordEntry| match entry {
        RecordEntry::Reading(Reading { stage, .. }) | RecordEntry::SensorReading(SensorReading { stage, .. }) => {
            Stage::of_word(&stage.text).is_some_and(|stage| stage >= Stage::Laid)
        }
        RecordEntry::Tiled(..) | RecordEntry::SwitchedOn(..) => true,
        // Cable may lie on a screed as well as in it.
        RecordEntry::Screeded(_)
        | RecordEntry::Signed(..)
        | RecordEntry::Label(_)
        | RecordEntry::RcdTest(_)
        | RecordEntry::Primed(..)
        | RecordEntry::Note(_)
        | RecordEntry::Photo(_) => false,
    };
    crate::layout::parse(text).statements.iter().any(|statement| match statement {
        Statement::Room(room) => room.entries.iter().any(|entry| match entry {
            RoomEntry::Record(Record { entries, .. }) => entries.iter().any(later),
            _ => false,
        }),
        _ => false,
    })
}

/// Takes back what would leave another plan of the run, which uses the changed one, worse than it was.
fn keep_the_others_sound(jobs: &[Job], setting: &CheckedBy<'_>, changed: &mut Vec<Changed<'_>>) {
    if changed.is_empty() || jobs.len() < 2 {
        return;
    }
    loop {
        let mut texts = Memory::default();
        changed.iter().for_each(|one| texts.insert(one.path, one.after.as_str()));
        let over = Overlay { over: &texts, under: &Disk };
        let report = |job: &Job, path: &Path, after: bool| -> Option<Report> {
            let reader: &dyn crate::source::Reader = if after { &over } else { &Disk };
            let library = Library::new(reader, setting.folder(job), setting.here);
            Some(checker::check(library.load(path, &job.name).ok()?, setting.rules(job), setting.today))
        };
        let mut bad: HashSet<PathBuf> = HashSet::new();
        for job in jobs {
            let Some(path) = &job.path else { continue };
            let Some(after) = report(job, path, true) else { continue };
            let own: HashSet<PathBuf> = after.sources.locations(setting.folder(job)).collect();
            let drawn_on = changed.iter().filter(|one| own.contains(one.path)).map(|one| one.path.clone());
            let drawn_on: Vec<PathBuf> = drawn_on.collect();
            if drawn_on.is_empty() || drawn_on == [path.clone()] {
                continue;
            }
            if report(job, path, false).is_some_and(|before| !no_worse(&after, &before)) {
                bad.extend(drawn_on);
            }
        }
        if bad.is_empty() {
            return;
        }
        changed.retain(|one| !bad.contains(one.path));
    }
}

fn write(one: &Changed<'_>) -> Result<(), Problem> {
    // Whoever saved the plan meanwhile keeps what they saved.
    let mut file = NewFile::replace(one.path, &one.job.name, &one.before)?;
    file.write(one.after.as_bytes())?;
    file.finish()
}
