//! What a building model draws (IFC, ISO 16739-1, in the form of ISO 10303-21): its spaces, doors, sanitary ware, columns and stairs, in mm.

use std::collections::{BTreeMap, HashMap};

use super::ifc_shapes::{Placed, Shape, Shapes, Space};
use super::part21::{Records, Value};
use super::sorts::{Sort, sort};
use super::{CHORD, Form, Item, MOST_CORNERS, MOST_THINGS, Traced, Unit, Unreadable};
use crate::geometry::Point;
use crate::geometry::ring::signed_area;
use crate::layout::kinds::FixtureKind;
use crate::text::list;

/// Where the values of a product stand among those of its record.
mod at {
    pub(super) const NAME: usize = 2;
    pub(super) const OBJECT_TYPE: usize = 4;
    pub(super) const PLACEMENT: usize = 5;
    pub(super) const SHAPE: usize = 6;
    pub(super) const LONG_NAME: usize = 7;
    pub(super) const WIDTH: usize = 9;
}

/// What a model draws. `given` is its unit as whoever asks has it; without that the model says.
///
/// # Errors
/// Where it can't be read, doesn't say its unit, or draws more than is looked at.
pub fn trace(bytes: &[u8], given: Option<Unit>) -> Result<Traced, Unreadable> {
    // The standard has seven bits; what goes beyond is passed on as it is, or lost.
    let text = String::from_utf8_lossy(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes));
    let records = Records::of(&text)?;
    let units = Units::of(&records);
    let mm = given.map(|unit| unit.mm).or(units.length).ok_or_else(|| {
        Unreadable::new(
            "it doesn't say in what unit its lengths are",
            "say so with `--unit`, such as `--unit mm` or `--unit m`",
        )
    })?;
    let mut tracing = Tracing {
        records: &records,
        shapes: Shapes::of(&records, units.angle, CHORD / mm),
        mm,
        openings: openings(&records),
        traced: Traced::default(),
        corners: 0,
        unread: BTreeMap::new(),
        lost: 0,
    };
    let how = if given.is_some() { "as the command line has it" } else { "as the model states" };
    let unit = super::UNITS
        .iter()
        .find(|unit| (unit.mm - mm).abs() < 1e-9)
        .map_or_else(|| format!("units of {mm} mm"), |unit| unit.word.into());
    tracing.traced.remarks.push(format!("Modelled in {unit}, {how}."));
    for (number, kind) in records.all() {
        if let Some(told) = thing(&kind.to_ascii_uppercase()) {
            tracing.product(number, told)?;
        }
    }
    if records.are_spent() {
        return Err(Unreadable::too_much());
    }
    tracing.say_unread();
    if tracing.traced.items.iter().any(|item| item.sort == Sort::Room) {
        Ok(tracing.traced)
    } else {
        let help = "export its rooms as spaces (`IfcSpace`) with their shapes; walls alone don't make a room";
        Err(Unreadable::new("it holds no space with an outline on the floor", help))
    }
}

/// What a kind of record may be.
fn thing(kind: &str) -> Option<Sort> {
    Some(match kind {
        "IFCSPACE" => Sort::Room,
        "IFCDOOR" | "IFCDOORSTANDARDCASE" => Sort::Door,
        "IFCSANITARYTERMINAL" => Sort::Fixture(None),
        "IFCCOLUMN" | "IFCCOLUMNSTANDARDCASE" => Sort::Fixture(Some(FixtureKind::Column)),
        "IFCSTAIR" | "IFCSTAIRFLIGHT" => Sort::Stairs,
        "IFCFLOWTERMINAL"
        | "IFCFURNISHINGELEMENT"
        | "IFCFURNITURE"
        | "IFCSYSTEMFURNITUREELEMENT"
        | "IFCBUILDINGELEMENTPROXY"
        | "IFCELECTRICAPPLIANCE" => Sort::Unknown,
        _ => return None,
    })
}

/// The units of a model.
struct Units {
    /// How many mm a length's is.
    length: Option<f64>,
    /// How many radians an angle's is.
    angle: f64,
}

