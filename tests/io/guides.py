"""The guides in the heads of cases: each command there runs, and each number told there is what it gives.
Arguments: the program, the folder of the sources."""

import json
import os
import re
import shlex
import subprocess
import sys
import tempfile

program, top = map(os.path.abspath, sys.argv[1:3])
cases = os.path.join(top, "cases")
problems = []


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def ask(*words):
    done = subprocess.run([program, *words, "--json"], capture_output=True, text=True, cwd=cases)
    claim(done.returncode == 0, f"{words}: {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def head(name):
    lines = []
    for line in open(os.path.join(cases, name), encoding="utf-8"):
        if not line.startswith("#"):
            break
        lines.append(line[1:].rstrip())
    return lines


# Every command of the guides, in a folder where a person would stand: the cases and nothing else. What
# a column of words beside a command says begins after three blanks.
with tempfile.TemporaryDirectory(prefix="downsurge-test-") as folder:
    for name in os.listdir(cases):
        os.symlink(os.path.join(cases, name), os.path.join(folder, name))
    count = 0
    for name in ("lesson-first-site.yaml", "lesson-surge-picture.yaml", "three-reservoirs.yaml"):
        for line in head(name):
            if not re.match(r" +downsurge ", line):
                continue
            command = shlex.split(re.split(r"\.yaml   ", line.strip() + " ")[0] + (".yaml" if ".yaml   " in line else ""))
            done = subprocess.run([program, *command[1:]], capture_output=True, text=True, cwd=folder)
            claim(done.returncode == 0, f"{name}: {line.strip()}: {done.returncode}: {done.stderr}")
            count += 1
    claim(count == 9, f"{count} commands were found in the guides, not 9")
    page = os.path.join(folder, "site.html")
    claim(os.path.exists(page) and 'id="answer"' in open(page, encoding="utf-8").read(), "no page with an answer")

# What the guide on choosing says of its site.
choose = ask("choose", "lesson-first-site.yaml")["choose"]


def column(table, name):
    return table["fields"][name]["values"]


labels, ranks, reasons, flows = (column(choose, name) for name in ("label", "rank", "reasons", "flow"))
best = list(ranks).index(1)
claim(labels[best].startswith("swing flap DN40"), f"the best is {labels[best]}")
claim(abs(1000 * flows[best] - 2.2) < 0.05, f"it lets {1000 * flows[best]} L/s through")
for label, rank, reason in zip(labels, ranks, reasons):
    claim("spring" not in label or (rank == 0 and "clogs" in reason), f"{label} has a spring and ranks {rank}: {reason}")

# What the guide on the picture says of the orchard.
surge = ask("surge", "lesson-surge-picture.yaml")["surge"]
claim(abs(column(surge, "run_highest")[0] - 70) < 1.5, f"highest {column(surge, 'run_highest')}")
claim(abs(column(surge, "run_allowed")[0] - 102) < 0.5, f"allowed {column(surge, 'run_allowed')}")
claim(abs(column(surge, "run_lowest_margin")[0]) < 0.01, "the water does not boil")
cured = ask("surge", "lesson-surge-picture.yaml", "--size", "flywheel", "--limit", "lowest -5 m in main")
claim(abs(column(cured["surge"], "run_highest")[0] - 42) < 0.5, f"cured: {column(cured['surge'], 'run_highest')}")
claim(abs(column(cured["surge"], "run_lowest_margin")[0] - 5) < 0.2, "cured: not 5 m above boiling")

for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
