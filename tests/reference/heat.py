"""The steady heat flow around parallel heating cables in layered floors, by finite elements, to compare layrule's own with.

    heat.py            write heat.json
    heat.py --check    do all of it again and compare with heat.json
    heat.py --errors   how far each value moves when the mesh is made twice as fine; exit 1 if by too much

heat.json holds an object: the versions it was made with, `cases` and `sections`. Lengths are in m, temperatures in degC. Of each case:

layers
    top first: [name, thickness, conductivity in W/mK], or [name, {"resistance": R}] in m2K/W for what has no thickness and
    carries no heat sideways; at the top or the bottom it lies in series with the surface film
cable_layer, height, radius, power
    the layer that holds the cable, numbered from 0; of the cable's axis above that layer's underside; of the cable; in W per
    metre of cable, spread evenly over its section. The cable conducts as its layer does
pitch
    between the axes of parallel cables, all alike and without end
room, bottom
    the temperature above, that of surfaces and air alike; {"room": T} below, behind 0.17 m2K/W (EN ISO 6946, downward), or
    {"temperature": T} of the underside itself
film
    W/m2K at the top, the same all over, and such that the means keep EN 1264-2: flux = 8.92 (surface - room)^1.1
surface_mean, surface_peak, surface_min
    at the very top, on whatever lies there; the peak is over the cable, the minimum half-way between two
flux_up, flux_down
    W/m2 of floor: by the films, and by the gradient where the temperature of the underside is given
imbalance
    flux_up + flux_down - power / pitch; what there is of it comes from the mesh
sheath
    the mean around the cable's circumference

Half a pitch is meshed, with no flux through its sides.

A section is cut across a floor between two walls that let no heat through, with cables that lie as they like:

layers, cable_layer, height, radius, room, bottom
    as of a case; all cables have one radius
width, cables
    from wall to wall; of each cable [its distance from the first wall, its power]
surface
    at the very top, at distances from the first wall of half a step, one and a half, and so on: `step`, and all of them. EN 1264-2
    holds at each place: flux = 8.92 (surface - room)^1.1 there
sheaths
    of each cable, as of a case
flux_up, flux_down
    W for each m of cable, of the whole section
imbalance
    flux_up + flux_down - the cables' power

From wall to midway between two cables, and on, a section is meshed as half a pitch is. Elements are quadrilaterals, quadratic in temperature and in shape, so
that their edges follow the cable's circumference.
"""

import json
import math
import sys
from importlib.metadata import version
from pathlib import Path

import numpy
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, Dofs, ElementQuad0, ElementQuad2, FacetBasis, Functional, LinearForm, MeshQuad, MeshQuad2
from skfem import condense
from skfem.mapping import MappingIsoparametric

FILE = Path(__file__).with_name("heat.json")
BELOW = 0.17
# A resistance is drawn as a layer of this thickness that conducts upright only; what comes out does not depend on it.
DRAWN = 0.001
# Elements to an eighth of the cable's circumference, and how elements widen away from it.
FINENESS = 6
GROWTH = 0.25
INTORDER = 5
SAME = 1e-9
TEMPERATURES = ("surface_mean", "surface_peak", "surface_min", "sheath")
RESULTS = (*TEMPERATURES, "film", "flux_up", "flux_down", "imbalance")

# ---- the mesh


def halved(lines):
    """Lines with the middles between them."""
    made = numpy.empty(2 * len(lines) - 1)
    made[::2] = lines
    made[1::2] = (lines[:-1] + lines[1:]) / 2
    return made


def graded(start, end, first, finer):
    """Lines between two distances from the box, the farther the wider apart."""
    near, far = first + GROWTH * start, first + GROWTH * end
    count = finer * math.ceil(math.log(far / near) / GROWTH)
    lines = (near * (far / near) ** (numpy.arange(count + 1) / count) - first) / GROWTH
    lines[0], lines[-1] = start, end
    return lines


def product(xs, ys):
    return numpy.stack(numpy.meshgrid(xs, ys, indexing="ij"), axis=-1)


