//! What is known of the files that are worked on: each read once for as long as it, or what it draws on, stays as it is.

use std::cell::OnceCell;
use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use lsp_types::Uri;

use super::client::Client;
use super::documents::{Documents, Language, path_of};
use super::positions::Text;
use super::wanted::Wanted;
use crate::checker::{self, Report};
use crate::finding::Finding;
use crate::known::Known;
use crate::language::faults::SyntaxFault;
use crate::language::tokens::{self, Block, Token};
use crate::layout;
use crate::measure::plan::Measured;
use crate::model::Plan;
use crate::model::load::{Library, Parsed};
use crate::model::resolve::resolve;
use crate::project::{self, Placed, ProjectFile};
use crate::rules::packs::{Pack, RuleSet, built_in};
use crate::rules::{self, evaluate::RuleFault};
use crate::source::{FileId, LARGEST_FILE, ReadError, Reader as _, SourceFile, Span, shown, tidy_path};
use crate::walk::{files_below, packs_below};

/// How many plans of a project are looked through for the uses of a name.
const MOST_PLANS: usize = 10_000;

/// A file's text with what is made of it, each part when first asked for.
#[derive(Debug)]
pub struct Source {
    /// Where it lies.
    pub path: PathBuf,
    /// The text.
    pub text: Arc<Text>,
    location: PathBuf,
    tokens: OnceLock<Vec<Token>>,
    blocks: OnceLock<Vec<Block>>,
    layout: OnceLock<Arc<Parsed>>,
    layout_names: OnceLock<Vec<layout::names::Occurrence>>,
    rules: OnceLock<rules::tree::File>,
    rule_names: OnceLock<Vec<rules::names::Occurrence>>,
}

impl Source {
    fn new(path: PathBuf, text: Arc<Text>, location: PathBuf) -> Self {
        Source {
            path,
            text,
            location,
            tokens: OnceLock::new(),
            blocks: OnceLock::new(),
            layout: OnceLock::new(),
            layout_names: OnceLock::new(),
            rules: OnceLock::new(),
            rule_names: OnceLock::new(),
        }
    }

    /// The text as it is read.
    pub fn read(&self) -> &str {
        self.text.read()
    }

    /// Its tokens.
    pub fn tokens(&self) -> &[Token] {
        self.tokens.get_or_init(|| tokens::tokens(self.read()))
    }

    /// Its blocks.
    pub fn blocks(&self) -> &[Block] {
        self.blocks.get_or_init(|| tokens::blocks(self.read(), self.tokens()))
    }

    /// As a plan.
    pub fn layout(&self) -> &Arc<Parsed> {
        self.layout.get_or_init(|| {
            let source = SourceFile::new(shown(&self.path), self.location.clone(), self.read());
            let tree = layout::parse(&source.text);
            Arc::new(Parsed { source: Arc::new(source), tree })
        })
    }

    /// The names of the plan.
    pub fn layout_names(&self) -> &[layout::names::Occurrence] {
        self.layout_names.get_or_init(|| layout::names::occurrences(&self.layout().tree))
    }

    /// As a rule pack.
    pub fn rules(&self) -> &rules::tree::File {
        self.rules.get_or_init(|| rules::parse(self.read()))
    }

    /// The names of the rule pack.
    pub fn rule_names(&self) -> &[rules::names::Occurrence] {
        self.rule_names.get_or_init(|| rules::names::occurrences(self.rules()))
    }
}

type Read = Result<Arc<Text>, ReadError>;

/// Whether a file still reads as it did.
fn same(a: &Read, b: &Read) -> bool {
    match (a, b) {
        (Ok(a), Ok(b)) => Arc::ptr_eq(a, b),
        (Err(a), Err(b)) => a == b,
        _ => false,
    }
}

