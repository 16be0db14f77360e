"""Complete power.json in 40 digits: the fields named *_precise, noncentral tails, and power of comparisons.

    P(T > t)  = E Phi(delta - t S),  S = chi/sqrt(df)      (noncentral t)
    P(F > f)  = sum over j of Poisson(j; lambda/2) * beta tail with d1/2 + j  (noncentral F)
    P(X > x)  = the same sum of gamma tails                (noncentral chi-squared)

Every term is positive, so small tails keep their digits. The power of one
comparison in a family is P(|T| > c) with c the family's critical value: the
studentized range (ranges.py), or Dunnett's with correlation 1/2 (dunnett.py).
"""

import json
import math

import numpy as np
from mpmath import mp, mpf

import dunnett
import ranges

mp.dps = 40


def scale(df):
    """Trapezoidal nodes and weights of S in log s."""
    df = mpf(df)
    h = mpf(min(0.05, 0.25 / math.sqrt(2 * float(df))))
    c = mp.log(2) + df / 2 * mp.log(df / 2) - mp.loggamma(df / 2)
    out = []
    for direction in (1, -1):
        i = 0 if direction == 1 else 1
        while True:
            x = direction * i * h
            log = c + df * x - df * mp.exp(2 * x) / 2
            if log < -90 - df and i > 10 or log < -88:
                break
            out.append((mp.exp(x), h * mp.exp(log)))
            i += 1
    return out


_scales = {}


def t_tail(t, df, delta, upper=True):
    """P(T > t), or P(T < t)."""
    if df not in _scales:
        _scales[df] = scale(df)
    t, delta = mpf(t), mpf(delta)
    sign = 1 if upper else -1
    return mp.fsum(w * mp.erfc(sign * (t * s - delta) / mp.sqrt(2)) / 2 for s, w in _scales[df])


def two_sided(c, df, delta):
    return t_tail(c, df, delta) + t_tail(-c, df, delta, upper=False)


def f_tail(f, d1, d2, lam):
    """P(F > f) by the Poisson mixture, beta tails by upward recurrence."""
    a, b = mpf(d1) / 2, mpf(d2) / 2
    x = d1 * mpf(f) / (d2 + d1 * mpf(f))
    tail = mp.betainc(b, a, 0, 1 - x, regularized=True)
    step = mp.exp(a * mp.log(x) + b * mp.log1p(-x) - mp.log(a) - mp.log(mp.beta(a, b)))
    weight = mp.exp(-mpf(lam) / 2)
    total, mass, j = mpf(0), mpf(0), 0
    while True:
        total += weight * tail
        mass += weight
        if 1 - mass < mpf(10) ** -36 and j > lam / 2:
            return total
        tail += step
        step *= x * (a + b + j) / (a + 1 + j)
        j += 1
        weight *= mpf(lam) / 2 / j


def chi_tail(x, d, lam):
    a, x = mpf(d) / 2, mpf(x) / 2
    tail = mp.gammainc(a, x, mp.inf, regularized=True)
    step = mp.exp(a * mp.log(x) - x - mp.loggamma(a + 1))
    weight = mp.exp(-mpf(lam) / 2)
    total, mass, j = mpf(0), mpf(0), 0
    while True:
        total += weight * tail
        mass += weight
        if 1 - mass < mpf(10) ** -36 and j > lam / 2:
            return total
        tail += step
        j += 1
        step *= x / (a + j)
        weight *= mpf(lam) / 2 / j


def root(f, start):
    a, b = mpf(start), mpf(start) * (1 + mpf(10) ** -4)
    fa, fb = f(a), f(b)
    for _ in range(60):
        if fb == fa:
            return b
        a, fa, b = b, fb, b - fb * (b - a) / (fb - fa)
        if abs(b - a) < abs(b) * mpf(10) ** -22:
            return b
        fb = f(b)
    raise RuntimeError("root does not settle")


_t_quantiles = {}


def t_quantile(alpha, df):
    """The t with two-sided tail alpha."""
    if (alpha, df) not in _t_quantiles:
        tail = lambda t: mp.betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + t * t), regularized=True)
        z = float(mp.sqrt(2) * mp.erfinv(1 - mpf(alpha)))
        t = 1 / mp.sqrt(mpf(alpha)) if df == 1 else mpf(z * (1 + (z * z + 1) / 4 / df))
        _t_quantiles[alpha, df] = root(lambda t: mp.log(tail(t) / mpf(alpha)), t)
    return _t_quantiles[alpha, df]


def f_quantile(alpha, d1, d2):
    tail = lambda f: mp.betainc(mpf(d2) / 2, mpf(d1) / 2, 0, d2 / (d2 + d1 * f), regularized=True)
    return root(lambda f: mp.log(tail(f) / mpf(alpha)), 3 + mpf(8) / d2)


worst = {}


def agree(name, r, exact, tolerance):
    err = float(abs(mpf(r) - exact))
    worst[name] = max(worst.get(name, 0), err)
    assert err < tolerance, (name, r, exact)


_criticals = {}


