//! Shows which kits suit, in the forms that a take-off has. One file an output; JSON is as `grammar/sizing.schema.json` says.

mod csv;
pub mod json;
mod markdown;
mod text;

use super::Sizing;
use super::choice::{Choice, Load};
use super::makes::Make;
use crate::quantity::{Dimension, Quantity, number};
use crate::takeoff::Told;
use crate::takeoff::outputs::Form;

/// What was found for some plans, in a form. For people, `most` choices of each sort are shown for a room; other programs are given all.
pub fn write(sizings: &[Sizing], form: Form, most: usize) -> Vec<u8> {
    match form {
        Form::Text => text::write(sizings, most).into_bytes(),
        Form::Json => json::write(sizings),
        Form::Csv => csv::write(sizings),
        Form::Markdown => markdown::write(sizings, most).into_bytes(),
    }
}

/// What is shown for what can't be told.
const DASH: &str = "–";

/// What heads the columns of a table.
const HEADINGS: [&str; 9] =
    ["kits", "length", "spacing", "power", "power density", "surface", "of heat loss", "thermostat", "supply"];

/// A choice's row.
fn row(choice: &Choice) -> [String; 9] {
    let show = |value: f64, dimension: Dimension| Quantity::new(value, dimension).show(0);
    let told =
        |value: &Told<f64>, shown: &dyn Fn(f64) -> String| value.as_ref().map_or(DASH.into(), |value| shown(*value));
    [
        kits(choice),
        metres(choice.length),
        spacing(choice),
        show(choice.power, Dimension::POWER),
        show(choice.density(), Dimension::POWER_PER_AREA),
        told(&choice.surface, &|surface| show(surface, Dimension::TEMPERATURE)),
        told(&choice.cover, &|share| format!("{} %", number(share * 100.0, 0))),
        loads(&choice.thermostats),
        loads(&choice.supplies),
    ]
}

/// The kits in words: `2 × W-300 + W-210`.
fn kits(choice: &Choice) -> String {
    let each = choice.kits.iter().map(|several| match several.count {
        1 => several.kit.clone(),
        count => format!("{count} × {}", several.kit),
    });
    each.collect::<Vec<_>>().join(" + ")
}

/// A length in metres, as a kit is named by.
fn metres(length: f64) -> String {
    format!("{} m", number(length / 1e3, 1))
}

/// The spacing of each kit, once where they are the same to the millimetre.
fn spacing(choice: &Choice) -> String {
    let mut each: Vec<String> = choice.kits.iter().map(|several| number(several.spacing, 0)).collect();
    each.dedup();
    format!("{} mm", each.join(" / "))
}

fn loads(loads: &[Load]) -> String {
    let amperes = |value: f64| number(value, 1);
    let each = loads.iter().map(|load| match (&load.current, load.rated) {
        (Err(_), _) => DASH.to_string(),
        (Ok(current), Some(rated)) => format!("{} of {} A", amperes(*current), amperes(rated)),
        (Ok(current), None) => format!("{} A", amperes(*current)),
    });
    let each: Vec<String> = each.collect();
    if each.is_empty() { DASH.into() } else { each.join(", ") }
}

/// How the floor is shared where there are several cables; nothing for one.
fn shares(choice: &Choice) -> Option<String> {
    let each = choice.kits.iter().map(|several| {
        let area = Quantity::new(several.floor, Dimension::AREA).show(0);
        let of = if several.count > 1 { "each " } else { "" };
        format!("{of}{} on {area}", several.kit)
    });
    (choice.cables() > 1).then(|| each.collect::<Vec<_>>().join(", "))
}

/// What lengths of a make would do, or why none would.
fn would_do(make: &Make) -> String {
    let amount = |length: f64| match make.mat_spacing {
        Some(spacing) => Quantity::new(length * spacing, Dimension::AREA).show(0),
        None => metres(length),
    };
    // Inwards to what is shown, so that what is told does.
    let inward = |length: f64, round: fn(f64) -> f64| match make.mat_spacing {
        Some(_) => amount(length),
        None => metres(round(length / 100.0) * 100.0),
    };
    if make.fits().is_some() {
        let least =
            make.least().map(|(least, bound)| format!("{} or more (`{}`)", inward(least, f64::ceil), bound.stop.rule));
        let most =
            make.most().map(|(most, bound)| format!("{} or less (`{}`)", inward(most, f64::floor), bound.stop.rule));
        let both: Vec<String> = least.into_iter().chain(most).collect();
        let both = if both.is_empty() { "as much as anyone likes".into() } else { both.join(", ") };
        return format!("{}: in all {both}", make.words());
    }
    // The two that leave nothing between them.
    let least = make.least().map(|(least, bound)| format!("`{}` wants {} or more", bound.stop.rule, amount(least)));
    let most = make.most().map(|(most, bound)| format!("`{}` {} or less", bound.stop.rule, amount(most)));
    let bounds = least.into_iter().chain(most);
    let never = make.never.iter().map(|stop| format!("{}: {}", stop.rule, stop.message));
    let why: Vec<String> = if make.never.is_empty() { bounds.collect() } else { never.collect() };
    format!("{}: none, whatever its length; {}", make.words(), why.join(", "))
}
