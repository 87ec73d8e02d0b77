//! What the terminal and the environment say of how to print.

use std::ffi::OsString;

/// The fewest columns that anything is laid out for.
const NARROWEST: usize = 60;

/// How many columns there are: as many as `COLUMNS` says, or as the terminal that is printed to has; none where neither is so.
pub(super) fn width() -> Option<usize> {
    let asked =
        std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok()).filter(|columns| *columns > 0);
    let own = || terminal_size::terminal_size_of(std::io::stdout()).map(|(width, _)| usize::from(width.0));
    asked.or_else(own).map(|columns: usize| columns.max(NARROWEST))
}

/// Whether to colour what goes to a terminal, or elsewhere, by the environment: `NO_COLOR` goes over all (no-color.org), `CLICOLOR_FORCE` and
/// `FORCE_COLOR` over what is printed to, `CLICOLOR=0` and `TERM=dumb` over a terminal (bixense.com/clicolors).
pub(super) fn colored(get: impl Fn(&str) -> Option<OsString>, terminal: bool) -> bool {
    let set = |name: &str| get(name).filter(|value| !value.is_empty());
    let on = |name: &str| set(name).is_some_and(|value| value != "0" && value != "false");
    if set("NO_COLOR").is_some() {
        return false;
    }
    if on("CLICOLOR_FORCE") || on("FORCE_COLOR") {
        return true;
    }
    let off = |name: &str, word: &str| set(name).is_some_and(|value| value == word);
    terminal && !off("CLICOLOR", "0") && !off("FORCE_COLOR", "0") && !off("TERM", "dumb")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_follow_the_environment() {
        let colored = |set: &[(&str, &str)], terminal| {
            colored(|name| set.iter().find(|(own, _)| *own == name).map(|(_, value)| OsString::from(value)), terminal)
        };
        for (set, on_terminal, elsewhere) in [
            (&[][..], true, false),
            (&[("NO_COLOR", "1")], false, false),
            (&[("NO_COLOR", "")], true, false),
            (&[("CLICOLOR", "0")], false, false),
            (&[("CLICOLOR", "1")], true, false),
            (&[("CLICOLOR_FORCE", "1")], true, true),
            (&[("CLICOLOR_FORCE", "0")], true, false),
            (&[("CLICOLOR", "0"), ("CLICOLOR_FORCE", "1")], true, true),
            (&[("FORCE_COLOR", "1")], true, true),
            (&[("FORCE_COLOR", "0")], false, false),
            (&[("TERM", "dumb")], false, false),
            (&[("TERM", "dumb"), ("FORCE_COLOR", "3")], true, true),
            (&[("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")], false, false),
        ] {
            assert_eq!((colored(set, true), colored(set, false)), (on_terminal, elsewhere), "{set:?}");
        }
    }
}
