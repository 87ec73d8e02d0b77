//! `layrule rules --test`: rule packs held to the plans that stand beside them.
//!
//! The examples of `ours.rule` are the plans of the folder `ours-examples` beside it, each named after its rule and after what it shows:
//! `short-run.sound.lay`, `short-run.faulty.lay`, `short-run.faulty.two-cables.lay`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::checker::{self, Report};
use crate::measure::plan::Measured;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::rules::packs::RuleSet;
use crate::source::{Disk, ReadError, Reader as _, ends_in, one_line, shown, tidy_path};
use crate::text::{counted, nearest, quoted};

/// The most examples of a pack.
const MOST: usize = 1_000;

/// What an example shows of its rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shows {
    Sound,
    Faulty,
}

/// An example: its file, its rule, what it shows.
struct Example {
    file: PathBuf,
    rule: String,
    shows: Shows,
}

/// Holds packs to their examples; each that fails is told of. `others` are the packs that hold besides.
pub(super) fn test(
    packs: &[PathBuf],
    others: &[PathBuf],
    today: jiff::civil::Date,
    console: &Console,
) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    // A pack that holds for the project too is there once.
    let whole = |path: &PathBuf| tidy_path(&here.join(path));
    let named: BTreeSet<PathBuf> = packs.iter().map(whole).collect();
    let besides = others.iter().filter(|path| !named.contains(&whole(path)));
    let all: Vec<PathBuf> = besides.chain(packs).cloned().collect();
    let rules = rule_set(&all)?;
    let mut code = SOUND;
    for pack in packs {
        let (failed, summary) = one_pack(pack, &rules, today, &here)?;
        for why in &failed {
            console.print(format!("{why}\n").as_bytes()).map_err(|problem| vec![problem])?;
        }
        console.print(format!("{summary}\n").as_bytes()).map_err(|problem| vec![problem])?;
        if !failed.is_empty() {
            code = FOUND;
        }
    }
    Ok(code)
}

/// What of a pack's examples fails, and what they come to.
fn one_pack(
    pack: &Path,
    rules: &RuleSet,
    today: jiff::civil::Date,
    here: &Path,
) -> Result<(Vec<String>, String), Vec<Problem>> {
    let folder = folder_of(pack);
    let (examples, mut failed) = examples(&folder).map_err(|problem| vec![problem])?;
    let project = tidy_path(&here.join(pack)).parent().map(Path::to_path_buf).unwrap_or_default();
    let library = Library::new(&Disk, project, here);
    for example in &examples {
        let name = shown(&example.file);
        let Some(rule) = rules.rule(&example.rule) else {
            let near = nearest(&example.rule, rules.rules.iter().map(|rule| &*rule.name));
            let help = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            failed.push(format!("{name}: no rule is called `{}`{help}", one_line(&example.rule)));
            continue;
        };
        if rule.severity.is_none() {
            failed.push(format!("{name}: rule `{}` is switched off", rule.name));
            continue;
        }
        match library.load(&tidy_path(&here.join(&example.file)), &name) {
            Err(error) => failed.push(format!("{name}: {error}")),
            Ok(loaded) => {
                let report = checker::untried(&Measured::new(resolve(loaded)), rules, today);
                failed.extend(amiss(example, &report).map(|why| format!("{name}: {why}")));
            }
        }
    }
    let name = shown(pack);
    let own = rules.rules.iter().filter(|rule| rules.packs.get(rule.pack).is_some_and(|pack| pack.name == name));
    let lacks = |rule: &str, shows: Shows| !examples.iter().any(|one| one.rule == rule && one.shows == shows);
    let without: Vec<&str> =
        own.map(|rule| &*rule.name).filter(|rule| lacks(rule, Shows::Faulty) || lacks(rule, Shows::Sound)).collect();
    let held = if failed.is_empty() {
        "all as they should be".to_string()
    } else {
        format!("{} not as it should be", failed.len())
    };
    let mut summary = format!("{name}: {}, {held}", counted(examples.len(), "example"));
    if !without.is_empty() {
        summary.push_str(&format!("; without a sound or a faulty one: {}", quoted(without.into_iter(), "and")));
    }
    Ok((failed, summary))
}

/// The folder of a pack's examples.
fn folder_of(pack: &Path) -> PathBuf {
    let stem = pack.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    pack.with_file_name(format!("{stem}-examples"))
}

/// The examples of a folder, by their names, and what is wrong with these.
fn examples(folder: &Path) -> Result<(Vec<Example>, Vec<String>), Problem> {
    let help =
        "write plans named after a rule and what they show, such as `short-run.faulty.lay` and `short-run.sound.lay`";
    let refused = |why: String| Problem::new(format!("the examples in {}: {why}", shown(folder))).help(help);
    let entries = std::fs::read_dir(folder).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => refused("there is no such folder".into()),
        _ => refused(error.to_string()),
    })?;
    let mut files: Vec<PathBuf> = entries.take(MOST + 1).filter_map(|entry| Some(entry.ok()?.path())).collect();
    if files.len() > MOST {
        return Err(refused(format!("there are more than {MOST}")));
    }
    files.sort();
    let (mut found, mut failed) = (Vec::new(), Vec::new());
    for file in files.into_iter().filter(|file| ends_in(file, "lay")) {
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let mut parts = name.split('.');
        let (rule, shows) = (parts.next().unwrap_or_default(), parts.next());
        let shows = match shows {
            Some("sound") => Shows::Sound,
            Some("faulty") => Shows::Faulty,
            // Kits and the like that examples use.
            Some("lay") => continue,
            _ => {
                failed.push(format!("{}: it is named neither `RULE.sound.lay` nor `RULE.faulty.lay`", shown(&file)));
                continue;
            }
        };
        let rule = rule.to_string();
        if Disk.astray(&file, folder).is_some() {
            failed.push(format!("{}: {}", shown(&file), ReadError::Refused("a link leads elsewhere".into())));
            continue;
        }
        found.push(Example { file, rule, shows });
    }
    if found.is_empty() && failed.is_empty() {
        return Err(refused("there is none".into()));
    }
    Ok((found, failed))
}

/// What an example shows otherwise than it should.
fn amiss(example: &Example, report: &Report) -> Option<String> {
    let rule = example.rule.as_str();
    if let Some(fault) = report.findings.iter().find(|finding| finding.basis.is_none()) {
        return Some(format!("it can't be read: line {}: {}", line(report, fault), fault.message));
    }
    if let Some(fault) = report.rule_faults.iter().find(|fault| *fault.rule == *rule) {
        return Some(format!("`{rule}` can't be held to it: {}", fault.message));
    }
    let found = report.findings.iter().find(|finding| *finding.rule == *rule);
    let unheld = report.unchecked.iter().find(|unchecked| *unchecked.rule == *rule);
    match (example.shows, found, unheld) {
        (Shows::Sound, Some(found), _) => {
            Some(format!("it is to be sound, and `{rule}` finds at line {}: {}", line(report, found), found.message))
        }
        (Shows::Sound, None, Some(unheld)) => {
            Some(format!("it is to be sound, and `{rule}` isn't held to it: {}", unheld.reason))
        }
        (Shows::Faulty, None, Some(unheld)) => {
            Some(format!("it is to be faulty, and `{rule}` isn't held to it: {}", unheld.reason))
        }
        (Shows::Faulty, None, None) => Some(format!("it is to be faulty, and `{rule}` finds nothing")),
        _ => None,
    }
}

fn line(report: &Report, finding: &crate::finding::Finding) -> usize {
    let place = finding.place();
    report.sources.get(place.file).map_or(0, |file| file.line_and_column(place.span.start()).0)
}
