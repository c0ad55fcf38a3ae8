#!/usr/bin/env bash
# Many drawings of many springs, opened, audited and measured by ezdxf and shapely.
set -euo pipefail
# built before where $EXAMPLES names the folder
if [ -x "${EXAMPLES:-}/drawings" ]; then
    "$EXAMPLES/drawings" "$WORK/drawings" 200
else
    cargo run --quiet --example drawings -- "$WORK/drawings" 200
fi
python3 tests/tools/check_drawings.py "$WORK/drawings"
