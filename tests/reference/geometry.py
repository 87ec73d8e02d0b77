"""The geometry of a few hundred plans, measured by Shapely (GEOS) for layrule's own to be compared with.

    geometry.py            write geometry.json
    geometry.py --check    do all of it again and compare with geometry.json
    geometry.py --errors   how far each area moves when its arcs are drawn twice as fine

geometry.json holds an object: the versions it was made with, and `plans`. Lengths are in mm, areas in mm2. Cables are
numbered from 0 and the runs of each from 1, as the text of a plan does not number cables at all. Of each plan:

text, minimum, clearance, reach, cold
    the plan, and the limits that the values below are for
room_area, free_area, heated_area, cold_area
    the room; of it, what lies farther than `clearance` from every wall and fixture and in no fixture; of that, what lies
    within `reach` of a run; of the free floor again, what lies farther than `cold` from every run
cold_patches
    the areas of the connected parts of the latter from 1 mm2, the largest first; null where a width of 0.01 mm more or
    less would join or part some
runs
    [cable, run, length, distance to the walls, length outside the room, fixtures, drill zones], the last two as lists of
    [distance, length inside]; walls belong to the room, and edges of fixtures to no inside
crossings
    [cable, run, cable, run, point]: runs that share a point, consecutive ones more than their corner; the point is null
    where they share more than one
near
    [cable, run, cable, run, distance]: other runs nearer than `minimum` by more than 0.01 mm, of two cables, or of one with
    at least a half-circle of that diameter of cable between the end of one and the start of the other
close
    [cable, run, run, distance]: other runs of one cable, for their points with at least such a half-circle of cable
    between them; null for plans of more than 40 runs
least_between_cables
    the least distance between two cables, null where there is one

and where a plan has levels or a sensor

off_level
    of each run the length on another level than its cable's, or on stairs
taken_off
    the room less its floor without any clearance: what fixtures take, and what shows of levels on which no cable starts
sensor
    from its tip to the run on one side and to that on the other, the lesser first, null where there is none

Coordinates are worked with in whole micrometres from the middle of the room. Shapely's predicates are exact for those, and
whether runs meet is decided in whole numbers besides. A plan is left out where a length is neither nothing nor at least
0.01 mm, so that no value hangs on how a program takes hairbreadths.
"""

import json
import math
import multiprocessing
import sys
from fractions import Fraction
from pathlib import Path

import numpy
import shapely
import shapely.ops
from shapely import STRtree

import plans
from plans import AtLimit, Unfit

COUNT = plans.OF_ALL + plans.OF_APART + sum(count for _, count, _ in plans.LATER)
FILE = Path(__file__).with_name("geometry.json")
MM = 1000.0
HAIR = 0.01 * MM
MOST_CLOSE_RUNS = 40

# ---- exact questions, in whole numbers


def side(a, b, p):
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def shared(a, b, c, d):
    """What two pieces share: None, a point, or "more"."""
    c_side, d_side = side(a, b, c), side(a, b, d)
    if c_side == 0 and d_side == 0:
        low, high = max(min(a, b), min(c, d)), min(max(a, b), max(c, d))
        return None if low > high else (low if low == high else "more")
    a_side, b_side = side(c, d, a), side(c, d, b)
    if c_side * d_side > 0 or a_side * b_side > 0:
        return None
    share = Fraction(a_side, a_side - b_side)
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def sign(value):
    return (value > 0) - (value < 0)


