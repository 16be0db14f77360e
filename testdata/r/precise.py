"""Check make.R's results in 50-digit arithmetic and add the fields named *_precise.

    Rscript make.R && python3 precise.py [NAME ...]

Everything is recomputed from the decimal text of NAME.csv and the request in
NAME.json, nothing is taken from R: least squares by the sweep operator in 50
digits, tails of t and F by the incomplete beta function, the studentized range
by quadrature in 40 digits (file ranges.py), Dunnett's laws by quadrature in
double precision with only positive terms (file dunnett.py). The script fails
if R and this disagree by more than the tolerances R's numbers are given, and
prints the worst disagreement of each quantity.
"""

import csv
import glob
import itertools
import json
import sys

import numpy as np
from mpmath import mp, mpf

import dunnett
import ranges

mp.dps = 50

worst = {}


def agree(quantity, want, got, tolerance, where, floor=0):
    """Relative agreement of R's want with got; differences under floor pass."""
    got = mpf(got)
    err = abs(mpf(want) - got)
    if got != 0:
        err = err if abs(got) < floor else err / abs(got)
    if err > worst.get(quantity, (0,))[0]:
        worst[quantity] = (float(err), where)
    if err > tolerance and abs(mpf(want) - got) > floor:
        print("DIFFERS", where, quantity, want, mp.nstr(got, 17), float(err))


# ---- laws ----

def t_two_sided(t, df):
    return mp.betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + t * t), regularized=True)


def t_upper(t, df):
    p = t_two_sided(t, df) / 2
    return p if t > 0 else 1 - p


def f_upper(f, d1, d2):
    return mp.betainc(mpf(d2) / 2, mpf(d1) / 2, 0, d2 / (d2 + d1 * f), regularized=True)


def secant(f, x, step):
    """Root of f near x."""
    a, b = mpf(x), mpf(x) * (1 + step)
    fa, fb = f(a), f(b)
    for _ in range(60):
        if fb == fa:
            return b
        a, b, fa = b, b - fb * (b - a) / (fb - fa), fb
        if abs(b - a) < abs(b) * mpf(10) ** -22:
            return b
        fb = f(b)
    raise RuntimeError("secant does not settle")


def t_quantile(p, df, start):
    """The t with two-sided tail p."""
    return secant(lambda t: mp.log(t_two_sided(t, df) / p), start, 1e-4)


# ---- least squares ----

def sweep_fit(columns, y):
    """Least squares of y on columns: coefficients, generalised inverse, RSS, rank, kept columns."""
    cols = columns + [y]
    k = len(cols)
    a = [[None] * k for _ in range(k)]
    for i in range(k):
        for j in range(i, k):
            a[i][j] = a[j][i] = mp.fdot(zip(cols[i], cols[j]))
    size = [a[i][i] for i in range(k)]
    kept = []
    for p in range(k - 1):
        if a[p][p] <= size[p] * mpf(10) ** -35:
            continue
        kept.append(p)
        d = a[p][p]
        row = [v / d for v in a[p]]
        for i in range(k):
            if i == p:
                continue
            c = a[i][p]
            if c == 0:
                continue
            ai = a[i]
            for j in range(k):
                ai[j] -= c * row[j]
            ai[p] = -c / d
        a[p] = row
        a[p][p] = 1 / d
    beta = {p: a[p][k - 1] for p in kept}
    inverse = {(p, q): a[p][q] for p in kept for q in kept}
    return beta, inverse, a[k - 1][k - 1], kept


