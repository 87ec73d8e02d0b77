"""Checks a folder of plans with Shapely, as one would without layrule: what its speed is compared with.

    shapely_check.py FOLDER [--most N]

Reads every `.lay` file of the folder, or the first N, and prints one line of JSON: how many plans, how many findings of each
rule, and how many seconds reading and checking took. It makes layrule's geometric checks at their usual limits, knows the
statements that they need, and skips the rest. Needs Shapely 2.1 or later.
"""

import argparse
import json
import math
import re
import time
from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon, box

TOUCH = 1e-3
SPACING = 50.0
CLEARANCE = 50.0
COLD = 250.0
THRESHOLD = 100.0
DEPTH, DEPTH_MISS = 500.0, 100.0
OFF_CENTRE = 10.0
SHARE = 0.8
CRUMB = 2000.0
OVER, SHORT = 0.01, 0.03
PITCHES, SCREED_PITCH, SCREED = (50.0, 120.0), 250.0, 30.0

WAYS = {"east": (1, 0), "north": (0, 1), "west": (-1, 0), "south": (0, -1)}
UNITS = {"": 1.0, "mm": 1.0, "cm": 10.0, "m": 1000.0}
LENGTH = r"([+-]?\s*\d+(?:\.\d+)?)\s*(mm|cm|m)?(?![\w.])"
POINT = re.compile(rf"\(\s*{LENGTH}\s*,\s*{LENGTH}\s*\)")
RUN = re.compile(rf"run\s+(east|north|west|south)\s+{LENGTH}")
LEG = re.compile(rf"(east|north|west|south)\s+{LENGTH}|to\s+{POINT.pattern}")
LOOPS = re.compile(
    rf"loops\s+(\d+)\s+of\s+{LENGTH}\s+(east|north|west|south)\s*,\s*stepping\s+{LENGTH}\s+(east|north|west|south)"
)
DOOR = re.compile(rf"wall\s+(\d+)\s+from\s+{LENGTH}\s+to\s+{LENGTH}")
SENSOR = re.compile(r"sensor\s+\S+\s+from\s+(\S+)")
RADIUS = re.compile(rf"radius\s+{LENGTH}")
WIDTH = re.compile(rf"width\s+{LENGTH}")
LAYER = re.compile(rf"\S+\s+{LENGTH}.*\bcable at\b")
USE = re.compile(r'use\s+"(.+)"')

# ---- reading


class Room:
    def __init__(self):
        self.outline = None
        self.fixtures = []
        self.drills = []
        self.joints = []
        self.pipes = []
        self.levels = []
        self.doors = []
        self.places = {}
        self.sensors = []
        self.cables = []
        self.tails = []
        self.kits = []
        self.cable_layer = 0.0


def length(number, unit):
    return float(number.replace(" ", "")) * UNITS[unit or ""]


def points(text):
    return [(length(x, xu), length(y, yu)) for x, xu, y, yu in POINT.findall(text)]


def outline(text):
    if not re.match(r"outline\s+from\b", text):
        return points(text)
    start = POINT.search(text)
    corners = points(start.group())
    for way, far, unit, x, xu, y, yu in LEG.findall(text, start.end()):
        if way:
            (dx, dy), far = WAYS[way], length(far, unit)
            corners.append((corners[-1][0] + dx * far, corners[-1][1] + dy * far))
        else:
            corners.append((length(x, xu), length(y, yu)))
    return corners


def shape(text):
    if re.search(r"\brect\b", text):
        (ax, ay), (bx, by) = points(text)
        return box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))
    if re.search(r"\bcircle\b", text):
        return Point(points(text)[0]).buffer(length(*RADIUS.search(text).groups()), quad_segs=64)
    if re.search(r"\bstrip\b", text):
        width = length(*WIDTH.search(text).groups())
        return LineString(points(text)).buffer(width / 2, cap_style="flat", join_style="mitre", mitre_limit=100)
    return Polygon(points(text))


def lead(room, text):
    """Adds the points that a statement of a room's last cable leads to."""
    cable = room.cables[-1]
    if text.startswith("tail"):
        room.tails[-1] = [room.places[text.split()[1]], *points(text)]
    elif text.startswith("kit"):
        room.kits[-1] = text.split()[1]
    elif text.startswith("start"):
        cable[:] = points(text)
    elif match := RUN.match(text):
        (dx, dy), far = WAYS[match[1]], length(match[2], match[3])
        cable.append((cable[-1][0] + dx * far, cable[-1][1] + dy * far))
    elif text.startswith("run"):
        cable += points(text)
    elif match := LOOPS.match(text):
        count, far, pitch = int(match[1]), length(match[2], match[3]), length(match[5], match[6])
        (ax, ay), (sx, sy) = WAYS[match[4]], WAYS[match[7]]
        x, y = cable[-1]
        for row in range(count):
            foot = (x + sx * pitch * row, y + sy * pitch * row)
            tip = (foot[0] + ax * far, foot[1] + ay * far)
            ends = [foot, tip] if row % 2 == 0 else [tip, foot]
            cable += ends if row else ends[1:]


