"""DEVELOPERS.md tells every source file of the three floors, and no file that is not there.

The map stands between the lines `<!-- map -->` and `<!-- end of map -->`. A line `### models/catalogue`
opens a folder; a line in it names one file or pair: "- `pump.c` `.h`: ..." or "- `pump.h`: ...".

With --write in place of BUILD the map is mended: lines of files that are gone are taken out, and
files not told are put at the end of their folder with the first words of their own head. Move the
new lines to where they are understood best.
"""

import os
import re
import sys

import tree

PAGE = "DEVELOPERS.md"
PARTS = re.compile(r"(.*<!-- map -->\n)(.*)(<!-- end of map -->.*)", re.S)
ITEM = re.compile(r"- `([\w-]+)(\.[ch])`(?: `(\.[ch])`)?: *(.*)")


def read_map(text):
    """{folder: {stem: [suffixes, words]}} in the order of the page."""
    folders = {}
    items = {}
    for line in text.splitlines():
        heading = re.match(r"### `?([\w/]+?)/?`?\s*$", line)
        item = ITEM.match(line)
        if heading:
            items = folders.setdefault(heading.group(1), {})
        elif item:
            stem, first, second, words = item.groups()
            items[stem] = [{first, second} - {None}, words]
    return folders


def write_map(folders):
    text = ""
    for folder, items in folders.items():
        text += f"\n### {folder}\n\n" if items else ""
        for stem, (suffixes, words) in items.items():
            names = "` `".join(sorted(suffixes))
            text += f"- `{stem}{names}`: {words}\n"
    return text + "\n"


def first_words(path):
    head = re.sub(r"\n \* ?", " ", tree.read(path))
    found = re.search(r"/\*\s*(.*?)(\.\s|\s*\*/)", head[:1000], re.S)
    words = " ".join(found.group(1).split()) if found else "?"
    subject = os.path.splitext(os.path.basename(path))[0].replace("_", " ")
    return re.sub(f"^{subject}: ", "", words, flags=re.I)


def mend(folders, there):
    for folder, items in folders.items():
        for stem in list(items):
            items[stem][0] = {s for s in items[stem][0] if f"{folder}/{stem}{s}" in there}
            if not items[stem][0]:
                del items[stem]
    for path in sorted(there, reverse=True):  # .h before .c: its head is for readers
        folder, name = os.path.split(path)
        stem, suffix = os.path.splitext(name)
        items = folders.setdefault(folder, {})
        items.setdefault(stem, [set(), first_words(path)])[0].add(suffix)
    return folders


before, middle, after = PARTS.match(tree.read(PAGE)).groups()
folders = read_map(middle)
there = set(tree.sources(folders=tree.FLOORS))
if "--write" in sys.argv:
    with open(os.path.join(tree.root(), PAGE), "w", encoding="utf-8") as file:
        file.write(before + write_map(mend(folders, there)) + after)
    sys.exit(0)
told = {
    f"{folder}/{stem}{suffix}"
    for folder, items in folders.items()
    for stem, (suffixes, _) in items.items()
    for suffix in suffixes
}
problems = [f"{path}: not told in {PAGE}" for path in sorted(there - told)]
problems += [f"{path}: told in {PAGE}, but is not there" for path in sorted(told - there)]
tree.finish(problems, "One line a file, under its folder: python3 scripts/checks/map.py . --write")
