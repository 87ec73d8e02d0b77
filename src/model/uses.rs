//! Which files a plan uses, told by its lines alone, so that a project can be gone through without parsing all of it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::load::MOST_FILES;
use crate::source::tidy_path;

/// Where `use` in a file leads.
pub fn used_path(from: &Path, written: &str) -> PathBuf {
    tidy_path(&from.parent().unwrap_or(Path::new("")).join(written))
}

/// What a text uses, as it is written.
///
/// ```
/// use layrule::model::uses::uses;
///
/// let text = "use \"kits.lay\"\n# use \"old.lay\"\n  use\t\"a/b.lay\" # both\n";
/// assert_eq!(uses(text).collect::<Vec<_>>(), ["kits.lay", "a/b.lay"]);
/// ```
pub fn uses(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter_map(|line| {
        let rest = line.trim_start_matches(['\u{feff}', ' ', '\t']).strip_prefix("use")?;
        rest.trim_start().strip_prefix('"')?.split_once('"').map(|(path, _)| path)
    })
}

/// A file and all that it uses inside a folder. `read` shows a file's text, where there is one.
pub fn closure(path: &Path, folder: &Path, read: impl Fn(&Path, &mut dyn FnMut(&str))) -> BTreeSet<PathBuf> {
    let mut files = BTreeSet::from([path.to_path_buf()]);
    let mut open = vec![path.to_path_buf()];
    while let Some(file) = open.pop() {
        read(&file, &mut |text| {
            for target in uses(text).map(|written| used_path(&file, written)) {
                if files.len() < MOST_FILES && target.starts_with(folder) && files.insert(target.clone()) {
                    open.push(target);
                }
            }
        });
    }
    files
}
