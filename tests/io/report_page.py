"""Reports looked at from outside, by Python's own HTML parser: well-formed, whole by themselves,
headings in order, every reference kept, and names that look like HTML shown as the names they are.
What must be so: the HTML standard (WHATWG) on nesting and ids, WCAG 2.1 (1.1.1, 1.3.1, 2.4.6, 3.1.1).
Arguments: the program, the program that writes a sample, the folder of the sources."""

import html.parser
import os
import re
import shutil
import subprocess
import sys
import tempfile

program, sample, top = sys.argv[1:4]
folder = tempfile.mkdtemp(prefix="downsurge-test-")
problems = []
VOID = {"meta", "br", "hr", "img", "input", "link", "wbr"}


def claim(is_true, text):
    if not is_true:
        problems.append(text)


class Page(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.references, self.headings, self.names, self.text = [], [], [], [], {}, []
        self.faults, self.tables, self.figures, self.outside, self.titles = [], [], 0, [], {}
        self.feed(text)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag, _ in self.open]

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.names[tag] = self.names.get(tag, 0) + 1
        if len(given) != len(attributes):
            self.faults.append(f"<{tag}> has an attribute twice")
        for name, value in attributes:
            self.look_at(tag, name, value or "")
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "table":
            self.tables.append({"caption": 0, "bare": 0})
        if tag == "caption":
            self.tables[-1]["caption"] += 1
        if tag == "th" and given.get("scope") not in ("col", "row"):
            self.tables[-1]["bare"] += 1
        if tag == "svg" and (given.get("role") != "img" or len(given.get("aria-labelledby", "").split()) != 2):
            self.faults.append("a picture without role and label")
        if tag not in VOID:
            self.open.append((tag, given.get("id")))

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.open.pop()

    def look_at(self, tag, name, value):
        if name == "id":
            self.ids.append(value)
        if name in ("aria-labelledby", "aria-describedby"):
            self.references += value.split()
        if name == "href":
            (self.references if value.startswith("#") else self.outside).append(value.lstrip("#"))
        if name in ("src", "srcset", "action", "data", "poster", "background", "ping", "style") or name.startswith("on"):
            self.outside.append(f"{name} of <{tag}>")
        for address in re.findall(r"url\(([^)]*)\)", value):
            (self.references if address.startswith("#") else self.outside).append(address.lstrip("#"))

    def handle_endtag(self, tag):
        if not self.open or self.open[-1][0] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1][0] if self.open else 'nothing'} at {self.getpos()}")
            return
        self.open.pop()

    def handle_data(self, data):
        self.text.append(data)
        if self.open and self.open[-1][0] in ("title", "desc"):
            self.titles[self.open[-1][1]] = self.titles.get(self.open[-1][1], "") + data


def check(name, path):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    page = Page(text)
    claim(text.startswith("<!DOCTYPE html>\n<html lang=\"en\">"), f"{name}: no doctype or language")
    for fault in page.faults[:5]:
        problems.append(f"{name}: {fault}")
    claim(len(page.ids) == len(set(page.ids)), f"{name}: an id stands twice")
    lost = set(page.references) - set(page.ids)
    claim(not lost, f"{name}: references to nothing: {sorted(lost)[:5]}")
    claim(not page.outside, f"{name}: reaches outside: {page.outside[:5]}")
    rules = re.sub(r"\s", "", re.search("<style>(.*?)</style>", text, re.S)[1])
    claim("url(" not in rules and "@import" not in rules, f"{name}: the style sheet reaches outside")
    claim("http:" not in text and "https:" not in text, f"{name}: an address stands in it")
    for tag in ("script", "iframe", "object", "embed", "link", "img", "base", "form", "foreignobject", "image"):
        claim(tag not in page.names, f"{name}: there is a <{tag}>")
    claim(page.headings[:1] == [1] and page.headings.count(1) == 1, f"{name}: not one h1, first")
    steps = [b - a for a, b in zip(page.headings, page.headings[1:])]
    claim(all(step <= 1 for step in steps), f"{name}: headings jump: {page.headings}")
    claim(all(table["caption"] == 1 and table["bare"] == 0 for table in page.tables), f"{name}: a table without words")
    claim(page.names.get("th", 0) > 0, f"{name}: no table at all")
    claim(all(words.strip() for words in page.titles.values()), f"{name}: an empty title")
    return page, "".join(page.text)


def run(*words):
    done = subprocess.run([program, *words], capture_output=True, text=True)
    claim(done.returncode == 0, f"{words}: ended with {done.returncode}: {done.stderr}")
    return done


HOSTILE = {
    "site": "\"><script>alert(1)</script> & Söhne",
    "low": "<img src=x onerror=alert(2)>",
    "high": "a&lt;b 'quoted' \\\"",
    "run": "</td></table><i>lift",
    "pump": "--><style>*{}</style".replace("/", "|"),
    "valve": "]]> {{7*7}} `x` \\N <svg onload=a>",
}


