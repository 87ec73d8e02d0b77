//! The text of a DXF file: its bytes as characters, and its pairs of a code and a value.

use std::borrow::Cow;

use super::Unreadable;

/// A group: what its value means, and the value.
pub(super) type Pair<'t> = (i32, &'t str);

/// The text of a file in the encoding that it states; UTF-8 since the version of 2007, a code page before that.
pub(super) fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, Unreadable> {
    if bytes.starts_with(b"AC10") {
        return Err(Unreadable::new("it is a DWG file", "save it as DXF"));
    }
    if let Some(groups) = bytes.strip_prefix(super::dxf_binary::MARK) {
        let text = super::dxf_binary::as_text(groups)?;
        return Ok(Cow::Owned(decoded(&text)?.into_owned()));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if let Ok(text) = std::str::from_utf8(bytes) {
        return Ok(Cow::Borrowed(text));
    }
    let page = code_page(bytes).unwrap_or_else(|| "windows-1252".into());
    let encoding = encoding_rs::Encoding::for_label(page.as_bytes()).unwrap_or(encoding_rs::WINDOWS_1252);
    Ok(Cow::Owned(encoding.decode_without_bom_handling(bytes).0.into_owned()))
}

/// The code page that the file's head states, by the name that encodings have.
fn code_page(bytes: &[u8]) -> Option<String> {
    let head = String::from_utf8_lossy(bytes.get(..65_536.min(bytes.len()))?).into_owned();
    let stated = head.split("$DWGCODEPAGE").nth(1)?.lines().nth(2)?.trim().to_lowercase();
    Some(match stated.strip_prefix("ansi_").unwrap_or(&stated) {
        "932" => "shift_jis".into(),
        "936" => "gbk".into(),
        "949" => "euc-kr".into(),
        "950" => "big5".into(),
        number => format!("windows-{number}"),
    })
}

/// The pairs of a text.
#[derive(Clone)]
pub(super) struct Pairs<'t> {
    lines: std::str::Lines<'t>,
    line: usize,
    kept: Option<Pair<'t>>,
}

impl<'t> Pairs<'t> {
    pub(super) fn of(text: &'t str) -> Self {
        Pairs { lines: text.lines(), line: 0, kept: None }
    }

    /// The next pair; nothing at the end of the text.
    pub(super) fn next(&mut self) -> Result<Option<Pair<'t>>, Unreadable> {
        if let Some(kept) = self.kept.take() {
            return Ok(Some(kept));
        }
        let Some(code) = self.lines.next() else { return Ok(None) };
        self.line += 1;
        if code.trim().is_empty() && self.lines.clone().all(|line| line.trim().is_empty()) {
            return Ok(None);
        }
        let Ok(code) = code.trim().parse() else {
            let what = format!("line {} should hold a group's code, which is a whole number", self.line);
            return Err(Unreadable::new(
                what,
                "it is no DXF file, or it was changed by hand; export it again as DXF in its text form",
            ));
        };
        let Some(value) = self.lines.next() else {
            let what = format!("it ends in the middle of a group, at line {}", self.line);
            return Err(Unreadable::new(what, "it was cut short; export it again"));
        };
        self.line += 1;
        Ok(Some((code, value)))
    }

    /// Gives a pair back, to be the next.
    pub(super) fn keep(&mut self, pair: Pair<'t>) {
        self.kept = Some(pair);
    }
}

/// The longest text that is kept, characters.
const LONGEST: usize = 200;

/// A value as it reads in any place: `\U+00E4` is a letter by its number, `^ ` a caret, `^J` and its like control characters.
pub(super) fn plain(value: &str) -> String {
    let mut read = String::new();
    let mut rest = value;
    while let Some(at) = rest.find(['\\', '^']) {
        read.push_str(rest.get(..at).unwrap_or_default());
        rest = rest.get(at..).unwrap_or_default();
        let digits = rest.strip_prefix("\\U+").and_then(|after| after.get(..4));
        let letter = digits.and_then(|digits| u32::from_str_radix(digits, 16).ok()).and_then(char::from_u32);
        if let Some(letter) = letter {
            read.push(letter);
            rest = rest.get(7..).unwrap_or_default();
        } else if rest.starts_with('^') {
            let control = rest.chars().nth(1);
            read.push(match control {
                Some(' ') => '^',
                Some('I' | 'J' | 'M') => ' ',
                _ => '\u{fffd}',
            });
            rest = rest.get(1 + control.map_or(0, char::len_utf8)..).unwrap_or_default();
        } else {
            read.push('\\');
            rest = rest.get(1..).unwrap_or_default();
        }
        if read.len() > LONGEST * 4 {
            break;
        }
    }
    read.push_str(rest);
    let words: Vec<&str> = read.split_whitespace().collect();
    crate::source::one_line(&words.join(" ")).chars().take(LONGEST * 4).collect()
}

/// What a text reads, without the codes that say how it looks.
///
/// Of one line, `%%u` and its like; of several, `\P` for a new line, `\fArial;` for a font, braces round what these hold for.
pub(super) fn read(value: &str, several_lines: bool) -> String {
    let value = plain(value.get(..LONGEST * 40).unwrap_or(value));
    let mut read = String::new();
    let mut rest = value.chars().peekable();
    while let Some(c) = rest.next() {
        if read.len() > LONGEST * 4 {
            break;
        }
        match c {
            '%' if rest.peek() == Some(&'%') => {
                rest.next();
                match rest.next() {
                    Some('c' | 'C') => read.push('⌀'),
                    Some('d' | 'D') => read.push('°'),
                    Some('p' | 'P') => read.push('±'),
                    Some('%') => read.push('%'),
                    _ => {}
                }
            }
            '\\' => match rest.next() {
                Some('P' | 'n' | '~') if several_lines => read.push(' '),
                Some(kept @ ('\\' | '{' | '}')) => read.push(kept),
                Some('L' | 'l' | 'O' | 'o' | 'K' | 'k') if several_lines => {}
                Some('f' | 'F' | 'H' | 'C' | 'c' | 'A' | 'T' | 'Q' | 'W' | 'p') if several_lines => {
                    rest.by_ref().take(LONGEST).find(|c| *c == ';');
                }
                Some('S') if several_lines => {}
                Some(other) => read.extend(['\\', other]),
                None => {}
            },
            '{' | '}' if several_lines => {}
            other => read.push(other),
        }
    }
    let words: Vec<&str> = read.split_whitespace().collect();
    crate::source::one_line(&words.join(" ")).chars().take(LONGEST).collect()
}
