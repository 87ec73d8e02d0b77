"""Draws plans at random, sound ones and broken ones, the same ones every time.

All coordinates are whole micrometres: then a touch is a touch, and no rounding stands between the text and the shape.
A plan is first sketched upright at the origin, and a frame then turns and moves it to where it is to lie.
"""

import math
import random

HEADINGS = {(1, 0): "east", (0, 1): "north", (-1, 0): "west", (0, -1): "south"}
# Legs and hypotenuse of turns that take whole numbers to whole numbers.
EXACT_TURNS = [(3, 4, 5), (4, 3, 5), (5, 12, 13), (12, 5, 13), (8, 15, 17), (24, 7, 25)]
PITCHES = [30, 40, 50, 60, 70, 75, 75, 80, 90, 100, 100, 110, 120, 125, 140, 150]


class Unfit(Exception):
    """This drawing is not to be used; another has to be tried."""


class AtLimit(Unfit):
    """Another spacing limit has to be tried."""


class Dice:
    """Only `random()` itself is drawn on, whose sequence no Python version has changed."""

    def __init__(self, seed):
        self.source = random.Random(seed)

    def share(self):
        return self.source.random()

    def chance(self, share):
        return self.share() < share

    def whole(self, low, high):
        return low + int(self.share() * (high - low + 1))

    def between(self, low, high):
        return low + self.share() * (high - low)

    def pick(self, choices):
        return choices[int(self.share() * len(choices))]

    def sign(self):
        return self.pick([-1, 1])


class Frame:
    """Turns sketched points and moves them. `step` is what sketched coordinates must be multiples of."""

    def __init__(self, kind, dice):
        self.kind = kind
        self.headings = kind == "square"
        if kind == "square":
            a, b = dice.pick([(1, 0), (0, 1), (-1, 0), (0, -1)])
            self.step = dice.pick([1000, 1000, 1000, 500, 100, 10, 1])
        elif kind == "exact":
            a, b, k = dice.pick(EXACT_TURNS)
            a, b = a * dice.sign(), b * dice.sign()
            self.over = k
            self.step = dice.pick([k, 1000 if 1000 % k == 0 else 100 * k, 200 * k])
        else:
            angle = dice.between(0.0, math.tau)
            a, b = math.cos(angle), math.sin(angle)
            self.step = 1
        flip = dice.sign()
        self.matrix = (a, -b * flip, b, a * flip)
        self.offset = dice.pick(
            [
                lambda: (0, 0),
                lambda: (0, 0),
                lambda: (1000 * dice.whole(-9000, 9000), 1000 * dice.whole(-9000, 9000)),
                lambda: (dice.whole(-9_000_000, 9_000_000), dice.whole(-9_000_000, 9_000_000)),
                lambda: (dice.whole(-490_000_000, 490_000_000), dice.whole(-490_000_000, 490_000_000)),
            ]
        )()

    def turned(self, x, y):
        a, b, c, d = self.matrix
        x, y = a * x + b * y, c * x + d * y
        if self.kind == "exact":
            if x % self.over or y % self.over:
                raise AssertionError("a sketched coordinate is no multiple of its frame's step")
            return x // self.over, y // self.over
        return round(x), round(y)

    def point(self, p):
        x, y = self.turned(*p)
        return x + self.offset[0], y + self.offset[1]


class Cable:
    """A cable's statements, and the points they lead through, as sketched."""

    def __init__(self, x, y):
        self.entries = []
        self.points = [(x, y)]

    @property
    def here(self):
        return self.points[-1]

    def to(self, x, y):
        if (x, y) != self.here:
            self.entries.append(("to", (x, y)))
            self.points.append((x, y))

    def by(self, dx, dy):
        if dx and dy:
            self.to(self.here[0] + dx, self.here[1] + dy)
        elif dx or dy:
            self.entries.append(("by", (dx, dy)))
            self.points.append((self.here[0] + dx, self.here[1] + dy))

    def loops(self, count, along, across):
        self.entries.append(("loops", count, along, across))
        (x, y), (ax, ay), (sx, sy) = self.here, along, across
        for row in range(count):
            foot = (x + row * sx, y + row * sy)
            far = (foot[0] + ax, foot[1] + ay)
            first, last = (foot, far) if row % 2 == 0 else (far, foot)
            self.points += [last] if row == 0 else [first, last]

    @property
    def runs(self):
        return len(self.points) - 1


