//! A DXF file in its binary form: the same groups as in its text form, each value as bytes of the kind that its code has.

use std::io::Write as _;

use super::Unreadable;

/// What such a file begins with.
pub(super) const MARK: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// What bytes a value is made of, the lowest first.
enum Kind {
    /// Text up to a zero.
    Text,
    Real,
    /// A whole number of so many bytes.
    Whole(usize),
    /// As many bytes as the first says.
    Chunk,
}

/// The kind of the values of a code, by the ranges that DXF has for codes.
fn kind(code: i32) -> Kind {
    match code {
        10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => Kind::Real,
        60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => Kind::Whole(2),
        90..=99 | 420..=429 | 440..=459 | 1071 => Kind::Whole(4),
        160..=169 => Kind::Whole(8),
        290..=299 => Kind::Whole(1),
        310..=319 | 1004 => Kind::Chunk,
        _ => Kind::Text,
    }
}

/// Bytes that are gone through.
struct Bytes<'b> {
    rest: &'b [u8],
    /// Whether codes take two bytes; in older versions they take one, and 255 stands before a longer one.
    wide: bool,
}

impl<'b> Bytes<'b> {
    fn take(&mut self, count: usize) -> Option<&'b [u8]> {
        let (taken, rest) = self.rest.split_at_checked(count)?;
        self.rest = rest;
        Some(taken)
    }

    fn whole(&mut self, bytes: usize) -> Option<i64> {
        let taken = self.take(bytes)?;
        let sign = taken.last().filter(|last| **last >= 0x80 && bytes > 1).map_or(0, |_| 0xff);
        let mut all = [sign; 8];
        all[..bytes].copy_from_slice(taken);
        Some(i64::from_le_bytes(all))
    }

    fn code(&mut self) -> Option<i32> {
        let code = match self.wide {
            true => self.whole(2)?,
            false => match self.whole(1)? {
                255 => self.whole(2)?,
                code => code,
            },
        };
        i32::try_from(code).ok()
    }

    /// A value as the text form has it.
    fn value(&mut self, code: i32, text: &mut Vec<u8>) -> Option<()> {
        match kind(code) {
            Kind::Text => {
                let end = self.rest.iter().position(|byte| *byte == 0)?;
                let own = self.take(end)?;
                // What would end the line is none of it.
                text.extend(own.iter().map(|byte| if matches!(byte, b'\r' | b'\n') { b' ' } else { *byte }));
                self.take(1)?;
            }
            Kind::Real => {
                let bytes: [u8; 8] = self.take(8)?.try_into().ok()?;
                let _ = write!(text, "{:?}", f64::from_le_bytes(bytes));
            }
            Kind::Whole(bytes) => {
                let number = self.whole(bytes)?;
                let _ = write!(text, "{number}");
            }
            // Nothing of a floor is told so.
            Kind::Chunk => {
                let long = usize::try_from(self.whole(1)?).ok()?;
                self.take(long)?;
            }
        }
        Some(())
    }
}

/// The groups behind the mark as the text form has them.
///
/// # Errors
/// Where it ends in the middle of a group.
pub(super) fn as_text(groups: &[u8]) -> Result<Vec<u8>, Unreadable> {
    // The first group is `0` and `SECTION`.
    let mut bytes = Bytes { rest: groups, wide: groups.get(1) == Some(&0) };
    let mut text = Vec::with_capacity(groups.len());
    while !bytes.rest.is_empty() {
        let group = bytes.code().and_then(|code| {
            let _ = writeln!(text, "{code}");
            bytes.value(code, &mut text)
        });
        if group.is_none() {
            let what = "it is a DXF file in its binary form that ends in the middle of a group";
            return Err(Unreadable::new(what, "it was cut short or damaged; export it again, as DXF in its text form"));
        }
        text.push(b'\n');
    }
    Ok(text)
}
