"""System calls that fail, or at which the program is killed, one after the other: whatever the commands that
write ask of the system fails once with no room, with an error of the disk and without rights, and once is the
last that the program does. What was there stays whole, what is new is whole, nobody says done who has
nothing written, each failure is told, and afterwards the same command does its work and leaves nothing.
Needs strace. Arguments: the program, the top of the tree, and commands (all, when none is named)."""

import collections
import os
import re
import shutil
import subprocess
import sys
import tempfile

program, top = map(os.path.abspath, sys.argv[1:3])
folder = tempfile.mkdtemp(prefix="downsurge-test-")
CALLS = ("openat", "write", "pwrite64", "fsync", "rename", "link", "unlink", "ftruncate", "fchmod", "flock", "close", "lseek", "mkdir",
         "newfstatat", "access", "unlinkat", "rmdir")
STRIKES = ("signal=KILL", "error=ENOSPC", "error=EIO", "error=EACCES")
MANY, FEW = 24, 6  # of each call: the first and the last
COMMANDS = {
    "steady": (("steady", "lesson-outlets.yaml", "-q", "-o", "steady.h5"), "steady.h5", MANY),
    "valve": (("valve", "ball", "DN50", "-q", "-o", "valve.h5"), "valve.h5", MANY),
    "study": (("study", "lesson-study.yaml", "-q", "-o", "study.h5"), "study.h5", MANY),
    "check": (("check", "lesson-outlets.yaml", "-o", "check.txt"), "check.txt", MANY),
    "show": (("show", "source.h5", "/steady", "-f", "csv", "-o", "show.csv"), "show.csv", MANY),
    "new": (("new", "new.yaml"), "new.yaml", MANY),
    "plot": (("plot", "source.h5", "-q", "-o", "pictures"), "pictures/source-sketch.svg", MANY),
    "surge": (("surge", "lesson-air-vessel.yaml", "-q", "-o", "surge.h5"), "surge.h5", FEW),
    "choose": (("choose", "lesson-first-site.yaml", "--without-surge", "-q", "-o", "choose.h5"), "choose.h5", FEW),
    "fill": (("fill", "float-switch.yaml", "--for", "2 h", "-q", "-o", "fill.h5"), "fill.h5", FEW),
    "failures": (("study", "lesson-study.yaml", "--failures", "-q", "-o", "failures.h5"), "failures.h5", FEW),
    "report": (("report", "source.h5", "-q", "-o", "page.html"), "page.html", FEW),
}
CASES = ("lesson-outlets.yaml", "lesson-study.yaml", "lesson-air-vessel.yaml", "lesson-first-site.yaml", "float-switch.yaml")
LONG_AGO = 10**9  # s, when the file that stands there was written
problems = []
scratch = os.path.join(folder, "scratch")  # of the pictures' programs; a kill leaves something there
os.mkdir(scratch)
os.environ["TMPDIR"] = scratch


def run(words, *strike):
    log = os.path.join(folder, "log")
    options = ["-qq", "-o", log, "-e", "trace=" + ",".join(CALLS), *(("-e", "inject=" + strike[0]) if strike else ())]
    done = subprocess.run(["strace", *options, program, *words], capture_output=True, text=True, errors="replace", cwd=folder,
                          stdin=subprocess.DEVNULL, timeout=300)
    return done.returncode, done.stderr, [line for line in open(log, errors="replace") if re.match(r"\w+\(", line)]


def counts(lines):
    """Of each call: the number of its first once the libraries are loaded, and of its last."""
    last = collections.Counter()
    first = {}
    is_begun = False
    for line in lines:
        call = line[: line.index("(")]
        is_begun = is_begun or (call == "openat" and not re.search(r'"(/lib|/etc|/proc|/sys|/usr)', line))
        last[call] += 1
        if is_begun:
            first.setdefault(call, last[call])
    return {call: (number, last[call]) for call, number in first.items()}


def judge(name, file, strike, before, ended):
    code, said = ended
    path = os.path.join(folder, file)
    what = f"{name}, {strike}: ended with {code}, said {said.strip()[-200:]!r}"
    is_new = name == "new"
    if "KILL" not in strike and code not in (0, 2, 3, 4):
        problems.append(what)
    if code not in (0, -9) and not said:
        problems.append(what + ": tells nothing")
    if not os.path.exists(path):
        if code == 0 or not is_new:
            problems.append(what + ": there is no file")
        return
    if code == 0 and os.stat(path).st_mtime == LONG_AGO:
        problems.append(what + ": says done, and nothing is written")
    if file.endswith(".h5"):
        if subprocess.run([program, "show", path], capture_output=True).returncode != 0:
            problems.append(what + ": the results are damaged")
        return
    found = open(path, "rb").read()
    # A page without its pictures is whole, if it was told.
    is_page_told = name == "report" and found.endswith(b"</html>\n") and (code == -9 or "missing" in said)
    if found != before and not is_page_told:
        problems.append(what + ": the file is not whole")


def strike_all(name):
    words, file, most = COMMANDS[name]
    path = os.path.join(folder, file)
    code, said, lines = run(words)
    if code != 0:
        problems.append(f"{name}: {said}")
        return
    before = open(path, "rb").read()
    tried = 0
    for call, (first, last) in counts(lines).items():
        numbers = list(range(first, last + 1))
        for number in numbers if len(numbers) <= most else numbers[: most // 2] + numbers[-most // 2 :]:
            for strike in STRIKES:
                if name == "new" and os.path.exists(path):
                    os.remove(path)
                if name != "new":
                    with open(path, "wb") as kept:
                        kept.write(before)
                    os.utime(path, (LONG_AGO, LONG_AGO))
                ended = run(words, f"{call}:{strike}:when={number}")[:2]
                if "loading shared libraries" in ended[1]:
                    continue  # the linker's affair
                judge(name, file, f"{call} {number} {strike}", before, ended)
                tried += 1
    if name == "new" and os.path.exists(path):
        os.remove(path)
    code, said, _ = run(words)
    if code != 0:
        problems.append(f"{name}: cannot be done afterwards: {said}")
    left = [one for one in os.listdir(folder) if one.startswith(file) and one != file]
    if left:
        problems.append(f"{name} left {left}")
    print(f"{name}: {tried} strikes", flush=True)


if not shutil.which("strace"):
    sys.exit("strace is needed; Debian's package is strace")
for one in CASES:
    shutil.copyfile(os.path.join(top, "cases", one), os.path.join(folder, one))
subprocess.run([program, "steady", "lesson-outlets.yaml", "-q", "-o", "source.h5"], cwd=folder, check=True)
for one in sys.argv[3:] or COMMANDS:
    strike_all(one)
shutil.rmtree(folder)
for problem in problems:
    print(problem)
print(f"{len(problems)} problems")
sys.exit(bool(problems))