def quoted(text):
    return "'" + text.replace("'", "''") + "'"


def hostile_case():
    names = {key: quoted(value.replace("/", "|") if key != "site" else value) for key, value in HOSTILE.items()}
    path = os.path.join(folder, "hostile.yaml")
    with open(path, "w", encoding="utf-8") as file:
        file.write(f"""site: {names['site']}
tanks:
  {names['low']}: {{floor: -1 m, brim: 1 m, level: 0 m, area: 4 m2}}
  {names['high']}: {{floor: 3 m, brim: 5 m, level: 4 m, area: 4 m2}}
pumps:
  {names['pump']}: {{speed: 2900 rpm, flow: 0 1 2 L/s, head: 9 8 5 m}}
runs:
  {names['run']}:
    from: {names['low']}
    to: {names['high']}
    parts:
      - {{pipe: pvc-u 50 pn10, length: 1 m, end: 0 m}}
      - {{pump: {names['pump']}}}
      - union
      - {{non-return: ball, name: {names['valve']}, size: DN40, mounting: vertical up}}
      - union
      - {{pipe: pvc-u 50 pn10, length: 20 m, end: 3.5 m}}
      - {{bend: 90 deg, count: 3}}
surge:
  duration: 1 s
  events:
    - {{at: 0.1 s, stop: {names['pump']}}}
  gauges: [{names['valve']}]
""")
    return path


# A small site with hostile names, through every solver.
case = hostile_case()
names = [value.replace("/", "|") if key != "site" else value for key, value in HOSTILE.items()]
files = {}
for command, more in (("steady", []), ("surge", []), ("choose", ["--without-surge"])):
    files[command] = os.path.join(folder, f"{command}.h5")
    run(command, case, *more, "--output", files[command], "--quiet")

SECTIONS = {
    "steady": {"findings", "flow", "parts"},
    "surge": {"findings", "flow", "parts", "surge"},
    "choose": {"findings", "flow", "parts", "choice"},
}
ALWAYS = {"question", "answer", "pictures", "assumptions", "proof", "cautions", "checklist"}
ALL = set.union(*SECTIONS.values()) | ALWAYS
has_gnuplot = shutil.which("gnuplot") is not None
has_dot = shutil.which("dot") is not None
for command, path in files.items():
    said = run("report", path)
    claim(said.stdout.strip() == path[:-3] + ".html", f"report did not tell its page: {said.stdout}")
    page, words = check(command, path[:-3] + ".html")
    there = ALL & set(page.ids)
    claim(there == SECTIONS[command] | ALWAYS, f"{command}: sections {sorted(there)}")
    for name in names:
        claim(name in words, f"{command}: the name {name} is not shown as it is")
    drawn = has_dot + has_gnuplot * {"steady": 1, "surge": 4, "choose": 3}[command]
    claim(page.names.get("svg", 0) == drawn, f"{command}: {page.names.get('svg', 0)} pictures, not {drawn}")
    if has_dot:
        claim("sketch of the site" in page.titles.get("picture-1-title", ""), f"{command}: no sketch")

# Numbers of the valve of that case without a figure are told, with the line they stand on.
line = next(number for number, text in enumerate(open(case, encoding="utf-8"), 1) if "non-return" in text)
claim(f"(line {line} of the case)" in words, f"no assumption is told of line {line}")

# Both together, at a place of the asker's choice.
both = os.path.join(folder, "both.html")
run("report", files["choose"], files["surge"], "--output", both)
page, words = check("both", both)
claim({"choice", "surge"} <= set(page.ids), "both: choice and surge are not both there")

# What the parts list must come to, counted by hand from the case above.
rows = re.findall(r"<tr><th scope=\"row\">(.*?)</th><td>(.*?)</td>", open(both, encoding="utf-8").read())
claim(("pipe pvc-u 50 pn10", "21.00 m in 2 lengths") in rows, f"parts: no 21 m of pipe in {rows}")
claim(("union", "2") in rows and ("bend 90 deg", "3") in rows, f"parts: unions or bends are wrong in {rows}")

# Without the programs that draw, the page says what is missing and is whole all the same.
bare = os.path.join(folder, "bare.html")
done = subprocess.run([program, "report", files["surge"], "-o", bare], capture_output=True, text=True, env={"PATH": ""})
claim(done.returncode == 0, f"bare: {done.stderr}")
for package in ("graphviz", "gnuplot-nox"):
    claim(package in done.stderr, f"bare: {package} is not asked for: {done.stderr}")
page, words = check("bare", bare)
claim("svg" not in page.names and "Pictures are missing" in words, "bare: nothing said of missing pictures")

# A protection searched for: the sizes tried, what was found, the energy's books, and the hours of a site.
vessel, day = os.path.join(folder, "vessel.h5"), os.path.join(folder, "day.h5")
run("surge", os.path.join(top, "cases", "lesson-air-vessel.yaml"), "--size", "vessel", "--limit",
    "highest 55 m, lowest 1 m in climb", "--precision", "quick", "--output", vessel, "--quiet")
