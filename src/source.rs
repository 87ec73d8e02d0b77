//! Source files, places in them, and how they are read.
//!
//! Nothing here knows any language. A [`Reader`] is the only way the rest of the crate gets at text, so that a plan can
//! come from a disk, from an editor's unsaved buffer or from a test.

use std::borrow::Cow;
use std::collections::HashMap;
use std::io::Read as _;
use std::ops::Range;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// The largest file that is read, in bytes. A plan of a hundred thousand hand-written lines stays under it, and what reading takes stays
/// under 500 MB.
pub const LARGEST_FILE: u64 = 4 * 1024 * 1024;

/// A stretch of one file's text, in bytes: `start..end`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Span {
    start: u32,
    end: u32,
}

impl Span {
    /// The span of `range`; offsets fit, since no file is larger than [`LARGEST_FILE`].
    pub fn new(range: Range<usize>) -> Self {
        let narrow = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Span { start: narrow(range.start), end: narrow(range.end) }
    }

    /// The first byte.
    pub fn start(self) -> usize {
        self.start as usize
    }

    /// One past the last byte.
    pub fn end(self) -> usize {
        self.end as usize
    }

    /// The bytes it covers.
    pub fn range(self) -> Range<usize> {
        self.start()..self.end()
    }

    /// From the start of `self` to the end of `other`.
    pub fn to(self, other: Span) -> Span {
        Span { start: self.start, end: other.end.max(self.start) }
    }
}

/// Which file of a [`Sources`] list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct FileId(pub u32);

/// A span and the file it lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// Where in it.
    pub span: Span,
}

/// One file's text, with an index of its lines made when first asked for.
#[derive(Debug)]
pub struct SourceFile {
    /// The name to show: the path as the user gave it, or as the `use` that led to it reads from there.
    pub name: String,
    /// Where it lies: the path from the project's folder, or a whole path for what lies outside it. The same wherever the check is run.
    pub location: PathBuf,
    /// The whole text.
    pub text: String,
    line_starts: OnceLock<Vec<usize>>,
    /// The text as it is shown, where that differs.
    shown: OnceLock<Option<String>>,
}

impl SourceFile {
    /// A file called `name` holding `text`, at `location`.
    pub fn new(name: impl Into<String>, location: impl Into<PathBuf>, text: impl Into<String>) -> Self {
        SourceFile {
            name: name.into(),
            location: location.into(),
            text: text.into(),
            line_starts: OnceLock::new(),
            shown: OnceLock::new(),
        }
    }

    /// The text as it is shown; every byte stands where it does in the text.
    pub fn shown(&self) -> &str {
        let shown = self.shown.get_or_init(|| match lines_as_counted(&self.text) {
            Cow::Borrowed(_) => None,
            Cow::Owned(shown) => Some(shown),
        });
        shown.as_deref().unwrap_or(&self.text)
    }

    /// Byte offsets at which lines start; the first is 0.
    pub fn line_starts(&self) -> &[usize] {
        self.line_starts.get_or_init(|| {
            std::iter::once(0)
                .chain(self.text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1))
                .collect()
        })
    }

    /// Line and column of a byte offset, both from 1; the column counts characters.
    ///
    /// ```
    /// let file = layrule::source::SourceFile::new("a.lay", "a.lay", "room\nzoë x");
    /// assert_eq!(file.line_and_column(10), (2, 5));
    /// ```
    pub fn line_and_column(&self, offset: usize) -> (usize, usize) {
        let (line, before) = self.line_up_to(offset);
        (line + 1, before.chars().count() + 1)
    }

    /// Line and column of a byte offset, both from 1; the column counts UTF-16 code units.
    ///
    /// ```
    /// let file = layrule::source::SourceFile::new("a.lay", "a.lay", "room\n🜂é x");
    /// assert_eq!(file.line_and_utf16_column(12), (2, 5));
    /// ```
    pub fn line_and_utf16_column(&self, offset: usize) -> (usize, usize) {
        let (line, before) = self.line_up_to(offset);
        (line + 1, before.encode_utf16().count() + 1)
    }

    /// The line of a byte offset, from 0, and the text of it up to there.
    fn line_up_to(&self, offset: usize) -> (usize, &str) {
        let starts = self.line_starts();
        let line = starts.partition_point(|&start| start <= offset).saturating_sub(1);
        let start = starts.get(line).copied().unwrap_or(0);
        (line, self.text.get(start..offset).unwrap_or(""))
    }
}

/// The files one check has read, in the order they were met: the plan first, then what it uses.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    files: Vec<Arc<SourceFile>>,
}

