"""Only the agreed names stand at the top of the tree (what git ignores does not count)."""

import os

import tree

ALLOWED = {
    "README.md", "DEVELOPERS.md", "CMakeLists.txt", "LICENSE",
    "solver", "io", "models", "tests", "cases", "scripts",
}  # fmt: skip

code, text = tree.run(["git", "ls-files", "--cached", "--others", "--exclude-standard"])
names = {line.split("/")[0].strip('"') for line in text.splitlines()} if code == 0 else set()
if not names:  # no git here, as in an unpacked archive
    names = {name for name in os.listdir(tree.root()) if not name.startswith(("build", "out"))}
extra = sorted(name for name in names - ALLOWED if not name.startswith("."))
tree.finish([f"{name}: not an agreed name at the top" for name in extra], "Put it into a folder.")
