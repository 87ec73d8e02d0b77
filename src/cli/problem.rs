//! What is wrong with the tool's own input, shown by miette: arguments, files, rule packs.

use std::fmt;

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};

use crate::rules::packs::PackFaults;
use crate::source::{Span, lines_as_counted, one_line, printable};

/// One thing that keeps a command from being carried out.
#[derive(Debug)]
pub(super) struct Problem(Box<Parts>);

#[derive(Debug)]
struct Parts {
    message: String,
    help: Option<String>,
    source: Option<NamedSource<String>>,
    label: Option<LabeledSpan>,
}

impl Problem {
    /// A problem in one line, whatever the words of files that it speaks of.
    pub fn new(message: impl Into<String>) -> Self {
        Self::of_lines(one_line(&message.into()))
    }

    /// A problem in lines of the program's own.
    pub fn of_lines(message: String) -> Self {
        Problem(Box::new(Parts { message: printable(message), help: None, source: None, label: None }))
    }

    /// What to do about it, in the program's own words: they may be broken anywhere, so that no name of a file stands among them.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.0.help = Some(printable(help.into()));
        self
    }

    /// Marks a place in a text of the tool's own.
    pub fn at(mut self, name: &str, text: &str, span: Span, label: impl Into<String>) -> Self {
        let range = span.range();
        let start = range.start.min(text.len());
        self.0.label = Some(LabeledSpan::new(Some(one_line(&label.into())), start, range.end.min(text.len()) - start));
        self.0.source = Some(NamedSource::new(name, lines_as_counted(text).into_owned()));
        self
    }

    /// The text of it.
    pub fn render(&self, color: bool) -> String {
        let theme = if color { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let mut text = String::new();
        let handler = GraphicalReportHandler::new_themed(theme).with_width(100).with_links(false);
        if handler.render_report(&mut text, self).is_err() {
            text = format!("{self}\n");
        }
        text
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0.message)
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.0.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.0.source.as_ref().map(|source| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.0.label.clone().map(|label| Box::new(std::iter::once(label)) as Box<dyn Iterator<Item = LabeledSpan>>)
    }
}

/// The problems of a rule pack, each at its place.
pub(super) fn pack_problems(faults: &PackFaults) -> Vec<Problem> {
    faults
        .faults
        .iter()
        .map(|fault| {
            let problem = Problem::new(fault.message.clone()).at(
                &faults.pack.name,
                &faults.pack.text,
                fault.span,
                fault.label.clone(),
            );
            match &fault.help {
                Some(help) => problem.help(help.clone()),
                None => problem,
            }
        })
        .collect()
}
