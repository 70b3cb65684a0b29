"""The command line as a person or a script meets it: exit codes, messages, help. Exit codes are
those the program promises: 0 done, 1 limit exceeded, 2 bad input, 3 no solution, 4 not written.
Arguments: the program, the program that writes a sample."""

import json
import os
import pty
import re
import resource
import shutil
import subprocess
import sys
import tempfile

import reed_pool

program, sample = sys.argv[1:3]
folder = tempfile.mkdtemp(prefix="downsurge-test-")
results = os.path.join(folder, "sample.h5")
subprocess.run([sample, results], check=True)
problems = []


def run(*words, **how):
    how.setdefault("stdout", subprocess.PIPE)
    done = subprocess.run([program, *words], stderr=subprocess.PIPE, **how)
    return done.returncode, (done.stdout or b"").decode(), done.stderr.decode()


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def ends(code, *words, says="", **how):
    got, out, err = run(*words, **how)
    claim(got == code, f"{words}: ended with {got}, not {code}: {err.strip()}")
    claim(says in err, f"{words}: did not say '{says}' but '{err.strip()}'")
    claim("HDF5-DIAG" not in err, f"{words}: a library's own messages came through")
    return out


# Help and version.
told = ends(0, "--help")
names = re.findall(r"^  ([a-z]+) [A-Z\[ ]", told, re.M)
claim("catalogue" in names and "show" in names, f"help lists only {names}")
for name in names:
    page = ends(0, name, "--help")
    claim("Example" in page and f"downsurge {name}" in page, f"{name} --help has no example")
    for option in ("--json", "--output FILE", "--quiet", "--strict", "--help", "--version"):
        claim(option in page, f"{name} --help does not tell {option}")
    claim(re.fullmatch(r"downsurge \d+\.\d+\.\d+\n", ends(0, name, "--version")) is not None, f"{name} --version")
ends(2)

# What is wrong is told with the nearest known word.
ends(2, "catalog", says="did you mean 'catalogue'")
ends(2, "xyzzyxyzzy", says="--help")
ends(2, "catalogue", "--jsn", says="did you mean '--json'")
ends(2, "catalogue", "--zzzzzzzzz", says="--help")
ends(2, "catalogue", "-z", says="-z")
ends(2, "catalogue", "fitings", says="did you mean 'fittings'")
ends(2, "catalogue", "fittings", "pipes", says="pipes")
ends(2, "catalogue", "--json=yes", says="takes no value")
ends(2, "catalogue", "--output", says="--output FILE")
ends(2, "show", says="RESULTS")
ends(2, "show", results, "--format", "xls", says="one of: columns csv")
ends(2, "show", results, "/surge/haed", says="did you mean '/surge/head'")
ends(2, "show", os.path.join(folder, "none.h5"), says="No such file")
ends(2, "show", sys.argv[0], says="not a results file")
ends(0, "show", "--", results)
ends(0, "show", f"--format=csv", results, "surge/head")
for name in ("check", "steady", "fill", "surge", "choose"):
    ends(2, name, os.path.join(folder, "none.yaml"), says="none.yaml")

# What cannot be written.
ends(4, "catalogue", "fittings", stdout=open("/dev/full", "w"), says="No space left")
ends(4, "catalogue", "-o", os.path.join(folder, "none", "a.txt"), says="No such file")
ends(4, "catalogue", "-o", folder, says="not an ordinary file")
read_end, write_end = os.pipe()
os.close(read_end)
ends(4, "catalogue", "fittings", stdout=write_end, says="Broken pipe")
os.close(write_end)


def small_files():
    resource.setrlimit(resource.RLIMIT_FSIZE, (2048, 2048))


kept = os.path.join(folder, "kept.txt")
open(kept, "w").write("as before")
ends(4, "catalogue", "fittings", "-o", kept, preexec_fn=small_files, says="File too large")
claim(open(kept).read() == "as before", "a file that could not be written whole was changed")
claim(sorted(os.listdir(folder)) == ["kept.txt", "sample.h5"], f"left behind: {os.listdir(folder)}")

