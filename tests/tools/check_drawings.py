"""Checks a folder of drawings made by `cargo run --release --example drawings -- FOLDER`.

Every file is opened with ezdxf and has to pass its audit with no error and no fix; its contours are then measured
with shapely, from the file alone, and compared with `expected.json`, whose numbers come from the layout.

    pip install -r tests/tools/requirements.txt
    python3 tests/tools/check_drawings.py FOLDER
"""

import json
import math
import re
import sys
from pathlib import Path

import ezdxf
from ezdxf import bbox
from ezdxf.math import bulge_to_arc
from shapely.geometry import LineString, Point, Polygon

LAYERS = {"bore", "slots", "cut_on_line", "outside", "notes"}
MARKS = {"tabs", "engraving"}
STEP = 0.03  # largest angle of one chord, rad


def arc_points(start, end, bulge):
    """Points from start (included) to end (left out) along an arc, on the circle."""
    if bulge == 0.0:
        return [start]
    centre, _, _, radius = bulge_to_arc(start, end, bulge)
    first = math.atan2(start[1] - centre.y, start[0] - centre.x)
    sweep = 4.0 * math.atan(bulge)
    count = max(2, math.ceil(abs(sweep) / STEP))
    return [start] + [
        (centre.x + radius * math.cos(first + sweep * k / count), centre.y + radius * math.sin(first + sweep * k / count))
        for k in range(1, count)
    ]


def segment_area(start, end, bulge):
    """Area between an arc and its chord, positive for a counter-clockwise arc."""
    if bulge == 0.0:
        return 0.0
    chord = math.dist(start, end)
    sweep = 4.0 * math.atan(bulge)
    radius = chord / (2.0 * math.sin(abs(sweep) / 2.0))
    return 0.5 * radius * radius * (sweep - math.sin(sweep))


def arc_length(start, end, bulge):
    chord = math.dist(start, end)
    half = 2.0 * math.atan(abs(bulge))
    return chord if half < 1e-9 else chord * half / math.sin(half)


class Failures(list):
    def unless(self, sound, text):
        if not sound:
            self.append(text)


def read(path, failures):
    """Contours of one file by layer: lists of (points, area, polyline vertices)."""
    drawing = ezdxf.readfile(path)
    audit = drawing.audit()
    failures.unless(not audit.errors, f"audit errors: {[e.message for e in audit.errors][:3]}")
    failures.unless(not audit.fixes, f"audit fixes: {[e.message for e in audit.fixes][:3]}")
    failures.unless(drawing.dxfversion == "AC1009", f"version {drawing.dxfversion}")
    contours, marks = {}, {}
    cut = []
    failures.unless(header_units(path) == ("1", "4"), f"units {header_units(path)}")
    for entity in drawing.modelspace():
        layer = entity.dxf.layer
        failures.unless(layer in LAYERS | MARKS, f"layer {layer!r}")
        if layer == "notes":
            failures.unless(entity.dxftype() == "TEXT", f"{entity.dxftype()} on the notes layer")
            failures.unless(entity.dxf.height >= 1.8, f"notes {entity.dxf.height} mm high")
            continue
        if layer in MARKS:
            failures.unless(entity.dxftype() == "POLYLINE", f"{entity.dxftype()} on layer {layer}")
            failures.unless(entity.is_closed == (layer == "tabs"), f"closed flag on layer {layer}")
            marks.setdefault(layer, []).append(entity)
            cut.append(entity)
            continue
        cut.append(entity)
        if entity.dxftype() == "CIRCLE":
            centre, radius = entity.dxf.center, entity.dxf.radius
            failures.unless(centre.z == 0.0 and centre.magnitude == 0.0, "circle off the origin")
            contours.setdefault(layer, []).append(("circle", radius))
            continue
        failures.unless(entity.dxftype() == "POLYLINE", f"entity {entity.dxftype()}")
        for vertex in entity.vertices:
            failures.unless(vertex.dxf.layer == layer, f"vertex on layer {vertex.dxf.layer}")
            failures.unless(vertex.dxf.location.z == 0.0, "z is not 0")
        failures.unless(entity.seqend.dxf.layer == layer, f"seqend on layer {entity.seqend.dxf.layer}")
        corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
        contours.setdefault(layer, []).append(("polyline", entity.is_closed, corners))
    return drawing, cut, contours, marks


def header_units(path):
    """$MEASUREMENT and $INSUNITS as they stand in the file: ezdxf drops them in R12."""
    lines = [line.strip() for line in path.read_text().splitlines()]
    return tuple(lines[lines.index(name) + 2] if name in lines else None for name in ("$MEASUREMENT", "$INSUNITS"))