impl Units {
    fn of(records: &Records<'_>) -> Units {
        let mut units = Units { length: None, angle: 1.0 };
        // A project has one assignment; what stands beside it is no project's.
        let of_project =
            records.of_kind("IFCPROJECT").find_map(|project| records.values(project).get(8).and_then(Value::record));
        let Some(assigned) = of_project.or_else(|| records.of_kind("IFCUNITASSIGNMENT").next()) else { return units };
        let values = records.values(assigned);
        for unit in values.first().map(Value::list).unwrap_or_default().iter().filter_map(Value::record).take(1_000) {
            let values = records.values(unit);
            match values.get(1).and_then(Value::word) {
                Some("LENGTHUNIT") => {
                    units.length = units.length.or_else(|| size(records, unit, "METRE").map(|metres| metres * 1000.0))
                }
                Some("PLANEANGLEUNIT") => units.angle = size(records, unit, "RADIAN").unwrap_or(1.0),
                _ => {}
            }
        }
        units
    }
}

/// How large a unit is, in the one of the SI: itself, with a prefix, or a multiple of such a one.
fn size(records: &Records<'_>, unit: u64, base: &str) -> Option<f64> {
    let values = records.values(unit);
    match records.kind(unit).to_ascii_uppercase().as_str() {
        "IFCSIUNIT" => {
            let prefix = match values.get(2).and_then(Value::word) {
                None => 1.0,
                Some("KILO") => 1e3,
                Some("DECI") => 1e-1,
                Some("CENTI") => 1e-2,
                Some("MILLI") => 1e-3,
                Some("MICRO") => 1e-6,
                Some(_) => return None,
            };
            (values.get(3).and_then(Value::word) == Some(base)).then_some(prefix)
        }
        "IFCCONVERSIONBASEDUNIT" => {
            let measure = records.values(values.get(3)?.record()?);
            let factor = measure.first()?.number()?;
            let of = measure.get(1)?.record()?;
            // What it is a multiple of is of the SI: no chain is followed.
            let is_si = records.kind(of).eq_ignore_ascii_case("IFCSIUNIT");
            if is_si { size(records, of, base).map(|base| base * factor) } else { None }
        }
        _ => None,
    }
}

/// The openings that doors fill, by the doors.
fn openings(records: &Records<'_>) -> HashMap<u64, u64> {
    let fills = records.of_kind("IFCRELFILLSELEMENT").filter_map(|relation| {
        let values = records.values(relation);
        Some((values.get(5)?.record()?, values.get(4)?.record()?))
    });
    fills.collect()
}

struct Tracing<'r, 't> {
    records: &'r Records<'t>,
    shapes: Shapes<'r, 't>,
    mm: f64,
    openings: HashMap<u64, u64>,
    traced: Traced,
    corners: usize,
    /// Kinds of shapes of spaces and things that nothing was made of.
    unread: BTreeMap<String, usize>,
    /// Things whose placement leads round in a circle.
    lost: usize,
}

impl Tracing<'_, '_> {
    fn product(&mut self, number: u64, sort_of_kind: Sort) -> Result<(), Unreadable> {
        let values = self.records.values(number);
        let text = |index: usize| values.get(index).and_then(Value::text).filter(|text| !text.trim().is_empty());
        let Some(placed) = self.placed(values.get(at::PLACEMENT)) else {
            self.lost += 1;
            return Ok(());
        };
        let shape = self.shapes.shape(values.get(at::SHAPE), placed);
        let name = match sort_of_kind {
            // People call a room by both: "Bath 1.02".
            Sort::Room => match (text(at::LONG_NAME), text(at::NAME)) {
                (Some(long), Some(short)) if long != short => Some(format!("{long} {short}")),
                (long, short) => long.or(short),
            },
            _ => text(at::NAME),
        };
        let said = [text(at::NAME), text(at::OBJECT_TYPE), values.last().and_then(Value::word).map(String::from)];
        let sort = if matches!(sort_of_kind, Sort::Unknown | Sort::Fixture(None)) {
            told(&said, sort_of_kind)
        } else {
            sort_of_kind
        };
        let height = shape.points.iter().map(|point| point[2]).reduce(f64::min).unwrap_or(placed.at[2]);
        for kind in &shape.unread {
            if self.unread.len() < 100 {
                *self.unread.entry(kind.clone()).or_default() += 1;
            }
        }
        let curved = shape.outlines.iter().any(|(_, curved)| *curved);
        let form = match sort {
            Sort::Room => largest(shape).map(Form::Ring),
            Sort::Door => self.door(number, &values, placed, &shape),
            _ => self.standing(placed, shape),
        };
        let Some(form) = form else { return Ok(()) };
        if let Form::Ring(points) | Form::Symbol(points) = &form {
            self.corners += points.len();
        }
        if self.traced.items.len() >= MOST_THINGS || self.corners > MOST_CORNERS {
            return Err(Unreadable::too_much());
        }
        let layer = self.records.kind(number).chars().take(60).collect();
        self.traced.items.push(Item { form, layer, name, sort, tag: None, curved, height: Some(height) });
        Ok(())
    }

