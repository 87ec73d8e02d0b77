//! Files that are written: whole or not at all, over nothing that mustn't be lost, and with nothing left lying beside them.

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::fs::{File, Metadata};
use std::io::{BufWriter, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

use tempfile::NamedTempFile;

use super::problem::Problem;
use crate::project::FILE;
use crate::source::{Disk, Reader as _, ends_in, in_git, name_on_disk, open_at_once, same_file, shown, tidy_path};

/// Where the files of a run are written, and what they mustn't be written over.
#[derive(Clone, Copy)]
pub(super) struct Ground<'r> {
    /// The current folder.
    pub here: &'r Path,
    /// What the run reads, under whatever names.
    pub inputs: &'r [PathBuf],
    /// The project whose file asks for the outputs, where it is not the command line that does.
    pub project: Option<&'r Path>,
}

/// What a report is called by a project file, so that no name can be chosen that other programs go by (`Makefile`, `.gitattributes`).
const REPORTS: [&str; 9] = ["txt", "log", "json", "jsonl", "sarif", "xml", "md", "csv", "html"];

/// Whether a file is called as a report is.
fn is_report(path: &Path) -> bool {
    let name = path.file_name().map(name_on_disk).unwrap_or_default();
    !name.starts_with('.') && REPORTS.iter().any(|ending| ends_in(Path::new(&name), ending))
}

/// What has to hold of what a file takes the place of, just before it does.
enum Before {
    Anything,
    Nothing,
    /// Nothing, or an earlier output.
    Output,
    /// This text.
    Text(String),
}

/// A file that takes its name only once it is whole.
pub(super) struct NewFile {
    shown: String,
    target: PathBuf,
    before: Before,
    file: BufWriter<NamedTempFile>,
    /// Goes after the file.
    _listed: Listed,
}

impl NewFile {
    /// Begins a file that will be called `path`.
    ///
    /// # Errors
    /// Where it can't be written there, or must not be.
    pub(super) fn create(path: &Path, ground: &Ground<'_>) -> Result<Self, Problem> {
        let shown = shown(path);
        let refused = |why: &str, help: &str| Err(refusal(&shown, why).help(help));
        let whole = tidy_path(&ground.here.join(path));
        if let Some(folder) = ground.project
            && leads_through_link(&whole, folder)
        {
            return refused("a link leads to it", "a project file's outputs are never written through links");
        }
        // Both what it is called and where that leads.
        let target = reached(&whole);
        for path in [&whole, &target] {
            let name = PathBuf::from(path.file_name().map(name_on_disk).unwrap_or_default());
            let project_file = name.as_os_str().eq_ignore_ascii_case(FILE);
            if project_file || ends_in(&name, "lay") || ends_in(&name, "rule") {
                return refused("plans, rule packs and project files are never written over", "give it another name");
            }
            if in_git(path) {
                return refused("it lies in a `.git` folder", "what git keeps for itself is never written over");
            }
        }
        if ground.project.is_some() && !is_report(&whole) {
            let help = format!("an output that a project file names ends in one of {}", REPORTS.join(", "));
            return Err(refusal(&shown, "other programs may obey a file of that name").help(help));
        }
        if ground.inputs.iter().any(|input| same_file(input, &target)) {
            return refused("the run reads that very file", "give it another name");
        }
        let before = if ground.project.is_some() { Before::Output } else { Before::Anything };
        Self::at(shown, target, before)
    }

    /// Begins what will stand in place of the plan or rule pack at `path`, shown as `name`, for as long as its text is still `before`.
    ///
    /// # Errors
    /// Where it can't be written there.
    pub(super) fn replace(path: &Path, name: &str, before: &str) -> Result<Self, Problem> {
        // What a link leads to is written, and the link stays.
        Self::at(name.to_string(), reached(path), Before::Text(before.to_string()))
    }

    /// Begins a file at `path`, shown as `name`, where there is none.
    ///
    /// # Errors
    /// Where there is one, or it can't be written there.
    pub(super) fn fresh(path: &Path, name: &str) -> Result<Self, Problem> {
        if in_git(path) {
            return Err(refusal(name, "it lies in a `.git` folder"));
        }
        Self::at(name.to_string(), path.to_path_buf(), Before::Nothing)
    }