class Model:
    """Rows of a case as dummies, term by term."""

    def __init__(self, rows, request):
        self.request = request
        factors = list(request["treatments"]) + list(request["blocks"])
        used = [request["response"]] + factors + list(request["covariates"])
        self.rows = [r for r in rows if all(r[c] != "" for c in used)]
        self.n = len(self.rows)
        y = [mpf(r[request["response"]]) for r in self.rows]
        self.y = [mp.log(v) for v in y] if request["scale"] == "log" else y
        self.levels = {f: list(dict.fromkeys(r[f] for r in self.rows)) for f in factors}
        self.covariates = {c: [mpf(r[c]) for r in self.rows] for c in request["covariates"]}
        self.treatments = list(request["treatments"])
        self.crossed = request["interactions"] and len(self.treatments) > 1
        if self.crossed:
            self.terms = [":".join(c) for m in range(1, len(self.treatments) + 1) for c in itertools.combinations(self.treatments, m)]
        else:
            self.terms = list(self.treatments)
        self.base = list(request["blocks"]) + list(request["covariates"])

    def cell(self, row, term):
        return " ".join(row[f] for f in term.split(":"))

    def term(self, term):
        if term in self.covariates:
            return {term: self.covariates[term]}
        names = dict.fromkeys(self.cell(r, term) for r in self.rows)
        return {v: [mpf(self.cell(r, term) == v) for r in self.rows] for v in names}

    def design(self, terms):
        keys, cols = [("", "")], [[mpf(1)] * self.n]
        for t in terms:
            for v, col in self.term(t).items():
                keys.append((t, v))
                cols.append(col)
        return keys, cols

    def rss(self, terms):
        _, cols = self.design(terms)
        _, _, rss, kept = sweep_fit(cols, self.y)
        return rss, len(kept)

    def anova(self):
        out = {}
        every = self.base + self.terms
        for t in every:
            own = set(t.split(":"))
            without = [u for u in every if not own <= set(u.split(":"))]
            a, ra = self.rss(without)
            b, rb = self.rss(without + [t])
            out[t] = (rb - ra, a - b)
        rss, rank = self.rss(every)
        null, r0 = self.rss(self.base)
        return out, (rank - r0, null - rss), rss, self.n - rank

    def means(self, factor):
        """Adjusted means of a factor (or of the cells): names, estimates, covariance over sigma squared, counts."""
        terms = self.base + ([factor] if ":" in factor else self.treatments)
        keys, cols = self.design(terms)
        beta, inverse, _, kept = sweep_fit(cols, self.y)
        names = list(self.term(factor))
        count = {}
        for t, _ in keys:
            count[t] = count.get(t, 0) + 1
        vectors = []
        for v in names:
            l = []
            for t, u in keys:
                if t == "":
                    l.append(mpf(1))
                elif t in self.covariates:
                    l.append(mp.fsum(self.covariates[t]) / self.n)
                elif t == factor:
                    l.append(mpf(u == v))
                else:
                    l.append(mpf(1) / count[t])
            vectors.append(l)
        est = [mp.fsum(l[p] * beta[p] for p in kept) for l in vectors]
        k = len(names)
        cov = mp.matrix(k, k)
        for i in range(k):
            half = {q: mp.fsum(vectors[i][p] * inverse[p, q] for p in kept) for q in kept}
            for j in range(i, k):
                cov[i, j] = cov[j, i] = mp.fsum(half[q] * vectors[j][q] for q in kept)
        ns = [int(mp.fsum(c)) for c in self.term(factor).values()]
        return names, est, cov, ns


# ---- one case ----

