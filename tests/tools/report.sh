#!/usr/bin/env bash
# Reports opened in headless Chromium at desktop and phone width, moved, pointed at, printed; HTML read strictly.
set -euo pipefail
browser=""
for name in chromium chromium-browser google-chrome; do
    if command -v "$name" > /dev/null; then browser="$name"; break; fi
done
if [ -z "$browser" ]; then
    if [ "$(id -u)" = 0 ] && command -v apt-get > /dev/null; then
        apt-get update -qq > /dev/null
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium > /dev/null
        browser=chromium
    else
        echo "chromium is missing: install it and try again" >&2
        exit 1
    fi
fi
# built before where $EXAMPLES names the folder
if [ -x "${EXAMPLES:-}/reports" ]; then
    "$EXAMPLES/reports" "$WORK/reports"
else
    cargo run --quiet --example reports -- "$WORK/reports"
fi
mkdir -p "$WORK/reports/pedal"
cp "$PACKAGE/report.html" "$WORK/reports/pedal/"
python3 tests/tools/check_report.py "$browser" "$WORK/reports" "$WORK/looks"
