"""Memory that ends, at each request of a run: the program says so and ends with a code of its own
(never a signal), and leaves either a whole results file or none.
Arguments: the starved program, the folder of the cases, and how many requests of each command are
refused (3 unless stated; `scripts/starve` takes many)."""

import os
import random
import re
import subprocess
import sys
import tempfile

program, cases = map(os.path.abspath, sys.argv[1:3])
MOST = int(sys.argv[3]) if len(sys.argv) > 3 else 3  # all requests where there are fewer
CODES = {0, 1, 2, 3, 4}
copies = tempfile.TemporaryDirectory(prefix="downsurge-test-")
problems = []


def case(name):
    return os.path.join(cases, name)


def short(name):
    """A copy of a case whose surge ends early: memory is asked for before the first step."""
    text = open(case(name), encoding="utf-8").read()
    path = os.path.join(copies.name, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(re.sub(r"^( *duration:) .*$", r"\1 0.4 s", text, count=1, flags=re.MULTILINE))
    return path


def start(words, at, for_good, folder):
    surroundings = dict(os.environ, OMP_NUM_THREADS="1")
    surroundings.pop("STARVED_FOR_GOOD", None)
    if at:
        surroundings["STARVED_AT"] = str(at)
    if for_good:
        surroundings["STARVED_FOR_GOOD"] = "1"
    read_end, write_end = os.pipe()
    os.dup2(write_end, 9, inheritable=True)
    os.close(write_end)
    done = subprocess.run([program, *words], cwd=folder, env=surroundings, capture_output=True, pass_fds=(9,))
    os.close(9)
    told = os.read(read_end, 64).decode()
    os.close(read_end)
    return done.returncode, done.stderr.decode(errors="replace"), int(told or -1)


def look(words, at, for_good, full_code):
    with tempfile.TemporaryDirectory(prefix="downsurge-test-") as folder:
        code, said, _ = start(words, at, for_good, folder)
        where = f"{' '.join(map(os.path.basename, words))}: request {at}{' on' if for_good else ''} refused"
        if code not in CODES:
            problems.append(f"{where}: ended with {code}: {said.strip()[-200:]}")
        elif code != full_code and "memory" not in said:
            problems.append(f"{where}: ended with {code} but says nothing of memory: {said.strip()[-200:]}")
        left = [name for name in os.listdir(folder) if not name.endswith(".h5")]
        if left:
            problems.append(f"{where}: left {left}")


def starve(*words):
    with tempfile.TemporaryDirectory(prefix="downsurge-test-") as folder:
        code, said, total = start(words, 0, False, folder)
    if code not in CODES or total < 1:
        problems.append(f"{words}: ended with {code} after {total} requests: {said}")
        return
    numbers = range(1, total + 1)
    if total > MOST:
        chance = random.Random(1)
        early = min(MOST // 3, 4)  # the first few, and some of all others
        numbers = list(range(1, early + 1)) + sorted(chance.sample(range(early + 1, total + 1), MOST - early))
    for at in numbers:
        look(words, at, at % 2 == 0, code)
    print(f"{' '.join(map(os.path.basename, words))}: {total} requests, {len(numbers)} refused in turn")


starve("check", case("garden-pond.yaml"))
starve("steady", case("garden-pond.yaml"), "--output", "a.h5")
starve("steady", case("lesson-tee.yaml"))
starve("steady", case("lesson-regulator.yaml"))
starve("surge", short("garden-pond.yaml"), "--output", "a.h5", "--precision", "quick")
starve("surge", case("lesson-air-vessel.yaml"), "--precision", "quick")
starve("fill", case("float-switch.yaml"), "--for", "3 h", "--output", "a.h5")
starve("choose", case("garden-pond.yaml"), *([] if MOST > 10 else ["--without-surge"]))
starve("study", short("lesson-study.yaml"))
starve("valve", "swing flap", "DN50")
starve("catalogue", "fittings")

for problem in problems:
    print(problem, file=sys.stderr)
sys.exit(bool(problems))