def check_family(fam, model, mse, df, alpha, where):
    names, est, cov, ns = model.means(fam["factor"])
    index = {v: i for i, v in enumerate(names)}
    size = max(abs(e) for e in est)
    k = len(names)
    tq = t_quantile(alpha, df, 2)
    for m in fam["means"]:
        i = index[m["level"]]
        se = mp.sqrt(cov[i, i] * mse)
        assert m["n"] == ns[i], where
        agree("mean", m["estimate"], est[i], 1e-10, where, 1e-12 * size)
        agree("mean se", m["se"], se, 1e-10, where)
        agree("mean low", m["low"], est[i] - tq * se, 1e-10, where, 1e-11 * size)
        if "response" in m and m["response"] is not None:
            agree("mean response", m["response"], mp.exp(est[i]), 1e-10, where)

    def difference(r):
        i, j = index[r["level"]], index[r["against"]]
        e = est[i] - est[j]
        se = mp.sqrt((cov[i, i] + cov[j, j] - 2 * cov[i, j]) * mse)
        agree("difference", r["estimate"], e, 1e-10, where, 1e-12 * size)
        agree("difference se", r["se"], se, 1e-10, where)
        agree("t", r["t"], e / se, 1e-10, where, 1e-11)
        agree("p", r["p"], t_two_sided(e / se, df), 1e-10, where)
        return e, se, e / se

    if k == 2:
        crit = t_quantile(alpha, df, 2)
    else:
        crit = ranges.quantile(alpha, k, df, fam["tukey_critical"] * 2**0.5) / mp.sqrt(2)
    agree("tukey critical", fam["tukey_critical"], crit, 1e-6, where)
    fam["tukey_critical_precise"] = float(crit)
    for r in fam["pairs"]:
        e, se, t = difference(r)
        p = t_two_sided(t, df) if k == 2 else ranges.survival(abs(t) * mp.sqrt(2), k, df)
        agree("p_tukey", r["p_tukey"], p, 1e-6, where, 1e-9)
        g = mp.gamma(mpf(df) / 2) / mp.gamma(mpf(df - 1) / 2) / mp.sqrt(mpf(df) / 2)
        agree("hedges_g", r["hedges_g"], e / mp.sqrt(mse) * g, 1e-10, where, 1e-11)
        r["p_tukey_precise"] = float(p)
        r["low_precise"], r["high_precise"] = float(e - crit * se), float(e + crit * se)

    b = fam["baseline"]
    rows = b["comparisons"]
    m = len(rows)
    j0 = index[b["level"]]
    ix = [index[r["level"]] for r in rows]
    c = lambda i, j: cov[i, j] - cov[i, j0] - cov[j, j0] + cov[j0, j0]
    corr = [[c(i, j) / mp.sqrt(c(i, i) * c(j, j)) for j in ix] for i in ix]
    if m == 1:
        b["correlation_structure"] = "single"
        law = None
        c2, c1 = t_quantile(alpha, df, 2), t_quantile(2 * alpha, df, 2)
    else:
        law = dunnett.law(np.array([[float(v) for v in row] for row in corr]), float(df))
        if law is None:
            b["correlation_structure"] = "general"
            for r in rows:
                difference(r)
            return
        b["correlation_structure"] = law.structure
        c2, c1 = law.quantile(float(alpha), 2, b["critical"]), law.quantile(float(alpha), 1, b["critical_one_sided"])
    agree("dunnett critical", b["critical"], c2, 1e-3, where)
    agree("dunnett one-sided critical", b["critical_one_sided"], c1, 1e-3, where)
    b["critical_precise"], b["critical_one_sided_precise"] = float(c2), float(c1)
    for r in rows:
        e, se, t = difference(r)
        if law is None:
            p2, pg, pl = t_two_sided(t, df), t_upper(t, df), t_upper(-t, df)
        else:
            tf = float(t)
            p2, pg, pl = law.survival(abs(tf), 2), law.survival(tf, 1), law.survival(-tf, 1)
        agree("p_dunnett", r["p_dunnett"], p2, 1e-4, where, 2e-4)
        agree("p_dunnett one-sided", r["p_dunnett_greater"], pg, 1e-4, where, 2e-4)
        agree("p_dunnett one-sided", r["p_dunnett_less"], pl, 1e-4, where, 2e-4)
        r["p_dunnett_precise"], r["p_dunnett_greater_precise"], r["p_dunnett_less_precise"] = float(p2), float(pg), float(pl)
        c2m, c1m = mpf(c2), mpf(c1)
        r["low_precise"], r["high_precise"] = float(e - c2m * se), float(e + c2m * se)
        r["low_one_sided_precise"], r["high_one_sided_precise"] = float(e - c1m * se), float(e + c1m * se)