# Output into a file is what would have been printed; quiet is quiet.
printed = ends(0, "catalogue", "fittings")
claim(ends(0, "catalogue", "fittings", "-o", kept) == "", "text on the output although it goes to a file")
claim(open(kept).read() == printed, "--output gives another text than the standard output")
claim(ends(0, "catalogue", "fittings", "--quiet") == "", "--quiet was not quiet")
catalogue = json.loads(ends(0, "catalogue", "--json"))
for name, part in catalogue.items():
    if name in ("questions", "measures"):
        continue  # names, no figures
    sources = part["fields"]["source"]["values"]
    claim(len(sources) > 0 and all(sources), f"a row of the catalogue's {name} has no source")


# A damaged results file is refused, wherever it is damaged.
whole = open(results, "rb").read()
spoilt = os.path.join(folder, "spoilt.h5")
for at in range(100, len(whole), len(whole) // (8 if os.environ.get("SHORT_RUNS") == "1" else 40)):
    open(spoilt, "wb").write(whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :])
    ends(2, "show", spoilt, says="damaged")
    open(spoilt, "wb").write(whole[:at])
    ends(2, "show", spoilt, says="damaged")
os.remove(spoilt)

# The solving commands, on a site of our own invention.
SITE = """site: Reed Pool
tanks:
  pond: {floor: -1.0 m, brim: 0.5 m, level: 0.0 m, area: 20 m2}
  tower: {floor: 9.0 m, brim: 12.0 m, level: 10.0 m, area: 4 m2}
""" + reed_pool.PUMP + """runs:
  main:
    from: pond
    to: tower
    parts:
      - {pipe: pvc-u 63 pn10, length: 2 m, end: 0.5 m}
      - {pump: lift, name: lift-1}
      - {non-return: swing flap, name: flap, size: DN50}
      - {pipe: pvc-u 63 pn10, length: 60 m, end: 9.0 m}
surge:
  duration: 3 s
  events:
    - {at: 0.1 s, stop: lift-1}
  gauges: [flap]
"""
NOWHERE = """site: Nowhere
points:
  a: {elevation: 0 m}
  b: {elevation: 0 m, draw: 1 L/s}
runs:
  lonely: {from: a, to: b, parts: [{pipe: pvc-u 63 pn10, length: 2 m}]}
"""
case, nowhere, wrong = (os.path.join(folder, f"{name}.yaml") for name in ("case", "nowhere", "wrong"))
solved = os.path.join(folder, "solved.h5")
for path, text in ((case, SITE), (nowhere, NOWHERE), (wrong, SITE.replace("60 m,", "60,"))):
    open(path, "w").write(text)
for name in ("check", "steady", "fill", "surge", "choose"):
    ends(2, name, wrong, says="wrong.yaml:")
    claim(ends(0, name, case, "--quiet") == "", f"{name} --quiet was not quiet")
    told = ends(0, name, case)
    claim("Reed Pool" in told and len(told) > 300, f"{name} tells too little")
    json.loads(ends(0, name, case, "--json"))


# With --json the document is the result: --quiet leaves it as it is and silences what goes beside it.
def stays(*words, doubt=""):
    loud, quiet = run(*words, "--json"), run(*words, "--json", "--quiet")
    claim(quiet[0] == 0 and json.loads(quiet[1] or "null") is not None, f"{words}: --json --quiet wrote no document")
    claim(quiet[1] == loud[1], f"{words}: --quiet changes the document")
    claim(quiet[2] == "", f"{words}: --json --quiet said '{quiet[2].strip()}'")
    claim(doubt in loud[2], f"{words}: --json without --quiet did not say '{doubt}'")


doubted, many, fresh = (os.path.join(folder, f"{name}.yaml") for name in ("doubted", "many", "fresh"))
open(doubted, "w").write(SITE.replace("stop: lift-1}\n", "stop: lift-1}\n    - {at: 9 s, start: lift-1}\n"))
open(many, "w").write(SITE + "study:\n  vary: {tower.level: 9.5 10.5 m}\n  levels: 2\n  measures: [flow of flap]\n")
for name in ("steady", "fill", "surge", "choose"):
    stays(name, doubted, doubt="after the end")
stays("check", doubted)
stays("study", many)
stays("study", case, "--failures")
stays("valve", "swing flap", "DN50")
stays("catalogue", "fittings")
stays("show", results)
ends(0, "steady", case, "--output", solved, "-q")
stays("report", solved)
if shutil.which("gnuplot"):
    stays("plot", solved, "--output", os.path.join(folder, "drawn"))