/// A project: what its file says, and the rules it comes to.
#[derive(Debug)]
pub struct Project {
    /// The folder that `use` may not lead out of.
    pub folder: PathBuf,
    /// The rules: those of the packs as they are, or as they last were without a fault.
    pub rules: Arc<RuleSet>,
    /// The packs it names, by what the rule set calls them.
    pub packs: HashMap<String, PathBuf>,
    /// What is wrong with its file and its packs.
    pub faults: Vec<(PathBuf, SyntaxFault)>,
    known: Known,
    /// What all this was read from.
    from: Vec<(PathBuf, Read)>,
    /// The folders of packs that it names, each with what was found in it.
    folders: Vec<(PathBuf, Result<Vec<PathBuf>, String>)>,
}

/// What checking a plan came to.
#[derive(Debug)]
pub struct Analysis {
    /// The plan, with what has been measured of it.
    pub measured: Measured,
    /// What was found in it, but for what is known; of a large plan not all was tried that could settle it.
    pub findings: Vec<Finding>,
    /// The same with all that was tried, once it is asked for; none where nothing was left.
    settled: Option<OnceCell<Vec<Finding>>>,
    /// What rules got wrong on it.
    pub rule_faults: Vec<RuleFault>,
    /// The rules it was held to.
    pub rules: Arc<RuleSet>,
    /// Its project.
    pub project: Arc<Project>,
    /// What it was read from: its own file, what it uses, and what it would have used.
    from: Vec<(PathBuf, Read)>,
    today: jiff::civil::Date,
}

impl Analysis {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        self.measured.plan()
    }

    /// What was found in it, with all that was tried to settle it; nothing where that is left off.
    pub fn settled(&self, wanted: &Wanted) -> Option<&[Finding]> {
        let Some(settled) = &self.settled else { return Some(&self.findings) };
        if settled.get().is_none() {
            let stop = || wanted.left_off();
            let (mut report, _) = checker::check_until(&self.measured, &self.rules, self.today, None, &stop);
            if stop() {
                return None;
            }
            self.project.known.sift(&mut report);
            // Nobody else fills it meanwhile: it is this thread's own.
            let _ = settled.set(report.findings);
        }
        settled.get().map(Vec::as_slice)
    }

    /// What is found in a plan by the same rules; what its findings offer is not tried. Nothing where that is left off.
    pub fn check(&self, measured: &Measured, wanted: &Wanted) -> Option<Report> {
        let stop = || wanted.left_off();
        let mut report = checker::untried_until(measured, &self.rules, self.today, &stop);
        if stop() {
            return None;
        }
        self.project.known.sift(&mut report);
        Some(report)
    }

    /// Where a file of the plan lies.
    pub fn path(&self, file: FileId) -> Option<PathBuf> {
        self.plan().sources.get(file).map(|file| tidy_path(&self.project.folder.join(&file.location)))
    }

    /// The id of a file in the plan.
    pub fn file(&self, path: &Path) -> Option<FileId> {
        (0u32..).map(FileId).map_while(|id| Some((id, self.path(id)?))).find(|(_, own)| own == path).map(|(id, _)| id)
    }
}

/// A rule pack that no project names, held to the rules of its project.
#[derive(Debug)]
pub struct Draft {
    /// The rules with those of the pack; none where it is at fault.
    pub rules: Option<Arc<RuleSet>>,
    /// What is wrong with it.
    pub faults: Vec<SyntaxFault>,
    project: Arc<Project>,
    text: Arc<Text>,
}

/// What workspaces on the same files have in common.
#[derive(Debug)]
pub struct Shared {
    built_in: Arc<RuleSet>,
    client: Client,
    folders: Vec<PathBuf>,
    home: PathBuf,
    today: Option<jiff::civil::Date>,
    wanted: Wanted,
    written: Written,
}

impl From<Shared> for Workspace {
    fn from(shared: Shared) -> Self {
        let Shared { built_in, client, folders, home, today, wanted, written } = shared;
        Workspace { client, folders, home, today, wanted, written, ..Workspace::new(built_in) }
    }
}

