//! The files below a folder: without links, and without what the `.gitignore` files of their repository name.
//!
//! Such files are read here, not by the crate that walks, since anyone's repository may hold one: only where they are ordinary files, and
//! so much of them that no one waits or runs out of memory.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use ignore::gitignore::{Gitignore, GitignoreBuilder};

use crate::project::heeded;
use crate::source::{ends_in, in_git, read_at_most};

/// The largest `.gitignore` that is heeded, in bytes.
pub const LARGEST_IGNORE: u64 = 64 * 1024;

/// How many globs of such files one walk takes, over all folders.
pub const MOST_GLOBS: usize = 10_000;

/// The most files and folders that are met on the way to the rule packs of one folder.
pub const MOST_MET: usize = 20_000;

/// The most rule packs of one folder.
pub const MOST_PACKS: usize = 500;

/// The rule packs below a folder, those that end in `.rule`, in the order of their names. Links are not followed, and what git keeps for itself
/// is passed over.
///
/// # Errors
/// In words: where it is no folder, can't be walked, holds no pack, or holds too much.
pub fn packs_below(folder: &Path) -> Result<Vec<PathBuf>, String> {
    if !folder.is_dir() {
        return Err("it is no folder".into());
    }
    let walk = walkdir::WalkDir::new(folder).follow_links(false).sort_by_file_name().into_iter();
    let mut packs = Vec::new();
    let heeded = walk.filter_entry(|entry| entry.depth() == 0 || !in_git(Path::new(entry.file_name())));
    for (met, entry) in heeded.enumerate() {
        let entry = entry.map_err(|error| format!("it can't be walked: {error}"))?;
        if entry.file_type().is_file() && ends_in(entry.path(), "rule") {
            packs.push(entry.into_path());
        }
        if met > MOST_MET || packs.len() > MOST_PACKS {
            return Err(format!(
                "it holds more than {MOST_PACKS} rule packs, or {MOST_MET} files and folders; name its packs"
            ));
        }
    }
    if packs.is_empty() { Err("it holds no rule pack (`.rule`)".into()) } else { Ok(packs) }
}

/// A walk, file by file, in order.
pub struct Walk<'e> {
    walk: ignore::Walk,
    endings: &'e [&'e str],
    ignores: Arc<Ignores>,
}

/// A `.gitignore` that is passed over, and why.
pub type PassedOver = (PathBuf, String);

/// The files below a folder that end in one of `endings`, in order. Links are not followed. What `.gitignore` files of a repository name is
/// passed over; what only this machine's settings name is not, so that a run comes to the same everywhere.
pub fn files_below<'e>(folder: &Path, endings: &'e [&'e str]) -> Walk<'e> {
    let ignores = Arc::new(Ignores::new(folder));
    let asked = Arc::clone(&ignores);
    let mut walk = ignore::WalkBuilder::new(folder);
    walk.standard_filters(false).sort_by_file_name(std::ffi::OsStr::cmp);
    walk.filter_entry(move |entry| {
        let is_folder = entry.file_type().is_some_and(|kind| kind.is_dir());
        entry.depth() == 0 || (entry.file_name() != ".git" && !asked.name(entry.path(), is_folder))
    });
    Walk { walk: walk.build(), endings, ignores }
}

impl Walk<'_> {
    /// The `.gitignore` files met so far that are not heeded.
    pub fn passed_over(&self) -> Vec<PassedOver> {
        self.ignores.known.lock().unwrap_or_else(PoisonError::into_inner).passed_over.clone()
    }
}

impl Iterator for Walk<'_> {
    type Item = Result<PathBuf, ignore::Error>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            match self.walk.next()? {
                Err(error) => return Some(Err(error)),
                Ok(entry) => {
                    let own = entry.path().extension();
                    let is_meant = own.is_some_and(|own| self.endings.iter().any(|ending| own == *ending));
                    if is_meant && entry.file_type().is_some_and(|kind| kind.is_file()) {
                        return Some(Ok(entry.into_path()));
                    }
                }
            }
        }
    }
}