def squared_distance(p, a, b):
    """From a point to a piece, squared, as a fraction."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    along = (p[0] - a[0]) * dx + (p[1] - a[1]) * dy
    square = dx * dx + dy * dy
    if along <= 0:
        return Fraction((p[0] - a[0]) ** 2 + (p[1] - a[1]) ** 2)
    if along >= square:
        return Fraction((p[0] - b[0]) ** 2 + (p[1] - b[1]) ** 2)
    return Fraction(side(a, b, p) ** 2, square)


# ---- shapes


class Zone:
    """A fixture or a drill zone."""

    def __init__(self, shape, centre):
        def moved(p):
            return (p[0] - centre[0], p[1] - centre[1])

        self.circle = None
        self.whole = True
        if shape[0] == "circle":
            self.circle = (moved(shape[1]), shape[2])
            return
        if shape[0] == "rect":
            (ax, ay), (bx, by) = moved(shape[1]), moved(shape[2])
            corners = [(ax, ay), (bx, ay), (bx, by), (ax, by)]
        elif shape[0] == "polygon":
            corners = [moved(p) for p in shape[1]]
        else:
            line = shapely.LineString([moved(p) for p in shape[1]])
            strip = line.buffer(shape[2] / 2, cap_style="flat", join_style="mitre", mitre_limit=100)
            corners = list(strip.exterior.coords)[:-1]
            whole = [(round(x), round(y)) for x, y in corners]
            self.whole = all(math.dist(p, q) < 1e-6 for p, q in zip(corners, whole))
            corners = whole if self.whole else corners
        self.polygon = shapely.Polygon(corners)
        if not self.polygon.is_valid or self.polygon.area < 100 * MM * MM:
            raise Unfit("no shape")

    def outline(self):
        """For a look at where it lies."""
        if self.circle:
            return shapely.Point(self.circle[0]).buffer(self.circle[1])
        return self.polygon

    def meetings(self, runs, lines):
        """Of each run its distance and the length inside, in micrometres."""
        if not self.circle:
            reject_hairbreadths(lines, self.polygon.exterior, touch=self.whole)
            return list(zip(shapely.distance(lines, self.polygon), lengths_inside(lines, self.polygon)))
        centre, radius = self.circle
        return [circle_meeting(centre, radius, a, b) for a, b in runs]


def circle_meeting(centre, radius, a, b):
    square = squared_distance(centre, a, b)
    for exact in (square, squared_distance(centre, a, a), squared_distance(centre, b, b)):
        if exact != radius * radius and abs(math.sqrt(exact) - radius) < HAIR:
            raise Unfit("a run all but touches a circle")
    distance = 0.0 if square <= radius * radius else math.sqrt(square) - radius
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    height = Fraction(side(a, b, centre) ** 2, dx * dx + dy * dy)
    if height >= radius * radius:
        return distance, 0.0
    half = math.sqrt(radius * radius - height)
    middle = ((centre[0] - a[0]) * dx + (centre[1] - a[1]) * dy) / length
    return distance, max(0.0, min(length, middle + half) - max(0.0, middle - half))


def lengths_inside(lines, polygon):
    """Lengths within a polygon, what lies on its edge left out."""
    within = shapely.length(shapely.intersection(lines, polygon))
    on_edge = shapely.length(shapely.intersection(lines, polygon.exterior))
    return numpy.maximum(within - on_edge, 0.0)


def reject_hairbreadths(lines, ring, touch=True):
    """Ends of runs may lie on an edge or well off it, and so may corners on a run; without `touch` well off alone."""
    ends = shapely.points(shapely.get_coordinates(lines))
    corners = shapely.points(shapely.get_coordinates(ring))
    edges = pieces(shapely.get_coordinates(ring))
    for points, others in ((ends, edges), (corners, lines)):
        near = STRtree(others).query(points, predicate="dwithin", distance=HAIR)
        if near.size and not (touch and shapely.intersects(points[near[0]], others[near[1]]).all()):
            raise Unfit("a hairbreadth between a run and an edge")


def pieces(coordinates):
    return shapely.linestrings(numpy.stack([coordinates[:-1], coordinates[1:]], axis=1))


# ---- areas


class Capsules:
    """All points within a radius of a piece, for many pieces."""

    def __init__(self, parts):
        self.parts = [(a, b, radius) for a, b, radius in parts if radius > 0.0]

    def __add__(self, other):
        return Capsules(self.parts + other.parts)

    def touching(self, floor):
        """Those that reach a floor."""
        if not self.parts or floor.is_empty:
            return Capsules([])
        ends = numpy.array([(a, b) for a, b, _ in self.parts], dtype=float)
        radii = numpy.array([radius for *_, radius in self.parts])
        near = shapely.distance(shapely.linestrings(ends), floor) < radii
        return Capsules([part for part, wanted in zip(self.parts, near) if wanted])

    def discs(self):
        """Their round ends. Pieces that meet share one, so that no two polygons stand for the same circle."""
        return sorted({(end, radius) for a, b, radius in self.parts for end in (a, b)})

    def polygons(self, segments, within=False):
        """Polygons that make them up, with so many segments to a quarter of a circle.

        A circle's polygon has its true area: corners lie outside by as much as makes up for what the chords cut off. Where
        another edge ends an arc or touches it, part of a chord is left over, at most 1/24 r^2 t^3 for chords of angle t.
        `within` puts the corners on the circle instead, and so the polygon inside.
        """
        turn = math.pi / 2 / segments
        swell = 1.0 if within else math.sqrt(turn / math.sin(turn))
        angles = numpy.arange(4 * segments) * turn
        spokes = swell * numpy.stack([numpy.cos(angles), numpy.sin(angles)], axis=-1)
        centres, radii = map(numpy.array, zip(*self.discs()))
        made = list(shapely.polygons(centres[:, None, :] + radii[:, None, None] * spokes))
        long = [part for part in self.parts if part[0] != part[1]]
        if long:
            a, b = (numpy.array([part[k] for part in long], dtype=float) for k in (0, 1))
            step = (b - a) / numpy.hypot(*(b - a).T)[:, None]
            reach = numpy.stack([-step[:, 1], step[:, 0]], axis=-1) * numpy.array([part[2] for part in long])[:, None]
            made += list(shapely.polygons(numpy.stack([a + reach, a - reach, b - reach, b + reach], axis=1)))
        return made


def uncovered(floor, capsules, segments, within=False):
    """The part of a floor that no capsule covers."""
    if not capsules.parts or floor.is_empty:
        return floor
    return shapely.difference(floor, shapely.union_all(capsules.polygons(segments, within)))


def segments_for(capsules, area, finer):
    """How fine arcs must be for an area (um2) to come out right to 1e-8, or to 2e-4 mm2 where it is small."""
    aim = 1e-8 * area if area > 1000 * MM * MM else 2e-4 * MM * MM
    ends = sum(2.0 * radius * radius for _, radius in capsules.discs())
    turn = (24.0 * aim / ends) ** (1.0 / 3.0) if ends > 0.0 else 1.0
    return finer * max(16, min(4096, math.ceil(math.pi / 2 / turn)))


COARSE = 6


class Floor:
    """A room's floor and what it is to be cleared of."""

    def __init__(self, room, zones, clearance, finer=1):
        self.finer = finer
        parts = []
        rings = [room.exterior] if clearance > 0 else []
        self.whole = room
        for zone in zones:
            if zone.circle:
                centre, radius = zone.circle
                parts.append((centre, centre, radius + clearance))
            else:
                self.whole = shapely.difference(self.whole, zone.polygon)
                rings += shapely.get_rings(shapely.get_parts(zone.polygon)).tolist()
        for ring in rings:
            coordinates = [tuple(p) for p in shapely.get_coordinates(ring)]
            parts += [(a, b, clearance) for a, b in zip(coordinates, coordinates[1:])]
        self.cleared = Capsules(parts)

    def without(self, capsules):
        """The free floor that none of `capsules` covers."""
        all_of_them = self.cleared + capsules
        # Capsules drawn too small leave too much floor, but tell which of them can matter where. Each part of the floor is then
        # drawn as finely as its own size asks for.
        parts = []
        for rough in polygons(uncovered(self.whole, all_of_them, COARSE, within=True)):
            needed = all_of_them.touching(rough)
            parts += polygons(uncovered(rough, needed, segments_for(needed, rough.area, self.finer)))
        return shapely.MultiPolygon(parts)

    def heated_area(self, capsules):
        """The free floor that `capsules` cover."""
        free = uncovered(self.whole, self.cleared, COARSE, within=True)
        capsules = capsules.touching(free)
        rough = free.area - uncovered(free, capsules, COARSE, within=True).area
        needed = self.cleared.touching(free)
        free = uncovered(free, needed, segments_for(needed + capsules, rough, self.finer))
        cold = uncovered(free, capsules, segments_for(needed + capsules, rough, self.finer))
        return free.area - cold.area


