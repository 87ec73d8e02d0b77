"""Plans as DXF read by ezdxf, and drawings and models of others outlined: an independent reader and independent writers of the formats.

    exchange.py PROGRAM EXAMPLES

PROGRAM is layrule, EXAMPLES its folder of plans. Of every sound plan the drawing has to pass ezdxf's audit without anything to mend, and its
lengths and areas have to be those of the take-off. A drawing that ezdxf writes and a model that IfcOpenShell writes have to come back as the
rooms that they were made of.
"""

import json
import math
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import ifcopenshell
import ifcopenshell.api
import numpy
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

AGREES = 1e-6


def run(*arguments):
    done = subprocess.run([str(word) for word in arguments], capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"{arguments} ended with {done.returncode}: {done.stderr}")
    return done.stdout


def figures(program, plan):
    """The figures of a plan's parts: {(room, kind, name): {figure: value}}."""
    taken = json.loads(run(program, "measure", plan, "--output", "json"))
    return {
        (room["name"], part["kind"], part["name"]): {figure["name"]: figure["value"] for figure in part["figures"]}
        for room in taken["rooms"]
        for part in room["parts"]
    }


def area(points):
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1]))) / 2


def length(points):
    return sum(math.dist(a, b) for a, b in zip(points, points[1:]))


def same(what, found, wanted):
    if abs(found - wanted) > AGREES * max(1.0, abs(wanted)):
        raise SystemExit(f"{what}: {found} in the drawing, {wanted} in the take-off")
    return 1


def read_back(program, plan, folder):
    """Compares a plan's drawing, read by ezdxf, with its take-off; how many figures were compared."""
    file = folder / "plan.dxf"
    run(program, "draw", plan, "--output", file, "--quiet")
    document = ezdxf.readfile(file)
    audit = document.audit()
    if audit.errors or audit.fixes:
        raise SystemExit(f"{plan}: {[entry.message for entry in audit.errors + audit.fixes]}")
    if document.units != ezdxf.units.MM:
        raise SystemExit(f"{plan}: drawn in {document.units}")
    told, compared = figures(program, plan), 0
    for entity in document.modelspace():
        if not entity.has_xdata("LAYRULE"):
            continue
        kind, name, room = [tag.value for tag in entity.get_xdata("LAYRULE")[:3]]
        points = [tuple(point) for point in entity.get_points("xy")] if entity.dxftype() == "LWPOLYLINE" else []
        if kind == "room":
            compared += same(f"{plan}: room {name}", area(points) / 1e6, told[name, "areas", None]["room-area"])
            if not entity.closed:
                raise SystemExit(f"{plan}: the outline of {name} is open")
        elif kind == "fixture":
            whole = area(points) if points else math.pi * entity.dxf.radius**2
            # Figures are given to a millionth of a square metre.
            if abs(whole / 1e6 - told[room, "obstacle", name]["area"]) > 1e-6:
                raise SystemExit(f"{plan}: fixture {name}: {whole / 1e6} m2")
            compared += 1
        elif kind == "cable":
            runs = told[room, "cable", name]["runs"]
            compared += same(f"{plan}: runs of {name}", len(points) - 1, runs)
            # Rounded corners take less than sharp ones.
            laid = told[room, "cable", name]["laid-length"]
            if laid is not None and not 0.9 * length(points) <= laid <= length(points) + AGREES:
                raise SystemExit(f"{plan}: cable {name}: {length(points)} drawn, {laid} laid")
    blocks = {insert.dxf.name for insert in document.modelspace().query("INSERT")}
    if any(key[1] == "thermostat" for key in told) and "THERMOSTAT" not in blocks:
        raise SystemExit(f"{plan}: no block for its thermostat")
    return compared


def statements(text):
    return [" ".join(line.split()) for line in text.splitlines() if line.strip() and not line.strip().startswith("#")]


def expect(what, text, wanted):
    if statements(text) != wanted:
        raise SystemExit(f"{what}:\n{text}\nwanted {wanted}")


