#!/usr/bin/env bash
# A package, read with nothing but Python's standard library; its drawing audited by ezdxf; completions read by bash.
set -euo pipefail
python3 tests/tools/check_package.py "$PACKAGE" examples/gentle.csv "$FLATSPIRE"
"$FLATSPIRE" completions bash > "$WORK/flatspire.bash"
bash -n "$WORK/flatspire.bash"
