#!/usr/bin/env python3
"""Reference values for stats/power by mpmath (30 digits) and high-order quadrature.

python3 reference.py > reference.json

Nothing here shares a formula's implementation with the package: noncentral t
probabilities come from integrating the normal tail over the law of the
estimated noise, verdict chances from 30-point panels of the same integral in
30 digits, boundaries from one Gauss-Legendre rule over each whole
continuation region instead of panels. Tukey's and Dunnett's critical values
are found by double quadrature in float64 (400 x 400 points), good to 1e-12; so is
assurance, the power averaged over the noise once more.
"""
import json
import sys
from functools import lru_cache

import numpy as np
from mpmath import mp, mpf, sqrt, exp, log, erfc, gamma, findroot, inf, betainc
from scipy import optimize, special

mp.dps = 30


@lru_cache(None)
def nodes(n):
    x, w = np.polynomial.legendre.leggauss(n)
    xs, ws = [], []
    for v in x:  # Newton polish to full precision
        v = mpf(float(v))
        for _ in range(2):
            p0, p1 = mpf(1), v
            for k in range(2, n + 1):
                p0, p1 = p1, ((2 * k - 1) * v * p1 - (k - 1) * p0) / k
            d = n * (v * p1 - p0) / (v * v - 1)
            v -= p1 / d
        p0, p1 = mpf(1), v
        for k in range(2, n + 1):
            p0, p1 = p1, ((2 * k - 1) * v * p1 - (k - 1) * p0) / k
        d = n * (v * p1 - p0) / (v * v - 1)
        xs.append(v)
        ws.append(2 / ((1 - v * v) * d * d))
    return xs, ws


def above(x):
    return erfc(x / sqrt(mpf(2))) / 2


def chi_density(u, df):
    df = mpf(df)
    return 2 * (df / 2) ** (df / 2) / gamma(df / 2) * u ** (df - 1) * exp(-df * u * u / 2)


def over_noise(f, df, steep=mpf(1), far=None, kinks=()):
    """Expectation of f(s/sigma) with df degrees of freedom, by 30-point panels.

    f bends over 1/steep, and not beyond far. The variable is v = sqrt(u), in
    which the density is smooth at 0 for degrees of freedom that are multiples
    of one half.
    """
    if df == inf:
        return f(mpf(1))
    reach = 12 / sqrt(mpf(df))
    low, high = max(mpf(0), 1 - reach), 1 + reach
    far = high if far is None else min(high, max(low, mpf(far)))
    marks = sorted({low, far, high} | {mpf(k) for k in kinks if low < k < high})
    x, w = nodes(30)
    total = mpf(0)
    for a, b in zip(marks, marks[1:]):
        widest = (high - low) / 24
        if a < far:
            widest = min(widest, 6 / mpf(steep))
        n = int(mp.ceil((b - a) / widest))
        h = (b - a) / n / 2
        for i in range(n):
            p, q = sqrt(a + 2 * h * i), sqrt(a + 2 * h * (i + 1))
            for xi, wi in zip(x, w):
                v = (p + q) / 2 + (q - p) / 2 * xi
                total += (q - p) / 2 * wi * 2 * v * f(v * v) * chi_density(v * v, df)
    return total


def t_upper(alpha, df):
    if df == inf:
        return sqrt(mpf(2)) * mp.erfinv(1 - 2 * mpf(alpha))
    df = mpf(df)
    tail = lambda x: betainc(df / 2, mpf(1) / 2, 0, df / (df + x * x), regularized=True) / 2
    guess = float(special.stdtrit(float(df), 1 - float(alpha)))
    return findroot(lambda x: tail(x) - mpf(alpha), mpf(guess))


GL = np.polynomial.legendre.leggauss(400)


def double_noise(df):
    if df == inf:
        return np.array([1.0]), np.array([1.0])
    x, w = GL
    reach = 10 / np.sqrt(df)
    low, high = max(0, 1 - reach), 1 + reach
    u = low + (high - low) * (x + 1) / 2
    logf = np.log(2) + df / 2 * np.log(df / 2) - special.gammaln(df / 2) + (df - 1) * np.log(u) - df * u * u / 2
    f = w * np.exp(logf)
    return u, f / f.sum()


