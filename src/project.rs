//! The project file, `layrule.toml`: what holds for the plans of a folder. `grammar/project.md` is its reference.

use std::path::{Path, PathBuf};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::finding::Severity;
use crate::language::faults::SyntaxFault;
use crate::report::Target;
use crate::source::{Astray, Span, ends_in, in_git, tidy_path};
use crate::text::{nearest, quoted};

/// What the project file is called.
pub const FILE: &str = "layrule.toml";

/// The folder of a project as it was looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The folder.
    pub folder: PathBuf,
    /// What was passed over on the way up, since it isn't [`heeded`].
    pub passed_over: Vec<PathBuf>,
}

/// Looks for the folder a plan may use files from: the nearest folder at or above `start`, inside its repository, that holds a project
/// file; else its repository; else the folder `here` where `start` lies in it; else `start` itself.
pub fn find(start: &Path, here: &Path) -> Found {
    let mut passed_over = Vec::new();
    for folder in start.ancestors() {
        let there = [folder.join(FILE), folder.join(".git")].into_iter().filter(|path| path.symlink_metadata().is_ok());
        let (theirs, others): (Vec<PathBuf>, Vec<PathBuf>) = there.partition(|path| heeded(path));
        passed_over.extend(others);
        if !theirs.is_empty() {
            return Found { folder: folder.to_path_buf(), passed_over };
        }
    }
    let folder = if start.starts_with(here) { here } else { start };
    Found { folder: folder.to_path_buf(), passed_over }
}

/// The folder that [`find`] finds.
pub fn folder_of(start: &Path, here: &Path) -> PathBuf {
    find(start, here).folder
}

/// Whether a file may speak for the folder it lies in. In a folder that all may write to, such as the system's for passing files,
/// anyone can leave a project file for the plans of others below it. So it has to belong to whoever runs the program, to the system's
/// administrator, or to the owner of that folder, who could put anything in its place.
#[cfg(unix)]
pub fn heeded(path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let user = rustix::process::geteuid().as_raw();
    let folder = path.parent().and_then(|folder| folder.metadata().ok()).map(|folder| folder.uid());
    // A link and what it leads to are each someone's.
    let owners = [path.symlink_metadata().ok(), path.metadata().ok()];
    owners.iter().flatten().all(|file| may_speak(file.uid(), user, folder))
}

/// Whether a file may speak for the folder it lies in: any may, where files have no owner that is known.
#[cfg(not(unix))]
pub fn heeded(_path: &Path) -> bool {
    true
}

/// Whether a file of that owner is heeded by that user in a folder of that owner, each known by its number.
#[cfg(unix)]
fn may_speak(owner: u32, user: u32, folder: Option<u32>) -> bool {
    const ADMINISTRATOR: u32 = 0;
    owner == user || owner == ADMINISTRATOR || Some(owner) == folder
}

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Its place in the file.
    pub span: Span,
}

/// What a project file says; nothing where it is silent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ProjectFile {
    /// Rule packs besides the built-in ones, by their paths from the file's folder.
    pub rules: Option<Placed<Vec<Placed<String>>>>,
    /// The least severity that fails a run.
    pub fail_on: Option<Placed<Severity>>,
    /// Whether a plan fails on which some rule could not be held.
    pub whole: Option<Placed<bool>>,
    /// Files that are left out of folders, by globs as in `.gitignore`.
    pub leave_out: Option<Placed<Vec<Placed<String>>>>,
    /// Outputs; their files are from the file's folder.
    pub outputs: Option<Placed<Vec<Placed<Target>>>>,
    /// The file of known findings.
    pub known: Option<Placed<String>>,
}

