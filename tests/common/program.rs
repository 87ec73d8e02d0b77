//! The program as it is run, and folders to run it in.

use std::path::Path;
use std::process::{Command, Output};

/// The program in a folder, ready to run.
pub(crate) fn layrule(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_layrule"));
    command.current_dir(folder).args(arguments);
    // What the tests run in may ask for colours and columns of its own.
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "FORCE_COLOR", "COLUMNS"] {
        command.env_remove(name);
    }
    command
}

/// Its exit code, and what it printed for people and of itself.
pub(crate) fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    answer(&layrule(folder, arguments).output().expect("the program runs"))
}

/// What a run that has ended said.
pub(crate) fn answer(output: &Output) -> (i32, String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("it prints UTF-8");
    (output.status.code().expect("it ends by itself"), text(&output.stdout), text(&output.stderr))
}

/// A plan without findings.
pub(crate) const SOUND: &str = "room r {\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  cable a {\n    start (100, 150)\n    run east 800\n  }\n}\n";
/// A plan whose cable lies near a wall.
pub(crate) const NEAR_WALL: &str = "room r {\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  cable a {\n    start (100, 40)\n    run east 800\n  }\n}\n";

/// A folder of plans that goes when it is let go of.
pub(crate) struct Folder(pub tempfile::TempDir);

impl Folder {
    pub(crate) fn new(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        for (name, text) in files {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().expect("a parent")).expect("its folder");
            std::fs::write(path, text).expect("a file");
        }
        Folder(folder)
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> (i32, String, String) {
        run(self.0.path(), arguments)
    }

    pub(crate) fn path(&self, name: &str) -> std::path::PathBuf {
        self.0.path().join(name)
    }
}