/// Everything that is worked on.
#[derive(Debug)]
pub struct Workspace {
    /// The files.
    pub documents: Documents,
    /// The rules that come with the program.
    built_in: Arc<RuleSet>,
    /// What the editor can, and how it counts positions.
    pub client: Client,
    /// The folders that are open, or the current one.
    pub folders: Vec<PathBuf>,
    /// Where texts that are no file yet are taken to lie: the first folder that was open, for as long as the server runs.
    pub home: PathBuf,
    /// The day on which deviations are judged, where it isn't today.
    pub today: Option<jiff::civil::Date>,
    sources: HashMap<PathBuf, Arc<Source>>,
    projects: HashMap<PathBuf, Arc<Project>>,
    analyses: HashMap<PathBuf, Rc<Analysis>>,
    drafts: HashMap<PathBuf, Arc<Draft>>,
    /// Whether what it works out is still of use.
    pub wanted: Wanted,
    /// The built-in packs as files to be looked at, once they are asked for; one folder for all that serve an editor.
    written: Written,
}

/// A folder that is written when it is first asked for; none where it can't be.
type Written = Arc<OnceLock<Option<tempfile::TempDir>>>;

impl Workspace {
    /// Nothing is open yet. `built_in` are the rules that come with the program.
    pub fn new(built_in: Arc<RuleSet>) -> Self {
        Workspace {
            documents: Documents::default(),
            built_in,
            client: Client::default(),
            folders: Vec::new(),
            home: PathBuf::new(),
            today: None,
            sources: HashMap::new(),
            projects: HashMap::new(),
            analyses: HashMap::new(),
            drafts: HashMap::new(),
            wanted: Wanted::default(),
            written: Written::default(),
        }
    }

    /// What another needs to know to work on the same files beside this one.
    pub fn shared(&self) -> Shared {
        Shared {
            built_in: Arc::clone(&self.built_in),
            client: self.client,
            folders: self.folders.clone(),
            home: self.home.clone(),
            today: self.today,
            wanted: Wanted { told: self.wanted.changes.load(Ordering::Relaxed), ..self.wanted.clone() },
            written: Arc::clone(&self.written),
        }
    }

    /// Where what a URI names lies.
    pub fn path_of(&self, uri: &Uri) -> PathBuf {
        path_of(uri, &self.home)
    }

    /// The day it is.
    pub fn today(&self) -> jiff::civil::Date {
        self.today.unwrap_or_else(|| jiff::ZonedDateTime::now().date())
    }

    /// What a file is written in.
    pub fn language(&self, path: &Path) -> Option<Language> {
        self.documents.open.get(path).map_or_else(|| Language::of(path), |document| document.language)
    }

    /// The folder of the project that a file belongs to.
    pub fn project_folder(&self, path: &Path) -> PathBuf {
        let folder = path.parent().unwrap_or(path);
        let here =
            self.folders.iter().filter(|open| folder.starts_with(open)).max_by_key(|open| open.as_os_str().len());
        project::folder_of(folder, here.map_or(folder, PathBuf::as_path))
    }

