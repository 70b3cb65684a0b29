"""Help, manual page and completions: each example in the help of a command runs as it stands; the manual
page and both shells' completions tell every command and option there is; nothing is wider than the
terminal it is written for. The manual page is judged by man and, where there is one, mandoc.
Arguments: the program."""

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

import reed_pool

program = os.path.abspath(sys.argv[1])
folder = tempfile.mkdtemp(prefix="downsurge-test-")
os.symlink(program, os.path.join(folder, "downsurge"))
surroundings = dict(os.environ, PATH=folder + os.pathsep + os.environ["PATH"])
surroundings.pop("COLUMNS", None)
problems = []

# Everything that an example may ask of a site.
SITE = """site: Reed Pool
water: {temperature: 12 degC}
""" + reed_pool.VESSEL_TANKS + reed_pool.PUMP + reed_pool.VESSEL_LIFT + """      - {non-return: my flap, name: flap, size: DN50}
      - {pipe: pvc-u 63 pn10, length: 2 m, end: 0.5 m}
  main:
    from: manifold
    to: tower
    parts:
      - {pipe: pvc-u 63 pn10, length: 60 m, end: 6.0 m}
types:
  non-return:
    my flap: {like: spring disc, full-open loss: 1.6, source: our bench}
surge:
  duration: 2 s
  events:
    - {at: 0.1 s, stop: lift-1}
  gauges: [flap]
choose:
  valves: [flap]
filling:
  floats:
    tower float: {tank: tower, pumps: [lift-1], on: 9.5 m, off: 11.5 m}
study:
  vary: {flap.type: [swing flap, spring cone]}
  measures: [flow of flap]
"""


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def run(*words, **how):
    how.setdefault("env", surroundings)
    done = subprocess.run(words, capture_output=True, text=True, cwd=folder, stdin=subprocess.DEVNULL, **how)
    claim(done.returncode == 0, f"{' '.join(words)}: {done.returncode}: {(done.stdout + done.stderr).strip()[:500]}")
    return done.stdout


helps = {}
told = run("downsurge", "--help")
for name in re.findall(r"^  ([a-z]+) [A-Z\[]", told.split("Options of every command")[0], re.M):
    helps[name] = run("downsurge", name, "--help")
claim(len(helps) >= 11, f"commands: {sorted(helps)}")
options = {name: [re.match(r"[a-z-]+", word).group(0) for word in re.findall(r"^  .{4}--(\S+)", page, re.M)] for name, page in helps.items()}
claim("precision" in options["surge"] and "kind" in options["new"] and all("json" in found for found in options.values()), f"options: {options}")

# Examples, each command once, in the order of the help.
with open(os.path.join(folder, "site.yaml"), "w", encoding="utf-8") as file:
    file.write(SITE)
can_draw = bool(shutil.which("gnuplot") and shutil.which("dot"))
done = set()
for name, page in helps.items():
    lines = [line.strip() for line in page.split("Example\n")[1].splitlines()]
    claim(lines and all(line.startswith("downsurge ") for line in lines), f"{name}: examples: {lines}")
    claim(any(line.startswith(f"downsurge {name} ") for line in lines), f"{name}: no example of itself")
    for line in lines:
        if line in done or (re.search(r" plot |--picture", line) and not can_draw):
            continue
        done.add(line)
        if " show site.h5" in line or line == "downsurge plot site.h5 --format png --output pictures":
            run("downsurge", "surge", "site.yaml", "--output", "site.h5", "--quiet")
        command, _, into = line.partition(" > ")
        out = run(*shlex.split(command))
        claim(not into or len(out) > 100, f"{line}: nothing came")

# The manual page: every command with each of its own options, in its own section; no warning.
manual = run("downsurge", "--manual")
with open(os.path.join(folder, "downsurge.1"), "w", encoding="utf-8") as file:
    file.write(manual)
plain = manual.replace("\\-", "-").replace("\\fB", "").replace("\\fR", "").replace("\\fI", "")
sections = dict(re.findall(r"^\.S[SH] ([a-z]+|OPTIONS OF EVERY COMMAND)\b[^\n]*\n(.*?)(?=^\.S[SH] |\Z)", plain, re.M | re.S))
for name, found in options.items():
    for option in found:
        claim(any(f"--{option}" in sections.get(part, "") for part in (name, "OPTIONS OF EVERY COMMAND")), f"the manual does not tell --{option} of {name}")
    example = helps[name].split("Example\n")[1].splitlines()[0].strip().replace("'", "\\(aq")
    claim(example in sections.get(name, ""), f"the manual has not the example of {name}")
