"""Studies as a person meets them: killed at random moments, stopped, with one thread or two, with
mistakes in them. h5py is the judge of the results. Argument: the program."""

import json
import math
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time

import h5py

from study_site import GRID, LEVELS, ROWS, SITE, journal_length, journal_rows, table

program = sys.argv[1]
folder = tempfile.mkdtemp(prefix="downsurge-study-")
problems = []


# The same site over two days, its tower kept full by a float switch.
HOUR_LEVELS = 2 * LEVELS
HOUR_ROWS = 8 * HOUR_LEVELS
HOURS = f"""filling:
  duration: 48 h
  floats: {{tower float: {{tank: tower, pumps: [lift-1], on: 10.0 m, off: 11.0 m}}}}
  draws: [{{from: tower, times: 0 6 20 h, flow: 0.2 1.2 0.2 L/s}}]
  tariff: {{from: 0 7 h, price: 0.2 0.3 /kWh}}
study:
  vary:
    filling.floats.tower float.on: 9.5 .. 10.9 m
    tower.area: 2 4 m2
    lift-1.speed: 2700 2900 rpm
    filling.draws.1.flow: ["0.2 1.2 0.2 L/s", "0.1 1.0 0.4 L/s"]
  levels: {HOUR_LEVELS}
  measures: [starts of lift-1, energy used by lift-1, lowest level of tower, final level of tower]
  limits: {{starts of lift-1: at most 12, cost of all: at most 3, overflow of tower: at most 1 m3, energy of all: at most 9 kWh}}
"""


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def case(name, study):
    path = os.path.join(folder, name + ".yaml")
    with open(path, "w") as file:
        file.write(SITE + study)
    return path


def run(*words, threads=2):
    environment = dict(os.environ, OMP_NUM_THREADS=str(threads))
    done = subprocess.run([program, "study", *words], capture_output=True, env=environment)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def start(*words, threads=2):
    environment = dict(os.environ, OMP_NUM_THREADS=str(threads))
    return subprocess.Popen([program, "study", *words], stdout=subprocess.DEVNULL,
                            stderr=subprocess.PIPE, env=environment)


