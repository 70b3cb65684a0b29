"""What somebody might try who wants harm: results files that speak to a terminal or name other people's files,
links and pipes laid where the program writes, names of every length, folders without rights, input that
takes memory or time without end.
Arguments: the program, the top of the tree."""

import os
import pwd
import resource
import shutil
import stat
import subprocess
import sys
import tempfile
import time
import unicodedata

import h5py

program, top = map(os.path.abspath, sys.argv[1:3])
folder = tempfile.mkdtemp(prefix="downsurge-test-")
case = os.path.join(folder, "site.yaml")
shutil.copyfile(os.path.join(top, "cases", "lesson-outlets.yaml"), case)
problems = []


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def run(*words, **how):
    return subprocess.run([program, *words], capture_output=True, cwd=folder, stdin=subprocess.DEVNULL, **how)


def ends(code, *words, says="", **how):
    done = run(*words, **how)
    said = done.stderr.decode(errors="replace")
    claim("\ufffd" not in said, f"{words}: says what is no UTF-8")
    claim(done.returncode == code, f"{words}: ended with {done.returncode}, not {code}: {said[-300:]}")
    claim(says in said, f"{words}: did not say '{says}' but '{said[-300:]}'")
    return done.stdout, said


def obeyed(text):
    """Characters that a terminal obeys or that turn lines round: Unicode's categories Cc and Cf."""
    return [hex(ord(one)) for one in text if unicodedata.category(one) in ("Cc", "Cf") and one not in "\n\r\t"]


# A stranger's results file speaks to nobody's terminal.
EVIL = ("\x1b]0;owned\x07", "a\x1b[31mred", "\u202eabc", "\u009b2J", "\x7f", "caf\u00e9 \u6c34")
stranger = os.path.join(folder, "stranger.h5")
with h5py.File(stranger, "w") as file:
    group = file.create_group("steady")
    group.create_dataset("name", data=EVIL, dtype=h5py.string_dtype())
    group.create_dataset("short", data=[one.encode()[:20] for one in EVIL], dtype="S20")
    group.create_dataset("head", data=[1.0] * 6).attrs["units"] = "\x1b[5m"
    group.attrs["title"] = "\x1b[41mtitle"
    group.attrs["\x1b[41mkey"] = 1.0
    file.create_group("a\x1b[32mgroup").create_dataset("x", data=[1.0])
    group.create_dataset("b\x1b[32m", data=[1.0])
for words in ((), ("/steady",), ("/steady/name",), ("/steady", "--format", "csv"), ("--json",), ("/steady/none\x1b[31m",)):
    done = run("show", stranger, *words)
    for text in (done.stdout, done.stderr):
        claim(not obeyed(text.decode()), f"show {words}: a terminal would obey {obeyed(text.decode())}")
claim("caf\u00e9 \u6c34".encode() in run("show", stranger, "/steady/name").stdout, "a name in letters of the world is not shown")
for words in (("steady", "\x1b[31mx.yaml"), ("show", "\x1b[31mx.h5"), ("catalogue", "\x1b[31mx"), ("\x1b[31m",), ("steady", b"\xff\xfe.yaml")):
    claim(not obeyed(ends(2, *words)[1]), f"{words}: the message obeys its words")

# Nor does it have the report quote other people's files, which it names as tables of its case.
with open(os.path.join(folder, "secret"), "w", encoding="utf-8") as file:
    file.write("user:TOPSECRET:0:0\n")
for said, where in ((os.path.join(folder, "x.yaml"), "secret"), ("x.yaml", "../secret"), ("x.yaml", "/etc/passwd")):
    with h5py.File(stranger, "w") as file:
        file.attrs["case_file"] = said
        text = f"site: t\ntanks: {{a: {{level: 1 m, fixed: yes}}}}\ntables: {{points: {where}, pipes: {where}}}\n"
        file.create_group("case").create_dataset("text", data=text, dtype=h5py.string_dtype())
        file.create_group("steady").create_dataset("head", data=[1.0])
    page = os.path.join(folder, "page.html")
    for words in (("report", stranger, "-o", page), ("plot", stranger, "-o", os.path.join(folder, "drawn")), ("show", stranger)):
        done = run(*words)
        told = done.stdout + done.stderr + (open(page, "rb").read() if os.path.exists(page) else b"")
        claim(b"TOPSECRET" not in told and b"root:" not in told, f"{words[0]}: the contents of '{where}' are told")
        claim(done.returncode in (0, 2, 3), f"{words[0]} of a stranger's results: {done.returncode}")
