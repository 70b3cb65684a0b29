"""The world around the program: other locales and time zones, no terminal, no gnuplot, folders that cannot
be written, results files that are foreign, cut short or open elsewhere, and words of a case that a shell
or a browser would obey. Each ends with a message and the right code, and nothing is lost.
Arguments: the program, the top of the tree."""

import glob
import html as html_words
import json
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import xml.dom.minidom

import h5py
import numpy

program, top = map(os.path.abspath, sys.argv[1:3])
folder = tempfile.mkdtemp(prefix="downsurge-test-")
case = os.path.join(folder, "site.yaml")
results = os.path.join(folder, "site.h5")
shutil.copyfile(os.path.join(top, "cases", "lesson-outlets.yaml"), case)
problems = []
RUN_TIME = 0.3  # s, about that of the run that is killed


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def run(*words, cwd=folder, **surroundings):
    environment = {**os.environ, **surroundings}
    return subprocess.run([program, *words], capture_output=True, cwd=cwd, env=environment, stdin=subprocess.DEVNULL)


def ends(code, *words, says="", **how):
    done = run(*words, **how)
    said = done.stderr.decode(errors="replace")
    claim(done.returncode == code, f"{words}: ended with {done.returncode}, not {code}: {said.strip()}")
    claim(says in said, f"{words}: did not say '{says}' but '{said.strip()}'")
    return done.stdout


