//! Findings on the drawing: where each is marked on the floor, and a numbered disc beside that.

use std::fmt::Write as _;

use super::View;
use super::canvas::{Item, group, item, pair, path, straight};
use super::labels::{Labels, Spot, Tries, UNWANTED, nearest_edge};
use super::lettering::{self, CAPITAL, size};
use super::palette as color;
use super::palette::width;
use crate::alike::Alike;
use crate::finding::{Finding, Severity};
use crate::geometry::{Site, distance};
use crate::model::Point;

/// Radius of a numbered disc, mm.
pub(super) const RADIUS: f64 = 1.9;

/// The least height of letters, mm (ISO 3098, recalled): that of numbers of three digits.
const LEAST_LETTERS: f64 = 1.8;

/// A numbered disc: dark for an error, light for a warning, broken for a note; agreed ones have a thin edge.
pub(super) fn disc(centre: Point, number: u32, finding: &Finding) -> Item {
    let text = number.to_string();
    let letters = if text.len() > 2 { LEAST_LETTERS } else { size::SMALL };
    let wide = lettering::width(&text, letters, true);
    let at = Point { x: centre.x - wide / 2.0, y: centre.y + letters * CAPITAL / 2.0 };
    let agreed = finding.accepted.is_some();
    let letter = if finding.severity == Severity::Error && !agreed { color::PAPER } else { color::INK };
    group("finding-number")
        .set("data-finding", number)
        .with(ring(centre, RADIUS, finding.severity, agreed))
        .with(lettering::line(&text, at, letters, true).set("fill", letter))
}

/// How many numbers a sheet marks: more than can be read there, and a bound on what it costs to find room for them.
pub(super) const MOST_MARKED: usize = 400;

/// How many places of one number are marked.
const MOST_PLACES: usize = 2_000;

/// What a sheet marks: all that lie at a place, or the heaviest of them where there are too many.
fn marked<'f, 'a>(found: &'f [Alike<'a>]) -> Vec<&'f Alike<'a>> {
    let mut marked: Vec<_> = found.iter().filter(|found| places(found).next().is_some()).collect();
    if marked.len() > MOST_MARKED {
        marked.sort_by_key(|found| (found.worst.accepted.is_some(), std::cmp::Reverse(found.worst.severity)));
        marked.truncate(MOST_MARKED);
        marked.sort_by_key(|found| found.number());
    }
    marked
}

/// The kinds of marks that a sheet bears, those of findings that nobody agreed to as they are drawn.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Marks {
    pub stretch: bool,
    pub patch: bool,
    pub bay: bool,
    /// A line between two things that are too near to each other, or too far apart.
    pub nearest: bool,
    pub error: bool,
    pub warning: bool,
    pub note: bool,
    pub agreed: bool,
}

