//! Where the outputs of a run go: standard output, or files that are whole or not there.

use std::collections::HashSet;
use std::path::Path;

use super::new_file::{Ground, NewFile};
use super::problem::Problem;
use super::{Color, Console};
use crate::checker::Report;
use crate::finding::Severity;
use crate::report::checkstyle::Checkstyle;
use crate::report::github::Github;
use crate::report::gitlab::Gitlab;
use crate::report::json::Json;
use crate::report::json_lines::JsonLines;
use crate::report::junit::Junit;
use crate::report::markdown::Markdown;
use crate::report::sarif::Sarif;
use crate::report::text::Text;
use crate::report::{Form, Reporter, Summary, Target};
use crate::rules::packs::RuleSet;
use crate::source::{shown, tidy_path};

/// The outputs asked for on the command line: those of `--output`, with the file of `--output-file` for the one that has none.
///
/// # Errors
/// Where that file belongs to none of them, or to several.
pub(super) fn asked(outputs: &[Target], file: Option<&Path>) -> Result<Vec<Target>, Problem> {
    let mut outputs = outputs.to_vec();
    let Some(file) = file else { return Ok(outputs) };
    if outputs.is_empty() {
        outputs.push(Target { form: Form::Text, file: None });
    }
    let mut without: Vec<&mut Target> = outputs.iter_mut().filter(|output| output.file.is_none()).collect();
    match without.as_mut_slice() {
        [one] => one.file = Some(file.to_path_buf()),
        _ => {
            return Err(Problem::new("`--output-file` goes with one output that names no file itself")
                .help("write `--output sarif=findings.sarif` for each of several outputs"));
        }
    }
    Ok(outputs)
}

/// What makes the outputs of one project's plans.
pub(super) struct Held<'r> {
    pub rules: &'r RuleSet,
    pub fail_on: Severity,
    /// Whether findings of a rule are asked for.
    pub selected: &'r dyn Fn(&str) -> bool,
}

/// Where one output goes.
pub(super) enum Sink {
    Console,
    File(Box<NewFile>),
}

impl Sink {
    /// Writes all of an output.
    pub(super) fn put(self, bytes: &[u8], console: &Console) -> Result<(), Problem> {
        match self {
            Sink::Console => console.print(bytes),
            Sink::File(mut file) => file.write(bytes).and_then(|()| file.finish()),
        }
    }
}

/// Opens where outputs go, in their order; nothing is written yet.
///
/// # Errors
/// Everything that keeps one of them from being written.
pub(super) fn open_sinks<F>(targets: &[Target<F>], ground: &Ground<'_>) -> Result<Vec<Sink>, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut sinks = Vec::new();
    let mut files = HashSet::new();
    if targets.iter().filter(|target| target.file.is_none()).count() > 1 {
        let problem = Problem::new("only one output can go to standard output");
        problems.push(problem.help("name files for the others: `--output text --output json=FILE`"));
    }
    for target in targets {
        match &target.file {
            None => sinks.push(Sink::Console),
            Some(file) if !files.insert(tidy_path(&ground.here.join(file))) => {
                problems.push(Problem::new(format!("two outputs would go to {}", shown(file))));
            }
            Some(file) => match NewFile::create(file, ground) {
                Ok(file) => sinks.push(Sink::File(Box::new(file))),
                Err(problem) => problems.push(problem),
            },
        }
    }
    if problems.is_empty() { Ok(sinks) } else { Err(problems) }
}

/// One output of a run.
struct Channel {
    sink: Sink,
    /// For each project.
    reporters: Vec<Box<dyn Reporter>>,
    form: Form,
    begun: bool,
    /// How many bytes of plans there still is room for, where that is bounded, and how many plans there was none for.
    room: Option<usize>,
    left_out: usize,
}

/// The outputs of a run.
pub(super) struct Outputs<'c> {
    channels: Vec<Channel>,
    console: &'c Console,
}

