#!/usr/bin/env bash
# The solids of a package, tested for holes and turned faces by trimesh, its STEP files by Open CASCADE.
set -euo pipefail
# the reader of STEP files is linked to the system's drawing libraries
if ! ldconfig -p | grep -q 'libGL\.so\.1'; then
    if [ "$(id -u)" = 0 ] && command -v apt-get > /dev/null; then
        apt-get update -qq > /dev/null
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends libgl1 libx11-6 libxrender1 > /dev/null
    else
        echo "libGL.so.1 is missing: install libgl1, libx11-6 and libxrender1" >&2
        exit 1
    fi
fi
python3 tests/tools/check_mesh.py "$PACKAGE"/solids/*.stl "$PACKAGE"/former/*.stl
python3 tests/tools/check_step.py "$PACKAGE"
