"""Opens reports in headless Chromium and uses them as a reader would.

    python3 tests/tools/check_report.py BROWSER FOLDER LOOKS

FOLDER holds one folder per report; LOOKS gets screenshots and printed pages to look at.
"""

import base64
import html
import itertools
import json
import math
import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import html5lib
from websockets.sync.client import connect

LARGEST = 1_500_000
WIDTHS = {"desktop": (1280, 900, False), "phone": (390, 844, True)}
PAPERS = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}
# elements of the reports that hold numbers of their own
ALONE = {"unanswered"}
FINDINGS = []


def unless(sound, text):
    if not sound:
        FINDINGS.append(text)
        print("  " + text)


class Page:
    """One tab, by the DevTools protocol."""

    def __init__(self, address):
        self.socket = connect(address, max_size=None)
        self.numbers = itertools.count(1)
        self.events = []
        for domain in ("Runtime", "Log", "Network", "Page"):
            self.call(domain + ".enable")

    def call(self, method, **parameters):
        number = next(self.numbers)
        self.socket.send(json.dumps({"id": number, "method": method, "params": parameters}))
        while True:
            message = json.loads(self.socket.recv(timeout=60))
            if message.get("id") == number:
                if "error" in message:
                    raise RuntimeError(f"{method}: {message['error']}")
                return message["result"]
            self.events.append(message)

    def wait(self, method):
        deadline = time.monotonic() + 30
        while not any(event.get("method") == method for event in self.events):
            if time.monotonic() > deadline:
                raise RuntimeError(f"{method} did not come")
            try:
                self.events.append(json.loads(self.socket.recv(timeout=1)))
            except TimeoutError:
                pass

    def value(self, expression):
        result = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in result:
            raise RuntimeError(f"{expression}: {result['exceptionDetails']}")
        return result["result"].get("value")

    def mouse(self, kind, x, y, **more):
        self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, **more)

    def settle(self):
        self.value("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(1))))")


def complaints(page, own):
    """Errors, warnings and requests that the page made."""
    found = []
    for event in page.events:
        method, about = event.get("method"), event.get("params", {})
        if method == "Runtime.exceptionThrown":
            found.append("exception: " + json.dumps(about["exceptionDetails"])[:300])
        elif method == "Runtime.consoleAPICalled" and about["type"] in ("error", "warning", "assert"):
            found.append("console: " + json.dumps(about["args"])[:300])
        elif method == "Log.entryAdded" and about["entry"]["level"] in ("error", "warning"):
            found.append("log: " + about["entry"]["text"][:300])
        elif method == "Network.requestWillBeSent" and about["request"]["url"].split("#")[0] != own:
            found.append("request: " + about["request"]["url"][:200])
    return found


def read_strictly(path, name):
    text = path.read_text(encoding="utf-8")
    unless(path.stat().st_size < LARGEST, f"{name}: {path.stat().st_size} bytes")
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    try:
        document = parser.parse(text)
    except html5lib.html5parser.ParseError as error:
        unless(False, f"{name}: HTML: {error} at {parser.tokenizer.stream.position()}")
        return
    identifiers = [element.get("id") for element in document.iter() if element.get("id")]
    unless(len(identifiers) == len(set(identifiers)), f"{name}: an id stands twice")
    for element in document.iter():
        for attribute in ("src", "href", "srcset", "style", "data", "poster"):
            unless(element.get(attribute) is None, f"{name}: <{element.tag} {attribute}=…> stands in the page")
    titles = document.findall(".//title")
    unless(len(titles) >= 1 and titles[0].text, f"{name}: no title")
    for picture in document.iter("svg"):
        named = picture.find("title") is not None or picture.get("aria-label")
        unless(named, f"{name}: a picture without words")
    levels = [int(element.tag[1]) for element in document.iter() if re.fullmatch(r"h[1-6]", str(element.tag))]
    unless(levels[:1] == [1] and levels.count(1) == 1, f"{name}: headings {levels}")
    unless(all(b - a <= 1 for a, b in zip(levels, levels[1:])), f"{name}: a level of headings is left out: {levels}")


