//! Files in the exchange structure of ISO 10303-21, as building models are passed on in: records by their numbers.
//!
//! The crates that read them want the whole of a schema, or keep the whole of a file; of a building little is asked here. Records are found
//! once, and what one holds is read when it is asked for. Lists in lists are gone through by a stack of bounded height.

use std::cell::Cell;
use std::collections::HashMap;

use super::Unreadable;

/// The most records of a file.
const MOST_RECORDS: usize = 3_000_000;
/// The most values of one record.
const MOST_VALUES: usize = 2_000_000;
/// How many bytes of records are read in all, each as often as it is asked for, beyond some times the whole file: a shape that many things
/// have is read for each of them, and a file may have one of half its size be asked for without end.
const READ_BESIDES: usize = 16 * 1024 * 1024;
const READ_TIMES: usize = 8;
/// How deep lists stand in lists.
const DEEPEST: usize = 12;

/// A value of a record.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value<'t> {
    /// Another record, by its number.
    Record(u64),
    Number(f64),
    /// As it is written, its escapes too.
    Text(&'t str),
    /// A word between dots, or one that stands before a value: `.MILLI.`, `IFCLINEINDEX`.
    Word(&'t str),
    List(Vec<Value<'t>>),
    /// `$` and `*`, and what no other is.
    Nothing,
}

impl<'t> Value<'t> {
    pub(super) fn record(&self) -> Option<u64> {
        if let Value::Record(number) = self { Some(*number) } else { None }
    }

    pub(super) fn number(&self) -> Option<f64> {
        match self {
            Value::Number(number) => Some(*number),
            _ => None,
        }
    }

    pub(super) fn word(&self) -> Option<&'t str> {
        if let Value::Word(word) = self { Some(word) } else { None }
    }

    pub(super) fn list(&self) -> &[Value<'t>] {
        if let Value::List(values) = self { values } else { &[] }
    }

    /// A text as it reads.
    pub(super) fn text(&self) -> Option<String> {
        if let Value::Text(text) = self { Some(decoded(text)) } else { None }
    }
}

/// The records of a file.
pub(super) struct Records<'t> {
    records: HashMap<u64, (&'t str, &'t str)>,
    /// The numbers in their order.
    order: Vec<u64>,
    /// How many bytes were read, and how many are.
    read: Cell<usize>,
    most: usize,
}

impl<'t> Records<'t> {
    /// Finds the records of a text.
    pub(super) fn of(text: &'t str) -> Result<Self, Unreadable> {
        if !text.trim_start().starts_with("ISO-10303-21") {
            return Err(Unreadable::new(
                "it doesn't begin with `ISO-10303-21`",
                "export it as IFC in its STEP form (`.ifc`, no `.ifczip`, no XML)",
            ));
        }
        let mut found = Records {
            records: HashMap::new(),
            order: Vec::new(),
            read: Cell::new(0),
            most: text.len() * READ_TIMES + READ_BESIDES,
        };
        for statement in statements(text) {
            let Some((number, kind, body)) = record(statement) else { continue };
            if found.order.len() >= MOST_RECORDS {
                let what = format!("it holds more than {MOST_RECORDS} records, the most that are read");
                return Err(Unreadable::new(what, "export the storey that is wanted by itself"));
            }
            if found.records.insert(number, (kind, body)).is_none() {
                found.order.push(number);
            }
        }
        if found.order.is_empty() {
            return Err(Unreadable::new(
                "it holds no records",
                "it was cut short, or is no building model; export it again",
            ));
        }
        Ok(found)
    }

    /// The numbers of the records of a kind, in the order of the file.
    pub(super) fn of_kind<'k>(&'k self, kind: &'k str) -> impl Iterator<Item = u64> + 'k {
        self.order.iter().copied().filter(move |number| self.kind(*number).eq_ignore_ascii_case(kind))
    }

    /// All numbers, with their kinds.
    pub(super) fn all(&self) -> impl Iterator<Item = (u64, &'t str)> + '_ {
        self.order.iter().map(|number| (*number, self.kind(*number)))
    }

    /// What a record is; empty where there is none.
    pub(super) fn kind(&self, number: u64) -> &'t str {
        self.records.get(&number).map_or("", |(kind, _)| kind)
    }

    /// What a record holds; nothing where there is none, or where more was read than is.
    pub(super) fn values(&self, number: u64) -> Vec<Value<'t>> {
        let Some((_, body)) = self.records.get(&number) else { return Vec::new() };
        self.read.set(self.read.get().saturating_add(body.len() + 64));
        if self.are_spent() { Vec::new() } else { values(body) }
    }

    /// Whether more was read than is.
    pub(super) fn are_spent(&self) -> bool {
        self.read.get() > self.most
    }
}

