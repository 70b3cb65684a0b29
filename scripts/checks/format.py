"""Every C file is as clang-format leaves it. Many files a call: starting it takes longer than reading one."""

import re

import tree

FILES_A_CALL = 40


def check(paths):
    code, text = tree.run(["clang-format", "--style=file", "--dry-run", "--Werror", *paths])
    lines = [line for line in text.splitlines() if re.match(r"\S+:\d+:\d+: error: ", line)]
    first = {line.split(":", 1)[0]: line for line in reversed(lines)}
    if code and not first:
        return [f"{paths[0]} and after: {text.strip() or 'clang-format failed'}"]
    return [f"{path}: {line}" for path, line in first.items()]


files = tree.sources()
calls = [files[i : i + FILES_A_CALL] for i in range(0, len(files), FILES_A_CALL)]
tree.finish(tree.in_parallel(check, calls), "Run: clang-format -i FILE")