def number(text):
    found = re.search(r"[−-]?\d+(\.\d+)?", text.replace("\u00a0", " "))
    return float(found.group().replace("−", "-")) if found else None


def data_of(path):
    text = path.read_text(encoding="utf-8")
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.S)
    return json.loads(found.group(1))


def interpolated(xs, ys, x):
    for a, b, fa, fb in zip(xs, xs[1:], ys, ys[1:]):
        if a <= x <= b:
            return fa + (fb - fa) * (x - a) / (b - a) if b > a else fa
    return ys[-1] if x > xs[-1] else ys[0]


def reading(page, name):
    return number(page.value(f"document.getElementById('reading-{name}').textContent"))


def use_slider(page, data, name):
    """Drags the slider with the mouse: readings and pictures follow."""
    box = page.value("(() => { const b = document.getElementById('pressed').getBoundingClientRect();"
                     " return [b.left, b.top, b.width, b.height]; })()")
    left, top, width, height = box
    pictures = ("[document.getElementById('section').innerHTML,"
                " document.getElementById('body').toDataURL(),"
                " document.querySelector('figure[data-chart=curve] g.now').innerHTML,"
                " document.querySelector('figure[data-chart=stress_along] g.now').innerHTML]")
    seen = []
    y = top + height / 2
    page.mouse("mousePressed", left + width / 2, y, button="left", clickCount=1)
    for share in (0.02, 0.3, 0.6, 0.98):
        page.mouse("mouseMoved", left + share * width, y, button="left", buttons=1)
        page.settle()
        x, force, stress = (reading(page, part) for part in ("x", "force", "stress"))
        # the deflection is read to three digits; near flat the force rises steeply over what they leave out
        half = 0.5 * 10 ** (math.floor(math.log10(x)) - 2) if x > 0 else 0.0
        low, expected, high = (interpolated(data["travel"]["x"], data["travel"]["force"], at)
                               for at in (x - half, x, x + half))
        room = 0.03 * max(expected, 0.05 * data["travel"]["force"][-1])
        near = low - room <= force <= high + room
        unless(near, f"{name}: at {x} the slider says {force}, the data {expected:.4g}")
        seen.append((x, force, stress, page.value(pictures)))
    page.mouse("mouseReleased", left + 0.98 * width, y, button="left", clickCount=1)
    unless(all(a[0] < b[0] for a, b in zip(seen, seen[1:])), f"{name}: the slider does not move the travel")
    unless(seen[0][1] < seen[-1][1], f"{name}: the force does not rise with the slider")
    for k, what in enumerate(("section", "body", "mark on the curve", "stress along the arm")):
        unless(len({shot[3][k] for shot in seen}) >= 3, f"{name}: the {what} does not follow the slider")
    # and by the keyboard
    before = reading(page, "x")
    page.value("document.getElementById('pressed').focus()")
    for _ in range(3):
        for kind in ("keyDown", "keyUp"):
            page.call("Input.dispatchKeyEvent", type=kind, key="PageDown", code="PageDown",
                      windowsVirtualKeyCode=34)
    page.settle()
    unless(reading(page, "x") < before, f"{name}: the keyboard does not move the slider")


