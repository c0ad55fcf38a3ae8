#!/usr/bin/env bash
# Reports opened in headless Chromium at desktop and phone width, moved, pointed at, printed; HTML read strictly.
set -euo pipefail
. "$(dirname "$0")/chromium.bash"
# built before where $EXAMPLES names the folder
if [ -x "${EXAMPLES:-}/reports" ]; then
    "$EXAMPLES/reports" "$WORK/reports"
else
    cargo run --quiet --example reports -- "$WORK/reports"
fi
mkdir -p "$WORK/reports/pedal"
cp "$PACKAGE/report.html" "$WORK/reports/pedal/"
python3 tests/tools/check_report.py "$browser" "$WORK/reports" "$WORK/looks"