claim(json.loads(ends(0, "new", fresh, "--json", "-q"))["case"] == fresh, "new --json --quiet")
claim(not json.loads(ends(2, "check", wrong, "--json") or "{}").get("is_usable", True), "check --json of a wrong case")
ends(3, "steady", nowhere, says="no steady answer")
steady = json.loads(ends(0, "steady", case, "--json"))["steady"]["fields"]
inflow = steady["tank_inflow"]["values"]
claim(abs(sum(inflow)) < 1e-12 and inflow[1] > 1e-4, f"tanks do not balance: {inflow}")
losses = dict(zip(steady["link"]["values"], steady["loss"]["values"]))
claim(abs(sum(losses.values()) + 10.0) < 1e-9, "heads lost along the run do not add up to the lift")
for name, group in (("steady", "steady"), ("fill", "filling"), ("surge", "surge"), ("choose", "choose")):
    ends(0, name, case, "--output", solved, "--quiet")
    listed = ends(0, "show", solved)
    claim(f"/{group}/" in listed, f"{name} --output holds no /{name}")
    claim(ends(0, "show", solved, "/case/text") == SITE, "the case text did not come back")
    before = open(solved, "rb").read()
    ends(4, name, case, "-o", solved, "-q", preexec_fn=small_files, says="File too large")
    claim(open(solved, "rb").read() == before, "results that could not be written whole were changed")
ends(0, "steady", case, "--strict", "-q")
for words in (["--for", "2 h"], ["--for=2h"], ["--for", "120", "min"]):
    filled = json.loads(ends(0, "fill", case, "--json", *words))["filling"]
    claim(filled["attributes"]["time_reached"] == 7200, f"fill {words} did not reach its end")
ends(2, "fill", case, "--for", "2", "litres", says="--for 2 litres")
ends(2, "fill", case, "--for", "0", "h", says="above 0")
ends(2, "fill", case, "--for", "3", says="--for 3: '3' has no unit")
ends(2, "fill", case, "--for", "3 x ", says="--for 3 x: '3 x': 'x' is not a unit")
ends(2, "fill", case, "--for", "3 h" + 60 * " " + "x", says="--for: a time is expected")
ends(2, "plot", case, "--patience", "3  ", says="--patience 3: '3' has no unit")
ends(2, "fill", case, "--for", "101", "years", says="'101 years' cannot be a time, which is from 0 a to 100 a; look at the number")

# 0.2 m3 between on and off, 1 L/s drawn: by hand, it runs dry of them in 200 s and is filled again in 200 s
# or less, so there are more than the 2 starts an hour that this pump is said to bear, and fewer than 20.
hurried, allowed = os.path.join(folder, "hurried.yaml"), os.path.join(folder, "allowed.yaml")
floats = """filling:
  floats: {tower float: {tank: tower, pumps: [lift-1], on: 9.95 m, off: 10 m}}
  draws: [{from: tower, times: 0 h, flow: 1 L/s}]
  pumps: {lift-1: {starts an hour: 2}}
"""
open(hurried, "w").write(SITE + floats)
open(allowed, "w").write(SITE + floats.replace("hour: 2", "hour: 20"))
told = ends(0, "fill", hurried, "--for", "2", "h")
starts = re.search(r"^exceeded: lift-1: (\d+) starts in an hour; 2 are allowed$", told, re.M)
claim(starts and 2 < int(starts[1]) < 20, f"too many starts are not told: {told}")
claim("set the levels of its float switch further apart, or" in told, f"a float is not told to be set: {told}")
timed = os.path.join(folder, "timed.yaml")
open(timed, "w").write(SITE + """filling:
  timers: [{what: lift-1, on: 1 1.2 1.4 1.6 h, off: 1.1 1.3 1.5 1.7 h}]
  pumps: {lift-1: {starts an hour: 2}}
""")
told = ends(0, "fill", timed, "--for", "2", "h")
claim("4 starts in an hour; 2 are allowed" in told and "set its timer to fewer starts, or" in told, f"a timer is not told to be set: {told}")
dry = os.path.join(folder, "dry.yaml")
open(dry, "w").write(SITE + """filling:
  tanks: {pond: {inflow: 1 L/s}}
  pumps: {lift-1: {dry-run level: -0.4 m, restart level: -0.399 m, starts an hour: 2}}
""")
told = ends(0, "fill", dry, "--for", "6", "h")
claim("set its restart level further above its dry-run level, or" in told and "levels of its float switch" not in told,
      f"a pump that only its dry-run level stops is told of a float: {told}")