def drawing(program, folder):
    """A room in inches drawn by ezdxf: walls as lines, a bay on an arc, a door's symbol, a bath."""
    document = ezdxf.new("R2018", units=ezdxf.units.IN)
    for layer in ("A-WALL", "A-DOOR", "A-FLOR-FIXT"):
        document.layers.add(layer)
    leaf = document.blocks.new("Door leaf")
    leaf.add_line((0, 0), (0, 32))
    leaf.add_arc((0, 0), 32, 0, 90)
    space = document.modelspace()
    for a, b in [((0, 0), (120, 0)), ((120, 100), (120, 0)), ((120, 100), (0, 100)), ((0, 0), (0, 100))]:
        space.add_line(a, b, dxfattribs={"layer": "A-WALL"})
    space.add_blockref("Door leaf", (20, 0), dxfattribs={"layer": "A-DOOR"})
    tub = space.add_lwpolyline([(0, 70), (60, 70), (60, 100), (0, 100)], close=True, dxfattribs={"layer": "A-FLOR-FIXT"})
    tub.closed = True
    space.add_mtext("\\A1;{\\fArial;Laundry}", dxfattribs={"layer": "A-AREA-IDEN", "insert": (50, 50), "char_height": 5})
    file = folder / "foreign.dxf"
    document.saveas(file)
    wanted = [
        'room laundry "Laundry" {',
        "outline (0, 0) (3048, 0) (3048, 2540) (0, 2540)",
        "door door-leaf wall 1 from 508 to 1320.8 hinged right",
        "fixture fixture rect (0, 1778) (1524, 2540)",
        "}",
    ]
    expect("a drawing by ezdxf", run(program, "outline", file), wanted)


def floor_plan(program, folder, units, scale, layers):
    """A flat drawn by ezdxf as floor plans are, walls as the outlines of their bodies, cut at doors: rooms, areas and doors against Shapely.

    Bodies are what is left of the house's hull without rooms and openings, and so their outlines are the lines that an architect has.
    """
    hull = Polygon([(0, 0), (9000, 0), (9000, 4200), (7200, 6600), (0, 6600)]).buffer(300, join_style="mitre", mitre_limit=9)
    house = Polygon([(0, 0), (9000, 0), (9000, 4200), (7200, 6600), (0, 6600)])
    inner = [box(4000, -1, 4115, 6700), box(-1, 3000, 4000, 3115), box(4115, 2500, 9001, 2615)]
    rooms = [part for part in house.difference(unary_union(inner)).geoms]
    # Openings, as deep as their walls are thick; in two of them no leaf is drawn.
    out = numpy.array([2400, 1800]) / 3000
    along = numpy.array([-1800, 2400]) / 3000
    at = lambda place, off: tuple(numpy.array([9000, 4200]) + along * place + out * off)
    openings = {
        "south": box(1000, -300, 1900, 0),
        "inner": box(4000, 700, 4115, 1510),
        "west": box(1500, 3000, 2326, 3115),
        "east": box(5200, 2500, 6000, 2615),
        "slant": Polygon([at(700, 0), at(1600, 0), at(1600, 300), at(700, 300)]),
    }
    bodies = hull.difference(unary_union(rooms)).difference(unary_union(list(openings.values())).buffer(1e-6))
    document = ezdxf.new("R2010", units=units)
    space = document.modelspace()
    wall, door, text = ("A-WALL", "A-DOOR", "A-NOTE") if layers else ("0", "0", "0")
    for body in bodies.geoms:
        for ring in [body.exterior, *body.interiors]:
            points = [(x * scale, y * scale) for x, y in ring.simplify(0.01).coords]
            # Half as one polyline, half as lines.
            half = len(points) // 2
            space.add_lwpolyline(points[: half + 1], dxfattribs={"layer": wall})
            for a, b in zip(points[half:], points[half + 1 :]):
                space.add_line(a, b, dxfattribs={"layer": wall})
    leaves = {"south": ((1000, 0), 900, 0), "inner": ((4000, 700), 810, 90), "east": ((5200, 2615), 800, 0)}
    for (x, y), wide, turned in leaves.values():
        hinge = (x * scale, y * scale)
        space.add_arc(hinge, wide * scale, turned, turned + 90, dxfattribs={"layer": door})
        end = math.radians(turned + 90)
        space.add_line(hinge, ((x + wide * math.cos(end)) * scale, (y + wide * math.sin(end)) * scale), dxfattribs={"layer": door})
    names = ["Study", "Bath", "Hall", "Lounge"]
    inside = [Point(500, 500), Point(500, 4000), Point(6500, 500), Point(5000, 4000)]
    for name, point in zip(names, inside):
        space.add_text(name, height=150 * scale, dxfattribs={"layer": text}).set_placement((point.x * scale, point.y * scale))
    file = folder / "floor-plan.dxf"
    document.saveas(file)
    told = run(program, "outline", file, "--all")
    moved = re.search(r"\(0, 0\) here is \((-?[\d.]+), (-?[\d.]+)\) there", told)
    by = tuple(float(part) for part in moved.groups()) if moved else (0.0, 0.0)
    found = {}
    for line in statements(told):
        if line.startswith("room"):
            corners, doors = found.setdefault(re.search('"(.*)"|room ([a-z]+)', line).group(0).strip('"').replace("room ", "").lower(), ([], []))
        elif line.startswith("outline"):
            corners.extend((float(x) + by[0], float(y) + by[1]) for x, y in re.findall(r"\((-?[\d.]+), (-?[\d.]+)\)", line))
        elif line.startswith("door"):
            doors.append(tuple(float(part) for part in re.search(r"wall (\d+) from ([\d.]+) to ([\d.]+)", line).groups()))
    if sorted(found) != sorted(name.lower() for name in names):
        raise SystemExit(f"a floor plan: rooms {sorted(found)}\n{told}")
    for name, point in zip(names, inside):
        corners, doors = found[name.lower()]
        wanted = next(room for room in rooms if room.contains(point))
        apart = Polygon(corners).symmetric_difference(wanted).area
        # Coordinates are written to a tenth of a millimetre.
        if apart > 0.05 * wanted.length:
            raise SystemExit(f"a floor plan: {name} is {Polygon(corners).area} mm2, {wanted.area} by Shapely, {apart} apart\n{told}")
        edges = [LineString(pair) for pair in zip(corners, corners[1:] + corners[:1])]
        places = [(edges[int(wall) - 1].interpolate(low), edges[int(wall) - 1].interpolate(high)) for wall, low, high in doors]
        own = [opening for opening in openings.values() if opening.intersection(wanted.boundary).length > 100]
        for opening in own:
            edge = opening.intersection(wanted.boundary.buffer(0.01)).minimum_rotated_rectangle
            met = [pair for pair in places if all(edge.distance(end) < 0.2 for end in pair)]
            width = opening.intersection(wanted.boundary).length
            if len(met) != 1 or abs(met[0][0].distance(met[0][1]) - width) > 0.2:
                raise SystemExit(f"a floor plan: a door of {name} of {width} mm isn't among {doors}\n{told}")
        if len(doors) != len(own):
            raise SystemExit(f"a floor plan: {name} has {len(doors)} doors for {len(own)} openings\n{told}")


