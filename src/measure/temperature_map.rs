//! The temperature of a floor at every place: a steady field of line sources along the cables as they lie.
//!
//! Each straight piece of a cable gives the power that a metre of it has, at the cables' depth in the floor's layers. What a flux density
//! of one wave number brings about there and at the surface follows from the layers alone ([`Slab::response`]), so that a field is made of
//! waves: sources to waves, each times its response, and back to places by cosine transforms. Walls let no heat through sideways: the box
//! along them is mirrored in its sides by the cosines themselves, and walls within the box by images of the cables beyond them. Fixtures,
//! levels, doors and partitions part nothing and lie on the same floor.
//!
//! Near corners these images are not quite the floor's own, and some heat would go through the walls there; heat along these walls holds it back
//! (`Field::hold_back`).
//!
//! What a floor gives to its room is EN 1264-2's `q = 8.92·ΔT^1.1`, which speaks of the mean over a floor: the film coefficient of a place
//! is the law's for the floor round it, softly over `FILM_REACH`. Waves have one coefficient everywhere; what a place gives beyond that is
//! taken off there, over and over until nothing changes.
//!
//! A raster as coarse as this holds no peak as narrow as a cable. Right over a run and at its sheath the field is that of its heat spread
//! softly over a few cells, and what spreading takes away is added in closed form ([`Slab::beyond_soft`]).
//!
//! Lengths of the plan are in mm, power per length in W/m, temperatures in degC.

mod cosines;
mod raster;

use super::heat::{Slab, Unsolved, softness};
use crate::geometry::{Piece, Point};
use cosines::Cosines;
use raster::Spreading;
pub use raster::{MOST_CELLS, Raster, WIDEST_CELL};

/// A straight piece of cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Where it lies.
    pub piece: Piece,
    /// What a metre of it gives, W/m.
    pub power: f64,
    /// Its outside radius, m, where that is known.
    pub radius: Option<f64>,
}

/// A place and how warm it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// Where.
    pub at: Point,
    /// degC.
    pub temperature: f64,
}

/// Why there is no map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoMap {
    /// The floor is larger than [`MOST_CELLS`] of [`WIDEST_CELL`] cover.
    TooLarge,
    /// Its slab has no solution.
    Unsolved(Unsolved),
}

/// A floor's temperature everywhere.
#[derive(Debug, Clone)]
pub struct TemperatureMap {
    raster: Raster,
    /// At the surface in the middle of each cell, degC, cells beyond the walls included.
    surface: Vec<f64>,
    /// Whether a cell's middle lies within the walls.
    inside: Vec<bool>,
    /// Places along the cables, a step apart: the surface right over them.
    over_runs: Vec<Warmth>,
    /// The sheath at the places of `over_runs`, where its radius is known.
    sheaths: Vec<Warmth>,
    /// Given to the room, W.
    upward: f64,
    /// Lost below, W.
    downward: f64,
    /// What the lines give, W.
    power: f64,
}

/// How far apart the places along a cable are asked for, mm …
const STEP: f64 = 20.0;
/// … and how many they are at the most; farther apart where that isn't enough.
const MOST_PLACES: f64 = 200_000.0;

/// Over how much floor the law of its surface is taken to speak of its mean, as the standard deviation of a normal distribution, m: several
/// runs' worth.
const FILM_REACH: f64 = 0.06;

/// Over how many cells heat is spread that is then put back in closed form: enough for little to be left of a wave as short as two cells.
const SPREAD_CELLS: f64 = 1.5;

/// A floor as warm as its room, K: what it gives no longer matters.
const LEAST_OVER: f64 = 1e-6;

/// When what the surface gives no longer changes, K.
const SETTLED: f64 = 2e-5;

/// How often it is worked out; each time leaves less than half of the error, and about a seventh on a floor that is heated all over.
const MOST_FILMS: u32 = 60;

/// How often heat is held back at walls; each time leaves a fraction of what still goes through them.
const HELD_BACK: usize = 2;

/// How many wave numbers responses are worked out for; between them, straight lines over the square root serve.
const RESPONSES: usize = 2_048;

/// Responses by wave number.
struct Responses {
    known: Vec<Known>,
    /// Entries for each unit of the root of a wave number.
    scale: f64,
}

/// Of a wave number the [response](super::heat::Response), and how much is left of it when it is spread softly.
#[derive(Clone, Copy)]
struct Known {
    cable: f64,
    across: f64,
    surface: f64,
    soft: f64,
    /// What its heat comes to as the potential of which the heat that goes sideways, in all of the floor's depth, is the slope, m2.
    sideways: f64,
}