ends(1, "fill", hurried, "--for", "2", "h", "--strict", "-q")
claim("exceeded" not in ends(0, "fill", allowed, "--for", "2", "h", "--strict"), "starts that are allowed are told as exceeded")

# Nobody stops the pump: the tower (8 m3 below its brim) runs over, and the pond's
# 10 m3 above its outlet (0.5 m over the floor, which is assumed) end. With a dry-run level
# the pump stops in time, and with a float on the tower nothing runs over.
emptied, emptied_page = os.path.join(folder, "emptied.h5"), os.path.join(folder, "emptied.html")
told = ends(0, "fill", case, "--for", "6", "h", "-o", emptied)
air = re.search(r"^exceeded: lift-1: ran ([\d.]+) h with every mouth that feeds it", told, re.M)
over = re.search(r"^warning: tower: ran over for ([\d.]+) h; ([\d.]+) m3 that runs brought are lost", told, re.M)
claim(air and 0 < float(air[1]) < 6, f"a pump that draws air is not told: {told}")
counted = re.search(r"^Not known: lift-1: what it takes with air in it; ([\d.]+) kWh of\s+its\s+([\d.]+)\s+kWh\s+are\s+counted", told, re.M)
claim(counted and 0 < float(counted[1]) < float(counted[2]), f"what a pump is counted to take with air in it is not told: {told}")
ends(0, "report", emptied, "-q", "-o", emptied_page)
with open(emptied_page, encoding="utf-8") as file:
    claim(counted and f"Of the pumps' energy {counted[1]} kWh are counted for hours with air" in file.read(), "the report does not tell it")
claim(over and abs(float(over[2]) - (10 - 8)) < 0.006, f"what the tower lost is not told: {told}")
ends(1, "fill", case, "--for", "6", "h", "--strict", "-q")
stopped = os.path.join(folder, "stopped.yaml")
open(stopped, "w").write(SITE + """filling:
  floats: {tower float: {tank: tower, pumps: [lift-1], on: 9.5 m, off: 11.9 m}}
  pumps: {lift-1: {dry-run level: -0.4 m}}
""")
told = ends(0, "fill", stopped, "--for", "6", "h", "--strict")
claim("exceeded" not in told and "warning" not in told, f"a pump that is stopped in time is told of: {told}")

# Water that boils behind a valve: the blow of the cavity that shuts, where, when and how high; and the
# thin wall under vacuum. In a pipe too short of time no cavity has shut yet.
boiling = os.path.join(folder, "boiling.yaml")
open(boiling, "w").write("""site: Long fall
tanks:
  upper: {level: 15 m, fixed: yes, outlet elevation: 8 m}
  lower: {level: 10 m, fixed: yes, inlet elevation: -1 m}
runs:
  main:
    from: upper
    to: lower
    parts:
      - {valve: ball, name: tap, loss: 0.05}
      - {pipe: pe, name: pe, length: 300 m, end: -1 m, bore: 50 mm, wall: 2 mm, material: pe100, roughness: 0.01 mm}
surge:
  duration: 10 s
  reaches: 40
  events:
    - {at: 0.05 s, set: tap, to: 0, over: 0.1 s}
""")
told = " ".join(ends(0, "surge", boiling, "--output", solved).split())
blow = re.search(r"the hardest blow: ([\d.]+) m \+- [\d.]+ m over the pipe at main/2, ([\d.]+) s into the run; "
                 r"the cavity there had shut at ([\d.]+) s", told)
