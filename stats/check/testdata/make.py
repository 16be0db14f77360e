"""Reference values for the tests of package check, by exact fractions and mpmath.

    python3 make.py     reads r.json, writes exact.json in the working directory

Nothing here shares a method with the package: counts are enumerated in exact
fractions, laws integrated at 30 digits or more. Made with mpmath 1.2.1.
"""
import itertools
import json
from fractions import Fraction
from math import comb

from mpmath import mp, mpf

mp.dps = 40


def num(x):
    return float(mpf(x.numerator) / x.denominator) if isinstance(x, Fraction) else float(x)


# --- Fisher: every table, in exact fractions -------------------------------
def fisher(failed, runs):
    m, seen = sum(failed), 1
    for x, n in zip(failed, runs):
        seen *= comb(n, x)

    def walk(i, left):  # the number of ways of every table from level i on
        if i == len(runs) - 1:
            if left <= runs[i]:
                yield comb(runs[i], left)
            return
        for x in range(min(runs[i], left) + 1):
            for w in walk(i + 1, left - x):
                yield comb(runs[i], x) * w

    return Fraction(sum(w for w in walk(0, m) if w <= seen), comb(sum(runs), m))


fisher_cases = [
    ([1, 9], [12, 14]), ([0, 5], [10, 10]), ([4, 4], [10, 10]), ([40, 2], [60, 55]), ([400, 20], [600, 550]), ([7, 3], [10, 10]),
    ([0, 2, 5], [8, 8, 8]), ([1, 0, 3, 6], [10, 12, 9, 11]), ([2, 2, 2, 2], [6, 6, 6, 6]), ([0, 0, 12, 1, 3], [15, 14, 15, 16, 13]),
    ([1, 0, 0, 0, 0, 0, 0, 1, 0, 4], [5] * 10), ([10, 0, 25], [40, 42, 45]), ([3, 3, 0, 1], [3, 3, 3, 3]),
]

# --- stretches above and below the median: law by counting -----------------
def stretches(a, b, r):
    def ways(k):
        j = k // 2
        if k % 2 == 0:
            return 2 * comb(a - 1, j - 1) * comb(b - 1, j - 1)
        return comb(a - 1, j) * comb(b - 1, j - 1) + comb(a - 1, j - 1) * comb(b - 1, j)

    top = a + b
    few = Fraction(sum(ways(k) for k in range(2, r + 1)), comb(a + b, a))
    many = Fraction(sum(ways(k) for k in range(r, top + 1)), comb(a + b, a))
    return few, many


def stretches_enumerated(a, b, r):  # the same, by going through all orders
    few = many = total = 0
    for above in itertools.combinations(range(a + b), a):
        side = [i in above for i in range(a + b)]
        count = 1 + sum(side[i] != side[i - 1] for i in range(1, a + b))
        few, many, total = few + (count <= r), many + (count >= r), total + 1
    return Fraction(few, total), Fraction(many, total)


for a, b, r in [(2, 2, 3), (5, 5, 4), (6, 4, 7), (3, 8, 5), (7, 7, 13)]:
    assert stretches(a, b, r) == stretches_enumerated(a, b, r)

stretch_cases = [(2, 2, 2), (2, 2, 4), (5, 5, 4), (6, 4, 7), (10, 10, 6), (10, 10, 16), (15, 15, 10), (30, 30, 12), (30, 29, 45), (150, 150, 130), (400, 400, 300), (400, 390, 2), (1000, 1000, 1100)]


# --- Friedman: covariance by going through every order within blocks --------
def ranks(v):
    return [Fraction(2 * sum(u < x for u in v) + sum(u == x for u in v) + 1, 2) for x in v]


def friedman(y, treatment, block):
    k = max(treatment) + 1
    total, cov = [Fraction(0)] * k, [[Fraction(0)] * k for _ in range(k)]
    for b in sorted(set(block)):
        rows = [i for i in range(len(y)) if block[i] == b]
        m = len(rows)
        score = [(r - Fraction(m + 1, 2)) / (m + 1) for r in ranks([y[i] for i in rows])]
        for i, s in zip(rows, score):
            total[treatment[i]] += s
        orders = list(itertools.permutations(score))
        for order in orders:
            at = [Fraction(0)] * k
            for i, s in zip(rows, order):
                at[treatment[i]] += s
            for i in range(k):
                for j in range(k):
                    cov[i][j] += at[i] * at[j] / len(orders)
    # Moore-Penrose by eigenvalues; statistic and rank.
    values, vectors = mp.eigsy(mp.matrix([[mpf(c.numerator) / c.denominator for c in row] for row in cov]))
    s = mp.matrix([mpf(t.numerator) / t.denominator for t in total])
    q, rank = mpf(0), 0
    for j in range(k):
        if abs(values[j]) > mpf(10) ** -15:
            q += (vectors[:, j].T * s)[0] ** 2 / values[j]
            rank += 1
    return q, rank, mp.gammainc(mpf(rank) / 2, q / 2, mp.inf, regularized=True)


