//! Resolves areas of the floor: fixtures, drill zones, levels and rugs, with their shapes.

use super::line::goes_nowhere;
use super::resolver::Resolver;
use super::room::Draft;
use crate::geometry::dot;
use crate::geometry::ring::signed_area;
use crate::layout::kinds::{FixtureKind, Kind};
use crate::layout::tree::{self, AreaExpr, Expr, PointExpr, ShapeExpr};
use crate::model::fault::Fault;
use crate::model::shape::{RingFault, check_ring, strip};
use crate::model::{Area, AreaKind, Point, Rug, Shape};
use crate::quantity::Dimension;
use crate::source::Place;
use crate::worded::Worded as _;

impl Resolver {
    /// `fixture NAME …`, `drill NAME …`, `level NAME …`
    pub(super) fn area(&mut self, item: &tree::Area, draft: &mut Draft) {
        let place = self.place(item.span);
        let Some(kind) = self.area_kind(item) else { return };
        let Some(shape) = self.shape(&item.shape, place) else { return };
        let name = self.name(&item.name);
        let areas = &mut draft.room.areas;
        if self.is_free(kind.named(), &name, areas.iter().filter(|area| area.kind.named() == kind.named())) {
            areas.push(Area { name, kind, shape, rises: item.rises, place });
        }
    }

    /// `rug NAME SHAPE resistance R`
    pub(super) fn rug(&mut self, item: &tree::Rug, draft: &mut Draft) {
        let place = self.place(item.span);
        let (shape, resistance) = (self.shape(&item.shape, place), self.thermal_resistance(&item.resistance));
        let (Some(shape), Some(resistance)) = (shape, resistance) else { return };
        let name = self.name(&item.name);
        if self.is_free(Kind::Rug, &name, &draft.room.rugs) {
            draft.room.rugs.push(Rug { name, shape, resistance, place });
        }
    }

    fn area_kind(&mut self, item: &tree::Area) -> Option<AreaKind> {
        Some(match &item.kind {
            AreaExpr::Fixture { kind, raised, open } => {
                // What a fixture is called says what it is, unless the plan does.
                let kind = FixtureKind::of_word(&kind.as_ref().unwrap_or(&item.name).text);
                let raised = raised.as_ref().and_then(|raised| self.positive(raised, Dimension::LENGTH));
                AreaKind::Fixture { kind, raised, open: *open }
            }
            AreaExpr::Drill => AreaKind::Drill,
            AreaExpr::Level(None) => AreaKind::Level { height: None },
            AreaExpr::Level(Some(expr)) => {
                let height = self.quantity(expr, Dimension::LENGTH)?;
                if height == 0.0 {
                    let level = item.name.text.clone();
                    self.fault(self.place(expr.span), Fault::LevelOfNoHeight { level });
                    return None;
                }
                AreaKind::Level { height: Some(height) }
            }
        })
    }

    /// A shape on the floor; `place` is the statement that draws it.
    fn shape(&mut self, shape: &ShapeExpr, place: Place) -> Option<Shape> {
        let mut corners = match shape {
            ShapeExpr::Circle(centre, radius) => return self.circle(centre, radius, place),
            ShapeExpr::Rect(a, b) => {
                let (a, b) = (self.point(a), self.point(b));
                let (a, b) = (a?, b?);
                vec![a, Point { x: b.x, y: a.y }, b, Point { x: a.x, y: b.y }]
            }
            ShapeExpr::Polygon(points) => {
                let mut corners = self.points(points)?;
                // Many draw back to where they began, though the last edge leads there anyway.
                if corners.len() > 3 && corners.first() == corners.last() {
                    corners.pop();
                }
                corners
            }
            ShapeExpr::Strip(points, width) => self.strip(points, width, place)?,
        };
        if !corners.iter().all(|corner| self.values.within_reach(*corner, place)) {
            return None;
        }
        if let Err(fault) = check_ring(&corners) {
            let fault = match fault {
                RingFault::TooFew => Fault::ShapeTooShort,
                RingFault::TooMany => Fault::ShapeTooLong,
                RingFault::EmptyEdge(_) | RingFault::NoArea => Fault::ShapeOfNoArea,
                RingFault::Crossing(..) => Fault::ShapeCrossesItself,
            };
            self.fault(place, fault);
            return None;
        }
        if signed_area(&corners) < 0.0 {
            corners.reverse();
        }
        Some(Shape::Polygon(corners))
    }

    fn circle(&mut self, centre: &PointExpr, radius: &Expr, place: Place) -> Option<Shape> {
        let centre = self.point(centre);
        let radius = self.positive(radius, Dimension::LENGTH);
        let (centre, radius) = (centre?, radius?);
        let far = Point { x: centre.x.abs() + radius, y: centre.y.abs() + radius };
        self.values.within_reach(far, place).then_some(Shape::Circle { centre, radius })
    }

    /// The corners of a strip of some width along a line.
    fn strip(&mut self, points: &[PointExpr], width: &Expr, place: Place) -> Option<Vec<Point>> {
        let points = self.points(points);
        let width = self.positive(width, Dimension::LENGTH);
        let (points, width) = (points?, width?);
        if goes_nowhere(&points) {
            self.fault(place, Fault::StripGoesNowhere);
            return None;
        }
        // A mitre reaches without bound as a corner closes on itself.
        let reversal = points.windows(3).any(|corner| {
            let (before, after) = (corner[1] - corner[0], corner[2] - corner[1]);
            dot(before, after) < -0.98 * dot(before, before).sqrt() * dot(after, after).sqrt()
        });
        if reversal {
            self.fault(place, Fault::StripDoublesBack);
            return None;
        }
        Some(strip(&points, width))
    }
}
