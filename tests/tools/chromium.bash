# Sets $browser to a Chromium, installed where this user may; read by the checks that need one.
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
