//! What a DXF file draws: the entities of its model space, blocks taken apart, in mm.
//!
//! The crate that writes DXF reads it too, but keeps every entity whole and gives a file up at its first odd group; here a stranger's file is
//! gone through for what says something of a floor.

use std::collections::{BTreeMap, HashMap};

use super::dxf_blocks::Expanding;
use super::dxf_entities::{Entity, Left, entities};
use super::dxf_text::{Pairs, decoded, read};
use super::{CHORD, MOST_CORNERS, MOST_THINGS, Traced, Unit, Unreadable};
use crate::geometry::Point;
use crate::text::{counted, list};

/// A block's entities, and the point of it that is put where it is inserted.
pub(super) struct Block {
    pub(super) base: Point,
    pub(super) entities: Vec<Entity>,
}

/// A file as it is read, in its own units.
#[derive(Default)]
struct File {
    /// What `$INSUNITS` says.
    units: Option<i64>,
    /// Layers that are switched off or frozen.
    hidden: Vec<String>,
    blocks: HashMap<String, Block>,
    entities: Vec<Entity>,
}

/// The units that `$INSUNITS` numbers.
const UNITS: [(i64, &str); 6] = [(1, "in"), (2, "ft"), (4, "mm"), (5, "cm"), (6, "m"), (14, "dm")];

/// What a file draws. `given` is its unit as whoever asks has it; without that the file must say.
///
/// # Errors
/// Where it can't be read, doesn't say its unit, or draws more than is looked at.
pub fn trace(bytes: &[u8], given: Option<Unit>) -> Result<Traced, Unreadable> {
    let text = decoded(bytes)?;
    let file = File::read(&text, given)?;
    let stated = file.stated();
    let (unit, how) = match (given, stated) {
        (Some(given), _) => (given, "as the command line has it"),
        (None, Some(stated)) => (stated, "as the file states"),
        (None, None) => {
            return Err(Unreadable::new(
                "it doesn't say in what unit it is drawn (`$INSUNITS`)",
                "say so with `--unit mm`, `cm`, `dm`, `m`, `in` or `ft`; a door is some 800 mm wide",
            ));
        }
    };
    let mut traced = Traced::default();
    traced.remarks.push(format!("Drawn in {}, {how}.", unit.word));
    let mut expanding = Expanding::new(&file.blocks, &file.hidden, unit);
    expanding.all(&file.entities)?;
    let unread = unread(&expanding.unread);
    if expanding.through > 0 {
        traced.remarks.push(format!(
            "{} by points alone: a smooth curve is drawn through these, which may be another between them.",
            if expanding.through == 1 {
                "1 spline is told".into()
            } else {
                format!("{} splines are told", expanding.through)
            }
        ));
    }
    traced.items = expanding.items;
    traced.labels = expanding.labels;
    traced.remarks.extend(unread);
    if expanding.hidden_things > 0 {
        let things = counted(expanding.hidden_things, "thing");
        traced.remarks.push(format!("Left out: {things} on layers that are switched off or frozen."));
    }
    Ok(traced)
}

/// What was not read, by its kinds.
fn unread(kinds: &BTreeMap<String, usize>) -> Option<String> {
    let told: Vec<String> = kinds.iter().take(12).map(|(kind, count)| format!("{count} {kind}")).collect();
    (!told.is_empty()).then(|| format!("Not read: {}.", list(told.iter().map(String::as_str), "and")))
}

impl File {
    /// The unit that the file states.
    fn stated(&self) -> Option<Unit> {
        let stated = UNITS.iter().find(|(number, _)| Some(*number) == self.units)?;
        Unit::of_word(stated.1)
    }

    fn read(text: &str, given: Option<Unit>) -> Result<File, Unreadable> {
        let mut pairs = Pairs::of(text);
        let mut file = File::default();
        let mut left = Left { things: MOST_THINGS, corners: MOST_CORNERS };
        let mut sections = 0;
        while let Some(pair) = pairs.next()? {
            if pair.0 == 0 && pair.1.trim() == "SECTION" {
                sections += 1;
                // The head stands first. Where no unit is known, nothing is made of the file.
                let chord = CHORD / given.or_else(|| file.stated()).map_or(1.0, |unit| unit.mm);
                match pairs.next()?.map(|(code, name)| (code, name.trim())) {
                    Some((2, "HEADER")) => file.header(&mut pairs)?,
                    Some((2, "TABLES")) => file.layers(&mut pairs)?,
                    Some((2, "BLOCKS")) => file.blocks(&mut pairs, &mut left, chord)?,
                    Some((2, "ENTITIES")) => file.entities = entities(&mut pairs, &mut left, chord)?,
                    _ => {}
                }
            }
        }
        if sections == 0 {
            return Err(Unreadable::new("it has no section of a DXF file", "export it as DXF in its text form"));
        }
        Ok(file)
    }

    fn header(&mut self, pairs: &mut Pairs<'_>) -> Result<(), Unreadable> {
        while let Some(pair) = pairs.next()? {
            match (pair.0, pair.1.trim()) {
                (0, _) => {
                    pairs.keep(pair);
                    break;
                }
                (9, "$INSUNITS") => {
                    self.units = pairs.next()?.and_then(|(_, value)| value.trim().parse().ok());
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The names of the layers that aren't shown: off has a colour below nothing, frozen a flag.
    fn layers(&mut self, pairs: &mut Pairs<'_>) -> Result<(), Unreadable> {
        let mut layer = String::new();
        let mut of_layer = false;
        while let Some(pair) = pairs.next()? {
            let value = pair.1.trim();
            match pair.0 {
                0 if value == "ENDSEC" || value == "EOF" => {
                    pairs.keep(pair);
                    break;
                }
                0 => {
                    of_layer = value == "LAYER";
                    layer.clear();
                }
                2 if of_layer => layer = read(pair.1, false),
                70 if of_layer && value.parse().is_ok_and(|flags: i64| flags & 1 == 1) => {
                    self.hidden.push(layer.clone())
                }
                62 if of_layer && value.starts_with('-') => self.hidden.push(layer.clone()),
                _ => {}
            }
            if self.hidden.len() > MOST_THINGS {
                return Err(Unreadable::too_much());
            }
        }
        Ok(())
    }

    fn blocks(&mut self, pairs: &mut Pairs<'_>, left: &mut Left, chord: f64) -> Result<(), Unreadable> {
        while let Some(pair) = pairs.next()? {
            if pair.0 != 0 {
                continue;
            }
            match pair.1.trim() {
                "ENDSEC" | "EOF" => {
                    pairs.keep(pair);
                    break;
                }
                "BLOCK" => {
                    let (name, base) = block_head(pairs)?;
                    let entities = entities(pairs, left, chord)?;
                    self.blocks.insert(name, Block { base, entities });
                }
                _ => {}
            }
        }
        Ok(())
    }
}

/// The name of a block and its base, up to its first entity.
fn block_head(pairs: &mut Pairs<'_>) -> Result<(String, Point), Unreadable> {
    let (mut name, mut base) = (String::new(), Point::zero());
    let number = |value: &str| value.trim().parse().ok().filter(|number: &f64| number.is_finite()).unwrap_or(0.0);
    while let Some(pair) = pairs.next()? {
        match pair.0 {
            0 => {
                pairs.keep(pair);
                break;
            }
            2 => name = pair.1.trim().chars().take(200).collect(),
            10 => base.x = number(pair.1),
            20 => base.y = number(pair.1),
            _ => {}
        }
    }
    Ok((name, base))
}
