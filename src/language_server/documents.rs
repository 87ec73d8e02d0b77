//! The files that are worked on: what an editor holds goes over what lies on the disk.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use lsp_types::Uri;
use percent_encoding::{AsciiSet, CONTROLS, percent_decode_str, utf8_percent_encode};

use super::positions::Text;
use crate::project;
use crate::source::{Astray, Disk, LARGEST_FILE, ReadError, Reader, slashed, tidy_path};

/// What a file is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    /// A plan.
    Layout,
    /// A rule pack.
    Rules,
    /// The project file.
    Project,
}

impl Language {
    /// By what a file is called.
    pub fn of(path: &Path) -> Option<Language> {
        if path.file_name().is_some_and(|name| name == project::FILE) {
            return Some(Language::Project);
        }
        match path.extension()?.to_str()? {
            "lay" => Some(Language::Layout),
            "rule" => Some(Language::Rules),
            _ => None,
        }
    }
}

/// A file that an editor holds.
#[derive(Debug, Clone)]
pub struct Document {
    /// As the editor calls it.
    pub uri: Uri,
    /// The editor's count of its changes.
    pub version: i32,
    /// What it holds.
    pub text: Arc<Text>,
    /// What it is written in.
    pub language: Option<Language>,
}

type OnDisk = (Option<(SystemTime, u64)>, Result<Arc<Text>, ReadError>);

/// What an editor holds, over the disk.
#[derive(Debug, Default)]
pub struct Documents {
    /// By path.
    pub open: BTreeMap<PathBuf, Document>,
    disk: Mutex<HashMap<PathBuf, OnDisk>>,
}

impl Documents {
    /// The text of a file; the same one for as long as it is not changed.
    ///
    /// # Errors
    /// When the file is missing, refused, not UTF-8 or too large.
    pub fn text(&self, path: &Path) -> Result<Arc<Text>, ReadError> {
        if let Some(document) = self.open.get(path) {
            let large = document.text.raw().len() as u64 > LARGEST_FILE;
            return if large { Err(ReadError::TooLarge) } else { Ok(Arc::clone(&document.text)) };
        }
        let stamp = std::fs::metadata(path).ok().and_then(|data| Some((data.modified().ok()?, data.len())));
        let mut disk = self.disk.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((known, text)) = disk.get(path)
            && *known == stamp
            && stamp.is_some()
        {
            return text.clone();
        }
        let text = Disk.read(path).map(|text| Arc::new(Text::new(text)));
        disk.insert(path.to_path_buf(), (stamp, text.clone()));
        text
    }

    /// How the editor calls the file at a path.
    pub fn uri(&self, path: &Path) -> Option<Uri> {
        match self.open.get(path) {
            Some(document) => Some(document.uri.clone()),
            None => file_uri(path),
        }
    }
}

impl Reader for Documents {
    fn read(&self, path: &Path) -> Result<String, ReadError> {
        self.text(path).map(|text| text.raw().to_string())
    }

    fn astray(&self, path: &Path, folder: &Path) -> Option<Astray> {
        Disk.astray(path, folder)
    }
}

/// What a path in a URI may hold as it is: RFC 3986's `pchar` and the slash.
const ESCAPED: &AsciiSet = &CONTROLS
    .add(b' ')
    .add(b'"')
    .add(b'#')
    .add(b'%')
    .add(b'<')
    .add(b'>')
    .add(b'?')
    .add(b'[')
    .add(b'\\')
    .add(b']')
    .add(b'^')
    .add(b'`')
    .add(b'{')
    .add(b'|')
    .add(b'}');

/// The `file:` URI of a whole path.
pub fn file_uri(path: &Path) -> Option<Uri> {
    let path = slashed(path);
    let root = if path.starts_with('/') { "" } else { "/" };
    Uri::from_str(&format!("file://{root}{}", utf8_percent_encode(&path, ESCAPED))).ok()
}

/// The path of a URI. What is no file, such as a text not saved yet, is taken to lie in `folder`.
pub fn path_of(uri: &Uri, folder: &Path) -> PathBuf {
    let text = uri.as_str();
    let Some(rest) = text.strip_prefix("file://") else {
        return folder.join(text.replace(['/', '\\'], "_"));
    };
    let encoded = rest.find('/').map_or(rest, |at| &rest[at..]);
    let path = percent_decode_str(encoded).decode_utf8_lossy();
    // `/c:/plans` is the drive `c:`.
    let drive = path.get(1..3).is_some_and(|drive| drive.ends_with(':')) && std::path::MAIN_SEPARATOR == '\\';
    tidy_path(Path::new(if drive { &path[1..] } else { &path }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_and_uris_lead_to_each_other() {
        let path = Path::new("/plans/Küche #1 100%.lay");
        let uri = file_uri(path).map(|uri| uri.as_str().to_string()).unwrap_or_default();
        assert_eq!(uri, "file:///plans/K%C3%BCche%20%231%20100%25.lay");
        let back = Uri::from_str(&uri).map(|uri| path_of(&uri, Path::new("/")));
        assert_eq!(back.ok().as_deref(), Some(path));
        let unsaved = Uri::from_str("untitled:Untitled-1").map(|uri| path_of(&uri, Path::new("/plans")));
        assert_eq!(unsaved.ok().as_deref(), Some(Path::new("/plans/untitled:Untitled-1")));
    }
}
