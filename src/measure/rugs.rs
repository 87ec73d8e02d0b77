//! What lies below rugs and flat furniture: the cable there, and where the floor below gets most from it.

use std::collections::BTreeMap;

use super::TOUCH;
use super::floor_heat::Unknown;
use super::index::RunId;
use super::room::RoomMeasure;
use super::strips::{Stretch, narrowest_between};
use super::zones::Zone;
use crate::geometry::Point;

/// Where a cable heats the narrowest strip of floor below some rugs.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderRug {
    /// The rugs that all lie over it, by their indices in the room, in order.
    pub rugs: Vec<usize>,
    /// Their thermal resistances, one on the other, m2K/W.
    pub resistance: f64,
    /// The stretch, whose middle lies below them.
    pub stretch: Stretch,
}

/// A part of a run that lies below rugs.
struct Covered {
    run: RunId,
    /// The rugs over it, by their indices, in order.
    rugs: Vec<usize>,
    /// From where to where along the run, mm.
    extent: (f64, f64),
}

/// How often it is asked of a piece of a run and of a rug whether the one lies below the other: a bound on what a plan made to be slow can cost.
const MOST_ASKED: usize = 1_000_000;

impl RoomMeasure<'_> {
    /// Of each cable and of all rugs that lie over a part of it together, the stretch there that heats the narrowest strip of floor, by cables; or
    /// why that can't be told.
    pub fn under_rugs(&self) -> &[Result<UnderRug, Unknown>] {
        self.kept.under_rugs.get_or_init(|| match self.pieces_under_rugs() {
            Some(pieces) => self.narrowest_under_rugs(pieces),
            None => vec![Err(Unknown::Rugs)],
        })
    }

    /// The rugs (indices) that lie over a point.
    pub fn rugs_over(&self, point: Point) -> impl Iterator<Item = usize> {
        let over = self.room.rugs.iter().enumerate().filter(move |(_, rug)| Zone::new(&rug.shape).contains(point));
        over.map(|(index, _)| index)
    }

    /// The parts of runs that lie below rugs; nothing where that is too much to go through.
    fn pieces_under_rugs(&self) -> Option<Vec<Covered>> {
        let zones: Vec<Zone> = self.room.rugs.iter().map(|rug| Zone::new(&rug.shape)).collect();
        let index = self.index();
        let mut left = MOST_ASKED;
        let mut near: BTreeMap<RunId, Vec<usize>> = BTreeMap::new();
        for (rug, zone) in zones.iter().enumerate() {
            for run in index.near(zone.bounds(), TOUCH) {
                left = left.checked_sub(1)?;
                near.entry(run).or_default().push(rug);
            }
        }
        let mut pieces = Vec::new();
        for (run, rugs) in near {
            let piece = index.run(run).piece();
            let length = piece.length();
            let mut cuts = vec![0.0, 1.0];
            rugs.iter().for_each(|rug| zones[*rug].cuts(piece, &mut cuts));
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.windows(2).filter(|pair| (pair[1] - pair[0]) * length > TOUCH) {
                left = left.checked_sub(rugs.len())?;
                let middle = piece.along(f64::midpoint(pair[0], pair[1]));
                let over: Vec<usize> = rugs.iter().copied().filter(|rug| zones[*rug].contains(middle)).collect();
                if !over.is_empty() {
                    pieces.push(Covered { run, rugs: over, extent: (pair[0] * length, pair[1] * length) });
                }
            }
        }
        Some(pieces)
    }

    fn narrowest_under_rugs(&self, pieces: Vec<Covered>) -> Vec<Result<UnderRug, Unknown>> {
        let index = self.index();
        let mut narrowest: BTreeMap<(usize, Vec<usize>), Result<Stretch, Unknown>> = BTreeMap::new();
        for Covered { run, rugs, extent } in pieces {
            let cable = run.in_room();
            let usual = self.pitch(cable).filter(|pitch| *pitch > 0.0).ok_or(Unknown::Pitch(cable));
            let stretch = usual.and_then(|usual| {
                narrowest_between(&index, self.sides(), run, usual, extent).ok_or(Unknown::Thick(cable))
            });
            let known = narrowest.entry((cable, rugs)).or_insert(stretch);
            if let (Ok(known), Ok(stretch)) = (known, stretch)
                && stretch.width < known.width - TOUCH
            {
                *known = stretch;
            }
        }
        let each = narrowest.into_iter().map(|((_, rugs), stretch)| {
            let resistance = rugs.iter().map(|rug| self.room.rugs[*rug].resistance).sum();
            stretch.map(|stretch| UnderRug { rugs, resistance, stretch })
        });
        each.collect()
    }

    /// The mean temperature of the sheath below rugs at full power, degC.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn sheath_below(&self, under: &UnderRug) -> Result<f64, Unknown> {
        self.radius(under.stretch.run.in_room())?;
        Ok(self.heat_below(under.stretch, under.resistance)?.sheath)
    }
}