def critical(family, k, df):
    """The family's two-sided 0.05 critical value on the scale of t."""
    if (family, k, df) not in _criticals:
        single = t_quantile(mpf("0.05"), df)
        start = float(single) * (1 + 0.3 * math.log(k / 2))
        if k == 2:
            c = single
        elif family == "tukey":
            c = ranges.quantile(mpf("0.05"), k, df, start * 2**0.5) / mp.sqrt(2)
        else:
            c = mpf(dunnett.law(np.full((k - 1, k - 1), 0.5) + 0.5 * np.eye(k - 1), float(df)).quantile(0.05, 2, start))
        _criticals[family, k, df] = c
    return _criticals[family, k, df]


def main():
    alpha = mpf("0.05")
    with open("power.json") as f:
        doc = json.load(f)
    for r in doc["t_test"]:
        n = r["n"]
        df, delta = (2 * (n - 1), r["delta"] * mp.sqrt(mpf(n) / 2)) if r["type"] == "two.sample" else (n - 1, r["delta"] * mp.sqrt(mpf(n)))
        p = two_sided(t_quantile(alpha, df), df, delta)
        agree("t_test", r["power"], p, 1e-9)
        r["df"], r["ncp"], r["power_precise"] = df, float(delta), float(p)
    for r in doc["anova"]:
        k, n = r["groups"], r["n"]
        lam = mpf(str(r["f"])) ** 2 * k * n
        p = f_tail(f_quantile(alpha, k - 1, k * (n - 1)), k - 1, k * (n - 1), lam)
        agree("anova", r["power"], p, 1e-9)
        r["ncp"], r["power_precise"] = float(lam), float(p)
    for r in doc["noncentrality"]:
        power = mpf(str(r["power"]))
        if r["law"] == "t":
            c = t_quantile(alpha, r["df"])
            x = root(lambda l: two_sided(c, r["df"], l) - power, r["ncp"])
        else:
            c = f_quantile(alpha, r["df1"], r["df"])
            x = root(lambda l: f_tail(c, r["df1"], r["df"], l) - power, r["ncp"])
        agree("noncentrality", r["ncp"], x, 1e-5)
        r["ncp_precise"] = float(x)

    doc["noncentral_t"] = [
        {"t": t, "df": df, "ncp": d, "upper": float(t_tail(str(t), df, str(d))), "lower": float(t_tail(str(t), df, str(d), upper=False))}
        for df in (1, 2, 3.5, 10, 48, 200) for d in (-2.5, 0, 0.7, 3, 8, 25) for t in (-4, 0, 1.5, 2.2, 6, 30)]
    doc["noncentral_f"] = [
        {"f": f, "df1": d1, "df2": d2, "ncp": lam, "upper": float(f_tail(str(f), d1, d2, lam))}
        for d1, d2 in ((1, 4), (2, 15), (3, 16), (7, 40), (12.5, 180)) for lam in (0.5, 4, 20, 90) for f in (0.2, 1, 3, 8, 60, 900)]
    doc["noncentral_chi_squared"] = [
        {"x": x, "df": d, "ncp": lam, "upper": float(chi_tail(str(x), d, lam))}
        for d in (1, 2.5, 6, 30) for lam in (0.5, 4, 20, 90) for x in (0.2, 3, 15, 60, 250, 900)]

    # one comparison of a family: one-way (df = k(n-1)) and complete blocks (one run of each treatment a block: df = (k-1)(n-1))
    doc["comparisons"] = []
    for design in ("one-way", "blocks"):
        for k in (2, 3, 4, 6, 8):
            for n in (2, 3, 4, 6, 10, 20):
                df = k * (n - 1) if design == "one-way" else (k - 1) * (n - 1)
                if df < 2:
                    continue
                tukey, pair = critical("tukey", k, df), critical("dunnett", k, df)
                for effect in (0.5, 1, 2, 4):
                    delta = effect * mp.sqrt(mpf(n) / 2)
                    doc["comparisons"].append({
                        "design": design, "groups": k, "n": n, "df": df, "alpha": 0.05, "effect": effect, "ncp": float(delta),
                        "tukey_critical": float(tukey), "tukey_power": float(two_sided(tukey, df, delta)),
                        "dunnett_critical": float(pair), "dunnett_power": float(two_sided(pair, df, delta))})

    # the fewest runs a treatment for a power of 0.9, one-way, by the powers above at every n
    doc["replicates"] = []
    for k in (2, 3, 4, 6):
        for effect in (1, 1.5, 2, 3):
            row = {"groups": k, "effect": effect, "alpha": 0.05, "power": 0.9}
            for family in ("tukey", "dunnett"):
                power = lambda n: float(two_sided(critical(family, k, k * (n - 1)), k * (n - 1), effect * mp.sqrt(mpf(n) / 2)))
                low, high = 1, 64  # power is short at low, enough at high
                assert power(high) >= 0.9
                while high - low > 1:
                    mid = (low + high) // 2
                    low, high = (low, mid) if power(mid) >= 0.9 else (mid, high)
                row[family + "_n"], row[family + "_power"] = high, power(high)
                row[family + "_power_one_fewer"] = power(low) if low > 1 else None
            doc["replicates"].append(row)
    with open("power.json", "w", newline="\n") as f:
        json.dump(doc, f, indent=0)
        f.write("\n")
    print(worst)


main()