    /// A file.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn source(&mut self, path: &Path) -> Result<Arc<Source>, ReadError> {
        let text = self.documents.text(path)?;
        if let Some(known) = self.sources.get(path).filter(|known| Arc::ptr_eq(&known.text, &text)) {
            return Ok(Arc::clone(known));
        }
        let folder = self.project_folder(path);
        let location = path.strip_prefix(&folder).unwrap_or(path).to_path_buf();
        let source = Arc::new(Source::new(path.to_path_buf(), text, location));
        self.sources.insert(path.to_path_buf(), Arc::clone(&source));
        Ok(source)
    }

    /// A project as its files now stand. Its rules are put together again only where one of them changed.
    pub fn project(&mut self, folder: &Path) -> Arc<Project> {
        let before = self.projects.get(folder).cloned();
        if let Some(known) = &before
            && known.from.iter().all(|(path, read)| same(read, &self.reached(path, folder)))
            && known.folders.iter().all(|(path, found)| *found == self.packs_of(path, folder))
        {
            return Arc::clone(known);
        }
        let project = Arc::new(self.read_project(folder, before.as_deref()));
        self.projects.insert(folder.to_path_buf(), Arc::clone(&project));
        project
    }

    /// The text of a file that a project may read: one that no link leads astray from, and no stranger's project file.
    fn reached(&self, path: &Path, folder: &Path) -> Read {
        match self.documents.astray(path, folder) {
            Some(how) => Err(ReadError::Refused(format!("it {how}"))),
            None if path == folder.join(project::FILE) && !project::heeded(path) => Err(ReadError::Missing),
            None => self.documents.text(path),
        }
    }

    /// The packs of a folder that a project names, where no link leads astray.
    fn packs_of(&self, path: &Path, folder: &Path) -> Result<Vec<PathBuf>, String> {
        match self.documents.astray(path, folder) {
            Some(how) => Err(format!("it {how}")),
            None => packs_below(path),
        }
    }

    fn read_project(&self, folder: &Path, before: Option<&Project>) -> Project {
        let file = folder.join(project::FILE);
        let read = self.reached(&file, folder);
        let mut faults: Vec<(PathBuf, SyntaxFault)> = Vec::new();
        let whole = |message: String| SyntaxFault {
            span: Span::default(),
            message,
            label: String::new(),
            instead: None,
            help: None,
        };
        let said = match &read {
            Ok(text) => match project::parse(text.read()) {
                Ok(said) => said,
                Err(found) => {
                    faults.extend(found.into_iter().map(|fault| (file.clone(), fault)));
                    // While the file is being written, what it said last holds.
                    if let Some(before) = before {
                        let from = before.from.iter().map(|(path, _)| (path.clone(), self.reached(path, folder)));
                        return Project {
                            folder: folder.to_path_buf(),
                            rules: Arc::clone(&before.rules),
                            packs: before.packs.clone(),
                            faults,
                            known: before.known.clone(),
                            from: from.collect(),
                            folders: before.folders.clone(),
                        };
                    }
                    ProjectFile::default()
                }
            },
            Err(ReadError::Missing) => ProjectFile::default(),
            Err(error) => {
                faults.push((file.clone(), whole(error.to_string())));
                ProjectFile::default()
            }
        };
        let mut from = vec![(file.clone(), read)];
        let mut packs = HashMap::new();
        let mut list = built_in();
        let mut named_packs: Vec<(PathBuf, &Placed<String>)> = Vec::new();
        let mut folders = Vec::new();
        for named in said.rules.iter().flat_map(|rules| &rules.value) {
            let path = tidy_path(&folder.join(&named.value));
            if !project::is_folder(&named.value) {
                named_packs.push((path, named));
                continue;
            }
            let found = self.packs_of(&path, folder);
            match &found {
                Ok(packs) => named_packs.extend(packs.iter().map(|pack| (pack.clone(), named))),
                Err(why) => faults.push((
                    file.clone(),
                    SyntaxFault { span: named.span, ..whole(format!("rule packs in `{}`: {why}", named.value)) },
                )),
            }
            folders.push((path, found));
        }
        for (path, named) in named_packs {
            let read = self.reached(&path, folder);
            match &read {
                Ok(text) => {
                    let name = path.display().to_string();
                    list.push(Pack { name: name.clone(), text: text.read().to_string() });
                    packs.insert(name, path.clone());
                }
                Err(error) => faults.push((
                    file.clone(),
                    SyntaxFault { span: named.span, ..whole(format!("rule pack `{}`: {error}", named.value)) },
                )),
            }
            from.push((path, read));
        }
        let mut known = Known::default();
        if let Some(named) = &said.known {
            let path = crate::source::tidy_path(&folder.join(&named.value));
            let read = self.reached(&path, folder);
            match &read {
                Ok(text) => match Known::parse(text.read()) {
                    Ok(parsed) => known = parsed,
                    Err(fault) => faults.push((path.clone(), fault)),
                },
                Err(error) => faults.push((
                    file,
                    SyntaxFault { span: named.span, ..whole(format!("known findings `{}`: {error}", named.value)) },
                )),
            }
            from.push((path, read));
        }
        let rules = if packs.is_empty() {
            Arc::clone(&self.built_in)
        } else {
            match RuleSet::build(list) {
                Ok(rules) => Arc::new(rules),
                Err(found) => {
                    for pack in found {
                        let Some(path) = packs.get(&pack.pack.name) else { continue };
                        faults.extend(pack.faults.into_iter().map(|fault| (path.clone(), fault)));
                    }
                    // While a pack is being written, the rules hold that it came to last.
                    before.map_or_else(|| Arc::clone(&self.built_in), |before| Arc::clone(&before.rules))
                }
            }
        };
        Project { folder: folder.to_path_buf(), rules, packs, faults, known, from, folders }
    }

    /// A plan, checked; nothing where it can't be read, or is left off meanwhile. It is checked again only where something it draws on
    /// changed.
    pub fn analysis(&mut self, path: &Path) -> Option<Rc<Analysis>> {
        let folder = self.project_folder(path);
        let project = self.project(&folder);
        let today = self.today();
        let before = self.analyses.get(path).cloned();
        if let Some(known) = &before
            && Arc::ptr_eq(&known.project, &project)
            && known.today == today
            && known.from.iter().all(|(path, read)| same(read, &self.documents.text(path)))
        {
            return before;
        }
        let own = self.source(path).ok()?;
        // What was read before, and what is open, needn't be parsed again.
        let mut at_hand: BTreeSet<PathBuf> = self.documents.open.keys().cloned().collect();
        at_hand.extend(before.iter().flat_map(|before| before.from.iter().map(|(path, _)| path.clone())));
        at_hand.retain(|one| one.starts_with(&folder) && Language::of(one) == Some(Language::Layout));
        let mut seeds: HashMap<PathBuf, Arc<Source>> = HashMap::new();
        for one in at_hand {
            if crate::source::Reader::inside(&self.documents, &one, &folder)
                && let Ok(source) = self.source(&one)
            {
                seeds.insert(one, source);
            }
        }
        let library = Library::new(&self.documents, &folder, "");
        for (path, source) in &seeds {
            library.know(path, Ok(Arc::clone(source.layout())));
        }
        let loaded = library.load_parsed(path, own.layout());
        let mut paths: BTreeSet<PathBuf> =
            loaded.files.iter().map(|(_, parsed)| tidy_path(&folder.join(&parsed.source.location))).collect();
        paths.extend(library.asked().into_iter().filter(|path| !seeds.contains_key(path)));
        let from = paths.into_iter().map(|file| {
            let used = if file == path { Some(&own) } else { seeds.get(&file) };
            let read = used.map_or_else(|| self.documents.text(&file), |source| Ok(Arc::clone(&source.text)));
            (file, read)
        });
        let from = from.collect();
        if self.wanted.left_off() {
            return None;
        }
        let measured = Measured::new(resolve(loaded));
        let soon = Some(crate::checker::mend::MOST_RUNS_AT_ONCE);
        let stop = || self.wanted.left_off();
        let (mut report, whole) = checker::check_until(&measured, &project.rules, today, soon, &stop);
        if stop() {
            return None;
        }
        project.known.sift(&mut report);
        let analysis = Rc::new(Analysis {
            measured,
            findings: report.findings,
            settled: (!whole).then(OnceCell::new),
            rule_faults: report.rule_faults,
            rules: Arc::clone(&project.rules),
            project,
            from,
            today,
        });
        self.analyses.insert(path.to_path_buf(), Rc::clone(&analysis));
        Some(analysis)
    }

    /// A rule pack that its project doesn't name; nothing where it does, or can't be read.
    pub fn draft(&mut self, path: &Path) -> Option<Arc<Draft>> {
        let folder = self.project_folder(path);
        let project = self.project(&folder);
        if project.packs.values().any(|pack| pack == path) {
            return None;
        }
        let text = self.documents.text(path).ok()?;
        if let Some(known) = self.drafts.get(path)
            && Arc::ptr_eq(&known.text, &text)
            && Arc::ptr_eq(&known.project, &project)
        {
            return Some(Arc::clone(known));
        }
        // A copy of a built-in pack stands in its place, rather than beside it.
        let copied = path.file_name().map(|name| format!("rules/{}", name.to_string_lossy()));
        let mut packs = project.rules.packs.clone();
        packs.retain(|pack| Some(&pack.name) != copied.as_ref());
        let name = path.display().to_string();
        packs.push(Pack { name: name.clone(), text: text.read().to_string() });
        let (rules, faults) = match RuleSet::build(packs) {
            Ok(rules) => (Some(Arc::new(rules)), Vec::new()),
            Err(found) => {
                let own = found.into_iter().filter(|pack| pack.pack.name == name);
                (None, own.flat_map(|pack| pack.faults).collect())
            }
        };
        let draft = Arc::new(Draft { rules, faults, project, text });
        self.drafts.insert(path.to_path_buf(), Arc::clone(&draft));
        Some(draft)
    }

    /// The rules that hold for a file: those of its project, with its own where it is a pack apart.
    pub fn rules_for(&mut self, path: &Path) -> Arc<RuleSet> {
        if self.language(path) == Some(Language::Rules)
            && let Some(rules) = self.draft(path).and_then(|draft| draft.rules.clone())
        {
            return rules;
        }
        let folder = self.project_folder(path);
        Arc::clone(&self.project(&folder).rules)
    }

    /// The plans of a project, those on the disk and those that are open.
    pub fn plans(&self, folder: &Path) -> Vec<PathBuf> {
        let on_disk = files_below(folder, &["lay"]).filter_map(Result::ok);
        let mut plans: BTreeSet<PathBuf> =
            on_disk.take(MOST_PLANS).map(|path| crate::source::tidy_path(&path)).collect();
        plans.extend(self.documents.open.keys().filter(|path| path.starts_with(folder)).cloned());
        plans.into_iter().filter(|path| self.language(path) == Some(Language::Layout)).collect()
    }

    /// Where the pack of that name can be looked at: the file of a project, or a copy of a built-in pack that is written for that.
    pub fn pack_path(&mut self, project: &Project, name: &str) -> Option<PathBuf> {
        if let Some(path) = project.packs.get(name) {
            return Some(path.clone());
        }
        if Path::new(name).is_absolute() {
            return Some(PathBuf::from(name));
        }
        let folder = self.written.get_or_init(|| write_packs(&self.built_in).ok()).as_ref()?.path();
        Some(folder.join(Path::new(name).file_name()?))
    }

    /// What was made of a file is dropped, now that it is closed.
    pub fn forget(&mut self, path: &Path) {
        self.analyses.remove(path);
        self.drafts.remove(path);
    }

    /// Whether a file is too large to be read.
    pub fn too_large(&self, path: &Path) -> bool {
        self.documents.open.get(path).is_some_and(|document| document.text.raw().len() as u64 > LARGEST_FILE)
    }
}

