"""Below io/ nothing prints and nothing touches files; below main nothing ends the program."""

import re

import tree

MAY_FORMAT = "models/letters.c"  # vsnprintf into a message
PRINTS = r"\b(v?f?printf|puts|fputs|putc|putchar|fputc|perror|fopen|fwrite|fread|write)\s*\("
ENDS = r"\b(exit|_exit|_Exit|quick_exit|abort)\s*\("

problems = []
for path in tree.sources(folders=tree.FLOORS):
    for number, line in enumerate(tree.code_lines(path), 1):
        if not path.startswith("io/"):
            if re.search(PRINTS, line):
                problems.append(f"{path}:{number}: prints or touches files")
            if "<stdio.h>" in line and path != MAY_FORMAT:
                problems.append(f"{path}:{number}: includes <stdio.h>")
        if path != "io/main.c" and re.search(ENDS, line):
            problems.append(f"{path}:{number}: ends the program")
tree.finish(problems, "Return a result or a failure; let io/ say it and main end.")
