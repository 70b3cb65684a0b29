#!/usr/bin/python3
"""Writes tests/reference/*.csv from implementations independent of ours: Debian's
python3-fluids, and for Colebrook-White decimal arithmetic.

    scripts/reference/losses.py tests/reference

The tests read the committed files, so the package is only needed to write them anew.
"""

import os
import random
import sys
from decimal import Decimal, getcontext

import fluids

getcontext().prec = 40


def write(name, head, rows):
    with open(os.path.join(sys.argv[1], name), "w", encoding="utf-8") as file:
        file.write(f"# scripts/reference/losses.py, python3-fluids {fluids.__version__}\n")
        file.write(f"# {head}\n")
        for row in rows:
            file.write(",".join(v if isinstance(v, str) else f"{v:.17g}" for v in row) + "\n")


def exact_colebrook(reynolds, roughness):
    """The equation solved with 40 digits: the library's own solutions are good to 2e-14 only."""
    a = Decimal(roughness) / Decimal("3.7")
    b = Decimal("2.51") / Decimal(reynolds)
    root = Decimal(8)
    for _ in range(100):
        root = -2 * (a + b * root).log10()
    return float(1 / root**2)


def colebrook():
    """Reynolds number, relative roughness, Darcy factor; spread evenly in their logarithms."""
    chance = random.Random(1939)
    for _ in range(400):
        reynolds = 10 ** chance.uniform(3.61, 8)
        roughness = 10 ** chance.uniform(-7, -1.3)
        factor = exact_colebrook(reynolds, roughness)
        assert abs(fluids.Colebrook(reynolds, roughness) / factor - 1) < 1e-12
        yield reynolds, roughness, factor


def bore_changes():
    """Smaller over larger bore; sharp contraction (Rennels), sharp enlargement, and the tapers of
    Crane at 20, 40 and 90 deg, each on the smaller bore."""
    for percent in range(10, 100, 5):
        ratio = percent / 100
        row = [ratio, fluids.contraction_sharp(Di1=1, Di2=ratio)]
        row.append(fluids.diffuser_sharp(Di1=ratio, Di2=1))
        for angle in (20, 40, 90):
            row.append(fluids.contraction_conical_Crane(Di1=1, Di2=ratio, angle=angle))
            row.append(fluids.diffuser_conical(ratio, 1, angle=angle, fd=0.02, method="Crane"))
        yield row


def fittings():
    """Kind, bore m, K by Crane. The library takes f_T at a finite Reynolds number, so a kind
    agrees to a per cent or two only."""
    for bore in (0.02, 0.0362, 0.057, 0.1016, 0.1476):
        yield "bend 90 deg", bore, fluids.bend_rounded_Crane(bore, angle=90, bend_diameters=1.5)
        yield "long bend 90 deg", bore, fluids.bend_rounded_Crane(bore, angle=90, bend_diameters=3)
        yield "mitre 60 deg", bore, fluids.bend_miter(angle=60, Di=bore, method="Crane")
        yield "mitre 90 deg", bore, fluids.bend_miter(angle=90, Di=bore, method="Crane")
        yield "gate valve", bore, fluids.K_gate_valve_Crane(D1=bore, D2=bore, angle=0)
        yield "ball valve", bore, fluids.K_ball_valve_Crane(D1=bore, D2=bore, angle=0)
        yield "globe valve", bore, fluids.K_globe_valve_Crane(D1=bore, D2=bore)
        yield "butterfly valve", bore, fluids.K_butterfly_valve_Crane(D=bore)
        yield "diaphragm valve", bore, fluids.K_diaphragm_valve_Crane(D=bore)


write("colebrook.csv", "reynolds, relative roughness, factor", colebrook())
write("bore_changes.csv", "ratio, contraction, enlargement, tapers 20, 40, 90 deg", bore_changes())
write("fittings.csv", "kind, bore m, K", fittings())
