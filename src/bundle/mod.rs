//! A plan with all that it is checked by, in one text that needs no other file: the plan, the files that it uses, its rule packs, the settings
//! that a check goes by.
//!
//! ```text
//! layrule bundle 1
//! # … notes for whoever reads it
//! program 0.2.0
//! built-in 5f0c…
//! fail-on warning
//! files 3
//!
//! plan plans/bath.lay
//! | room bath {
//! …
//! end 9d1e…
//! ```
//!
//! A line of a file stands behind `| `, so that mail takes no line of it for one of its own. A line that mail could change (one that ends with
//! blanks or by a carriage return, is very long, or holds control characters) stands behind `\ `, with what could change written out; so it
//! ends where it says `\n`. How the lines of the bundle itself end is no matter. Each file ends with its SHA-256.
//!
//! Reading writes nothing, and gives back no path but one that stays below whatever folder it is put in.

mod write;

use std::path::{Component, Path, PathBuf};

use sha2::{Digest as _, Sha256};

use crate::finding::Severity;
use crate::model::load::{MOST_FILES, MOST_TEXT};
use crate::project::FILE;
use crate::rules::packs::{BUILT_IN, Pack};
use crate::source::{LARGEST_FILE, Memory, ends_in, in_git, one_line, printable};
use crate::walk::MOST_PACKS;
pub use write::write;

/// What a bundle's name ends in.
pub const ENDING: &str = "laybundle";

/// The largest bundle that is read, bytes: what a plan may draw on, every line of it written out.
pub const LARGEST: u64 = 64 * 1024 * 1024;

/// What a bundle begins with; its version stands behind it.
const HEADER: &str = "layrule bundle ";

/// The version that is written and read.
const VERSION: &str = "1";

/// What a file in a bundle is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The plan.
    Plan,
    /// A file that it uses.
    Use,
    /// A rule pack.
    Rules,
    /// The file of known findings.
    Known,
}

impl Role {
    const WORDS: [(Role, &'static str); 4] =
        [(Role::Plan, "plan"), (Role::Use, "use"), (Role::Rules, "rules"), (Role::Known, "known")];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Role::WORDS.iter().find(|(role, _)| *role == self).map_or("", |(_, word)| word)
    }

    /// What its name has to end in.
    fn ending(self) -> &'static str {
        match self {
            Role::Plan | Role::Use => "lay",
            Role::Rules => "rule",
            Role::Known => "toml",
        }
    }
}

/// A file in a bundle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// What it is.
    pub role: Role,
    /// Its path from the project's folder, with `/` between folders.
    pub path: String,
    /// Its text.
    pub text: String,
}

/// What a bundle holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundle {
    /// The version of the program that wrote it.
    pub program: String,
    /// The fingerprint of the rules that came with that.
    pub built_in: String,
    /// The least severity that fails a check.
    pub fail_on: Severity,
    /// Whether rules that are not held fail it.
    pub whole: bool,
    /// The files: one plan, the first of them.
    pub members: Vec<Member>,
}

/// Why a text is read as no bundle, and at what line of it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct BundleFault {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong.
    pub what: Wrong,
}

/// What is wrong with a bundle.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)]
pub enum Wrong {
    #[error("it doesn't begin as a bundle does")]
    Foreign,
    #[error("it is of version {0}, and this program reads version {VERSION}; use a newer one")]
    Newer(String),
    #[error("`{0}` stands where a setting or a file should begin")]
    Stray(String),
    #[error("`{0}` is no setting of a bundle's")]
    Setting(String),
    #[error("the name `{0}` leads out of the bundle, or is of another kind than the file")]
    Path(String),
    #[error("`{0}` is in it twice")]
    Twice(String),
    #[error("`{0}` breaks off: the bundle was cut short")]
    Cut(String),
    #[error("`{0}` was changed on its way: its fingerprint is another; have it sent again")]
    Changed(String),
    #[error("a line of `{0}` is written as none should be")]
    Line(String),
    #[error("it holds no plan, or several")]
    Plans,
    #[error("it says that it holds {said} files, and holds {held}: it was cut short, or added to")]
    Count { said: usize, held: usize },
    #[error("it holds more than is read: {MOST_FILES} plans and {MOST_PACKS} rule packs, {limit} MiB in all", limit = MOST_TEXT / 1024 / 1024)]
    TooMuch,
}

