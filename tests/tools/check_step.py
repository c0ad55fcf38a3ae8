"""Reads the STEP files of a package with Open CASCADE: one valid closed solid each, its volume that of the STL,
the drawing or the profile.

    pip install cadquery-ocp
    python3 tests/tools/check_step.py FOLDER
"""

import json
import math
import pathlib
import struct
import sys

import ezdxf
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.Bnd import Bnd_Box
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer


def static(kind, name):
    return getattr(kind, name, None) or getattr(kind, name + "_s")


def solid(path):
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone, f"{path.name}: not read"
    reader.TransferRoots()
    shape = reader.OneShape()
    counts = []
    for kind in (TopAbs_SOLID, TopAbs_SHELL):
        found, count = TopExp_Explorer(shape, kind), 0
        while found.More():
            count, _ = count + 1, found.Next()
        counts.append(count)
    assert counts == [1, 1], f"{path.name}: {counts} solids and shells"
    assert BRepCheck_Analyzer(shape).IsValid(), f"{path.name}: not valid"
    weighed = GProp_GProps()
    static(BRepGProp, "VolumeProperties")(shape, weighed)
    box = Bnd_Box()
    static(BRepBndLib, "AddOptimal")(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    size = [high.X() - low.X(), high.Y() - low.Y(), high.Z() - low.Z()]
    return weighed.Mass(), size


def stl_volume(path):
    data = path.read_bytes()
    volume = 0.0
    for k in range(struct.unpack_from("<I", data, 80)[0]):
        a, b, c = (struct.unpack_from("<3f", data, 84 + 50 * k + 12 * j) for j in (1, 2, 3))
        cross = (b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0])
        volume += sum(x * y for x, y in zip(a, cross)) / 6
    return volume


def stl_heights(path):
    data = path.read_bytes()
    count = struct.unpack_from("<I", data, 80)[0]
    heights = [struct.unpack_from("<f", data, 84 + 50 * k + 20 + 12 * j)[0] for k in range(count) for j in range(3)]
    return max(heights) - min(heights)


def main(folder):
    summary = json.loads((folder / "summary.json").read_text())
    spring = summary["spring"]
    thickness, outside = spring["sheet"]["thickness"], spring["disc"]["outer_diameter"]
    volume, size = solid(folder / "solids/spring.step")
    wanted = stl_volume(folder / "solids/spring.stl")
    assert abs(volume / wanted - 1) < 1e-3, f"spring.step: {volume} mm3, the STL has {wanted}"
    print(f"spring.step: {volume:.2f} mm3, the STL {wanted:.2f}, {[round(side, 3) for side in size]} mm")
    volume, size = solid(folder / "solids/blank.step")
    wanted = summary["drawing"]["cut"]["part_area_mm2"] * thickness
    assert abs(volume / wanted - 1) < 1e-5, f"blank.step: {volume} mm3, the drawing has {wanted}"
    for side, found in zip((outside, outside, thickness), size):
        assert abs(found - side) < 2e-3, f"blank.step: {size} mm"
    print(f"blank.step: {volume:.3f} mm3, area of the drawing times sheet {wanted:.3f}, {[round(s, 4) for s in size]} mm")


    turned_former(folder)


def turned_former(folder):
    """The turned former against its profile: the volume of revolution by Pappus's theorem, and the heights of the table."""
    path = folder / "former/former_turned.step"
    volume, size = solid(path)
    profile = ezdxf.readfile(folder / "former/former_profile_mm.dxf").modelspace().query("POLYLINE").first
    corners = [(vertex.dxf.location.x, vertex.dxf.location.y) for vertex in profile.vertices]
    wanted = 0.0
    for (r, z), (s, y) in zip(corners, corners[1:] + corners[:1]):
        # of the area between the side and the axis, times the way of its centroid: pi/3 (y - z)(r^2 + r s + s^2)
        wanted += math.pi / 3 * (y - z) * (r * r + r * s + s * s)
    assert abs(volume / wanted - 1) < 1e-5, f"{path.name}: {volume} mm3, its profile makes {wanted}"
    rows = (folder / "former/former.csv").read_text().splitlines()[1:]
    height = max(float(row.split(",")[-1]) for row in rows)
    low, high = min(z for _, z in corners), max(z for _, z in corners)
    assert abs(high - height) < 1e-3, f"{path.name}: {high} mm high, former.csv says {height}"
    assert abs(size[2] - (high - low)) < 1e-3 and abs(size[0] - 2 * max(r for r, _ in corners)) < 1e-3, size
    heights = stl_heights(folder / "former/former.stl")
    assert abs(heights - (high - low)) < 1e-3, f"former.stl: {heights} mm, the turned former {high - low}"
    print(f"{path.name}: {volume:.3f} mm3, its profile {wanted:.3f}, {[round(side, 4) for side in size]} mm")


main(pathlib.Path(sys.argv[1]))
