#!/usr/bin/env python3
"""Looks at sheets, cards, certificates, letters and the calendar with other people's programs.

In headless Chromium, on a phone of 390 px and on a wide screen, light and dark: nothing
scrolls sideways, nothing is asked of another address, the console stays empty, text has
the contrast that WCAG 2.1 asks for (AA, 4.5 to 1; 3 to 1 from 24 px), drawings have
names; nothing lies beyond an edge, no word is torn, no box to tick and no block of work
lies under another thing. Printed on A4 and Letter every day is on one page, or runs on
under its date where it is full; lists are of 7 pt or more and figures of 6, and smaller
than the largest size only where the page is filled. The calendar is read by the Python library icalendar and its instants are compared with zoneinfo's.

Usage: .ci/sheets.py PROGRAM    (Chromium on the path, Python 3.11, an index for pip)
"""
import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
import venv
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parent.parent
NAMES = ["chromium", "chromium-browser", "google-chrome"]

# Effective background: the nearest ancestor with one; pages have no pictures behind text.
LOOK = """
(() => {
  const wrong = [];
  const ratio = (a, b) => {
    const lum = c => { const f = c.map(v => { v /= 255; return v <= .03928 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4; }); return .2126 * f[0] + .7152 * f[1] + .0722 * f[2]; };
    const [x, y] = [lum(a), lum(b)].sort((p, q) => q - p);
    return (x + .05) / (y + .05);
  };
  const parse = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const behind = e => { for (; e; e = e.parentElement) { const c = parse(getComputedStyle(e).backgroundColor); if (c.length === 3 || c[3] > .99) return c.slice(0, 3); } return [255, 255, 255]; };
  let texts = 0;
  for (const e of document.querySelectorAll('body *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
    const box = e.getBoundingClientRect();
    if (!own || box.width < 2 || e.closest('svg') || e.closest('.sr')) continue;
    const style = getComputedStyle(e);
    const has = ratio(parse(style.color).slice(0, 3), behind(e));
    const wants = parseFloat(style.fontSize) >= 24 ? 3 : 4.5;
    texts += 1;
    if (has < wants) wrong.push(`contrast ${has.toFixed(2)} of "${e.textContent.trim().slice(0, 40)}"`);
  }
  for (const e of document.querySelectorAll('svg text')) {
    if (e.getBoundingClientRect().width < 1) continue;
    const fill = parse(getComputedStyle(e).fill).slice(0, 3);
    const block = e.parentElement.querySelector('.work, .lit, .sheet-of-paper');
    const on = /^on-|^mark/.test(e.getAttribute('class') || '') && block ? parse(getComputedStyle(block).fill) : behind(e);
    texts += 1;
    const has = ratio(fill, on.slice(0, 3));
    if (has < 4.5) wrong.push(`contrast ${has.toFixed(2)} of "${e.textContent}" in a drawing`);
  }
  for (const e of document.querySelectorAll('svg:not([aria-hidden])'))
    if (!e.querySelector('title') || e.getAttribute('role') !== 'img') wrong.push('a drawing without a name');
  for (const e of document.querySelectorAll('input'))
    if (!e.closest('label')) wrong.push('a box without a label');
  const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
  if (new Set(ids).size !== ids.length) wrong.push('an id stands twice');
  if (!document.documentElement.lang || !document.querySelector('h1')) wrong.push('no language or no heading');
  const wide = document.documentElement.scrollWidth;
  if (wide > innerWidth) wrong.unshift(`scrolls sideways, ${wide} of ${innerWidth} px`);
  const shown = e => e.getClientRects().length && !e.closest('.sr, .patterns, defs') && getComputedStyle(e).visibility !== 'hidden';
  const meet = (a, b, by) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > by && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > by;
  const all = [...document.querySelectorAll('body *')].filter(shown);
  for (const e of all) {
    const box = e.getBoundingClientRect();
    if (box.left < -.5 || box.right > innerWidth + .5) wrong.push(`beyond an edge, from ${box.left.toFixed(1)} to ${box.right.toFixed(1)} px: ${e.tagName} "${e.textContent.trim().slice(0, 30)}"`);
  }
  // Where each line of text stands, outside of drawings.
  const lines = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const e = node.parentElement;
    if (!node.data.trim() || e.closest('svg, style, .sr') || !shown(e)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    lines.push(...[...range.getClientRects()].map(box => ({e, box})));
    // Words that a line holds stay whole; so do numbers of orders that name the work.
    for (const word of node.data.matchAll(/\d{4}-\d{3}(?!\d)|(?<![\p{L}\p{N}-])[\p{L}\p{N}]{2,14}(?![\p{L}\p{N}-])/gu)) {
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const tops = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
      if (tops.size > 1 && (!word[0].includes('-') || e.closest('.o, .order-number'))) wrong.push(`"${word[0]}" is torn over ${tops.size} lines`);
    }
  }
  const drawings = all.filter(e => e.matches('svg')).map(e => ({e, box: e.getBoundingClientRect()}));
  for (const box of all.filter(e => e.matches('input'))) {
    const own = box.getBoundingClientRect();
    const under = [...lines, ...drawings].find(other => meet(own, other.box, 1));
    if (under) wrong.push(`a box lies on "${under.e.textContent.trim().slice(0, 30)}"`);
  }
  for (const e of all.filter(e => e.matches('.signs, .cautions, .ticks > li, .top, .card')))
    if (e.getClientRects().length > 1) wrong.push(`"${e.textContent.trim().slice(0, 20)}" is torn over columns`);
  for (const picture of all.filter(e => e.matches('svg.picture'))) {
    const day = picture.getAttribute('aria-label').split(':')[0];
    const groups = [...picture.querySelectorAll('g')].filter(g => g.querySelector('.work, .lit, .mixing, .leaving'));
    const blocks = groups.map(g => [...g.querySelectorAll('rect, line, text')].map(e => e.getBBox()).map(b => ({left: b.x, right: b.x + b.width, top: b.y, bottom: b.y + b.height})));
    groups.forEach((g, i) => {
      const name = g.querySelector('title').textContent;
      if (!g.querySelector('text')) wrong.push(`${day}: ${name} has no number`);
      for (let j = 0; j < i; j++)
        if (blocks[i].some(a => blocks[j].some(b => meet(a, b, .6)))) wrong.push(`${day}: ${name} and ${groups[j].querySelector('title').textContent} cover each other`);
    });
    const texts = [...picture.querySelectorAll('text')].map(e => ({e, b: e.getBBox()})).map(({e, b}) => ({e, left: b.x, right: b.x + b.width, top: b.y + b.height * .25, bottom: b.y + b.height * .8}));
    texts.forEach((a, i) => texts.slice(0, i).forEach(b => { if (meet(a, b, .5)) wrong.push(`${day}: "${a.e.textContent}" is written over "${b.e.textContent}"`); }));
    // The line of a full rack or of a minute's light runs through no figure of a rack.
    for (const line of picture.querySelectorAll('line.level')) {
      const y = +line.getAttribute('y1');
      const hit = texts.find(t => t.e.matches('.figure') && t.right > 110 && t.top + .5 < y && y < t.bottom - .5);
      if (hit) wrong.push(`${day}: a line runs through "${hit.e.textContent}"`);
    }
  }
  return {wrong: [...new Set(wrong)].slice(0, 8), texts};
})()
"""