friedman_cases = [
    dict(name="balanced incomplete", y=[7.1, 6.8, 7.4, 7.0, 6.1, 7.7, 6.5, 7.9, 6.9, 7.2, 6.0, 7.8],
         treatment=[0, 1, 2, 0, 1, 3, 0, 2, 3, 1, 2, 3], block=[0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3]),
    dict(name="two runs a cell", y=[5, 6, 7, 9, 4, 8, 3, 5, 6, 9, 2, 7], treatment=[0, 0, 1, 1, 2, 2] * 2, block=[0] * 6 + [1] * 6),
    dict(name="uneven with ties", y=[3, 3, 5, 6, 2, 4, 4, 4, 7, 1, 2, 2, 9, 8], treatment=[0, 1, 1, 2, 0, 0, 1, 2, 2, 0, 1, 1, 3, 2],
         block=[0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 2, 3, 3]),
    dict(name="two sets that never meet", y=[1, 2, 2, 1, 5, 6, 7, 4, 3, 5], treatment=[0, 1, 0, 1, 2, 3, 3, 2, 2, 3], block=[0, 0, 1, 1, 2, 2, 3, 3, 4, 4]),
    dict(name="a block without spread", y=[4, 4, 4, 1, 3, 2, 2, 5, 4], treatment=[0, 1, 2] * 3, block=[0, 0, 0, 1, 1, 1, 2, 2, 2]),
]


# --- Durbin-Watson: eigenvalues at 60 digits, Imhof's integral --------------
mp.dps = 60


def durbin_watson(e, block, columns):
    n = len(e)
    x = mp.matrix(n, len(columns))
    for j, c in enumerate(columns):
        for i in range(n):
            x[i, j] = mpf(c[i])
    a = mp.zeros(n)
    for i in range(1, n):
        if block[i] == block[i - 1]:
            a[i, i] += 1
            a[i - 1, i - 1] += 1
            a[i, i - 1] -= 1
            a[i - 1, i] -= 1
    m = mp.eye(n) - x * mp.inverse(x.T * x) * x.T
    values = sorted(mp.eigsy(m * a * m, eigvals_only=True))[len(columns):]
    v = mp.matrix([mpf(t) for t in e])
    v = m * v
    d = (v.T * a * v)[0] / (v.T * v)[0]
    lam = [w - d for w in values if abs(w - d) > mpf(10) ** -50]

    def integrand(t):
        u = mp.e ** t
        theta = sum(mp.atan(w * u) for w in lam) / 2
        return mp.sin(theta) / mp.exp(sum(mp.log1p((w * u) ** 2) for w in lam) / 4)

    def positive(h):
        total, t = mpf(0), mpf(0)
        while True:
            f = integrand(t)
            total += f
            if t > 1 and abs(f) < mpf(10) ** -52:
                break
            t += h
        t = -h
        while t > -125:
            total += integrand(t)
            t -= h
        return mpf(1) / 2 + h * total / mp.pi

    p, finer = positive(mpf(1) / 16), positive(mpf(1) / 24)
    assert abs(p - finer) < mpf(10) ** -15 * min(finer, 1 - finer), (p, finer)
    return [float(t) for t in v], d, 1 - finer, finer


def dw_case(name, e, block, columns):
    residual, d, low, high = durbin_watson(e, block, columns)
    return dict(name=name, residuals=residual, block=block, columns=columns, d=float(d), positive=float(low), negative=float(high))