class Sketch:
    """A plan while it is being drawn."""

    def __init__(self, dice, frame, most_runs):
        self.dice = dice
        self.frame = frame
        self.most_runs = most_runs
        self.outline = []
        self.boxes = []
        self.fixtures = []
        self.drills = []
        self.lines = []
        self.levels = []
        self.sensor = None
        self.cables = []
        self.pitch = None
        self.fine = frame.step < 500 and dice.chance(0.6)

    def mm(self, value):
        """Millimetres as a sketched coordinate."""
        return round(value * 1000 / self.frame.step) * self.frame.step

    def size(self, low, high):
        """A length from `low` to `high` mm, most often a round one."""
        if self.fine:
            return self.mm(self.dice.between(low, high))
        return self.mm(min(high, 10 * self.dice.whole(math.ceil(low / 10), int(high / 10))))

    def any_pitch(self):
        """A pitch that halves exactly."""
        value = self.dice.between(30, 150) if self.dice.chance(0.2) else self.dice.pick(PITCHES)
        self.pitch = 2 * self.mm(value / 2)
        return self.pitch

    def inset(self):
        """How far cables keep from walls."""
        return self.dice.pick([self.pitch // 2, self.pitch // 2, self.mm(50), self.mm(self.dice.whole(30, 120))])

    @property
    def runs(self):
        return sum(cable.runs for cable in self.cables)

    @property
    def left(self):
        return self.most_runs - self.runs


# ---- rooms: each gives the outline, counter-clockwise, and boxes that lie in it


def rectangle(s):
    w, h = s.size(1500, 4500), s.size(1200, 3500)
    s.outline = [(0, 0), (w, 0), (w, h), (0, h)]
    s.boxes = [(0, 0, w, h)]


def ell(s):
    w, h = s.size(2200, 4800), s.size(2000, 4200)
    a, b = s.size(600, 1200), s.size(600, 1200)
    s.outline = [(0, 0), (w, 0), (w, h - b), (w - a, h - b), (w - a, h), (0, h)]
    s.boxes = [(0, 0, w, h - b), (0, 0, w - a, h), (0, h - b, w - a, h)]


def tee(s):
    w, h = s.size(2600, 5000), s.size(2000, 4000)
    a, b, d = s.size(500, 900), s.size(500, 900), s.size(700, 1100)
    s.outline = [(a, 0), (w - b, 0), (w - b, h - d), (w, h - d), (w, h), (0, h), (0, h - d), (a, h - d)]
    s.boxes = [(0, h - d, w, h), (a, 0, w - b, h), (a, 0, w - b, h - d)]


def you(s):
    w, h = s.size(2600, 5000), s.size(2000, 4000)
    a, b, d = s.size(700, 1100), s.size(700, 1100), s.size(500, 1100)
    s.outline = [(0, 0), (w, 0), (w, h), (w - b, h), (w - b, h - d), (a, h - d), (a, h), (0, h)]
    s.boxes = [(0, 0, w, h - d), (0, 0, a, h), (w - b, 0, w, h)]


def cross(s):
    w, h = s.size(2600, 4600), s.size(2600, 4600)
    a, b = s.size(500, 900), s.size(500, 900)
    s.outline = [
        (a, 0), (w - a, 0), (w - a, b), (w, b), (w, h - b), (w - a, h - b),
        (w - a, h), (a, h), (a, h - b), (0, h - b), (0, b), (a, b),
    ]  # fmt: skip
    s.boxes = [(0, b, w, h - b), (a, 0, w - a, h)]


def comb(s):
    w, h = s.size(3600, 5000), s.size(2000, 3500)
    d, t = s.size(400, 1200), s.size(150, 500)
    x, y = s.size(800, 1200), s.size(1900, 2600)
    s.outline = [
        (0, 0), (w, 0), (w, h), (y + t, h), (y + t, h - d), (y, h - d), (y, h),
        (x + t, h), (x + t, h - d), (x, h - d), (x, h), (0, h),
    ]  # fmt: skip
    s.boxes = [(0, 0, w, h - d), (0, 0, x, h), (x + t, 0, y, h), (y + t, 0, w, h)]


def bay(s):
    w, h = s.size(2600, 4500), s.size(1600, 3200)
    a, b, d = s.size(200, 600), s.size(150, 500), s.size(250, 700)
    s.outline = [(0, 0), (w, 0), (w, h), (w - a, h), (w - a - b, h + d), (a + b, h + d), (a, h), (0, h)]
    s.boxes = [(0, 0, w, h), (a + b, 0, w - a - b, h + d)]


def cut(s):
    w, h = s.size(2000, 4500), s.size(1800, 3500)
    a, b, c, d = (s.size(200, 800) for _ in range(4))
    s.outline = [(a, 0), (w, 0), (w, h - b), (w - c, h), (0, h), (0, d)]
    s.boxes = [(0, d, w, h - b), (a, 0, w - c, h)]


def slanted(s):
    w, h = s.size(2400, 4500), s.size(1800, 3500)
    a, b = s.size(100, 700), s.size(100, 700)
    s.outline = [(0, 0), (w, 0), (w - a, h), (b, h - s.mm(s.dice.whole(0, 300)))]
    s.boxes = [(b, 0, w - a, h - s.mm(300))]


def star(s):
    corners = s.dice.whole(5, 9)
    reach = s.dice.between(1200, 2600)
    for k in range(corners):
        angle = math.tau * (k + s.dice.between(-0.3, 0.3)) / corners
        radius = reach * s.dice.between(0.55, 1.0)
        s.outline.append((s.mm(reach + radius * math.cos(angle)), s.mm(reach + radius * math.sin(angle))))
    side = 0.36 * reach
    s.boxes = [(s.mm(reach - side), s.mm(reach - side), s.mm(reach + side), s.mm(reach + side))]


ROOMS = [rectangle, ell, tee, you, cross, comb, bay, cut, slanted, star]


def any_room(s):
    s.dice.pick(ROOMS)(s)


# ---- shapes on the floor


def rect(s, x, y, w, h):
    return ("rect", (x, y), (x + w, y + h))


def any_shape(s, x, y, least=60, most=600):
    """Some shape near (x, y)."""
    d = s.dice
    kind = d.pick(["rect", "rect", "circle", "circle", "polygon", "polygon", "hook", "strip"])
    if kind == "rect":
        return rect(s, x, y, s.size(least, most), s.size(least, most))
    if kind == "circle":
        return ("circle", (x, y), s.size(least / 2, most / 2))
    if kind == "hook":
        w, h = s.size(least + 40, most), s.size(least + 40, most)
        a, b = w // s.frame.step // 2 * s.frame.step, h // s.frame.step // 3 * s.frame.step
        points = [(x, y), (x + w, y), (x + w, y + b), (x + a, y + b), (x + a, y + h), (x, y + h)]
    elif kind == "strip":
        width = 2 * s.mm(d.whole(20, 60))
        long, short = s.size(4 * width / 1000, 4 * width / 1000 + most), s.size(3 * width / 1000, 3 * width / 1000 + most)
        points = [(x, y), (x + long, y)]
        if d.chance(0.7):
            points.append((x + long, y + short * d.sign()))
            if d.chance(0.4):
                points.append((x + 2 * long, points[-1][1]))
        if d.chance(0.25):
            points = [(x, y), (x + long, y + short), (x + 2 * long, y)]
        if d.chance(0.5):
            points.reverse()
        return ("strip", points, width)
    else:
        corners = d.whole(3, 6)
        radius = d.between(least, most) / 2
        points = []
        for k in range(corners):
            angle = math.tau * (k + d.between(-0.25, 0.25)) / corners
            reach = radius * d.between(0.6, 1.0)
            points.append((x + s.mm(reach * math.cos(angle)), y + s.mm(reach * math.sin(angle))))
    if d.chance(0.5):
        points.reverse()
    return ("polygon", points)


def somewhere(s, box=None):
    x0, y0, x1, y1 = box or s.dice.pick(s.boxes)
    return x0 + s.mm(s.dice.share() * (x1 - x0) / 1000), y0 + s.mm(s.dice.share() * (y1 - y0) / 1000)


def corner_fixture(s):
    """A rectangle in the corner of a box, which most often is one of the room."""
    x0, y0, x1, y1 = s.dice.pick(s.boxes)
    w, h = s.size(150, 800), s.size(150, 800)
    return rect(s, s.dice.pick([x0, x1 - w]), s.dice.pick([y0, y1 - h]), w, h)


def wall_fixture(s):
    x0, y0, x1, y1 = box = s.dice.pick(s.boxes)
    x, y = somewhere(s, box)
    w, h = s.size(150, 700), s.size(150, 700)
    side = s.dice.whole(0, 3)
    return rect(s, *[(x, y0), (x, y1 - h), (x0, y), (x1 - w, y)][side], w, h)


def hanging_fixture(s):
    """A shape that stands on an edge of a box."""
    x0, y0, x1, y1 = box = s.dice.pick(s.boxes)
    x, y = somewhere(s, box)
    x, y = s.dice.pick([(x, y0), (x, y1), (x0, y), (x1, y)])
    by = s.mm(s.dice.whole(40, 140))
    return any_shape(s, x - by, y - by, 150, 600)


def inner_fixture(s):
    return any_shape(s, *somewhere(s))


def some_fixtures(s, most=3):
    for _ in range(s.dice.whole(0, most)):
        s.fixtures.append(s.dice.pick([corner_fixture, corner_fixture, wall_fixture, hanging_fixture, inner_fixture])(s))


# ---- cables


def serpentine(s, box, pitch, inset, upright=None, most=None):
    """A cable to and fro over a box."""
    x0, y0, x1, y1 = box
    upright = s.dice.chance(0.4) if upright is None else upright
    long, wide = (y1 - y0, x1 - x0) if upright else (x1 - x0, y1 - y0)
    long, wide = long - 2 * inset, wide - 2 * inset
    rows = min(wide // pitch + 1, (min(most or s.left, s.left) + 1) // 2)
    if long < s.mm(60) or wide < 0 or rows < 1:
        raise Unfit("no room for a cable")
    far = [s.dice.chance(0.5), s.dice.chance(0.5)]
    x, y = (x1 - inset if far[0] else x0 + inset), (y1 - inset if far[1] else y0 + inset)
    along, across = (far[1], far[0]) if upright else (far[0], far[1])
    along, across = (-long if along else long), (-pitch if across else pitch)
    cable = Cable(x, y)
    cable.loops(rows, *(((0, along), (across, 0)) if upright else ((along, 0), (0, across))))
    s.cables.append(cable)
    return cable


def split(s, box, parts, gap):
    """A box in parts side by side."""
    x0, y0, x1, y1 = box
    width = (x1 - x0 - (parts - 1) * gap) // parts // s.frame.step * s.frame.step
    return [(x0 + k * (width + gap), y0, x0 + k * (width + gap) + width, y1) for k in range(parts)]


def inside_at(outline, y):
    """The stretches of a level line inside an outline."""
    cuts = []
    for (ax, ay), (bx, by) in zip(outline, outline[1:] + outline[:1]):
        if (ay > y) != (by > y):
            cuts.append(ax + (bx - ax) * (y - ay) / (by - ay))
    cuts.sort()
    return list(zip(cuts[::2], cuts[1::2]))


def row_cable(s, pitch, inset):
    """A cable row by row through a room of any shape, each row as long as it finds room."""
    low, high = min(y for _, y in s.outline), max(y for _, y in s.outline)
    first = low + s.dice.whole(0, 3) * pitch + inset
    least = 2 * inset + s.mm(150)

    def both(spans, others):
        """What two lists of stretches have in common, where it is long enough."""
        common = [(max(a, c), min(b, d)) for a, b in spans for c, d in others]
        return [(a, b) for a, b in common if b - a > least]

    rows = []
    for k in range(200):
        y = first + k * pitch
        if y > high - inset or 2 * len(rows) > s.left - 4:
            break
        # A row must find room above and below too, and lie over the one before it.
        spans = both(both(inside_at(s.outline, y), inside_at(s.outline, y - inset + 1)), inside_at(s.outline, y + inset - 1))
        if rows:
            _, west, east = rows[-1]
            spans = [span for span in spans if both([span], [(west - inset, east + inset)])]
        if spans:
            west, east = max(spans, key=lambda span: span[1] - span[0])
            rows.append((y, s.mm(west / 1000) + inset + s.frame.step, s.mm(east / 1000) - inset - s.frame.step))
        elif rows:
            break
    if len(rows) < 2:
        raise Unfit("no rows")
    cable = Cable(rows[0][1], rows[0][0])
    for k, (_, west, east) in enumerate(rows):
        eastward = k % 2 == 0
        end = east if eastward else west
        if k + 1 < len(rows):
            end = min(end, rows[k + 1][2]) if eastward else max(end, rows[k + 1][1])
        cable.by(end - cable.here[0], 0)
        if k + 1 < len(rows):
            cable.by(0, pitch)
    s.cables.append(cable)
    return cable


# ---- families


def plain(s):
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 2)
    serpentine(s, s.dice.pick(s.boxes), pitch, s.inset())


def rows(s):
    s.dice.pick(ROOMS[1:])(s)
    pitch = s.any_pitch()
    some_fixtures(s, 2)
    row_cable(s, pitch, s.inset())


def several(s):
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 2)
    count = s.dice.whole(2, 3)
    gap = s.dice.pick([0, -pitch, s.mm(s.dice.whole(1, 60)), -s.mm(s.dice.whole(1, 60))])
    boxes = split(s, s.dice.pick(s.boxes), count, gap) if s.dice.chance(0.6) else s.boxes[:count]
    most = s.most_runs // count
    for box in boxes:
        own = pitch if s.dice.chance(0.7) else 2 * s.mm(s.dice.whole(15, 75))
        serpentine(s, box, own, pitch // 2 if s.dice.chance(0.5) else s.mm(s.dice.whole(20, 110)), most=most)


def apart(s):
    """Cables that keep clear of each other, side by side or one round the other's corner, or at a slant."""
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 1)
    box = s.dice.pick(s.boxes)
    inset = s.inset()
    if s.dice.chance(0.5):
        gap = s.mm(s.dice.whole(-150, 300))
        for part in split(s, box, s.dice.whole(2, 3), gap):
            own = pitch if s.dice.chance(0.5) else 2 * s.mm(s.dice.whole(15, 75))
            serpentine(s, part, own, inset, most=s.most_runs // 3)
        return
    x0, y0, x1, y1 = box
    middle = (x0 + x1) // 2 // s.frame.step * s.frame.step
    serpentine(s, (x0, y0, middle, y1), pitch, inset, most=s.most_runs // 2)
    east = s.mm(s.dice.whole(5, 200))
    if x1 - middle - east < s.mm(200):
        raise Unfit("no room beside it")
    other = Cable(middle + east, y0 + s.mm(s.dice.whole(60, 400)))
    other.to(middle + east + s.mm(s.dice.whole(0, 300)), y0 + s.mm(s.dice.whole(450, 900)))
    if s.dice.chance(0.5):
        other.to(middle + east + s.mm(s.dice.whole(310, 600)), y0 + s.mm(s.dice.whole(60, 900)))
    s.cables.append(other)


def joined(s):
    """One cable over one box and then another."""
    s.dice.pick(ROOMS[1:8])(s)
    pitch = s.any_pitch()
    some_fixtures(s, 1)
    inset = s.inset()
    first = serpentine(s, s.boxes[0], pitch, inset, most=s.most_runs // 2)
    second = serpentine(s, s.boxes[1], pitch, inset, most=s.most_runs // 2)
    s.cables.pop()
    first.to(*second.points[0])
    for p, q in zip(second.points, second.points[1:]):
        first.by(q[0] - p[0], q[1] - p[1])


def columns(s):
    any_room(s)
    pitch = s.any_pitch()
    for _ in range(s.dice.whole(1, 5)):
        s.fixtures.append(inner_fixture(s))
    if s.dice.chance(0.5):
        serpentine(s, s.dice.pick(s.boxes), pitch, s.inset())
    else:
        row_cable(s, pitch, s.inset())


def corners(s):
    """Fixtures that share edges with walls, overlap and hang out."""
    any_room(s)
    pitch = s.any_pitch()
    for make in (corner_fixture, wall_fixture, corner_fixture, hanging_fixture):
        if s.dice.chance(0.75):
            s.fixtures.append(make(s))
    if s.fixtures and s.dice.chance(0.6):
        x, y = s.fixtures[-1][1] if s.fixtures[-1][0] in ("rect", "circle") else s.fixtures[-1][1][0]
        s.fixtures.append(any_shape(s, x + s.mm(s.dice.whole(10, 90)), y + s.mm(s.dice.whole(10, 90)), 100, 400))
    serpentine(s, s.dice.pick(s.boxes), pitch, s.inset())


def astray(s):
    """Cables that leave the room."""
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 2)
    x0, y0, x1, y1 = s.dice.pick(s.boxes)
    out = [s.mm(s.dice.whole(-400, 500)) for _ in range(4)]
    serpentine(s, (x0 - out[0], y0 - out[1], x1 + out[2], y1 + out[3]), pitch, s.mm(s.dice.whole(0, 90)))
    if s.dice.chance(0.4) and s.left > 4:
        x, y = somewhere(s)
        cable = Cable(x, y)
        for _ in range(s.dice.whole(1, 4)):
            cable.to(*[c + s.mm(s.dice.whole(-2500, 2500)) for c in somewhere(s)])
        s.cables.append(cable)


def drills(s):
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 1)
    for _ in range(s.dice.whole(1, 4)):
        s.drills.append(any_shape(s, *somewhere(s), 40, 300))
    serpentine(s, s.dice.pick(s.boxes), pitch, s.inset())


def scribble(s):
    """Lines on a coarse grid that cross and meet themselves and one another at its points."""
    d = s.dice
    grid = s.mm(d.pick([50, 100, 125, 200, 250]))
    wide, high = d.whole(8, 16), d.whole(7, 13)
    s.outline = [(0, 0), (wide * grid, 0), (wide * grid, high * grid), (0, high * grid)]
    if d.chance(0.6):
        a, b = d.whole(2, wide // 2), d.whole(2, high // 2)
        corner = [(wide - a) * grid, (high - b) * grid]
        s.outline[2:3] = [(wide * grid, corner[1]), tuple(corner), (corner[0], high * grid)]
    elif d.chance(0.5):
        s.outline[2:3] = [(wide * grid, (high - 3) * grid), ((wide - 4) * grid, high * grid)]
    s.boxes = [(0, 0, wide * grid, high * grid // 2 // s.frame.step * s.frame.step)]
    for _ in range(d.whole(0, 2)):
        x, y = d.whole(0, wide - 3), d.whole(0, high - 3)
        s.fixtures.append(rect(s, x * grid, y * grid, d.whole(1, 3) * grid, d.whole(1, 3) * grid))
    if d.chance(0.3):
        s.fixtures.append(("circle", (d.whole(1, wide - 1) * grid, d.whole(1, high - 1) * grid), grid))
    if d.chance(0.3):
        s.drills.append(rect(s, d.whole(0, wide - 3) * grid, d.whole(0, high - 3) * grid, grid, 2 * grid))
    count = d.whole(1, 3)
    margin = d.pick([0, 0, 1])
    slanting = d.pick([0.0, 0.3, 0.6])
    for _ in range(count):
        x, y = d.whole(1, wide - 1), d.whole(1, high - 1)
        cable = Cable(x * grid, y * grid)
        for _ in range(d.whole(2, max(2, s.most_runs // count // 2))):
            nx, ny = d.whole(-margin, wide + margin), d.whole(-margin, high + margin)
            if not d.chance(slanting):
                nx, ny = d.pick([(nx, y), (x, ny)])
            elif d.chance(0.5):
                reach = d.pick([-3, -2, -1, 1, 2, 3])
                nx, ny = x + reach, y + reach * d.sign()
            if (nx, ny) == (x, y):
                continue
            if nx == x or ny == y:
                cable.by((nx - x) * grid, (ny - y) * grid)
            else:
                cable.to(nx * grid, ny * grid)
            x, y = nx, ny
        if cable.runs:
            s.cables.append(cable)


def tangle(s):
    """Lines anywhere that cross themselves and one another."""
    any_room(s)
    some_fixtures(s, 3)
    count = s.dice.whole(1, 3)
    for _ in range(count):
        cable = Cable(*somewhere(s))
        for _ in range(s.dice.whole(2, max(3, min(30, s.most_runs // count)))):
            cable.to(*somewhere(s))
        s.cables.append(cable)


def touching(s):
    """Ends on sides, overlaps, shared points, returns."""
    d = s.dice
    any_room(s)
    pitch = s.any_pitch()
    x0, y0, x1, y1 = s.boxes[0]
    inset = s.mm(d.whole(60, 200))
    a = serpentine(s, s.boxes[0], pitch, inset, upright=False, most=d.whole(6, 16))
    spots = [d.whole(0, a.runs - 1) for _ in range(6)]

    def on(run):
        """A point on a run of the first cable."""
        (px, py), (qx, qy) = a.points[run], a.points[run + 1]
        if px == qx:
            return px, py + s.mm((qy - py) / 1000 * d.share())
        return px + s.mm((qx - px) / 1000 * d.share()), py

    other = Cable(*somewhere(s))
    for kind in [d.whole(0, 8) for _ in range(d.whole(1, 4))]:
        spot = spots[kind % len(spots)]
        if kind == 0:  # an end on a side
            other.to(*on(spot))
        elif kind == 1:  # through a corner
            other.to(*a.points[spot])
        elif kind == 2:  # along a run for a way
            p, q = on(spot), on(spot)
            other.to(*p)
            other.to(*q)
        elif kind == 3:  # back over itself
            reach = s.mm(d.whole(100, 600)) * d.sign()
            other.by(reach, 0)
            other.by(-d.pick([reach, reach // 2 // s.frame.step * s.frame.step, 2 * reach]), 0)
        elif kind == 4:  # the first cable comes back to a point of its own
            a.to(*somewhere(s))
            a.to(*a.points[spot])
        elif kind == 5:  # the first cable ends on its own side
            a.to(*on(spot))
        elif kind == 6:  # along all of a run
            other.to(*a.points[spot])
            other.to(*a.points[spot + 1])
        elif kind == 7:  # onto a lattice point of its own slanting run
            (hx, hy), n = other.here, d.whole(3, 9)
            ux, uy = s.mm(d.whole(-60, 60)), s.mm(d.whole(-60, 60))
            other.to(hx + n * ux, hy + n * uy)
            other.to(*somewhere(s))
            other.to(hx + 2 * ux, hy + 2 * uy)
        else:  # a slanting run back over itself
            ux, uy = s.mm(d.whole(-150, 150)), s.mm(d.whole(-150, 150))
            other.by(2 * ux, 2 * uy)
            other.by(-ux, -uy)
    if d.chance(0.3):
        other.to(*other.points[0])
    if other.runs:
        s.cables.append(other)
        if d.chance(0.3) and other.runs > 1:  # a third through a point of the second
            third = Cable(*somewhere(s))
            third.to(*other.points[1])
            third.to(*somewhere(s))
            if third.runs:
                s.cables.append(third)


def jogs(s):
    """Very short runs between long ones."""
    d = s.dice
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 1)
    base = serpentine(s, s.dice.pick(s.boxes), pitch, s.inset(), most=max(4, s.most_runs // 3))
    s.cables.pop()
    cable = Cable(*base.points[0])
    step = s.frame.step
    for p, q in zip(base.points, base.points[1:]):
        dx, dy = q[0] - p[0], q[1] - p[1]
        ways = [abs(dx) // step, abs(dy) // step]
        if d.chance(0.5) and max(ways) * step > s.mm(20):
            part = d.whole(1, max(ways) - 1)
            small = max(step, -(-d.pick([10, 10, 20, 50, 100, 500, 1000, 5000, 20_000]) // step) * step) * d.sign()
            if dx:
                first = part * step * (1 if dx > 0 else -1)
                cable.by(first, 0)
                cable.by(0, small)
                cable.by(dx - first, 0)
            else:
                first = part * step * (1 if dy > 0 else -1)
                cable.by(0, first)
                cable.by(small, 0)
                cable.by(0, dy - first)
        else:
            cable.by(dx, dy)
    s.cables.append(cable)


def hugging(s):
    """Runs along walls and along the edges of fixtures."""
    d = s.dice
    any_room(s)
    s.any_pitch()
    x0, y0, x1, y1 = d.pick(s.boxes)
    s.fixtures.append(corner_fixture(s))
    s.fixtures.append(any_shape(s, *somewhere(s), 150, 600))
    n = len(s.outline)
    for _ in range(d.whole(1, 2)):
        cable = Cable(*somewhere(s))
        for _ in range(d.whole(1, 4)):
            kind = d.whole(0, 4)
            if kind <= 1:  # along a wall, some or all of it
                k = d.whole(0, n - 1)
                (px, py), (qx, qy) = s.outline[k], s.outline[(k + 1) % n]
                many = math.gcd(abs(qx - px), abs(qy - py)) // s.frame.step
                ends = [0, many] if many < 3 or d.chance(0.3) else [d.whole(0, many - 1), d.whole(0, many)]
                for t in ends:
                    cable.to(px + (qx - px) // many * t, py + (qy - py) // many * t)
            elif kind == 2:  # round a rectangle
                (ax, ay), (bx, by) = s.fixtures[0][1:]
                ring = [(ax, ay), (bx, ay), (bx, by), (ax, by)]
                k = d.whole(0, 3)
                for t in range(d.whole(2, 4)):
                    cable.to(*ring[(k + t) % 4])
            elif kind == 3:  # along an edge of the other and beyond
                shape = s.fixtures[1]
                if shape[0] == "polygon":
                    k = d.whole(0, len(shape[1]) - 1)
                    (px, py), (qx, qy) = shape[1][k], shape[1][(k + 1) % len(shape[1])]
                    cable.to(px, py)
                    cable.to(px + 2 * (qx - px), py + 2 * (qy - py))
                elif shape[0] == "rect":
                    (ax, ay), (bx, by) = shape[1:]
                    cable.to(ax - s.mm(100), by)
                    cable.to(bx + s.mm(100), by)
                elif shape[0] == "circle":
                    (cx, cy), r = shape[1:]
                    cable.to(cx - 2 * r, cy + r)
                    cable.to(cx + 2 * r, cy + r)
                else:
                    (px, py), (qx, qy) = shape[1][:2]
                    if py == qy:
                        cable.to(px, py + shape[2] // 2)
                        cable.to(qx, py + shape[2] // 2)
            else:
                cable.to(*somewhere(s))
        if cable.runs:
            s.cables.append(cable)


def spiral(s):
    """Inwards, and in a double spiral out again."""
    d = s.dice
    any_room(s)
    pitch = s.any_pitch()
    some_fixtures(s, 1)
    inset = s.inset()
    x0, y0, x1, y1 = d.pick(s.boxes)
    x0, y0, x1, y1 = x0 + inset, y0 + inset, x1 - inset, y1 - inset
    double = d.chance(0.4)
    turn = 2 * pitch if double else pitch

    def inwards(x0, y0, x1, y1):
        way = [(x0, y0)]
        while x1 - x0 > turn and y1 - y0 > turn and len(way) < s.most_runs // (2 if double else 1) - 3:
            way += [(x1, y0), (x1, y1), (x0, y1), (x0, y0 + turn)]
            x0, y0, x1, y1 = x0 + turn, y0 + turn, x1 - turn, y1 - turn
            way.append((x0, y0))
        return way

    way = inwards(x0, y0, x1, y1)
    if double:
        way += inwards(x0 + pitch, y0 + pitch, x1 - pitch, y1 - pitch)[::-1]
    cable = Cable(*way[0])
    for p in way[1:]:
        cable.by(p[0] - cable.here[0], p[1] - cable.here[1])
    s.cables.append(cable)


def zigzag(s):
    """Sharp corners, blunt corners."""
    d = s.dice
    any_room(s)
    s.any_pitch()
    some_fixtures(s, 1)
    x0, y0, x1, y1 = d.pick(s.boxes)
    x, step = x0 + s.mm(100), s.size(15, 160)
    low, high = y0 + s.mm(d.whole(60, 300)), y1 - s.mm(d.whole(60, 300))
    cable = Cable(x, low)
    up = True
    while x + step < x1 - s.mm(80) and cable.runs < min(s.left - 2, 40):
        x += step if d.chance(0.7) else s.size(10, 120)
        cable.to(x, (high if up else low) + s.mm(d.whole(-50, 50)))
        up = not up
        if d.chance(0.2):
            x += s.size(10, 80)
            cable.to(x, cable.here[1])
    s.cables.append(cable)


def hairpins(s):
    """Teeth of one width a different way apart, with short steps at their tips."""
    d = s.dice
    any_room(s)
    s.any_pitch()
    some_fixtures(s, 1)
    x0, y0, x1, y1 = d.pick(s.boxes)
    tooth, apart = s.size(20, 130), s.size(20, 130)
    cable = Cable(x0 + s.mm(70), y0 + s.mm(80))
    long = (y1 - y0) - s.mm(d.whole(160, 300))
    if long < s.mm(200):
        raise Unfit("no room for teeth")
    while cable.here[0] + tooth + apart < x1 - s.mm(70) and cable.runs < min(s.left - 8, 60):
        reach = long - s.mm(d.whole(0, 100))
        cable.by(0, reach)
        if d.chance(0.3):  # wider at the tip
            wide, tip = s.size(5, 40), s.size(10, 80)
            cable.by(-wide, 0)
            cable.by(0, tip)
            cable.by(tooth + 2 * wide, 0)
            cable.by(0, -tip)
            cable.by(-wide, 0)
        else:
            cable.by(tooth, 0)
        cable.by(0, -reach)
        cable.by(apart, 0)
    s.cables.append(cable)


def meander(s):
    """Turns about as large as the spacing, every which way."""
    d = s.dice
    any_room(s)
    s.any_pitch()
    some_fixtures(s, 1)
    ways = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)]
    for _ in range(d.whole(1, 2)):
        x0, y0, x1, y1 = box = d.pick(s.boxes)
        cable = Cable(*somewhere(s, box))
        way = d.whole(0, 7)
        for _ in range(d.whole(4, min(38, max(5, s.left)))):
            way = (way + d.pick([2, -2, 2, -2, 1, -1, 3, -3])) % 8
            reach = s.size(8, 220)
            x, y = cable.here[0] + reach * ways[way][0], cable.here[1] + reach * ways[way][1]
            if x0 < x < x1 and y0 < y < y1:
                cable.by(reach * ways[way][0], reach * ways[way][1])
        if cable.runs > 1:
            s.cables.append(cable)


def ragged(s):
    """A wall of many teeth, and a fixture of many corners, at fractions of a millimetre."""
    d = s.dice
    if s.frame.step > 100:
        raise Unfit("no fractions")
    w, h, west, south = s.mm(d.between(1500, 4800)), s.mm(d.between(1200, 3000)), s.mm(d.between(0, 9)), s.mm(d.between(0, 9))
    teeth = d.whole(22, min(196, w // s.mm(26) - 2))
    deep, tooth = s.mm(d.between(25, 120)), w // (teeth + 1)
    spots = [west + w - (k + 1) * tooth // s.frame.step * s.frame.step for k in range(teeth)]
    teeth = [(x, south + (h - deep if k % 2 == 0 else h)) for k, x in enumerate(spots)]
    s.outline = [(west, south), (west + w, south), (west + w, south + h), *teeth, (west, south + h)]
    s.boxes = [(west, south, west + w, south + h - deep)]
    pitch = s.any_pitch()
    if d.chance(0.6):
        x, y = somewhere(s)
        r, n = s.mm(d.whole(150, 500)), d.whole(25, 60)
        angles = [math.tau * k / n for k in range(n)]
        unit = s.frame.step
        s.fixtures.append(
            ("polygon", [(x + round(r * math.cos(a) / unit) * unit, y + round(r * math.sin(a) / unit) * unit) for a in angles])
        )
    serpentine(s, s.boxes[0], pitch, s.mm(d.between(1, 150)))
    if d.chance(0.3) and s.left > 3:
        cable = Cable(*somewhere(s))
        for _ in range(d.whole(1, 3)):
            cable.to(*somewhere(s))
        if cable.runs:
            s.cables.append(cable)


def sensed(s):
    """A sensor between the runs of one cable, or of several at different spacings."""
    d = s.dice
    d.pick([apart, several, hairpins, zigzag, plain, spiral])(s)
    cable = d.pick(s.cables)
    if not cable.runs:
        raise Unfit("no run beside the sensor")
    run = d.whole(0, cable.runs - 1)
    (px, py), (qx, qy) = cable.points[run], cable.points[run + 1]
    x, y = px + s.mm((qx - px) / 1000 * d.share()), py + s.mm((qy - py) / 1000 * d.share())
    s.sensor = (x + s.mm(d.whole(-110, 110)), y + s.mm(d.whole(-110, 110)))


def terraced(s):
    """Levels and stairs that overlap, with cable on some of them and along their edges."""
    d = s.dice
    d.pick(ROOMS)(s)
    s.any_pitch()
    if d.chance(0.3):
        s.fixtures.append(corner_fixture(s))
    x0, y0, x1, y1 = s.boxes[0]
    for _ in range(d.whole(2, 4)):
        (ax, ay), (bx, by) = somewhere(s), somewhere(s)
        if abs(bx - ax) < s.mm(200) or abs(by - ay) < s.mm(200):
            raise Unfit("no level")
        s.levels.append((d.pick([100, 100, 200, 300, None]), ("rect", (min(ax, bx), min(ay, by)), (max(ax, bx), max(ay, by)))))
    if d.chance(0.6):
        serpentine(s, d.pick(s.boxes), s.pitch, s.inset(), most=d.whole(4, 20))
    for _ in range(d.whole(0 if s.cables else 1, 2)):
        cable = Cable(*somewhere(s))
        for _ in range(d.whole(1, 4)):
            if d.chance(0.5):  # along an edge of a level, some or all of it
                _, (_, (ax, ay), (bx, by)) = d.pick(s.levels)
                ring = [(ax, ay), (bx, ay), (bx, by), (ax, by)]
                k = d.whole(0, 3)
                cable.to(*ring[k])
                cable.to(*ring[(k + 1) % 4])
            else:
                cable.to(*somewhere(s))
        if cable.runs:
            s.cables.append(cable)


# The frames that each family may lie in: where points are to coincide, no turn may round them.
ANY = ["square", "square", "exact", "free"]
SAME = ["square", "square", "exact"]
FAMILIES = [
    (plain, ANY), (rows, ANY), (several, ANY), (joined, ANY), (columns, ANY), (corners, ANY), (astray, ANY), (drills, ANY),
    (scribble, SAME), (tangle, ANY), (touching, SAME), (jogs, SAME), (hugging, SAME), (spiral, ANY), (zigzag, ANY),
    (hairpins, ANY), (meander, ANY), (scribble, SAME), (touching, SAME), (meander, ["square"]),
]  # fmt: skip


# So many plans of every family are followed by plans of cables that keep clear of each other, whose least distance is then no zero, and by
# those of what is asked less often: so many of rooms and fixtures of many corners, of sensors, of levels.
OF_ALL = 540
OF_APART = 120
LATER = [(ragged, 60, ANY), (sensed, 150, ANY), (terraced, 70, SAME)]


def family_of(index):
    if index < OF_ALL:
        return FAMILIES[index % len(FAMILIES)]
    index -= OF_ALL
    if index < OF_APART:
        return apart, ANY
    index -= OF_APART
    for family, count, frames in LATER:
        if index < count:
            return family, frames
        index -= count
    raise IndexError(index)


class Plan:
    """A finished plan, in whole micrometres, with its text."""

    def __init__(self, family, s):
        point = s.frame.point
        dice = s.dice
        self.pitch = s.pitch
        corners = [point(p) for p in s.outline]
        if dice.chance(0.5):
            corners.reverse()
        first = dice.whole(0, len(corners) - 1)
        self.outline = corners[first:] + corners[:first]
        self.fixtures = [self.shape(s, shape) for shape in s.fixtures]
        self.drills = [self.shape(s, shape) for shape in s.drills]
        self.levels = [(height, self.shape(s, shape)) for height, shape in s.levels]
        self.sensor = s.sensor and point(s.sensor)
        self.cables = [[point(p) for p in cable.points] for cable in s.cables]

        text = [f"# {family}", "room r {", "  outline  " + " ".join(map(written, self.outline))]
        for word, letter, shapes in (("fixture", "f", self.fixtures), ("drill", "d", self.drills)):
            for number, shape in enumerate(shapes, 1):
                text.append(f"  {word:8} {letter}{number} {shape_text(shape)}")
        for word, points in s.lines:
            text.append(f"  {word} " + " ".join(written(point(p)) for p in points))
        for number, (height, shape) in enumerate(self.levels, 1):
            text.append(f"  level    l{number} {'stairs' if height is None else f'+{height}'} {shape_text(shape)}")
        if self.sensor:
            text.append(f"  thermostat t {written(self.outline[0])} rated 16 A")
            text.append(f"  sensor   s from t {written(self.sensor)}")
        for name, cable in zip("abc", s.cables):
            text += [f"  cable {name} {{", *self.statements(s, cable), "  }"]
        self.text = "\n".join([*text, "}", ""])

    @staticmethod
    def shape(s, shape):
        kind, point = shape[0], s.frame.point
        if kind == "circle":
            return ("circle", point(shape[1]), shape[2])
        if kind == "strip":
            return ("strip", [point(p) for p in shape[1]], shape[2])
        if kind == "polygon":
            return ("polygon", [point(p) for p in shape[1]])
        (ax, ay), (bx, by) = shape[1:]
        if s.frame.headings:
            return ("rect", point((ax, ay)), point((bx, by)))
        return ("polygon", [point(p) for p in [(ax, ay), (bx, ay), (bx, by), (ax, by)]])

    @staticmethod
    def statements(s, cable):
        """The cable's statements; only where a frame keeps the headings can they be other than `run to`."""
        yield f"    start  {written(s.frame.point(cable.points[0]))}"
        if not s.frame.headings:
            for p in cable.points[1:]:
                yield f"    run    to {written(s.frame.point(p))}"
            return
        turned = s.frame.turned

        def heading(vector):
            x, y = turned(*vector)
            length = abs(x) + abs(y)
            return number(length), HEADINGS[(x // length, y // length)]

        at = 0
        for entry in cable.entries:
            if entry[0] == "loops":
                _, count, along, across = entry
                at += 2 * count - 1
                (length, way), (pitch, side) = heading(along), heading(across)
                yield f"    loops  {count} of {length} {way}, stepping {pitch} {side}"
                continue
            at += 1
            if entry[0] == "by" and not s.dice.chance(0.1):
                length, way = heading(entry[1])
                yield f"    run    {way} {length}"
            else:
                yield f"    run    to {written(s.frame.point(cable.points[at]))}"

    def runs(self):
        """Every run: cable index, run number, its ends."""
        for index, points in enumerate(self.cables):
            for run, (p, q) in enumerate(zip(points, points[1:]), 1):
                yield index, run, p, q


def number(value):
    """Micrometres as millimetres."""
    whole, part = divmod(abs(value), 1000)
    decimals = f".{part:03}".rstrip("0") if part else ""
    return f"{'-' if value < 0 else ''}{whole}{decimals}"


def written(p):
    return f"({number(p[0])}, {number(p[1])})"


def shape_text(shape):
    if shape[0] == "rect":
        return f"rect {written(shape[1])} {written(shape[2])}"
    if shape[0] == "circle":
        return f"circle {written(shape[1])} radius {number(shape[2])}"
    points = " ".join(map(written, shape[1]))
    return f"polygon {points}" if shape[0] == "polygon" else f"strip {points} width {number(shape[2])}"


def draw(index, attempt):
    """The plan of that number, at one attempt of many, and the dice that drew it."""
    family, frames = family_of(index)
    dice = Dice(f"layrule {index} {attempt}")
    sketch = Sketch(dice, Frame(dice.pick(frames), dice), dice.pick([8, 12, 20, 30, 39, 39, 39, 60, 80, 120]))
    family(sketch)
    if dice.chance(0.12):
        sketch.drills.append(inner_fixture(sketch))
    if dice.chance(0.2):
        sketch.lines.append(("joint    j1", [somewhere(sketch), somewhere(sketch)]))
    if dice.chance(0.2):
        way = [somewhere(sketch) for _ in range(dice.whole(2, 3))]
        sketch.lines.append((f"pipe     p1 {dice.pick(['hot', 'cold'])}", way))
    for _, points in sketch.lines:
        if len(set(points)) < len(points):
            raise Unfit("a line stands still")
    if not sketch.cables or not 2 <= sketch.runs <= 120:
        raise Unfit("too few runs or too many")
    return Plan(family.__name__, sketch), dice
