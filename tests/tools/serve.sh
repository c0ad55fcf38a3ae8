#!/usr/bin/env bash
# The page of `serve`, used by a headless Chromium: what is dragged, drawn, downloaded, and how fast.
set -euo pipefail
if ! command -v chromium chromium-browser google-chrome > /dev/null; then
    if [ "$(id -u)" = 0 ] && command -v apt-get > /dev/null; then
        apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium > "$WORK/apt.log"
    else
        echo "chromium is missing: install it and try again" >&2
        exit 1
    fi
fi
node tests/tools/check_page.mjs "$FLATSPIRE" "$WORK"
node tests/tools/check_desk.mjs "$FLATSPIRE" "$WORK"