/// The folders that were written, for who ends the process before it comes to their removal; nothing once it has.
static WRITTEN: Mutex<Option<Vec<PathBuf>>> = Mutex::new(Some(Vec::new()));

/// Removes what servers of this process have written, at its end: nothing is written after it.
pub fn remove_written() {
    let mut written = WRITTEN.lock().unwrap_or_else(PoisonError::into_inner);
    for folder in written.take().into_iter().flatten() {
        // What is gone already needs no removal, and there is no one left to tell of anything else.
        let _ = std::fs::remove_dir_all(folder);
    }
}

/// Packs in a folder of this process's own, which goes with it.
fn write_packs(rules: &RuleSet) -> std::io::Result<tempfile::TempDir> {
    // Until all of it is written no one removes it: what came after would stay.
    let mut written = WRITTEN.lock().unwrap_or_else(PoisonError::into_inner);
    let written = written.as_mut().ok_or(std::io::ErrorKind::Interrupted)?;
    let folder = tempfile::Builder::new().prefix("layrule-rules-").tempdir()?;
    written.push(folder.path().to_path_buf());
    for pack in &rules.packs {
        if let Some(name) = Path::new(&pack.name).file_name() {
            std::fs::write(folder.path().join(name), &pack.text)?;
        }
    }
    Ok(folder)
}