def use_pointer(page, data, name):
    """Points at the charts: values appear and are those of the lines."""
    for chart, about in data["charts"].items():
        place = page.value(
            f"(() => {{ const s = document.querySelector('figure[data-chart={chart}] svg');"
            " s.scrollIntoView({ block: 'center' }); const b = s.getBoundingClientRect();"
            " return [b.left, b.top, b.width, b.height, s.viewBox.baseVal.width]; })()"
        )
        page.settle()
        left, top, width, height, units = place
        field = about["field"]
        px = left + (0.6 * field[0] + 0.4 * field[2]) * width / units
        page.mouse("mouseMoved", px, top + 0.5 * height)
        page.settle()
        tip = page.value(f"(() => {{ const t = document.querySelector('figure[data-chart={chart}] .tip');"
                         " return t.hidden ? null : [...t.children].map((p) => p.textContent); })()")
        if not tip or len(tip) < 2:
            unless(False, f"{name}: pointing at {chart} shows {tip}")
            continue
        x = number(tip[0])
        shown = number(tip[1].split(":")[-1])
        line = next(line for line in about["lines"] if tip[1].startswith(line["name"]))
        expected = interpolated(line["x"], line["y"], x)
        close = abs(shown - expected) <= 0.01 * max(map(abs, line["y"])) + 1e-3
        unless(close, f"{name}: {chart} at {x}: shows {shown}, the line has {expected:.5g}")
        inside = page.value(
            f"(() => {{ const t = document.querySelector('figure[data-chart={chart}] .tip').getBoundingClientRect();"
            " return t.left >= 0 && t.right <= innerWidth + 1; })()"
        )
        unless(inside, f"{name}: the reading of {chart} leaves the screen")
        page.mouse("mouseMoved", 2, 2)
        page.settle()
        hidden = page.value(f"document.querySelector('figure[data-chart={chart}] .tip').hidden")
        unless(hidden, f"{name}: the reading of {chart} stays when the pointer leaves")
    page.value("scrollTo(0, 0)")


