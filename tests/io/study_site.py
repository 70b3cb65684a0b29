"""What the tests of studies share: a site, its study, and the reading of journals and results."""

import os
import struct

import h5py

import reed_pool

# A site of our own invention; the study is put in below.
SITE = """site: Reed Pool
water: {temperature: 11 degC}
tanks:
  pond: {floor: -1.0 m, brim: 0.5 m, level: 0.0 m, area: 20 m2}
  tower: {floor: 9.0 m, brim: 12.0 m, level: 10.0 m, area: 4 m2}
""" + reed_pool.PUMP + """runs:
  main:
    from: pond
    to: tower
    parts:
      - {pipe: pvc-u 63 pn10, length: 2 m, end: -0.5 m}
      - {pump: lift, name: lift-1}
      - {non-return: swing flap, name: delivery, size: DN50, mounting: vertical up}
      - {pipe: pvc-u 63 pn10, length: 60 m, end: 9.5 m}
surge:
  duration: 0.5 s
  events:
    - {at: 0.1 s, stop: lift-1}
"""

# Fewer rows under the sanitizers, which take each three times as long.
LEVELS = 4 if os.environ.get("SHORT_RUNS") == "1" else 5
GRID = f"""study:
  vary:
    delivery.type: [spring cone, swing flap, dual plate]
    water.temperature: 4 .. 24 degC
    tower.level: 9.5 .. 11.5 m
    lift-1.speed: 2700 .. 2900 rpm
  levels: {LEVELS}
  measures: [flow of delivery, slam head of delivery, highest share, pressure at main/1]
"""
ROWS = 3 * LEVELS**3


def fnv(data):
    total = 0xCBF29CE484222325
    for byte in data:
        total = ((total ^ byte) * 0x100000001B3) & 0xFFFFFFFFFFFFFFFF
    return total


def journal_length(path, measures=4):
    """How many rows a journal has room for, by its size."""
    size = 8 + 200 + 8 * measures + 8
    return max(0, os.path.getsize(path) - 160) // size if os.path.exists(path) else 0


def journal_rows(path, problems, measures=4):
    """{index: record} of the whole rows of a journal; doubled ones are a problem."""
    size = 8 + 200 + 8 * measures + 8
    rows = {}
    if not os.path.exists(path):
        return rows
    data = open(path, "rb").read()[160:]
    for at in range(0, len(data) - size + 1, size):
        record = data[at : at + size]
        if struct.unpack("<Q", record[-8:])[0] != fnv(record[:-8]):
            break
        index = struct.unpack("<i", record[:4])[0]
        if index in rows:
            problems.append(f"row {index} is twice in the journal")
        rows[index] = record
    return rows


def table(path):
    with h5py.File(path) as file:
        group = file["study"]
        return {name: group[name][()].tobytes() if group[name].dtype.kind != "O"
                else b"\n".join(group[name][()]) for name in group if isinstance(group[name], h5py.Dataset)}