def rim(xs, ys):
    """Around half a box, from the middle of its bottom to the middle of its top."""
    bottom, right, top = product(xs, ys[:1])[:, 0], product(xs[-1:], ys)[0], product(xs, ys[-1:])[::-1, 0]
    return numpy.concatenate([bottom, right[1:], top[1:]])


def between(inner, outer, count):
    shares = (numpy.arange(2 * count + 1) / (2 * count))[:, None, None]
    return (1.0 - shares) * inner + shares * outer


class Drawing:
    """Blocks of elements around a cable's axis, as grids of corners, middles of edges and centres.

    A box around the cable lies wholly in the cable's layer. Other lines run on from its own.
    """

    def __init__(self, case, finer):
        self.own = case["cable_layer"]
        self.radius = radius = case["radius"]
        self.count = FINENESS * finer
        half = case["pitch"] / 2
        thickness = case["layers"][self.own][1]
        gaps = (case["height"] - radius, thickness - case["height"] - radius)
        if min(gaps) < -SAME or half <= radius:
            raise SystemExit(f"{case['name']}: the cable is not inside its layer and half a pitch")
        # What little would be left of the layer goes into the box.
        self.gaps = [0.0 if gap < SAME else gap if gap < 1.5 * radius else radius for gap in gaps]
        first = 2.0 * radius / FINENESS
        self.width = min(2.0 * radius, (radius + half) / 2)
        self.beside = halved(graded(0.0, half - self.width, first, finer))
        self.strips = []
        for side, (gap, kept) in enumerate(zip(gaps, self.gaps)):
            layers = case["layers"][self.own + 1 :] if side == 0 else case["layers"][: self.own][::-1]
            step = 1 - 2 * side
            at = 0.0
            strips = []
            if gap > kept + SAME:
                at = gap - kept
                strips.append((self.own, halved(graded(0.0, at, first, finer))))
            for k, layer in enumerate(layers, 1):
                alone = isinstance(layer[1], dict)
                end = at + (DRAWN if alone else layer[1])
                lines = numpy.array([at, end]) if alone else graded(at, end, first, finer)
                strips.append((self.own + step * k, halved(lines)))
                at = end
            self.strips.append(strips)

    def blocks(self, below, above):
        """Layer, whether in the cable, and points, for so much room between the cable and the bottom and top of the box."""
        radius, count = self.radius, self.count
        low, high = -radius - below, radius + above
        xs = numpy.linspace(0.0, self.width, 2 * count + 1)
        outer_xs = self.width + self.beside
        ys = numpy.linspace(low, high, 4 * count + 1)
        core_xs = numpy.linspace(0.0, radius / 2, 2 * count + 1)
        core_ys = numpy.linspace(-radius / 2, radius / 2, 4 * count + 1)
        turn = numpy.linspace(-math.pi / 2, math.pi / 2, 8 * count + 1)
        circle = radius * numpy.stack([numpy.cos(turn), numpy.sin(turn)], axis=-1)
        circle[[0, -1], 0] = 0.0
        made = [
            (self.own, True, product(core_xs, core_ys)),
            (self.own, True, between(rim(core_xs, core_ys), circle, count)),
            (self.own, False, between(circle, rim(xs, ys), count)),
            (self.own, False, product(outer_xs, ys)),
        ]
        down, up = self.strips
        for layer, lines in [(k, (low - way)[::-1]) for k, way in down] + [(k, high + way) for k, way in up]:
            made += [(layer, False, product(xs, lines)), (layer, False, product(outer_xs, lines))]
        return made


def nines(grid):
    """The nine points of each element of a block, in the library's order."""
    corners = [grid[:-2:2, :-2:2], grid[2::2, :-2:2], grid[2::2, 2::2], grid[:-2:2, 2::2]]
    others = [grid[1::2, :-2:2], grid[2::2, 1::2], grid[1::2, 2::2], grid[:-2:2, 1::2], grid[1::2, 1::2]]
    return numpy.stack(corners + others, axis=2).reshape(-1, 9, 2)


# The nine points of an element seen in a mirror, in the library's order again.
MIRRORED = [1, 0, 3, 2, 4, 7, 6, 5, 8]