def nest(path, failures):
    """Parts of a nested sheet: as many as its note says, within the edge, apart from each other."""
    drawing = ezdxf.readfile(path)
    circles, edge, said = [], None, None
    for entity in drawing.modelspace():
        layer = entity.dxf.layer
        if layer in ("outside", "places") and entity.dxftype() == "CIRCLE":
            circles.append((entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius))
        if layer == "sheet_edge" and entity.dxftype() == "POLYLINE" and entity.is_closed:
            edge = [max(v.dxf.location[k] for v in entity.vertices) for k in (0, 1)]
        if layer == "notes" and said is None:
            said = int(entity.dxf.text.split()[0])
    failures.unless(said == len(circles), f"{len(circles)} parts, said {said}")
    for i, (x, y, r) in enumerate(circles):
        inside = min(x - r, y - r, edge[0] - x - r, edge[1] - y - r)
        failures.unless(inside >= 2.0 - 1e-5, f"part {i} is {inside} from the edge")
        for a, b, s in circles[:i]:
            failures.unless(math.hypot(x - a, y - b) - r - s >= 0.3, f"part {i} too near another")
    return len(circles)


def outline_of(corners, closed):
    points, area, shortest, length = [], 0.0, math.inf, 0.0
    count = len(corners) if closed else len(corners) - 1
    for i in range(count):
        (x0, y0, bulge), (x1, y1, _) = corners[i], corners[(i + 1) % len(corners)]
        points += arc_points((x0, y0), (x1, y1), bulge)
        area += 0.5 * (x0 * y1 - x1 * y0) + segment_area((x0, y0), (x1, y1), bulge)
        piece = arc_length((x0, y0), (x1, y1), bulge)
        shortest, length = min(shortest, piece), length + piece
    if not closed:
        points.append(corners[-1][:2])
    return points, area, shortest, length


def hits(corners, closed, angle, ray):
    """Radii at which the arcs of a contour cross a ray from the origin: exact, by circle and line."""
    found = []
    count = len(corners) if closed else len(corners) - 1
    for i in range(count):
        (x0, y0, bulge), (x1, y1, _) = corners[i], corners[(i + 1) % len(corners)]
        if bulge == 0.0:
            dx, dy = x1 - x0, y1 - y0
            across = ray[0] * dy - ray[1] * dx
            if across == 0.0:
                continue
            share = (x0 * ray[1] - y0 * ray[0]) / across
            reach = (x0 * dy - y0 * dx) / across
            if -1e-9 <= share <= 1 + 1e-9 and reach > 0:
                found.append(reach)
            continue
        centre, _, _, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
        foot = centre.x * ray[0] + centre.y * ray[1]
        off = ray[0] * centre.y - ray[1] * centre.x
        square = radius * radius - off * off
        if square < 0.0:
            continue
        sweep = 4.0 * math.atan(bulge)
        first = math.atan2(y0 - centre.y, x0 - centre.x)
        for reach in (foot - math.sqrt(square), foot + math.sqrt(square)):
            turn = math.atan2(reach * ray[1] - centre.y, reach * ray[0] - centre.x) - first
            turn = turn % math.tau if sweep > 0 else -((-turn) % math.tau)
            near = abs(turn) <= abs(sweep) + 1e-9 or abs(abs(turn) - math.tau) < 1e-9
            if reach > 0 and near:
                found.append(reach)
    return found