impl Marks {
    /// Those of some findings.
    pub(super) fn of(found: &[Alike<'_>]) -> Self {
        let mut marks = Marks::default();
        // The list has a disc for each of them.
        for worst in found.iter().map(|found| found.worst) {
            let open = |severity: Severity| worst.accepted.is_none() && worst.severity == severity;
            marks.agreed |= worst.accepted.is_some();
            marks.error |= open(Severity::Error);
            marks.warning |= open(Severity::Warning);
            marks.note |= open(Severity::Note);
        }
        for found in marked(found) {
            let agreed = found.worst.accepted.is_some();
            for site in places(found) {
                marks.stretch |= !agreed && !site.stretches.is_empty();
                marks.patch |= !agreed && !site.bay && !site.area.is_empty();
                marks.bay |= !agreed && site.bay && !site.area.is_empty();
                marks.nearest |= site.nearest.is_some();
            }
        }
        marks
    }
}

/// A ring of a disc as findings of such weight have it, drawn without a number.
fn ring(centre: Point, radius: f64, severity: Severity, agreed: bool) -> Item {
    let dark = severity == Severity::Error && !agreed;
    let edge = if agreed { width::THIN } else { width::BROAD };
    let ring = item("circle").num("cx", centre.x).num("cy", centre.y).num("r", radius).line(color::INK, edge);
    let ring = ring.set("fill", if dark { color::INK } else { color::PAPER });
    if severity == Severity::Note { ring.set("stroke-dasharray", "0.9 0.6") } else { ring }
}

/// What the legend says of the marks that a sheet bears, each with its sample, so wide.
pub(super) fn samples(marks: Marks, wide: f64) -> Vec<(Item, &'static str)> {
    let p = |x: f64, y: f64| Point { x, y };
    let field = || item("rect").num("x", 0.0).num("y", -1.3).num("width", wide).num("height", 2.6);
    let disc = |severity, agreed| ring(p(wide / 2.0, 0.0), 1.4, severity, agreed);
    let line = |stroke: &str, thick: f64| straight(p(0.0, 0.0), p(wide, 0.0), stroke, thick);
    let dot = item("circle").num("cx", 0.6).num("cy", 0.0).num("r", DOT).set("fill", color::INK);
    let near = group("nearest-sample").with(line(color::INK, width::CABLE)).with(dot);
    let shaded = field().line(color::FAULT, width::MEDIUM).set("fill", color::FAULT).set("fill-opacity", "0.18");
    let bay = field().line(color::FAULT, width::THICK).set("stroke-dasharray", "3 1.2");
    let all = [
        (marks.error, disc(Severity::Error, false), "error, by its number"),
        (marks.warning, disc(Severity::Warning, false), "warning, by its number"),
        (marks.note, disc(Severity::Note, false), "note, by its number"),
        (marks.agreed, disc(Severity::Warning, true), "finding that was agreed to"),
        (marks.stretch, line(color::FAULT, width::THICK), "stretch of a finding"),
        (marks.nearest, near, "between the two of a finding"),
        (marks.patch, shaded, "floor of a finding"),
        (marks.bay, bay, "bay of a finding"),
    ];
    all.into_iter().filter(|(used, ..)| *used).map(|(_, sample, words)| (sample, words)).collect()
}

/// Where on the floor findings that are alike are, the worst first.
fn places<'f>(found: &'f Alike<'_>) -> impl Iterator<Item = &'f Site> {
    let others = found.all.iter().filter(|finding| !std::ptr::eq(**finding, found.worst));
    let all = std::iter::once(found.worst).chain(others.copied());
    all.filter_map(|finding| finding.site.as_ref()).take(MOST_PLACES)
}

/// What of the floor findings speak of, in floor coordinates: cold patches shaded, bays outlined, stretches drawn thick.
pub(super) fn on_floor(view: &View<'_>, found: &[Alike<'_>]) -> Option<Item> {
    let mm = |paper: f64| view.sheet.floor(paper);
    let mut whole = group("faults");
    let mut any = false;
    for found in marked(found) {
        let own = |class: &str, data: String| {
            item("path").set("class", class).set("data-finding", found.number()).set("d", data)
        };
        let agreed = found.worst.accepted.is_some();
        let ink = if agreed { color::GREY } else { color::FAULT };
        let (mut stretches, mut bays, mut patches) = (String::new(), String::new(), String::new());
        for site in places(found) {
            for stretch in &site.stretches {
                let _ = write!(stretches, "M{}L{}", pair(stretch.start), pair(stretch.end));
            }
            let data = if site.bay { &mut bays } else { &mut patches };
            site.area.iter().for_each(|ring| data.push_str(&path(ring, true)));
        }
        if !patches.is_empty() {
            let shaded = own("fault-patch", patches).line(ink, mm(width::MEDIUM));
            whole.push(shaded.set("fill", ink).set("fill-opacity", "0.18").set("fill-rule", "evenodd"));
            any = true;
        }
        if !bays.is_empty() {
            let dash = [3.0, 1.2].map(|length| super::canvas::number(mm(length), 3)).join(" ");
            whole.push(own("fault-bay", bays).line(ink, mm(width::THICK)).set("stroke-dasharray", dash));
            any = true;
        }
        if !stretches.is_empty() {
            let wide = mm(if agreed { width::BROAD } else { width::THICK });
            whole.push(own("fault-stretch", stretches).line(ink, wide));
            any = true;
        }
    }
    any.then_some(whole)
}

