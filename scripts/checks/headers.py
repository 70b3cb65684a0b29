"""Every header compiles alone, without a warning, and has a guard of its own name."""

import re

import tree

FLAGS = tree.flags()


def check(path):
    problems = []
    guard = re.sub(r"[^A-Z0-9]", "_", path.upper())
    if f"#ifndef {guard}\n#define {guard}\n" not in tree.read(path):
        problems.append(f"{path}: the guard is not {guard}")
    code, text = tree.run(["gcc", "-fsyntax-only", "-Werror", *FLAGS, "-x", "c", path])
    if code != 0:
        problems.append(f"{path}: does not compile alone\n{text}")
    return problems


tree.finish(
    tree.in_parallel(check, tree.sources([".h"])), "Include in the header what the header needs."
)