    fn at(shown: String, target: PathBuf, before: Before) -> Result<Self, Problem> {
        let old = match std::fs::metadata(&target) {
            Ok(old) => Some(old),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
            Err(error) => return Err(refusal(&shown, &reason(&error))),
        };
        if let Some(old) = &old {
            may_be_replaced(&target, old).map_err(|(why, help)| refusal(&shown, &why).help(help))?;
        }
        let folder = target.parent().unwrap_or(Path::new("."));
        let begun = part(folder, old.as_ref());
        let (file, listed) = begun.map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => refusal(&shown, "its folder is not there").help("make the folder first"),
            _ => refusal(&shown, &reason(&error)),
        })?;
        let new = NewFile { shown, target, before, file: BufWriter::new(file), _listed: listed };
        // Said before anything is done in vain, and asked again at the end.
        new.holds()?;
        Ok(new)
    }

    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), Problem> {
        self.file.write_all(bytes).map_err(|error| refusal(&self.shown, &reason(&error)))
    }

    /// Gives the file its name, once it is on the disk.
    pub(super) fn finish(mut self) -> Result<(), Problem> {
        let written = self.file.flush().and_then(|()| on_disk(self.file.get_ref().as_file()));
        written.map_err(|error| refusal(&self.shown, &reason(&error)))?;
        self.holds()?;
        let NewFile { shown, target, file, .. } = self;
        let file = file.into_inner().map_err(|error| refusal(&shown, &reason(error.error())))?;
        file.persist(&target).map_err(|error| refusal(&shown, &reason(&error.error)))?;
        // So that the name is on the disk too. A system that can't say so has done what it can.
        let _ = target.parent().map(File::open).map(|folder| folder.and_then(|folder| folder.sync_all()));
        Ok(())
    }

    /// Whether what the file takes the place of still is what it may take the place of.
    fn holds(&self) -> Result<(), Problem> {
        match &self.before {
            Before::Anything => Ok(()),
            Before::Nothing => match self.target.symlink_metadata() {
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
                _ => Err(refusal(&self.shown, "something is there already").help("take it away, or name another")),
            },
            Before::Text(text) if Disk.read(&self.target).as_ref() == Ok(text) => Ok(()),
            Before::Text(_) => {
                let problem =
                    Problem::new(format!("{} is not changed: it was saved by someone else meanwhile", self.shown));
                Err(problem.help("run it once more"))
            }
            Before::Output => match self.target.symlink_metadata() {
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
                Ok(kind) if kind.is_file() && is_output(&self.target) => Ok(()),
                _ => Err(refusal(&self.shown, "what stands there is no earlier output of layrule's").help(
                    "a project file's outputs replace nothing else; take it away, or name another file in the project file",
                )),
            },
        }
    }
}

fn refusal(shown: &str, why: &str) -> Problem {
    Problem::new(format!("{shown} can't be written: {why}"))
}

/// Where a path leads, links followed; what isn't there yet, by the folder that it will lie in.
fn reached(path: &Path) -> PathBuf {
    if let Ok(there) = path.canonicalize() {
        return there;
    }
    match (path.parent().map(Path::canonicalize), path.file_name()) {
        (Some(Ok(folder)), Some(name)) => folder.join(name),
        _ => path.to_path_buf(),
    }
}

/// Whether any part of a path below a folder is a link.
fn leads_through_link(path: &Path, folder: &Path) -> bool {
    let below = path.ancestors().take_while(|part| *part != folder && part.starts_with(folder));
    let is_link = |part: &Path| part.symlink_metadata().is_ok_and(|kind| kind.is_symlink());
    !path.starts_with(folder) || below.into_iter().any(is_link)
}

/// Why what is there can't be replaced, and what to do.
fn may_be_replaced(target: &Path, old: &Metadata) -> Result<(), (String, &'static str)> {
    if old.is_dir() {
        return Err(("it is a folder".into(), "name a file in it"));
    }
    if !old.is_file() {
        return Err(("it is no regular file".into(), "leave the file out, and the output goes to standard output"));
    }
    const READ_ONLY: &str = "make it writable first, if it is to be changed";
    if old.permissions().readonly() {
        return Err(("it is read-only".into(), READ_ONLY));
    }
    // It is replaced, not written to, so that the system wouldn't ask.
    if let Err(error) = File::options().write(true).open(target) {
        return Err((reason(&error), READ_ONLY));
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        if old.nlink() > 1 {
            let why =
                format!("it is one file under {} names (hard links), and only one of them would change", old.nlink());
            return Err((why, "make copies of it, or take the other names away"));
        }
    }
    Ok(())
}