class Mesh:
    """The mesh of halves of pitches side by side, with each element's layer and the cable that it is of, or -1.

    Each half is its drawing, where its cable's axis lies, on which side of the axis it is, 1 or -1, and the cable's number.
    """

    def __init__(self, halves):
        radius = halves[0][0].radius

        def drawn(apart):
            made = []
            for drawing, axis, side, cable in halves:
                for layer, inside, grid in drawing.blocks(*((radius, radius) if apart else drawing.gaps)):
                    points = nines(grid) if side == 1 else nines(grid)[:, MIRRORED] * [-1.0, 1.0]
                    made.append((layer, cable if inside else -1, points + [axis, 0.0]))
            return made

        blocks = drawn(apart=False)
        self.layer = numpy.concatenate([numpy.full(len(points), layer) for layer, _, points in blocks])
        self.cable = numpy.concatenate([numpy.full(len(points), cable) for _, cable, points in blocks])
        points = numpy.concatenate([points for *_, points in blocks])

        # Where the cable touches an edge of its layer, so does the box touch the cable, and corners fall onto each other. Drawn
        # with room all round, those alone coincide that are one.
        apart = numpy.concatenate([points for *_, points in drawn(apart=True)])
        rounded = numpy.round(apart[:, :4].reshape(-1, 2), 9)
        corners, which = numpy.unique(rounded, axis=0, return_inverse=True)
        flat = MeshQuad(corners.T.copy(), which.reshape(-1, 4).T.copy())
        dofs = Dofs(flat, ElementQuad2())
        places = numpy.empty((2, dofs.N))
        places[:, dofs.element_dofs] = points.transpose(2, 1, 0)
        self.curved = MeshQuad2(places, flat.t)

        ends = flat.p[:, flat.facets]
        axes = {cable: axis for _, axis, _, cable in halves}
        self.circumferences = []
        for axis in axes.values():
            around = numpy.abs(numpy.hypot(ends[0] - axis, ends[1]) - radius) < 1e-8
            self.circumferences.append(numpy.flatnonzero(around.all(axis=0)))
        ys = ends[1]
        self.top = numpy.flatnonzero((ys == flat.p[1].max()).all(axis=0))
        self.bottom = numpy.flatnonzero((ys == flat.p[1].min()).all(axis=0))


# ---- the heat


@BilinearForm
def conduction(u, v, w):
    return w.sideways * u.grad[0] * v.grad[0] + w.upright * u.grad[1] * v.grad[1]


@BilinearForm
def mass(u, v, _):
    return u * v


@LinearForm
def load(v, _):
    return v


@LinearForm
def heating(v, w):
    return w.source * v


@Functional
def total(w):
    return w.value


@Functional
def length(w):
    return 1.0 + 0.0 * w.x[0]


@Functional
def downward(w):
    return w.upright * w.value.grad[1]


class Mapping(MappingIsoparametric):
    """The library's, which finds places in small elements far from the origin as nearly as numbers tell there."""

    def invF(self, x, tind=None, newton_max_iters=50, newton_tol=1e-9):
        return super().invF(x, tind, newton_max_iters, newton_tol)


