//! How a bundle is written, and how lines are that mail could change.

use std::fmt::Write as _;

use super::{Bundle, HEADER, VERSION, fingerprint};

/// The longest line that is written, bytes; mail takes 998 (RFC 5322, 2.1.1).
const LONGEST: usize = 900;

/// The bundle's text.
pub fn write(bundle: &Bundle) -> String {
    let mut text = format!(
        "{HEADER}{VERSION}\n# A plan for electric floor heating with all that it is checked by.\n# `layrule check` takes this file as it stands; `layrule bundle --unpack FOLDER` makes its files out of it.\n\
         program {}\nbuilt-in {}\nfail-on {}\nwhole {}\nfiles {}\n",
        bundle.program,
        bundle.built_in,
        bundle.fail_on.word(),
        bundle.whole,
        bundle.members.len()
    );
    for member in &bundle.members {
        let _ = writeln!(text, "\n{} {}", member.role.word(), member.path);
        for line in member.text.split_inclusive('\n') {
            match line.strip_suffix('\n').filter(|line| is_plain(line)) {
                Some("") => text.push_str("|\n"),
                Some(plain) => {
                    let _ = writeln!(text, "| {plain}");
                }
                None => escaped(line, &mut text),
            }
        }
        let _ = writeln!(text, "end {}", fingerprint(&member.text));
    }
    text
}

/// Whether a line comes through mail as it is.
fn is_plain(line: &str) -> bool {
    let tame = |c: char| !c.is_control() && !matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}');
    line.len() <= LONGEST && !line.ends_with(char::is_whitespace) && line.chars().all(|c| tame(c) || c == '\t')
}

/// Writes a line behind `\ `, in as many lines as it takes.
fn escaped(line: &str, text: &mut String) {
    let mut own = String::new();
    let flush = |own: &mut String, text: &mut String| {
        // What ends with a blank would lose it.
        if own.ends_with([' ', '\t']) {
            let last = if own.pop() == Some(' ') { "\\s" } else { "\\t" };
            own.push_str(last);
        }
        let _ = writeln!(text, "\\ {own}");
        own.clear();
    };
    for c in line.chars() {
        if own.len() >= LONGEST - 20 {
            flush(&mut own, text);
        }
        match c {
            '\n' => own.push_str("\\n"),
            '\r' => own.push_str("\\r"),
            '\\' => own.push_str("\\\\"),
            ' ' if own.is_empty() => own.push_str("\\s"),
            '\t' => own.push_str("\\t"),
            c if c.is_control() || (c.is_whitespace() && c != ' ') || c == '\u{feff}' => {
                let _ = write!(own, "\\u{{{:x}}}", u32::from(c));
            }
            c => own.push(c),
        }
    }
    if !own.is_empty() {
        flush(&mut own, text);
    }
}

/// Adds what a line means that stands behind `\ `; nothing where it means none.
pub(super) fn unescaped(line: &str, text: &mut String) -> Option<()> {
    let mut chars = line.chars();
    while let Some(c) = chars.next() {
        if c != '\\' {
            text.push(c);
            continue;
        }
        match chars.next()? {
            'n' => text.push('\n'),
            'r' => text.push('\r'),
            't' => text.push('\t'),
            's' => text.push(' '),
            '\\' => text.push('\\'),
            'u' => {
                let rest = chars.as_str().strip_prefix('{')?;
                let (digits, after) = rest.split_once('}')?;
                let plain =
                    !digits.is_empty() && digits.len() <= 6 && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
                text.push(char::from_u32(u32::from_str_radix(digits, 16).ok().filter(|_| plain)?)?);
                chars = after.chars();
            }
            _ => return None,
        }
    }
    Some(())
}