impl<'c> Outputs<'c> {
    /// Opens the outputs; nothing is written yet.
    ///
    /// # Errors
    /// Everything that keeps one of them from being written.
    pub(super) fn open(
        targets: &[Target],
        projects: &[Held<'_>],
        ground: &Ground<'_>,
        console: &'c Console,
    ) -> Result<Self, Vec<Problem>> {
        let sinks = open_sinks(targets, ground)?;
        let channels = targets.iter().zip(sinks).map(|(target, sink)| {
            let color = match sink {
                Sink::Console => console.stdout_color,
                Sink::File(_) => console.asked == Color::Always,
            };
            // What a file holds is the same wherever it is written.
            let (width, quiet) = match sink {
                Sink::Console => (console.width, console.quiet),
                Sink::File(_) => (None, false),
            };
            let text = Text { color, width, quiet };
            let reporters = reporters(target.form, projects, text);
            let room = reporters.first().and_then(|reporter| reporter.most());
            Channel { sink, reporters, form: target.form, begun: false, room, left_out: 0 }
        });
        Ok(Outputs { channels: channels.collect(), console })
    }

    /// What each output says of a plan of a project.
    pub(super) fn plan(&self, project: usize, report: &Report) -> Vec<Vec<u8>> {
        self.channels.iter().map(|channel| channel.reporters[project].plan(report)).collect()
    }

    /// Writes what stands before all plans.
    pub(super) fn opening(&mut self) -> Result<(), Problem> {
        self.each(|channel| channel.reporters.first().map(|reporter| reporter.opening().into_bytes()))
    }

    /// Writes what [`Outputs::plan`] gave for some plans, in order.
    pub(super) fn plans(&mut self, plans: Vec<Vec<Vec<u8>>>) -> Result<(), Problem> {
        let mut all: Vec<Vec<u8>> = self.channels.iter().map(|_| Vec::new()).collect();
        for plan in plans {
            for ((channel, bytes), own) in self.channels.iter_mut().zip(&mut all).zip(plan) {
                if own.is_empty() {
                    continue;
                }
                if let Some(room) = &mut channel.room {
                    if channel.left_out > 0 || own.len() > *room {
                        channel.left_out += 1;
                        continue;
                    }
                    *room -= own.len();
                }
                if channel.begun {
                    bytes.extend_from_slice(channel.reporters[0].between().as_bytes());
                }
                channel.begun = true;
                bytes.extend(own);
            }
        }
        let mut all = all.into_iter();
        self.each(|_| all.next())
    }

    /// Writes what stands after all plans, and gives the files their names.
    pub(super) fn close(mut self, summary: &Summary) -> Result<(), Vec<Problem>> {
        let text = summary.files > 0;
        self.each(|channel| match channel.form {
            Form::Text if !text => None,
            _ => channel.reporters.first().map(|reporter| {
                let left_out = (channel.left_out > 0).then(|| reporter.left_out(channel.left_out));
                (left_out.unwrap_or_default() + &reporter.closing(summary)).into_bytes()
            }),
        })
        .map_err(|problem| vec![problem])?;
        let mut problems = Vec::new();
        for channel in self.channels {
            if let Sink::File(file) = channel.sink {
                problems.extend(file.finish().err());
            }
        }
        if problems.is_empty() { Ok(()) } else { Err(problems) }
    }

    /// Whether a person sees anything of the run.
    pub(super) fn silent(&self) -> bool {
        self.channels.iter().all(|channel| matches!(channel.sink, Sink::File(_)))
    }

    fn each(&mut self, mut bytes: impl FnMut(&Channel) -> Option<Vec<u8>>) -> Result<(), Problem> {
        for channel in &mut self.channels {
            let Some(bytes) = bytes(channel).filter(|bytes| !bytes.is_empty()) else { continue };
            match &mut channel.sink {
                Sink::Console => self.console.print(&bytes)?,
                Sink::File(file) => file.write(&bytes)?,
            }
        }
        Ok(())
    }
}

fn reporters(form: Form, projects: &[Held<'_>], text: Text) -> Vec<Box<dyn Reporter>> {
    let each = |make: &dyn Fn(&Held<'_>) -> Box<dyn Reporter>| projects.iter().map(make).collect();
    match form {
        Form::Text => each(&|_| Box::new(text)),
        Form::Json => each(&|_| Box::new(Json)),
        Form::JsonLines => each(&|_| Box::new(JsonLines)),
        Form::Markdown => each(&|_| Box::new(Markdown)),
        Form::Junit => each(&|held| Box::new(Junit::new(held.rules, held.fail_on, held.selected))),
        Form::Github => each(&|_| Box::new(Github)),
        Form::Gitlab => each(&|_| Box::new(Gitlab)),
        Form::Checkstyle => each(&|_| Box::new(Checkstyle)),
        Form::Sarif => {
            let sets: Vec<&RuleSet> = projects.iter().map(|held| held.rules).collect();
            Sarif::each(&sets).into_iter().map(|sarif| Box::new(sarif) as Box<dyn Reporter>).collect()
        }
    }
}
