#!/usr/bin/env bash
# The page of `serve`, used by a headless Chromium: what is dragged, drawn, downloaded, and how fast.
set -euo pipefail
. "$(dirname "$0")/chromium.bash"
node tests/tools/check_page.mjs "$FLATSPIRE" "$WORK"
node tests/tools/check_desk.mjs "$FLATSPIRE" "$WORK"