impl Responses {
    /// Those up to a wave number `most` (1/m), spread over `spread` m.
    fn new(slab: &Slab, film: f64, spread: f64, most: f64) -> Self {
        let scale = (RESPONSES - 2) as f64 / most.sqrt();
        let lost_below = slab.lost_below(1.0) - slab.lost_below(0.0);
        let each = (0..RESPONSES).map(|entry| {
            let wave = (entry as f64 / scale).powi(2);
            let response = slab.response(wave, film);
            let soft = softness(wave, spread);
            // What doesn't go up or down from where it is given goes sideways.
            let least = (1.0 / scale).powi(2);
            let (slow, near) = if entry == 0 { (least, slab.response(least, film)) } else { (wave, response) };
            let sideways = (1.0 - film * near.across - lost_below * near.cable) / slow.powi(2);
            Known { cable: response.cable, across: response.across, surface: response.surface, soft, sideways }
        });
        Responses { known: each.collect(), scale }
    }

    /// That to a wave number given by its square, 1/m2.
    fn at(&self, square: f64) -> Known {
        let at = square.sqrt().sqrt() * self.scale;
        let entry = (at as usize).min(self.known.len() - 2);
        let share = at - entry as f64;
        let (low, high) = (self.known[entry], self.known[entry + 1]);
        let between = |low: f64, high: f64| low + share * (high - low);
        Known {
            cable: between(low.cable, high.cable),
            across: between(low.across, high.across),
            surface: between(low.surface, high.surface),
            soft: between(low.soft, high.soft),
            sideways: between(low.sideways, high.sideways),
        }
    }
}

/// The squares of a row's wave numbers, 1/m2.
fn squares(count: usize, cell: f64) -> Vec<f64> {
    let least = std::f64::consts::PI / (count as f64 * cell / 1e3);
    (0..count).map(|wave| (wave as f64 * least).powi(2)).collect()
}

impl TemperatureMap {
    /// The map of a floor of these corners with these lines in it.
    ///
    /// # Errors
    /// Where it is too large, or its slab has no solution.
    pub fn new(corners: &[Point], slab: &Slab, lines: &[Line]) -> Result<Self, NoMap> {
        let raster = Raster::new(corners).ok_or(NoMap::TooLarge)?;
        let mut spreading = Spreading::new(&raster, corners);
        lines.iter().for_each(|line| spreading.line(line.piece, line.power));
        let walls = spreading.walls_within();
        let mut sources = spreading.field;
        let mut inside = vec![false; raster.cells()];
        raster.mark(&crate::model::Shape::Polygon(corners.to_vec()), &mut inside, true);
        let square_metres = raster.cell_area() / 1e6;
        let mean = sources.iter().sum::<f64>() / (raster.cells() as f64 * square_metres);
        let power = lines.iter().map(|line| line.power * line.piece.length() / 1e3).sum();
        sources.iter_mut().for_each(|source| *source /= square_metres);

        let spread = SPREAD_CELLS * raster.cell.0.max(raster.cell.1) / 1e3;
        let field = Field::new(&raster, slab, spread, mean);
        let spline = raster.spline();
        field.cosines.waves(&mut sources);
        for (y, row) in sources.chunks_exact_mut(raster.columns).enumerate() {
            row.iter_mut().zip(&spline.0).for_each(|(wave, along)| *wave /= along * spline.1[y]);
        }
        field.hold_back(&raster.coarse(), &walls, &mut sources);
        let correction = field.correction(&sources);
        let [mut surface, mut soft_surface, mut soft_cable] = field.combined(&sources, &correction.waves, &spline);
        field.cosines.values(&mut surface);
        field.cosines.values(&mut soft_surface);
        field.cosines.values(&mut soft_cable);

        let (over_runs, sheaths) = along_cables(&raster, slab, lines, spread, field.film, (&soft_surface, &soft_cable))
            .map_err(NoMap::Unsolved)?;
        let (mut upward, mut downward) = (0.0, 0.0);
        for (cell, covered) in raster.coverage(corners).into_iter().enumerate().filter(|(_, covered)| *covered > 0.0) {
            let (x, y) = (cell % raster.columns / 2, cell / raster.columns / 2);
            let beyond = correction.places[y * field.coarse.columns + x];
            upward += covered * (field.film * (surface[cell] - slab.inside) + beyond);
            downward += covered * slab.lost_below(soft_cable[cell]);
        }
        Ok(TemperatureMap {
            surface,
            inside,
            over_runs,
            sheaths,
            upward: upward * square_metres,
            downward: downward * square_metres,
            power,
            raster,
        })
    }

