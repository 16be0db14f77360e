#!/usr/bin/env python3
"""Search the generator of the Korobov lattice of lattice.go: the points k (1, a, a^2, ...) / n mod 1, n = 2^m.

For every odd a below 2^17 and n = 64, 256, ..., 16384 the worst-case error in the weighted Korobov space of
smoothness 2 (Dick, Kuo and Sloan 2013, Acta Numerica 22, section 5) is taken in 3 to 30 dimensions, with weights
0.3/j, in parts of that of the lattice which was built component by component for this n alone. Printed is the a
whose largest part is least.

    /usr/bin/python3 lattice.py          (numpy; some minutes)
"""
import numpy as np

DIMS = (3, 5, 8, 12, 20, 30)
SIZES = (6, 8, 10, 12, 14)
SEARCHED = 17


def kernel(x):
    return 2 * np.pi**2 * (x * x - x + 1 / 6)


def gamma(j):
    return 0.3 / j


def component_by_component(m):
    n = 1 << m
    k = np.arange(n, dtype=np.int64)
    product, errors = np.ones(n), {}
    odd = np.arange(1, n, 2, dtype=np.int64)[: max(1, n // 4)]
    if len(odd) > 512:  # of many candidates, as good as all
        odd = np.random.default_rng(1).choice(odd, 512, replace=False)
    table = kernel(k / n)
    for j in range(1, max(DIMS) + 1):
        best = min((product @ table[k * z % n], z) for z in (odd if j > 1 else [1]))
        product = product * (1 + gamma(j) * table[k * best[1] % n])
        errors[j] = np.sqrt(product.mean() - 1)
    return errors


def korobov(a, m):
    n = 1 << m
    k = np.arange(n, dtype=np.int64)
    table = kernel(k / n)
    product, errors, z = np.ones(n), {}, 1
    for j in range(1, max(DIMS) + 1):
        product = product * (1 + gamma(j) * table[k * z % n])
        z = z * a % n
        errors[j] = np.sqrt(product.mean() - 1)
    return errors


def main():
    best = (np.inf, 0)
    yardstick = {m: component_by_component(m) for m in SIZES}
    known = {}
    for a in range(3, 1 << SEARCHED, 2):
        worst = 0.0
        for m in SIZES:
            if (m, a % (1 << m)) not in known:
                errors = korobov(a, m)
                known[m, a % (1 << m)] = max(errors[d] / yardstick[m][d] for d in DIMS)
            worst = max(worst, known[m, a % (1 << m)])
            if worst >= best[0]:
                break
        if worst < best[0]:
            best = (worst, a)
            print(a, worst, flush=True)


main()