# One thread and two give the same bits.
grid = case("grid", GRID)
one, two = os.path.join(folder, "one.h5"), os.path.join(folder, "two.h5")
began = time.time()
claim(run(grid, "-q", "-o", one, threads=1)[0] == 0, "the study fails with one thread")
lasts = time.time() - began
claim(run(grid, "-q", "-o", two, threads=2)[0] == 0, "the study fails with two threads")
whole = table(one)
claim(whole == table(two), "one thread and two differ")
claim(not os.path.exists(one + ".journal"), "the journal is left behind")
with h5py.File(one) as file:
    study = file["study"]
    claim(len(study["variant"]) == ROWS, f"{len(study['variant'])} rows")
    claim(set(study["status"][()]) == {b"done"}, "a variant has no answer")
    claim(len(set(study["flow of delivery"][()])) > ROWS // 2, "the values vary nothing")
    claim(study["flow of delivery"].attrs["units"] == b"m3 s-1", "no unit")
    claim(study["water.temperature"].attrs["units"] == b"degC", "no unit of an input")
    claim(study["flow of delivery"].dims[0].label == "" and len(study["flow of delivery"].dims[0]) == 1,
          "a column is not along the variants")

# Killed at 20 random moments (5 in a short run) nothing finished is lost or doubled, and the end is the same.
chance = random.Random(2026)
killed = os.path.join(folder, "killed.h5")
journal = killed + ".journal"
before = {}
kills = 0
tries = 5 if os.environ.get("SHORT_RUNS") == "1" else 20
for attempt in range(tries):
    # Killed a moment after so many more rows as chance says, or while it still starts.
    process = start(grid, "-q", "-o", killed)
    wanted = len(before) + chance.randrange(0, 12)
    until = time.time() + 60
    while process.poll() is None and journal_length(journal) < wanted and time.time() < until:
        time.sleep(0.001)
    time.sleep(chance.uniform(0.0, 0.01))
    if process.poll() is None:
        process.send_signal(signal.SIGKILL)
        kills += 1
    process.stderr.read()
    process.wait()
    if os.path.exists(killed):
        break
    now = journal_rows(journal, problems)
    claim(all(now.get(index) == record for index, record in before.items()),
          f"after kill {attempt + 1} a finished row is lost or changed")
    before = now
claim(kills == tries, f"the study ended after {kills} kills; the test must be made longer")
claim(0 < len(before) < ROWS, f"{len(before)} of {ROWS} rows were done when killed: no test of going on")
code, out, err = run(grid, "-o", killed, threads=1)
claim(code == 0 and f"{len(before)} of {ROWS} variants were done before" in err, f"does not go on: {err}")
claim(table(killed) == whole, "a study killed 20 times ends with other rows")
claim(not os.path.exists(journal), "the journal is left behind")

# Over hours: one thread and two give the same bits, and so do rows from before a kill.
hours = case("hours", HOURS)
claim(run(hours, "-q", "-o", one, threads=1)[0] == 0, "the study over hours fails with one thread")
claim(run(hours, "-q", "-o", two, threads=2)[0] == 0, "the study over hours fails with two threads")
by_hours = table(one)
claim(by_hours == table(two), "over hours one thread and two differ")
with h5py.File(one) as file:
    study = file["study"]
    claim(set(study["status"][()]) == {b"done"}, f"a variant over hours: {set(study['reason'][()])}")
    claim(len(set(study["starts of lift-1"][()])) > 4, "the starts vary nothing")
    claim(study["energy used by lift-1"].attrs["units"] == b"J", "no unit of energy")
    claim(study.attrs["run"] in (b"steady and filling", "steady and filling"), f"run: {study.attrs['run']}")
    # The longer the way between on and off, the fewer starts (as long as all else is the same).
    starts = study["starts of lift-1"][()].reshape(HOUR_LEVELS, -1)
    claim((starts[:-1] <= starts[1:]).all() and (starts[0] < starts[-1]).all(), "starts do not rise as levels near")
process = start(hours, "-q", "-o", two + ".cut", threads=1)
until = time.time() + 60
while process.poll() is None and journal_length(two + ".cut.journal", 7) < 5 and time.time() < until:
    time.sleep(0.001)
process.kill()
process.communicate()
found = len(journal_rows(two + ".cut.journal", problems, 7))
claim(5 <= found < HOUR_ROWS, f"{found} rows over hours were done when killed")
code, out, err = run(hours, "-o", two + ".cut", threads=2)
claim(code == 0 and f"{found} of {HOUR_ROWS} variants were done before" in err, f"over hours does not go on: {err}")
claim(table(two + ".cut") == by_hours, "over hours a killed study ends with other rows")

# A torn last record is cut off; a journal of another case is not gone on with.
process = start(grid, "-q", "-o", killed)
time.sleep(lasts / 8)
process.kill()
process.communicate()
with open(journal, "ab") as file:
    file.write(b"half a record")
rows = len(journal_rows(journal, problems))
code, out, err = run(case("other", GRID.replace(f"levels: {LEVELS}", "levels: 3")), "-q", "-o", killed)
claim(code == 4 and "another study" in err, f"goes on with another study's journal: {err}")
code, out, err = run(grid, "-o", killed)
claim(code == 0 and f"{rows} of {ROWS}" in err and table(killed) == whole, f"a torn journal: {err}")

# Two at a time on one file: the second is refused.
first = start(grid, "-q", "-o", killed)
while not os.path.exists(journal) and first.poll() is None:
    time.sleep(0.005)
time.sleep(0.02)
code, out, err = run(grid, "-q", "-o", killed)
claim(code == 4 and "another study is writing it" in err, f"two studies on one file: {err}")

# Ctrl-C finishes what is in work, keeps it and says how to go on.
first.send_signal(signal.SIGINT)
said = first.communicate()[1].decode()
claim(first.returncode == 3 and "the same command goes on" in said, f"Ctrl-C: {first.returncode} {said}")
kept = len(journal_rows(journal, problems))
claim(f"stopped with {kept} of {ROWS}" in said, f"{kept} rows are kept, but: {said}")
claim(run(grid, "-q", "-o", killed)[0] == 0 and table(killed) == whole, "does not go on after Ctrl-C")

# A row that cannot be read or solved keeps its place and its reason; the others have answers.
failing = os.path.join(folder, "failing.h5")
FAILING = """study:
  vary: {water.temperature: 11 80 20 degC, tower.level: 10 8 m}
  measures: [flow of delivery]
"""
code, out, err = run(case("failing", FAILING), "-o", failing)
claim(code == 0 and "without answer" in out, f"failed rows are not told: {out}")
with h5py.File(failing) as file:
    status = [text.decode() for text in file["study/status"][()]]
    reason = [text.decode() for text in file["study/reason"][()]]
    flow = list(file["study/flow of delivery"][()])
for i in range(6):
    is_refused = i in (2, 3) or i % 2 == 1  # too hot, or a level below the floor
    claim((status[i] == "refused") == is_refused, f"row {i}: {status[i]}")
    claim(bool(reason[i]) == is_refused and math.isnan(flow[i]) == is_refused, f"row {i}: {reason[i]} {flow[i]}")
claim("floor" in reason[1], f"the reason is not told: {reason[1]}")

# Limits, strict, and a study without --output.
LIMITED = """study:
  vary: {lift-1.speed: 2500 .. 2900 rpm}
  combine: latin hypercube
  samples: 40
  seed: 3
  measures: [flow of delivery]
  limits: {flow of delivery: at least 2.2 L/s, energy: at most 10 kWh/m3}
"""
code, out, err = run(case("limited", LIMITED), "--strict")
claim(code == 1 and "at least 2.2 L/s" in out, f"limits: {code} {out} {err}")

# Other ways to combine end well.
for combine, more in (("one at a time", ""), ("sobol", "samples: 16"), ("importance", "samples: 8")):
    text = f"""study:
  vary: {{lift-1.speed: 2500 .. 2900 rpm, tower.level: {{mean: 10 m, deviation: 0.3 m, from: 9 m, to: 12 m}}}}
  combine: {combine}
  {more}
  measures: [flow of delivery, energy]
"""
    output = os.path.join(folder, "ways.h5")
    code, out, err = run(case("ways", text), "-o", output)
    claim(code == 0, f"{combine}: {err}")
    with h5py.File(output) as file:
        rows = {"one at a time": 11, "sobol": 16, "importance": 32}[combine]
        claim(len(file["study/variant"]) == rows, f"{combine}: {len(file['study/variant'])} rows")

    if combine == "importance":  # the last of the three
        with h5py.File(output) as file:
            group = file["study/importance"]
            for name in ("first", "total"):
                low, value, high = (group[name + end][()] for end in ("_low", "", "_high"))
                claim((low <= value).all() and (value <= high).all() and (low < high).any(), f"intervals of {name}")

# Opens in xarray as one table along the variants, which pandas takes.
try:
    import xarray
    engines = set(xarray.backends.list_engines()) & {"h5netcdf", "netcdf4"}
except ImportError:
    engines = set()
if engines:
    with xarray.open_dataset(one, group="study", engine=sorted(engines)[0]) as data:
        claim(dict(data.sizes) == {"variant": HOUR_ROWS}, f"xarray sees the dimensions {dict(data.sizes)}")
        claim(data["final level of tower"].attrs["units"] == "m", "xarray sees no unit")
        frame = data.to_dataframe()
    with h5py.File(one) as file:
        starts = file["study/starts of lift-1"][()]
    claim(len(frame) == HOUR_ROWS and (frame["starts of lift-1"].to_numpy() == starts).all(), "pandas sees other rows")
    # As a person would go on: the mean number of starts by speed.
    means = frame.groupby("lift-1.speed")["starts of lift-1"].mean()
    claim(list(means.index) == [2700, 2900] and abs(means.mean() - starts.mean()) < 1e-12, f"pandas groups: {means}")
else:
    print("xarray has no engine for HDF5 here: that part was not run")

# Every measure that the catalogue names is taken, by the name it gives.
listed = json.loads(subprocess.run([program, "catalogue", "measures", "--json"], capture_output=True).stdout)
fields = listed["measures"]["fields"]
names = {"PART": "delivery", "VALVE": "delivery", "POINT": "main/1", "TANK": "tower", "PUMP": "lift-1"}
for number, runs in enumerate((("steady", "surge"), ("filling",))):
    measures = [text for text, run in zip(fields["measure"]["values"], fields["run"]["values"]) if run in runs]
    for word, name in names.items():
        measures = [text.replace(word, name) for text in measures]
    text = HOURS[: HOURS.index("study:")] + "study: {vary: {tower.area: 4 m2}, measures: [" + ", ".join(measures) + "]}\n"
    output = os.path.join(folder, f"measures-{number}.h5")
    code, out, err = run(case("measures", text), "-o", output)
    claim(code == 0 and len(measures) > 15, f"measures of the catalogue: {code} {err}")
    if code == 0:
        with h5py.File(output) as file:
            claim(all(text.replace("/", "_") in file["study"] for text in measures), "a measure of the catalogue is left out")

# Pictures of a grid and of one input alone.
if shutil.which("gnuplot"):
    alone = os.path.join(folder, "alone.h5")
    text = """study:
  vary: {lift-1.speed: 2500 .. 2900 rpm, main/pipe-1.length: 1 4 m}
  combine: one at a time
  measures: [flow of delivery, energy]
"""
    claim(run(case("alone", text), "-q", "-o", alone)[0] == 0, "one at a time fails")
    done = subprocess.run([program, "plot", alone, "-o", folder], capture_output=True)
    drawn = done.stdout.decode().split()
    claim({"alone-study-front.svg", "alone-study-alone-flow_of_delivery.svg", "alone-study-alone-energy.svg"}
          <= {os.path.basename(path) for path in drawn}, f"pictures: {drawn} {done.stderr.decode()}")
    claim(all(os.path.getsize(path) > 2000 for path in drawn), "an empty picture")

# What is wrong is told with a place and the nearest name.
WRONG = (
    ("vary: {delivry.type: [ball]}", "did you mean 'delivery'"),
    ("vary: {water.temperature: 4 to 11 degC}", "a range is written such as 4 .. 24 degC"),
    ("vary: {water.temperature: 4 - 11 degC}", "a range is written such as 4 .. 24 degC"),
    ("vary: {water.temprature: 4 11 degC}", "did you mean 'temperature'"),
    ("vary: {watr.temperature: 4 11 degC}", "did you mean 'water'"),
    ("vary: {temperature: 4 11 degC}", "leads nowhere"),
    ("vary: {surge.evnts.1.at: 0.5 s}", "did you mean 'events'"),
    ("vary: {delivery.type: [spring come, bal]}", "did you mean 'spring cone'"),
    ("vary: {water.temperature: 4 11 m}", "none of its values can be read"),
    ("vary: {water.temperature: 24 .. 4 degC}", "above the least"),
    ("vary: {water.temperature: 4 .. warm}", "4 .. 24 degC"),
    ("vary: {water.temperature: {from: 4 degC, to: 280 K}}", "same unit"),
    ("vary: {}", "a map of 1 to"),
    ("vary: {water.temperature: 4 degC}\n  combine: sobol", "'samples' is missing"),
    ("vary: {water.temperature: 4 degC}\n  combine: lattice", "lattice"),
    ("vary: {water.temperature: 4 degC}\n  smples: 4", "did you mean 'samples'"),
    ("vary: {water.temperature: 4 degC}\n  limits: {flow of delivery: 3 L/s}", "at most"),
    ("vary: {water.temperature: 4 degC}\n  limits: {flow of delivery: at most 3 bar}", "flow of delivery"),
    ("vary: {water.temperature: 4 degC}\n  run: steady\n  compare: [slam head of delivery]", "need the surge"),
    ("vary: {water.temperature: 4 degC}\n  compare: [starts of lift-1]", "no section filling"),
    ("vary: {water.temperature: 4 degC}\n  run: surge\n  compare: [starts of lift-1]", "need the filling"),
    ("vary: {water.temperature: 4 degC}\n  compare: [final level of towr]", "did you mean 'tower'"),
)
for text, says in WRONG:
    code, out, err = run(case("wrong", f"study:\n  {text}\n  measures: [flow of delivery]\n"))
    claim(code == 2 and says in err and "wrong.yaml:" in err, f"{text}: {code} {err.strip()}")
for measure, says in (("flw of delivery", "did you mean 'flow'"), ("flow of delivry", "did you mean 'delivery'"),
                      ("slam head of lift-1", "no non-return valve is called 'lift-1'"),
                      ("flow", "flow"), ("pressure at nowhere", "no point is called")):
    code, out, err = run(case("wrong", f"study:\n  vary: {{water.temperature: 4 degC}}\n  measures: [{measure}]\n"))
    claim(code == 2 and says in err, f"{measure}: {code} {err.strip()}")
code, out, err = run(case("none", ""))
claim(code == 2 and "no section study" in err, f"no study: {err}")

# One thing fails at a time; a site needs no section study for it.
failed = os.path.join(folder, "failed.h5")
code, out, err = run(case("plain", ""), "--failures", "-o", failed)
claim(code == 0 and "delivery stuck open" in out and "L/s back through" in out, f"failures: {code} {out} {err}")
with h5py.File(failed) as file:
    grades = list(file["failures/grade_number"][()])
    names = [text.decode() for text in file["failures/failure"][()]]
    darkest = list(file["failures/severity"][()].max(axis=1))
claim(grades == darkest, f"the table is not graded as the squares of the picture: {grades} {darkest}")
claim(grades == sorted(grades, reverse=True), f"not the worst first: {grades}")
if shutil.which("gnuplot"):
    done = subprocess.run([program, "plot", failed, "-o", folder], capture_output=True)
    drawn = os.path.join(folder, "failed-failures.svg")
    claim(done.returncode == 0 and os.path.exists(drawn), f"no picture of the failures: {done.stderr.decode()}")
    words = open(drawn, encoding="utf-8").read() if os.path.exists(drawn) else ""
    claim(all(name in words for name in names), "the picture of the failures leaves one out")
claim({"delivery stuck open", "delivery stuck shut", "delivery leaking", "delivery debris in it", "lift-1 fails",
       "all power fails"} == set(names), f"failures: {names}")

for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
