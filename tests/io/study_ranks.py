"""Studies shared among processes by MPI: two give the same bits as threads; a process that is killed
takes only what it had in work; a study stopped or killed goes on. Open MPI's mpirun starts the
processes, on this machine alone. Arguments: the program, mpirun."""

import os
import signal
import subprocess
import sys
import tempfile
import time

import study_site

program, mpirun = sys.argv[1:3]
folder = tempfile.mkdtemp(prefix="downsurge-ranks-")
problems = []
ROWS = study_site.ROWS
# Root in a container, more processes than cores, nothing but this machine: as Open MPI's manual has it.
ENVIRONMENT = dict(os.environ, OMP_NUM_THREADS="1", OMPI_ALLOW_RUN_AS_ROOT="1",
                   OMPI_ALLOW_RUN_AS_ROOT_CONFIRM="1", OMPI_MCA_rmaps_base_oversubscribe="1",
                   OMPI_MCA_hwloc_base_binding_policy="none", OMPI_MCA_btl="self,vader",
                   OMPI_MCA_oob_tcp_if_include="lo", PMIX_MCA_gds="hash")


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def case(name, text):
    path = os.path.join(folder, name + ".yaml")
    with open(path, "w") as file:
        file.write(text)
    return path


def start(count, *words, options=()):
    return subprocess.Popen([mpirun, *options, "-n", str(count), program, *words], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, env=ENVIRONMENT, start_new_session=True)


def finish(process, limit=60):
    try:
        out, err = process.communicate(timeout=limit)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)  # of the session that start() made
        out, err = process.communicate()
        problems.append("a study did not end")
    return process.returncode, out.decode(), err.decode()


def helpers(process):
    """The processes of rank 1 and above below this mpirun."""
    found = []
    for name in os.listdir("/proc"):
        try:
            with open(f"/proc/{name}/stat") as file:
                parent = int(file.read().rsplit(")", 1)[1].split()[1])
            with open(f"/proc/{name}/environ", "rb") as file:
                rank = [word for word in file.read().split(b"\0") if word.startswith(b"OMPI_COMM_WORLD_RANK=")]
        except (OSError, ValueError, IndexError):
            continue
        if parent == process.pid and rank and rank[0] != b"OMPI_COMM_WORLD_RANK=0":
            found.append(int(name))
    return found


def wait_rows(process, journal, wanted):
    until = time.time() + 60
    while process.poll() is None and study_site.journal_length(journal) < wanted and time.time() < until:
        time.sleep(0.002)


def kill_helper(number):
    for helper in helpers(number):
        try:
            os.kill(helper, signal.SIGKILL)
            return True
        except ProcessLookupError:
            pass
    return False


grid = case("grid", study_site.SITE + study_site.GRID)
alone, shared = os.path.join(folder, "alone.h5"), os.path.join(folder, "shared.h5")
done = subprocess.run([program, "study", grid, "-q", "-o", alone], env=dict(ENVIRONMENT, OMP_NUM_THREADS="2"))
claim(done.returncode == 0, "the study fails with two threads")
whole = study_site.table(alone)

# Two processes give the bits of two threads, and one answer in words.
for count in (2,):
    code, out, err = finish(start(count, "study", grid, "-o", shared))
    claim(code == 0 and err.strip() == "", f"{count} processes: {code} {err}")
    claim(out.count("study of 375 variants") == 1, f"{count} processes tell other than once: {out}")
    claim(study_site.table(shared) == whole, f"{count} processes and two threads differ")
    claim(not os.path.exists(shared + ".journal"), "the journal is left behind")
    os.remove(shared)

# A helper is killed. Where the launcher lets the others live, they finish the study: what the dead one held
# goes to others after its silence.
# One that held nothing when it died is not missed and not told of: then once more.
journal = shared + ".journal"
is_told = False
for attempt in range(5):
    process = start(3, "study", grid, "-o", shared, options=("--enable-recovery",))
    wait_rows(process, journal, ROWS // 8)
    claim(kill_helper(process), "no helper was found to kill")
    code, out, err = finish(process)
    claim("study of 375 variants" in out, f"the death of a helper ends the study: {code} {err}")
    claim(os.path.exists(shared) and study_site.table(shared) == whole, "after a helper's death other rows")
    if os.path.exists(shared):
        os.remove(shared)
    is_told = "process " in err and "five seconds" in err
    if is_told:
        break
claim(is_told, f"the death is not told: {err}")

# As mpirun is by itself, one death ends all; what was finished is in the journal, nothing twice, and the same
# command goes on, with threads too.
# A busy launcher may see the death only when the study has ended without it: then once more.
before = {}
for attempt in range(5):
    process = start(2, "study", grid, "-o", shared)
    wait_rows(process, journal, 1)
    claim(kill_helper(process), "no helper was found to kill")
    code, out, err = finish(process)
    claim(code != 0, "the launcher takes no notice of a death")
    before = study_site.journal_rows(journal, problems)
    if os.path.exists(shared):
        claim(study_site.table(shared) == whole, "a study that ends without a helper has other rows")
        os.remove(shared)
    if before:
        break
claim(1 <= len(before) < ROWS, f"{len(before)} rows are kept: {code} {err}")

code, out, err = finish(start(2, "study", grid, "-o", shared))
claim(code == 0 and f"{len(before)} of {ROWS} variants were done before" in err, f"does not go on: {err}")
claim(study_site.table(shared) == whole, "a study of which a process was killed ends with other rows")

# Ctrl-C at the launcher, which passes it on half a second later: what is in work is finished and kept.
longer = case("longer", study_site.SITE + study_site.GRID.replace("levels: 5", "levels: 12"))
os.remove(shared)
process = start(2, "study", longer, "-o", shared)
wait_rows(process, journal, 50)
process.send_signal(signal.SIGINT)
code, out, err = finish(process)
kept = len(study_site.journal_rows(journal, problems))
claim(code != 0 and kept >= 50 and f"stopped with {kept} of" in err, f"Ctrl-C: {kept} rows: {code} {err}")

# A mistake is told once, and nobody waits for anybody.
code, out, err = finish(start(2, "study", case("wrong", "site: [\n"), "-q"))
claim(code == 2 and err.count("wrong.yaml:") >= 1, f"a mistake: {code} {err}")
# What does not share its work runs once.
code, out, err = finish(start(2, "steady", grid))
claim(code == 0 and out.count("Reed Pool") == 1, f"steady in two processes: {code} {out} {err}")

for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
