"""Includes point downward only (tests -> io -> solver -> models), are written from the root, and
the floor stones include nothing of ours."""

import os

import tree

RANK = {"models": 0, "solver": 1, "io": 2, "tests": 3}
FLOOR_STONES = ["models/failure.h", "models/arena.h"]

problems = []
for path in tree.sources():
    for line, name in tree.includes(path):
        folder = name.split("/")[0]
        if folder not in RANK or not os.path.exists(os.path.join(tree.root(), name)):
            problems.append(f'{path}:{line}: "{name}" is no path from the root')
        elif RANK[folder] > RANK[path.split("/")[0]]:
            problems.append(f'{path}:{line}: "{name}" points upward')
        elif path in FLOOR_STONES:
            problems.append(f'{path}:{line}: a floor stone includes "{name}"')
tree.finish(problems, "Move what is shared to the lower floor, or pass it in as data or a callback.")
