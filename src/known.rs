//! Known findings: those of old plans, recorded so that only new ones are reported. `grammar/known.md` describes the file.
//!
//! A known finding is recorded by what it is about (its [`Identity`]) and how many there are of it, so that it is known again although lines
//! move. What reading a plan finds is never known: a plan that can't be read isn't checked.

use std::collections::{BTreeMap, HashMap};
use std::fmt::Write as _;

use serde::Deserialize;
use toml::Spanned;

use crate::checker::Report;
use crate::finding::Finding;
use crate::fingerprint::{Identity, identity};
use crate::language::faults::SyntaxFault;
use crate::source::Span;

/// The version of the file's form.
pub const VERSION: i64 = 1;

const FORMAT: &str = "layrule-known-findings";

/// Known findings, and how many there are of each.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Known {
    /// How many of each.
    pub counts: BTreeMap<Identity, u32>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KnownFile {
    format: Spanned<String>,
    version: Spanned<i64>,
    #[serde(default)]
    known: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    plan: String,
    rule: String,
    #[serde(default)]
    room: String,
    #[serde(default)]
    about: Vec<String>,
    text: String,
    #[serde(default = "once")]
    count: u32,
}

fn once() -> u32 {
    1
}

impl Known {
    /// Reads a file of known findings.
    ///
    /// # Errors
    /// What is wrong with it, and where.
    pub fn parse(text: &str) -> Result<Known, SyntaxFault> {
        let fault = |span: Span, message: String, help: &str| SyntaxFault {
            span,
            message,
            label: "here".into(),
            instead: None,
            help: Some(help.into()),
        };
        let file: KnownFile = toml::from_str(text).map_err(|error| {
            let span = Span::new(error.span().unwrap_or(0..0));
            fault(
                span,
                format!("this is no file of known findings: {}", error.message()),
                "`--record-known` writes one afresh",
            )
        })?;
        if file.format.get_ref() != FORMAT {
            let message = format!("this is no file of known findings, but `{}`", file.format.get_ref());
            return Err(fault(Span::new(file.format.span()), message, "`--record-known` writes one"));
        }
        if *file.version.get_ref() != VERSION {
            let message = format!("the file is of version {}, and version {VERSION} is read", file.version.get_ref());
            return Err(fault(
                Span::new(file.version.span()),
                message,
                "use the program that wrote it, or `--record-known` afresh",
            ));
        }
        let mut known = Known::default();
        for entry in file.known {
            let Entry { plan, rule, room, about, text, count } = entry;
            let own = known.counts.entry(Identity { plan, rule, room, about, text }).or_default();
            *own = own.saturating_add(count);
        }
        Ok(known)
    }

    /// The file of these findings: in order, one block each, the same for the same findings.
    pub fn print(&self) -> String {
        let text = |text: &str| toml::Value::String(text.to_string()).to_string();
        let mut file = format!(
            "# Known findings, which `layrule check` does not report. `--record-known` writes this file.\n\
             format = \"{FORMAT}\"\nversion = {VERSION}\n"
        );
        for (one, count) in &self.counts {
            let _ = write!(file, "\n[[known]]\nplan = {}\nrule = {}\n", text(&one.plan), text(&one.rule));
            if !one.room.is_empty() {
                let _ = writeln!(file, "room = {}", text(&one.room));
            }
            if !one.about.is_empty() {
                let about: Vec<String> = one.about.iter().map(|about| text(about)).collect();
                let _ = writeln!(file, "about = [{}]", about.join(", "));
            }
            let _ = writeln!(file, "text = {}", text(&one.text));
            if *count != 1 {
                let _ = writeln!(file, "count = {count}");
            }
        }
        file
    }

    /// Takes the known findings out of a report: the first of those that are about the same, as many as are known. What was taken is
    /// returned.
    pub fn sift(&self, report: &mut Report) -> Known {
        sift(report, |identity| self.counts.get(identity).copied().unwrap_or(0))
    }

    /// Takes everything out that can be known.
    pub fn sift_all(report: &mut Report) -> Known {
        sift(report, |_| u32::MAX)
    }

    /// Takes out those of rules for which `binding` holds, which can't be known. Gives how many each rule had, by name.
    pub fn take_binding(&mut self, binding: impl Fn(&str) -> bool) -> BTreeMap<String, u32> {
        let mut taken = BTreeMap::new();
        self.counts.retain(|identity, count| {
            let binds = binding(&identity.rule);
            if binds {
                *taken.entry(identity.rule.clone()).or_default() += *count;
            }
            !binds
        });
        taken
    }

    /// How many findings these are.
    pub fn total(&self) -> usize {
        self.counts.values().map(|count| *count as usize).sum()
    }

    /// Adds others to these.
    pub fn add(&mut self, others: Known) {
        for (identity, count) in others.counts {
            *self.counts.entry(identity).or_default() += count;
        }
    }

    /// What is left of these once `found` is taken away, for the plans that `concerns` holds for.
    pub fn gone(&self, found: &Known, concerns: impl Fn(&str) -> bool) -> Vec<(Identity, u32)> {
        let left = self.counts.iter().filter(|(identity, _)| concerns(&identity.plan)).map(|(identity, count)| {
            (identity.clone(), count.saturating_sub(found.counts.get(identity).copied().unwrap_or(0)))
        });
        left.filter(|(_, count)| *count > 0).collect()
    }
}

/// Whether a finding can be known: those that a rule made and nobody agreed to. What shocks or burns is told of every time.
fn can_be_known(finding: &Finding) -> bool {
    finding.basis.is_some() && finding.accepted.is_none() && !finding.binding
}

fn sift(report: &mut Report, most: impl Fn(&Identity) -> u32) -> Known {
    let mut taken: HashMap<Identity, u32> = HashMap::new();
    let sources = &report.sources;
    report.findings.retain(|finding| {
        if !can_be_known(finding) {
            return true;
        }
        let identity = identity(finding, sources);
        let most = most(&identity);
        if most == 0 {
            return true;
        }
        let count = taken.entry(identity).or_default();
        let known = *count < most;
        *count += u32::from(known);
        !known
    });
    Known { counts: taken.into_iter().collect() }
}