# What is printed, at the width that the paper leaves: sizes, frames, the order of cards.
PRINTED = """
(() => {
  const wrong = [], pt = px => px * .75;
  for (const e of document.querySelectorAll('.lists *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
    const size = pt(parseFloat(getComputedStyle(e).fontSize));
    if (own && !e.closest('svg, .sr') && size < 6.99) wrong.push(`${size.toFixed(1)} pt in a list: "${e.textContent.trim().slice(0, 30)}"`);
  }
  for (const e of document.querySelectorAll('svg text')) {
    if (!e.getClientRects().length) continue;
    const size = pt(parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a);
    if (size < 6) wrong.push(`${size.toFixed(1)} pt in a drawing: "${e.textContent}"`);
  }
  for (const e of document.querySelectorAll('.frame .wall')) {
    // A page of paper is cut off at a whole pixel; the wall must be visible inside of it.
    const svg = e.closest('svg'), box = svg.viewBox.baseVal, wall = e.getBBox();
    const free = Math.min(wall.x, wall.y, box.width - wall.x - wall.width, box.height - wall.y - wall.height);
    const line = parseFloat(getComputedStyle(e).strokeWidth);
    if (getComputedStyle(svg).overflow !== 'visible' && free < line) wrong.push('the wall of a frame lies on the edge of its drawing');
    if (free < line / 2 || pt(line * e.getScreenCTM().a) < .5) wrong.push('the wall of a frame is cut or too thin');
  }
  for (const e of document.querySelectorAll('.signs, .cautions, .ticks > li, .top'))
    if (e.getClientRects().length > 1 && !e.closest('.leaves')) wrong.push(`"${e.textContent.trim().slice(0, 20)}" is torn over columns`);
  for (const order of document.querySelectorAll('.cards')) {
    const places = [...order.querySelectorAll('.card')].map(e => e.getBoundingClientRect());
    places.forEach((b, i) => { const a = places[i - 1]; if (a && !(b.top > a.top + 5 || b.left > a.left + 5)) wrong.push('cards do not read across'); });
    if (places[1] && Math.abs(places[1].top - places[0].top) > 5) wrong.push('the first piece is not beside the parcel');
  }
  return [...new Set(wrong)].slice(0, 8);
})()
"""

