"""The look of the pictures, and the scripts of scripts/plot used by hand as their heads say.
The look: contrast of lines and of words on white (WCAG 2.1, 1.4.11: 3 to 1; 1.4.3: 4.5 to 1; formula of
its relative luminance), and the colours' distance in CIELAB (CIE 1976) as seen by full, red-, green- and
blue-blind eyes (matrices of Machado, Oliveira & Fernandes 2009, severity 1, from memory).
Arguments: the program, the folder of the sources. Ends with 77, skipped, where there is no gnuplot."""

import itertools
import math
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

program, top = map(os.path.abspath, sys.argv[1:3])
problems = []
scripts = os.path.join(top, "scripts", "plot")
look = open(os.path.join(scripts, "look.gp"), encoding="utf-8").read()


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def linear(colour):
    return [v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4
            for v in (int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5))]


def luminance(rgb):
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]


def contrast(colour):
    return 1.05 / (luminance(linear(colour)) + 0.05)


EYES = {
    "full": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    "red-blind": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "green-blind": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "blue-blind": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def lab(rgb):
    x = (0.4124 * rgb[0] + 0.3576 * rgb[1] + 0.1805 * rgb[2]) / 0.9505
    y = luminance(rgb)
    z = (0.0193 * rgb[0] + 0.1192 * rgb[1] + 0.9505 * rgb[2]) / 1.0890
    x, y, z = (v ** (1 / 3) if v > 0.008856 else 7.787 * v + 16 / 116 for v in (x, y, z))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def seen(colour, eye):
    rgb = linear(colour)
    return lab([min(1, max(0, sum(a * b for a, b in zip(row, rgb)))) for row in EYES[eye]])


named = dict(re.findall(r'(\w+) = "(#[0-9a-f]{6})"', look))
lines = re.findall(r"^set linetype (\d) linecolor rgb (\w+) +linewidth [\d.]+ dashtype (\([^)]*\)|\w+) +pointtype (\d+)", look, re.M)
claim(len(lines) == 8, f"not 8 line types: {lines}")
claim(len({dash for _, _, dash, _ in lines}) == len(lines), "two line types have the same dashes")
claim(len({mark for _, _, _, mark in lines}) == len(lines), "two line types have the same mark")
used = {name: named[name] for _, name, _, _ in lines}
for name, colour in used.items():
    claim(contrast(colour) >= 3, f"{name}: contrast {contrast(colour):.2f} on white")
claim(contrast(named["red"]) >= 4.5, "words in red are too faint")
for (one, a), (other, b) in itertools.combinations(used.items(), 2):
    for eye in EYES:
        apart = math.dist(seen(a, eye), seen(b, eye))
        claim(apart >= 25, f"{one} and {other}: {apart:.1f} apart to {eye} eyes")
# The judge itself: a well-known bad pair, and pale yellow on white.
claim(min(math.dist(seen("#c44e00", e), seen("#a87000", e)) for e in EYES) < 10, "the judge of colours tells nothing")
claim(contrast("#f0e442") < 1.5, "the judge of contrast tells nothing")

if not shutil.which("gnuplot"):
    print("skipped: gnuplot is not installed, so the scripts were not run")
    sys.exit(1 if problems else 77)

# Every command in the head of each script, run as it stands there. Scripts whose head says that some
# file is to be made by hand are run by the program only (see results_file.py, study.py).
folder = tempfile.mkdtemp(prefix="downsurge-test-")
os.symlink(os.path.join(top, "scripts"), os.path.join(folder, "scripts"))
os.symlink(os.path.abspath(program), os.path.join(folder, "downsurge"))
surroundings = dict(os.environ, PATH=folder + os.pathsep + os.environ["PATH"])


def run(command, into=None):
    done = subprocess.run(shlex.split(command), capture_output=True, cwd=folder, env=surroundings)
    said = done.stderr.decode(errors="replace").strip()
    claim(done.returncode == 0 and "error" not in said, f"{command}: {done.returncode}: {said}")
    if into:
        with open(os.path.join(folder, into), "wb") as file:
            file.write(done.stdout)


# One results file with everything a script may ask for, by the name used in the heads.
case = os.path.join(top, "cases", "alder-beck.yaml")
MADE_BY = {"choice.gp": f"choose --without-surge {case}", "pump.gp": f"choose --without-surge {case}"}
made = {}  # what a command made, since several scripts begin with the same one
tried = set()
for name in sorted(os.listdir(scripts)):
    if not name.endswith(".gp") or name in ("look.gp", "panels.gp"):
        continue
    head = [line for line in open(os.path.join(scripts, name), encoding="utf-8") if line.startswith("#")]
    commands = [line[1:].strip() for line in head if re.match(r"#   (downsurge|gnuplot) ", line)]
    claim(any(command.startswith("gnuplot") for command in commands), f"{name}: its head does not say how it is used")
    if not any(command.startswith("downsurge") for command in commands) or any(re.match(r"#   \w+\.txt:", line) for line in head):
        continue
    if any("measured" in command for command in commands):  # needs a case with a trace
        commands = [command for command in commands if "measured" not in command]
    maker = MADE_BY.get(name, f"surge {case}")
    if maker not in made:
        made[maker] = f"made-{len(made)}.h5"
        run(f"downsurge {maker} --output {made[maker]} --quiet")
    shutil.copyfile(os.path.join(folder, made[maker]), os.path.join(folder, "site.h5"))
    for command in commands:
        command, _, into = command.partition(" > ")
        run(command, into)
        if command.startswith("gnuplot"):
            picture = next(word for word in shlex.split(command) if word.endswith(".svg"))
            for form, start in (("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF")):
                run(command.replace(f"{picture} svg", f"{picture} {form}"))
                with open(os.path.join(folder, picture), "rb") as file:
                    body = file.read()
                claim(body.startswith(start) and len(body) > 4000, f"{name}: no picture as {form}: {len(body)} bytes")
                if form == "svg":
                    claim(body.count(b"<text") > 8, f"{name}: hardly a word in the picture")
            tried.add(name)
# The others, with the files that their heads describe: numbers of our own, round ones.
BY_HAND = {
    "alone.gp": {"alone.txt": 'input least greatest\n"water temperature" 3.1 3.4\n"lift" 3.15 3.25\n'},
    "front.gp": {"dots.txt": "x y within front third variant\n1 5 1 1 104 1\n2 4 0 0 118 2\n3 4.5 1 0 nan 3\n4 8 1 1 109 4\n", "front.txt": "x y within front third variant\n1 5 1 1 104 1\n4 8 1 1 109 4\n"},
    "slam.gp": {"curves.txt": '"swing flap"\n1 0.1 0.2 0.1\n2 0.2 0.4 0.2\n4 0.4 0.8 0.4\n\n\n"ball"\n1 0.05 0.2 0.05\n2 0.1 0.4 0.1\n',
                "makers.txt": '"swing flap, maker"\n1 0.12 0.2 0.12\n4 0.4 0.8 0.4\n'},
    "heat.gp": {"cells.txt": 'row column grade figure\n1 1 3 "12"\n1 2 1 "0.4"\n2 1 0 "0"\n2 2 2 "3"\n',
                "rows.txt": 'name\n"keeper stuck open"\n"lift fails"\n', "columns.txt": 'name\n"flow lost"\n"slam"\n'},
    "filling.gp": {"level.txt": '"time [s]" "level header [m]"\n0 1\n3600 2\n7200 1.5\n', "flow.txt": '"time [s]" "flow lift [m3 s-1]"\n0 0\n3600 0.002\n7200 0\n',
                   "running.txt": '"time [s]" "running lift"\n0 1\n3600 1\n7200 0\n', "energy.txt": '"time [s]" "energy_so_far lift [J]"\n0 0\n3600 1e6\n7200 1e6\n',
                   "marks.txt": "time level start\n0 1 1\n3600 2 0\n"},
}
# A gauge that swings faster than can be drawn is a band from lowest to highest, a calm one a line; and a
# long reason is told whole, on more lines.
def drawn(script, body, words):
    with open(os.path.join(folder, "one.txt"), "w", encoding="utf-8") as out:
        out.write(body)
    run(f"gnuplot -c scripts/plot/{script} {words}")
    with open(os.path.join(folder, "one.svg"), encoding="utf-8") as file:
        return file.read()


sizes = []
for is_wild in (False, True):
    heads = [10 + (5 if i > 1000 else 0) * (math.sin(0.003 * i), (-1) ** (i // 2))[is_wild] for i in range(4000)]
    body = '"time [s]" "head keeper [m]"\n' + "".join(f"{0.005 * i} {h}\n" for i, h in enumerate(heads))
    svg = drawn("time.gp", body, 'one.txt one.txt one.svg svg "One"')
    claim(("lowest to highest" in svg) == is_wild, f"a {'wild' if is_wild else 'calm'} gauge is drawn wrongly")
    sizes.append(len(svg))
claim(sizes[1] < 0.75 * sizes[0], f"the line of a wild gauge is drawn too: {sizes} bytes")
reason = "lets through 77.6 %, least 85.0 % of the flow (lift alone, 20 degC, header at 13 m); clogs: grade 4, most 3; the end"
svg = drawn("choice.gp", f'place label rank "handicap [percent]" reasons is_surged is_open\nkeeper "ball DN50" 1 12.5 "" 1 0\nkeeper "lift DN50" 0 nan "{reason}" 1 0\n',
            'one.txt keeper one.svg svg "One"')
told = " ".join(" ".join(re.findall(r"<text[^>]*>(.*?)</text>", svg, re.S)).split())
claim(reason in re.sub(r"<[^>]*>", "", told), f"a long reason is cut: {told}")

for name, files in BY_HAND.items():
    for file, body in files.items():
        with open(os.path.join(folder, file), "w", encoding="utf-8") as out:
            out.write(body)
    head = [line[1:].strip() for line in open(os.path.join(scripts, name), encoding="utf-8") if line.startswith("#   gnuplot ")]
    claim(len(head) == 1, f"{name}: its head does not say in one line how it is used")
    for form, start in (("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF")):
        picture = next(word for word in shlex.split(head[0]) if word.endswith(".svg"))
        run(head[0].replace(f"{picture} svg", f"{picture} {form}"))
        body = open(os.path.join(folder, picture), "rb").read() if os.path.exists(os.path.join(folder, picture)) else b""
        claim(body.startswith(start) and len(body) > 4000, f"{name}: no picture as {form}: {len(body)} bytes")
        claim(form != "svg" or body.count(b"<text") > 8, f"{name}: hardly a word in the picture")
    tried.add(name)
known = {name for name in os.listdir(scripts) if name.endswith(".gp")} - {"look.gp", "panels.gp"}
claim(known <= tried, f"not tried by hand: {sorted(known - tried)}")
claim({"profile.gp", "time.gp", "valves.gp", "choice.gp", "pump.gp"} <= tried, f"tried by hand only {sorted(tried)}")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
