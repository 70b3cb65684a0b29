"""What `cmake --install` and CPack lay down, used as a person would: a C program built against the
installed libraries, the program run far from its sources, manual and completions, the package looked
into with dpkg-deb, and everything taken away again.
Arguments: the build's folder, the folder of the sources, the C compiler."""

import glob
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

build, top, compiler = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), sys.argv[3]
folder = tempfile.mkdtemp(prefix="downsurge-test-")
prefix = os.path.join(folder, "prefix")
problems = []


def claim(is_true, text):
    if not is_true:
        problems.append(text)
    return is_true


def run(*words, **how):
    how.setdefault("cwd", folder)
    done = subprocess.run(words, capture_output=True, text=True, stdin=subprocess.DEVNULL, **how)
    claim(done.returncode == 0, f"{' '.join(words)}: {done.returncode}: {(done.stdout + done.stderr).strip()[-1500:]}")
    return done.stdout


def files_in(place):
    return sorted(os.path.relpath(os.path.join(at, name), place) for at, _, names in os.walk(place) for name in names)


run("cmake", "--install", build, "--prefix", prefix)
laid = files_in(prefix)
headers = [path for path in laid if "include/downsurge/" in path]
wanted = [path for floor in ("models", "solver", "io") for path in glob.glob(f"{floor}/**/*.h", root_dir=top, recursive=True)]
claim(sorted(path.split("include/downsurge/")[1] for path in headers) == sorted(wanted), "other headers than those of the sources")

# The C example, and a program that asks only the top floor for its version.
configs = glob.glob(os.path.join(prefix, "**", "pkgconfig"), recursive=True)
claim(len(configs) == 1, f"pkg-config's files: {configs}")
libraries = os.path.dirname(configs[0])
surroundings = dict(os.environ, PKG_CONFIG_PATH=configs[0], LD_LIBRARY_PATH=libraries)


def compile_and_run(source, module):
    flags = shlex.split(run("pkg-config", "--cflags", "--libs", module, env=surroundings))
    out = os.path.join(folder, "a.out")
    run(compiler, "-std=c11", "-Wall", "-Wextra", "-Wpedantic", "-Werror", source, *flags, "-o", out)
    return run(out, env=surroundings)


example = os.path.join(prefix, "share", "doc", "downsurge", "three_reservoirs.c")
told = compile_and_run(example, "downsurge-solver")
# White, Fluid Mechanics (answer of the book, see cases/three-reservoirs.yaml): 34.53 m; 52.8 into tank 1,
# 47.0 and 5.8 m3/h out of the others; gravity and viscosity are the book's.
numbers = [float(number) for number in re.findall(r"-?\d+\.\d+", told)]
claim(told.startswith("converged: ") and len(numbers) == 4, f"the example says: {told}")
for got, book, within in zip(numbers, (34.53, -52.8, 47.0, 5.8), (0.05, 0.1, 0.1, 0.1)):
    claim(abs(got - book) <= within, f"the example gives {got}, the book {book}")
claim(len(open(example, encoding="utf-8").read().splitlines()) <= 50, "the example is no short one any more")
with open(os.path.join(folder, "version.c"), "w", encoding="utf-8") as file:
    file.write('#include "io/version.h"\n#include <stdio.h>\nint main(void) { return puts(program_version()) < 0; }\n')
version = compile_and_run(os.path.join(folder, "version.c"), "downsurge-io").strip()
claim(re.fullmatch(r"\d+\.\d+\.\d+", version), f"the library's version is {version}")
for module in ("models", "solver", "io"):
    claim(run("pkg-config", "--modversion", f"downsurge-{module}", env=surroundings).strip() == version, f"version of {module}")


def use(place):
    """The program of a tree put anywhere: what it needs besides itself must come along."""
    away = dict(surroundings, PATH=os.path.join(place, "bin") + os.pathsep + os.environ["PATH"], HOME=folder)
    claim(run("downsurge", "--version", env=away) == f"downsurge {version}\n", "its version")
    claim("swing flap" in run("downsurge", "catalogue", "non-return", env=away), "its catalogue")
    run("downsurge", "new", "site.yaml", "--kind", "spring", env=away)
    run("downsurge", "steady", "site.yaml", "--output", "site.h5", "--quiet", env=away)
    if shutil.which("gnuplot"):
        pictures = run("downsurge", "plot", "site.h5", env=away).split()
        claim(any(name.endswith(".svg") for name in pictures), f"pictures: {pictures}")
        for name in pictures:
            os.remove(os.path.join(folder, name))
    for name in ("site.yaml", "site.h5"):
        os.remove(os.path.join(folder, name))
    with open(glob.glob(os.path.join(place, "share", "man", "man1", "downsurge.1*"))[0], encoding="utf-8") as file:
        claim(file.read() == run("downsurge", "--manual", env=away), "the manual page is another one")
    for shell, name in (("bash", "bash-completion/completions/downsurge"), ("zsh", "zsh/site-functions/_downsurge")):
        with open(os.path.join(place, "share", name), encoding="utf-8") as file:
            claim(file.read() == run("downsurge", "--completion", shell, env=away), f"{shell}'s completion is another one")


moved = os.path.join(folder, "another place")
shutil.copytree(prefix, moved, symlinks=True)
use(moved)

# Taken away again: nothing is left, and what somebody else put there stays.
other = os.path.join(prefix, "bin", "other")
open(other, "w", encoding="utf-8").close()
manifest = os.path.join(folder, "manifest.txt")
shutil.copy(os.path.join(build, "install_manifest.txt"), manifest)
run("cmake", "-D", f"MANIFEST={manifest}", "-P", os.path.join(top, "scripts/install/uninstall.cmake"))
claim(files_in(prefix) == ["bin/other"], f"left behind: {files_in(prefix)[:5]}")
claim(not os.path.exists(os.path.join(prefix, "include", "downsurge")), "an empty folder is left")
again = subprocess.run(["cmake", "-D", f"MANIFEST={manifest}", "-P", os.path.join(top, "scripts/install/uninstall.cmake")], capture_output=True, text=True)
claim(again.returncode != 0 and "nothing was installed" in " ".join(again.stderr.split()), "a second time is not told")

# The package, made but not installed.
if shutil.which("dpkg-deb") and shutil.which("cpack"):
    run("cpack", "--config", os.path.join(build, "CPackConfig.cmake"), "-G", "DEB", "-B", folder, cwd=build)
    packages = glob.glob(os.path.join(folder, "*.deb"))
    if claim(len(packages) == 1, f"packages: {packages}"):
        machine = run("dpkg", "--print-architecture").strip()
        claim(os.path.basename(packages[0]) == f"downsurge_{version}_{machine}.deb", f"the package is called {packages[0]}")
        fields = run("dpkg-deb", "--field", packages[0])
        for pattern in (rf"^Version: {version}", r"^Maintainer: \S", r"^Depends: .*libc6", r"^Depends: .*libfyaml", r"^Depends: .*hdf5", r"^Recommends: gnuplot", r"^Section: science"):
            claim(re.search(pattern, fields, re.M), f"the package does not say '{pattern}': {fields}")
        claim("/usr/bin/downsurge" in run("dpkg-deb", "--contents", packages[0]), "no program in the package")
        unpacked = os.path.join(folder, "unpacked")
        run("dpkg-deb", "--extract", packages[0], unpacked)
        claim(files_in(os.path.join(unpacked, "usr")) == laid, f"the package holds other files: {set(files_in(os.path.join(unpacked, 'usr'))) ^ set(laid)}")
        use(os.path.join(unpacked, "usr"))

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