/// A fingerprint of a text: its SHA-256, in hexadecimal digits.
pub fn fingerprint(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The fingerprint of the rules that come with this program.
pub fn built_in() -> String {
    let all: String = BUILT_IN.iter().map(|(name, text)| format!("{name}\n{text}\n")).collect();
    fingerprint(&all)
}

impl Bundle {
    /// Its plan.
    pub fn plan(&self) -> Option<&Member> {
        self.members.iter().find(|member| member.role == Role::Plan)
    }

    /// The file of known findings.
    pub fn known(&self) -> Option<&Member> {
        self.members.iter().find(|member| member.role == Role::Known)
    }

    /// The rule packs, in their order.
    pub fn packs(&self) -> impl Iterator<Item = Pack> + '_ {
        let packs = self.members.iter().filter(|member| member.role == Role::Rules);
        packs.map(|member| Pack { name: member.path.clone(), text: member.text.clone() })
    }

    /// The plan and what it uses, to be read as from a disk.
    pub fn files(&self) -> Memory {
        let mut files = Memory::default();
        let plans = self.members.iter().filter(|member| matches!(member.role, Role::Plan | Role::Use));
        plans.for_each(|member| files.insert(&member.path, member.text.as_str()));
        files
    }

    /// Reads a bundle.
    ///
    /// # Errors
    /// What is wrong with it first, and at what line.
    ///
    /// ```
    /// use layrule::bundle::{Bundle, Wrong};
    /// assert_eq!(Bundle::parse("room r {\n").map_err(|fault| fault.what), Err(Wrong::Foreign));
    /// ```
    pub fn parse(text: &str) -> Result<Bundle, BundleFault> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        // Blanks at the end of a line are none of the bundle's, so that mail may add them, or take them off.
        let lines = text.split('\n').map(|line| line.trim_end_matches(['\r', ' ', '\t']));
        let mut reading = Reading { lines: lines.enumerate(), line: 1, read: 0 };
        reading.header()?;
        let mut said = 0;
        let mut bundle = Bundle {
            program: String::new(),
            built_in: String::new(),
            fail_on: Severity::Error,
            whole: false,
            members: Vec::new(),
        };
        while let Some(line) = reading.next() {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
            match Role::WORDS.iter().find(|(_, known)| *known == word) {
                Some((role, _)) => {
                    let member = reading.member(*role, rest, &bundle.members)?;
                    bundle.members.push(member);
                }
                None if word == "files" => {
                    let shown = || Wrong::Setting(one_line(&format!("{word} {rest}")));
                    said = rest.parse().map_err(|_| reading.fault(shown()))?;
                }
                None => bundle.set(word, rest).map_err(|what| reading.fault(what))?,
            }
        }
        let count = |role: Role| bundle.members.iter().filter(|member| member.role == role).count();
        if count(Role::Plan) != 1 || count(Role::Known) > 1 {
            return Err(reading.fault(Wrong::Plans));
        }
        if bundle.members.len() != said {
            return Err(reading.fault(Wrong::Count { said, held: bundle.members.len() }));
        }
        Ok(bundle)
    }

    fn set(&mut self, word: &str, value: &str) -> Result<(), Wrong> {
        let severities = [Severity::Error, Severity::Warning, Severity::Note];
        let no_setting = || Wrong::Setting(one_line(&format!("{word} {value}")));
        match word {
            "program" => self.program = one_line(value),
            "built-in" => self.built_in = one_line(value),
            "fail-on" => {
                self.fail_on = severities.into_iter().find(|own| own.word() == value).ok_or_else(no_setting)?;
            }
            "whole" => self.whole = value.parse().map_err(|_| no_setting())?,
            _ => return Err(Wrong::Stray(one_line(&word.chars().take(40).collect::<String>()))),
        }
        Ok(())
    }
}

/// A bundle as it is being read.
struct Reading<I> {
    lines: I,
    /// The line that was read last, from 1.
    line: usize,
    /// Bytes of files so far.
    read: usize,
}