/// What the outputs that have an opening begin with; a test holds every one to it.
const OPENINGS: &[&str] = &[
    "{\"format\":\"layrule-findings\",",
    "{\"line\":\"opening\",\"format\":\"layrule-finding-lines\",",
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"layrule\">",
    "## Floor heating plans\n",
    "[\n{\"check_name\":\"layrule/",
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<checkstyle version=\"4.3\"><!-- layrule -->",
];

/// What a list of findings is in which there are none.
const EMPTY_LIST: &str = "[\n]\n";

/// Whether a file is an output that was written before: by its first words, or, of text, by the line that says how many files were checked.
fn is_output(path: &Path) -> bool {
    const LOOKED_AT: u64 = 64 * 1024;
    let look = || -> std::io::Result<bool> {
        let mut file = open_at_once(path)?;
        let mut first = Vec::new();
        std::io::Read::by_ref(&mut file).take(LOOKED_AT).read_to_end(&mut first)?;
        let first = String::from_utf8_lossy(&first);
        let sarif =
            first.starts_with("{\"$schema\":") && first.contains(crate::CAUTION) && first.contains("\"runs\":[");
        if sarif || first == EMPTY_LIST || OPENINGS.iter().any(|opening| first.starts_with(opening)) {
            return Ok(true);
        }
        let length = file.metadata()?.len();
        file.seek(SeekFrom::Start(length.saturating_sub(LOOKED_AT)))?;
        let mut last = Vec::new();
        file.take(LOOKED_AT).read_to_end(&mut last)?;
        Ok(String::from_utf8_lossy(&last).lines().any(|line| {
            let mut words = line.split(' ');
            let count = words.next().is_some_and(|word| !word.is_empty() && word.bytes().all(|b| b.is_ascii_digit()));
            count && matches!(words.next(), Some("file" | "files")) && words.next() == Some("checked:")
        }))
    };
    look().unwrap_or(false)
}

/// Asks the system to put a file on the disk, where it can.
fn on_disk(file: &File) -> std::io::Result<()> {
    file.sync_all().or_else(|error| match error.kind() {
        std::io::ErrorKind::InvalidInput | std::io::ErrorKind::Unsupported => Ok(()),
        _ => Err(error),
    })
}

/// The passing files of this process, and the folders that were looked through for those of others.
struct Parts {
    open: BTreeSet<PathBuf>,
    swept: BTreeSet<PathBuf>,
}

static PARTS: Mutex<Parts> = Mutex::new(Parts { open: BTreeSet::new(), swept: BTreeSet::new() });

fn parts() -> MutexGuard<'static, Parts> {
    PARTS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A passing file's place among those that are taken away when the run is ended from outside.
struct Listed(PathBuf);

impl Drop for Listed {
    fn drop(&mut self) {
        parts().open.remove(&self.0);
    }
}

/// What a passing file's name begins with.
const PREFIX: &str = ".layrule-";
/// What it ends with.
const SUFFIX: &str = ".part";

/// Begins a passing file in a folder, with owner, group and mode of what it will replace. It is locked for as long as it is open, by which
/// other runs know that it isn't left over.
fn part(folder: &Path, old: Option<&Metadata>) -> std::io::Result<(NamedTempFile, Listed)> {
    const ATTEMPTS: usize = 8;
    end_cleanly();
    sweep(folder);
    let mut attempt = 0;
    loop {
        attempt += 1;
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX).suffix(SUFFIX);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            builder.permissions(std::fs::Permissions::from_mode(if old.is_some() { 0o600 } else { 0o666 }));
        }
        // Made and listed at once, so that being ended from outside comes before or after.
        let mut parts = parts();
        let file = builder.tempfile_in(folder)?;
        parts.open.insert(file.path().to_path_buf());
        drop(parts);
        let listed = Listed(file.path().to_path_buf());
        // Another run that looks for leftovers may have come between making it and locking it, and taken it away.
        let locked = !matches!(file.as_file().try_lock(), Err(std::fs::TryLockError::WouldBlock));
        if attempt < ATTEMPTS && !(locked && is_still(file.path(), file.as_file())) {
            continue;
        }
        if let Some(old) = old {
            keep_owner_and_mode(file.as_file(), old)?;
        }
        return Ok((file, listed));
    }
}