# Width of the paper inside its margins of 9 mm. [px]
INSIDE = {"a4": 726, "letter": 748}


def in_own_environment(work: Path) -> None:
    """Starts this script again in a fresh environment with the pinned versions."""
    venv.create(work / "venv", with_pip=True)
    python = str(work / "venv" / "bin" / "python")
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    wanted = str(ROOT / ".ci" / "sheets.requirements.txt")
    subprocess.run([*pip, "--requirement", wanted], check=True)
    inside = {**os.environ, "FAIRDAY_SHEETS_INSIDE": str(work)}
    sys.exit(subprocess.run([python, __file__, *sys.argv[1:]], env=inside).returncode)


class Browser:
    """Headless Chromium with an empty profile, spoken to over its own protocol."""

    def __init__(self, work: Path):
        import websocket

        program = next((path for name in NAMES if (path := shutil.which(name))), None)
        if not program:
            sys.exit("sheets: no Chromium on the path; install the package `chromium`")
        self.errors = (work / "chromium.log").open("w")
        profile = work / "profile"
        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0"]
        flags += ["--remote-allow-origins=*", "--no-first-run", f"--user-data-dir={profile}"]
        start = [program, *flags, "about:blank"]
        self.process = subprocess.Popen(start, stdout=self.errors, stderr=self.errors)
        port = self.wait_for_port(profile / "DevToolsActivePort")
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/json") as answer:
            pages = [page for page in json.load(answer) if page["type"] == "page"]
        address = pages[0]["webSocketDebuggerUrl"]
        self.line = websocket.create_connection(address, timeout=60)
        self.number, self.events = 0, []
        for domain in ["Page", "Runtime", "Network", "Log"]:
            self.ask(f"{domain}.enable")

    def wait_for_port(self, file: Path) -> str:
        for _ in range(300):
            if file.exists() and (lines := file.read_text().split()):
                return lines[0]
            time.sleep(0.1)
        sys.exit("sheets: Chromium did not start; see its log above")

    def ask(self, method: str, **values):
        self.number += 1
        self.line.send(json.dumps({"id": self.number, "method": method, "params": values}))
        while True:
            answer = json.loads(self.line.recv())
            if answer.get("id") == self.number:
                if "error" in answer:
                    sys.exit(f"sheets: {method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def open(self, page: Path, width: int, scheme: str) -> list[str]:
        """Opens a page and says what went wrong on the way."""
        self.events.clear()
        size = {"width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 600}
        self.ask("Emulation.setDeviceMetricsOverride", **size)
        scheme = {"name": "prefers-color-scheme", "value": scheme}
        self.ask("Emulation.setEmulatedMedia", media="screen", features=[scheme])
        self.ask("Page.navigate", url=page.as_uri())
        while not any(event["method"] == "Page.loadEventFired" for event in self.events):
            self.events.append(json.loads(self.line.recv()))
        self.look("document.readyState")
        return [problem for event in self.events if (problem := problem_of(event, page))]

    def look(self, script: str):
        answer = self.ask("Runtime.evaluate", expression=script, returnByValue=True)
        return answer["result"].get("value")

    def look_as_printed(self, paper: str, script: str):
        """Looks at the open page as it is set on a paper, pages not parted."""
        size = {"width": INSIDE[paper], "height": 1000, "deviceScaleFactor": 1, "mobile": False}
        self.ask("Emulation.setDeviceMetricsOverride", **size)
        self.ask("Emulation.setEmulatedMedia", media="print")
        return self.look(script)

    def print(self, page: Path) -> bytes:
        """Prints the open page on the paper that it asks for."""
        import base64

        self.ask("Emulation.setEmulatedMedia", media="")
        answer = self.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
        return base64.b64decode(answer["data"])

    def close(self) -> None:
        self.line.close()
        self.process.terminate()
        self.process.wait(timeout=30)
        self.errors.close()


def problem_of(event: dict, page: Path) -> str | None:
    method, values = event["method"], event.get("params", {})
    if method == "Network.requestWillBeSent":
        address = values["request"]["url"]
        inside = address == page.as_uri() or address.startswith("data:")
        return None if inside else f"asks {address}"
    if method == "Runtime.exceptionThrown" or method == "Runtime.consoleAPICalled":
        return f"console: {json.dumps(values)[:200]}"
    if method == "Log.entryAdded" and values["entry"]["level"] in ("warning", "error"):
        return f"console: {values['entry']['text']}"
    return None


def hostile_studio(work: Path) -> Path:
    """Copies the demonstration and adds names that pages stumble over."""
    studio = work / "studio"
    work.mkdir(exist_ok=True)
    shutil.copytree(ROOT / "orders", studio, ignore=shutil.ignore_patterns("outbox", "sheets"))
    long = "Unbroken" * 25
    orders = {
        "2026-090": ("<b>\\\"Robert'); --</b> &amp; Söhne", "A4", f"{long}"),
        "2026-091": ("ליאת כהן-אברהמי", "A3", "فرن الخبز القديم"),
        "2026-092": ("山田 太郎", "8x10 in", "</title></svg><script>alert(1)</script>"),
    }
    for number, (name, size, title) in orders.items():
        text = f"""order: {number}
customer:
  name: "{name}"
  email: nobody@example.org
  address: "{name}, {long}, 12345 Ortlos"
ordered_on: 2026-05-02
promise: {{kind: ship_by, date: 2026-05-20}}
jurisdiction: uk
delivery: home
pieces:
  - {{title: "{title}", material: rag-300, size: {size}, copies: 2, negative: "{title}"}}
"""
        (studio / f"{number}.yaml").write_text(text)
    return studio


def dry_studio(work: Path) -> Path:
    """Copies the demonstration and takes its forecast away."""
    studio = work / "dry"
    shutil.copytree(ROOT / "orders", studio, ignore=shutil.ignore_patterns("outbox", "sheets"))
    file = studio / "studio.yaml"
    file.write_text(file.read_text().replace("\nforecast: forecast.json", "\n"))
    return studio


def crowded_studio(work: Path) -> Path:
    """Copies the demonstration and adds more orders than the studio can bring in time."""
    studio = work / "crowded"
    shutil.copytree(ROOT / "orders", studio, ignore=shutil.ignore_patterns("outbox", "sheets"))
    for number in range(100, 160):
        text = f"""order: 2026-{number}
customer: {{name: Customer With A Longish Name {number}}}
ordered_on: 2026-05-09
promise: {{kind: ship_by, date: 2026-05-14}}
jurisdiction: uk
delivery: home
pieces:
  - {{title: Sea {number}, material: rag-300, size: A5, copies: 3, negative: a-rather-long-name-{number}}}
"""
        (studio / f"2026-{number}.yaml").write_text(text)
    return studio


def new_studio(program: Path, work: Path, name: str, hands: int, orders: int, long: bool) -> Path:
    """Makes a studio as `fairday new` does, with the demonstration's forecast and small orders."""
    studio = work / name
    subprocess.run([program, "new", studio, "--today", "2026-05-11"], check=True, stdout=subprocess.DEVNULL)
    shutil.copy(ROOT / "orders" / "forecast.json", studio)
    file = studio / "studio.yaml"
    text = file.read_text()
    for old, new in [("#hands: 1 ", f"hands: {hands} "), ("dark_dry_sheets: 12", "dark_dry_sheets: 60"),
                     ("wet_dry_sheets: 14", "wet_dry_sheets: 80"),
                     ("name: small,", "name: small contact frame of beech," if long else "name: small,")]:
        assert old in text, old
        text = text.replace(old, new)
    file.write_text(f"{text}\nforecast: forecast.json\ntoday: 2026-05-11 07:00\n")
    for i in range(orders):
        name, street, negative, copies = f"Customer {i}", f"{i} Quayside, Northport", f"sea-{i}", 1
        if long:
            name = f"Wilhelmina Featherstonehaugh-Cholmondeley the {i}th"
            street = f"Studio {i}, The Old Ropewalk Buildings, {i} Upper Quayside Promenade, Northport-on-the-Estuary"
            negative, copies = f"harbour-wall-at-low-water-with-gulls-{i}-second-scan", 2
        (studio / f"2026-{100 + i}.yaml").write_text(f"""order: 2026-{100 + i}
customer: {{name: {name}, address: "{street}"}}
ordered_on: 2026-05-09
promise: {{kind: ship_by, date: 2026-05-20}}
jurisdiction: uk
delivery: {"pickup" if i % 10 == 9 else "home"}
pieces:
  - {{title: Sea {i}, material: rag-300, size: A5, copies: {copies}, negative: {negative}}}
""")
    return studio


def run(program: Path, studio: Path, *arguments: str) -> str:
    call = [str(program), *arguments, "--dir", str(studio)]
    done = subprocess.run(call, capture_output=True, text=True)
    if done.returncode == 2:
        sys.exit(f"sheets: {' '.join(call)}: {done.stderr}")
    return done.stdout


def check_pages(program: Path, work: Path) -> list[str]:
    from pypdf import PdfReader

    wrong, printed, texts = [], 0, 0
    demo = ROOT / "orders"
    hostile, crowded = hostile_studio(work), crowded_studio(work)
    small = new_studio(program, work, "small", 1, 2, False)
    busy = new_studio(program, work, "two-hands", 2, 30, False)
    full = new_studio(program, work, "long-names", 2, 40, True)
    dry = dry_studio(work)
    orders = ["2026-023", "2026-020"]
    odd = ["2026-090", "2026-091", "2026-092"]
    pages = [("week", demo, ["sheet"]), ("day", demo, ["sheet", "--day", "2026-05-13"]),
             ("odd week", hostile, ["sheet"]),
             ("crowded week", crowded, ["sheet", "--steps", "0"]),
             ("small week", small, ["sheet"]), ("week without forecast", dry, ["sheet"]),
             ("week of two hands", busy, ["sheet", "--steps", "0"]),
             ("week of long names", full, ["sheet", "--steps", "0"]), ("cards", demo, ["card", *orders]),
             ("odd cards", hostile, ["card", *odd]),
             ("certificates", demo, ["certificate", *orders]),
             ("odd certificates", hostile, ["certificate", *odd])]
    browser = Browser(work)
    try:
        for name, studio, arguments in pages:
            for paper in ["a4", "letter"]:
                page = work / f"{name.replace(' ', '-')}-{paper}.html"
                run(program, studio, *arguments, "--paper", paper, "--to", str(page))
                for width, scheme in [(390, "light"), (390, "dark"), (1280, "light"), (1280, "dark")]:
                    if paper == "letter" and width == 1280:
                        continue
                    where = f"{name}, {paper}, {width} px, {scheme}"
                    wrong += [f"{where}: {what}" for what in browser.open(page, width, scheme)]
                    seen = browser.look(LOOK)
                    texts += seen["texts"]
                    wrong += [f"{where}: {what}" for what in seen["wrong"]]
                wrong += [f"{name}, {paper}, printed: {what}"
                          for what in browser.look_as_printed(paper, PRINTED)]
                pdf = work / f"{page.stem}.pdf"
                pdf.write_bytes(browser.print(page))
                reader = PdfReader(pdf)
                printed += len(reader.pages)
                wrong += check_print(name, paper, page.read_text(), reader)
    finally:
        browser.close()
    print(f"sheets: {len(pages)} pages on two papers, {texts} texts looked at, {printed} pages printed")
    return wrong


def check_pictures(program: Path, work: Path) -> list[str]:
    """Compares the picture of each day with the plan as it is given to other programs.

    Every step has a block that is named with its times and stands there on the axis of
    hours; light, clear sky, windows, weather and racks are in each picture.
    """
    demo, page = ROOT / "orders", work / "pictures.html"
    run(program, demo, "sheet", "--to", str(page))
    plan = json.loads(run(program, demo, "plan", "--json"))
    wrong, blocks = [], 0
    pictures = re.findall(r'<svg class="picture wide".*?</svg>', page.read_text(), re.S)
    # A week sheet is of seven days.
    for day in plan["days"][:7]:
        date = datetime.date.fromisoformat(day["date"])
        name = f'aria-label="{date:%A} {date.day} {date:%B %Y}: light, weather, work and racks"'
        picture = next((picture for picture in pictures if name in picture), None)
        if picture is None:
            wrong += [f"{date}: work and no picture"] if day["steps"] else []
            continue
        place = axis(picture)
        drawn = [(title, float(x)) for title, shapes in re.findall(r"<title>([^<]*)</title>(.*?)</g>", picture)
                 for x in re.findall(r"<(?:rect|line)[^>]*? x1?=\"([\d.]+)\"", shapes)]
        lanes = re.findall(r'class="lane"[^>]*>([^<]*)<', picture)
        wanted = ["rain %", "wind m/s", "gusts m/s", *(["dark"] if "coat" in kinds(day) else []),
                  *(["wet"] if "wash" in kinds(day) else [])]
        wrong += [f"{date}: no lane for {lane}" for lane in wanted
                  if not any(there.startswith(lane) for there in lanes)]
        racks = sum(lane.startswith(("dark", "wet")) for lane in lanes)
        holding = len(re.findall(r">of \d+(?: cm)?<", picture))
        wrong += [f"{date}: {racks} racks, and {holding} say what they hold"] if racks != holding else []
        for title in ["Printing light by the forecast", "Printing light under a clear sky"]:
            wrong += [f"{date}: lacks {title}"] if title not in picture else []
        for words, begins in told(day):
            blocks += 1
            found = [x for title, x in drawn if words.fullmatch(title)]
            if not any(abs(x - place(begins)) < 2 for x in found):
                wrong.append(f"{date}: {words.pattern} is not drawn at {begins}, but at {found}")
    print(f"sheets: {blocks} windows, blocks and collections in the pictures stand where the "
          f"plan has them")
    return wrong if blocks > 50 else [*wrong, f"only {blocks} blocks were looked for"]


def kinds(day: dict) -> set[str]:
    return {step["step"] for step in day["steps"]}


def axis(picture: str):
    """Returns where an instant of the day stands, by the names of two hours."""
    named = re.findall(r'class="hour" text-anchor="middle" x="([\d.]+)"[^>]*>(\d+)<', picture)
    (left, first), (right, last) = [(float(x), int(hour)) for x, hour in (named[0], named[-1])]
    return lambda at: left + (clock(at) - first) * (right - left) / (last - first)


def clock(at: str) -> float:
    hour, minute = at[-5:].split(":")
    return int(hour) + int(minute) / 60


def told(day: dict):
    """Yields how each part of a day is named in its picture, and when it begins."""
    words = re.compile
    for window in day["windows"]:
        yield words(f"Fit to start {window['from'][-5:]}–{window['until'][-5:]}"), window["from"]
    for step in day["steps"]:
        begins, ends = step["from"], step["until"][-5:]
        if step["step"] == "coat":
            if step["mix_ml"]:
                yield words(f"mix, {begins[-5:]}–.*"), begins
            for coat in step["coats"]:
                yield words(rf"coat \d+, {coat['from'][-5:]}–{coat['until'][-5:]}"), coat["from"]
        elif step["step"] == "expose":
            inside = f"Round \\d+ in {step['frame']}.*light from {step['light_from'][-5:]} .*"
            for part in [begins, step["light_from"]]:
                yield words(f"{inside}in use {begins[-5:]}–{ends}"), part
        elif step["step"] == "leave":
            yield words(rf"{begins[-5:]} (for collection|carrier), \d+"), begins
        else:
            yield words(rf"{step['step']} \d+, {begins[-5:]}–{ends}"), begins


def check_letters(program: Path, work: Path) -> list[str]:
    """Looks at every letter on a phone: those of the snapshots, and letters with odd names."""
    letters = {path.stem: path for path in sorted((ROOT / "tests" / "letters").glob("*.html"))}
    answer = json.loads(run(program, hostile_studio(work / "odd"), "notices", "--json"))
    for notice in answer["notices"]:
        if notice["order"].startswith("2026-09"):
            page = work / f"odd-{notice['order']}.html"
            page.write_text(notice["letter"]["html"])
            letters[page.stem] = page
    wrong, texts = [], 0
    browser = Browser(work / "odd")
    try:
        for name, page in letters.items():
            for width, scheme in [(390, "light"), (390, "dark"), (320, "light")]:
                where = f"letter {name}, {width} px, {scheme}"
                wrong += [f"{where}: {what}" for what in browser.open(page, width, scheme)]
                seen = browser.look(LOOK)
                texts += seen["texts"]
                # A letter has no headings; its language it must name.
                named = '<html lang="' in page.read_text()
                wrong += [f"{where}: {what}" for what in seen["wrong"]
                          if what != "no language or no heading" or not named]
    finally:
        browser.close()
    print(f"sheets: {len(letters)} letters on a phone, {texts} texts looked at")
    return wrong


def check_print(name: str, paper: str, page: str, reader) -> list[str]:
    wrong = []
    size = {"a4": (595, 842), "letter": (612, 792)}[paper]
    for sheet in reader.pages:
        found = (round(float(sheet.mediabox.width)), round(float(sheet.mediabox.height)))
        if max(abs(found[0] - size[0]), abs(found[1] - size[1])) > 1:
            wrong.append(f"{name}, {paper}: printed on {found}")
            break
    certificates = page.count('class="certificate"')
    if certificates and len(reader.pages) != certificates:
        wrong.append(f"{name}, {paper}: {len(reader.pages)} pages printed, {certificates} wanted")
    sheets = re.findall(r'<section class="sheet (?:day|week)".*?--lists: ([\d.]+)pt.*?<p class="again"[^>]*><b>(.*?)</b>', page, re.S)
    if sheets:
        wrong += [f"{name}, {paper}: {what}" for what in check_sheets(name, sheets, reader)]
    return wrong


# Margins of the page. [pt]
MARGIN = 25.5
# The largest size of lists. [pt]
SIZE_MAX = 10.5


def check_sheets(name: str, sheets: list, reader) -> list[str]:
    """Finds the pages of each sheet, and whether they are filled before type gets smaller."""
    wrong, pages = [], [texts_of(page) for page in reader.pages]
    inside = float(reader.pages[0].mediabox.height) - MARGIN
    for size, heading in sheets:
        if not pages:
            return [*wrong, f"no page is left for {heading}"]
        used = [pages.pop(0)]
        # What runs on bears its date; no other page begins so.
        while pages and told_of(pages[0]).startswith(f"{heading}, continued"):
            used.append(pages.pop(0))
        if len(used) > 1 and name not in ("week of long names", "crowded week", "odd week"):
            wrong.append(f"{heading}: {len(used)} pages")
        if len(used) > 2:
            wrong.append(f"{heading}: {len(used)} pages")
        bottom = max(y for _, y, _ in used[0])
        if float(size) < SIZE_MAX or len(used) > 1:
            share = bottom / inside
            if share < 0.84:
                wrong.append(f"{heading}: lists of {size} pt, and the page ends at {share:.0%}")
        least = min(size for page in used for size, _, _ in page)
        if least < 6:
            wrong.append(f"{heading}: text of {least:.1f} pt")
    if pages:
        wrong.append(f"{len(pages)} pages without the heading of a sheet, the first: {told_of(pages[0])[:60]}")
    return wrong


def texts_of(page) -> list[tuple[float, float, str]]:
    """Returns size, distance from the top [pt] and words of all text on a printed page."""
    height, texts = float(page.mediabox.height), []

    def note(words, outer, matrix, font, size):
        if words.strip():
            scale = abs(matrix[2] * outer[1] + matrix[3] * outer[3])
            y = matrix[4] * outer[1] + matrix[5] * outer[3] + outer[5]
            texts.append((size * scale, height - y, words))

    page.extract_text(visitor_text=note)
    return texts


def told_of(texts: list) -> str:
    """Returns the words of a page from its top on, as they are read."""
    if not texts:
        return ""
    first = min(y for _, y, _ in texts)
    return "".join(words for _, y, words in texts if y < first + 4).strip()


def check_calendar(program: Path, work: Path) -> list[str]:
    import icalendar

    wrong, entries = [], 0
    demo = ROOT / "orders"
    # The second Friday is before the clocks of the demonstration's place go back.
    for today in ["2026-05-11 07:00", "2026-10-23 07:00"]:
        file = work / "calendar.ics"
        file.unlink(missing_ok=True)
        run(program, demo, "calendar", "--today", today, "--to", str(file))
        first = file.read_bytes()
        run(program, demo, "calendar", "--today", today, "--to", str(file))
        if file.read_bytes() != first:
            wrong.append(f"{today}: written again, the calendar is another")
        lines = first.split(b"\r\n")
        if b"\n" in b"".join(lines) or max(map(len, lines)) > 75:
            wrong.append(f"{today}: a line is too long or ends wrongly")
        calendar = icalendar.Calendar.from_ical(first)
        events = list(calendar.walk("VEVENT"))
        entries += len(events)
        for event in events:
            missing = [key for key in ["UID", "DTSTAMP", "DTSTART", "SEQUENCE"] if key not in event]
            if missing or event.errors:
                wrong.append(f"{today}: {event.get('SUMMARY')}: {missing} {event.errors}")
        uids = [str(event["UID"]) for event in events]
        if len(set(uids)) != len(uids):
            wrong.append(f"{today}: a UID stands twice")
        wrong += check_instants(program, today, events)
    print(f"sheets: {entries} entries of two calendars read by icalendar {icalendar.__version__}")
    return wrong


def check_instants(program: Path, today: str, events) -> list[str]:
    """Compares begins of exposing, washing and packing with zoneinfo's."""
    plan = json.loads(run(program, ROOT / "orders", "plan", "--json", "--today", today))
    zone = ZoneInfo("Europe/London")
    begins = {"expose": "Expose", "wash": "Wash", "pack": "Pack", "finish": "Finish"}
    wanted, found = [], []
    for step in (step for day in plan["days"] for step in day["steps"]):
        if step["step"] in begins:
            wall = datetime.datetime.fromisoformat(step["from"]).replace(tzinfo=zone)
            wanted.append((begins[step["step"]], wall.astimezone(datetime.timezone.utc)))
    for event in events:
        word = str(event["SUMMARY"]).split()[0]
        if word in begins.values():
            found.append((word, event["DTSTART"].dt))
    if sorted(wanted) != sorted(found) or not wanted:
        return [f"{today}: {len(wanted)} steps planned, {len(found)} entries, or other instants"]
    return []


def main() -> int:
    program = Path(sys.argv[1]).resolve()
    work = Path(os.environ["FAIRDAY_SHEETS_INSIDE"])
    wrong = check_calendar(program, work) + check_pictures(program, work)
    wrong += check_pages(program, work) + check_letters(program, work)
    for line in wrong:
        print(f"sheets: {line}", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    if "FAIRDAY_SHEETS_INSIDE" not in os.environ:
        with tempfile.TemporaryDirectory() as folder:
            in_own_environment(Path(folder))
    sys.exit(main())