os.remove(stranger)

# Fields of other lengths than their neighbours draw no picture and make no table, which is told.
for group, field, also, words in (("valve", "deceleration", "", ("valve", "ball", "DN50")), ("filling", "tank_moves", "", ("fill", case, "--for", "0.1 h")),
                                  ("filling", "tank_in", "page", ("fill", case, "--for", "0.1 h"))):
    ends(0, *words, "-q", "-o", stranger)
    with h5py.File(stranger, "r+") as file:
        values = file[group][field][...]
        del file[group][field]
        file[group].create_dataset(field, data=values[:-1])
    if also:
        ends(0, "report", stranger, "-q", "-o", os.path.join(folder, "page.html"))
        claim("A table is left out: results" in open(os.path.join(folder, "page.html"), encoding="utf-8").read(), f"report: {field} is short, which is not told")
    else:
        ends(2, "plot", stranger, "-o", os.path.join(folder, "drawn"), says="make the results anew")
    os.remove(stranger)

# Whatever lies where the program writes its unfinished file is neither followed nor waited for.
results = os.path.join(folder, "out.h5")
treasure = os.path.join(folder, "treasure")
with open(treasure, "w", encoding="utf-8") as file:
    file.write("keep me")
os.symlink(treasure, results + ".downsurge-AAAAAA")
os.mkfifo(results + ".downsurge-BBBBBB")
os.mkdir(results + ".downsurge-CCCCCC")
ends(0, "steady", case, "-q", "-o", results, timeout=60)
claim(open(treasure, encoding="utf-8").read() == "keep me", "a link beside the results was followed")
mask = os.umask(0)
os.umask(mask)
claim(stat.S_IMODE(os.stat(results).st_mode) == 0o666 & ~mask, "the results have odd rights")
os.symlink(treasure, os.path.join(folder, "link.h5"))
ends(4, "steady", case, "-q", "-o", os.path.join(folder, "link.h5"), says="is a symbolic link")
claim(open(treasure, encoding="utf-8").read() == "keep me", "results were written through a link")
shutil.copyfile(results, os.path.join(folder, "kept.h5"))
kept = open(results, "rb").read()
os.remove(os.path.join(folder, "link.h5"))
os.symlink("kept.h5", os.path.join(folder, "link.h5"))
ends(4, "fill", case, "--for", "1 h", "-q", "-o", os.path.join(folder, "link.h5"), says="is a symbolic link")
claim(open(os.path.join(folder, "kept.h5"), "rb").read() == kept, "results were written through a link")
claim(os.path.islink(os.path.join(folder, "link.h5")), "a link was replaced")

# The journal of a study is written neither through a link nor over what is no journal, and no pipe is waited for.
journal = os.path.join(folder, "study.h5.journal")
for lay in (lambda: os.symlink(treasure, journal), lambda: shutil.copyfile(treasure, journal), lambda: os.mkfifo(journal), lambda: os.mkdir(journal)):
    lay()
    ends(4, "study", os.path.join(top, "cases", "lesson-study.yaml"), "-q", "-o", "study.h5", says="study.h5.journal", timeout=60)
    claim(open(treasure, encoding="utf-8").read() == "keep me", "a journal was written through a link")
    claim(not os.path.isfile(journal) or open(journal, encoding="utf-8").read() == "keep me", "a journal was written over something else")
    (os.rmdir if os.path.isdir(journal) else os.remove)(journal)

os.mkfifo(os.path.join(folder, "pipe.h5"))
for words in (("show", "pipe.h5"), ("report", "pipe.h5", "-o", "pipe.html"), ("plot", "pipe.h5"), ("show", "/dev/zero")):
    ends(2, *words, says="not an ordinary file", timeout=60)
ends(4, "steady", case, "-q", "-o", "pipe.h5", says="not an ordinary file", timeout=60)

# No slip of the hand puts results over a case, its tables or a note, or text over results; told before any work.
os.makedirs(os.path.join(folder, "own"))
for name in ("alder-beck.yaml", "alder-beck-main.csv"):
    shutil.copyfile(os.path.join(top, "cases", name), os.path.join(folder, "own", name))
