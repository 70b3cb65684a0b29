"""A file has one subject and a function fits a screen: .c files up to 500 lines (600 when the head
says `Long because ...`; tables are free), headers up to 150, function bodies up to 60."""

import re

import tree

FILE, FILE_WITH_REASON, HEADER, FUNCTION = 500, 600, 150, 60


def is_table(path):
    return path.startswith("models/catalogue/") or path.endswith(("_catalogue.c", "_table.c"))


def limit_of(path):
    if path.endswith(".h"):
        return HEADER
    return FILE_WITH_REASON if "Long because" in tree.read(path)[:1500] else FILE


def long_functions(path):
    """The house style puts a function's braces alone in the first column, and only those."""
    problems = []
    start = None
    for number, line in enumerate(tree.code_lines(path), 1):
        if line.rstrip() == "{":
            start = number
        elif line.rstrip() == "}" and start:
            if number - start > FUNCTION:
                problems.append(f"{path}:{start}: function of {number - start} lines ({FUNCTION})")
            start = None
    return problems


problems = []
for path in tree.sources():
    count = tree.read(path).count("\n")
    if count > limit_of(path) and not is_table(path):
        problems.append(f"{path}: {count} lines ({limit_of(path)})")
    problems += long_functions(path)
tree.finish(problems, "Split where the description needs an 'and'.")