    /// The cells.
    pub fn raster(&self) -> &Raster {
        &self.raster
    }

    /// The temperature of the surface in each cell, degC; a cell beyond the walls has what a mirror there would show.
    pub fn cells(&self) -> &[f64] {
        &self.surface
    }

    /// Whether each cell lies within the walls.
    pub fn inside(&self) -> &[bool] {
        &self.inside
    }

    /// The temperature of the surface at a point, degC; nothing outside the box round the floor.
    pub fn surface_at(&self, point: Point) -> Option<f64> {
        let (x, y) = self.raster.place(point);
        let within = (0.0..=self.raster.columns as f64).contains(&x) && (0.0..=self.raster.rows as f64).contains(&y);
        within.then(|| {
            let ((first_column, columns), (first_row, rows)) = (cubic(x), cubic(y));
            let row = |row: isize| {
                let row = raster::folded(row, self.raster.rows) * self.raster.columns;
                let each = (first_column..).zip(columns);
                each.map(|(column, share)| share * self.surface[row + raster::folded(column, self.raster.columns)])
                    .sum::<f64>()
            };
            (first_row..).zip(rows).map(|(at, share)| share * row(at)).sum()
        })
    }

    /// The warmest place of the surface among cells that are `free`.
    pub fn warmest(&self, free: &[bool]) -> Option<Warmth> {
        let is_free = |place: &&Warmth| self.raster.cell_at(place.at).is_some_and(|cell| free[cell]);
        let over = self.over_runs.iter().filter(is_free).copied();
        let cells = self.free_cells(free);
        cells.chain(over).reduce(|known, place| if place.temperature > known.temperature { place } else { known })
    }

    /// The coolest place of the surface among cells that are `free`.
    pub fn coolest(&self, free: &[bool]) -> Option<Warmth> {
        let cells = self.free_cells(free);
        cells.reduce(|known, place| if place.temperature < known.temperature { place } else { known })
    }

    /// The part of the cells that are `free` which is warmer than a temperature, degC; nothing where none is free.
    pub fn share_over(&self, free: &[bool], temperature: f64) -> Option<f64> {
        let all = free.iter().filter(|free| **free).count();
        let over = self.surface.iter().zip(free).filter(|(own, free)| **free && **own > temperature).count();
        (all > 0).then(|| over as f64 / all as f64)
    }

    /// The place where a sheath is hottest; nothing where no cable's radius is known.
    pub fn hottest_sheath(&self) -> Option<Warmth> {
        let sheaths = self.sheaths.iter().copied();
        sheaths.reduce(|known, place| if place.temperature > known.temperature { place } else { known })
    }

    /// Places along the cables and the surface's temperature right over them.
    pub fn over_runs(&self) -> &[Warmth] {
        &self.over_runs
    }

    /// Places along the cables whose radius is known, and the mean temperature round their sheath.
    pub fn sheaths(&self) -> &[Warmth] {
        &self.sheaths
    }

    /// What the floor gives to its room and loses below, and what its cables give, W.
    pub fn flows(&self) -> (f64, f64, f64) {
        (self.upward, self.downward, self.power)
    }

    fn free_cells<'a>(&'a self, free: &'a [bool]) -> impl Iterator<Item = Warmth> + 'a {
        let free = free.iter().enumerate().filter(|(_, free)| **free);
        free.map(|(cell, _)| Warmth { at: self.raster.middle(cell), temperature: self.surface[cell] })
    }
}

/// The first of the four cells between which a place is read, and their shares: cubic convolution, exact for parabolas.
fn cubic(at: f64) -> (isize, [f64; 4]) {
    let cell = (at - 0.5).floor();
    let t = at - 0.5 - cell;
    let shares = [
        ((-0.5 * t + 1.0) * t - 0.5) * t,
        (1.5 * t - 2.5) * t * t + 1.0,
        ((-1.5 * t + 2.0) * t + 0.5) * t,
        (0.5 * t - 0.5) * t * t,
    ];
    (cell as isize - 1, shares)
}