def check_games_howell(rows, model, alpha, where):
    groups = {}
    for r, y in zip(model.rows, model.y):
        groups.setdefault(model.cell(r, ":".join(model.treatments)), []).append(y)
    k = len(groups)
    mean = {g: mp.fsum(v) / len(v) for g, v in groups.items()}
    part = {g: mp.fsum((x - mean[g]) ** 2 for x in v) / (len(v) - 1) / len(v) for g, v in groups.items()}
    for r in rows:
        a, b = part[r["level"]], part[r["against"]]
        na, nb = len(groups[r["level"]]), len(groups[r["against"]])
        df = (a + b) ** 2 / (a * a / (na - 1) + b * b / (nb - 1))
        se, e = mp.sqrt(a + b), mean[r["level"]] - mean[r["against"]]
        agree("games-howell df", r["df"], df, 1e-10, where)
        agree("games-howell se", r["se"], se, 1e-10, where)
        t = e / se
        if k == 2:
            p, crit = t_two_sided(t, df), t_quantile(alpha, df, 2)
        else:
            p = ranges.survival(abs(t) * mp.sqrt(2), k, df)
            # R's ptukey has no answer under 2 degrees of freedom
            start = (r["high"] - r["low"]) / r["se"] / 2 if r["high"] is not None else t_quantile(2 * alpha / k / (k - 1), df, 3 + 10 / df)
            crit = ranges.quantile(alpha, k, df, start * 2**0.5) / mp.sqrt(2)
        if r["p_tukey"] is not None:
            agree("games-howell p_tukey", r["p_tukey"], p, 1e-6, where, 1e-6)
        r["p_tukey_precise"] = float(p)
        r["low_precise"], r["high_precise"] = float(e - crit * se), float(e + crit * se)


def check_case(case, rows, where):
    model = Model(rows, case["request"])
    alpha = mpf(str(case["request"]["alpha"]))
    assert case["n"] == model.n, where
    terms, joint, rss, df = model.anova()
    mse = rss / df
    by_name = {r["term"]: r for r in case["anova"]}
    for t, (d, ss) in list(terms.items()) + [("treatments", joint)]:
        r = case["treatment"] if t == "treatments" else by_name[t]
        assert r["df"] == d, (where, t)
        if d == 0:
            continue
        agree("ss", r["ss"], ss, 1e-10, where)
        agree("f", r["f"], ss / d / mse, 1e-10, where)
        agree("anova p", r["p"], f_upper(ss / d / mse, d, df), 1e-10, where)
        agree("partial eta squared", r["eta_squared_partial"], ss / (ss + rss), 1e-10, where)
    assert by_name["residual"]["df"] == df, where
    agree("residual ss", by_name["residual"]["ss"], rss, 1e-10, where)
    agree("noise", case["noise"]["sd"], mp.sqrt(mse), 1e-10, where)
    for fam in case["families"]:
        check_family(fam, model, mse, df, alpha, where)
    if case["checks"].get("games_howell"):
        check_games_howell(case["checks"]["games_howell"], model, alpha, where)


def main():
    names = sys.argv[1:] or sorted(p[:-4] for p in glob.glob("*.csv"))
    for name in names:
        with open(name + ".json", encoding="utf-8") as f:
            doc = json.load(f)
        with open(name + ".csv", encoding="utf-8", newline="") as f:
            rows = list(csv.DictReader(f))
        for i, case in enumerate(doc["cases"]):
            check_case(case, rows, f"{name}[{i}]")
        with open(name + ".json", "w", encoding="utf-8", newline="\n") as f:
            json.dump(doc, f, indent=1)
            f.write("\n")
        print(name, flush=True)
    for quantity, (err, where) in sorted(worst.items()):
        print(f"{quantity:28s} {err:9.2e}  {where}")


if __name__ == "__main__":
    main()
