"""Every check can fail: for each, a small tree that it accepts, and the same tree with one fault
sown into it, which it must refuse with the right words."""

import os
import subprocess
import sys
import tempfile

import tree

HERE = os.path.dirname(os.path.abspath(__file__))


def header(guard, body=""):
    return f"#ifndef {guard}\n#define {guard}\n\n{body}\n#endif\n"


MAP = """<!-- map -->
### models/
- `pump.c` `.h`: pumps
- `tank.h`: tanks
- `letters.c`: messages
### solver/steady/
- `steady.c`: flows
### io/
- `main.c`: the start
<!-- end of map -->
"""

# A tree without a fault.
CLEAN = {
    "CMakeLists.txt": "\n",
    "DEVELOPERS.md": MAP,
    "models/pump.h": header("MODELS_PUMP_H", "double pump_head(double flow);\n"),
    "models/tank.h": header("MODELS_TANK_H", '#include "models/pump.h"\n'),
    "models/pump.c": '#include "models/pump.h"\n\ndouble pump_head(double flow)\n{\n'
    "    return 2.0 * flow;\n}\n",
    "models/letters.c": "#include <stdio.h>\n\nextern int letters_size;\n",
    "solver/steady/steady.c": '#include "models/tank.h"\n\n'
    "extern const double steady_limit;\nconst double steady_limit = 1.0;\n"
    'extern const char *const steady_names[2];\nconst char *const steady_names[2] = {"a", "b"};\n',
    "io/main.c": "#include <stdlib.h>\n\nint main(void)\n{\n    exit(0);\n}\n",
}

PUMP = CLEAN["models/pump.c"]
LONG_FUNCTION = "int pump_long(int a);\nint pump_long(int a)\n{\n" + "    a++;\n" * 70 + "}\n"

# (check, what is wrong, words of the refusal, file, its text with the fault)
FAULTS = [
    ("direction", "models include solver", "points upward", "models/pump.c",
     '#include "solver/steady/steady.c"\n'),
    ("direction", "solver includes io", "points upward", "solver/steady/steady.c",
     '#include "io/main.c"\n'),
    ("direction", "include beside itself", "no path from the root", "models/tank.h",
     '#include "pump.h"\n'),
    ("direction", "floor stone on another", "floor stone", "models/arena.h",
     '#include "models/pump.h"\n'),
    ("rings", "pump and tank include each other", "ring: ", "models/pump.c",
     '#include "models/tank.h"\n'),
    ("printing", "printf in models", "models/pump.c:5: prints", "models/pump.c",
     PUMP.replace("    return", '    printf("x");return')),
    ("printing", "<stdio.h> in solver", "includes <stdio.h>", "solver/steady/steady.c",
     "#include <stdio.h>\n"),
    ("printing", "exit in io", "ends the program", "io/command/steady.c",
     "void f(void)\n{\n    exit(1);\n}\n"),
    ("headers", "missing include", "does not compile alone", "models/tank.h",
     header("MODELS_TANK_H", "size_t tank_count(void);\n")),
    ("headers", "wrong guard", "the guard is not MODELS_TANK_H", "models/tank.h",
     header("TANK_H")),
    ("globals", "global", "level is writable (.data", "models/pump.c", "int level = 3;\n"),
    ("globals", "static", "is writable (.bss", "models/pump.c",
     "int next(void);\nint next(void)\n{\n    static int count;\n    return ++count;\n}\n"),
    ("globals", "thread-local", "is writable (.tbss", "models/pump.c", "_Thread_local int level;\n"),
    ("globals", "pointer that can change", "is writable (.data", "models/pump.c",
     'const char *name = "pump";\n'),
    ("sizes", "file", "501 lines (500)", "models/pump.c", "\n" * 501),
    ("sizes", "file with a reason", "601 lines (600)", "models/pump.c",
     "/* Long because so. */\n" + "\n" * 600),
    ("sizes", "header", "151 lines (150)", "models/pump.h", "\n" * 151),
    ("sizes", "function", "models/pump.c:3: function of 71 lines", "models/pump.c", LONG_FUNCTION),
    ("format", "indent", "should be clang-formatted", "models/pump.c", PUMP.replace("    r", "r")),
    ("tidy", "null read", "clang-analyzer-core.NullDereference", "models/pump.c",
     "int f(void);\nint f(void)\n{\n    const int *p = 0;\n    return *p;\n}\n"),
    ("tidy", "no braces", "braces-around-statements", "models/pump.c",
     "int f(int a);\nint f(int a)\n{\n    if (a > 0)\n        return 1;\n    return 2;\n}\n"),
    ("tidy", "only clang warns", "clang-diagnostic-sometimes-uninitialized", "models/pump.c",
     "int f(int a);\nint f(int a)\n{\n    int b;\n    if (a) {\n        b = 1;\n    }\n"
     "    return b;\n}\n"),
    ("tidy", "narrowing", "clang-diagnostic-implicit-int-conversion", "models/pump.c",
     "short f(int a);\nshort f(int a)\n{\n    return a;\n}\n"),
    ("tidy", "narrowing in a header", "clang-diagnostic-implicit-int-conversion", "models/pump.h",
     header("MODELS_PUMP_H", "double pump_head(double flow);\n"
     "static inline short f(int a)\n{\n    return a;\n}\n")),
    ("tidy", "memory lost", "clang-analyzer-unix.Malloc", "models/pump.c",
     "#include <stdlib.h>\n\nint f(void);\nint f(void)\n{\n    int *p = malloc(4);\n"
     "    return p != 0;\n}\n"),
    ("top", "a folder more", "tools: not an agreed name", "tools/x.c", "\n"),
    ("questions", "a finding nobody makes", "which no rule makes", "solver/findings/inventory.c",
     "/* finding 'ghost' */\n"),
    ("questions", "a finding nobody asked for", "answers no question", "solver/findings/pumps.c",
     'const char *name(void);\n.rule = "ghost",\n'),
    ("map", "file not told", "models/valve.c: not told", "models/valve.c", "\n"),
    ("map", "told file gone", "models/valve.c: told", "DEVELOPERS.md",
     MAP.replace("- `tank.h`", "- `valve.c`: gone\n- `tank.h`")),
    ("words", "unfinished", "unfinished", "models/pump.c", "/* TO" "DO: the rest */\n"),
    ("words", "merge", "a merge", "io/main.c", "<" * 7 + " HEAD\n"),
    ("words", "a place", "one machine", "cases/a.yaml", "file: /ho" "me/someone/a.csv\n"),
]  # fmt: skip


