#!/usr/bin/env bash
# Page and report read by axe-core, an accessibility checker (npm, MPL-2.0), in headless Chromium: no findings.
set -euo pipefail
AXE=4.14.1
if ! command -v chromium chromium-browser google-chrome > /dev/null; then
    if [ "$(id -u)" = 0 ] && command -v apt-get > /dev/null; then
        apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium > "$WORK/apt.log"
    else
        echo "chromium is missing: install it and try again" >&2
        exit 1
    fi
fi
npm install --prefix "$WORK/npm" --no-save --no-audit --no-fund --ignore-scripts --silent "axe-core@$AXE"
node tests/tools/check_access.mjs "$FLATSPIRE" "$PACKAGE" "$WORK/npm/node_modules/axe-core/axe.min.js"