class Prepared:
    """A case or a section as a system of equations, without what its surface gives to the room."""

    def __init__(self, case, mesh, powers):
        self.name = case["name"]
        mapping = Mapping(mesh.curved, ElementQuad2(), mesh.curved.bndelem)
        basis = Basis(mesh.curved, ElementQuad2(), mapping, intorder=INTORDER)
        flat = basis.with_element(ElementQuad0())
        upright, sideways = [], []
        for _, thickness, *rest in case["layers"]:
            alone = isinstance(thickness, dict)
            upright.append(DRAWN / thickness["resistance"] if alone else rest[0])
            sideways.append(0.0 if alone else rest[0])
        self.upright = numpy.array(upright)[mesh.layer]
        sideways = numpy.array(sideways)[mesh.layer]
        section = math.pi * case["radius"] ** 2
        source = numpy.append(powers, 0.0)[mesh.cable] / section
        by_element = {name: flat.interpolate(v) for name, v in (("upright", self.upright), ("sideways", sideways))}
        self.stiff = conduction.assemble(basis, **by_element)
        self.heat = heating.assemble(basis, source=flat.interpolate(source))

        def boundary(facets):
            return FacetBasis(mesh.curved, ElementQuad2(), mapping, facets=facets, intorder=INTORDER)

        self.basis = basis
        self.top, self.bottom = boundary(mesh.top), boundary(mesh.bottom)
        self.circumferences = [boundary(each) for each in mesh.circumferences]
        (self.kind, self.given), = case["bottom"].items()
        self.fixed = basis.get_dofs(mesh.bottom).all() if self.kind == "temperature" else numpy.empty(0, int)
        if self.kind == "room":
            self.stiff = self.stiff + mass.assemble(self.bottom) / BELOW
            self.heat = self.heat + load.assemble(self.bottom) * self.given / BELOW
        self.start = numpy.full(basis.N, float(self.given))
        row = basis.get_dofs(mesh.top).all()
        self.row = row[numpy.argsort(basis.doflocs[0, row])]

    def under(self, film, right):
        """The temperatures, given what the surface's film adds to both sides of the system."""
        system, right, _, free = condense(self.stiff + film, self.heat + right, x=self.start, D=self.fixed)
        found = self.start.copy()
        found[free] = splu(system.tocsc(), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}).solve(right)
        return found

    def lost_below(self, found):
        """W/m2, the mean."""
        if self.kind == "room":
            return (mean(self.bottom, found) - self.given) / BELOW
        lowest = self.bottom.with_element(ElementQuad0()).interpolate(self.upright)
        lost = downward.assemble(self.bottom, upright=lowest, value=self.bottom.interpolate(found))
        return lost / length.assemble(self.bottom)


def mean(at, temperatures):
    return total.assemble(at, value=at.interpolate(temperatures)) / length.assemble(at)


def solved(case, finer=1):
    """A case's results."""
    made = Prepared(case, Mesh([(Drawing(case, finer), 0.0, 1, 0)]), [case["power"]])
    top_mass, top_load = mass.assemble(made.top), load.assemble(made.top)
    room = case["room"]
    film = 10.0
    for _ in range(100):
        found = made.under(film * top_mass, film * room * top_load)
        surface = mean(made.top, found)
        if surface <= room:
            raise SystemExit(f"{case['name']}: the floor is no warmer than the room")
        before, film = film, 8.92 * (surface - room) ** 0.1
        if abs(film - before) < 1e-9:
            break
    else:
        raise SystemExit(f"{case['name']}: no film coefficient found")

    flux_up, flux_down = film * (surface - room), made.lost_below(found)
    return {
        "film": film,
        "surface_mean": surface,
        "surface_peak": found[made.row[0]],
        "surface_min": found[made.row[-1]],
        "flux_up": flux_up,
        "flux_down": flux_down,
        "imbalance": flux_up + flux_down - case["power"] / case["pitch"],
        "sheath": mean(made.circumferences[0], found),
    }


@BilinearForm
def film_mass(u, v, w):
    return w.film * u * v


@LinearForm
def film_load(v, w):
    return w.film * v