/// The surface right over places along the cables, and their sheaths, out of the coefficients of both spread.
fn along_cables(
    raster: &Raster,
    slab: &Slab,
    lines: &[Line],
    spread: f64,
    film: f64,
    (surface, cable): (&[f64], &[f64]),
) -> Result<(Vec<Warmth>, Vec<Warmth>), Unsolved> {
    let all: f64 = lines.iter().map(|line| line.piece.length()).sum();
    let step = STEP.max(all / MOST_PLACES);
    let mut known: Vec<(f64, (f64, f64))> = Vec::new();
    let (mut over_runs, mut sheaths) = (Vec::new(), Vec::new());
    for line in lines {
        let radius = line.radius.unwrap_or(slab.cable_radius);
        let (over, round) = match known.iter().find(|(other, _)| *other == radius) {
            Some((_, known)) => *known,
            None => {
                let own = Slab { cable_radius: radius, ..slab.clone() }.beyond_soft(spread, film)?;
                known.push((radius, own));
                own
            }
        };
        let count = (line.piece.length() / step).ceil().max(1.0);
        for number in 0..count as usize {
            let at = line.piece.along((number as f64 + 0.5) / count);
            let (Some(surface), Some(cable)) = (raster.read(surface, at), raster.read(cable, at)) else { continue };
            over_runs.push(Warmth { at, temperature: surface + line.power * over });
            if line.radius.is_some() {
                sheaths.push(Warmth { at, temperature: cable + line.power * round });
            }
        }
    }
    Ok((over_runs, sheaths))
}

/// What the fields of one floor are reckoned with.
struct Field<'s> {
    slab: &'s Slab,
    cosines: Cosines,
    /// Every other wave each way, for what changes slowly.
    coarse: Cosines,
    responses: Responses,
    /// The squares of the wave numbers along rows and up columns, 1/m2.
    along: Vec<f64>,
    up: Vec<f64>,
    /// The film coefficient that responses are reckoned with, W/m2K.
    film: f64,
    /// The temperatures without heat put in.
    bare: super::heat::Unheated,
}

/// What places give to the room beyond what the film does, W/m2, in coarse cells.
struct Correction {
    places: Vec<f64>,
    waves: Vec<f64>,
}

impl<'s> Field<'s> {
    /// Of a floor to which its cables give `mean` W/m2, and whose heat is spread softly over `spread` m where that is asked for.
    fn new(raster: &Raster, slab: &'s Slab, spread: f64, mean: f64) -> Self {
        // How much what the law gives grows with the surface's temperature, where that is as warm as all of the floor would be.
        let warm = slab.heat(mean.max(1.0), 1.0).map_or(slab.inside + 5.0, |heat| heat.surface) - slab.inside;
        let film = 8.92 * 1.1 * warm.abs().max(0.5).powf(0.1);
        let (along, up) = (squares(raster.columns, raster.cell.0), squares(raster.rows, raster.cell.1));
        let most = along.last().copied().unwrap_or(0.0) + up.last().copied().unwrap_or(0.0);
        Field {
            slab,
            cosines: Cosines::new(raster.columns, raster.rows),
            coarse: Cosines::new(raster.columns / 2, raster.rows / 2),
            responses: Responses::new(slab, film, spread, most.sqrt()),
            along,
            up,
            film,
            bare: slab.unheated(film),
        }
    }

    /// The surface, and as coefficients of splines, softly spread, the surface and the cables' depth, all in waves: of the waves of the
    /// sources and the coarse ones of the correction.
    fn combined(&self, sources: &[f64], correction: &[f64], spline: &(Vec<f64>, Vec<f64>)) -> [Vec<f64>; 3] {
        let mut made = [0; 3].map(|_| vec![0.0; sources.len()]);
        let (columns, rows) = (self.coarse.columns, self.coarse.rows);
        for (y, up) in self.up.iter().enumerate() {
            for (x, along) in self.along.iter().enumerate() {
                let wave = y * self.cosines.columns + x;
                let correction = if x < columns && y < rows { correction[y * columns + x] } else { 0.0 };
                let response = self.responses.at(along + up);
                let surface = response.across * sources[wave] - response.surface * correction;
                let cable = response.cable * sources[wave] - response.across * correction;
                let soft = response.soft / (spline.0[x] * spline.1[y]);
                made[0][wave] = surface;
                made[1][wave] = surface * soft;
                made[2][wave] = cable * soft;
            }
        }
        // The mean counts four times in its wave.
        for (field, bare) in made.iter_mut().zip([self.bare.surface, self.bare.surface, self.bare.cable]) {
            field[0] += 4.0 * bare;
        }
        made
    }

