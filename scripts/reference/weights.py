#!/usr/bin/python3
"""Fits the sums of few exponentials in solver/surge/unsteady.c to the published sums of ten, with the
least largest relative error from psi = 0 to an end, and prints them as rows of C.

    scripts/reference/weights.py

Gauss-Newton steps on the logarithms of sizes and decays, held back where they do not help (Levenberg
1944, Marquardt 1963), with weights that grow where the error is large (Lawson 1961), from several
starts. Nothing but Python; some minutes. What the errors are the test surge_unsteady measures for itself.
"""

from math import exp, log, pi, sqrt

POINTS = 80
# Vitkovsky, Stephens, Bergant, Lambert & Simpson 2004, as in the test surge_unsteady.
LAMINAR = list(zip(
    (1.0, 1.16725, 2.20064, 3.92861, 6.78788, 11.6761, 20.0612, 34.4541, 59.1642, 101.590),
    (26.3744, 72.8033, 187.424, 536.626, 1570.60, 4618.13, 13601.1, 40082.5, 118153, 348316)))
TURBULENT = [(size / (2 * sqrt(pi)), decay) for size, decay in zip(
    (5.03392, 6.48760, 10.7735, 19.9040, 37.4754, 70.7117, 133.460, 251.933, 476.597, 932.860),
    (4.78793, 51.0897, 210.868, 765.030, 2731.01, 9731.44, 34668.5, 123511, 440374, 1590300))]
ROWS = ((LAMINAR, 8, 0.2), (TURBULENT, 8, 0.06), (TURBULENT, 7, 0.015), (TURBULENT, 6, 0.003),
        (TURBULENT, 5, 0.00058))


def solve(matrix, right):
    """Gauss's elimination with exchange of rows."""
    n = len(right)
    rows = [row[:] + [value] for row, value in zip(matrix, right)]
    for i in range(n):
        pivot = max(range(i, n), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for r in range(i + 1, n):
            factor = rows[r][i] / rows[i][i]
            rows[r] = [a - factor * b for a, b in zip(rows[r], rows[i])]
    for i in reversed(range(n)):
        rows[i][n] = (rows[i][n] - sum(rows[i][c] * rows[c][n] for c in range(i + 1, n))) / rows[i][i]
    return [row[n] for row in rows]


def errors(sizes, decays, points):
    return [sum(s * exp(-d * x) for s, d in zip(sizes, decays)) / value - 1 for x, value in points]


def improve(sizes, decays, points, rounds):
    n = len(sizes)
    weights = [1.0] * len(points)
    damping = 1e-3
    error = errors(sizes, decays, points)
    best = (9.0, sizes, decays)
    for _ in range(rounds):
        matrix = [[0.0] * 2 * n for _ in range(2 * n)]
        right = [0.0] * 2 * n
        for weight, miss, (x, value) in zip(weights, error, points):
            share = [s * exp(-d * x) / value for s, d in zip(sizes, decays)]
            slope = share + [-a * d * x for a, d in zip(share, decays)]
            for i in range(2 * n):
                part = weight * slope[i]
                right[i] -= part * miss
                row = matrix[i]
                for j in range(2 * n):
                    row[j] += part * slope[j]
        for i in range(2 * n):
            matrix[i][i] = matrix[i][i] * (1 + damping) + 1e-12
        change = [max(-1.0, min(1.0, c)) for c in solve(matrix, right)]
        next_sizes = [s * exp(c) for s, c in zip(sizes, change)]
        next_decays = [d * exp(c) for d, c in zip(decays, change[n:])]
        next_error = errors(next_sizes, next_decays, points)
        if sum(w * e * e for w, e in zip(weights, next_error)) < sum(
                w * e * e for w, e in zip(weights, error)):
            sizes, decays, error = next_sizes, next_decays, next_error
            damping *= 0.2
            worst = max(map(abs, error))
            best = min(best, (worst, sizes, decays))
            weights = [w * (0.1 * worst + abs(e)) for w, e in zip(weights, error)]
            mean = sum(weights) / len(weights)
            weights = [w / mean for w in weights]
        else:
            damping *= 5.0
            if damping > 1e8:
                break
    return best


def fit(terms, count, end):
    first = 0.02 / terms[-1][1]
    places = [0.0] + [first * (end / first) ** (i / (POINTS - 2)) for i in range(POINTS - 1)]
    points = [(x, sum(s * exp(-d * x) for s, d in terms)) for x in places]
    best = (9.0,)
    for trial in range(4):
        low, high = 0.4 / end * 1.6 ** (trial - 1), 0.8 * terms[-1][1]
        decays = [low * (high / low) ** (j / (count - 1)) for j in range(count)]
        sizes = [0.5 * terms[0][0]] * count
        for size, decay in terms:
            sizes[min(range(count), key=lambda j: abs(log(decays[j] / decay)))] += size
        best = min(best, improve(sizes, decays, points, 400))
    return best


for terms, count, end in ROWS:
    worst, sizes, decays = fit(terms, count, end)
    decays, sizes = zip(*sorted(zip(decays, sizes)))
    print(f"/* {'laminar' if terms is LAMINAR else 'turbulent'}, {100 * worst:.2f} % */")
    print(f"{{{end:g}, {count}, {{{', '.join(f'{s:.6g}' for s in sizes)}}},")
    print(f" {{{', '.join(f'{d:.6g}' for d in decays)}}}}},", flush=True)