def family_upper(kind, levels, alpha, df):
    """Critical value by double quadrature; kind pairs, baseline, best."""
    if kind == "single" or levels == 2:
        return t_upper(mpf(alpha) / 2, df)
    if kind == "best":
        upper = float(family_upper("pairs", levels, alpha, df))  # the constant of the high ends
    u, fu = double_noise(df)
    x, w = GL
    z, fz = 10 * x, 10 * w * np.exp(-50 * x * x) / np.sqrt(2 * np.pi)
    Phi = special.ndtr

    def miss(c):
        h = c * u[:, None] * np.sqrt(2)
        if kind == "pairs":
            # largest at z, all others within the range below it
            inner = levels * (Phi(z[None, :]) - Phi(z[None, :] - h)) ** (levels - 1)
        elif kind == "baseline":
            inner = (Phi(z[None, :] + h) - Phi(z[None, :] - h)) ** (levels - 1)
        else:
            # the low ends of all levels less the best of the others (stats/law, LessBest)
            g = upper * u[:, None] * np.sqrt(2)
            inner = (Phi(z[None, :] + h) - Phi(z[None, :] - g)) ** (levels - 2) * (Phi(z[None, :] + h) - Phi(z[None, :] - h))
        return 1 - fu @ inner @ fz - alpha

    return mpf(float(optimize.brentq(miss, 0.1, 200, xtol=1e-14, rtol=1e-14)))


critical = lru_cache(None)(family_upper)


def found(kind, delta, df, x):
    return over_noise(lambda u: above(x * u - delta) + above(x * u + delta), df, x, (delta + 14) / x)


def shown_float(levels, delta, df, x):
    """The chance that a level delta above each of the others leads every one by x estimated standard errors, for an array of delta."""
    u, fu = double_noise(df)
    gl, w = GL
    z, fz = 10 * gl, 10 * w * np.exp(-50 * gl * gl) / np.sqrt(2 * np.pi)
    return np.array([fu @ special.ndtr(z[None, :] + np.sqrt(2) * (d - float(x) * u[:, None])) ** (levels - 1) @ fz for d in np.atleast_1d(np.asarray(delta, dtype=float))])


def between(a, b):
    return above(a) - above(b) if b > a else mpf(0)


def words(m, truth, df, x):
    ring = lambda a, b: between(a - truth, b - truth) + between(-b - truth, -a - truth)
    k = (m / 2 / x, m / x)
    e = lambda f: over_noise(lambda u: f(x * u), df, x, (m + abs(truth) + 14) / x, k)
    return [
        e(lambda h: above(h + m - truth) + above(h + m + truth)),
        e(lambda h: ring(max(h, m - h), m + h)),
        e(lambda h: ring(h, m - h)),
        e(lambda h: between(-min(h, m - h) - truth, min(h, m - h) - truth)),
        e(lambda h: ring(max(mpf(0), m - h), h)),
    ]


def num(x):
    return float(x)


def df_json(df):
    return 0 if df == inf else df  # 0 stands for infinite in the file


out = {"power": [], "words": [], "assurance": [], "noise": [], "constants": [], "looks": [], "false_alarms": [], "crossing": [], "inflation": []}

for kind, levels in (("single", 2), ("pairs", 2), ("pairs", 3), ("pairs", 4), ("pairs", 9), ("baseline", 3), ("baseline", 5), ("best", 2), ("best", 4)):
    for alpha, df, delta in ((0.05, 5, 3), (0.05, 24, 4), (0.01, 60, 5.5), (0.1, 1, 2), (0.05, 12, 0), (0.05, inf, 3.5), (0.05, 400, 1)):
        if df == 1 and kind != "single":
            continue
        x = critical(kind, levels, alpha, df)
        if kind == "best":
            value = num(shown_float(levels, delta, df, x)[0])
            out["power"].append({"family": kind, "levels": levels, "alpha": alpha, "df": df_json(df), "delta": delta, "critical": num(x), "power": value, "inside": value})
            continue
        delta = mpf(delta)
        out["power"].append({
            "family": kind, "levels": levels, "alpha": alpha, "df": df_json(df), "delta": num(delta),
            "critical": num(x), "power": num(found(kind, delta, df, x)),
            "inside": num(sum(words(delta, mpf(0), df, x)[2:4])) if delta > 0 else 0,
        })