    /// Adds to the waves of the sources heat along walls within the box, so much at each place that half of it, which goes inward, makes up for
    /// what would go out through the wall there. What is added changes that at other places a little, and so again, `HELD_BACK` times.
    fn hold_back(&self, raster: &Raster, walls: &[Piece], sources: &mut [f64]) {
        let step = raster.cell.0.min(raster.cell.1);
        let mut places: Vec<(Point, Point, f64)> = Vec::new();
        for wall in walls.iter().filter(|wall| wall.length() > 0.0) {
            let length = wall.length();
            let outward = Point { x: wall.step().y, y: -wall.step().x } / length;
            let count = (length / step).ceil();
            let each = (0..count as usize).map(|number| wall.along((number as f64 + 0.5) / count));
            places.extend(each.map(|at| (at, outward, length / count / 1e3)));
        }
        if places.is_empty() {
            return;
        }
        let spline = raster.spline();
        let (columns, rows) = (raster.columns, raster.rows);
        let mut held = vec![0.0; places.len()];
        for _ in 0..HELD_BACK {
            let mut potential = vec![0.0; columns * rows];
            for (y, up) in self.up.iter().enumerate().take(rows) {
                for (x, along) in self.along.iter().enumerate().take(columns) {
                    let wave = sources[y * self.cosines.columns + x];
                    let sideways = self.responses.at(along + up).sideways;
                    potential[y * columns + x] = wave * sideways / (spline.0[x] * spline.1[y]);
                }
            }
            self.coarse.values(&mut potential);
            let mut more = vec![0.0; columns * rows];
            for ((at, outward, length), held) in places.iter().zip(&mut held) {
                // Beyond a side of the box everything goes on as its mirror image.
                let read = |point| raster.read(&potential, raster.mirrored(point));
                let (near, far) = (read(*at - *outward * step), read(*at + *outward * step));
                let heat = near.zip(far).map_or(0.0, |(near, far)| 2.0 * length * (near - far) / (2.0 * step / 1e3));
                raster.spread(&mut more, raster.place(*at), heat - *held);
                *held = heat;
            }
            let square_metres = raster.cell_area() / 1e6;
            more.iter_mut().for_each(|heat| *heat /= square_metres);
            self.coarse.waves(&mut more);
            for y in 0..rows {
                for x in 0..columns {
                    sources[y * self.cosines.columns + x] += more[y * columns + x] / (spline.0[x] * spline.1[y]);
                }
            }
        }
    }

    /// What EN 1264-2 gives at each place beyond what the film does.
    fn correction(&self, sources: &[f64]) -> Correction {
        let (columns, rows) = (self.coarse.columns, self.coarse.rows);
        let (mut heated, mut share, mut round) = (Vec::new(), Vec::new(), Vec::new());
        for (y, up) in self.up.iter().enumerate().take(rows) {
            for (x, along) in self.along.iter().enumerate().take(columns) {
                let response = self.responses.at(along + up);
                heated.push(response.across * sources[y * self.cosines.columns + x]);
                share.push(response.surface);
                round.push((-0.5 * (along + up) * FILM_REACH * FILM_REACH).exp());
            }
        }
        heated[0] += 4.0 * (self.bare.surface - self.slab.inside);
        let mut waves = vec![0.0; columns * rows];
        let mut before: Vec<f64> = Vec::new();
        let mut turn = 0;
        loop {
            turn += 1;
            let parts = heated.iter().zip(&waves).zip(&share);
            let mut over: Vec<f64> = parts.map(|((heated, wave), share)| heated - share * wave).collect();
            let mut means: Vec<f64> = over.iter().zip(&round).map(|(wave, round)| wave * round).collect();
            self.coarse.values(&mut over);
            self.coarse.values(&mut means);
            let changed = over.iter().zip(&before).map(|(now, before)| (now - before).abs()).fold(0.0, f64::max);
            let settled = !before.is_empty() && changed < SETTLED;
            let film = |mean: f64| 8.92 * mean.abs().max(LEAST_OVER).powf(0.1);
            let places: Vec<f64> =
                over.iter().zip(&means).map(|(over, mean)| (film(*mean) - self.film) * over).collect();
            waves.clone_from(&places);
            self.coarse.waves(&mut waves);
            if settled || turn == MOST_FILMS {
                return Correction { places, waves };
            }
            before = over;
        }
    }
}