/// What `.gitignore` files say of what lies below a folder.
struct Ignores {
    /// The folder as it was given.
    given: PathBuf,
    /// Where it lies.
    whole: PathBuf,
    known: Mutex<Known>,
}

#[derive(Default)]
struct Known {
    /// The repository that each folder lies in.
    repositories: HashMap<PathBuf, Option<PathBuf>>,
    /// The globs of each folder's own `.gitignore`.
    globs: HashMap<PathBuf, Option<Arc<Gitignore>>>,
    count: usize,
    passed_over: Vec<PassedOver>,
}

impl Ignores {
    fn new(folder: &Path) -> Self {
        let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_path_buf());
        Ignores { given: folder.to_path_buf(), whole, known: Mutex::default() }
    }

    /// Whether they name something. The nearest file that says anything of it decides, up to the root of the repository.
    fn name(&self, path: &Path, is_folder: bool) -> bool {
        let Ok(below) = path.strip_prefix(&self.given) else { return false };
        let path = self.whole.join(below);
        let Some(folder) = path.parent() else { return false };
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(root) = known.repository(folder) else { return false };
        for folder in folder.ancestors() {
            let said = known.globs(folder).map(|globs| globs.matched(&path, is_folder).map(|_| ()));
            if let Some(said) = said.filter(|said| !said.is_none()) {
                return said.is_ignore();
            }
            if folder == root {
                break;
            }
        }
        false
    }
}

impl Known {
    fn repository(&mut self, folder: &Path) -> Option<PathBuf> {
        if let Some(known) = self.repositories.get(folder) {
            return known.clone();
        }
        let is_root = |folder: &&Path| {
            [".git", ".jj"].iter().map(|name| folder.join(name)).any(|path| path.exists() && heeded(&path))
        };
        let root = folder.ancestors().find(is_root).map(Path::to_path_buf);
        self.repositories.insert(folder.to_path_buf(), root.clone());
        root
    }

    fn globs(&mut self, folder: &Path) -> Option<Arc<Gitignore>> {
        if let Some(known) = self.globs.get(folder) {
            return known.clone();
        }
        let path = folder.join(".gitignore");
        let globs = match path.symlink_metadata().is_ok().then(|| self.read(folder, &path)) {
            None => None,
            Some(Ok(globs)) => Some(Arc::new(globs)),
            Some(Err(why)) => {
                self.passed_over.push((path, why));
                None
            }
        };
        self.globs.insert(folder.to_path_buf(), globs.clone());
        globs
    }

    /// Reads a folder's `.gitignore`; where it isn't heeded, says why.
    fn read(&mut self, folder: &Path, path: &Path) -> Result<Gitignore, String> {
        // Git follows no such link either.
        if path.symlink_metadata().is_ok_and(|kind| kind.is_symlink()) {
            return Err("it is a link".into());
        }
        if !heeded(path) {
            return Err("it belongs to another user".into());
        }
        let bytes = read_at_most(path, LARGEST_IGNORE).map_err(|error| error.to_string())?;
        if bytes.len() as u64 > LARGEST_IGNORE {
            return Err(format!("it is larger than {} KiB", LARGEST_IGNORE / 1024));
        }
        // Up to what is no text.
        let whole = std::str::from_utf8(&bytes).map_or_else(|error| error.valid_up_to(), str::len);
        let text = String::from_utf8_lossy(&bytes[..whole]);
        let lines = || text.trim_start_matches('\u{feff}').lines();
        let count = lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#')).count();
        if self.count + count > MOST_GLOBS {
            return Err(format!(
                "the files before it hold {} globs, and with its {count} they are too many",
                self.count
            ));
        }
        self.count += count;
        let mut builder = GitignoreBuilder::new(folder);
        for line in lines() {
            // Git says nothing of a glob that is none.
            let _ = builder.add_line(Some(path.to_path_buf()), line);
        }
        builder.build().map_err(|error| error.to_string())
    }
}
