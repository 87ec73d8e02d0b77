//! What is wrong with the tool's own input, shown by miette: arguments, files, rule packs.

use std::fmt;
use std::ops::Range;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, SourceCode,
    SourceSpan, SpanContents,
};

use crate::rules::packs::PackFaults;
use crate::source::{Span, lines_as_counted, one_line, printable};

/// The most columns that a problem takes.
const WIDEST: usize = 100;

/// One thing that keeps a command from being carried out.
#[derive(Debug)]
pub(super) struct Problem(Box<Parts>);

#[derive(Debug)]
struct Parts {
    message: String,
    help: Option<String>,
    source: Option<Excerpt>,
    label: Option<LabeledSpan>,
}

impl Problem {
    /// A problem in one line, whatever the words of files that it speaks of.
    pub(super) fn new(message: impl Into<String>) -> Self {
        Self::of_lines(one_line(&message.into()))
    }

    /// A problem in lines of the program's own.
    pub(super) fn of_lines(message: String) -> Self {
        Problem(Box::new(Parts { message: printable(message), help: None, source: None, label: None }))
    }

    /// What to do about it, in the program's own words: they may be broken anywhere, so that no name of a file stands among them.
    pub(super) fn help(mut self, help: impl Into<String>) -> Self {
        self.0.help = Some(printable(help.into()));
        self
    }

    /// Marks a place in a text of the tool's own.
    pub(super) fn at(mut self, name: &str, text: &str, span: Span, label: impl Into<String>) -> Self {
        let text = lines_as_counted(text);
        let (excerpt, range) = Excerpt::around(name, &text, span.range());
        self.0.label = Some(LabeledSpan::new(Some(one_line(&label.into())), range.start, range.len()));
        self.0.source = Some(excerpt);
        self
    }

    /// The text of it.
    pub(super) fn render(&self, color: bool, width: Option<usize>) -> String {
        let theme = if color { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let mut text = String::new();
        let handler = GraphicalReportHandler::new_themed(theme)
            .with_width(width.map_or(WIDEST, |width| width.min(WIDEST)))
            .with_links(false);
        if handler.render_report(&mut text, self).is_err() {
            text = format!("{self}\n");
        }
        text
    }
}

/// The lines around a place in a text. A problem keeps these alone, since there may be a thousand of one text, and miette is not shown a line
/// that no one could read: it lays out no column beyond 65 535.
#[derive(Debug)]
struct Excerpt {
    name: String,
    text: String,
    /// How many lines stand before it, and how many characters before it on its first line.
    before: (usize, usize),
}

/// The longest that the lines around a place are shown whole, bytes.
const LONGEST: usize = 1_000;

/// How much of a longer line is shown on either side of a place, bytes.
const BESIDE: usize = 40;

impl Excerpt {
    /// The lines around a place, and the place in them.
    fn around(name: &str, text: &str, place: Range<usize>) -> (Excerpt, Range<usize>) {
        let end_of_line = |from: usize| text[from..].find('\n').map_or(text.len(), |length| from + length);
        let start = text.floor_char_boundary(place.start.min(text.len()));
        let end = text.floor_char_boundary(place.end.clamp(start, text.len()));
        let line = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let above = text[..line.saturating_sub(1)].rfind('\n').map_or(0, |at| at + 1);
        let below = end_of_line((end_of_line(end) + 1).min(text.len()));
        let lines = |until: usize| text[..until].matches('\n').count();
        let name = name.to_string();
        if below - above <= LONGEST {
            let before = (lines(above), 0);
            return (Excerpt { name, text: text[above..below].into(), before }, start - above..end - above);
        }
        let from = text.ceil_char_boundary(line.max(start.saturating_sub(BESIDE)));
        let end = text.floor_char_boundary(end.min(start + BESIDE).min(end_of_line(start)).max(start));
        let to = text.floor_char_boundary(end_of_line(start).min(end + BESIDE));
        let cut = if from > line { "…" } else { "" };
        let column = text[line..from].chars().count().saturating_sub(cut.chars().count());
        let shown = format!("{cut}{}{}", &text[from..to], if to < end_of_line(start) { "…" } else { "" });
        let moved = |at: usize| at - from + cut.len();
        (Excerpt { name, text: shown, before: (lines(line), column) }, moved(start)..moved(end))
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let own = self.text.read_span(span, before, after)?;
        // miette counts bytes, where what it shows of columns is read as characters.
        let up_to = self.text.get(span.offset().saturating_sub(own.column())..span.offset());
        let column = up_to.map_or(own.column(), |text| text.chars().count());
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            own.data(),
            *own.span(),
            own.line() + self.before.0,
            column + self.before.1,
            own.line_count(),
        )))
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

/// How many problems of one rule pack are shown.
const MOST_SHOWN: usize = 100;

/// The problems of a rule pack, each at its place.
pub(super) fn pack_problems(faults: &PackFaults) -> Vec<Problem> {
    let more = faults.faults.len().saturating_sub(MOST_SHOWN);
    let more = (more > 0).then(|| {
        Problem::new(format!("{}: {} not shown", faults.pack.name, crate::text::more_faults(more)))
            .help("mend those above first")
    });
    faults
        .faults
        .iter()
        .take(MOST_SHOWN)
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
        .chain(more)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, at: usize) -> String {
        Problem::new("wrong").at("a.rule", text, Span::new(at..at + 1), "here").render(false, None)
    }

    #[test]
    fn a_place_is_shown_with_its_line_and_the_lines_around_it() {
        let text = "one\ntwo\nthree\nfour\nfive\n";
        let shown = shown(text, 9);
        assert!(shown.contains("a.rule:3:2") && shown.contains("3 │ three"), "{shown}");
        assert!(shown.contains("2 │ two") && shown.contains("4 │ four") && !shown.contains("five"), "{shown}");
    }

    #[test]
    fn a_long_line_is_cut_on_both_sides() {
        for (letter, end) in [("é", 80_000), ("x", 70_000)] {
            let text = format!("first\n{}!{}\nlast\n", letter.repeat(end), letter.repeat(end));
            let shown = shown(&text, 6 + letter.len() * end);
            assert!(shown.contains(&format!("a.rule:2:{}", end + 1)), "{shown}");
            assert!(shown.len() < 1_000 && shown.contains('!') && shown.contains('…'), "{shown}");
        }
    }
}
