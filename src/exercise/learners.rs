//! The learners of a class: a name a line, and the folder that each gets.

use std::collections::HashSet;

use crate::source::one_line;

/// How many learners a class may have.
pub const MOST: usize = 400;
/// The longest name that is taken whole, characters.
const LONGEST: usize = 120;
/// The longest name of a folder, characters.
const LONGEST_FOLDER: usize = 48;

/// A learner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Learner {
    /// The name, as it was written.
    pub name: String,
    /// The name of a folder that no other learner has, and that any system takes.
    pub folder: String,
}

/// Reads a list of names. Lines that are blank, or begin with `#`, are passed over; of two learners of one name each has a folder.
///
/// ```
/// use layrule::exercise::learners::learners;
/// let class = learners("Zoë Noor\n# evening class\n\n../../etc\nzoë noor\n").unwrap();
/// let folders: Vec<&str> = class.iter().map(|one| one.folder.as_str()).collect();
/// assert_eq!(folders, ["zoë-noor", "etc", "zoë-noor-2"]);
/// ```
///
/// # Errors
/// Where there is no name, or more than [`MOST`].
pub fn learners(text: &str) -> Result<Vec<Learner>, String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let names = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
    let names: Vec<String> = names.map(|name| one_line(name).chars().take(LONGEST).collect()).take(MOST + 1).collect();
    if names.is_empty() {
        return Err("it holds no name; write one a line".into());
    }
    if names.len() > MOST {
        return Err(format!(
            "it holds more than {MOST} names, the most that a class may have; share them among several files"
        ));
    }
    let mut taken = HashSet::new();
    let learners = names.into_iter().zip(1..).map(|(name, number): (String, usize)| {
        let wanted = folder(&name).unwrap_or_else(|| format!("learner-{number}"));
        let mut own = wanted.clone();
        let mut count = 2;
        while !taken.insert(own.clone()) {
            own = format!("{wanted}-{count}");
            count += 1;
        }
        Learner { name, folder: own }
    });
    Ok(learners.collect())
}

/// Names that some systems keep for devices.
const KEPT: &[&str] = &["con", "prn", "aux", "nul"];

/// A name of a folder for a learner's name: letters and digits in lower case, and single dashes for all else. Nothing where there is neither.
fn folder(name: &str) -> Option<String> {
    let mut folder = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_alphanumeric() {
            folder.push(c);
        } else if !folder.is_empty() && !folder.ends_with('-') {
            folder.push('-');
        }
    }
    let folder: String = folder.chars().take(LONGEST_FOLDER).collect();
    let folder = folder.trim_end_matches('-');
    let port = |start: &str| folder.strip_prefix(start).is_some_and(|rest| rest.len() == 1);
    let kept = KEPT.contains(&folder) || port("com") || port("lpt");
    match (folder.is_empty(), kept) {
        (true, _) => None,
        (_, true) => Some(format!("{folder}-learner")),
        _ => Some(folder.to_string()),
    }
}