def check(folder, entry):
    failures = Failures()
    path = folder / (entry["name"] + ".dxf")
    drawing, cut, contours, marks = read(path, failures)
    failures.unless(contours.get("outside") == [("circle", round(entry["outer_radius"], 6))], "outside differs")
    bore = [("circle", round(entry["bore_radius"], 6))] if entry["bore_radius"] > 0 else None
    failures.unless(contours.get("bore") == bore, "bore differs")
    layer = "cut_on_line" if entry["on_line"] else "slots"
    other = "slots" if entry["on_line"] else "cut_on_line"
    slots = contours.get(layer, [])
    failures.unless(len(slots) == entry["arms"] and other not in contours, f"{len(slots)} slots")
    # extents: arcs included, on the three sides where no notes are
    box = bbox.extents(cut, fast=False)
    low, high = drawing.header["$EXTMIN"], drawing.header["$EXTMAX"]
    sides = [(low[0], box.extmin.x), (high[1], box.extmax.y)]
    failures.unless(high[0] >= box.extmax.x - 1e-3, "part not in the extents")
    failures.unless(len(marks.get("tabs", [])) == entry["tabs"], f"{len(marks.get('tabs', []))} tabs")
    failures.unless(("engraving" in marks) == entry["engraved"], "engraving")
    failures.unless(all(abs(a - b) < 1e-3 for a, b in sides), f"extents {sides}")
    failures.unless(low[1] <= box.extmin.y + 1e-6, "notes not in the extents")
    polygons = []
    for kind, closed, corners in slots:
        failures.unless(closed != entry["on_line"], "closed flag")
        failures.unless(math.dist(corners[0][:2], corners[-1][:2]) > 1e-6, "first vertex repeated")
        failures.unless(all(abs(b) <= 1.0 for _, _, b in corners), "bulge above 1")
        points, area, shortest, length = outline_of(corners, closed)
        failures.unless(shortest >= entry["segment_min"] - 1e-6, f"segment of {shortest}")
        if closed:
            polygon = Polygon(points)
            failures.unless(polygon.is_valid and polygon.exterior.is_simple, "contour not valid")
            polygons.append(polygon)
            if entry["ends"] == "round":
                error = area / entry["slot_area_round"] - 1.0
                failures.unless(abs(error) < 1e-4, f"slot area off by {error:.2e}")
        else:
            line = LineString(points)
            failures.unless(line.is_simple, "line crosses itself")
            polygons.append(line.buffer(0.5 * entry["slot"], quad_segs=64))
            error = length / entry["slot_length"] - 1.0
            failures.unless(abs(error) < 1e-4, f"line length off by {error:.2e}")
    for i, one in enumerate(polygons):
        failures.unless(one.within(Point(0, 0).buffer(entry["outer_radius"])), f"slot {i} leaves the disc")
        failures.unless(one.distance(Point(0, 0)) > entry["bore_radius"], f"slot {i} meets the bore")
        for other in polygons[:i]:
            failures.unless(not one.intersects(other), "slots touch")
    worst = 0.0
    if not entry["on_line"]:
        worst = widths(entry, slots, failures)
        if entry["web_within_slot"] and len(polygons) == 1:
            # worn down by a little less than half the web on all sides the disc hangs together, by a little more it parts
            metal = Point(0, 0).buffer(entry["outer_radius"], quad_segs=180).difference(polygons[0])
            half = 0.5 * entry["web_least"]
            kept, parted = (metal.buffer(-half + dx, quad_segs=32) for dx in (0.01, -0.01))
            parts = (kept.geom_type, parted.geom_type)
            failures.unless(parts == ("Polygon", "MultiPolygon"), f"least web said {2 * half}: {parts}")
        if len(polygons) > 1:
            found = min(a.distance(b) for i, a in enumerate(polygons) for b in polygons[:i])
            if entry["web_between_slots"]:
                failures.unless(abs(found - entry["web_least"]) < 0.01, f"least web {found}, said {entry['web_least']}")
            else:
                failures.unless(found > entry["web_least"] - 0.01, f"least web {found}, said {entry['web_least']}")
    svg = (folder / (entry["name"] + ".svg")).read_text()
    paths = re.findall(r'<path[^>]* d="([^"]*)"', svg)
    failures.unless(len(paths) == sum(map(len, [*contours.values(), *marks.values()])), "SVG paths")
    failures.unless("transform" not in svg and 'stroke="black"' in svg, "SVG style")
    return failures, worst


def widths(entry, slots, failures):
    """Arm widths along rays between the slot whose centre line starts on the x axis and its neighbour."""
    worst = 0.0
    first = min(slots, key=lambda slot: abs(math.atan2(slot[2][0][1], slot[2][0][0])))[2]
    between = math.tau / entry["arms"]
    turn = (math.cos(-between), math.sin(-between))
    inner = [(x * turn[0] - y * turn[1], x * turn[1] + y * turn[0], b) for x, y, b in first]
    angles, radii, expected = entry["arm_angle"], entry["arm_radius"], entry["arm_width"]
    for angle, radius, width in list(zip(angles, radii, expected))[1:-1:7]:
        ray = (math.cos(angle), math.sin(angle))
        above = [r for r in hits(first, True, angle, ray) if r > radius]
        below = [r for r in hits(inner, True, angle, ray) if r < radius]
        if not above or not below:
            failures.append(f"no arm at {angle:.3f}")
            continue
        found = min(above) - max(below)
        worst = max(worst, abs(found - width))
    failures.unless(worst <= 0.005, f"arm width off by {worst:.6f} mm")
    return worst


def main():
    folder = Path(sys.argv[1])
    entries = json.loads((folder / "expected.json").read_text())
    bad, worst = 0, 0.0
    for entry in entries:
        failures, width = check(folder, entry)
        worst = max(worst, width)
        if failures:
            bad += 1
            print(f"{entry['name']}: " + "; ".join(failures))
    others = [path for path in sorted(folder.glob("*.dxf")) if not path.name.startswith("disc_")]
    for path in others:
        audit = ezdxf.readfile(path).audit()
        if audit.errors or audit.fixes:
            bad += 1
            print(f"{path.name}: {[e.message for e in audit.errors + audit.fixes][:3]}")
    nests = sorted(folder.glob("nest_*.dxf"))
    failures = Failures()
    placed = sum(nest(path, failures) for path in nests)
    if failures or not nests:
        bad += 1
        print("nests: " + "; ".join(failures[:5]))
    print(f"{placed} parts on {len(nests)} nested sheets")
    print(f"{len(others)} sheets and compensated paths audited")
    print(f"{len(entries)} drawings, {bad} with findings, arm widths within {1000 * worst:.2f} µm")
    return 1 if bad or not entries else 0


if __name__ == "__main__":
    sys.exit(main())