for judge in (["man", "-l", "--warnings"], ["mandoc", "-T", "lint", "-W", "warning"]):
    if shutil.which(judge[0]):
        judged = subprocess.run([*judge, "downsurge.1"], capture_output=True, text=True, cwd=folder, env=dict(surroundings, MANPAGER="cat", LC_ALL="C.UTF-8"))
        said = judged.stderr + (judged.stdout if judge[0] == "mandoc" else "")
        said = "\n".join(line for line in said.splitlines() if "missing date" not in line)  # one would change the page each day
        claim(judged.returncode in (0, 2) and not said.strip(), f"{judge[0]}: {said.strip()[:400]}")
        if judge[0] == "man":
            claim("downsurge surge CASE [OPTIONS]" in judged.stdout, "man does not show the synopsis")

# Completions, bash's by bash itself.
script = run("downsurge", "--completion", "bash")
with open(os.path.join(folder, "completion"), "w", encoding="utf-8") as file:
    file.write(script)


def complete(*words):
    asked = " ".join(shlex.quote(word) for word in ("downsurge", *words))
    return run("bash", "-c", f'. ./completion; COMP_WORDS=({asked}); COMP_CWORD={len(words)}; _downsurge; echo "${{COMPREPLY[@]}}"').split()


claim(set(helps) <= set(complete("")), f"bash offers only {complete('')}")
claim(complete("su") == ["surge"], f"bash makes of su {complete('su')}")
for name, found in options.items():
    offered = [word[2:] for word in complete(name, "--")]
    claim(sorted(offered) == sorted(found), f"bash offers for {name}: {offered}, not {found}")
claim(complete("surge", "--size", "v") == ["vessel"] and complete("new", "x.yaml", "--kind", "") == ["pond", "rain", "spring", "sump"], "bash does not offer the words of an option")
claim(complete("steady", "--output", "--") == [], "bash offers options where a file is wanted")
claim(complete("--completion", "") == ["bash", "zsh"], "bash does not know the shells")
script = run("downsurge", "--completion", "zsh")
parts = dict(re.findall(r"^    ([a-z]+)\)\n(.*?);;$", script, re.M | re.S))
for name, found in options.items():
    claim(re.search(rf"^      '{name}:", script, re.M), f"zsh does not offer {name}")
    for option in found:
        claim(re.search(rf"--{option}['}}\[]", parts.get(name, "")), f"zsh does not offer --{option} of {name}")
with open(os.path.join(folder, "_downsurge"), "w", encoding="utf-8") as file:
    file.write(script)
if shutil.which("zsh"):
    run("zsh", "-n", "_downsurge")
refused = subprocess.run([program, "--completion", "fish"], capture_output=True, text=True)
claim(refused.returncode == 2 and "bash or zsh" in refused.stderr and not refused.stdout, "another shell is not refused")

# What a case may say: every section once, with what is in it; one of them alone.
keys = run("downsurge", "--keys")
one = run("downsurge", "--keys", "tanks")
claim(len(re.findall(r"^\S[^\n]*: ", keys, re.M)) > 30 and one in keys, "--keys tells too few sections")
claim(re.search(r"^  level +elevation of the water \(length, such as 2.1 m; must$", one, re.M), f"--keys tanks tells {one}")
study = run("downsurge", "--keys", "study")
claim("study: vary: uncertain" in study and "-1 .. 0 m" in " ".join(study.split()), f"--keys study tells {study}")
claim(run("downsurge", "--keys", "vary").startswith("study: vary: uncertain"), "--keys vary tells none")
claim(run("downsurge", "--keys", "air vessel").startswith("points: air vessel"), "--keys air vessel tells none")
claim(run("downsurge", "--keys", "vary").startswith("study: vary"), "--keys vary tells none, which the help names")
refused = subprocess.run([program, "--keys", "tnaks"], capture_output=True, text=True)
claim(refused.returncode == 2 and "did you mean 'tanks'?" in refused.stderr and not refused.stdout, "a section that is not there is not refused")

# No wider than asked, wherever lines can be broken: help, and the tables of answers. Narrow pieces hold
# what the wide table holds.
for width in (80, 100):
    narrow = dict(surroundings, COLUMNS=str(width))
    for words in ([], *([name] for name in helps)):
        page = run("downsurge", *words, "--help", env=narrow).split("Example\n")[0]
        claim(max(map(len, page.splitlines())) <= width, f"help of {words} is wider than {width}")
    for words in (["surge", "site.yaml"], ["choose", "site.yaml", "--without-surge"], ["steady", "site.yaml"]):
        wide, folded = run("downsurge", *words).splitlines(), run("downsurge", *words, env=narrow).splitlines()
        for line in folded:
            is_prose = re.search(r"[a-z]+ [a-z]+ [a-z]+ [a-z]+", line)
            claim(is_prose or len(line) <= width, f"{words}: {len(line)} columns, {width} allowed: {line}")
        claim(set(" ".join(wide).split()) == set(" ".join(folded).split()), f"{words}: other words when narrow")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