impl Sources {
    /// Adds a file.
    pub fn add(&mut self, file: Arc<SourceFile>) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(file);
        id
    }

    /// The file behind an id that [`Sources::add`] gave.
    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        self.files.get(id.0 as usize).map(Arc::as_ref)
    }

    /// The file and the line of a place, `plan.lay:12`; empty where there is none.
    pub fn file_and_line(&self, place: Place) -> String {
        self.get(place.file).map_or_else(String::new, |file| {
            format!("{}:{}", file.name, file.line_and_column(place.span.range().start).0)
        })
    }

    /// Where the plan itself lies, with `/` between folders; see [`SourceFile::location`].
    pub fn plan_location(&self) -> String {
        self.files.first().map(|file| slashed(&file.location)).unwrap_or_default()
    }

    /// Where the files lie, in their order: whole paths where `project` is one.
    pub fn locations(&self, project: &Path) -> impl Iterator<Item = PathBuf> {
        self.files.iter().map(move |file| tidy_path(&project.join(&file.location)))
    }

    /// The plan's own file: how it is shown, where it lies in the project, and its text.
    pub fn own(&self) -> Option<(&str, &Path, &str)> {
        self.files.first().map(|file| (file.name.as_str(), file.location.as_path(), file.text.as_str()))
    }

    /// Each file's place in the project, and its text.
    pub fn each(&self) -> impl Iterator<Item = (&Path, &str)> {
        self.files.iter().map(|file| (file.location.as_path(), file.text.as_str()))
    }

    /// All files in memory, by where they lie in the project.
    pub fn texts(&self) -> Memory {
        let mut texts = Memory::default();
        self.files.iter().for_each(|file| texts.insert(&file.location, file.text.as_str()));
        texts
    }

    /// The text at a place, empty where there is none.
    pub fn text(&self, place: Place) -> &str {
        self.get(place.file).and_then(|file| file.text.get(place.span.range())).unwrap_or("")
    }
}

/// Why a file's text could not be had.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// No such file.
    #[error("there is no such file")]
    Missing,
    /// It is there, but the system refuses it.
    #[error("it can't be read: {0}")]
    Refused(String),
    /// Bytes that are no UTF-8; the offset of the first.
    #[error("it is not UTF-8 text (byte {0} is the first that isn't); save it as UTF-8")]
    NotText(usize),
    /// Over [`LARGEST_FILE`].
    #[error("it is larger than {limit} MiB, the most that is read; split it with `use`", limit = LARGEST_FILE / 1024 / 1024)]
    TooLarge,
}

/// Reads the text of a file.
pub trait Reader: Sync {
    /// The whole text of the file at `path`.
    ///
    /// # Errors
    /// When the file is missing, refused, not UTF-8 or too large.
    fn read(&self, path: &Path) -> Result<String, ReadError>;

    /// How a path that reads as if it lay inside `folder`, and were of the kind that its ending says, leads astray by links. Where there are
    /// no links, nothing does.
    fn astray(&self, _path: &Path, _folder: &Path) -> Option<Astray> {
        None
    }

    /// The names of the files that lie beside one, as far as they can be told: for whoever wrote its name wrong.
    fn beside(&self, _path: &Path) -> Vec<String> {
        Vec::new()
    }

    /// Whether it doesn't.
    fn inside(&self, path: &Path, folder: &Path) -> bool {
        self.astray(path, folder).is_none()
    }
}

/// Where a path leads that should have led to a file of its own kind inside a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Astray {
    /// Out of the folder.
    #[error("leads outside the project folder")]
    Outside,
    /// To what git keeps for itself.
    #[error("lies in a `.git` folder")]
    Git,
    /// To a file that ends in something else.
    #[error("is a link to a file of another kind")]
    Kind,
}

/// Whether a path names what git keeps for itself: settings, hooks, and at times the words to get at a server with. However it is written,
/// since some disks know no case, and some have a second name for it.
pub fn in_git(path: &Path) -> bool {
    let git = |part: &std::ffi::OsStr| {
        let name = name_on_disk(part);
        name.eq_ignore_ascii_case(".git") || name.eq_ignore_ascii_case("git~1")
    };
    path.components().any(|part| matches!(part, Component::Normal(part) if git(part)))
}

/// The name that some systems write to where this one is asked for: without what stands behind a colon, and without blanks and dots at its
/// end (<https://learn.microsoft.com/windows/win32/fileio/naming-a-file>, recalled).
///
/// ```
/// use layrule::source::name_on_disk;
///
/// assert_eq!(name_on_disk("hall.lay. ".as_ref()), "hall.lay");
/// assert_eq!(name_on_disk(".git::$INDEX_ALLOCATION".as_ref()), ".git");
/// ```
pub fn name_on_disk(name: &std::ffi::OsStr) -> String {
    let name = name.to_string_lossy();
    name.split(':').next().unwrap_or("").trim_end_matches(['.', ' ']).to_string()
}

