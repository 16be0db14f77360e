"""Hold failures.json against exact arithmetic and add the fields named *_precise.

Fisher's p is a ratio of integers: every table with the observed margins is
listed, and the two-sided p adds the probabilities that do not exceed the
observed one (compared exactly; R compares with a relative slack of 1e-7).
Clopper-Pearson limits are roots of binomial tails in 40 digits, Wilson limits
the roots of their quadratic.
"""

import itertools
import json
from fractions import Fraction
from math import comb

from mpmath import mp, mpf

mp.dps = 40


def fisher(failed, runs):
    total = sum(failed)
    all_tables = [t for t in itertools.product(*[range(min(r, total) + 1) for r in runs[:-1]]) if 0 <= total - sum(t) <= runs[-1]]

    def weight(t):
        w = 1
        for x, n in zip(t + (total - sum(t),), runs):
            w *= comb(n, x)
        return w

    seen = weight(tuple(failed[:-1]))
    weights = [(t, weight(t)) for t in all_tables]
    every = comb(sum(runs), total)
    assert sum(w for _, w in weights) == every
    two = Fraction(sum(w for _, w in weights if w <= seen), every)
    more = Fraction(sum(w for t, w in weights if t[0] >= failed[0]), every)
    fewer = Fraction(sum(w for t, w in weights if t[0] <= failed[0]), every)
    return two, more, fewer


def upper_tail(x, n, p):
    """P(X >= x) and its derivative in p, by summing outwards from x."""
    first = mp.exp(mp.loggamma(n + 1) - mp.loggamma(x + 1) - mp.loggamma(n - x + 1) + x * mp.log(p) + (n - x) * mp.log1p(-p))
    total, term, odds = first, first, p / (1 - p)
    for j in range(x, n):
        term = term * (n - j) / (j + 1) * odds
        total += term
        if j > n * p and term < total * mpf(10) ** -45:
            break
    return total, first * x / p


def limit(x, n, tail, start):
    """p with P(X >= x) = tail, by Newton."""
    p = mpf(start)
    for _ in range(50):
        f, slope = upper_tail(x, n, p)
        step = (f - tail) / slope
        p -= step
        if abs(step) < abs(p) * mpf(10) ** -25:
            return p
    raise RuntimeError("limit does not settle")


def main():
    with open("failures.json") as f:
        doc = json.load(f)
    worst = {}

    def agree(name, r, exact):
        err = abs(mpf(r) - exact) / exact if exact != 0 else abs(mpf(r))
        worst[name] = max(worst.get(name, 0), float(err))
        assert err < 1e-8, (name, r, exact)

    for row in doc["proportions"]:
        x, n = row["failed"], row["runs"]
        tail = (1 - mpf(str(row["confidence"]))) / 2
        cp, w = row["clopper_pearson"], row["wilson"]
        low = limit(x, n, tail, cp["low"]) if x > 0 else mpf(0)
        high = 1 - limit(n - x, n, tail, 1 - cp["high"]) if x < n else mpf(1)
        z = mp.sqrt(2) * mp.erfinv(1 - 2 * tail)
        p = mpf(x) / n
        mid = (p + z * z / (2 * n)) / (1 + z * z / n)
        half = z / (1 + z * z / n) * mp.sqrt(p * (1 - p) / n + z * z / (4 * mpf(n) ** 2))
        wl, wh = (mid - half if x > 0 else mpf(0)), (mid + half if x < n else mpf(1))
        for name, r, e in [("clopper-pearson", cp["low"], low), ("clopper-pearson", cp["high"], high), ("wilson", w["low"], wl), ("wilson", w["high"], wh)]:
            agree(name, r, e)
        cp["low_precise"], cp["high_precise"], w["low_precise"], w["high_precise"] = float(low), float(high), float(wl), float(wh)
    for row in doc["fisher"]:
        two, more, fewer = fisher(row["failed"], row["runs"])
        agree("fisher", row["p"], mpf(two.numerator) / two.denominator)
        row["p_precise"] = float(two)
        if len(row["runs"]) == 2:
            agree("fisher one-sided", row["p_first_more"], mpf(more.numerator) / more.denominator)
            agree("fisher one-sided", row["p_first_fewer"], mpf(fewer.numerator) / fewer.denominator)
            row["p_first_more_precise"], row["p_first_fewer_precise"] = float(more), float(fewer)
    with open("failures.json", "w", newline="\n") as f:
        json.dump(doc, f, indent=1)
        f.write("\n")
    print(worst)


main()