def statements(text):
    """Lines without comments; one whose parentheses are open goes on in the next."""
    held = ""
    for line in text.splitlines():
        held += " " + line.split("#", 1)[0].strip()
        if held.count("(") == held.count(")"):
            yield held.strip()
            held = ""


@cache
def used(path):
    """The kits that a file gives to those that use it."""
    return read(path)[1]


def read(path):
    """The rooms of a file, and its kits by their names: what each says of lengths."""
    rooms, kits, blocks = [], {}, []
    for line in statements(path.read_text(encoding="utf-8")):
        if not line:
            continue
        word = line.split(None, 1)[0]
        if line == "}":
            blocks.pop()
        elif line.endswith("{"):
            blocks.append(word)
            if word == "room":
                rooms.append(Room())
            elif word == "cable":
                rooms[-1].cables.append([])
                rooms[-1].tails.append([])
                rooms[-1].kits.append(None)
            elif word == "kit":
                kit = kits[line.split()[1]] = {}
        elif match := USE.match(line):
            kits |= used(path.parent / match[1])
        elif blocks == ["kit"]:
            if match := re.match(rf"{word}\s+{LENGTH}$", line):
                kit[word] = length(*match.groups())
        elif blocks == ["room", "floor"]:
            if match := LAYER.match(line):
                rooms[-1].cable_layer = length(*match.groups())
        elif blocks == ["room"]:
            statement(rooms[-1], word, line)
        elif blocks == ["room", "cable"]:
            lead(rooms[-1], line)
    for room in rooms:
        room.kits = [kits.get(name, {}) for name in room.kits]
    return rooms, kits


def statement(room, word, line):
    if word == "outline":
        room.outline = Polygon(outline(line))
    elif word == "fixture":
        # A raised fixture leaves the floor under it free.
        if not re.search(r"\braised\b", line):
            room.fixtures.append(shape(line))
    elif word == "drill":
        room.drills.append(shape(line))
    elif word == "joint":
        room.joints.append(LineString(points(line)))
    elif word == "pipe":
        if line.split()[1:3].count("cold") == 0:
            room.pipes.append(LineString(points(line)))
    elif word == "level":
        room.levels.append((shape(line), "stairs" in line.split()))
    elif word == "door":
        number, begin, end = DOOR.search(line).group(1, 2, 4)
        room.doors.append((int(number), float(begin), float(end)))
    elif word in ("junction", "thermostat"):
        room.places[line.split()[1]] = points(line)[0]
    elif word == "sensor":
        room.sensors.append(LineString([room.places[SENSOR.match(line)[1]], *points(line)]))


# ---- checking


class Runs:
    """Every run of a room as arrays, and a tree of them."""

    def __init__(self, cables):
        ways = [np.asarray(cable) for cable in cables if len(cable) > 1]
        self.start = np.concatenate([way[:-1] for way in ways])
        self.end = np.concatenate([way[1:] for way in ways])
        self.cable = np.repeat(np.arange(len(ways)), [len(way) - 1 for way in ways])
        self.step = self.end - self.start
        self.length = np.hypot(*self.step.T)
        before = np.concatenate([[0.0], np.cumsum(self.length)[:-1]])
        first = np.searchsorted(self.cable, self.cable)
        self.before = before - before[first]
        self.lines = shapely.linestrings(np.stack([self.start, self.end], axis=1))
        self.tree = STRtree(self.lines)

    def near(self, shapes, distance):
        """Pairs (shape, run) within a distance."""
        if not len(shapes):
            return np.empty((2, 0), dtype=int)
        return self.tree.query(shapes, predicate="dwithin", distance=distance)


def spacing(runs):
    i, j = runs.near(runs.lines, SPACING)
    i, j = i[i < j], j[i < j]
    distance = shapely.distance(runs.lines[i], runs.lines[j])
    same = runs.cable[i] == runs.cable[j]
    consecutive = same & (j == i + 1)
    # A run folded back lies on the one before it.
    cross = runs.step[i, 0] * runs.step[j, 1] - runs.step[i, 1] * runs.step[j, 0]
    dot = (runs.step[i] * runs.step[j]).sum(axis=1)
    folded = (np.abs(cross) <= TOUCH * np.maximum(runs.length[i], runs.length[j])) & (dot < 0)
    crossing = np.where(consecutive, folded, distance <= TOUCH)
    close = ~crossing & (distance < SPACING - TOUCH)
    k = np.flatnonzero(close & same)
    close[k] = least_along(runs, i[k], j[k], math.pi / 2 * SPACING) < SPACING - TOUCH
    return {"crossing": crossing.sum(), "spacing": close.sum()}