def polygons(shape):
    """Its parts that have an area."""
    return [part for part in shapely.get_parts(shape) if part.area > 0.0]


def patches(floor):
    """Areas of connected parts, or nothing where a hairbreadth joins or parts some."""

    def areas(shape):
        parts = sorted((part.area / MM / MM for part in shapely.get_parts(shape)), reverse=True)
        if any(0.9 < area < 1.1 for area in parts):
            return None
        return [area for area in parts if area >= 1.0]

    own = areas(floor)
    for by in (-0.5 * HAIR, 0.5 * HAIR):
        moved = areas(shapely.buffer(floor, by, join_style="mitre"))
        if own is None or moved is None or len(moved) != len(own):
            return None
        for part, other in zip(own, moved):
            if abs(other - part) > 0.5 + 0.01 * part:
                return None
    return own


# ---- levels


class Shown:
    """What shows of a level."""

    circle = None

    def __init__(self, polygon):
        self.polygon = polygon


class Levels:
    """Levels in the order drawn, the last on top."""

    def __init__(self, plan, centre, lines):
        self.heights = [height for height, _ in plan.levels]
        zones = [Zone(shape, centre) for _, shape in plan.levels]
        for zone in zones:
            reject_hairbreadths(lines, zone.polygon.exterior)
        whole = [zone.polygon for zone in zones]
        self.edges = [polygon.exterior for polygon in whole]
        self.shown = [shapely.difference(own, shapely.union_all(whole[k + 1 :])) for k, own in enumerate(whole)]
        self.all = shapely.union_all(whole)

    def under(self, point):
        """The number of the level on top at a point, None for the floor."""
        if any(edge.distance(point) < HAIR for edge in self.edges):
            raise Unfit("a cable that starts on an edge")
        found = [k for k, shown in enumerate(self.shown) if shown.contains(point)]
        if found and self.heights[found[0]] is None:
            raise Unfit("a cable that starts on stairs")
        return found[0] if found else None

    def home(self, level, around):
        """All of the floor at the height of a level, edges too."""
        height = 0 if level is None else self.heights[level]
        parts = [shown for own, shown in zip(self.heights, self.shown) if own == height]
        if height == 0:
            parts.append(shapely.difference(around, self.all))
        return shapely.union_all(parts)