/// The statements of a text, each up to its semicolon: none of those in texts and comments counts.
fn statements(text: &str) -> impl Iterator<Item = &str> {
    let bytes = text.as_bytes();
    let mut at = 0;
    std::iter::from_fn(move || {
        let start = at;
        let mut in_text = false;
        while at < bytes.len() {
            match bytes[at] {
                b'\'' => in_text = !in_text,
                b'/' if !in_text && bytes.get(at + 1) == Some(&b'*') => {
                    let rest = text.get(at + 2..).unwrap_or_default();
                    at += rest.find("*/").map_or(rest.len(), |end| end + 2) + 1;
                }
                b';' if !in_text => {
                    at += 1;
                    return text.get(start..at - 1);
                }
                _ => {}
            }
            at += 1;
        }
        None
    })
}

/// The number, the kind and the values of a statement that is a record.
fn record(statement: &str) -> Option<(u64, &str, &str)> {
    let mut statement = statement.trim_start();
    while let Some(rest) = statement.strip_prefix("/*") {
        statement = rest.split_once("*/")?.1.trim_start();
    }
    let (number, rest) = statement.strip_prefix('#')?.split_once('=')?;
    let (kind, body) = rest.split_once('(')?;
    let body = body.trim_end().strip_suffix(')')?;
    Some((number.trim().parse().ok()?, kind.trim(), body))
}

/// The values of a record. A value in a kind of its own, `IFCLABEL('a')`, is the value where it is one alone, the kind before a list.
fn values(body: &str) -> Vec<Value<'_>> {
    let mut stack: Vec<Vec<Value<'_>>> = vec![Vec::new()];
    let mut count = 0;
    let mut rest = body;
    loop {
        rest = rest.trim_start_matches([' ', '\t', '\r', '\n', ',']);
        let Some(first) = rest.bytes().next() else { break };
        count += 1;
        if count > MOST_VALUES {
            return Vec::new();
        }
        let (value, length) = match first {
            b'(' => {
                if stack.len() >= DEEPEST {
                    return Vec::new();
                }
                stack.push(Vec::new());
                rest = rest.get(1..).unwrap_or_default();
                continue;
            }
            b')' => {
                let Some(list) = stack.pop() else { return Vec::new() };
                let Some(outer) = stack.last_mut() else { return Vec::new() };
                // `IFCLENGTHMEASURE(3.)`: the number alone matters.
                match (outer.last(), list.as_slice()) {
                    (Some(Value::Word(word)), [one]) if word.starts_with("IFC") && !matches!(one, Value::List(_)) => {
                        let one = one.clone();
                        outer.pop();
                        outer.push(one);
                    }
                    _ => outer.push(Value::List(list)),
                }
                rest = rest.get(1..).unwrap_or_default();
                continue;
            }
            b'\'' => {
                let length = text_length(rest);
                (Value::Text(rest.get(1..length.saturating_sub(1)).unwrap_or_default()), length)
            }
            b'/' if rest.starts_with("/*") => {
                rest = rest.split_once("*/").map_or("", |(_, rest)| rest);
                continue;
            }
            b'#' => {
                let length = span(rest, 1, |b| b.is_ascii_digit());
                (
                    rest.get(1..length).and_then(|number| number.parse().ok()).map_or(Value::Nothing, Value::Record),
                    length,
                )
            }
            b'.' => {
                let length = rest.get(1..).and_then(|rest| rest.find('.')).map_or(rest.len(), |end| end + 2);
                (Value::Word(rest.get(1..length.saturating_sub(1)).unwrap_or_default()), length)
            }
            b'+' | b'-' | b'0'..=b'9' => {
                let length = span(rest, 1, |b| b.is_ascii_digit() || b"+-.eE".contains(&b));
                let number = rest.get(..length).and_then(|number| number.trim_end_matches('.').parse().ok());
                (
                    number
                        .filter(|number: &f64| number.is_finite() && number.abs() < 1e12)
                        .map_or(Value::Nothing, Value::Number),
                    length,
                )
            }
            b if b.is_ascii_alphabetic() => {
                let length = span(rest, 1, |b| b.is_ascii_alphanumeric() || b == b'_');
                (Value::Word(rest.get(..length).unwrap_or_default()), length)
            }
            _ => (Value::Nothing, rest.chars().next().map_or(1, char::len_utf8)),
        };
        if let Some(open) = stack.last_mut() {
            open.push(value);
        }
        rest = rest.get(length..).unwrap_or_default();
    }
    stack.into_iter().next().unwrap_or_default()
}