/// Radius of the dot on the very place of a finding, mm.
const DOT: f64 = 0.6;

/// How far from a place that bears its disc another of the same number bears it again, mm of paper, and how often that is done.
const AGAIN: f64 = 80.0;
const MOST_DISCS: usize = 6;

/// How many discs are looked for everywhere, and how many more closely.
const MOST_TRIES: Tries = Tries { everywhere: 60, closely: 24 };

/// How often discs that lie on something are looked at again, each time that others have given way.
const ROUNDS: usize = 3;

/// Where discs go, those of each number with their places. All are placed once to see which have least room; these go first then.
fn placed(view: &View<'_>, found: &[&Alike<'_>], labels: &mut Labels) -> Vec<Vec<(Point, Spot)>> {
    let mut wanted: Vec<(usize, Point, f64)> = Vec::new();
    for (index, found) in found.iter().enumerate() {
        let first = wanted.len();
        for at in places(found).map(|site| view.sheet.on_paper(site.at)) {
            let own = &wanted[first..];
            if own.len() < MOST_DISCS && own.iter().all(|(_, other, _)| distance(*other, at) >= AGAIN) {
                wanted.push((index, at, 0.0));
            }
        }
    }
    let side = 2.0 * RADIUS + 0.4;
    let mut trial = labels.clone();
    for (_, at, cost) in &mut wanted {
        *cost = trial.take_disc(*at, side, &mut Tries::default()).map_or(0.0, |(_, cost)| cost);
    }
    if wanted.iter().any(|(.., cost)| *cost > UNWANTED) {
        wanted.sort_by(|a, b| b.2.total_cmp(&a.2));
    }
    let mut spots: Vec<Vec<(Point, Spot)>> = vec![Vec::new(); found.len()];
    let mut tries = MOST_TRIES;
    for (index, at, _) in wanted {
        spots[index].extend(labels.take_disc(at, side, &mut tries).map(|(spot, _)| (at, spot)));
    }
    // What was put down later may lie on what is there, and that may have room elsewhere.
    for _ in 0..ROUNDS {
        let mut moved = false;
        for (at, spot) in spots.iter_mut().flatten() {
            let again = labels.take_disc_again(*at, side, *spot, &mut tries);
            moved |= again != *spot;
            *spot = again;
        }
        if !moved {
            break;
        }
    }
    // The worst of a number comes first again.
    for (found, spots) in found.iter().zip(&mut spots) {
        let worst = places(found).next().map(|site| view.sheet.on_paper(site.at));
        spots.sort_by_key(|(at, _)| Some(*at) != worst);
    }
    spots
}

/// A dot on every place, and the discs, each as near to its place as there is room.
pub(super) fn marks(view: &View<'_>, found: &[Alike<'_>], labels: &mut Labels) -> Item {
    let mut whole = group("findings");
    let found = marked(found);
    // No disc is put over the dot of another.
    for at in found.iter().flat_map(|found| places(found)).map(|site| view.sheet.on_paper(site.at)) {
        labels.bar(super::canvas::Frame::around(at, at), 4.0 * UNWANTED);
    }
    let spots = placed(view, &found, labels);
    for (found, spots) in found.iter().zip(spots) {
        let id = format!("finding-{}", found.number());
        let mut own = group("finding").set("id", id).set("data-finding", found.number());
        for site in places(found) {
            let at = view.sheet.on_paper(site.at);
            if let Some(other) = site.nearest {
                let line = straight(at, view.sheet.on_paper(other), color::INK, width::CABLE);
                own.push(line.set("class", "nearest"));
            }
            let dot = item("circle").set("class", "spot").num("cx", at.x).num("cy", at.y).num("r", DOT);
            own.push(dot.set("fill", color::INK));
        }
        for (at, spot) in spots {
            let near = nearest_edge(&spot.frame, at);
            own.push(straight(near, at, color::INK, width::MEDIUM).set("class", "leader"));
            own.push(disc(spot.frame.middle(), found.number(), found.worst));
        }
        whole.push(own);
    }
    whole
}
