"""A results file as others see it: opened with h5py (and xarray where it can), never with our own
reader. Arguments: the program, the program that writes a sample."""

import json
import os
import subprocess
import sys
import tempfile

program, sample = sys.argv[1:3]
problems = []


def claim(is_true, text):
    if not is_true:
        problems.append(text)


try:
    import h5py
except ImportError:
    print("python3-h5py is missing: the results file was NOT checked from outside")
    sys.exit(1)

folder = tempfile.mkdtemp(prefix="downsurge-test-")
path = os.path.join(folder, "sample.h5")
subprocess.run([sample, path], check=True)
claim(os.listdir(folder) == ["sample.h5"], "something was left beside the results file")

datasets = []
with h5py.File(path, "r") as file:
    file.visititems(lambda name, item: datasets.append(name) if isinstance(item, h5py.Dataset) else None)
    claim(len(datasets) > 40, f"only {len(datasets)} datasets were found")
    for name in datasets:
        item = file[name]
        for attribute in ("units", "long_name"):
            text = item.attrs.get(attribute)
            text = text.decode() if isinstance(text, bytes) else text
            claim(isinstance(text, str) and text != "", f"{name}: no {attribute}")
        for number in range(item.ndim):
            if h5py.h5ds.is_scale(item.id):
                continue
            scales = item.dims[number]
            claim(len(scales) == 1, f"{name}: dimension {number} has {len(scales)} scales")
            if len(scales) == 1:
                claim(scales[0].shape[0] == item.shape[number], f"{name}: scale of another length")
                claim(scales[0].parent == item.parent, f"{name}: scale of another group")
    import hashlib

    text = file["case/text"][()]
    text = text if isinstance(text, bytes) else text.encode()
    digest = file.attrs["case_sha256"]
    digest = digest.decode() if isinstance(digest, bytes) else digest
    claim(hashlib.sha256(text).hexdigest() == digest, "the fingerprint is not that of the case text")
    for attribute in ("program", "version", "options", "site"):
        claim(attribute in file.attrs, f"the root has no attribute {attribute}")
    for attribute in ("mass_residual", "energy_residual", "iterations"):
        claim(attribute in file["steady"].attrs, f"/steady has no attribute {attribute}")
    claim(list(file["steady"])[:2] == ["point", "head"], "the order of writing is lost")
    claim(file["steady/zone"].dtype.kind == "i", "zones are not whole numbers")
    claim(file["surge/head"].shape == (401, 2), "surge/head has another shape")
    claim(file["steady/point"].asstr()[3] == "header \u00e9", "UTF-8 names do not come back")
    heads = [float(value) for value in file["steady/head"][()]]

# The program's own reader and JSON give the same numbers, digit for digit.
said = subprocess.run([program, "show", path, "/steady", "--json"], capture_output=True, check=True)
steady = json.loads(said.stdout)
claim(steady["fields"]["head"]["values"] == heads, "show --json gives other heads than h5py")
claim(steady["fields"]["link"]["values"][2] == 'main/pipe "upper"', "a quote was not escaped")
said = subprocess.run([program, "show", path, "--json"], capture_output=True, check=True)
surge = json.loads(said.stdout)["/surge"]["fields"]
claim(surge["flow"]["values"][0][0] is None, "NAN did not become null")
claim(len(surge["head"]["values"]) == 401 and len(surge["head"]["values"][0]) == 2, "a grid lost its shape")

# Comma-separated columns of RFC 4180.
import csv

said = subprocess.run([program, "show", path, "/steady/flow", "-f", "csv"], capture_output=True, check=True)
rows = list(csv.reader(said.stdout.decode().splitlines()))
claim(rows[0] == ["link", "flow [m3 s-1]"], f"the head of the columns is {rows[0]}")
claim(rows[3][0] == 'main/pipe "upper"' and float(rows[3][1]) == 3.1e-3, f"a row is {rows[3]}")

try:
    import xarray

    engines = set(xarray.backends.list_engines()) & {"h5netcdf", "netcdf4"}
except Exception:
    engines = set()
if engines:
    for group in ("/steady", "/surge", "/surge/runs/main_upper", "/steady/findings"):
        with xarray.open_dataset(path, group=group, engine=sorted(engines)[0]) as data:
            claim(len(data.data_vars) > 0, f"xarray sees nothing in {group}")
            for name in data.variables:
                claim("units" in data[name].attrs, f"xarray sees no units of {group}/{name}")
else:
    print("xarray has no engine for HDF5 here: that part was not run")

# Pictures, where gnuplot is there.
import shutil

if shutil.which("gnuplot"):
    for form, start in (("svg", b"<?xml"), ("png", b"\x89PNG")):
        out = os.path.join(folder, "pictures")
        said = subprocess.run([program, "plot", path, "-f", form, "-o", out], capture_output=True)
        claim(said.returncode == 0, f"plot: {said.stderr.decode()}")
        for picture in ("sample-time", "sample-profile-main_upper"):
            name = os.path.join(out, f"{picture}.{form}")
            claim(os.path.exists(name) and open(name, "rb").read(5).startswith(start[:4]), f"no picture {name}")
else:
    print("gnuplot is missing: pictures were not made")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
print(f"{len(datasets)} datasets looked at, {len(problems)} problems")
sys.exit(1 if problems else 0)
