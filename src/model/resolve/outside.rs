//! Looks for things that are drawn where their room is not.

use geo::{Contains as _, Intersects as _, LineString, Polygon, Relate as _};

use super::resolver::Resolver;
use crate::geometry::Piece;
use crate::layout::kinds::Kind;
use crate::model::fault::Fault;
use crate::model::{Cable, Name, Point, Room, Shape};
use crate::source::Place;

impl Resolver {
    /// Faults for areas, rugs and cables of which no part lies in their room.
    pub(super) fn outside_every_room(&mut self) {
        let mut faults = Vec::new();
        for room in &self.rooms {
            let own = outline_polygon(room);
            let mut report = |kind: Kind, name: &Name, place: Place, inside: &dyn Fn(&Polygon<f64>) -> bool| {
                if inside(&own) {
                    return;
                }
                let elsewhere = self.rooms.iter().find(|other| inside(&outline_polygon(other)));
                let fault = Fault::OutsideRoom {
                    kind,
                    name: name.text.clone(),
                    room: room.name.text.clone(),
                    given: room.name.place,
                    elsewhere: elsewhere.map(|other| other.name.text.clone()),
                };
                faults.push((place, fault));
            };
            for area in &room.areas {
                report(area.kind.named(), &area.name, area.place, &|outline| touches(outline, &area.shape));
            }
            for rug in &room.rugs {
                report(Kind::Rug, &rug.name, rug.place, &|outline| touches(outline, &rug.shape));
            }
            for cable in &room.cables {
                report(Kind::Cable, &cable.name, cable.place, &|outline| runs_through(outline, cable));
            }
        }
        faults.into_iter().for_each(|(place, fault)| self.fault(place, fault));
    }
}

/// The outline of a room as geo's polygon.
fn outline_polygon(room: &Room) -> Polygon<f64> {
    Polygon::new(LineString::new(room.corners.clone()), Vec::new())
}

/// Whether some part of a shape lies in an outline.
fn touches(outline: &Polygon<f64>, shape: &Shape) -> bool {
    match shape {
        Shape::Polygon(corners) => {
            let shape = Polygon::new(LineString::new(corners.clone()), Vec::new());
            // Mostly its middle tells, for less than the whole question costs.
            let middle = corners.iter().fold(Point::default(), |sum, corner| sum + *corner) / corners.len() as f64;
            if shape.contains(&middle) && outline.contains(&middle) {
                return true;
            }
            // Sharing an edge or a corner is not enough.
            outline.intersects(&shape) && !outline.relate(&shape).is_touches()
        }
        Shape::Circle { centre, radius } => {
            outline.intersects(centre)
                || outline.exterior().lines().any(|wall| Piece::new(wall.start, wall.end).distance(*centre) <= *radius)
        }
    }
}

/// Whether some part of a cable lies in an outline.
fn runs_through(outline: &Polygon<f64>, cable: &Cable) -> bool {
    let crosses = |run: &crate::model::Run| outline.intersects(&geo::Line::new(run.start, run.end));
    cable.runs.is_empty() || cable.runs.iter().any(crosses)
}
