#!/usr/bin/env bash
# The solids of a package, tested for holes and turned faces by trimesh.
set -euo pipefail
python3 tests/tools/check_mesh.py "$PACKAGE"/*.stl
python3 tests/tools/check_step.py "$PACKAGE"
