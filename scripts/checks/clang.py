"""clang finds nothing to warn of under the flags of the gcc build."""

import tree

OMIT = ("-Wvla-larger-than", "-Wdouble-promotion")  # gcc's own, see CMakeLists.txt
FLAGS = [flag for flag in tree.flags() if not flag.startswith(OMIT)]


def check(path):
    # Without OpenMP here: clang has its own run-time, which nobody needs for a look at the syntax.
    command = ["clang", "-fsyntax-only", "-Werror", *FLAGS, "-Wno-unknown-pragmas", path]
    code, text = tree.run(command)
    return [text] if code else []


tree.finish(tree.in_parallel(check, tree.sources([".c"], tree.FLOORS)), "gcc was content.")