/// Whether a path ends in `.ending`, in any case.
pub fn ends_in(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending))
}

/// Whether two paths lead to one file, whatever they are called: told by what the system knows the file by. What isn't there is no file.
#[cfg(unix)]
pub fn same_file(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let known = |path: &Path| std::fs::metadata(path).ok().map(|file| (file.dev(), file.ino()));
    known(a).is_some_and(|a| known(b) == Some(a))
}

/// Whether two paths lead to one file, links followed. What isn't there is no file.
#[cfg(not(unix))]
pub fn same_file(a: &Path, b: &Path) -> bool {
    a.canonicalize().is_ok_and(|a| b.canonicalize().is_ok_and(|b| a == b))
}

/// Reads from the file system.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Reader for Disk {
    fn read(&self, path: &Path) -> Result<String, ReadError> {
        let (file, length) = open_regular(path)?;
        read_sized(file, length)
    }

    fn astray(&self, path: &Path, folder: &Path) -> Option<Astray> {
        // What isn't there leads nowhere; reading it says so.
        let (found, folder) = (path.canonicalize().ok()?, folder.canonicalize().ok()?);
        let kind = |path: &Path| path.extension().map(std::ffi::OsStr::to_ascii_lowercase);
        match found.strip_prefix(&folder) {
            Err(_) => Some(Astray::Outside),
            Ok(inside) if in_git(inside) => Some(Astray::Git),
            Ok(_) => (kind(path) != kind(&found)).then_some(Astray::Kind),
        }
    }

    fn beside(&self, path: &Path) -> Vec<String> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let entries = std::fs::read_dir(folder).into_iter().flatten().take(MOST_BESIDE);
        entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).collect()
    }
}

/// How many files of a folder are looked at for the one that was meant.
const MOST_BESIDE: usize = 1_000;

/// Opens a file that is nothing but a file, no pipe or device, and says how many bytes it holds.
fn open_regular(path: &Path) -> Result<(std::fs::File, u64), ReadError> {
    let refused = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => ReadError::Missing,
        _ => ReadError::Refused(error.to_string()),
    };
    let file = open_at_once(path).map_err(refused)?;
    let kind = file.metadata().map_err(refused)?;
    if !kind.is_file() {
        let what = if kind.is_dir() { "it is a folder" } else { "it is no regular file" };
        return Err(ReadError::Refused(what.into()));
    }
    Ok((file, kind.len()))
}

/// The bytes of a file that is nothing but a file; no more than `most`, and one where it holds more.
///
/// # Errors
/// When the file is missing or refused.
pub fn read_at_most(path: &Path, most: u64) -> Result<Vec<u8>, ReadError> {
    let (file, _) = open_regular(path)?;
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(|error| ReadError::Refused(error.to_string()))?;
    Ok(bytes)
}

/// Opens a file without waiting for anyone, as opening a pipe otherwise does for someone to write to it.
#[cfg(unix)]
pub(crate) fn open_at_once(path: &Path) -> std::io::Result<std::fs::File> {
    use std::os::unix::fs::OpenOptionsExt as _;
    std::fs::OpenOptions::new().read(true).custom_flags(libc::O_NONBLOCK).open(path)
}

/// Opens a file.
#[cfg(not(unix))]
pub(crate) fn open_at_once(path: &Path) -> std::io::Result<std::fs::File> {
    std::fs::File::open(path)
}

/// Reads a whole stream as UTF-8, refusing more than [`LARGEST_FILE`].
///
/// # Errors
/// As [`Reader::read`].
pub fn read_text(stream: impl std::io::Read) -> Result<String, ReadError> {
    read_sized(stream, 0)
}

/// As [`read_text`], with room for so many bytes from the start.
fn read_sized(stream: impl std::io::Read, expected: u64) -> Result<String, ReadError> {
    // A little more than that, so that the end is found without asking for more room.
    let room = usize::try_from(expected.min(LARGEST_FILE)).unwrap_or(0) + 64;
    let mut bytes = Vec::with_capacity(room);
    stream.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(|error| ReadError::Refused(error.to_string()))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(ReadError::TooLarge);
    }
    String::from_utf8(bytes).map_err(|error| ReadError::NotText(error.utf8_error().valid_up_to()))
}

/// Files held in memory, by their paths: for tests and for the examples that travel inside the program.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    files: HashMap<PathBuf, String>,
}

impl Memory {
    /// Adds or replaces a file.
    pub fn insert(&mut self, path: impl Into<PathBuf>, text: impl Into<String>) {
        self.files.insert(tidy_path(&path.into()), text.into());
    }
}