# Locale and time zone change no digit. (Debian has no locale with a decimal comma unless one is made.)
plain = ends(0, "steady", case, "--json", LC_ALL="C")
with tempfile.TemporaryDirectory(prefix="downsurge-test-") as locales:
    made = shutil.which("localedef") and subprocess.run(
        ["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(locales, "de_DE.UTF-8")], capture_output=True).returncode == 0
    if not made:
        print("no locale with a decimal comma could be made: that part was not run")
    for surroundings in ({"LOCPATH": locales, "LC_ALL": "de_DE.UTF-8"} if made else {}, {"LC_ALL": "nowhere"}, {"TZ": "Pacific/Chatham"},
                         {"TZ": "nonsense"}, {"TERM": ""}, {"HOME": "/nowhere"}, {"COLUMNS": "0"}, {"COLUMNS": "x"}):
        claim(ends(0, "steady", case, "--json", **surroundings) == plain, f"{surroundings}: other digits")
        claim(b"," not in ends(0, "show", results, "/steady/head", **surroundings) if os.path.exists(results) else True,
              f"{surroundings}: decimal commas")
        ends(0, "steady", case, "-q", "-o", results, **surroundings)
with subprocess.Popen(["setsid", program, "steady", case], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as alone:
    claim(alone.wait() == 0 and not alone.stderr.read(), "without a terminal it speaks or fails")
closed = subprocess.run([program, "steady", case], stdin=subprocess.DEVNULL, capture_output=True, preexec_fn=lambda: os.close(0))
claim(closed.returncode == 0, f"with no standard input: {closed.returncode}")

# Threads change no digit.
answers = {ends(0, "choose", os.path.join(top, "cases", "garden-pond.yaml"), "--without-surge", "--json", OMP_NUM_THREADS=str(count)) for count in (1, 2, 5)}
claim(len(answers) == 1, "the number of threads changes digits")

# No gnuplot: said with the package; the results stay.
empty = os.path.join(folder, "empty")
os.mkdir(empty)
before = open(results, "rb").read()
done = run("plot", results, "-f", "svg", "-o", os.path.join(folder, "pictures"), PATH=empty)
claim(done.returncode != 0 and b"Debian's package is" in done.stderr, f"plot without gnuplot: {done.returncode}: {done.stderr}")
page = os.path.join(folder, "page.html")
done = run("report", results, "-o", page, PATH=empty)
claim(done.returncode == 0 or b"gnuplot" in done.stderr or b"dot" in done.stderr, f"report without helpers: {done.returncode}: {done.stderr}")
claim(open(results, "rb").read() == before, "the results were touched")

# Where nothing can be written: /proc takes no file, of nobody.
for words in (("steady", case, "-o", "/proc/x.h5"), ("check", case, "-o", "/proc/x.txt")):
    ends(4, *words, says="/proc/x")
ends(4, "steady", case, "-q", "-o", os.path.join(folder, "none", "x.h5"), says="No such file")
done = run("plot", results, "-f", "svg", "-o", "/proc/pictures")
claim(done.returncode == 4, f"plot into /proc: {done.returncode}: {done.stderr}")

# Results open elsewhere are replaced as a whole; the other reader keeps what it had.
with h5py.File(results, "r") as held:
    heads = held["steady/head"][()].tolist()
    ends(0, "steady", case, "-q", "-o", results)
    ends(0, "show", results, "/steady/head")
    claim(held["steady/head"][()].tolist() == heads, "a reader lost what it had open")

# Results that somebody holds open for writing are refused as long as they do.
with h5py.File(results, "r+"):
    for command in ("show", "report", "plot"):
        done = run(command, results, "-o", os.path.join(folder, "held"))
        claim(done.returncode == 2 and b"damaged" in done.stderr, f"{command} of a file held open: {done.returncode}: {done.stderr}")
ends(0, "show", results)

# Killed at any moment, a run leaves the results that were there, whole; the next one clears away the rest.
for share in (0.2, 0.5, 0.8):
    with subprocess.Popen([program, "surge", os.path.join(top, "cases", "copper-rig.yaml"), "-q", "-o", results]) as killed:
        time.sleep(share * RUN_TIME)
        killed.kill()
    ends(0, "show", results)
ends(0, "steady", case, "-q", "-o", results)
claim(not any(".downsurge-" in name for name in os.listdir(folder)), f"killed runs left {os.listdir(folder)}")

# Output that nobody takes: no standard streams at all, and a reader that leaves.
for streams in ((1,), (0, 1, 2)):
    for words in (("check", case), ("steady", case, "-o", results), ("show", results)):
        done = subprocess.run([program, *words], stdin=subprocess.DEVNULL, capture_output=True, preexec_fn=lambda: [os.close(one) for one in streams])
        claim(done.returncode == 4, f"{words} without streams {streams}: {done.returncode}")
    ends(0, "show", results)

# No room for what is drawn or reported: said, and nothing half is left.
def small_files():
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


for words in (("report", results, "-o", os.path.join(folder, "small.html")), ("plot", results, "-o", os.path.join(folder, "small"))):
    done = subprocess.run([program, *words], capture_output=True, preexec_fn=small_files)
    claim(done.returncode == 4 and b"too large" in done.stderr, f"{words} with small files: {done.returncode}: {done.stderr}")
    left = [os.path.join(at, name) for at, _, names in os.walk(folder) for name in names if "small" in os.path.join(at, name)]
    claim(left == [], f"{words} with small files left {left}")

# Foreign files, and ours cut short.
foreign = os.path.join(folder, "foreign.h5")
with h5py.File(foreign, "w") as file:
    file["a/b"] = [1.0, 2.0]
    file["c"] = [[[1, 2]]]
out = os.path.join(folder, "foreign-out")
done = run("plot", foreign, "-o", out + "-pictures")
claim(done.returncode == 2 and done.stderr, f"plot of a foreign file: {done.returncode}: {done.stderr}")
claim(not os.path.exists(out + "-pictures"), "plot of a foreign file left an empty folder")
done = run("report", foreign, "-o", out)
claim(done.returncode == 2 and b"--output FILE" in done.stderr, f"report of a foreign file: {done.returncode}: {done.stderr}")
claim(not os.path.exists(out), "report of a foreign file left a page")
claim(run("show", foreign).returncode in (0, 2), "show of a foreign file")
for data in (b"", b"\x89HDF\r\n\x1a\n", os.urandom(5000), b"<html></html>", before[: len(before) // 2]):
    with open(foreign, "wb") as file:
        file.write(data)
    for command in ("show", "report", "plot"):
        done = run(command, foreign, "-o", out + ("-pictures" if command == "plot" else ""))
        claim(done.returncode == 2, f"{command} of {data[:10]}: {done.returncode}: {done.stderr}")
    claim(not os.path.exists(out), f"output of {data[:10]}")

# Without the seal, which another program cuts off, HDF5 must look at damaged bytes, and may crash: told, and
# nothing is left. The first has an object of its heap of texts reach over the next ones, which crashes 1.10.
whole = bytearray(before[:-80])
chance = random.Random(1)
crashes = 0
for number in range(24):
    damaged = bytearray(whole)
    damaged[whole.index(b"GCOL") + 25 if number == 0 else chance.randrange(len(whole))] = 15
    for _ in range(number):
        damaged[chance.randrange(len(whole))] = chance.randrange(256)
    with open(foreign, "wb") as file:
        file.write(damaged)
    place = f"{out}-{number}"
    done = run(*(("report", "plot")[number - 1 : number] or ("show",)), foreign, "-o", place)
    claim(done.returncode in (0, 2), f"damaged file {number}: {done.returncode}: {done.stderr}")
    crashes += b"HDF5 crashed" in done.stderr
    claim(done.returncode == 0 or not glob.glob(place + "*"), f"damaged file {number} left {glob.glob(place + '*')}")
claim(crashes > 0 or not h5py.version.hdf5_version.startswith("1.10"), "no damaged file crashed HDF5: is its child proven?")

# A file that claims any number of values, or of texts: so large that it gets what memory any may have.
with h5py.File(foreign, "w") as file:
    for number in range(12):
        file.create_dataset(f"values {number}", shape=(2**27,), dtype="f8")
        file.create_dataset(f"texts {number}", shape=(2**22,), dtype="S1000")
os.truncate(foreign, 2**28)
done = subprocess.run([program, "show", foreign], capture_output=True, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (2**32, 2**32)))
claim(done.returncode == 0 and b"of a shape not shown" in done.stdout, f"a file that claims much: {done.returncode}: {done.stderr}")


def ends_within(most, code, *words):
    """Claims how it ends, and that neither it nor a child of it ever holds more bytes. What it told."""
    with tempfile.TemporaryFile() as said:
        number = os.posix_spawn(program, [program, *words], os.environ, file_actions=[(os.POSIX_SPAWN_DUP2, said.fileno(), one) for one in (1, 2)])
        _, status, used = os.wait4(number, 0)
        said.seek(0)
        told = said.read()
    held = used.ru_maxrss * 1024
    claim(os.waitstatus_to_exitcode(status) == code, f"{words} ended with status {status}: {told[-300:]}")
    claim(held <= most, f"{words} held {held} bytes: {told[-300:]}")
    return told


# One of few bytes gets 512 MiB: not for values that nobody wrote, for one text, or for values that were packed.
for kind in ("values", "text", "packed"):
    with open(foreign, "wb") as file:
        file.write(before[:-80])
    with h5py.File(foreign, "r+") as file:
        del file["steady/head"]
        if kind == "packed":
            file.create_dataset("steady/head", data=numpy.zeros(2**26, "i1"), chunks=(2**22,), compression="gzip")
        else:
            file.create_dataset("steady/head", shape=(2**27 if kind == "values" else 1,), dtype="f8" if kind == "values" else "S500000000")
    claim(os.path.getsize(foreign) < 2**18, f"the file with {kind} is not small: {os.path.getsize(foreign)}")
    large = os.path.join(folder, "large-out")
    for words in (("show", foreign), ("show", foreign, "/steady"), ("report", foreign, "-o", large), ("plot", foreign, "-o", large)):
        told = ends_within(2**29 + 2**27, 2, *words)
        claim(b"/steady': could not be read, damaged or too large" in told, f"{words} of {kind} told {told[-300:]}")
    claim(not glob.glob(large + "*"), f"files that claim much left {glob.glob(large + '*')}")

# Words that a shell, gnuplot, dot or a browser would obey stay words.
trap = os.path.join(folder, "trap")
evil = f"`touch {trap}`$(touch {trap});system('touch {trap}')<script>x"
text = open(case, encoding="utf-8").read()
name = re.search(r"^  (\w+): \{floor", text, re.M).group(1)
bad = re.sub(rf"\b{name}\b", '"' + "<b>`id`$(id)&" + '"', text).replace("site: Garden below a tank", f"site: \"{evil}\"")
bad_case = os.path.join(folder, "$(touch trap) `x`;<i>.yaml")
with open(bad_case, "w", encoding="utf-8") as file:
    file.write(bad)
ends(0, "steady", bad_case, "-q", "-o", results)
ends(0, "report", results, "-o", page)
html = open(page, encoding="utf-8").read()
claim("<script>x" not in html and "<b>`id`" not in html and "<i>.yaml" not in html, "the report obeys words of the case")
claim("&lt;script&gt;x" in html, "the name of the site is not told")
run("plot", results, "-f", "svg", "-o", os.path.join(folder, "pictures"))
claim(not any("trap" == name for _, _, names in os.walk(folder) for name in names), "a word of the case was run")

# Names that gnuplot, dot, SVG and HTML could take for their own stay names, and make no other files.
NASTY = ('it\\\'s "q" %s%n @~{^}_ {x a}', "a&b;c|d>e<f <script> $(touch trap) `x`", '"]; node [shape=box] \\n \\N \\G', "--\u00fcn\u00efc\u00f6d\u00e9 \u6c34 \u2713 -->" + "x" * 30)
for number, nasty in enumerate(NASTY):
    written = json.dumps(nasty, ensure_ascii=False)
    with open(bad_case, "w", encoding="utf-8") as file:
        file.write(re.sub(rf"\b{name}\b", lambda _: written, text).replace("site: Garden below a tank", "site: " + written))
    ends(0, "steady", bad_case, "-q", "-o", results)
    pictures = os.path.join(folder, f"nasty-{number}")
    ends(0, "plot", results, "-o", pictures)
    for drawn in os.listdir(pictures):
        claim(re.fullmatch(r"[\w.-]+\.svg", drawn) is not None, f"{nasty}: a picture is called {drawn!r}")
        root = xml.dom.minidom.parse(os.path.join(pictures, drawn)).documentElement
        claim(not root.getElementsByTagName("script"), f"{nasty}: a script in {drawn}")
    ends(0, "report", results, "-o", page)
    told = open(page, encoding="utf-8").read()
    claim(nasty in html_words.unescape(told), f"{nasty}: the report does not tell it")
    claim("<script>" not in told, f"{nasty}: the report obeys it")
claim(not any("trap" == name for _, _, names in os.walk(folder) for name in names), "a word of the case was run")

# Temporary files: nothing is left, and none is made by a name that one could guess.
scratch = os.path.join(folder, "scratch")
os.mkdir(scratch)
run("plot", results, "-f", "svg", "-o", os.path.join(folder, "pictures"), TMPDIR=scratch)
claim(os.listdir(scratch) == [], f"left in the folder for temporary files: {os.listdir(scratch)}")

# Somebody's own settings of gnuplot, or a screen that is not there, change no picture.
with open(os.path.join(scratch, ".gnuplot"), "w", encoding="utf-8") as file:
    file.write("set xrange [0:0.1]\nset decimalsign ','\nset terminal dumb\n")
drawn = {}
for name, surroundings in (("plain", {}), ("odd", {"HOME": scratch, "GNUTERM": "no such screen"})):
    ends(0, "valve", "ball", "DN50", "-q", "-p", os.path.join(folder, name + ".svg"), **surroundings)
    drawn[name] = open(os.path.join(folder, name + ".svg"), "rb").read()
claim(drawn["plain"] == drawn["odd"], "somebody's settings of gnuplot change a picture")
os.remove(os.path.join(scratch, ".gnuplot"))

# Programs that draw nothing, garbage, or never end: told, and nothing is left, also when we are stopped meanwhile.
helpers = os.path.join(folder, "helpers")
os.mkdir(helpers)
picture = os.path.join(folder, "none.svg")
for script, says in (("exit 1", "ended with 1"), ("kill -9 $$", "signal 9"), ("exit 0", "no picture was made"), ("echo odd words; exit 3", "odd words")):
    with open(os.path.join(helpers, "gnuplot"), "w", encoding="utf-8") as file:
        file.write(f"#!/bin/sh\n{script}\n")
    os.chmod(os.path.join(helpers, "gnuplot"), 0o755)
    ends(4, "valve", "ball", "DN50", "-q", "-p", picture, says=says, PATH=helpers + ":" + os.environ["PATH"], TMPDIR=scratch)
with open(os.path.join(helpers, "gnuplot"), "w", encoding="utf-8") as file:
    file.write("#!/bin/sh\necho begun >&2\nexec sleep 100\n")
surroundings = {**os.environ, "PATH": helpers + ":" + os.environ["PATH"], "TMPDIR": scratch}
with subprocess.Popen([program, "valve", "ball", "DN50", "-q", "-p", picture], env=surroundings, stdin=subprocess.DEVNULL,
                      preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN)) as drawing:
    for _ in range(1000):
        if any("messages" in names for _, _, names in os.walk(scratch)):
            break
        time.sleep(0.01)
    drawing.send_signal(signal.SIGINT)  # of which it was told to take no notice
    time.sleep(0.05)
    claim(drawing.poll() is None, "it was stopped by a signal that it was to ignore")
    drawing.terminate()
    claim(drawing.wait(20) == -signal.SIGTERM, f"stopped while drawing it ended with {drawing.returncode}")
claim(os.listdir(scratch) == [] and not os.path.exists(picture), f"stopped while drawing it left {os.listdir(scratch)}")

# One that hangs, and what it started, are ended when the time is over; nothing is left.
hanging = os.path.join(folder, "hanging")
for name in ("gnuplot", "dot"):
    with open(os.path.join(helpers, name), "w", encoding="utf-8") as file:
        file.write(f"#!/bin/sh\nsleep 1000 &\necho $$ $! >> {hanging}\nwait\n")
    os.chmod(os.path.join(helpers, name), 0o755)
waiting = {"PATH": helpers + ":" + os.environ["PATH"], "TMPDIR": scratch}
ends(4, "valve", "ball", "DN50", "-q", "-p", picture, "--patience", "0.3 s", says="gnuplot was stopped: it had no picture after 0.3 s", **waiting)
ends(4, "plot", case, "-o", os.path.join(folder, "drawn"), "--patience", "0.3 s", says="dot was stopped: it had no picture after 0.3 s", **waiting)
page = os.path.join(folder, "page.html")
ends(0, "report", results, "-q", "-o", page, "--patience", "0.3 s", says="pictures are missing in the report", **waiting)
claim(os.path.exists(page) and os.listdir(scratch) == [], f"a program that hung left {os.listdir(scratch)}, or no page")
for number in open(hanging, encoding="utf-8").read().split():
    state = open(f"/proc/{number}/stat", encoding="utf-8").read().rsplit(")")[1].split()[0] if os.path.exists(f"/proc/{number}") else "Z"
    claim(state == "Z", f"process {number} is still there, in state {state}")
ends(2, "plot", case, "--patience", "0 s", says="it must be above 0")
ends(2, "report", results, "--patience", "3 m", says="--patience 3 m")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
print(f"{len(problems)} problems")
sys.exit(bool(problems))
