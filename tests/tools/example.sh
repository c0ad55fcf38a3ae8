#!/usr/bin/env bash
# The Python example, run as its heading says.
set -euo pipefail
python3 examples/read_package.py "$FLATSPIRE" "$WORK/spring" > "$WORK/told.txt"
grep -q '^passed$' "$WORK/told.txt"
test -s "$WORK/spring/plotted.png"