impl Reader for Memory {
    fn read(&self, path: &Path) -> Result<String, ReadError> {
        self.files.get(&tidy_path(path)).cloned().ok_or(ReadError::Missing)
    }

    fn beside(&self, path: &Path) -> Vec<String> {
        let path = tidy_path(path);
        let beside = self.files.keys().filter(|other| other.parent() == path.parent());
        beside.filter_map(|other| Some(other.file_name()?.to_str()?.to_string())).collect()
    }
}

/// Files of one reader where it has them, of another where not: unsaved texts over a disk.
#[derive(Clone, Copy)]
pub struct Overlay<'r> {
    /// Asked first.
    pub over: &'r dyn Reader,
    /// Asked where the first has no such file.
    pub under: &'r dyn Reader,
}

impl Reader for Overlay<'_> {
    fn read(&self, path: &Path) -> Result<String, ReadError> {
        match self.over.read(path) {
            Err(ReadError::Missing) => self.under.read(path),
            found => found,
        }
    }

    fn astray(&self, path: &Path, folder: &Path) -> Option<Astray> {
        self.under.astray(path, folder)
    }

    fn beside(&self, path: &Path) -> Vec<String> {
        self.under.beside(path)
    }
}

/// A text with what a terminal would obey, or would show as something else than it is, replaced by `U+FFFD`: control characters other than
/// tabs and ends of lines, and marks that turn the direction of writing.
///
/// ```
/// assert_eq!(layrule::source::printable("a\u{1b}[31mb\n".into()), "a\u{fffd}[31mb\n");
/// ```
pub fn printable(text: String) -> String {
    let harmful = |c: char| {
        (c.is_control() && !matches!(c, '\t' | '\n' | '\r'))
            || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let plain = |byte: u8| (b' '..0x7f).contains(&byte) || matches!(byte, b'\t' | b'\n' | b'\r');
    if !text.bytes().all(plain) && text.contains(harmful) { text.replace(harmful, "\u{fffd}") } else { text }
}

/// A text that is to stay on one line: what [`printable`] replaces, ends of lines and tabs are `U+FFFD`.
///
/// ```
/// assert_eq!(layrule::source::one_line("a\r\n::b\u{2028}"), "a\u{fffd}\u{fffd}::b\u{fffd}");
/// ```
pub fn one_line(text: &str) -> String {
    printable(text.to_string()).replace(['\t', '\n', '\r', '\u{2028}', '\u{2029}'], "\u{fffd}")
}

/// The name of a file as it is shown, wherever it is: on one line, and never beginning as a command to a build host does.
///
/// ```
/// # use std::path::Path;
/// assert_eq!(layrule::source::shown(Path::new("plans/bath.lay")), "plans/bath.lay");
/// assert_eq!(layrule::source::shown(Path::new("::error::a\n.lay")), "./::error::a\u{fffd}.lay");
/// ```
pub fn shown(path: &Path) -> String {
    let name = one_line(&path.to_string_lossy());
    if name.trim_start().starts_with([':', '#']) { format!("./{name}") } else { name }
}

/// A text whose carriage returns all end lines, of the same length: one that stands alone, which a terminal and some readers of lines take
/// for the end of one, becomes a space.
///
/// ```
/// assert_eq!(layrule::source::lines_as_counted("a\r\nb\rc"), "a\r\nb c");
/// ```
pub fn lines_as_counted(text: &str) -> Cow<'_, str> {
    let alone = |at: usize| text.as_bytes().get(at + 1) != Some(&b'\n');
    if !text.match_indices('\r').any(|(at, _)| alone(at)) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.char_indices().map(|(at, c)| if c == '\r' && alone(at) { ' ' } else { c }).collect())
}

/// A path as text with `/` between its parts, on any system.
pub fn slashed(path: &Path) -> String {
    let text = path.to_string_lossy();
    if std::path::MAIN_SEPARATOR == '/' { text.into_owned() } else { text.replace(std::path::MAIN_SEPARATOR, "/") }
}

/// `path` with `.` and `..` worked out by their names alone, without asking the file system.
///
/// ```
/// # use std::path::Path;
/// assert_eq!(layrule::source::tidy_path(Path::new("plans/./faults/../kits.lay")), Path::new("plans/kits.lay"));
/// ```
pub fn tidy_path(path: &Path) -> PathBuf {
    let mut tidy = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir
                if tidy.components().next_back().is_some_and(|c| matches!(c, Component::Normal(_))) =>
            {
                tidy.pop();
            }
            other => tidy.push(other),
        }
    }
    tidy
}
