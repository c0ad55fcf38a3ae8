#!/usr/bin/env bash
# Many drawings of many springs, opened, audited and measured by ezdxf and shapely.
set -euo pipefail
cargo run --quiet --example drawings -- "$WORK/drawings"
python3 tests/tools/check_drawings.py "$WORK/drawings"