claim(blow is not None, f"surge does not tell of the blow: {told}")
claim("main: the vacuum is 63 % of the 16.2 m at which its wall alone" in told, f"surge does not tell of buckling: {told}")
ends(1, "surge", boiling, "--precision", "quick", "--strict")
kept = json.loads(ends(0, "surge", boiling, "--json"))
mouths = kept["runs"]["main"]["fields"]["elevation"]["values"]
claim((mouths[0], mouths[-1]) == (8, -1), f"a run does not begin and end at the mouths in its tanks: {mouths}")
kept = kept["surge"]["attributes"]
claim(abs(kept["collapse_pressure"] - float(blow[1])) <= 0.051 and kept["collapse_place"] == "main/2", f"{kept}")
claim(kept["collapse_shut_time"] < kept["collapse_time"] <= kept["collapse_shut_time"] + kept["collapse_window"], f"{kept}")
page = os.path.join(folder, "boiling.html")
ends(0, "report", solved, "--output", page)
claim("The hardest blow reaches" in open(page).read(), "the report does not tell of the blow")
short = open(boiling).read().replace("duration: 10 s", "duration: 2 s")
open(boiling, "w").write(short)
claim("none of them shut before the run ended" in ends(0, "surge", boiling), "a cavity that stays open is told as shut")

# Heads measured at a gauge: told, kept, and drawn as points. Here 1 m above a head that never moves.
traced, pictures = os.path.join(folder, "traced.yaml"), os.path.join(folder, "pictures")
open(os.path.join(folder, "trace.csv"), "w").write("time [s],head [m]\n0,11\n1,11\n2.5,11\n")
open(traced, "w").write(SITE.replace("gauges: [flap]", "gauges: [flap, tower]") + "  measured: {file: trace.csv, gauge: tower}\n")
told = " ".join(ends(0, "surge", traced, "--output", solved).split())
claim("Measured at tower, 3 instants: the run differs by at most 1 m (0.000 s), by 1 m root mean square" in told, f"surge does not tell of the measured trace: {told}")
claim(len(ends(0, "show", solved, "/surge/measured_head").splitlines()) == 4, "the measured heads were not kept")
ends(0, "plot", solved, "-f", "svg", "-o", pictures)
drawn = open(next(os.path.join(pictures, name) for name in os.listdir(pictures) if name.endswith("-time.svg"))).read()
claim("measured tower" in drawn, "the measured heads were not drawn")

dear = os.path.join(folder, "dear.yaml")
open(dear, "w").write(SITE.replace("npsh required: 1 1.2 1.8 2.6 m", "npsh required: 9 11 12 13 m"))
ends(0, "steady", dear, "-q")
ends(1, "steady", dear, "-q", "--strict")

# Colour only on a terminal, and not with NO_COLOR.
def on_terminal(**extra):
    main, other = pty.openpty()
    environment = {**os.environ, "TERM": "xterm", **extra}
    if "NO_COLOR" not in extra:
        environment.pop("NO_COLOR", None)
    done = subprocess.run([program, "--help"], stdout=other, stderr=other, env=environment)
    os.close(other)
    text = os.read(main, 65536)
    os.close(main)
    claim(done.returncode == 0, "--help on a terminal")
    return text


claim(b"\033[" in on_terminal(), "no tones on a terminal")
claim(b"\033[" not in on_terminal(NO_COLOR="1"), "tones although NO_COLOR is set")
claim(b"\033[" not in on_terminal(TERM="dumb"), "tones on a dumb terminal")
claim("\033[" not in told, "tones although the output is no terminal")

# A valve's own curve: built-in types, a case's own, and every valve of a case as it stands there.
OWN = """types:
  non-return:
    my flap: {like: swing flap, slam deceleration: 1 5 20 m/s2, slam velocity: 0.1 0.3 0.6 m/s}
"""
own = os.path.join(folder, "own.yaml")
open(own, "w").write(SITE.replace("non-return: swing flap, name: flap", "non-return: my flap, name: flap") + OWN)
claim("my flap" in open(own).read().split("runs:")[1], "the case has no valve of its own type")


def curves(*words):
    return {name: field["values"] for name, field in json.loads(ends(0, "valve", *words, "--json"))["valve"]["fields"].items()}


both = curves("swing flap", "DN50", "spring disc", "DN50")
claim(sorted(set(both["row_valve"])) == ["spring disc DN50", "swing flap DN50"], f"valve tells of {set(both['row_valve'])}")
claim("stated_reverse_velocity" not in both, "a maker's curve where none is stated")
named = curves("--case", own, "my flap", "DN50", "swing flap", "DN50")
rows = {(name, at): (stated, velocity, plain, bare) for name, at, stated, velocity, plain, bare in zip(
    named["row_valve"], named["deceleration"], named["stated_reverse_velocity"], named["reverse_velocity"],
    named["plain_deceleration"], named["plain_reverse_velocity"])}
