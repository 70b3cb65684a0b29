"""Words that do not belong into the tree: marks of unfinished work and of a merge, and places that
exist on one machine only."""

import os
import re

import tree

# Written so that this file does not find itself.
WORDS = {
    r"\b(T[O]DO|F[I]XME|X[X]X)\b": "a mark of unfinished work",
    r"^(<{7}|>{7}|={7})( |$)": "a mark of a merge",
    r"(?<![\w.~$})])/(h[o]me|r[o]ot|w[o]rk)/\w": "a place on one machine only",
}
TEXT = (".c", ".h", ".md", ".txt", ".cmake", ".py", ".sh", ".yaml", ".yml", ".csv", ".gp", "")
SKIPPED = {".git", "build", "out", ".cache", "__pycache__"}

problems = []
for place, folders, names in os.walk(tree.root()):
    folders[:] = [name for name in folders if name not in SKIPPED and not name.startswith("build-")]
    for name in sorted(names):
        path = os.path.relpath(os.path.join(place, name), tree.root())
        if os.path.splitext(name)[1] not in TEXT or path == "LICENSE" or path == ".git":
            continue
        with open(os.path.join(tree.root(), path), encoding="utf-8", errors="replace") as file:
            for number, line in enumerate(file, 1):
                for pattern, meaning in WORDS.items():
                    if re.search(pattern, line):
                        problems.append(f"{path}:{number}: {meaning}: {line.strip()[:80]}")
tree.finish(problems, "Finish it, or take it out.")