shutil.copyfile(results, os.path.join(folder, "own", "results.h5"))
os.link(os.path.join(folder, "own", "alder-beck.yaml"), os.path.join(folder, "own", "linked.yaml"))
own = {name: open(os.path.join(folder, "own", name), "rb").read() for name in os.listdir(os.path.join(folder, "own"))}
for words in (("steady", "alder-beck.yaml", "-o", "alder-beck.yaml"), ("surge", "alder-beck.yaml", "-o", "./alder-beck-main.csv"),
              ("choose", "alder-beck.yaml", "-o", "alder-beck.yaml"), ("fill", "alder-beck.yaml", "-o", "alder-beck.yaml"),
              ("study", "alder-beck.yaml", "--failures", "-o", "alder-beck.yaml"), ("check", "alder-beck.yaml", "-o", "linked.yaml"),
              ("check", "alder-beck.yaml", "-o", "results.h5"), ("show", "results.h5", "-o", "results.h5"),
              ("report", "results.h5", "-o", "results.h5"), ("report", "results.h5", "-o", "alder-beck.yaml"),
              ("valve", "--case", "alder-beck.yaml", "-o", "alder-beck.yaml"),
              ("valve", "ball", "DN50", "-p", "alder-beck.yaml"), ("new", "alder-beck.yaml")):
    done = subprocess.run([program, *words], capture_output=True, text=True, cwd=os.path.join(folder, "own"), stdin=subprocess.DEVNULL)
    claim(done.returncode == 4 and "another" in done.stderr, f"{words}: {done.returncode}: {done.stderr[-300:]}")
    for name, data in own.items():
        claim(open(os.path.join(folder, "own", name), "rb").read() == data, f"{words}: '{name}' is not what it was")
    claim(sorted(os.listdir(os.path.join(folder, "own"))) == sorted(own), f"{words} left {os.listdir(os.path.join(folder, 'own'))}")
ends(4, "surge", os.path.join(top, "cases", "alder-beck.yaml"), "-q", "-o", os.path.join(folder, "none", "x.h5"), says="No such file")