def look(page, path):
    size = page.call("Page.getLayoutMetrics")["cssContentSize"]
    shot = page.call("Page.captureScreenshot", captureBeyondViewport=True,
                     clip={"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 16000), "scale": 1})
    path.write_bytes(base64.b64decode(shot["data"]))
    first = page.call("Page.captureScreenshot")
    path.with_name(path.stem + "-first.png").write_bytes(base64.b64decode(first["data"]))


def read_widths(page, name):
    unless(page.value("document.documentElement.scrollWidth <= innerWidth"),
           f"{name}: the page is wider than the screen")
    small = page.value(
        "[...document.querySelectorAll('svg text')].filter((t) => t.getBoundingClientRect().height > 0)"
        ".map((t) => parseFloat(getComputedStyle(t).fontSize) * t.ownerSVGElement.getBoundingClientRect().width"
        " / t.ownerSVGElement.viewBox.baseVal.width).reduce((a, b) => Math.min(a, b), 99)"
    )
    unless(small >= 7.5, f"{name}: text of {small:.1f} px in a picture")
    words = page.value(
        "[...document.querySelectorAll('p, li, td, th, dd, dt, figcaption, h1, h2, h3, summary, pre')]"
        ".filter((e) => e.offsetParent).map((e) => parseFloat(getComputedStyle(e).fontSize))"
        ".reduce((a, b) => Math.min(a, b), 99)"
    )
    unless(words >= 11, f"{name}: words of {words} px")


def true_scale(page, name):
    """On paper the plan is as large as its caption says: the bar of the picture measures it."""
    page.call("Emulation.setEmulatedMedia", media="print")
    page.call("Emulation.setDeviceMetricsOverride", width=703, height=1000, deviceScaleFactor=1, mobile=False)
    page.settle()
    found = page.value(
        "(() => { const f = document.querySelector('figure[data-chart=plan]'); if (!f) return null;"
        " const s = f.querySelector('svg'); const bar = s.querySelectorAll('text')[0].textContent;"
        " const line = [...s.querySelectorAll('path[fill=none]')].map((p) => p.getAttribute('d'))"
        ".filter((d) => (d.match(/[ML]/g) || []).length === 2).map((d) => d.match(/[-.0-9]+/g).map(Number))"
        ".filter((p) => p[1] === p[3] && p[1] > s.viewBox.baseVal.width)[0];"
        " return [bar, (line[2] - line[0]) * s.getBoundingClientRect().width / s.viewBox.baseVal.width,"
        " f.querySelector('figcaption').textContent]; })()"
    )
    page.call("Emulation.setEmulatedMedia", media="")
    if not found:
        unless(False, f"{name}: no plan")
        return
    bar, pixels, caption = found
    length = number(bar) * (25.4 if "in" in bar else 1.0)
    above, below = map(float, re.search(r"(\d+) : (\d+)", caption).groups())
    paper = pixels * 25.4 / 96
    unless(abs(paper - length * above / below) < 0.01 * length, f"{name}: {bar} are {paper:.2f} mm on paper at {above:.0f}:{below:.0f}")


def print_page(page, looks, name):
    for paper, (width, height) in PAPERS.items():
        printed = page.call("Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True)
        path = looks / f"{name}-{paper}.pdf"
        path.write_bytes(base64.b64decode(printed["data"]))
        pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", path.read_bytes()))
        unless(1 <= pages <= 9, f"{name}: {pages} pages of {paper}")


def check(page, path, looks, kind, size):
    width, height, phone = size
    name = f"{path.parent.name}-{kind}"
    print(name)
    page.events.clear()
    page.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=phone)
    own = path.as_uri()
    page.call("Page.navigate", url=own)
    page.wait("Page.loadEventFired")
    page.settle()
    read_widths(page, name)
    if path.parent.name not in ALONE:
        data = data_of(path)
        unless(page.value("!document.querySelector('.live[hidden], #travel[hidden]')"), f"{name}: parts stay hidden")
        use_slider(page, data, name)
        use_pointer(page, data, name)
        page.value("document.getElementById('copy').click()")
        time.sleep(0.2)
        said = page.value("document.getElementById('copied').textContent")
        unless(said, f"{name}: copying says nothing")
        kept = page.value("document.getElementById('spring-file').textContent")
        unless(kept.startswith("format = 1"), f"{name}: no spring file in the page")
    looks.mkdir(parents=True, exist_ok=True)
    look(page, looks / f"{name}.png")
    if not phone:
        print_page(page, looks, path.parent.name)
        if path.parent.name not in ALONE:
            true_scale(page, name)
    for complaint in complaints(page, own):
        unless(False, f"{name}: {complaint}")


def refuses_strangers(page, path, looks):
    """The page's own policy holds: a script put into it does not run, and nothing is fetched."""
    text = path.read_text(encoding="utf-8")
    tampered = looks / "tampered.html"
    stranger = "<script>document.title = 'stranger'; fetch('http://127.0.0.1:9/');</script></body>"
    tampered.write_text(text.replace("</body>", stranger), encoding="utf-8")
    page.events.clear()
    page.call("Page.navigate", url=tampered.as_uri())
    page.wait("Page.loadEventFired")
    unless(page.value("document.title") != "stranger", "a foreign script runs in the page")
    unless(any("Content Security Policy" in complaint for complaint in complaints(page, tampered.as_uri())),
           "the policy is not heeded")
    tampered.unlink()


def main():
    browser, folder, looks = sys.argv[1], Path(sys.argv[2]).resolve(), Path(sys.argv[3]).resolve()
    reports = sorted(folder.glob("*/report.html"))
    unless(len(reports) >= 5, f"{len(reports)} reports in {folder}")
    looks.mkdir(parents=True, exist_ok=True)
    for path in reports:
        read_strictly(path, path.parent.name)
    with tempfile.TemporaryDirectory() as profile:
        process = subprocess.Popen(
            [browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars",
             "--disable-background-networking", "--remote-debugging-port=0", f"--user-data-dir={profile}",
             "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        try:
            port_file = Path(profile) / "DevToolsActivePort"
            deadline = time.monotonic() + 60
            while not port_file.exists() or not port_file.read_text().strip():
                if time.monotonic() > deadline:
                    raise RuntimeError("the browser does not answer")
                time.sleep(0.1)
            port = port_file.read_text().split()[0]
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/json/list") as answer:
                targets = json.loads(answer.read())
            address = next(target["webSocketDebuggerUrl"] for target in targets if target["type"] == "page")
            page = Page(address)
            for path in reports:
                for kind, size in WIDTHS.items():
                    check(page, path, looks, kind, size)
            refuses_strangers(page, next(path for path in reports if path.parent.name not in ALONE), looks)
        finally:
            process.terminate()
            process.wait(timeout=20)
    for finding in FINDINGS:
        print("FOUND: " + html.unescape(finding))
    print(f"{len(reports)} reports, {len(FINDINGS)} findings")
    sys.exit(1 if FINDINGS else 0)


if __name__ == "__main__":
    main()
