"""Checks STL files with a general-purpose mesh library: closed, wound one way, volume above zero.

    pip install trimesh
    cargo test --test all solids
    python3 tests/tools/check_mesh.py target/tmp/*.stl
"""

import sys

import trimesh


def faults(path):
    mesh = trimesh.load(path, file_type="stl", force="mesh")
    found = []
    if not mesh.is_watertight:
        found.append("not watertight")
    if not mesh.is_winding_consistent:
        found.append("winding not consistent")
    if not mesh.volume > 0:
        found.append(f"volume {mesh.volume}")
    if mesh.body_count != 1:
        found.append(f"{mesh.body_count} bodies")
    summary = f"{len(mesh.faces)} triangles, {mesh.volume:.1f} mm³, extents {mesh.extents.round(2).tolist()}"
    return summary, found


def main(paths):
    if not paths:
        sys.exit("no STL files given")
    failed = False
    for path in paths:
        summary, found = faults(path)
        print(f"{path}: {summary}: {', '.join(found) or 'sound'}")
        failed = failed or bool(found)
    sys.exit(1 if failed else 0)


main(sys.argv[1:])
