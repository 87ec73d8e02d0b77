//! Reads a plan and what it uses, each file once.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::fault::Fault;
use super::resolve::resolver::Resolver;
use crate::finding::{Finding, Fix, ids};
use crate::layout::parse::parse;
use crate::layout::tree::{File, RoomEntry, Statement};
use crate::source::{
    Astray, FileId, Place, ReadError, Reader, SourceFile, Sources, ends_in, in_git, printable, shown, tidy_path,
};
use crate::text::nearest;

/// How many files one plan may draw on.
pub const MOST_FILES: usize = 64;

/// How much text one plan may draw on, its own included, bytes.
pub const MOST_TEXT: usize = 16 * 1024 * 1024;

const TOO_MUCH_TEXT: Fault = Fault::TooMuchText { most: MOST_TEXT / 1024 / 1024 };

/// A file read and parsed.
#[derive(Debug)]
pub struct Parsed {
    /// Its text.
    pub source: Arc<SourceFile>,
    /// Its tree.
    pub tree: File,
}

/// A plan with what it uses.
#[derive(Debug)]
pub struct Loaded {
    /// Every file; the plan's own is the first.
    pub sources: Sources,
    /// The plan and what it uses, parsed, each file after those it uses.
    pub files: Vec<(FileId, Arc<Parsed>)>,
    /// Faults of `use` statements and of syntax.
    pub faults: Vec<Finding>,
    /// The files but the plan's own.
    pub(super) used: Arc<Used>,
    /// The bytes of all files.
    text: usize,
}

impl Loaded {
    /// The plan as if the cables that it only names, with no way over the floor, weren't there yet: of their rooms the rest can then be measured.
    pub fn without_unlaid_cables(mut self) -> Self {
        for (_, parsed) in self.files.iter_mut().filter(|(file, _)| *file == FileId(0)) {
            let mut tree = parse(&parsed.source.text);
            for statement in &mut tree.statements {
                if let Statement::Room(room) = statement {
                    let unlaid = |entry: &RoomEntry| matches!(entry, RoomEntry::Cable(cable) if !cable.broken && !cable.has_path());
                    room.entries.retain(|entry| !unlaid(entry));
                }
            }
            *parsed = Arc::new(Parsed { source: Arc::clone(&parsed.source), tree });
        }
        self
    }
}

/// Files that plans use alike, and what they come to, once that is asked.
#[derive(Debug, Default)]
pub(super) struct Used {
    pub(super) files: Vec<(FileId, Arc<Parsed>)>,
    pub(super) resolved: OnceLock<Resolver>,
}

/// Reads and parses files, keeping those that plans share.
pub struct Library<'a> {
    reader: &'a dyn Reader,
    project: PathBuf,
    here: PathBuf,
    shared: Mutex<HashMap<PathBuf, Shared>>,
    used: Mutex<HashMap<UsedKey, Arc<Used>>>,
}

/// Files that plans use, each told by the address that it is kept at.
type UsedKey = Vec<(FileId, usize)>;

/// What reading a shared file came to; or how a link leads it astray.
type Shared = Result<Result<Arc<Parsed>, Astray>, ReadError>;

/// A `use` followed: the file it leads to, or nothing where that has been followed already.
type Followed = Result<Option<(PathBuf, Arc<Parsed>)>, Fault>;

impl<'a> Library<'a> {
    /// Reads by `reader`; no `use` may lead outside the folder `project`. Used files are shown by their paths from `here`.
    pub fn new(reader: &'a dyn Reader, project: impl Into<PathBuf>, here: impl Into<PathBuf>) -> Self {
        let project = tidy_path(&project.into());
        Library { reader, project, here: here.into(), shared: Mutex::default(), used: Mutex::default() }
    }

