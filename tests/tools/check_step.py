"""Reads the STEP files of a package with Open CASCADE: one valid closed solid each, its volume that of the STL or drawing.

    pip install cadquery-ocp
    python3 tests/tools/check_step.py FOLDER
"""

import json
import pathlib
import struct
import sys

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


def main(folder):
    summary = json.loads((folder / "summary.json").read_text())
    spring = summary["spring"]
    thickness, outside = spring["sheet"]["thickness"], spring["disc"]["outer_diameter"]
    volume, size = solid(folder / "spring.step")
    wanted = stl_volume(folder / "spring.stl")
    assert abs(volume / wanted - 1) < 1e-3, f"spring.step: {volume} mm3, the STL has {wanted}"
    print(f"spring.step: {volume:.2f} mm3, the STL {wanted:.2f}, {[round(side, 3) for side in size]} mm")
    volume, size = solid(folder / "blank.step")
    wanted = summary["drawing"]["cut"]["part_area_mm2"] * thickness
    assert abs(volume / wanted - 1) < 1e-5, f"blank.step: {volume} mm3, the drawing has {wanted}"
    for side, found in zip((outside, outside, thickness), size):
        assert abs(found - side) < 2e-3, f"blank.step: {size} mm"
    print(f"blank.step: {volume:.3f} mm3, area of the drawing times sheet {wanted:.3f}, {[round(s, 4) for s in size]} mm")


main(pathlib.Path(sys.argv[1]))