run("report", vessel)
page, words = check("vessel", vessel[:-3] + ".html")
for told in ("The smallest air vessel that keeps the limits", "Sizes tried", "Air vessels", "Air valves", "Where the energy came from and went"):
    claim(told in words, f"vessel: nothing of '{told}'")
run("fill", os.path.join(top, "cases", "alder-beck.yaml"), "--for", "24 h", "--output", day, "--quiet")
run("report", day)
page, words = check("day", day[:-3] + ".html")
for told in ("Tanks over the hours", "Where water left the site", "What switched and ran over, in order", "were to be drawn off"):
    claim(told in words, f"day: nothing of '{told}'")
claim(top not in words, "day: the page tells where the case lay")

# A surge beyond what the pipes bear: the answer says so, what a vacuum does and what helps, and does not let the
# steady flow's findings speak for the surge.
burst, burst_case = os.path.join(folder, "burst.h5"), os.path.join(folder, "burst.yaml")
with open(burst_case, "w", encoding="utf-8") as file:
    file.write("water: {temperature: 20 degC, altitude: 0 m}\nenergy: {price: 0.3 /kWh}\n"
               "tanks: {up: {level: 60 m, fixed: yes}, down: {level: 20 m, fixed: yes}}\n"
               "runs: {main: {from: up, to: down, parts: [{pipe: pvc-u 110 pn6, length: 600 m, end: 20 m},\n"
               "  {valve: ball, name: tap}]}}\nsurge: {duration: 8 s, reaches: 4, events: [{at: 0.1 s, set: tap, to: 0}]}\n")
said = " ".join(run("surge", burst_case, "--output", burst).stdout.split())
for words in ("exceeded: the water boils", "exceeded: main: the highest pressure is", "What helps: a slower stop",
              "caution: main: down to -"):
    claim(words in said, f"surge beyond the class: nothing of '{words}'")
run("report", burst)
page, words = check("burst", burst[:-3] + ".html")
bands = [check(one, path)[1] for one, path in (("surge", files["surge"][:-3] + ".html"), ("burst", burst[:-3] + ".html"))]
for told in ("Limit exceeded: the pressure class of main", "The water boils", "with its error band", "joints can draw in air",
             "What helps: a slower stop", "In steady flow, as the case stands now"):
    claim(told in words, f"burst: nothing of '{told}'")

told = [re.search(r"the highest pressure is (\d+) % of what the pipe's class allows( \(up to (\d+) % with)?", some) for some in bands]
claim(told[-1] and told[-1][2], "burst: its wide band is not told")
claim(all(one and (not one[2] or int(one[3]) > int(one[1])) for one in told), "a band that does not show is told")

# A study: the page has the variants that none beats, not their numbers alone, and speaks of no limits where none are set.
many, many_case = os.path.join(folder, "many.h5"), os.path.join(folder, "many.yaml")
with open(many_case, "w", encoding="utf-8") as file:
    file.write(open(burst_case, encoding="utf-8").read().replace("name: tap", "name: 'tap <b>'").replace("set: tap", "set: 'tap <b>'")
               + "study: {vary: {'tap <b>.opening': 0.2 0.6 1, up.level: 40 60 m},\n"
               "  measures: ['flow of tap <b>', 'velocity of tap <b>']}\n")
run("study", many_case, "--output", many, "--quiet")
run("report", many)
page, words = check("many", many[:-3] + ".html")
claim("Of 6 variants 6 have an answer: see" in words, "many: limits are spoken of that are not there")
claim("beaten by no other in what is compared" in words and "tap <b>.opening" in words, "many: no table of the best")

# A file without a case or any solver's results; another case; no results at all.
strange = os.path.join(folder, "sample.h5")
subprocess.run([sample, strange], check=True)
run("report", strange)
with open(strange[:-3] + ".html", encoding="utf-8") as file:
    claim(not Page(file.read()).faults, "a page of a strange file is not well-formed")
other = os.path.join(folder, "other.h5")
run("steady", os.path.join(top, "cases", "garden-pond.yaml"), "--output", other, "--quiet")
refused = subprocess.run([program, "report", files["surge"], other, "-o", os.path.join(folder, "no.html")],
                         capture_output=True, text=True)
claim(refused.returncode == 2 and "same case" in refused.stderr, f"two cases in one report: {refused.stderr}")
claim(not os.path.exists(os.path.join(folder, "no.html")), "a page was left though the report was refused")
refused = subprocess.run([program, "report", case], capture_output=True, text=True)
claim(refused.returncode == 2, "a case was taken for results")

# The sketch alone, of a case that was never solved.
if has_dot:
    run("plot", case, "--output", folder)
    claim(os.path.getsize(os.path.join(folder, "hostile-sketch.svg")) > 1000, "no sketch of a case")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