def off_levels(levels, runs, lines):
    """Of each run the length off its cable's level, and the levels that cables start on."""
    around = shapely.box(*shapely.buffer(shapely.union_all([*levels.edges, *lines]), 1000 * MM).bounds)
    homes, regions = {}, {}
    for cable, number, a, _ in runs:
        if number == 1:
            homes[cable] = levels.under(shapely.Point(a))
            regions[cable] = levels.home(homes[cable], around)
    off = [shapely.length(shapely.difference(line, regions[cable])) for line, (cable, *_) in zip(lines, runs)]
    if any(1e-3 < way < HAIR for way in off):
        raise Unfit("a hairbreadth of a run off its level")
    return [tidy(way / MM) if way > 1e-3 else 0 for way in off], {home for home in homes.values() if home is not None}


# ---- sensors

TOUCH = 0.001 * MM
TURN_PIECES = 16


def foot_of(tip, a, b):
    """The nearest point of a run, and whether the tip lies alongside it."""
    step, square = (b[0] - a[0], b[1] - a[1]), (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    share = ((tip[0] - a[0]) * step[0] + (tip[1] - a[1]) * step[1]) / square
    length = math.sqrt(square)
    for end in (0.0, 1.0):
        if 1e-9 < abs(share - end) * length < HAIR:
            raise Unfit("a tip at the very end of a run")
    held = min(1.0, max(0.0, share))
    return (a[0] + held * step[0], a[1] + held * step[1]), 0.0 < share < 1.0


def first_met(tip, far, runs):
    """The run that a way first meets, and at what distance."""
    line = shapely.LineString([tip, far])
    best = None
    for k, (_, _, a, b) in enumerate(runs):
        piece = shapely.LineString([a, b])
        if shapely.distance(line, piece) > HAIR:
            continue
        if min(line.distance(shapely.Point(a)), line.distance(shapely.Point(b))) < HAIR:
            raise Unfit("a way that passes the end of a run")
        met = math.dist(tip, line.intersection(piece).coords[0])
        if best is None or met < best[1]:
            best = (k, met)
    return best


def in_sight(tip, foot, runs, own):
    way = shapely.LineString([tip, foot])
    for k, (_, _, a, b) in enumerate(runs):
        if k == own or way.distance(shapely.LineString([a, b])) > HAIR:
            continue
        near = shapely.ops.nearest_points(shapely.LineString([a, b]), way)[0]
        if math.dist((near.x, near.y), foot) > 3 * HAIR:
            if way.intersects(shapely.LineString([a, b])) and min(way.distance(shapely.Point(end)) for end in (a, b)) > HAIR:
                return False
            raise Unfit("a way that passes the end of a run")
    return True


def sides(tip, runs):
    """The distances from a tip to the runs on both its sides, as `grammar/layout.md` says."""
    feet = [foot_of(tip, a, b) for *_, a, b in runs]
    gaps = [math.dist(tip, foot) for foot, _ in feet]
    least = min(gaps)
    if least < HAIR or any(TOUCH < gap - least < HAIR for gap in gaps):
        raise Unfit("a tip on a run, or hardly nearer to one than to another")
    extent = 1e9
    found = []
    for near in [k for k, gap in enumerate(gaps) if gap - least <= TOUCH]:
        pair = turn_sides(tip, runs, near, feet, gaps)
        if pair is None:
            (fx, fy), gap = feet[near][0], gaps[near]
            far = (tip[0] + (tip[0] - fx) / gap * extent, tip[1] + (tip[1] - fy) / gap * extent)
            met = first_met(tip, far, runs)
            pair = [gap, None if met is None else met[1]]
        found.append(pair)
    off = [math.inf if b is None else abs(b - a) / 2 for a, b in found]
    for other, pair in zip(off, found):
        if abs(other - min(off)) < HAIR and pair != found[off.index(min(off))]:
            if any((p is None) != (q is None) or p is not None and abs(p - q) > TOUCH for p, q in zip(pair, found[off.index(min(off))])):
                raise Unfit("two pairs of runs as good as each other")
    return found[off.index(min(off))]


def turn_sides(tip, runs, near, feet, gaps):
    """Where a run is a piece of a turn, the distances to the runs that the turn joins."""
    best = None
    for i in range(max(0, near - TURN_PIECES), near):
        for j in range(near + 1, min(len(runs), near + TURN_PIECES + 1)):
            if len({runs[i][0], runs[near][0], runs[j][0]}) > 1 or not (feet[i][1] and feet[j][1]):
                continue
            (fx, fy), (gx, gy) = feet[i][0], feet[j][0]
            towards = ((fx - tip[0]) * (gx - tip[0]) + (fy - tip[1]) * (gy - tip[1])) / gaps[i] / gaps[j]
            turn = sum(math.dist(a, b) for *_, a, b in runs[i + 1 : j])
            most = math.pi / 2 * (gaps[i] + gaps[j])
            if abs(towards) < 1e-6 or abs(turn - most) < HAIR:
                raise Unfit("a turn that hardly is one")
            if towards > 0 or turn > most:
                continue
            if in_sight(tip, feet[i][0], runs, i) and in_sight(tip, feet[j][0], runs, j):
                if best is None or turn > best[0]:
                    best = (turn, sorted([gaps[i], gaps[j]]))
    return best and best[1]


# ---- pairs of runs


def least_apart(run, other, gap, least):
    """The least distance of points of two runs of a cable with `least` of it between them; None where there are none.

    Points are told by u and v, the ways from the starts. (length - u) + gap + v >= least cuts a corner off the rectangle of
    all (u, v); the rest, mapped to the differences of the points, is a convex shape, whose distance from nought it is.
    """
    (a, b), (c, d) = numpy.array(run, dtype=float), numpy.array(other, dtype=float)
    length, width = math.dist(a, b), math.dist(c, d)
    slack = length + gap - least

    def over(corner):
        return slack - corner[0] + corner[1]

    if -1e-3 < over((0.0, width)) < 1e-3:
        raise AtLimit("a run ends just where a half-circle does")
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    kept = []
    for p, q in zip(ring, ring[1:] + ring[:1]):
        if over(p) >= 0.0:
            kept.append(p)
        if (over(p) < 0.0) != (over(q) < 0.0):
            share = over(p) / (over(p) - over(q))
            kept.append((p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])))
    if not kept:
        return None
    differences = [a + (b - a) * (u / length) - c - (d - c) * (v / width) for u, v in kept]
    return shapely.distance(shapely.convex_hull(shapely.multipoints(differences)), shapely.Point(0.0, 0.0))


