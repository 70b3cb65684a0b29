"""Bad input as a person meets it: the program ends with 2, tells the place as FILE:LINE:COLUMN, and
leaves nothing beside the case, for every fifth row of broken/rows.txt and file of bad/ (the Criterion
programs of these hold the place and the words of all); then files that are no cases at all, and very
large ones, within limits of memory and time.
Arguments: the program, the top of the tree, and "all" to run every row and file."""

import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time

every = 1 if sys.argv[3:] == ["all"] else 5
program, top = map(os.path.abspath, sys.argv[1:3])
here = os.path.join(top, "tests", "io")
folder = tempfile.mkdtemp(prefix="downsurge-test-")
case = os.path.join(folder, "case.yaml")
problems = []
MEMORY_MOST = 2 << 30
COMMANDS = ("check", "steady", "surge", "fill", "choose", "study")


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def little_memory():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MOST, MEMORY_MOST))


def run(command, file):
    words = [program, command, file, "-q", "-o", os.path.join(folder, "out.h5")]
    return subprocess.run(words, capture_output=True, text=True, errors="replace", preexec_fn=little_memory)


def refused(what, command="steady", file=case, says=None):
    """Ends with 2 and says so at a place; what lies in the folder is what lay there before."""
    before = sorted(os.listdir(folder))
    done = run(command, file)
    claim(done.returncode == 2, f"{what}: {command} ended with {done.returncode}: {done.stderr[-200:]}")
    claim(done.stdout == "", f"{what}: {command} printed {done.stdout[:80]!r}")
    where = says or re.escape(file) + r":\d+:\d+: "
    claim(re.match(where, done.stderr) is not None, f"{what}: {command} said {done.stderr[:200]!r}")
    claim(sorted(os.listdir(folder)) == before, f"{what}: {command} left {sorted(os.listdir(folder))}")


def put(data):
    with open(case, "wb") as file:
        file.write(data if isinstance(data, bytes) else data.encode())


site = open(os.path.join(here, "broken", "site.yaml")).read()
count = 0
for row in open(os.path.join(here, "broken", "rows.txt")):
    old, new, place, _ = (part.replace("\\n", "\n") for part in row.rstrip("\n").split(" => ", 3))
    put(site.replace(old, new, 1))
    count += 1
    if count % every == 0:
        refused(f"row {count}", COMMANDS[count % 5], says=re.escape(f"{case}:{place.split()[1]}: "))
for name in sorted(os.listdir(os.path.join(here, "bad"))):
    if name.endswith(".yaml"):
        path = os.path.join(here, "bad", name)
        place = re.match(r"# expect \d+ (\d+:\d+) ", open(path).readline()).group(1)
        count += 1
        if count % every == 0:
            where = r"\S+: " if name.startswith("measured") else re.escape(f"{path}:{place}: ")
            refused(name, COMMANDS[count % 5], path, says=where)
claim(count >= 400, f"only {count} broken cases")

# No text, or too much of it. A file of 1 GB is refused by its size alone.
for what, data in (
    ("empty", b""),
    ("binary", bytes(range(256)) * 40),
    ("an ELF header", open(program, "rb").read(4096)),
    ("UTF-16", site.encode("utf-16")),
    ("Latin-1", site.replace("Reed Pool", "Br\u00fccke").encode("latin-1")),
    ("deep", "tanks: " + "[" * 100000),
    ("deep maps", "".join(" " * i + "a:\n" for i in range(400))),
    ("aliases", "a: &a [x, x]\n" + "".join(f"b{i}: &b{i} [*a, *a]\n" for i in range(50))),
    ("a line of 10 MB", "site: " + "x" * 10_000_000 + "\n"),
    ("many keys", "tanks:\n" + "".join(f"  t{i}: {{level: 1 m}}\n" for i in range(100_000))),
    ("a long list", "runs: [" + "a," * 200_000 + "]\n"),
    ("tabs", "\t" * 100_000),
    ("only a comment", "# nothing\n"),
):
    put(data)
    began = time.monotonic()
    for command in COMMANDS if len(data) < 1000 else ("check",):
        refused(what, command)
    claim(time.monotonic() - began < 60, f"{what}: took {time.monotonic() - began:.0f} s")
with open(case, "wb") as file:
    file.write(b"site: ")
    file.truncate(1_000_000_000)
refused("a line of 1 GB", says=re.escape(case) + ".*larger than")
os.remove(case)
os.mkfifo(case)
refused("a pipe", says=re.escape(case) + ".*not an ordinary file")
os.remove(case)
refused("nothing", says=re.escape(case) + ".*No such file")
os.symlink(case, case)
refused("a link to itself", says=re.escape(case) + ".*cannot be opened")
os.remove(case)

# Tables lie with their case.
outside = os.path.join(os.path.dirname(folder), "secret.csv")
TABLES = "site: t\ntanks: {a: {level: 1 m, fixed: yes}}\ntables: {points: %s, pipes: pipes.csv}\n"
with open(os.path.join(folder, "pipes.csv"), "w") as file:
    file.write("name,from,to,length [m],bore [mm],roughness [mm]\n")
for path in ("../secret.csv", "/etc/passwd", "x/../../secret.csv", "..", '""', '"../\\u0000"'):
    put(TABLES % path)
    refused(path)
put(TABLES % "none.csv")
refused("no table", says=re.escape(case) + r":3:18: 'none.csv' cannot be opened.*; tables are looked for")
os.mkdir(os.path.join(folder, "none.csv"))
refused("a folder for a table", says=re.escape(case) + r":3:18: 'none.csv' is a folder")
for text in ("", "name\n", "elevation [m]\n1\n", "name,elevation [m]\na\n", "name,elevation [m]\na,x\n",
             "name,elevation [m]\na,nan\n", "name,elevation [kg]\na,1\n", "name,elevation [m],name\na,1,b\n",
             'name,elevation [m]\n"a,1\n', "name,elevation [m]\na,1\na,2\n", "name,elevation [m]\na,1,2\n",
             "name,elevation [m],draw [L/s]\na,1,inf\n", "name,elevation [m]\n\x00,1\n", "name;elevation [m]\na,1\n"):
    with open(os.path.join(folder, "points.csv"), "w") as file:
        file.write(text)
    put(TABLES % "points.csv")
    refused(f"table {text!r}", says=r".*points\.csv(:\d+:\d+)?: ")

# What is to be varied is looked at by check too.
for words, says in (("vary: {pond.levle: 0 .. 1 m}, measures: [flow of flap]", r":\d+:\d+: .*none of its values can be read: .*did you mean 'level'"),
                    ("vary: {pond.level: 0 .. 0.5 m}, measures: [flow of nowhere]", r":\d+:\d+: "),
                    ("vary: {pond.level: 0 .. 0.5 m}, measures: [flow of flap], combine: sobol, samples: 1000000000000", r":\d+:\d+: .*at most 1000000")):
    put(f"{site[:site.index('study:')]}study: {{{words}}}\n")
    refused(words, "check", says=re.escape(case) + f"(?:{says})")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
print(f"{count} broken cases, {len(problems)} problems")
sys.exit(bool(problems))
