//! A text and the protocol's positions in it: lines, and UTF-16 or UTF-8 code units.

use lsp_types::{Position, Range};

use crate::source::{Span, printable};

/// What a position counts on its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units: what holds where nothing else is agreed.
    #[default]
    Utf16,
}

impl Encoding {
    fn units(self, c: char) -> u32 {
        let units = match self {
            Encoding::Utf8 => c.len_utf8(),
            Encoding::Utf16 => c.len_utf16(),
        };
        u32::try_from(units).unwrap_or(1)
    }
}

/// A text as an editor holds it, and as it is read: with what is not [`printable`] replaced, character by character.
#[derive(Debug)]
pub struct Text {
    raw: String,
    raw_lines: Vec<usize>,
    /// Whether each character is one byte and one unit, however units are counted.
    ascii: bool,
    /// Where it differs: the text as it is read, and where its lines start.
    read: Option<(String, Vec<usize>)>,
}

/// Where the lines of a text start. The protocol ends them with LF, CRLF or CR.
fn line_starts(text: &str) -> Vec<usize> {
    let bytes = text.as_bytes();
    let ends = bytes.iter().enumerate().filter(|(at, byte)| match byte {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    });
    std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect()
}

/// The line (from 0) of a text without what ends it.
fn line<'t>(text: &'t str, starts: &[usize], line: usize) -> &'t str {
    let start = starts.get(line).copied().unwrap_or(text.len());
    let end = starts.get(line + 1).copied().unwrap_or(text.len());
    text.get(start..end).unwrap_or("").trim_end_matches(['\n', '\r'])
}

impl Text {
    /// A text as an editor or a disk holds it.
    pub fn new(raw: String) -> Self {
        let shown = printable(raw.clone());
        let read = (shown != raw).then(|| {
            let lines = line_starts(&shown);
            (shown, lines)
        });
        Text { raw_lines: line_starts(&raw), ascii: raw.is_ascii() && read.is_none(), raw, read }
    }

    /// The text as its editor holds it.
    pub fn raw(&self) -> &str {
        &self.raw
    }

    /// The text as it is read: what spans are of.
    pub fn read(&self) -> &str {
        self.read.as_ref().map_or(&self.raw, |(text, _)| text)
    }

    fn read_lines(&self) -> &[usize] {
        self.read.as_ref().map_or(&self.raw_lines, |(_, lines)| lines)
    }

    /// The line (from 0) of an offset into the text as read.
    pub fn line(&self, offset: usize) -> u32 {
        let number = self.read_lines().partition_point(|start| *start <= offset).saturating_sub(1);
        u32::try_from(number).unwrap_or(u32::MAX)
    }

    /// How long the line of an offset is, in bytes of the text as read.
    pub fn line_length(&self, offset: usize) -> usize {
        let (lines, number) = (self.read_lines(), self.line(offset) as usize);
        lines.get(number + 1).copied().unwrap_or(self.read().len()) - lines.get(number).copied().unwrap_or(0)
    }

    /// The position of an offset into the text as read.
    pub fn position(&self, encoding: Encoding, offset: usize) -> Position {
        let (text, lines) = (self.read(), self.read_lines());
        let number = self.line(offset) as usize;
        let own = line(text, lines, number);
        let within = offset.saturating_sub(lines.get(number).copied().unwrap_or(0)).min(own.len());
        if self.ascii {
            let narrow = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
            return Position { line: narrow(number), character: narrow(within) };
        }
        let count = own.get(..within).unwrap_or(own).chars().count();
        let raw = line(&self.raw, &self.raw_lines, number);
        let character = raw.chars().take(count).map(|c| encoding.units(c)).sum();
        Position { line: u32::try_from(number).unwrap_or(u32::MAX), character }
    }

    /// The range of a span of the text as read.
    pub fn range(&self, encoding: Encoding, span: Span) -> Range {
        let range = span.range();
        Range { start: self.position(encoding, range.start), end: self.position(encoding, range.end) }
    }

    /// The offset of a position into the text as read. What lies beyond a line is its end, what lies beyond the text is the text's.
    pub fn offset(&self, encoding: Encoding, position: Position) -> usize {
        let (line_number, count) = self.characters_before(encoding, position);
        let (text, lines) = (self.read(), self.read_lines());
        let Some(start) = lines.get(line_number) else { return text.len() };
        start + line(text, lines, line_number).chars().take(count).map(char::len_utf8).sum::<usize>()
    }

    /// The offset of a position into the text as its editor holds it.
    fn raw_offset(&self, encoding: Encoding, position: Position) -> usize {
        let (line_number, count) = self.characters_before(encoding, position);
        let Some(start) = self.raw_lines.get(line_number) else { return self.raw.len() };
        start + line(&self.raw, &self.raw_lines, line_number).chars().take(count).map(char::len_utf8).sum::<usize>()
    }

    /// A position's line, and how many characters stand before it on that. Within a character is before it.
    fn characters_before(&self, encoding: Encoding, position: Position) -> (usize, usize) {
        let number = position.line as usize;
        let mut units = 0u32;
        let count = line(&self.raw, &self.raw_lines, number)
            .chars()
            .take_while(|c| {
                units = units.saturating_add(encoding.units(*c));
                units <= position.character
            })
            .count();
        (number, count)
    }

    /// The text after a change: a range of it replaced, or all of it.
    pub fn changed(&self, encoding: Encoding, range: Option<Range>, new: &str) -> String {
        let Some(range) = range else { return new.to_string() };
        let start = self.raw_offset(encoding, range.start);
        // A range that ends before it starts is empty.
        let end = self.raw_offset(encoding, range.end).max(start);
        let mut text = String::with_capacity(self.raw.len() + new.len());
        for part in [self.raw.get(..start), Some(new), self.raw.get(end..)] {
            text.push_str(part.unwrap_or(""));
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn positions_count_utf_16_and_lines_end_in_three_ways() {
        let text = Text::new("a🜂é\r\nb\rc\n".into());
        assert_eq!(text.position(Encoding::Utf16, 5), at(0, 3));
        assert_eq!(text.position(Encoding::Utf8, 5), at(0, 5));
        assert_eq!(text.position(Encoding::Utf16, 10), at(1, 1));
        assert_eq!(text.position(Encoding::Utf16, 11), at(2, 0));
        assert_eq!(text.position(Encoding::Utf16, 13), at(3, 0));
        assert_eq!(text.offset(Encoding::Utf16, at(0, 3)), 5);
        // Between the halves of a character is before it, beyond a line is its end, beyond the text is the text's.
        assert_eq!(text.offset(Encoding::Utf16, at(0, 2)), 1);
        assert_eq!(text.offset(Encoding::Utf16, at(0, 99)), 7);
        assert_eq!(text.offset(Encoding::Utf16, at(9, 9)), 13);
    }

    #[test]
    fn changes_apply_to_what_the_editor_holds() {
        let text = Text::new("x\u{1b}y\u{200e}z\n".into());
        assert_eq!(text.read(), "x\u{fffd}y\u{fffd}z\n");
        for encoding in [Encoding::Utf8, Encoding::Utf16] {
            let z = text.position(encoding, 8);
            assert_eq!(text.offset(encoding, z), 8);
            let end = Position { character: z.character + 1, ..z };
            assert_eq!(text.changed(encoding, Some(Range { start: z, end }), "w"), "x\u{1b}y\u{200e}w\n");
        }
        assert_eq!(
            text.changed(Encoding::Utf16, Some(Range { start: at(0, 4), end: at(0, 1) }), "+"),
            "x\u{1b}y\u{200e}+z\n"
        );
    }
}
