"""The layout of results files as io/results/LAYOUT.md tells it, held against files that the program
writes: every dataset written is a row of the table and every row is written, with the dimensions, units
and words told there. Judges: h5py, and xarray with decode_cf, which must find each dataset as a named
variable over named coordinates of the same numbers.
Arguments: the program, the folder of the sources; --write makes the table anew."""

import os
import re
import subprocess
import sys
import tempfile

import h5py
import numpy

import reed_pool

program, top = map(os.path.abspath, sys.argv[1:3])
page = os.path.join(top, "io", "results", "LAYOUT.md")
folder = tempfile.mkdtemp(prefix="downsurge-test-")
problems = []

SITE = """site: Reed Pool
water: {temperature: 12 degC}
energy: {price: 0.30 /kWh, hours: 2000 h}
""" + reed_pool.VESSEL_TANKS + """  ridge: {elevation: 6.0 m, air valve: {bore: 25 mm, outlet bore: 5 mm}}
""" + reed_pool.PUMP + reed_pool.VESSEL_LIFT + """      - {non-return: my disc, name: keeper, size: DN50}
      - {pipe: pvc-u 63 pn10, length: 2 m, end: 0.5 m}
  main:
    from: manifold
    to: ridge
    parts:
      - {pipe: pvc-u 63 pn10, length: 60 m, end: 6.0 m}
  last:
    from: ridge
    to: tower
    parts:
      - {pipe: pvc-u 63 pn10, length: 20 m, end: 6.0 m}
types:
  non-return:
    my disc: {like: spring disc, slam deceleration: 1 4 8 m/s2, slam velocity: 0.05 0.2 0.4 m/s, source: our bench}
surge:
  duration: 0.5 s
  events:
    - {at: 0.1 s, stop: lift-1}
  gauges: [keeper, tower]
  measured: {file: trace.csv, gauge: tower}
choose:
  valves: [keeper]
filling:
  floats:
    tower float: {tank: tower, pumps: [lift-1], on: 9.5 m, off: 11.5 m}
  tariff: {from: 0 7 h, price: 0.2 0.3 /kWh}
study:
  vary: {water.temperature: %s}
  combine: %s
  measures: [flow of keeper, energy]
  limits: {flow of keeper: at least 1 L/s}
"""


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def make(name, *words):
    done = subprocess.run([program, *words, "--output", name, "--quiet"], cwd=folder, capture_output=True, text=True)
    claim(done.returncode == 0, f"{words}: {done.returncode}: {done.stderr.strip()[:400]}")
    return os.path.join(folder, name)


with open(os.path.join(folder, "trace.csv"), "w", encoding="utf-8") as file:
    file.write("time [s],head [m]\n0,10\n0.25,10\n0.5,10\n")
for name, values, combine in (("site", "4 12 20 degC", "grid"), ("alone", "4 12 20 degC", "one at a time"),
                              ("sobol", "{from: 4 degC, to: 20 degC}", "sobol\n  samples: 8\n  seed: 1")):
    with open(os.path.join(folder, f"{name}.yaml"), "w", encoding="utf-8") as file:
        file.write(SITE % (values, combine))
files = [
    make("surge.h5", "surge", "site.yaml"),
    make("size.h5", "surge", "site.yaml", "--precision", "quick", "--size", "vessel", "--limit", "highest 200 m"),
    make("choose.h5", "choose", "site.yaml"),
    make("fill.h5", "fill", "site.yaml", "--for", "2h"),
    make("study.h5", "study", "site.yaml"),
    make("alone.h5", "study", "alone.yaml"),
    make("sobol.h5", "study", "sobol.yaml"),
    make("failures.h5", "study", "site.yaml", "--failures"),
    make("valve.h5", "valve", "--case", "site.yaml"),
]

# Groups named by the case, as the table names them.
NAMED = ((r"^/surge/runs/.+", "/surge/runs/RUN"), (r"^/steady/curves/.+", "/steady/curves/PUMP"), (r"^/choose/curves/.+", "/choose/curves/PLACE"))


def text(value):
    return value.decode() if isinstance(value, bytes) else str(value)


def group_of(item):
    for pattern, name in NAMED:
        if re.match(pattern, item.parent.name):
            return name
    return item.parent.name


def dimensions(item):
    if h5py.h5ds.is_scale(item.id):
        return (item.name.rsplit("/", 1)[1],)
    return tuple(item.dims[i][0].name.rsplit("/", 1)[1] for i in range(item.ndim))