/// How far a text goes on with such bytes, from some place on.
fn span(text: &str, from: usize, is: impl Fn(u8) -> bool) -> usize {
    text.bytes().skip(from).position(|b| !is(b)).map_or(text.len(), |end| from + end)
}

/// How long a text is with its quotes; two quotes in it stand for one.
fn text_length(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let mut at = 1;
    while at < bytes.len() {
        if bytes[at] == b'\'' {
            if bytes.get(at + 1) != Some(&b'\'') {
                return at + 1;
            }
            at += 1;
        }
        at += 1;
    }
    rest.len()
}

/// A text without its escapes: `\X2\` and four digits a character, `\X\` and two digits, `\S\` and a letter of the upper half of Latin 1.
fn decoded(text: &str) -> String {
    let mut read = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['\\', '\'']) {
        read.push_str(rest.get(..at).unwrap_or_default());
        rest = rest.get(at..).unwrap_or_default();
        if let Some(after) = rest.strip_prefix("\\X2\\") {
            let (digits, after) = after.split_once("\\X0\\").unwrap_or((after, ""));
            let units: Vec<u16> =
                digits.as_bytes().chunks(4).filter_map(hex).filter_map(|unit| u16::try_from(unit).ok()).collect();
            read.push_str(&String::from_utf16_lossy(&units));
            rest = after;
        } else if let Some(after) = rest.strip_prefix("\\X4\\") {
            let (digits, after) = after.split_once("\\X0\\").unwrap_or((after, ""));
            read.extend(digits.as_bytes().chunks(8).filter_map(hex).filter_map(char::from_u32));
            rest = after;
        } else if let Some(after) = rest.strip_prefix("\\X\\") {
            read.extend(after.as_bytes().get(..2).and_then(hex).and_then(char::from_u32));
            rest = after.get(2..).unwrap_or_default();
        } else if let Some(after) = rest.strip_prefix("\\S\\") {
            let mut letters = after.chars();
            read.extend(letters.next().and_then(|letter| char::from_u32(u32::from(letter) + 128)));
            rest = letters.as_str();
        } else {
            let doubled = rest.starts_with("''") || rest.starts_with("\\\\");
            read.extend(rest.chars().next());
            rest = rest.get(if doubled { 2 } else { 1 }..).unwrap_or_default();
        }
        if read.len() > 4_000 {
            break;
        }
    }
    read.push_str(rest);
    crate::source::one_line(&read).chars().take(200).collect()
}

fn hex(digits: &[u8]) -> Option<u32> {
    u32::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::*;

    #[test]
    fn records_are_read_as_the_standard_writes_them() {
        let text = "ISO-10303-21;\nHEADER;FILE_NAME('a;b');ENDSEC;\nDATA;\n#1=IFCA('it''s; #2=',$,*,.T.,(1.,-2.5E1,(#3)),IFCLENGTHMEASURE(3.));\n\
                    /* #9=IFCB(); */ #2 = IFCC(IFCLINEINDEX((1,2)));\nENDSEC;\nEND-ISO-10303-21;\n";
        let records = Records::of(text).expect("records");
        assert_eq!(records.order, [1, 2]);
        let inner = Value::List(vec![Value::Record(3)]);
        let list = Value::List(vec![Value::Number(1.0), Value::Number(-25.0), inner]);
        let first =
            [Value::Text("it''s; #2="), Value::Nothing, Value::Nothing, Value::Word("T"), list, Value::Number(3.0)];
        assert_eq!(records.values(1), first);
        assert_eq!(first[0].text().as_deref(), Some("it's; #2="));
        let numbers = Value::List(vec![Value::Number(1.0), Value::Number(2.0)]);
        assert_eq!(records.values(2), [Value::Word("IFCLINEINDEX"), Value::List(vec![numbers])]);
    }

    /// The forms of ISO 10303-21:2002, 6.3.3 (recalled).
    #[test]
    fn texts_are_read_in_any_script() {
        assert_eq!(decoded("K\\X\\FCche"), "Küche");
        assert_eq!(decoded("\\X2\\04120430043D043D0430\\X0\\ 2"), "Ванна 2");
        assert_eq!(decoded("\\S\\dbel"), "äbel");
    }
}
