"""No writable global or static: no object of ours in .data, .bss or thread-local storage of the
libraries in BUILD. Constant tables that hold pointers live in .data.rel.ro and are fine."""

import glob
import os
import re

import tree

WRITABLE = r"\.(data|bss|tdata|tbss)(?!\.rel\.ro)\S*|\*COM\*"

problems = []
archives = sorted(glob.glob(os.path.join(tree.build(), "libdownsurge_*.a")))
for archive in archives:
    member = ""
    for line in tree.run(["objdump", "-t", archive])[1].splitlines():
        named = re.match(r"(\S+\.o):\s", line)
        if named:
            member = named.group(1)
        # value, flags (O: an object, d: the section itself), section, size, name
        symbol = re.match(r"[0-9a-f]+ (.{7}) (\S+)\s+[0-9a-f]+\s+(?:\.hidden )?(\S+)$", line)
        if not symbol or "d" in symbol.group(1) or not re.match(WRITABLE, symbol.group(2)):
            continue
        if "O" in symbol.group(1) or symbol.group(2).startswith(".t"):  # thread-local has no O
            problems.append(f"{member}: {symbol.group(3)} is writable ({symbol.group(2)})")
if not archives:
    problems.append(f"{tree.build()}: no library libdownsurge_*.a to look into")
tree.finish(problems, "Make it const, or pass it in.")
