"""The guides in the heads of cases: each command there runs, and each number told there is what it gives.
And the README's way from a new case to its report, by the very lines of its blocks (scripts/readme goes
the whole way, from the clone on).
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
    count, said = 0, {}
    for name in ("lesson-first-site.yaml", "lesson-surge-picture.yaml", "three-reservoirs.yaml"):
        for line in head(name):
            if not re.match(r" +downsurge ", line):
                continue
            command = shlex.split(re.split(r"\.yaml   ", line.strip() + " ")[0] + (".yaml" if ".yaml   " in line else ""))
            done = subprocess.run([program, *command[1:]], capture_output=True, text=True, cwd=folder)
            claim(done.returncode == 0, f"{name}: {line.strip()}: {done.returncode}: {done.stderr}")
            said[command[1]] = done.stdout
            count += 1
    claim(count == 9, f"{count} commands were found in the guides, not 9")
    page = os.path.join(folder, "site.html")
    claim(os.path.exists(page) and 'id="answer"' in open(page, encoding="utf-8").read(), "no page with an answer")
    report = open(page, encoding="utf-8").read() if os.path.exists(page) else ""

# The README's own site, and what it shows of ./scripts/run, in a folder in which that is all there is.
with tempfile.TemporaryDirectory(prefix="downsurge-test-") as folder:
    os.symlink(cases, os.path.join(folder, "cases"))
    os.mkdir(os.path.join(folder, "scripts"))
    with open(os.path.join(folder, "scripts", "run"), "w", encoding="utf-8") as file:
        file.write(f'#!/bin/sh\nexec {shlex.quote(program)} "$@"\n')
    os.chmod(file.name, 0o755)
    blocks = re.findall(r"^```sh\n(.*?)^```$", open(os.path.join(top, "README.md"), encoding="utf-8").read(), re.M | re.S)
    lines = [line for block in blocks for line in block.splitlines() if re.match(r"mkdir |\./scripts/run +[^# ]", line)]
    for line in lines:
        done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, cwd=folder, stdin=subprocess.DEVNULL)
        claim(done.returncode == 0, f"README: {line}: {done.returncode}: {done.stderr}")
    claim(len(lines) == 8 and " report " in lines[-1], f"commands found in the README: {lines}")
    page = os.path.join(folder, "out", "site.html")
    claim(os.path.exists(page) and 'id="answer"' in open(page, encoding="utf-8").read(), "the README's way ends without a page")

# What the guide on choosing says of its site.
answer = ask("choose", "lesson-first-site.yaml")
choose = answer["choose"]


def column(table, name):
    return table["fields"][name]["values"]


labels, ranks, reasons, flows = (column(choose, name) for name in ("label", "rank", "reasons", "flow"))
best = list(ranks).index(1)
claim(labels[best].startswith("swing flap DN40"), f"the best is {labels[best]}")
claim(abs(1000 * flows[best] - 2.2) < 0.05, f"it lets {1000 * flows[best]} L/s through")
for label, rank, reason in zip(labels, ranks, reasons):
    claim("spring" not in label or (rank == 0 and "clogs" in reason), f"{label} has a spring and ranks {rank}: {reason}")

sets = answer["sets"]
column_open = sets["attributes"]["open_ranks"]

# What choose says of that site in words, and the same sets with the same figures in the report.
for told in ("Held against 1 steady case and 1 surge case.", "The best first", "* stands there now.",
             "The case's section 'choose' names no waters or levels: only its own were tried.",
             "judged in every case; the sets shown are those that trying every set would give.",
             "The ranks stand further apart" if not column_open else f"leave open which is better of ranks {column_open}.",
             "at half the step for the error bands.", "Best: swing flap DN40, which stands there now",
             "Handicap of a set: per cent of flow lost in the worst case"):
    claim(told in " ".join(said["choose"].split()), f"choose does not say '{told}'")
numbers = {name: column(sets, name) for name in ("rank", "delivered", "flow_lost", "handicap", "handicap_band")}
table = re.search(r"<caption>The valves of all places as sets.*?</table>", report, re.S)
rows = re.findall(r"<tr><th scope=\"row\">(.*?)</th>(.*?)</tr>", table.group() if table else "", re.S)
claim(len(rows) == len(numbers["rank"]) > 1, f"the report has {len(rows)} sets of {len(numbers['rank'])}")
heads = [re.sub("<.*?>", "", head) for head in re.findall(r"<th scope=\"col\".*?>(.*?)</th>", table.group() if table else "")]
claim(heads == ["rank", "keeper", "delivered L/s", "flow lost %", "slam m", "handicap %", "\u00b1 %",
                "energy a year kWh", "its cost"], f"the table of sets has {heads}")
lines = re.findall(r"^ +(\d+)  (.+? DN\d+)(?: \*)? +([\d.]+) +([\d.]+) +([\d.]+) +([\d.]+) +([\d.]+) ", said["choose"].split("The best first")[1].split("* stands")[0], re.M)
claim(len(lines) == len(rows), f"choose prints {len(lines)} sets of {len(rows)}")
for i, (head_cell, cells) in enumerate(rows):
    figures = re.findall(r"<td(?: class=\"number\")?>(.*?)</td>", cells)
    wanted = [f"{1000 * numbers['delivered'][i]:.3f}", f"{100 * numbers['flow_lost'][i]:.1f}", None,
              f"{numbers['handicap'][i]:.1f}", f"{numbers['handicap_band'][i]:.1f}"]
    claim(head_cell.split(",")[0] == str(int(numbers["rank"][i])), f"row {i}: rank {head_cell}")
    claim(all(want in (None, got) for want, got in zip(wanted, figures[1:6])), f"row {i}: {figures}, not {wanted}")
    if i < len(lines):
        claim(lines[i][1] == figures[0] and list(lines[i][2:]) == figures[1:6], f"choose and report differ: {lines[i]} {figures}")

# What the guide on the picture says of the orchard.
surge = ask("surge", "lesson-surge-picture.yaml")["surge"]
claim(abs(column(surge, "run_highest")[0] - 70) < 1.5, f"highest {column(surge, 'run_highest')}")
claim(abs(column(surge, "run_allowed")[0] - 102) < 0.5, f"allowed {column(surge, 'run_allowed')}")
claim(abs(column(surge, "run_lowest_margin")[0]) < 0.01, "the water does not boil")
for kind in ("first_reverse_velocity", "reverse_velocity"):
    velocity, band = column(surge, kind)[0], column(surge, kind + "_band")[0]
    claim(0.03 < velocity < 0.3 and band > 0.5 * velocity, f"the guide on a rattling valve: {kind} {velocity} +- {band}")
cured = ask("surge", "lesson-surge-picture.yaml", "--size", "flywheel", "--limit", "lowest -5 m in main")
claim(abs(column(cured["surge"], "run_highest")[0] - 42) < 0.5, f"cured: {column(cured['surge'], 'run_highest')}")
claim(abs(column(cured["surge"], "run_lowest_margin")[0] - 5) < 0.2, "cured: not 5 m above boiling")

for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