def pairs(runs, lines, minimum):
    """Crossings, near pairs and close pairs."""
    minimum *= MM
    half_circle = math.pi / 2 * minimum
    lengths = [math.dist(a, b) for *_, a, b in runs]
    before = []
    for k, (_, number, *_) in enumerate(runs):
        before.append(0.0 if number == 1 else before[-1] + lengths[k - 1])
    found = STRtree(lines).query(lines, predicate="dwithin", distance=minimum + 2 * HAIR)
    found = found[:, found[0] < found[1]]
    distances = shapely.distance(lines[found[0]], lines[found[1]])
    order = numpy.lexsort((found[1], found[0]))
    crossings, near, close = [], [], []
    for i, j, distance in zip(*(found[:, order].tolist()), distances[order].tolist()):
        (cable, first, a, b), (other, second, c, d) = runs[i], runs[j]
        consecutive = cable == other and second == first + 1
        if distance < HAIR:
            meet = shared(a, b, c, d)
            if consecutive:
                if meet != "more":
                    meet = None
                    if folds_nearly(a, b, d):
                        raise Unfit("a run all but lies on the one before it")
            elif meet is None:
                raise Unfit("a hairbreadth between two runs")
            if meet is not None:
                crossings.append([i, j, None if meet == "more" else meet])
                continue
        if cable == other:
            gap = before[j] - before[i] - lengths[i]
            if abs(gap - half_circle) < 1e-3:
                raise AtLimit("the cable between two runs is just a half-circle")
            if len(runs) <= MOST_CLOSE_RUNS:
                least = least_apart((a, b), (c, d), gap, half_circle)
                if least is not None and minimum - 2 * HAIR < least < minimum - 1e-3:
                    raise AtLimit("a spacing just under the limit")
                if least is not None and least < minimum - HAIR:
                    close.append([i, j, least])
        if cable != other or gap >= half_circle:
            if abs(distance - minimum) <= HAIR:
                raise AtLimit("a spacing just at the limit")
            if distance < minimum - HAIR:
                near.append([i, j, distance])
    return crossings, near, close if len(runs) <= MOST_CLOSE_RUNS else None