print("words", file=sys.stderr)
for kind, levels, alpha, df, m, truth in (
    ("single", 2, 0.05, 8, 4, 4), ("single", 2, 0.05, 1, 20, 3), ("single", 2, 0.001, 1, 5, 2), ("pairs", 4, 0.05, 24, 5, 0), ("pairs", 4, 0.05, 24, 5, 2.5),
    ("pairs", 4, 0.05, 24, 5, -9), ("pairs", 6, 0.01, 120, 9, 4), ("baseline", 4, 0.05, 30, 8, 0), ("baseline", 4, 0.05, inf, 6, 3), ("single", 2, 0.2, 2.5, 3, 1),
):
    x = critical(kind, levels, alpha, df)
    out["words"].append({"family": kind, "levels": levels, "alpha": alpha, "df": df_json(df), "margin": m, "truth": truth,
                         "words": [num(v) for v in words(mpf(m), mpf(truth), df, x)]})

print("assurance", file=sys.stderr)
def found_float(kind, delta, df, x):
    """found() in float64, for an array of delta: 400 points over the noise."""
    u, f = double_noise(df)
    h = float(x) * u[:, None]
    return f @ (special.ndtr(delta[None, :] - h) + special.ndtr(-delta[None, :] - h))


for kind, levels, df, noise_df, m in (("single", 2, 10, 5, 3), ("pairs", 4, 24, 9, 4.5), ("pairs", 4, 24, 1, 4.5), ("baseline", 5, 40, 30, 4), ("best", 3, 15, 3, 3)):
    x = critical(kind, levels, 0.05, df)
    u, f = double_noise(noise_df)
    value = f @ (shown_float(levels, m * u, df, x) if kind == "best" else found_float(kind, m * u, df, x))
    out["assurance"].append({"family": kind, "levels": levels, "alpha": 0.05, "df": df, "noise_df": noise_df, "margin": m, "assurance": num(value)})


print("looks", file=sys.stderr)


class Walk:
    def __init__(self, points=64):
        self.t, self.s, self.m, self.points = mpf(0), [mpf(0)], [mpf(1)], points

    def leaves(self, z, t, delta=0):
        dt, b = t - self.t, z * sqrt(t)
        return sum(m * (above((b - s - delta * dt) / sqrt(dt)) + above((b + s + delta * dt) / sqrt(dt))) for s, m in zip(self.s, self.m))

    def onward(self, z, t, delta=0):
        dt, b = t - self.t, z * sqrt(t)
        x, w = nodes(self.points)
        new = Walk(self.points)
        new.t = t
        new.s = [b * v for v in x]
        new.m = [b * wi * sum(m * exp(-((y - s - delta * dt) ** 2) / (2 * dt)) for s, m in zip(self.s, self.m)) / sqrt(2 * mp.pi * dt)
                 for y, wi in zip(new.s, w)]
        return new


mp.dps = 22


def crossing(zs, ts, delta=0):
    walk, result = Walk(), []
    for z, t in zip(zs, ts):
        result.append(walk.leaves(z, t, delta))
        if t != ts[-1]:
            walk = walk.onward(z, t, delta)
    return result


def boundary(spent, ts):
    walk, before, zs = Walk(), mpf(0), []
    for t, a in zip(ts, spent):
        f = lambda z: log(walk.leaves(z, t) / (a - before))
        lo, hi = mpf(0), mpf(16)
        for _ in range(12):
            mid = (lo + hi) / 2
            if walk.leaves(mid, t) > a - before:
                lo = mid
            else:
                hi = mid
        z = findroot(f, (lo, hi), tol=1e-30)
        zs.append(z)
        before = a
        if t != ts[-1]:
            walk = walk.onward(z, t)
    return zs