/// A key of a project file: its word, what it holds, and what it means.
#[derive(Debug)]
pub struct Key {
    /// The word.
    pub word: &'static str,
    /// An example of its value.
    pub example: &'static str,
    /// What it means.
    pub meaning: &'static str,
    read: fn(&mut Reading, &Spanned<DeValue<'_>>),
}

/// Whether what a project file names is a folder of rule packs, rather than one of them.
pub fn is_folder(named: &str) -> bool {
    named.ends_with('/')
}

/// The keys there are.
pub const KEYS: &[Key] = &[
    Key {
        word: "rules",
        example: "[\"rules/ours.rule\"]",
        meaning: "Rule packs to use besides the built-in ones; a name that ends in `/` is a folder, and means every pack below it, in the order of their names.",
        read: |reading, value| {
            reading.file.rules = reading.list(value, "a rule pack, such as `\"rules/ours.rule\"`", |reading, text| {
                let ending = if is_folder(&text.value) { "" } else { "rule" };
                reading.inside(text, ending).then(|| text.value.clone())
            });
        },
    },
    Key {
        word: "fail-on",
        example: "\"warning\"",
        meaning: "The least severity that fails the run: `error`, `warning` or `note`.",
        read: |reading, value| reading.fail_on(value),
    },
    Key {
        word: "whole",
        example: "true",
        meaning: "Whether a plan fails, too, on which some rule could not be held: `true` or `false`.",
        read: |reading, value| {
            let span = Span::new(value.span());
            match value.get_ref() {
                DeValue::Boolean(value) => reading.file.whole = Some(Placed { value: *value, span }),
                other => {
                    let message = format!("{} stands where `true` or `false` belongs", kind(other));
                    reading.fault(span, message, "here", "write `whole = true`");
                }
            }
        },
    },
    Key {
        word: "leave-out",
        example: "[\"drafts/\", \"*-old.lay\"]",
        meaning: "Plans that are left out when a folder is checked, by globs as in `.gitignore`. A plan named by itself is checked all the same.",
        read: |reading, value| {
            reading.file.leave_out = reading.list(value, "a glob, such as `\"drafts/\"`", |reading, text| {
                match ignore::gitignore::GitignoreBuilder::new("").add_line(None, &text.value) {
                    Ok(_) => Some(text.value.clone()),
                    Err(error) => {
                        let help = "globs are written as in `.gitignore`: `drafts/`, `*-old.lay`, `**/trial/*.lay`";
                        reading.fault(text.span, format!("`{}` is no glob: {error}", text.value), "here", help);
                        None
                    }
                }
            });
        },
    },
    Key {
        word: "output",
        example: "[\"text\", \"sarif=findings.sarif\"]",
        meaning: "The outputs of a run, as after `--output`. They hold where all plans of a run belong to this project; files are written only where it is trusted.",
        read: |reading, value| {
            reading.file.outputs =
                reading.list(value, "an output, such as `\"sarif=findings.sarif\"`", |reading, text| {
                    match text.value.parse::<Target>() {
                        Ok(target) => {
                            let file = target.file.as_ref().map(|file| file.display().to_string());
                            let file = file.map(|value| Placed { value, span: text.span });
                            file.is_none_or(|file| reading.inside(&file, "")).then_some(target)
                        }
                        Err(message) => {
                            reading.fault(text.span, message, "here", "`layrule check --help` explains the outputs");
                            None
                        }
                    }
                });
        },
    },
    Key {
        word: "known",
        example: "\"known-findings.toml\"",
        meaning: "The file of known findings, which are not reported; `--record-known` writes it.",
        read: |reading, value| {
            let text = reading.text(value, "a file, such as `\"known-findings.toml\"`");
            reading.file.known = text.filter(|text| reading.inside(text, "toml"));
        },
    },
];

/// The largest project file that is read, bytes.
const LARGEST: usize = 64 * 1024;

/// How many of its faults are told.
const MOST_FAULTS: usize = 100;

/// Reads a project file's text.
///
/// # Errors
/// Everything that is wrong with it, in the order of the text.
pub fn parse(text: &str) -> Result<ProjectFile, Vec<SyntaxFault>> {
    let mut reading = Reading::default();
    if text.len() > LARGEST {
        let message = format!("a project file holds {} KiB at the most, and this one more", LARGEST / 1024);
        reading.fault(Span::default(), message, "not read", "a few lines are all that it needs");
        return Err(reading.faults);
    }
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors.into_iter().take(MOST_FAULTS) {
        let span = Span::new(error.span().unwrap_or(0..0));
        reading.fault(
            span,
            format!("the file is no TOML: {}", error.message()),
            "here",
            "`key = \"value\"` stands on a line",
        );
    }
    for (key, value) in table.get_ref() {
        if reading.faults.len() >= MOST_FAULTS {
            break;
        }
        match KEYS.iter().find(|known| known.word == key.get_ref().as_ref()) {
            Some(known) => (known.read)(&mut reading, value),
            None => {
                let words = || KEYS.iter().map(|key| key.word);
                let help = match nearest(key.get_ref(), words()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("there are {}", quoted(words(), "and")),
                };
                reading.fault(
                    Span::new(key.span()),
                    format!("no setting is called `{}`", key.get_ref()),
                    "not known",
                    help,
                );
            }
        }
    }
    if reading.faults.is_empty() {
        return Ok(reading.file);
    }
    reading.faults.sort_by_key(|fault| fault.span);
    Err(reading.faults)
}

#[derive(Default)]
struct Reading {
    file: ProjectFile,
    faults: Vec<SyntaxFault>,
}

impl Reading {
    fn fault(&mut self, span: Span, message: impl Into<String>, label: &str, help: impl Into<String>) {
        self.faults.push(SyntaxFault {
            span,
            message: message.into(),
            label: label.into(),
            instead: None,
            help: Some(help.into()),
        });
    }