def least_along(runs, i, j, least):
    """The least distance of runs of one cable, for points with at least `least` of cable between them."""
    nearest = shapely.get_coordinates(shapely.shortest_line(runs.lines[i], runs.lines[j])).reshape(-1, 2, 2)
    on_i = np.hypot(*(nearest[:, 0] - runs.start[i]).T)
    on_j = np.hypot(*(nearest[:, 1] - runs.start[j]).T)
    apart = runs.before[j] - runs.before[i]
    distance = np.hypot(*(nearest[:, 0] - nearest[:, 1]).T)
    # Where the nearest points are a turn, the least lies where just so much cable is between: both points move alike.
    k = np.flatnonzero(apart + on_j - on_i < least)
    i, j, shift = i[k], j[k], least - apart[k]
    low, high = np.maximum(0.0, -shift), np.minimum(runs.length[i], runs.length[j] - shift)
    unit_i, unit_j = runs.step[i] / runs.length[i, None], runs.step[j] / runs.length[j, None]
    offset, drift = runs.start[i] - runs.start[j] - unit_j * shift[:, None], unit_i - unit_j
    square = (drift * drift).sum(axis=1)
    way = np.where(square > 0, -(offset * drift).sum(axis=1) / np.where(square > 0, square, 1.0), low)
    way = np.clip(way, low, np.maximum(low, high))
    distance[k] = np.where(low <= high, np.hypot(*(offset + drift * way[:, None]).T), np.inf)
    return distance


def walls(room, runs):
    distance = shapely.distance(runs.lines, room.outline.exterior)
    shapely.prepare(room.outline)
    out = np.flatnonzero(~shapely.covers(room.outline, runs.lines))
    outside = np.zeros(len(runs.lines))
    outside[out] = shapely.length(shapely.difference(runs.lines[out], room.outline))
    off_floor = outside > TOUCH
    return {"off-floor": off_floor.sum(), "wall-clearance": (~off_floor & (distance < CLEARANCE - TOUCH)).sum()}


def lengths_inside(zones, runs, zone, run):
    within = shapely.length(shapely.intersection(runs.lines[run], zones[zone]))
    return within - shapely.length(shapely.intersection(runs.lines[run], shapely.boundary(zones[zone])))


def areas(room, runs):
    fixtures, drills = np.array(room.fixtures, dtype=object), np.array(room.drills, dtype=object)
    zone, run = runs.near(fixtures, CLEARANCE)
    distance = shapely.distance(fixtures[zone], runs.lines[run])
    inside = lengths_inside(fixtures, runs, zone, run) > TOUCH
    near = ~inside & (distance < CLEARANCE - TOUCH)
    # Nearer than the clearance or inside, which is nearer yet.
    zone, run = runs.near(drills, CLEARANCE - TOUCH)
    return {"fixture-overlap": inside.sum(), "fixture-clearance": near.sum(), "drill-zone": len(run)}


def lines(room, runs):
    joints, pipes = np.array(room.joints, dtype=object), np.array(room.pipes, dtype=object)
    zone, run = runs.near(pipes, CLEARANCE)
    near = shapely.distance(pipes[zone], runs.lines[run]) < CLEARANCE - TOUCH
    return {"movement-joint": runs.near(joints, CLEARANCE - TOUCH).shape[1], "pipe-clearance": near.sum()}


def sensors(room, runs, pitch):
    found = Counter({"sensor-crossed": runs.near(np.array(room.sensors, dtype=object), TOUCH).shape[1]})
    for conduit in room.sensors:
        gaps = beside(runs, np.array(conduit.coords[-1]))
        found["sensor-between-runs"] += len(gaps) < 2 or abs(gaps[1] - gaps[0]) / 2 > OFF_CENTRE
        # The heated floor reaches half a pitch from the cable, and over the whole channel that the sensor lies in.
        reach = max(sum(gaps) / 2 if len(gaps) == 2 else 0.0, max(pitch.values(), default=0.0) / 2)
        found["sensor-depth"] += depth(runs, conduit, reach) < DEPTH - DEPTH_MISS - TOUCH
    return found


