"""DEVELOPERS.md tells every source file of the three floors, and no file that is not there.

The map stands between the lines `<!-- map -->` and `<!-- end of map -->`. A line `### models/steady`
opens a folder; a line in it names one file or pair: "- `pump.c` `.h`: ..." or "- `pump.h`: ...".
"""

import os
import re

import tree


def suggestion(path):
    """A line for the map from the first words of a file or of its header."""
    header = path[:-1] + "h"
    head = tree.read(header if os.path.exists(os.path.join(tree.root(), header)) else path)
    words = re.match(r"/\*\s*(.*?)(\.\s|\*/)", re.sub(r"\n \* ?", " ", head), re.S)
    return " ".join(words.group(1).split()) if words else "?"


text = tree.read("DEVELOPERS.md")
found = re.search(r"<!-- map -->(.*)<!-- end of map -->", text, re.S)
told = set()
folder = ""
for line in (found.group(1) if found else "").splitlines():
    heading = re.match(r"### `?([\w/]+?)/?`?(\s|$)", line)
    if heading:
        folder = heading.group(1)
    item = re.match(r"- `([\w/.-]+)`(?: `(\.[ch])`)?", line)
    if item:
        told.add(f"{folder}/{item.group(1)}")
        if item.group(2):
            told.add(f"{folder}/{item.group(1).rsplit('.', 1)[0]}{item.group(2)}")
there = set(tree.sources(folders=tree.FLOORS))
problems = [f"{path}: not told in DEVELOPERS.md: {suggestion(path)}" for path in sorted(there - told)]
problems += [f"{path}: told in DEVELOPERS.md, but is not there" for path in sorted(told - there)]
tree.finish(problems, "One line a file, under its folder, in the map of DEVELOPERS.md.")
