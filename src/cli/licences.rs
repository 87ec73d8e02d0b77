//! `layrule licences`: under what terms the program and what is built into it may be passed on.

use super::problem::Problem;
use super::{Console, SOUND};

pub(super) const EXAMPLES: &str = "Examples:
  layrule licences > LICENCES.txt    keep them beside a program that is passed on

Exit codes: 0 printed, 2 where they could not be.";

/// The program's own licence.
const OWN: &str = include_str!("../../LICENSE");

/// The licence of the lettering in drawings, as its fonts name it.
const LETTERING: &str = include_str!("licences/apache-2.0.txt");

/// The libraries that are built in, each with its version and licence. A test holds it to what cargo knows of them.
const LIBRARIES: &str = include_str!("licences/libraries.txt");

pub(super) fn run(console: &Console) -> Result<u8, Vec<Problem>> {
    let text = format!(
        "layrule {version}\n\n{OWN}\n\
         The lettering of drawings is Noto Sans 1.04, Copyright 2012 Google Inc. All Rights Reserved.\n\
         Licensed under the Apache License, Version 2.0, which is printed at the end.\n\n\
         These libraries are built in. Each is under the licence named beside it, and its source and the\n\
         text of that licence lie in the registry crates.io under its name and version.\n\n\
         {LIBRARIES}\n{LETTERING}",
        version = env!("CARGO_PKG_VERSION"),
    );
    console.print(text.as_bytes()).map_err(|problem| vec![problem])?;
    Ok(SOUND)
}
