//! Exercises: what is made wrong, what it provokes, and what learners are marked for.

mod making;
mod marks;
mod program;
mod ways;

use layrule::exercise::sound::Sound;
use layrule::model::load::Library;
use layrule::source::Disk;

use crate::common::{RULES, TODAY, root};

/// A sound example as exercises are made of it.
pub(crate) fn sound(name: &str) -> Sound {
    let library = Library::new(&Disk, root(), root());
    let loaded = library.load(&root().join("examples").join(name), name).expect("it can be read");
    Sound::new(loaded, &RULES, TODAY).unwrap_or_else(|why| panic!("{name}: {why}"))
}

/// The sound examples.
pub(crate) fn sound_examples() -> Vec<Sound> {
    let entries = std::fs::read_dir(root().join("examples")).expect("examples");
    let names = entries.map(|entry| entry.expect("one").file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.filter(|name| name.ends_with(".lay") && name != "kits.lay").collect();
    names.sort();
    names.iter().map(|name| sound(name)).collect()
}
