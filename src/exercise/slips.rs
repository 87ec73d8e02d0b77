//! What happens to numbers between a notebook and a plan: digits swapped, misread, doubled or left out, a nought too many, a row's width off.

/// A number as it comes to be written by mistake.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// The digits.
    pub digits: String,
    /// The share by which it is more or less than what was right.
    pub size: f64,
}

/// What may be written for a number; `step` is the width of a row, where it counts from one.
///
/// ```
/// let slips = layrule::exercise::slips::slips("110", Some(80.0));
/// let digits: Vec<&str> = slips.iter().map(|slip| slip.digits.as_str()).collect();
/// // Swapped, a digit left out, misread, a nought too many, a row further on.
/// assert!(["101", "11", "100", "1100", "190"].iter().all(|wanted| digits.contains(wanted)), "{digits:?}");
/// assert!(!digits.contains(&"110") && !digits.contains(&"011"));
/// ```
pub fn slips(digits: &str, step: Option<f64>) -> Vec<Slip> {
    let Ok(right) = digits.parse::<f64>() else { return Vec::new() };
    let bytes = digits.as_bytes();
    let mut written: Vec<String> = Vec::new();
    for at in 0..bytes.len() {
        let own = bytes[at];
        if !own.is_ascii_digit() {
            continue;
        }
        if let Some(next) = bytes.get(at + 1).filter(|next| next.is_ascii_digit() && **next != own) {
            written.push(with(bytes, at, &[*next, own], 2));
        }
        // One more or less, and those that look alike in a hurried hand.
        let alike: &[u8] = match own {
            b'0' => b"168",
            b'1' => b"0274",
            b'2' => b"137",
            b'3' => b"248",
            b'4' => b"3519",
            b'5' => b"463",
            b'6' => b"5780",
            b'7' => b"681",
            b'8' => b"7930",
            _ => b"84",
        };
        written.extend(alike.iter().map(|other| with(bytes, at, &[*other], 1)));
        written.push(with(bytes, at, &[], 1));
        written.push(with(bytes, at, &[own, own], 1));
    }
    if digits.contains('.') {
        written.push(digits.replacen('.', "", 1));
    } else {
        written.push(format!("{digits}0"));
    }
    if let Some(step) = step.filter(|_| right >= 1.0) {
        let rows = [-2.0, -1.0, -0.5, 0.5, 1.0, 2.0].map(|rows| right + rows * step);
        written.extend(rows.iter().filter(|value| **value > 0.0).map(|value| format!("{}", value.round())));
    }
    let mut slips: Vec<Slip> = Vec::new();
    for digits in written {
        let Ok(value) = digits.parse::<f64>() else { continue };
        let leading = digits.len() > 1 && digits.starts_with('0') && !digits.starts_with("0.");
        let odd = digits.starts_with('.') || digits.ends_with('.') || leading;
        if odd || value == right || slips.iter().any(|slip| slip.digits == digits) {
            continue;
        }
        let size = (value - right).abs() / right.abs().max(1e-9);
        slips.push(Slip { digits, size });
    }
    slips
}

/// Digits with some of them written otherwise.
fn with(bytes: &[u8], at: usize, other: &[u8], instead_of: usize) -> String {
    let parts = [&bytes[..at], other, bytes.get(at + instead_of..).unwrap_or(&[])];
    String::from_utf8(parts.concat()).unwrap_or_default()
}