# Messages of any length come whole, in whole letters.
long = "\u00fc" * 3000
claim(f"'{long}'" in ends(2, long, says="--help")[1], "a long complaint is cut")
claim(f"'{long}'" in ends(2, "catalogue", long)[1], "a long complaint is cut")
for letter in ("\u00e9", "\u6c34", "\U0001f4a7"):
    for shift in range(4):
        name = "x" * shift + letter * (300 // len(letter.encode()))
        odd = os.path.join(folder, "odd.yaml")
        with open(odd, "w", encoding="utf-8") as file:
            file.write(open(case, encoding="utf-8").read() + f'\nlimits: {{"{name}": 1 m}}\n')
        said = ends(2, "steady", odd)[1]
        claim("known are" in said or "did you mean" in said or "limits" in said, f"{name[:8]}...: no remedy in {said[-200:]}")
ends(2, "steady", "x" * 5000, says="File name too long")

# Without rights: as a user who owns nothing, in folders of others. Only root can become one.
home = os.path.join(folder, "home")
os.mkdir(home)
shutil.copyfile(case, os.path.join(home, "site.yaml"))
shutil.copyfile(results, os.path.join(home, "old.h5"))
shutil.copy(program, os.path.join(home, "downsurge"))
os.chmod(home, 0o555)
os.chmod(folder, 0o755)
who = {}
if os.geteuid() == 0:
    nobody = pwd.getpwnam("nobody")
    who = {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


def without_rights(*words):
    done = subprocess.run([os.path.join(home, "downsurge"), *words], capture_output=True, cwd=home, stdin=subprocess.DEVNULL, **who)
    return done.returncode, done.stderr.decode()


before = open(os.path.join(home, "old.h5"), "rb").read()
for words in (("steady", "site.yaml", "-o", "new.h5"), ("steady", "site.yaml", "-o", "old.h5"), ("check", "site.yaml", "-o", "new.txt"),
              ("report", "old.h5", "-o", "page.html"), ("plot", "old.h5", "-o", "drawn"), ("new", "new.yaml"),
              ("fill", "site.yaml", "-o", "new.h5")):
    code, said = without_rights(*words)
    claim(code == 4 and "Permission denied" in said, f"{words} in a folder without rights: {code}: {said[-300:]}")
claim(without_rights("steady", "site.yaml")[0] == 0, "a folder without rights cannot be worked in at all")
claim(sorted(os.listdir(home)) == ["downsurge", "old.h5", "site.yaml"], f"in a folder without rights: {os.listdir(home)}")
claim(open(os.path.join(home, "old.h5"), "rb").read() == before, "results in a folder without rights were changed")
os.chmod(os.path.join(home, "site.yaml"), 0)
code, said = without_rights("steady", "site.yaml")
claim(code in (2, 4) and "Permission denied" in said, f"a case without rights: {code}: {said}")
os.chmod(home, 0o755)


# Memory and time stay within bounds whatever comes in: 512 MiB of addresses, 20 s.
def bounds():
    resource.setrlimit(resource.RLIMIT_AS, (512 << 20, 512 << 20))
    resource.setrlimit(resource.RLIMIT_CPU, (20, 20))


BOMB = "".join(f"b{i}: &b{i} [{', '.join([f'*b{i - 1}'] * 9 if i else ['x'] * 9)}]\n" for i in range(12))
for what, text in (("an alias bomb", BOMB), ("merge keys", "a: &a {x: 1}\n" + "b: {<<: *a}\n"), ("deep maps", "a: {" * 100000),
                   ("deep lists", "a: " + "[" * 8_000_000), ("brackets shut again", "a: " + "[]," * 300000), ("deep indents", "".join(" " * i + "a:\n" for i in range(3000))),
                   ("a long line", "site: " + "x" * 15_000_000), ("many keys", "".join(f"k{i}: 1\n" for i in range(600_000))),
                   ("a long number", "site: t\nwater: {temperature: " + "1" * 1_000_000 + " degC}\n"),
                   ("a long unit", "site: t\nwater: {temperature: 1 " + "m" * 1_000_000 + "}\n"),
                   ("a tower of powers", "site: t\nwater: {temperature: 1 " + "m^9" * 1000 + "}\n")):
    bad = os.path.join(folder, "bad.yaml")
    with open(bad, "w", encoding="utf-8") as file:
        file.write(text)
    began = time.monotonic()
    said = ends(2, "check", bad, says="bad.yaml", preexec_fn=bounds)[1]
    claim(len(said) < 200 * 2000, f"{what}: {len(said)} bytes of messages")
    claim(("deep" not in what) == ("deeper in one another" not in said) or "indents" in what, f"{what}: said {said[:200]}")
    print(f"{what}: {time.monotonic() - began:.2f} s")

# A line of 1 GiB is not read, and no number of a case, however large, is counted up to.
huge = os.path.join(folder, "huge.yaml")
with open(huge, "wb") as file:
    file.truncate(1 << 30)
ends(2, "check", huge, says="is larger than", preexec_fn=bounds)
os.remove(huge)
with open(os.path.join(top, "cases", "lesson-study.yaml"), encoding="utf-8") as file:
    study = file.read()
for command, words, other in (("steady", "count: 4", "count: 1000000000"), ("surge", "duration: 6 s", "duration: 1000000000 s"),
                              ("surge", "duration: 6 s", "duration: 6 s\n  largest step: 1e-9 s"), ("surge", "duration: 6 s", "duration: 6 s\n  reaches: 1000000"),
                              ("surge", "duration: 6 s", "duration: 6 s\n  reaches: 100000"), ("surge", "duration: 6 s", "duration: 6 s\n  largest step: 1e-7 s"),
                              ("surge", "length: 45 m", "length: 1e9 m"), ("study", "combine: grid", "combine: sobol\n  samples: 1000000000"),
                              ("study", "combine: grid", "combine: grid\n  levels: 1000000000")):
    claim(words in study, f"the lesson has no '{words}'")
    with open(huge, "w", encoding="utf-8") as file:
        file.write(study.replace(words, other))
    ends(2, command, huge, says="; ", preexec_fn=bounds)

shutil.rmtree(folder)
for problem in problems:
    print(problem)
print(f"{len(problems)} problems")
sys.exit(bool(problems))