def beside(runs, tip):
    """How far from a sensor's tip the nearest run lies, and the nearest on the other side."""
    low, high = np.array(shapely.total_bounds(runs.lines)).reshape(2, 2)
    nearest = runs.tree.nearest(Point(tip))
    gap = runs.lines[nearest].distance(Point(tip))
    if gap <= TOUCH:
        return [gap]
    foot = np.array(shapely.shortest_line(runs.lines[nearest], Point(tip)).coords[0])
    far = tip + (tip - foot) / gap * (np.hypot(*(high - low)) + np.hypot(*(tip - low)))
    opposite = runs.near([LineString([tip, far])], TOUCH)[1]
    across = shapely.distance(runs.lines[opposite], Point(tip))
    # Runs along the ray itself don't lie on the other side.
    ray = (far - tip) / np.hypot(*(far - tip))
    across = across[np.abs(runs.step[opposite, 0] * ray[1] - runs.step[opposite, 1] * ray[0]) > TOUCH]
    return [gap, across.min()] if len(across) else [gap]


def depth(runs, conduit, reach):
    """How far a conduit's last unbroken stretch within reach of a run goes back from its tip."""
    # The middle of a channel lies just so far from both its sides.
    reach += 1e-6
    near = runs.near([conduit], reach)[1]
    heated = shapely.union_all(shapely.buffer(runs.lines[near], reach))
    inside = shapely.get_parts(shapely.intersection(conduit, heated))
    tip = shapely.get_point(conduit, -1)
    return shapely.length(inside[shapely.distance(inside, tip) <= TOUCH]).sum()


def levels(room, runs):
    """Runs on another level than their cable's start, or on stairs."""
    off_level = set()
    zones = np.array([level for level, _ in room.levels], dtype=object)
    zone, run = runs.near(zones, 0.0)
    inside = lengths_inside(zones, runs, zone, run) > TOUCH
    for z, r in zip(zone[inside], run[inside]):
        level, stairs = room.levels[z]
        if stairs or not level.contains(Point(room.cables[runs.cable[r]][0])):
            off_level.add(r)
    return {"single-level": len(off_level)}


def doorways(room, runs):
    corners = np.asarray(room.outline.exterior.coords)
    lines = []
    for number, begin, end in room.doors:
        a, b = corners[number - 1], corners[number]
        step = (b - a) / np.hypot(*(b - a))
        lines.append(LineString([a + step * begin, a + step * end]))
    lines = np.array(lines, dtype=object)
    zone, run = runs.near(lines, THRESHOLD)
    return {"doorway": (shapely.distance(lines[zone], runs.lines[run]) < THRESHOLD - TOUCH).sum()}


def leads(room, runs):
    """Cold tails on runs but where they join their own, and tails and conduits in drill zones."""
    own = [(k, LineString(tail)) for k, tail in enumerate(room.tails) if len(tail) > 1]
    tails = np.array([tail for _, tail in own], dtype=object)
    tail, run = runs.near(tails, TOUCH)
    cable = np.array([k for k, _ in own], dtype=int)[tail]
    first = (runs.cable[run] == cable) & (runs.before[run] == 0.0)
    # Its own first run it joins at the start, and nowhere else.
    shared = shapely.intersection(tails[tail[first]], runs.lines[run[first]])
    beyond = shapely.hausdorff_distance(shared, shapely.points(runs.start[run[first]])) > TOUCH
    lines = np.concatenate([tails, np.array(room.sensors, dtype=object)])
    drilled = 0
    if room.drills and len(lines):
        drills = np.array(room.drills, dtype=object)[:, None]
        drilled = (shapely.distance(drills, lines[None, :]) < CLEARANCE - TOUCH).sum()
    return {"tail-crossing": (~first).sum() + beyond.sum(), "drilled-lead": drilled}


def kits(room):
    """Cables that aren't as long as their kits, with their corners rounded as far as there is room, and corners that have too little."""
    tight = unfit = 0
    for cable, kit in zip(room.cables, room.kits):
        bend = kit.get("bend-radius", 0.0)
        step = np.diff(np.asarray(cable), axis=0)
        run = np.hypot(*step.T)
        cosine = (step[:-1] * step[1:]).sum(axis=1) / (run[:-1] * run[1:])
        angle = np.arccos(np.clip(cosine, -1.0, 1.0))
        half = run / 2
        half[[0, -1]] = run[[0, -1]]
        room_for = np.minimum(half[:-1], half[1:])
        turns = (angle > 1e-6) & (angle < math.pi - 1e-6)
        tangent = np.tan(angle[turns] / 2)
        radius = np.minimum(bend, room_for[turns] / tangent)
        tight += (room_for[turns] / tangent < bend - TOUCH).sum()
        laid = run.sum() - (radius * (2 * tangent - angle[turns])).sum()
        if whole := kit.get("length"):
            unfit += not whole * (1 - OVER) - TOUCH <= laid <= whole * (1 + SHORT) + TOUCH
    return {"bend-radius": tight, "laid-length": unfit}


