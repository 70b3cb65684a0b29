"""Every finding that the inventory of questions names is made by some rule, and every rule that a
finding is made by is named there: the table of a whole job tells the truth about the program."""

import os
import re

import tree

INVENTORY = "solver/findings/inventory.c"
FOLDER = "solver/findings"


def joined(path):
    """The file with strings that go on in the next line made one."""
    return re.sub(r'"\s*\n\s*"', "", tree.read(path)) if os.path.exists(os.path.join(tree.root(), path)) else ""


named = set()
for words in re.findall(r"findings? ((?:'[^']+'(?:, )?)+)", joined(INVENTORY)):
    named |= set(re.findall(r"'([^']+)'", words))
made = set()
for path in tree.sources((".c",), (FOLDER,)):
    made |= set(re.findall(r'\.rule = "([^"]+)"', tree.read(path)))

problems = [f"{INVENTORY}: names the finding '{name}', which no rule makes" for name in sorted(named - made)]
problems += [f"{INVENTORY}: the finding '{name}' answers no question" for name in sorted(made - named)]
tree.finish(problems, "Mend the table or the rule.")