    fn text(&mut self, value: &Spanned<DeValue<'_>>, wanted: &str) -> Option<Placed<String>> {
        let span = Span::new(value.span());
        match value.get_ref() {
            DeValue::String(text) => Some(Placed { value: text.to_string(), span }),
            other => {
                self.fault(
                    span,
                    format!("{} stands where a text belongs", kind(other)),
                    "here",
                    format!("give {wanted}"),
                );
                None
            }
        }
    }

    /// A list of texts, each read by `read`; one text may stand for a list of one.
    fn list<T>(
        &mut self,
        value: &Spanned<DeValue<'_>>,
        wanted: &str,
        read: impl Fn(&mut Self, &Placed<String>) -> Option<T>,
    ) -> Option<Placed<Vec<Placed<T>>>> {
        let span = Span::new(value.span());
        let items: Vec<&Spanned<DeValue<'_>>> = match value.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            DeValue::String(_) => vec![value],
            other => {
                let help = format!("give a list in `[` and `]` of which each is {wanted}");
                self.fault(span, format!("{} stands where a list of texts belongs", kind(other)), "here", help);
                return None;
            }
        };
        let mut list = Vec::new();
        for item in items {
            let Some(text) = self.text(item, wanted) else { continue };
            if let Some(value) = read(self, &text) {
                list.push(Placed { value, span: text.span });
            }
        }
        Some(Placed { value: list, span })
    }

    fn fail_on(&mut self, value: &Spanned<DeValue<'_>>) {
        const ALL: [Severity; 3] = [Severity::Error, Severity::Warning, Severity::Note];
        let wanted = "`\"error\"`, `\"warning\"` or `\"note\"`";
        let Some(text) = self.text(value, wanted) else { return };
        match ALL.into_iter().find(|severity| severity.word() == text.value) {
            Some(value) => self.file.fail_on = Some(Placed { value, span: text.span }),
            None => {
                let help = match nearest(&text.value, ALL.into_iter().map(Severity::word)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("give {wanted}"),
                };
                self.fault(text.span, format!("`{}` is no severity", text.value), "here", help);
            }
        }
    }

    /// Whether a path stays in the project's folder, out of what git keeps there, and ends in `.ending`, where one is asked for; by its name.
    fn inside(&mut self, path: &Placed<String>, ending: &str) -> bool {
        let tidy = tidy_path(Path::new(&path.value));
        let leads_out = tidy.is_absolute() || tidy.starts_with("..") || path.value.contains('\\');
        if leads_out || tidy.as_os_str().is_empty() {
            let message = match leads_out {
                true => format!("`{}` leads outside the project folder", path.value),
                false => format!("`{}` names no file", path.value),
            };
            self.fault(path.span, message, "here", "name a file as it lies from this one, with `/` between folders");
            return false;
        }
        if in_git(&tidy) {
            let message = format!("`{}` {}", path.value, Astray::Git);
            self.fault(path.span, message, "here", "what git keeps for itself is neither read nor written");
            return false;
        }
        if !ending.is_empty() && !ends_in(&tidy, ending) {
            let message = format!("`{}` doesn't end in `.{ending}`", path.value);
            self.fault(path.span, message, "here", format!("what this key names ends in `.{ending}`"));
            return false;
        }
        true
    }
}

fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "`true` or `false`",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn strangers_do_not_speak_for_folders_of_others() {
        let (me, stranger, other) = (1000, 1001, 1002);
        assert!(may_speak(me, me, Some(0)) && may_speak(0, me, Some(other)) && may_speak(stranger, me, Some(stranger)));
        assert!(!may_speak(stranger, me, Some(0)) && !may_speak(stranger, me, Some(me)));
        assert!(!may_speak(stranger, 0, Some(0)) && !may_speak(stranger, me, None));
    }

    #[test]
    fn the_examples_of_the_keys_make_a_file() {
        let text: String = KEYS.iter().map(|key| format!("{} = {}\n", key.word, key.example)).collect();
        let file = parse(&text).unwrap_or_default();
        assert_eq!(file.rules.map(|rules| rules.value[0].value.clone()), Some("rules/ours.rule".into()));
        assert_eq!(file.fail_on.map(|severity| severity.value), Some(Severity::Warning));
        assert_eq!(file.leave_out.map(|globs| globs.value.len()), Some(2));
        assert_eq!(file.outputs.map(|outputs| outputs.value[1].value.to_string()), Some("sarif=findings.sarif".into()));
        assert_eq!(file.known.map(|known| known.value), Some("known-findings.toml".into()));
        assert_eq!(parse(""), Ok(ProjectFile::default()));
    }
}