def folds_nearly(a, b, d):
    """Whether the nearer end of two runs that share `b` lies within a hairbreadth of the other run."""
    if (a[0] - b[0]) * (d[0] - b[0]) + (a[1] - b[1]) * (d[1] - b[1]) <= 0:
        return False
    return min(squared_distance(d, a, b), squared_distance(a, b, d)) < HAIR * HAIR


# ---- a plan's values


def tidy(value, digits=7):
    """A number that takes no more room in the file than it needs."""
    value = round(float(value), digits)
    return int(value) if value == int(value) else value


def measured(plan, dice, finer=1):
    """All values of a plan. `dice` choose the limits."""
    xs, ys = zip(*plan.outline)
    centre = ((min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2)

    def moved(p):
        return (p[0] - centre[0], p[1] - centre[1])

    room = shapely.Polygon([moved(p) for p in plan.outline])
    if not room.is_valid or room.area < 0.2e6 * MM * MM:
        raise Unfit("no room")
    edges = pieces(shapely.get_coordinates(room.exterior))
    if any(e.distance(f) < 20 * MM for k, e in enumerate(edges) for f in edges[k + 2 : len(edges) - (k == 0)]):
        raise Unfit("walls back to back")
    if shapely.length(edges).min() < 20 * MM:
        raise Unfit("next to no wall")
    fixtures = [Zone(shape, centre) for shape in plan.fixtures]
    drills = [Zone(shape, centre) for shape in plan.drills]
    if not all(room.intersects(zone.outline()) for zone in fixtures + drills):
        raise Unfit("a shape elsewhere")
    runs = [(cable, run, moved(p), moved(q)) for cable, run, p, q in plan.runs()]
    lines = shapely.linestrings(numpy.array([(a, b) for *_, a, b in runs], dtype=float))
    lengths = shapely.length(lines)
    if lengths.min() < HAIR:
        raise Unfit("a run of no length")

    reject_hairbreadths(lines, room.exterior)
    inside = shapely.length(shapely.intersection(lines, room))
    outside = numpy.maximum(lengths - inside, 0.0)
    for cable in range(len(plan.cables)):
        if not any(way > MM for way, (own, *_) in zip(inside, runs) if own == cable):
            raise Unfit("a cable elsewhere")
    walls = shapely.distance(lines, room.exterior)
    ends = [(a, b) for *_, a, b in runs]
    met = [[zone.meetings(ends, lines) for zone in zones] for zones in (fixtures, drills)]
    rounding = 1e-3
    rows = []
    for k, (cable, run, *_) in enumerate(runs):
        row = [cable, run, lengths[k], walls[k], outside[k]]
        for zones in met:
            row.append([zone[k] for zone in zones])
        values = [walls[k], outside[k], *(value for zones in row[5:] for pair in zones for value in pair)]
        if any(rounding < value < HAIR for value in values):
            raise Unfit("a hairbreadth of a run")
        # What rounding leaves of nothing is nothing.
        kept = [tidy(value / MM) if value > rounding else 0 for value in values]
        many = len(fixtures)
        both = [kept[2 + 2 * n : 4 + 2 * n] for n in range(many + len(drills))]
        rows.append([cable, run, tidy(lengths[k] / MM), kept[0], kept[1], both[:many], both[many:]])

    minimum, (crossings, near, close) = with_minimum(plan, runs, lines, dice)
    clearance = dice.pick([0, 50, 50, 50, dice.whole(20, 100)])
    reach = plan.pitch / 2 / MM if plan.pitch and dice.chance(0.6) else dice.whole(15, 80)
    cold = dice.pick([dice.whole(100, 300), dice.whole(1000, 3000) / 10, 250])
    reach = tidy(min(80, max(15, reach)))

    more = {}
    in_the_way = list(fixtures)
    if plan.levels:
        levels = Levels(plan, centre, lines)
        more["off_level"], heated = off_levels(levels, runs, lines)
        in_the_way += [Shown(shown) for k, shown in enumerate(levels.shown) if k not in heated and not shown.is_empty]
        more["taken_off"] = square_mm(room.area - Floor(room, in_the_way, 0.0, finer).without(Capsules([])).area)
    if plan.sensor:
        more["sensor"] = [None if gap is None else tidy(gap / MM) for gap in sides(moved(plan.sensor), runs)]

    floor = Floor(room, in_the_way, clearance * MM, finer)
    cold_floor = floor.without(around(runs, cold))
    parts = patches(cold_floor)

    def named(i, j, *rest):
        return [*runs[i][:2], *runs[j][:2], *rest]

    def placed(p):
        return None if p is None else [tidy((p[k] + centre[k]) / 1000) for k in (0, 1)]

    own = numpy.array([cable for cable, *_ in runs])
    whole = [shapely.multilinestrings(lines[own == k]) for k in range(len(plan.cables))]
    between = [a.distance(b) for k, a in enumerate(whole) for b in whole[:k]]
    meet = any(runs[i][0] != runs[j][0] for i, j, _ in crossings)
    return {
        "text": plan.text,
        "minimum": minimum,
        "clearance": clearance,
        "reach": reach,
        "cold": tidy(cold),
        "room_area": square_mm(room.area),
        "free_area": square_mm(floor.without(Capsules([])).area),
        "heated_area": square_mm(floor.heated_area(around(runs, reach))),
        "cold_area": square_mm(cold_floor.area),
        "cold_patches": None if parts is None else [tidy(area, 6) for area in parts],
        "runs": rows,
        "crossings": [named(i, j, placed(p)) for i, j, p in crossings],
        "near": [named(i, j, tidy(distance / MM)) for i, j, distance in near],
        "close": None if close is None else [[*named(i, j)[:2], runs[j][1], tidy(least / MM)] for i, j, least in close],
        "least_between_cables": None if not between else 0 if meet else tidy(min(between) / MM),
        **more,
    }


def around(runs, reach):
    return Capsules([(a, b, reach * MM) for *_, a, b in runs])


def square_mm(area):
    return tidy(max(area, 0.0) / MM / MM, 6)


def with_minimum(plan, runs, lines, dice):
    """A spacing limit that no spacing just keeps, and the pairs that go by it."""
    for _ in range(12):
        minimum = dice.pick([dice.whole(30, 120), dice.whole(300, 1200) / 10])
        if plan.pitch and dice.chance(0.6):
            pitch = plan.pitch / MM
            minimum = dice.pick([pitch, math.floor(pitch * dice.between(0.6, 0.98)), math.ceil(pitch * dice.between(1.02, 1.7))])
        minimum = tidy(min(120, max(30, minimum)))
        try:
            return minimum, pairs(runs, lines, minimum)
        except AtLimit:
            continue
    raise Unfit("every limit is just kept")


def entry(index, finer=1):
    """The first fit plan of a number, with its values."""
    for attempt in range(400):
        try:
            plan, dice = plans.draw(index, attempt)
            return measured(plan, dice, finer)
        except Unfit:
            continue
    raise SystemExit(f"no plan {index} is fit")


def finer_entry(index):
    return entry(index, finer=2)


def entries(make=entry):
    with multiprocessing.Pool() as pool:
        return pool.map(make, range(COUNT), chunksize=4)


# ---- the file


def versions():
    return {
        "shapely": shapely.__version__,
        "geos": ".".join(map(str, shapely.geos_version)),
        "numpy": numpy.__version__,
    }


def write(made):
    compact = {"separators": (",", ":")}
    head = json.dumps(versions(), **compact)[:-1]
    body = ",\n".join(json.dumps(plan, **compact) for plan in made)
    FILE.write_text(f'{head},"plans":[\n{body}\n]}}\n')


def differences(old, new, place=""):
    """Where two values differ by more than rounding."""
    numbers = (int, float)
    if isinstance(old, numbers) and isinstance(new, numbers):
        if abs(old - new) > max(1e-6, 1e-9 * abs(new)):
            yield f"{place}: {old} in the file, {new} now"
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for k, (a, b) in enumerate(zip(old, new)):
            yield from differences(a, b, f"{place}[{k}]")
    elif isinstance(old, dict) and isinstance(new, dict) and list(old) == list(new):
        for key in old:
            yield from differences(old[key], new[key], f"{place}.{key}")
    elif old != new:
        yield f"{place}: {old!r:.80} in the file, {new!r:.80} now"


def check():
    kept = json.loads(FILE.read_text())
    found = list(differences(kept["plans"], json.loads(json.dumps(entries())), "plans"))
    for line in found[:20]:
        print(line, file=sys.stderr)
    if found:
        made_with = {key: value for key, value in kept.items() if key != "plans"}
        print(f"{len(found)} differences; made with {made_with}, checked with {versions()}", file=sys.stderr)
        raise SystemExit(1)
    print(f"{len(kept['plans'])} plans agree")


def errors():
    relative, small = {}, {}
    for once, twice in zip(entries(), entries(finer_entry)):
        for key in ("free_area", "heated_area", "cold_area", "cold_patches"):
            pairs = zip(once[key] or [], twice[key] or []) if key == "cold_patches" else [(once[key], twice[key])]
            for a, b in pairs:
                if b >= 1000:
                    relative[key] = max(relative.get(key, 0.0), abs(a - b) / b)
                else:
                    small[key] = max(small.get(key, 0.0), abs(a - b))
    print("relative:", {key: f"{value:.1e}" for key, value in relative.items()})
    print("mm2, below 1000 mm2:", {key: f"{value:.1e}" for key, value in small.items()})


if __name__ == "__main__":
    if sys.argv[1:] == ["--check"]:
        check()
    elif sys.argv[1:] == ["--errors"]:
        errors()
    elif not sys.argv[1:]:
        write(entries())
    else:
        raise SystemExit(__doc__)