    /// Reads the plan at `path`, shown as `name`, and what it uses.
    ///
    /// # Errors
    /// When the plan itself can't be read. A used file that can't be is a fault in the plan.
    pub fn load(&self, path: &Path, name: &str) -> Result<Loaded, ReadError> {
        let text = self.reader.read(path)?;
        Ok(self.load_text(path, name, text))
    }

    /// Loads a plan whose text is at hand, and what it uses; `path` is where its `use` statements start from.
    pub fn load_text(&self, path: &Path, name: &str, text: String) -> Loaded {
        self.load_parsed(path, &self.parse(path, name, text))
    }

    /// Loads a plan that is parsed already, as [`Library::parse`] does it, and what it uses.
    pub fn load_parsed(&self, path: &Path, parsed: &Arc<Parsed>) -> Loaded {
        let mut loaded = Loaded {
            sources: Sources::default(),
            files: Vec::new(),
            faults: Vec::new(),
            used: Arc::default(),
            text: 0,
        };
        let mut open = vec![tidy_path(path)];
        let mut done = HashMap::new();
        self.follow(parsed, &mut open, &mut done, &mut loaded);
        if let [files @ .., _] = &*loaded.files
            && !files.is_empty()
        {
            loaded.used = self.used(files);
        }
        loaded
    }

    /// The files that a plan uses, as other plans that use the same in the same order have them.
    fn used(&self, files: &[(FileId, Arc<Parsed>)]) -> Arc<Used> {
        let key = files.iter().map(|(id, parsed)| (*id, Arc::as_ptr(parsed).addr())).collect();
        let mut used = self.used.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = used.entry(key).or_insert_with(|| Arc::new(Used { files: files.to_vec(), ..Used::default() }));
        Arc::clone(kept)
    }

    /// Parses the text of the file at `path`, shown as `name`.
    pub fn parse(&self, path: &Path, name: impl Into<String>, text: String) -> Arc<Parsed> {
        let text = printable(text);
        let tree = crate::layout::parse(&text);
        Arc::new(Parsed { source: Arc::new(SourceFile::new(name, self.location(path), text)), tree })
    }

    /// Gives what reading and parsing the file at `path` came to, so that it is not read again.
    pub fn know(&self, path: &Path, parsed: Result<Arc<Parsed>, ReadError>) {
        let mut shared = self.shared.lock().unwrap_or_else(PoisonError::into_inner);
        shared.insert(tidy_path(path), parsed.map(Ok));
    }

    /// The files that were asked for besides the plans themselves, those that aren't there too.
    pub fn asked(&self) -> Vec<PathBuf> {
        self.shared.lock().unwrap_or_else(PoisonError::into_inner).keys().cloned().collect()
    }

    /// Where a file lies in the project.
    fn location(&self, path: &Path) -> PathBuf {
        let path = tidy_path(path);
        path.strip_prefix(&self.project).map(Path::to_path_buf).unwrap_or(path)
    }

    /// Adds a file after those it uses. `open` holds the files from the plan down to this one.
    fn follow(
        &self,
        parsed: &Arc<Parsed>,
        open: &mut Vec<PathBuf>,
        done: &mut HashMap<PathBuf, FileId>,
        loaded: &mut Loaded,
    ) {
        let file = loaded.sources.add(Arc::clone(&parsed.source));
        loaded.text += parsed.source.text.len();
        let path = open.last().cloned().unwrap_or_default();
        done.insert(path.clone(), file);
        for fault in &parsed.tree.faults {
            let place = Place { file, span: fault.span };
            let mut finding = Finding::reading(ids::SYNTAX, fault.message.clone(), place, fault.label.clone());
            finding.advice.clone_from(&fault.help);
            finding.fix = fault.instead.as_deref().map(|word| Fix::write(word, place));
            loaded.faults.push(finding);
        }
        for statement in &parsed.tree.statements {
            let Statement::Use(word) = statement else { continue };
            let place = Place { file, span: word.span };
            match self.find(&path, &word.text, open, done, &mut loaded.text) {
                Ok(None) => {}
                Ok(Some((target, used))) => {
                    open.push(target);
                    self.follow(&used, open, done, loaded);
                    open.pop();
                }
                Err(fault) => loaded.faults.push(fault.finding(place)),
            }
        }
        loaded.files.push((file, Arc::clone(parsed)));
    }