def name_of(item):
    """Of a study's inputs and measures, which the case names: INPUT, MEASURE."""
    name = item.name.rsplit("/", 1)[1]
    if item.parent.name != "/study":
        return name
    return {"water.temperature": "INPUT", "flow of keeper": "MEASURE", "energy": "MEASURE"}.get(name, name)


rows = {}
for path in files:
    with h5py.File(path, "r") as file:
        found = []
        file.visititems(lambda _, item: found.append(item) if isinstance(item, h5py.Dataset) else None)
        for item in found:
            kind = "text" if h5py.check_string_dtype(item.dtype) else "whole" if item.dtype.kind in "iu" else "real"
            key = (group_of(item), name_of(item))
            row = (" x ".join(dimensions(item)), text(item.attrs["units"]), kind, text(item.attrs["long_name"]))
            if key[1] in ("INPUT", "MEASURE"):
                row = (row[0], "its own", "real", "as it was varied" if key[1] == "INPUT" else "what was kept of each variant")
            rows.setdefault(key, row)
            claim(rows[key][0] == row[0], f"{item.name} has other dimensions in {os.path.basename(path)}")

# The same by xarray, which finds dimensions and coordinates by itself; decode_cf is its default.
import xarray

engine = sorted(set(xarray.backends.list_engines()) & {"h5netcdf", "netcdf4"})
claim(engine, "xarray has no engine for HDF5: Debian's is python3-h5netcdf")
judged = set()  # each group once, that of a study in all its forms
for path in files if engine else []:
    with h5py.File(path, "r") as file:
        groups = []
        file.visititems(lambda name, item: groups.append(name) if isinstance(item, h5py.Group) else None)
        for group in groups:
            names = [name for name, item in file[group].items() if isinstance(item, h5py.Dataset)]
            if not names or group in judged and group != "study":
                continue
            judged.add(group)
            with xarray.open_dataset(path, group=group, engine=engine[0], decode_cf=True) as data:
                claim(set(names) == set(data.variables), f"{group}: xarray finds {set(names) ^ set(data.variables)} otherwise")
                for name in set(names) & set(data.variables):
                    item, seen = file[group][name], data[name]
                    claim(seen.dims == dimensions(item), f"{group}/{name}: xarray sees dimensions {seen.dims}, not {dimensions(item)}")
                    claim(seen.attrs.get("units") == text(item.attrs["units"]), f"{group}/{name}: xarray sees no units")
                    if item.dtype.kind in "fiu":
                        claim(numpy.array_equal(seen.values, item[()], equal_nan=item.dtype.kind == "f"), f"{group}/{name}: other numbers")
                    else:
                        same = [text(v) for v in numpy.ravel(seen.values)] == [text(v) for v in numpy.ravel(item[()])]
                        claim(same, f"{group}/{name}: other texts")

if "--write" in sys.argv:
    lines = []
    for group in dict.fromkeys(group for group, _ in rows):
        lines += [f"## `{group}`", "", "| dataset | along | unit | kind | what it is |", "| --- | --- | --- | --- | --- |"]
        lines += [f"| `{name}` | {row[0]} | {row[1]} | {row[2]} | {row[3]} |" for (at, name), row in rows.items() if at == group]
        lines.append("")
    head = open(page, encoding="utf-8").read().split("<!-- tables -->")[0] if os.path.exists(page) else ""
    with open(page, "w", encoding="utf-8") as file:
        file.write(head + "<!-- tables -->\n\n" + "\n".join(lines).rstrip() + "\n")

told, group = {}, None
for line in open(page, encoding="utf-8").read().split("<!-- tables -->")[1].splitlines():
    if line.startswith("## "):
        group = line[3:].strip("` ")
    elif line.startswith("| `"):
        name, *row = [cell.strip() for cell in line.strip("|").split("|")]
        told[group, name.strip("`")] = tuple(row)
claim(len(told) > 250, f"only {len(told)} rows in the table")
for key in rows.keys() - told.keys():
    problems.append(f"{'/'.join(key)} is written, but io/results/LAYOUT.md does not tell it")
for key in told.keys() - rows.keys():
    problems.append(f"{'/'.join(key)} is told in io/results/LAYOUT.md, but not written")
for key in rows.keys() & told.keys():
    claim(rows[key] == told[key], f"{'/'.join(key)}: told {told[key]}, written {rows[key]}")

for problem in problems:
    print(problem)
if problems:
    print(f"python3 {sys.argv[0]} PROGRAM SOURCES --write makes the table anew")
sys.exit(1 if problems else 0)