def pitches(runs):
    """Of each cable how far apart its runs lie, the median over their lengths."""
    middles = (runs.start + runs.end) / 2
    i, j = runs.near(shapely.points(middles), 400.0)
    kept = (runs.cable[i] == runs.cable[j]) & (np.abs(i - j) > 1)
    i, j = i[kept], j[kept]
    unit = runs.step[i] / runs.length[i, None]
    cross = np.abs(unit[:, 0] * runs.step[j, 1] - unit[:, 1] * runs.step[j, 0])
    away = runs.start[j] - middles[i]
    along = (away * unit).sum(axis=1)
    reach = along + (runs.step[j] * unit).sum(axis=1)
    gap = np.abs(unit[:, 0] * away[:, 1] - unit[:, 1] * away[:, 0])
    beside = (cross < 1e-3 * runs.length[j]) & (np.minimum(along, reach) <= 0) & (np.maximum(along, reach) >= 0) & (gap > TOUCH)
    least = np.full(len(runs.length), np.inf)
    np.minimum.at(least, i[beside], gap[beside])
    found = {}
    for cable in range(runs.cable[-1] + 1):
        own = np.flatnonzero((runs.cable == cable) & np.isfinite(least))
        if len(own):
            own = own[np.argsort(least[own])]
            whole = np.cumsum(runs.length[own])
            found[cable] = least[own[np.searchsorted(whole, whole[-1] / 2)]]
    return found


def widened(cable, by):
    """A cable's surroundings. A long one is widened in parts, as the cost of each grows with its square."""
    parts = [LineString(cable[k : k + 41]) for k in range(0, len(cable) - 1, 40)]
    return shapely.union_all(shapely.buffer(parts, by))


def coverage(room, pitch):
    free = room.outline.buffer(-CLEARANCE)
    if room.fixtures:
        free = free.difference(shapely.union_all(room.fixtures).buffer(CLEARANCE))
    ways = [cable for cable in room.cables if len(cable) > 1]
    found = Counter()
    if whole := sum(kit.get("length", 0.0) for kit in room.kits):
        least, most = PITCHES
        wanted = free.area / whole
        found["kit-size"] = not least - TOUCH <= wanted <= (SCREED_PITCH if room.cable_layer >= SCREED else most) + TOUCH
    if len(pitch) == len(ways):
        # Strips that only just meet make GEOS stumble; these overlap by a hair.
        strips = [widened(way, pitch[k] / 2 + 0.01) for k, way in enumerate(ways)]
        heated = shapely.union_all(strips).intersection(free)
        found["heated-share"] = heated.area < SHARE * free.area
    cold = free.difference(shapely.union_all([widened(way, COLD) for way in ways]))
    found["cold-patch"] = sum(part.area >= CRUMB for part in shapely.get_parts(cold))
    return found


# The rules beside whose findings a rule says nothing; in the order in which they are asked.
UNLESS = {
    "kit-size": ["laid-length"],
    "cold-patch": ["laid-length", "kit-size"],
    "heated-share": ["laid-length", "kit-size", "cold-patch"],
}


def check(room):
    """How many findings of each rule a room has."""
    runs = Runs(room.cables)
    pitch = pitches(runs)
    checks = [spacing(runs), walls(room, runs), kits(room), sensors(room, runs, pitch), coverage(room, pitch)]
    checks += [made(room, runs) for made in (areas, lines, doorways, levels, leads)]
    found = sum((Counter({rule: int(count) for rule, count in found.items()}) for found in checks), Counter())
    for rule, others in UNLESS.items():
        if any(found[other] for other in others):
            del found[rule]
    return found


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("--most", type=int)
    chosen = arguments.parse_args()
    files = sorted(chosen.folder.glob("*.lay"))[: chosen.most]
    begun = time.perf_counter()
    plans, found = 0, Counter()
    for file in files:
        rooms = [room for room in read(file)[0] if room.outline is not None]
        plans += bool(rooms)
        found += sum((check(room) for room in rooms if any(len(cable) > 1 for cable in room.cables)), Counter())
    seconds = time.perf_counter() - begun
    print(json.dumps({"plans": plans, "findings": dict(sorted(found.items())), "seconds": round(seconds, 4)}))


if __name__ == "__main__":
    main()