def model(program, folder, schema, metres):
    """Two rooms by IfcOpenShell, one over the other, with a door, a column turned by an eighth, and a bath where the schema has one."""
    api = ifcopenshell.api.run
    file = ifcopenshell.file(schema=schema)
    if schema == "IFC2X3":
        person = api("owner.add_person", file, identification="p", family_name="Fell", given_name="R.")
        organisation = api("owner.add_organisation", file, identification="o", name="Mill")
        user = api("owner.add_person_and_organisation", file, person=person, organisation=organisation)
        application = api("owner.add_application", file, application_developer=organisation)
        ifcopenshell.api.owner.settings.get_user = lambda _: user
        ifcopenshell.api.owner.settings.get_application = lambda _: application
    project = api("root.create_entity", file, ifc_class="IfcProject", name="Harrow Mill")
    api("unit.assign_unit", file, length={"is_metric": True, "raw": "METERS" if metres else "MILLIMETERS"})
    context = api("context.add_context", file, context_type="Model")
    body = api("context.add_context", file, context_type="Model", context_identifier="Body", target_view="MODEL_VIEW", parent=context)
    parts = [project] + [api("root.create_entity", file, ifc_class=kind) for kind in ("IfcSite", "IfcBuilding", "IfcBuildingStorey")]
    for whole, part in zip(parts, parts[1:]):
        api("aggregate.assign_object", file, relating_object=whole, products=[part])
    scale = 0.001 if metres else 1.0

    def point(*at):
        return file.createIfcCartesianPoint([float(part) * scale for part in at])

    def shape(profile, height):
        place = file.createIfcAxis2Placement3D(point(0, 0, 0), None, None)
        solid = file.createIfcExtrudedAreaSolid(profile, place, file.createIfcDirection((0.0, 0.0, 1.0)), height * scale)
        represented = file.createIfcShapeRepresentation(body, "Body", "SweptSolid", [solid])
        return file.createIfcProductDefinitionShape(None, None, [represented])

    def polygon(*corners):
        line = file.createIfcPolyline([point(*corner) for corner in corners + corners[:1]])
        return file.createIfcArbitraryClosedProfileDef("AREA", None, line)

    def rectangle(x, y, at=(0, 0)):
        place = file.createIfcAxis2Placement2D(point(*at), None)
        return file.createIfcRectangleProfileDef("AREA", None, place, x * scale, y * scale)

    def put(kind, name, at, turned, represented, **more):
        thing = api("root.create_entity", file, ifc_class=kind, name=name)
        for key, value in more.items():
            setattr(thing, key, value)
        if kind == "IfcSpace":
            api("aggregate.assign_object", file, relating_object=parts[-1], products=[thing])
        else:
            api("spatial.assign_container", file, relating_structure=parts[-1], products=[thing])
        matrix = numpy.eye(4)
        matrix[:3, 3] = at
        matrix[:2, :2] = [[math.cos(turned), -math.sin(turned)], [math.sin(turned), math.cos(turned)]]
        api("geometry.edit_object_placement", file, product=thing, matrix=matrix, is_si=True)
        thing.Representation = represented

    bath = polygon((0, 0), (2600, 0), (2600, 2900), (0, 2900))
    put("IfcSpace", "1.02", (10, 20, 0), 0, shape(bath, 2500), LongName="Bath")
    put("IfcSpace", "2.02", (10, 20, 3), 0, shape(bath, 2500), LongName="Attic")
    wide = 800 * scale
    for name, height in (("Door 1", 0), ("Door 2", 3)):
        put("IfcDoor", name, (11.2, 19.9, height), 0, shape(rectangle(800, 50, (400, 50)), 2000), OverallWidth=wide, OverallHeight=2 * wide)
    put("IfcColumn", "Post", (12.4, 20.2, 0), math.pi / 4, shape(rectangle(200, 200), 2500))
    wanted = [
        'room bath-1-02 "Bath 1.02" {',
        "outline (0, 0) (2600, 0) (2600, 2900) (0, 2900)",
        "door door-1 wall 1 from 1200 to 2000",
        "fixture post column polygon (2400, 58.6) (2541.4, 200) (2400, 341.4) (2258.6, 200)",
        "}",
    ]
    if schema != "IFC2X3":
        tub = shape(polygon((0, 0), (1700, 0), (1700, 750), (0, 750)), 600)
        put("IfcSanitaryTerminal", "Tub", (10, 22.15, 0), 0, tub, PredefinedType="BATH")
        wanted.insert(3, "fixture tub bath rect (0, 2150) (1700, 2900)")
    written = folder / "model.ifc"
    file.write(str(written))
    expect(f"a model by IfcOpenShell ({schema})", run(program, "outline", written, "--room", "Bath"), wanted)


def main(program, examples):
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        plans = sorted(plan for plan in Path(examples).glob("*.lay") if re.search(r"^room ", plan.read_text(), re.M))
        compared = sum(read_back(program, plan, folder) for plan in plans)
        if compared < 4 * len(plans):
            raise SystemExit(f"only {compared} figures of {len(plans)} plans were compared")
        drawing(program, folder)
        for units, scale in ((ezdxf.units.MM, 1), (ezdxf.units.CM, 0.1), (ezdxf.units.M, 0.001), (ezdxf.units.IN, 1 / 25.4)):
            for layers in (True, False):
                floor_plan(program, folder, units, scale, layers)
        for schema, metres in (("IFC4", False), ("IFC4", True), ("IFC2X3", False)):
            model(program, folder, schema, metres)
        print(f"{len(plans)} drawings read back, {compared} figures agree; a drawing, eight floor plans and three models outlined")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        raise SystemExit(__doc__)
    main(*sys.argv[1:])
