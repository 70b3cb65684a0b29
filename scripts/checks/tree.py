"""What every check shares: finding sources, reading them, running tools, telling what is wrong.

A check is a program `scripts/checks/NAME.py ROOT [BUILD]`: it reads the tree at ROOT (and the
build folder BUILD where it needs compiler flags or objects), prints one line a problem and ends
with 1 when there is one. checks_can_fail.py shows each of them a fault it must refuse.
"""

import json
import os
import re
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

FLOORS = ["models", "solver", "io"]


def root():
    return os.path.abspath(sys.argv[1])


def build():
    return os.path.abspath(sys.argv[2])


def sources(suffixes=(".c", ".h"), folders=("models", "solver", "io", "tests")):
    """Paths from the root of every source with one of `suffixes` under `folders`, sorted."""
    found = []
    for folder in folders:
        for place, _, names in os.walk(os.path.join(root(), folder)):
            found += [
                os.path.relpath(os.path.join(place, name), root())
                for name in names
                if name.endswith(tuple(suffixes))
            ]
    return sorted(found)


def read(path):
    with open(os.path.join(root(), path), encoding="utf-8") as file:
        return file.read()


def code_lines(path, keep_strings=False):
    """Lines of a C file with comments (and what stands in strings) blanked, line numbers kept."""

    def blank(match):
        text = match.group(0)
        if text.startswith("/"):
            return re.sub(r"[^\n]", " ", text)
        return text if keep_strings else text[0] * 2

    pattern = r"/\*.*?\*/|//[^\n]*|\"(?:\\.|[^\"\\\n])*\"|'(?:\\.|[^'\\\n])*'"
    return re.sub(pattern, blank, read(path), flags=re.S).split("\n")


def includes(path):
    """(line number, name) of every include in double quotes."""
    found = []
    for number, line in enumerate(code_lines(path, keep_strings=True), 1):
        match = re.match(r'\s*#\s*include\s*"([^"]+)"', line)
        if match:
            found.append((number, match.group(1)))
    return found


def flags(kinds=("-D", "-isystem", "-std", "-W")):
    """Flags of the given kinds that the build gives to the three floors, with the root as the one
    folder of own includes."""
    with open(os.path.join(build(), "compile_commands.json"), encoding="utf-8") as file:
        commands = json.load(file)
    found = []
    for command in commands:
        home = command["directory"]
        if not re.search(r"downsurge(_\w+)?\.dir/", command["command"]):
            continue  # a test program: its warnings are relaxed
        words = shlex.split(command["command"])
        for index, word in enumerate(words):
            if word == "-isystem":
                flag = "-isystem" + os.path.join(home, words[index + 1])
            elif word.startswith("-I"):
                # A folder outside the tree is a library's: its headers are not ours to warn of.
                if os.path.exists(os.path.join(word[2:], "CMakeLists.txt")):
                    continue
                flag = "-isystem" + os.path.join(home, word[2:])
            else:
                flag = word
            if flag.startswith(tuple(kinds)) and flag not in found:
                found.append(flag)
    return found + ["-I" + root()]


def in_parallel(work, items):
    """[work(item) for item in items] over all cores; each result is a list of problems."""
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        return [problem for problems in pool.map(work, items) for problem in problems]


def run(command):
    """(exit code, everything it printed)"""
    done = subprocess.run(
        command,
        cwd=root(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        check=False,
    )
    return done.returncode, done.stdout


def finish(problems, remedy):
    for problem in problems:
        print(problem)
    if problems:
        print(f"{len(problems)} found. {remedy}")
    sys.exit(1 if problems else 0)