def equal(k):
    return [mpf(i) / k for i in range(1, k + 1)]


def spend(kind, t, alpha):
    t = min(t, mpf(1))
    if kind == "pocock":
        return alpha * log(1 + (exp(mpf(1)) - 1) * t)
    z = t_upper(alpha / 4, inf)
    return 4 * above(z / sqrt(t))


for k in (2, 3, 4, 5):
    ts = equal(k)
    for name, power in (("pocock", 0), ("obrien-fleming", mpf(1) / 2)):
        shape = lambda c: [c * (1 / t) ** power for t in ts]
        c = findroot(lambda c: sum(crossing(shape(c), ts)) - mpf("0.05"), (mpf("1.95"), mpf("2.5")), tol=1e-30)
        out["constants"].append({"looks": k, "kind": name, "alpha": 0.05, "constant": num(c)})

# Exact fractions of the doubles the package is given.
for kind in ("obrien-fleming", "pocock"):
    for alpha, ts in [(0.05, equal(k)) for k in (1, 2, 3, 4, 5, 10)] + [(0.01, equal(4)), (0.05, [mpf("0.2"), mpf("0.3"), mpf("0.9"), mpf(1)]), (0.05, [mpf("0.5"), mpf("1.2")]), (0.05, [mpf("0.1"), mpf("0.15"), mpf("0.5")])]:
        for final in (False, True):
            if final and ts[-1] >= 1:
                continue
            spent = [spend(kind, t, mpf(alpha)) for t in ts]
            if final:
                spent[-1] = mpf(alpha)
            zs = boundary(spent, ts)
            out["looks"].append({"spending": kind, "alpha": alpha, "final": final, "fractions": [num(t) for t in ts], "spent": [num(a) for a in spent],
                                 "z": [num(z) for z in zs], "level": [num(2 * above(z)) for z in zs]})
            if alpha == 0.05 and len(ts) in (2, 5) and not final:
                for delta in (mpf("1.5"), mpf("3.25")):
                    out["crossing"].append({"spending": kind, "alpha": alpha, "fractions": [num(t) for t in ts], "delta": num(delta),
                                            "crossing": [num(p) for p in crossing(zs, ts, delta)]})
            if alpha == 0.05 and len(ts) in (2, 3, 5) and ts[-1] == 1:
                for power in (mpf("0.8"), mpf("0.9")):
                    delta = findroot(lambda d: sum(crossing(zs, ts, d)) - power, (mpf(2), mpf(4)), tol=1e-25)
                    z = t_upper(mpf("0.025"), inf)
                    fixed = findroot(lambda d: above(z - d) + above(z + d) - power, mpf(3))
                    out["inflation"].append({"spending": kind, "fractions": [num(t) for t in ts], "power": num(power), "inflation": num((delta / fixed) ** 2)})

for k in (1, 2, 3, 4, 5, 10):
    z = t_upper(mpf("0.025"), inf)
    out["false_alarms"].append({"level": 0.05, "looks": k, "chance": num(sum(crossing([z] * k, equal(k))))})

mp.dps = 30
for df, confidence in ((5, 0.95), (24, 0.9), (1, 0.95), (7.5, 0.8)):
    df = mpf(df)
    tail = lambda p: findroot(lambda x: mp.gammainc(df / 2, 0, x / 2, regularized=True) - p, mpf(float(special.gammaincinv(float(df) / 2, float(p)) * 2)))
    c = mpf(confidence)
    out["noise"].append({"df": num(df), "confidence": confidence, "low": num(sqrt(df / tail((1 + c) / 2))), "high": num(sqrt(df / tail((1 - c) / 2))),
                         "upper": num(sqrt(df / tail(1 - c)))})

print(json.dumps(out, indent=1))