one = lambda n: [1] * n
noise = [3, -1, 4, -1, 5, -9, 2, -6, 5, -3, 5, 8, -9, 7, -9, 3, 2, -3, 8, 4, -6, 2, 6, -4, 3, 3, -8, 3, 2, 7, -9, 5]
dw_cases = [
    dw_case("mean only", noise, [0] * 32, [one(32)]),
    dw_case("mean only, three runs", [1, 3, 4], [0] * 3, [one(3)]),
    dw_case("mean only, three packs", noise[:24], [i // 8 for i in range(24)], [one(24)]),
    dw_case("packs in the model", noise[:24], [i // 8 for i in range(24)], [[int(i // 8 == b) for i in range(24)] for b in range(3)]),
    dw_case("levels and drift", noise[:20], [0] * 20, [one(20), [int(i * 7 % 4 == 1) for i in range(20)], [int(i * 7 % 4 == 2) for i in range(20)], [int(i * 7 % 4 == 3) for i in range(20)], list(range(20))]),
    dw_case("strong drift", [10 * i + n for i, n in zip(range(32), noise)], [0] * 32, [one(32)]),
    dw_case("alternating", [(-1) ** i * (20 + n) for i, n in zip(range(32), noise)], [0] * 32, [one(32), list(range(32))]),
]


# --- Games-Howell: studentized range by two trapezoidal rules ---------------
mp.dps = 25


def range_tail(q, k, nu):
    q, nu = mpf(q), mpf(nu)
    h = mpf(1) / 8
    z = [h * j for j in range(-88, 89)]
    phi = [mp.npdf(t) for t in z]
    cdf = [mp.ncdf(t) for t in z]

    def beyond(w):  # P(range of k normals > w)
        return 1 - k * h * sum(p * (c - mp.ncdf(t - w)) ** (k - 1) for t, p, c in zip(z, phi, cdf))

    # s = exp(x), s^2 = chi-squared/nu
    const = mp.log(2) + nu / 2 * mp.log(nu / 2) - mp.loggamma(nu / 2)
    step = mp.mpf(1) / 6 / mp.sqrt(nu)
    total, weight = mpf(0), mpf(0)
    for j in range(-150, 60):
        x = j * step
        density = mp.e ** (const + nu * x - nu / 2 * mp.e ** (2 * x))
        if density < mpf(10) ** -22:
            continue
        weight += density * step
        total += density * step * beyond(q * mp.e ** x)
    return total, weight


def range_quantile(alpha, k, nu, guess):
    f = lambda q: range_tail(q, k, nu)[0] / alpha - 1
    return mp.findroot(f, (guess, guess * mpf("1.01")), tol=1e-26, maxsteps=12)


def games_howell(groups, alpha):
    k, out = len(groups), []
    mean = [sum(map(mpf, map(str, g))) / len(g) for g in groups]
    var = [sum((mpf(str(x)) - m) ** 2 for x in g) / (len(g) - 1) for g, m in zip(groups, mean)]
    for j in range(k):
        for i in range(j):
            a, b = var[i] / len(groups[i]), var[j] / len(groups[j])
            df = (a + b) ** 2 / (a ** 2 / (len(groups[i]) - 1) + b ** 2 / (len(groups[j]) - 1))
            diff, se = mean[j] - mean[i], mp.sqrt(a + b)
            t = diff / se
            tail, weight = range_tail(mp.sqrt(2) * abs(t), k, df)
            assert abs(weight - 1) < mpf(10) ** -14, (weight, df)
            half = range_quantile(mpf(alpha), k, df, mpf(4)) * se / mp.sqrt(2)
            out.append([float(v) for v in (j, i, diff, se, df, t, tail, diff - half, diff + half)])
    return out


# --- Dunn -------------------------------------------------------------------
def dunn(groups):
    pooled = [x for g in groups for x in g]
    n, r = len(pooled), ranks(pooled)
    ties = sum(Fraction(t ** 3 - t) for t in (pooled.count(x) for x in set(pooled)))
    variance = Fraction(n * (n + 1), 12) - ties / (12 * (n - 1))
    mean, at = [], 0
    for g in groups:
        mean.append(sum(r[at:at + len(g)]) / len(g))
        at += len(g)
    out = []
    for j in range(len(groups)):
        for i in range(j):
            v = variance * (Fraction(1, len(groups[i])) + Fraction(1, len(groups[j])))
            d = mean[j] - mean[i]
            z = (mpf(d.numerator) / d.denominator) / mp.sqrt(mpf(v.numerator) / v.denominator)
            out.append([j, i, num(d), float(z), float(mp.erfc(abs(z) / mp.sqrt(2)))])
    return out


grouped = json.load(open("r.json"))["grouped"]
for c in friedman_cases:
    q, rank, p = friedman(c["y"], c["treatment"], c["block"])
    c["want"] = [float(q), rank, float(p)]
json.dump(dict(
    fisher=[dict(failed=f, runs=n, p=num(fisher(f, n))) for f, n in fisher_cases],
    stretches=[dict(above=a, below=b, count=r, few=num(stretches(a, b, r)[0]), many=num(stretches(a, b, r)[1])) for a, b, r in stretch_cases],
    friedman=friedman_cases,
    durbinwatson=dw_cases,
    gameshowell=[dict(name=g["name"], alpha=0.05, groups=g["groups"], want=games_howell(g["groups"], 0.05)) for g in grouped if g["name"] in ("three levels", "unequal", "two levels")],
    dunn=[dict(name=g["name"], groups=g["groups"], want=dunn(g["groups"])) for g in grouped],
), open("exact.json", "w"))
