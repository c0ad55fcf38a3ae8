#!/usr/bin/env bash
# Page and report read by axe-core, an accessibility checker (npm, MPL-2.0), in headless Chromium: no findings.
set -euo pipefail
AXE=4.14.1
. "$(dirname "$0")/chromium.bash"
npm install --prefix "$WORK/npm" --no-save --no-audit --no-fund --ignore-scripts --silent "axe-core@$AXE"
node tests/tools/check_access.mjs "$FLATSPIRE" "$PACKAGE" "$WORK/npm/node_modules/axe-core/axe.min.js"
