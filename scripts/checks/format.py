"""Every C file is as clang-format leaves it."""

import tree


def check(path):
    code, text = tree.run(["clang-format", "--style=file", "--dry-run", "--Werror", path])
    return [f"{path}: {text.splitlines()[0] if text else 'clang-format failed'}"] if code else []


tree.finish(tree.in_parallel(check, tree.sources()), "Run: clang-format -i FILE")