    fn placed(&self, placement: Option<&Value<'_>>) -> Option<Placed> {
        self.shapes.place(placement).map(|place| Placed::ORIGIN.scaled(self.mm).then(&place))
    }

    /// The opening of a door, by the hole in its wall; else by its shape, or its width from its place along the wall.
    fn door(&self, number: u64, values: &[Value<'_>], placed: Placed, shape: &Shape) -> Option<Form> {
        let opening = self.openings.get(&number).map(|opening| self.records.values(*opening));
        let hole = opening
            .and_then(|hole| Some(self.shapes.shape(hole.get(at::SHAPE), self.placed(hole.get(at::PLACEMENT))?)));
        let points = hole.map(|hole| on_floor(&hole.points)).filter(|points| points.len() > 1);
        let width = || {
            let width = values.get(at::WIDTH)?.number()?;
            Some(on_floor(&[placed.at, placed.point([width, 0.0, 0.0])]))
        };
        let points = points.or_else(width).unwrap_or_else(|| on_floor(&shape.points));
        (points.len() > 1).then_some(Form::Symbol(points))
    }

    /// What stands on the floor: as its outline where it has one, else as the box round it along its own axes.
    fn standing(&self, placed: Placed, shape: Shape) -> Option<Form> {
        if shape.outlines.len() == 1 {
            return largest(shape).map(Form::Ring);
        }
        let along = Point { x: placed.x[0], y: placed.x[1] };
        super::dxf_blocks::box_along(&on_floor(&shape.points), along).map(Form::Ring)
    }

    fn say_unread(&mut self) {
        let told: Vec<String> = self.unread.iter().take(12).map(|(kind, count)| format!("{count} {kind}")).collect();
        if !told.is_empty() {
            self.traced.remarks.push(format!("Shapes not read: {}.", list(told.iter().map(String::as_str), "and")));
        }
        if self.lost > 0 {
            self.traced.remarks.push(format!(
                "Left out: {}, whose places refer to each other in a circle.",
                crate::text::counted(self.lost, "thing")
            ));
        }
    }
}

/// What a thing's names and its predefined type say, else what it was taken for.
fn told(said: &[Option<String>], otherwise: Sort) -> Sort {
    let words = |text: &String| match text.as_str() {
        "WASHHANDBASIN" => Sort::Fixture(Some(FixtureKind::Basin)),
        "TOILETPAN" | "WCSEAT" | "CISTERN" | "BIDET" => Sort::Fixture(Some(FixtureKind::Wc)),
        other => sort(other),
    };
    let mut found = said.iter().flatten().map(words).filter(|found| *found != Sort::Unknown);
    found.next().unwrap_or(otherwise)
}

/// The outline that encloses most.
fn largest(shape: Shape) -> Option<Vec<Point>> {
    let area = |points: &[Point]| signed_area(points).abs();
    shape
        .outlines
        .into_iter()
        .map(|(points, _)| points)
        .filter(|points| points.len() > 2)
        .max_by(|a, b| area(a).total_cmp(&area(b)))
}

fn on_floor(points: &[Space]) -> Vec<Point> {
    points.iter().map(|point| Point { x: point[0], y: point[1] }).collect()
}