def write(top, files):
    for path, text in files.items():
        place = os.path.join(top, path)
        os.makedirs(os.path.dirname(place), exist_ok=True)
        with open(place, "w", encoding="utf-8") as file:
            file.write(text)


def make_libraries(top, folder):
    for path in ("models/pump.c", "solver/steady/steady.c"):
        made = os.path.join(folder, os.path.basename(path) + ".o")
        library = os.path.join(folder, f"libdownsurge_{path.split('/')[0]}.a")
        subprocess.run(["gcc", "-O2", "-I", top, "-c", path, "-o", made], cwd=top, check=True)
        subprocess.run(["ar", "rc", library, made], check=True)


def outcome(check, files):
    """(exit code, output) of a check over a tree of these files."""
    with tempfile.TemporaryDirectory() as top:
        write(top, files)
        for name in (".clang-format", ".clang-tidy"):
            write(top, {name: tree.read(name)})
        folder = os.path.join(top, "build")
        os.makedirs(folder)
        commands = os.path.join(tree.build(), "compile_commands.json")
        os.symlink(commands, os.path.join(folder, "compile_commands.json"))
        if check == "globals":
            make_libraries(top, folder)
        return tree.run([sys.executable, "-B", f"{HERE}/{check}.py", top, folder])


def try_clean(check):
    code, text = outcome(check, CLEAN)
    return [] if code == 0 else [f"{check} refuses a tree without a fault:\n{text}"]


def try_fault(fault):
    check, wrong, words, path, text = fault
    code, said = outcome(check, {**CLEAN, path: text})
    if code == 1 and words in said:
        return []
    return [f"{check} does not refuse '{wrong}' with '{words}' (exit code {code}):\n{said}"]


OTHERS = {"tree.py", "can_fail.py"}
checks = sorted(name[:-3] for name in os.listdir(HERE) if name.endswith(".py") and name not in OTHERS)
unproved = sorted(set(checks) - {fault[0] for fault in FAULTS})
problems = [f"{check}: no fault here shows that it can fail" for check in unproved]
problems += tree.in_parallel(try_clean, checks) + tree.in_parallel(try_fault, FAULTS)
tree.finish(problems, "A check that cannot fail checks nothing.")