impl<'t, I: Iterator<Item = (usize, &'t str)>> Reading<I> {
    fn next(&mut self) -> Option<&'t str> {
        let (index, line) = self.lines.next()?;
        self.line = index + 1;
        Some(line)
    }

    fn fault(&self, what: Wrong) -> BundleFault {
        BundleFault { line: self.line, what }
    }

    fn header(&mut self) -> Result<(), BundleFault> {
        let version = self.next().and_then(|line| line.strip_prefix(HEADER));
        match version {
            Some(VERSION) => Ok(()),
            Some(other) if !other.is_empty() && other.bytes().all(|byte| byte.is_ascii_digit()) => {
                Err(self.fault(Wrong::Newer(other.chars().take(9).collect())))
            }
            _ => Err(self.fault(Wrong::Foreign)),
        }
    }

    /// The file that begins on this line.
    fn member(&mut self, role: Role, path: &str, others: &[Member]) -> Result<Member, BundleFault> {
        let shown = one_line(&path.chars().take(200).collect::<String>());
        if !is_below(path, role) {
            return Err(self.fault(Wrong::Path(shown)));
        }
        let same = |other: &Member| other.path.eq_ignore_ascii_case(path) || leads_through(path, &other.path);
        if others.iter().any(same) {
            return Err(self.fault(Wrong::Twice(shown)));
        }
        let plans = others.iter().filter(|other| matches!(other.role, Role::Plan | Role::Use)).count();
        if plans > MOST_FILES || others.len() - plans > MOST_PACKS + 1 {
            return Err(self.fault(Wrong::TooMuch));
        }
        let mut text = String::new();
        loop {
            let Some(line) = self.next() else { return Err(self.fault(Wrong::Cut(shown))) };
            if let Some(sum) = line.strip_prefix("end ") {
                if fingerprint(&text) != sum {
                    return Err(self.fault(Wrong::Changed(shown)));
                }
                break;
            }
            let plain = if line == "|" { Some("") } else { line.strip_prefix("| ") };
            match plain {
                Some(plain) => {
                    text.push_str(plain);
                    text.push('\n');
                }
                None => {
                    let written = line.strip_prefix("\\ ").and_then(|line| write::unescaped(line, &mut text));
                    written.ok_or_else(|| self.fault(Wrong::Line(shown.clone())))?;
                }
            }
            if text.len() as u64 > LARGEST_FILE || self.read + text.len() > MOST_TEXT {
                return Err(self.fault(Wrong::TooMuch));
            }
        }
        self.read += text.len();
        Ok(Member { role, path: path.to_string(), text })
    }
}

/// The longest name of a file or a folder that all systems take, bytes.
const LONGEST_NAME: usize = 200;

/// Whether one path is that of a folder which the other leads through.
fn leads_through(path: &str, other: &str) -> bool {
    let (path, other) = (path.to_ascii_lowercase(), other.to_ascii_lowercase());
    path.starts_with(&format!("{other}/")) || other.starts_with(&format!("{path}/"))
}

/// Whether a path stays below whatever folder it is put in, however the system writes its paths, and is of a file of the kind.
fn is_below(path: &str, role: Role) -> bool {
    let barred = |c: char| c.is_control() || matches!(c, '\\' | ':' | '\u{fffd}' | '"' | '<' | '>' | '|' | '?' | '*');
    let parts = || Path::new(path).components();
    let named = |part: &str| {
        let stem = part.split('.').next().unwrap_or("").to_ascii_lowercase();
        let numbered = |device: &str| stem.strip_prefix(device).is_some_and(|rest| rest.len() == 1);
        let device = matches!(stem.as_str(), "con" | "prn" | "aux" | "nul") || numbered("com") || numbered("lpt");
        !part.is_empty()
            && part.len() <= LONGEST_NAME
            && part != "."
            && part != ".."
            && !part.ends_with(['.', ' '])
            && !part.starts_with(' ')
            && !device
    };
    !path.is_empty()
        && path.len() <= 1_000
        && !path.contains(barred)
        && printable(path.to_string()) == path
        && path.split('/').all(named)
        && parts().all(|part| matches!(part, Component::Normal(_)))
        && !in_git(Path::new(path))
        && ends_in(Path::new(path), role.ending())
        && !Path::new(path).file_name().is_some_and(|name| name.eq_ignore_ascii_case(FILE))
}

/// A path of a file that is to go into a bundle, as it is written there; nothing where it can't be.
pub fn bundled_path(path: &Path, role: Role) -> Option<String> {
    let text = crate::source::slashed(path);
    is_below(&text, role).then_some(text)
}

/// The files that a bundle is unpacked to, below a folder: its members, and a project file that says what it is checked by.
pub fn unpacked(bundle: &Bundle) -> Vec<(PathBuf, String)> {
    let mut files: Vec<(PathBuf, String)> =
        bundle.members.iter().map(|member| (PathBuf::from(&member.path), member.text.clone())).collect();
    let quoted = |text: &str| toml::Value::String(text.to_string()).to_string();
    let packs: Vec<String> = bundle.packs().map(|pack| quoted(&pack.name)).collect();
    let mut settings = "# What the plan of a bundle is checked by.\n".to_string();
    if !packs.is_empty() {
        settings.push_str(&format!("rules = [{}]\n", packs.join(", ")));
    }
    settings.push_str(&format!("fail-on = {}\n", quoted(bundle.fail_on.word())));
    if bundle.whole {
        settings.push_str("whole = true\n");
    }
    if let Some(known) = bundle.known() {
        settings.push_str(&format!("known = {}\n", quoted(&known.path)));
    }
    files.push((PathBuf::from(FILE), settings));
    files
}