/// Gives a file the mode of another whatever the umask, and its owner and group where the system lets us.
#[cfg(unix)]
fn keep_owner_and_mode(file: &File, old: &Metadata) -> std::io::Result<()> {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, fchown};
    let new = file.metadata()?;
    if (new.uid(), new.gid()) != (old.uid(), old.gid()) && fchown(file, Some(old.uid()), Some(old.gid())).is_err() {
        let _ = fchown(file, None, Some(old.gid()));
    }
    // After the owner, whose change takes bits of the mode away.
    file.set_permissions(std::fs::Permissions::from_mode(old.mode() & 0o777))
}

#[cfg(not(unix))]
fn keep_owner_and_mode(file: &File, old: &Metadata) -> std::io::Result<()> {
    file.set_permissions(old.permissions())
}

/// Whether a path still leads to an open file.
#[cfg(unix)]
fn is_still(path: &Path, file: &File) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    match (path.symlink_metadata(), file.metadata()) {
        (Ok(there), Ok(own)) => (there.dev(), there.ino()) == (own.dev(), own.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_still(path: &Path, _file: &File) -> bool {
    path.exists()
}

/// Whether a file belongs to whoever runs the program.
#[cfg(unix)]
fn is_ours(file: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    file.uid() == rustix::process::geteuid().as_raw()
}

#[cfg(not(unix))]
fn is_ours(_file: &Metadata) -> bool {
    true
}

/// Takes away what runs that were killed have left in a folder: files of our own, named like passing ones, that no run holds locked. Once a
/// run for each folder.
fn sweep(folder: &Path) {
    if !parts().swept.insert(folder.to_path_buf()) {
        return;
    }
    let is_part = |name: &OsStr| {
        let name = name.to_str().and_then(|name| name.strip_prefix(PREFIX)).and_then(|name| name.strip_suffix(SUFFIX));
        name.is_some_and(|name| name.len() == 6 && name.bytes().all(|b| b.is_ascii_alphanumeric()))
    };
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten().filter(|entry| is_part(&entry.file_name())) {
        if !entry.file_type().is_ok_and(|kind| kind.is_file()) {
            continue;
        }
        let path = entry.path();
        let Ok(file) = open_at_once(&path) else { continue };
        let ours = file.metadata().is_ok_and(|kind| kind.is_file() && is_ours(&kind));
        if ours && file.try_lock().is_ok() && is_still(&path, &file) {
            // Where it can't be taken away, the next run tries again.
            let _ = std::fs::remove_file(&path);
        }
    }
}

/// What a run that is ended by Ctrl-C, or told to end, answers with.
const INTERRUPTED: i32 = 130;

/// Lets Ctrl-C, and being told to end, take the passing files away first. Where they are to be passed over, as by `nohup`, it stays so.
fn end_cleanly() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let _ = ctrlc::try_set_handler(|| {
            let parts = parts();
            parts.open.iter().for_each(|part| drop(std::fs::remove_file(part)));
            std::process::exit(INTERRUPTED);
        });
    });
}

/// What the system says of a failure, without the name of the passing file.
fn reason(error: &std::io::Error) -> String {
    let said = match error.raw_os_error() {
        Some(code) => std::io::Error::from_raw_os_error(code).to_string(),
        None => error.to_string(),
    };
    // The crate that makes passing files adds their path.
    said.split(" at path ").next().unwrap_or_default().to_string()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn what_was_saved_meanwhile_is_kept() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.lay");
        let replace = |before: &str| NewFile::replace(&path, "a.lay", before);
        std::fs::write(&path, "read").unwrap();
        let mut file = replace("read").unwrap();
        file.write(b"tidied").unwrap();
        std::fs::write(&path, "saved").unwrap();
        assert!(file.finish().is_err_and(|problem| problem.to_string().contains("saved by someone else")));
        assert!(replace("read").is_err());
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "saved");
        let mut file = replace("saved").unwrap();
        file.write(b"tidied").unwrap();
        file.finish().unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "tidied");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn only_what_is_left_over_is_swept() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        for name in [".layrule-abc123.part", ".layrule-locked.part", ".layrule-notes.part", "a.part", ".layrule-abc123"]
        {
            std::fs::write(path(name), "").unwrap();
        }
        std::fs::create_dir(path(".layrule-folder.part")).unwrap();
        let locked = File::open(path(".layrule-locked.part")).unwrap();
        locked.lock().unwrap();
        sweep(folder.path());
        let mut left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|one| one.unwrap().file_name()).collect();
        left.sort();
        let kept = [".layrule-abc123", ".layrule-folder.part", ".layrule-locked.part", ".layrule-notes.part", "a.part"];
        assert_eq!(left, kept);
    }
}
