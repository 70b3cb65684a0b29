"""`downsurge new`: every combination of its choices gives a case that can be read without a doubt and
solved with no limit exceeded; that a surge keeps the limits too, and what a choice makes of them, is
tried on combinations in which each two choices meet, or on all with --all (minutes). A file that is there
is never touched.
Arguments: the program [--all]."""

import itertools
import json
import os
import pty
import shutil
import subprocess
import sys
import tempfile

program = os.path.abspath(sys.argv[1])
is_all = "--all" in sys.argv
folder = tempfile.mkdtemp(prefix="downsurge-test-")
problems = []

CHOICES = {
    "kind": ["pond", "rain", "spring", "sump"],
    "pump": ["above", "beside", "under"],
    "valves": ["delivery", "foot", "both"],
    "pumps": ["1", "2"],
    "tanks": ["1", "2", "3"],
}
NAMES = list(CHOICES)


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def run(*words):
    done = subprocess.run([program, *words], capture_output=True, cwd=folder, stdin=subprocess.DEVNULL)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def ends(code, *words):
    got, out, err = run(*words)
    claim(got == code, f"{' '.join(words)}: ended with {got}, not {code}: {(out + err).strip()[:600]}")
    return out, err


def options(combination):
    return [word for name, value in zip(NAMES, combination) for word in (f"--{name}", value)]


def pairs(combination):
    return set(itertools.combinations(zip(NAMES, combination), 2))


# The choices told by the help are those tried here.
told = ends(0, "new", "--help")[0]
for name, words in CHOICES.items():
    claim(f"--{name} " in told, f"new --help does not tell --{name}")
    refused = ends(2, "new", "x.yaml", f"--{name}", "nonsense")[1]
    claim(refused.strip().endswith("one of: " + " ".join(words)), f"--{name} takes other words: {refused}")

good = []
for number, combination in enumerate(itertools.product(*CHOICES.values())):
    case = f"case-{number}.yaml"
    is_foot_in_vain = combination[1] != "above" and combination[2] != "delivery"
    if is_foot_in_vain and not is_all and combination[3:] != ("2", "3"):
        continue
    _, said = ends(2 if is_foot_in_vain else 0, "new", case, *options(combination))
    if is_foot_in_vain:
        claim("--pump above" in said, f"a foot valve in vain is refused without what to do: {said}")
        claim(not os.path.exists(os.path.join(folder, case)), f"{combination}: refused, but written")
        continue
    good.append((case, combination))
    ends(0, "steady", case, "--strict", "--quiet")
    text = open(os.path.join(folder, case), encoding="utf-8").read()
    claim(text.count("#") > 20 and max(map(len, text.splitlines())) <= 100, f"{case}: comments, width")
claim(len(good) == 4 * 5 * 2 * 3, f"{len(good)} combinations")

chosen, met = [], set()
for case, combination in good:
    fresh = pairs(combination) - met
    if is_all or len(fresh) >= 4:
        chosen.append((case, combination))
        met |= pairs(combination)
for case, combination in chosen:
    ends(0, "check", case, "--strict", "--quiet")
    ends(0, "surge", case, "--strict", "--quiet")
    quick = [] if is_all else ["--without-surge"]
    answer = ends(0, "choose", case, *quick)[0]
    places = answer.count("\nPlace: ")
    expected = (2 if combination[2] == "both" else 1) * int(combination[3])
    claim(places == expected and answer.count("\nBest") == expected, f"{case} {combination}: {places} places: {answer[-900:]}")

# Never over a file that is there, whoever put it there; nothing left of one that cannot be written.
kept = os.path.join(folder, "kept.yaml")
with open(kept, "w", encoding="utf-8") as file:
    file.write("mine")
claim("there already" in ends(4, "new", "kept.yaml")[1], "not told that the file is there")
claim(open(kept, encoding="utf-8").read() == "mine", "a file that was there was changed")
os.symlink("nowhere.yaml", os.path.join(folder, "link.yaml"))
ends(4, "new", "link.yaml")
claim(not os.path.exists(os.path.join(folder, "nowhere.yaml")), "written through a link")
ends(4, "new", "none/site.yaml")
ends(2, "new", "out.yaml", "--output", "other.yaml")
claim(json.loads(ends(0, "new", "told.yaml", "--json")[0]) == {"case": "told.yaml"}, "--json")
claim(ends(0, "new", "quiet.yaml", "--quiet") == ("", ""), "--quiet")

# On a terminal it asks, again when it did not understand; the same file comes of it.
master, slave = pty.openpty()
os.write(master, b"lake\npond\nabove\nboth\n\n2\n")
done = subprocess.run([program, "new", "asked.yaml"], stdin=slave, stdout=subprocess.PIPE, stderr=slave, cwd=folder, timeout=20)
asked = os.read(master, 4000).decode()
claim(done.returncode == 0 and "one of: pond rain spring sump" in asked, f"asked: {done.returncode}: {asked}")
ends(0, "new", "said.yaml", "--kind", "pond", "--pump", "above", "--valves", "both", "--tanks", "2")
bodies = [open(os.path.join(folder, name), encoding="utf-8").read() for name in ("asked.yaml", "said.yaml")]
claim(bodies[0] == bodies[1], "asked and said give different files")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