claim(abs(rows["my flap DN50", 3.0][0] - 0.2) < 1e-12, f"half way between 0.1 and 0.3: {rows['my flap DN50', 3.0]}")
claim(rows["swing flap DN50", 3.0][0] is None, "a built-in type has a maker's curve")
for (name, at), (_, velocity, plain, bare) in rows.items():
    v0 = (0.05 * at / plain) ** 0.5  # D/v0^2 |dv/dt|, and vR/v0 with the same v0
    claim(abs(velocity / v0 - bare) < 1e-9, f"{name} at {at}: not the same v0 on both axes")
placed = curves("--case", own)
claim(set(placed["row_valve"]) == {"flap: my flap DN50"}, f"as it stands: {set(placed['row_valve'])}")
ends(2, "valve", says="--case")
ends(2, "valve", "swing flap", says="its size is missing")
ends(2, "valve", "swng flap", "DN50", says="did you mean 'swing flap'")
ends(2, "valve", "swing flap", "DN5000", says="is made from")
ends(2, "valve", "--case", own, "my flp", "DN50", says="did you mean 'my flap'")
ends(2, "valve", "swing flap", "DN50", "--swept", "2", says="from 0 to 1")
ends(2, "valve", "--case", os.path.join(folder, "none.yaml"), says="none.yaml")
ends(4, "valve", "swing flap", "DN50", "--output", os.path.join(folder, "none", "v.h5"), says="No such file")
if shutil.which("gnuplot"):
    of_valves = os.path.join(folder, "valves.h5")
    ends(0, "valve", "--case", own, "my flap", "DN50", "swing flap", "DN50", "--output", of_valves, "--quiet")
    drawn = ends(0, "plot", of_valves, "--output", folder).split()
    claim(drawn == [os.path.join(folder, "valves-slam.svg")], f"drew {drawn}")
    words = open(drawn[0]).read()
    claim("my flap DN50, by its maker" in words and "v0" in words, "the picture does not tell whose curve is whose")

shutil.rmtree(folder)

# What was understood of the hours, and where to go on.
hours = " ".join(ends(0, "check", os.path.join(os.path.dirname(os.path.abspath(__file__)), "broken", "site.yaml")).split())
for words in ("Hours and days: 48 h from 0 o'clock", "pond: fed with 1.3 L/s", "tower: runs over into pond",
              "tower float: fills tower, on at 10 m, off at 11 m, off between them at first: lift-1",
              "drawn from trough: 0.2 to 1.2 L/s, 3 times, again every 24 h", "timer of spray/mouth: 4 times",
              "lift-1: stopped when pond is down to -0.6 m, allowed again from -0.3 m", "lift-1: rests 180 s",
              "a tariff of 2 prices", "gate valve, K 0.15 fully open, 100 % open", "downsurge fill "):
    claim(words in hours, f"check: nothing of '{words}' in {hours}")

# Of two ways out of a tank at rest only the one through a pump is called so.
two_ways = os.path.join(tempfile.gettempdir(), f"two-ways-{os.getpid()}.yaml")
with open(two_ways, "w") as file:
    file.write(reed_pool.PUMP + """water: {temperature: 11 degC, altitude: 0 m}
tanks: {low: {floor: 0 m, brim: 3 m, level: 1 m, area: 4 m2}, top: {floor: 8 m, brim: 12 m, level: 11 m, area: 4 m2}}
outlets: {tap: {elevation: 5 m}}
runs:
  down: {from: top, to: tap, parts: [{pipe: pvc-u 32 pn10, length: 20 m}]}
  up: {from: low, to: top, parts: [{pipe: pvc-u 63 pn10, length: 2 m}, {pump: lift, name: lift-1}, {pipe: pvc-u 63 pn10, length: 20 m}]}
filling: {floats: {low mark: {tank: top, pumps: [lift-1], on: 8.5 m, off: 11.5 m}}}
""")
ways = " ".join(ends(0, "steady", two_ways).split())
claim("top to low: with all pumps stopped water runs this way through a standing pump" in ways
      and "top to tap/air: feeds by gravity alone" in ways, f"ways at rest: {ways}")