def solved_section(section, finer=1):
    """A section's results."""
    places = [at for at, _ in section["cables"]]
    bounds = [0.0, *((a + b) / 2 for a, b in zip(places, places[1:])), section["width"]]
    halves = []
    for cable, (at, low, high) in enumerate(zip(places, bounds, bounds[1:])):
        for side, half in ((-1, at - low), (1, high - at)):
            halves.append((Drawing({**section, "pitch": 2 * half}, finer), at, side, cable))
    made = Prepared(section, Mesh(halves), [power for _, power in section["cables"]])
    room = section["room"]
    surface = numpy.full(made.basis.N, room + 5.0)
    for _ in range(100):
        over = numpy.abs(made.top.interpolate(surface) - room)
        film = 8.92 * over**0.1
        found = made.under(film_mass.assemble(made.top, film=film), room * film_load.assemble(made.top, film=film))
        changed = numpy.abs(found[made.row] - surface[made.row]).max()
        surface = found
        if changed < 1e-9:
            break
    else:
        raise SystemExit(f"{section['name']}: no film found")

    # Along the row ends and middles of elements take turns.
    xs, row = made.basis.doflocs[0, made.row], found[made.row]
    step = section["width"] / section["count"]

    def at(x):
        first = 2 * min((numpy.searchsorted(xs[::2], x, side="right") - 1), (len(xs) - 3) // 2)
        (a, b, c), three = xs[first : first + 3], row[first : first + 3]
        shares = [(x - b) * (x - c) / ((a - b) * (a - c)), (x - a) * (x - c) / ((b - a) * (b - c))]
        shares.append((x - a) * (x - b) / ((c - a) * (c - b)))
        return float(numpy.dot(shares, three))

    over = made.top.interpolate(found) - room
    flux_up = total.assemble(made.top, value=8.92 * numpy.abs(over) ** 0.1 * over)
    flux_down = made.lost_below(found) * section["width"]
    return {
        "step": step,
        "surface": [round(at((place + 0.5) * step), 5) for place in range(section["count"])],
        "sheaths": [round(float(mean(each, found)), 5) for each in made.circumferences],
        "flux_up": flux_up,
        "flux_down": flux_down,
        "imbalance": flux_up + flux_down - sum(power for _, power in section["cables"]),
    }


# ---- the cases

TILE = ["tile", 0.010, 1.3]
ADHESIVE = ["adhesive", 0.010, 1.0]
BOARD = ["board", 0.010, 0.035]
PLYWOOD = ["plywood", 0.018, 0.13]
SLAB = ["concrete", 0.150, 2.0]
INSULATION = ["insulation", 0.030, 0.035]
SCREED = ["screed", 0.065, 1.2]
THIN_SCREED = ["screed", 0.050, 1.4]
HARDWOOD = ["hardwood", 0.015, 0.18]
CARPET = ["carpet", {"resistance": 0.1}]
AIR_GAP = ["air gap", {"resistance": 0.16}]
PLASTER = ["plasterboard", 0.0125, 0.25]
MAT = ["mat", {"resistance": 0.02}]
CORK = ["cork", {"resistance": 0.1}]


def case(name, layers, cable, height, pitch, power, room, bottom, radius=0.003):
    """`cable` is the layer that holds it, `bottom` as a number the temperature of a room below."""
    return {
        "name": name,
        "layers": layers,
        "cable_layer": layers.index(cable),
        "height": height,
        "radius": radius,
        "pitch": pitch,
        "power": power,
        "room": room,
        "bottom": bottom if isinstance(bottom, dict) else {"room": bottom},
    }


def cases():
    boarded = [TILE, ADHESIVE, BOARD, PLYWOOD]
    bare = [TILE, ADHESIVE, PLYWOOD]
    on_slab = [TILE, ADHESIVE, SLAB]
    insulated = [TILE, ADHESIVE, THIN_SCREED, INSULATION, SLAB]
    thick = [TILE, SCREED, INSULATION, SLAB]
    wooden = [HARDWOOD, SCREED, INSULATION, SLAB]
    gapped = [TILE, ADHESIVE, PLYWOOD, AIR_GAP, PLASTER]
    ground = {"temperature": 10}
    made = []
    for pitch in (0.05, 0.075, 0.1, 0.15, 0.2):
        mm = round(1000 * pitch)
        made.append(case(f"timber with board, {mm} mm", boarded, ADHESIVE, 0.003, pitch, 10, 20, 18))
        made.append(case(f"timber without board, {mm} mm", bare, ADHESIVE, 0.003, pitch, 10, 20, 18))
    return made + [
        case("timber with board, cable 4 mm up", boarded, ADHESIVE, 0.004, 0.1, 17, 21, 10),
        case("timber without board, cable 5 mm up", bare, ADHESIVE, 0.005, 0.1, 17, 24, 20),
        case("timber with board, cable under the tile", boarded, ADHESIVE, 0.007, 0.075, 10, 24, 20),
        case("slab on ground, 50 mm", on_slab, ADHESIVE, 0.003, 0.05, 17, 20, ground),
        case("slab on ground, 75 mm", on_slab, ADHESIVE, 0.004, 0.075, 17, 20, ground),
        case("insulated slab on ground, 75 mm", insulated, ADHESIVE, 0.004, 0.075, 10, 20, ground),
        case("insulated slab on ground, 150 mm", insulated, ADHESIVE, 0.005, 0.15, 17, 21, ground),
        case("thick screed, cable near the bottom", thick, SCREED, 0.005, 0.15, 17, 21, 10),
        case("thick screed, cable in the middle", thick, SCREED, 0.0325, 0.15, 17, 21, 10),
        case("thick screed, cable near the top", thick, SCREED, 0.059, 0.15, 17, 21, 10),
        case("thick screed, cable on the insulation", thick, SCREED, 0.0035, 0.2, 17, 20, ground, radius=0.0035),
        case("hardwood, 100 mm", wooden, SCREED, 0.0325, 0.1, 10, 20, 18),
        case("hardwood, 200 mm", wooden, SCREED, 0.010, 0.2, 17, 21, ground),
        case("carpet on screed", [CARPET, *thick[1:]], SCREED, 0.0325, 0.15, 10, 24, 20),
        case("carpet on tile on timber", [CARPET, *boarded], ADHESIVE, 0.003, 0.1, 10, 21, 18),
        case("air gap under plywood", gapped, ADHESIVE, 0.004, 0.1, 10, 20, 20),
        case("air gap at the bottom", [*bare, AIR_GAP], ADHESIVE, 0.003, 0.15, 17, 20, 10),
        case("mat between cable and slab", [TILE, ADHESIVE, MAT, INSULATION, SLAB], ADHESIVE, 0.003, 0.075, 10, 21, ground),
        case("cork on ground", [TILE, SCREED, CORK], SCREED, 0.010, 0.075, 17, 20, ground),
        case("nearly one-dimensional", boarded, ADHESIVE, 0.005, 0.01, 2, 20, 18, radius=0.001),
    ]


def rows(first, *blocks):
    """Cables one after the other: of each block how many, how far from the one before, and their power."""
    made, at = [], first
    for count, step, power in blocks:
        for _ in range(count):
            at += step if made else 0.0
            made.append([round(at, 6), power])
    return made


def section(name, build_up, cables, width, room=20):
    layers, cable, height, bottom = build_up
    return {
        "name": name,
        "layers": layers,
        "cable_layer": layers.index(cable),
        "height": height,
        "radius": 0.003,
        "width": width,
        "cables": cables,
        "room": room,
        "bottom": bottom,
        "count": math.ceil(width / 0.0075),
    }


def sections():
    """Uneven spacing, a single run, a block beside floor without heat, cables of two powers; each on timber and on screed."""
    timber = ([TILE, ADHESIVE, BOARD, PLYWOOD], ADHESIVE, 0.003, {"room": 18})
    screed = ([TILE, SCREED, INSULATION, SLAB], SCREED, 0.020, {"temperature": 10})
    for name, build_up in (("timber with board", timber), ("thick screed", screed)):
        yield section(f"60 and 135 mm, {name}", build_up, rows(0.05, (12, 0.06, 10), (8, 0.135, 10)), 1.85)
        yield section(f"50 and 167 mm, {name}", build_up, rows(0.05, (12, 0.05, 10), (7, 0.167, 10)), 1.85)
        yield section(f"a single run, {name}", build_up, [[0.8, 15]], 1.7)
        yield section(f"a block beside bare floor, {name}", build_up, rows(0.05, (9, 0.1, 12)), 1.8)
        yield section(f"two powers, {name}", build_up, rows(0.05, (8, 0.1, 10), (8, 0.1, 17)), 1.6, room=21)


def section_entry(inputs, finer=1):
    results = solved_section(inputs, finer)
    fluxes = {key: round(float(results[key]), 8) + 0.0 for key in ("flux_up", "flux_down", "imbalance")}
    given = {key: value for key, value in inputs.items() if key != "count"}
    return {**given, **results, **fluxes}


def entry(inputs, finer=1):
    results = solved(inputs, finer)
    return {**inputs, **{key: round(float(value), 8) + 0.0 for key, value in results.items()}}


# ---- the file


def versions():
    return {name: version(name) for name in ("scikit-fem", "scipy", "numpy")}


def write(made, made_sections):
    compact = {"separators": (",", ":")}
    head = json.dumps(versions(), **compact)[:-1]
    body, rest = (",\n".join(json.dumps(each, **compact) for each in one) for one in (made, made_sections))
    FILE.write_text(f'{head},"cases":[\n{body}\n],"sections":[\n{rest}\n]}}\n')


def margin(key, of):
    """How far a result may be from another reckoning of it."""
    if key == "imbalance":
        return 1e-5 * of["power"] / of["pitch"]
    return 1e-4 if key in TEMPERATURES else 1e-5 * abs(of[key])


def differences(old, new):
    if len(old) != len(new):
        yield f"{len(old)} cases in the file, {len(new)} now"
    for a, b in zip(old, new):
        name = b["name"]
        if list(a) != list(b):
            yield f"{name}: {list(a)} in the file, {list(b)} now"
            continue
        for key in b:
            same = abs(a[key] - b[key]) <= margin(key, b) if key in RESULTS else a[key] == b[key]
            if not same:
                yield f"{name}, {key}: {a[key]} in the file, {b[key]} now"


def farthest(a, b):
    """How far two sections' temperatures lie apart at the most."""
    return max(abs(x - y) for key in ("surface", "sheaths") for x, y in zip(a[key], b[key], strict=True))


def section_differences(old, new):
    if len(old) != len(new):
        yield f"{len(old)} sections in the file, {len(new)} now"
    for a, b in zip(old, new):
        name, power = b["name"], sum(power for _, power in b["cables"])
        if list(a) != list(b) or any(a[key] != b[key] for key in list(b)[: list(b).index("step")]):
            yield f"{name}: made of something else in the file"
        elif farthest(a, b) > 1e-4:
            yield f"{name}: temperatures {farthest(a, b)} apart"
        elif any(abs(a[key] - b[key]) > 1e-5 * power for key in ("flux_up", "flux_down", "imbalance")):
            yield f"{name}: other flows in the file"


def check():
    kept = json.loads(FILE.read_text())
    found = list(differences(kept["cases"], [entry(inputs) for inputs in cases()]))
    found += section_differences(kept["sections"], [section_entry(inputs) for inputs in sections()])
    for line in found[:20]:
        print(line, file=sys.stderr)
    if found:
        made_with = {key: value for key, value in kept.items() if key not in ("cases", "sections")}
        print(f"{len(found)} differences; made with {made_with}, checked with {versions()}", file=sys.stderr)
        raise SystemExit(1)
    print(f"{len(kept['cases'])} cases and {len(kept['sections'])} sections agree")


def errors():
    most = {}
    for inputs in cases():
        once, twice = entry(inputs), entry(inputs, finer=2)
        for key in RESULTS:
            moved = abs(once[key] - twice[key])
            if key == "imbalance":
                moved = abs(once[key]) / (inputs["power"] / inputs["pitch"])
            elif key not in TEMPERATURES:
                moved /= abs(twice[key])
            most[key] = max(most.get(key, (0.0, "")), (moved, inputs["name"]))
    moved = max((farthest(section_entry(each), section_entry(each, finer=2)), each["name"]) for each in sections())
    most["sheath"] = max(most["sheath"], moved)
    for key, (moved, name) in most.items():
        print(f"{key}: {moved:.1e} {'K' if key in TEMPERATURES else 'relative'}, {name}")
    if any(moved > (0.01 if key in TEMPERATURES else 0.001) for key, (moved, _) in most.items()):
        raise SystemExit(1)


if __name__ == "__main__":
    if sys.argv[1:] == ["--check"]:
        check()
    elif sys.argv[1:] == ["--errors"]:
        errors()
    elif not sys.argv[1:]:
        write([entry(inputs) for inputs in cases()], [section_entry(inputs) for inputs in sections()])
    else:
        raise SystemExit(__doc__)
