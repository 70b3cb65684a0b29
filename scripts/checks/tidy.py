"""clang-tidy and clang's own warnings under the flags of the gcc build, each an error, over the three floors:
one reading of each file for both. One file a call (clang-tidy 14
raises a false va_list alarm otherwise). A clean answer is kept in BUILD/tidy under the hash of
everything it depends on, so that a second run is quick.

The analyser follows each function until it has seen NODES states of it; with `deep` as a third
argument as many as it would by itself, which takes four times as long."""

import hashlib
import os
import re
import sys

import tree

NODES = 50000
DEEP = "deep" in sys.argv[3:]
LIMIT = [] if DEEP else [
    "--extra-arg=" + word for word in f"-Xclang -analyzer-config -Xclang max-nodes={NODES}".split()
]
OMIT = ("-Wvla-larger-than", "-Wdouble-promotion")  # gcc's own, see CMakeLists.txt
# Without OpenMP here: clang has its own run-time, which nobody needs for a look at the text.
FLAGS = [flag for flag in tree.flags() if not flag.startswith(OMIT)] + ["-Wno-unknown-pragmas"]
KEPT = os.path.join(tree.build(), "tidy")
os.makedirs(KEPT, exist_ok=True)
TOOL = tree.run(["clang-tidy", "--version"])[1]


def own_files(path, seen):
    """The file and all of ours that it includes, however far."""
    if path not in seen and os.path.exists(os.path.join(tree.root(), path)):
        seen.add(path)
        for _, name in tree.includes(path):
            own_files(name, seen)
    return seen


def key(path):
    text = [TOOL, tree.read(".clang-tidy"), " ".join(FLAGS + LIMIT)]
    text += [name + tree.read(name) for name in sorted(own_files(path, set()))]
    return hashlib.sha256("\0".join(text).encode()).hexdigest()


def check(path):
    mark = os.path.join(KEPT, key(path))
    if os.path.exists(mark):
        return []
    code, text = tree.run(["clang-tidy", "--quiet", *LIMIT, path, "--", *FLAGS])
    if code == 0:
        with open(mark, "w", encoding="utf-8"):
            return []
    kept = [line for line in text.splitlines() if not re.match(r"\d+ warnings? ", line)]
    return ["\n".join(kept)]


tree.finish(tree.in_parallel(check, tree.sources([".c"], tree.FLOORS)), "See .clang-tidy.")