called = " ".join(ends(0, "fill", two_ways, "--for", "1 min").split())
claim("low mark called no pump: top stayed within 10.9" in called and "it calls at 8.50 m" in called,
      f"a float switch that called nothing is not told: {called}")
os.remove(two_ways)

# The smallest vessel of the lesson, by whole runs; its table, its place in JSON, and bad words.
lesson = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "cases", "lesson-air-vessel.yaml")
kept_by = ("--limit", "highest 55 m, lowest 1 m in climb")
if os.environ.get("SHORT_RUNS") != "1":
    ends(0, "surge", lesson, "--size", "vessel", *kept_by, says="")
    sized = json.loads(ends(0, "surge", lesson, "--size", "vessel", *kept_by, "--json"))
    claim(0.065 < sized["sizing"]["attributes"]["size"] < 0.078,
          "the lesson's vessel is not what it says")
    near_none = ("--limit", "highest 40 m", "--between", "390 L, 400 L")
    ends(3, "surge", lesson, "--size", "vessel", *near_none, says="no size in the range")
    ends(3, "surge", lesson, "--size", "vessel", *near_none, "--json", says="no size in the range")
    # What the suction pipe sets no vessel mends; bands stand beside what they hold; a vessel is pressure equipment.
    stuck = subprocess.run([program, "surge", lesson, "--size", "vessel", "--limit", "highest 55 m, lowest 30 m",
                            "--precision", "quick"], capture_output=True, text=True)
    claim(stuck.returncode == 3 and "however large it is" in stuck.stdout, f"what no size mends is not told: {stuck.stdout}")
    claim(re.search(r"air vessel +highest +\+- +lowest +\+- +grids", stuck.stdout), f"no bands beside the values: {stuck.stdout}")
    claim("an air vessel is pressure equipment" in ends(0, "surge", lesson, "--precision", "quick"), "no caution for a vessel")
    # As many limits as there may be: two columns each, and a line for each size.
    eight = ends(0, "surge", lesson, "--size", "vessel", "--limit", ", ".join(["highest 60 m", "lowest -6 m"] * 4),
                 "--between", "100 L, 120 L", "--precision", "quick")
    claim(re.search(r" grids +limits\n", eight) and re.search(r"^ +100\.0 .* 1 +kept\n +1\d\d\.\d .* 1 +kept$", eight, re.M),
          f"a table of eight limits: {eight}")
    # Large vessels leave the wave behind the pump as it is without them, a small one takes it up.
    window = ends(0, "surge", lesson, "--size", "vessel", "--limit", "highest 54 m", "--between", "40 L, 2 m3",
                  "--precision", "quick")
    claim("Even the smallest air vessel tried, 40 L, keeps the limits" in window
          and "Larger is not always better" in window and "broken" in window, f"the window is not told: {window}")
ends(2, "surge", lesson, "--size", "vessel", says="needs --limit")
ends(2, "surge", lesson, "--size", "tower", *kept_by, says="one of: vessel flywheel relief")
ends(2, "surge", lesson, "--size", "relief", *kept_by, says="opens at: 60 m")
ends(2, "surge", lesson, "--size", "flywheel", "--at", "lift-2", *kept_by, says="did you mean 'lift-1'")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "highst 52 m", says="a limit is highest")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "highest 52 kg", says="'52 kg'")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "highest 52 m in clmb", says="did you mean 'climb'")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "highest 52 m in vessel", says="end the run at a point there")
ends(2, "surge", lesson, "--size", "vessel", *kept_by, "--between", "5 L, 2 L", says="the smaller one first")
ends(2, "surge", lesson, "--size", "vessel", *kept_by, "--between", "5 L, 2e8 m3", says="'2e8 m3' cannot be a volume, which is from 0.0001 L to 1e7 m3")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "highest 60000 m", says="'60000 m' cannot be a head, which is from")
ends(2, "surge", lesson, "--size", "vessel", "--limit", "class -80 %", says="above 0, such as 'class 80 %'")

for problem in problems:
    print(problem)
print(f"commands {' '.join(names)}: {len(problems)} problems")
sys.exit(1 if problems else 0)