    /// The file a `use` leads to, or nothing where it has been followed already.
    fn find(
        &self,
        from: &Path,
        written: &str,
        open: &[PathBuf],
        done: &HashMap<PathBuf, FileId>,
        read: &mut usize,
    ) -> Followed {
        let folder = from.parent().unwrap_or(Path::new(""));
        let target = tidy_path(&folder.join(written));
        let path = written.to_string();
        if Path::new(written).is_absolute() || written.contains('\\') {
            return Err(Fault::NoRelativePath { path });
        }
        let Ok(inside) = target.strip_prefix(&self.project) else { return Err(self.outside(path)) };
        if in_git(inside) {
            return Err(Fault::UsesAstray { path, how: Astray::Git });
        }
        if !ends_in(&target, "lay") {
            return Err(Fault::UsesNoPlan { path });
        }
        if let Some(at) = open.iter().position(|path| *path == target) {
            let way = open[at..].iter().chain([&target]).map(|path| short(path)).collect();
            return Err(Fault::UsesItself { path, way });
        }
        if done.contains_key(&target) {
            return Ok(None);
        }
        if done.len() >= MOST_FILES {
            return Err(Fault::TooManyFiles { most: MOST_FILES });
        }
        // Once there is too much nothing more is read.
        if *read > MOST_TEXT {
            return Err(TOO_MUCH_TEXT);
        }
        match self.shared(&target) {
            Ok(Ok(used)) if *read + used.source.text.len() > MOST_TEXT => {
                *read = MOST_TEXT + 1;
                Err(TOO_MUCH_TEXT)
            }
            Ok(Ok(used)) => Ok(Some((target, used))),
            Ok(Err(Astray::Outside)) => Err(self.outside(path)),
            Ok(Err(how)) => Err(Fault::UsesAstray { path, how }),
            Err(why) => {
                let meant = if why == ReadError::Missing { self.meant(&target, written) } else { None };
                Err(Fault::UsesUnreadable { path, why, meant })
            }
        }
    }

    /// What the path `written` of a file that isn't there was meant to be: the plan of its folder that is called most like it.
    fn meant(&self, target: &Path, written: &str) -> Option<String> {
        if !target.parent().is_some_and(|folder| self.reader.inside(folder, &self.project)) {
            return None;
        }
        let mut names = self.reader.beside(target);
        names.sort_unstable();
        let stem = target.file_stem()?.to_str()?;
        let stems = names.iter().filter_map(|name| name.strip_suffix(".lay"));
        let near = nearest(stem, stems)?;
        let folder = written.rfind('/').map_or("", |slash| &written[..=slash]);
        Some(format!("{folder}{near}.lay"))
    }

    fn outside(&self, path: String) -> Fault {
        Fault::UsesOutside { path, project: shown(&self.project) }
    }

    /// The file at `path`, read and parsed once for all plans; or how a link leads it astray.
    fn shared(&self, path: &Path) -> Shared {
        if let Some(known) = self.shared.lock().unwrap_or_else(PoisonError::into_inner).get(path) {
            return known.clone();
        }
        let result = match self.reader.astray(path, &self.project) {
            Some(how) => Ok(Err(how)),
            None => self.reader.read(path).map(|text| {
                let name = shown(path.strip_prefix(&self.here).unwrap_or(path));
                Ok(self.parse(path, name, text))
            }),
        };
        self.shared.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_path_buf(), result.clone());
        result
    }
}

fn short(path: &Path) -> String {
    path.file_name().map_or_else(|| shown(path), |name| shown(Path::new(name)))
}
