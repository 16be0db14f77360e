"""Solve the mixed models of this folder in 40 digits and add the fields named *_precise.

    Rscript make.R && python3 reml.py [NAME ...]

V = sum of s_i Z_i Z_i' + s_0 I. Everything is reduced to the small matrix
U' V^-1 U, U = [X Z y], by Woodbury's identity, so nothing of size n is
inverted. The REML score is driven to zero by Newton's method from lme4's
answer. Derivatives are taken along V_1 ... V_k and V itself instead of the
residual's I: the same space, and every formula below is unchanged by that
(tr(P V P V) = n - p, y'P V P y = y'P y, and so on).

Kenward & Roger (1997), with s linear in V (no second derivatives):

    P_i = -X'V^-1 V_i V^-1 X,  Q_ij = X'V^-1 V_i V^-1 V_j V^-1 X,  W = inverse expected information
    Phi_A = Phi + 2 Phi (sum W_ij (Q_ij - P_i Phi P_j)) Phi

and the scale and denominator degrees of freedom of F as in that paper's
equations; Satterthwaite's df for one contrast from the observed information. A
component estimated as zero stays in Kenward and Roger's information, as in
pbkrtest, and is left out of Satterthwaite's, as in lmerTest (whose parameter
is the standard deviation, so the derivative along it is zero there).
Type II restrictions are taken at V, as in make.R. The script fails where lme4,
pbkrtest or lmerTest differ by more than their own precision allows, and
prints the worst disagreement of each quantity.
"""

import csv
import glob
import json
import os
import sys

from mpmath import mp, mpf

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import precise  # noqa: E402
import ranges  # noqa: E402

mp.dps = 40
worst = {}


def agree(quantity, want, got, tolerance, where, floor=0):
    if want is None:
        return
    err = abs(mpf(want) - got)
    rel = err if got == 0 or abs(got) < floor else err / abs(got)
    if rel > worst.get(quantity, (0,))[0]:
        worst[quantity] = (float(rel), where)
    if rel > tolerance and err > floor:
        print("DIFFERS", where, quantity, want, mp.nstr(got, 15), float(rel), flush=True)


# ---- small dense matrices as lists of rows ----

def mul(a, b):
    bt = list(zip(*b))
    return [[mp.fdot(r, c) for c in bt] for r in a]


def transpose(a):
    return [list(r) for r in zip(*a)]


def part(s, rows, cols):
    return [[s[i][j] for j in cols] for i in rows]


def add(a, b, c=1):
    return [[x + c * y for x, y in zip(r, q)] for r, q in zip(a, b)]


def trace(a):
    return mp.fsum(a[i][i] for i in range(len(a)))


def dot2(a, b):
    """Sum of products of all elements."""
    return mp.fsum(mp.fdot(r, q) for r, q in zip(a, b))


def solve(a, b):
    """a^-1 b and log|a| for a symmetric positive definite a."""
    n = len(a)
    m = [list(a[i]) + list(b[i]) for i in range(n)]
    logdet = mpf(0)
    for p in range(n):
        d = m[p][p]
        logdet += mp.log(d)
        top = m[p] = [v / d if j > p else v for j, v in enumerate(m[p])]
        for i in range(p + 1, n):
            c = m[i][p]
            if c != 0:
                row = m[i]
                for j in range(p + 1, len(row)):
                    if top[j] != 0:
                        row[j] -= c * top[j]
    width = len(m[0])
    for p in range(n - 1, -1, -1):
        for i in range(p):
            c = m[i][p]
            if c != 0:
                for j in range(n, width):
                    m[i][j] -= c * m[p][j]
    return [r[n:] for r in m], logdet


def identity(n):
    return [[mpf(i == j) for j in range(n)] for i in range(n)]


class Mixed:
    def __init__(self, rows, request, start):
        self.model = m = precise.Model(rows, request)
        self.terms = m.base + m.terms
        keys, cols = m.design(self.terms)
        _, _, _, kept = precise.sweep_fit(cols, m.y)
        kept = sorted(kept)
        self.keys = [keys[i] for i in kept]
        self.count = {}
        for t, _ in keys:
            self.count[t] = self.count.get(t, 0) + 1
        u = [cols[i] for i in kept]
        self.x = list(range(len(u)))
        self.z = []
        for term in request["random"]:
            block = list(m.term(term).values())
            self.z.append(list(range(len(u), len(u) + len(block))))
            u += block
        self.y = len(u)
        u.append(m.y)
        self.gram = [[mpf(0)] * len(u) for _ in u]
        for i in range(len(u)):
            for j in range(i, len(u)):
                self.gram[i][j] = self.gram[j][i] = mp.fdot(u[i], u[j])
        self.n, self.p = m.n, len(self.x)
        self.s = [mpf(v) ** 2 for v in start]  # components, residual last
        scale = max(self.s)
        self.active = [i for i in range(len(self.z)) if self.s[i] > scale * mpf(10) ** -9]
        for i in range(len(self.z)):
            if i not in self.active:
                self.s[i] = mpf(0)
        self.newton()

    def evaluate(self):
        """S = U'V^-1 U, Phi, T = U'PU, and the deviance, at the components."""
        za = [j for i in self.active for j in self.z[i]]
        ratio = [self.s[-1] / self.s[i] for i in self.active for _ in self.z[i]]
        every = range(len(self.gram))
        if za:
            m = part(self.gram, za, za)
            for j, r in enumerate(ratio):
                m[j][j] += r
            zu = part(self.gram, za, every)
            half, logdet = solve(m, zu)
            s = add(self.gram, mul(transpose(zu), half), -1)
        else:
            s, logdet = self.gram, mpf(0)
        s0 = self.s[-1]
        self.S = [[v / s0 for v in r] for r in s]
        logdet += (self.n - len(za)) * mp.log(s0) + mp.fsum(mp.log(self.s[i]) * len(self.z[i]) for i in self.active)
        xx = part(self.S, self.x, self.x)
        self.Phi, logx = solve(xx, identity(self.p))
        sx = part(self.S, self.x, every)
        self.T = add(self.S, mul(transpose(sx), mul(self.Phi, sx)), -1)
        self.beta = [mp.fdot(r, [self.S[j][self.y] for j in self.x]) for r in self.Phi]
        self.deviance = logdet + logx + self.T[self.y][self.y] + (self.n - self.p) * mp.log(2 * mp.pi)

    def information(self, which):
        """Score, expected and observed information along V_i (i in which) and V."""
        T, y, k = self.T, self.y, len(which)
        ty = {i: [T[j][y] for j in self.z[i]] for i in which}
        tr = {i: mp.fsum(T[j][j] for j in self.z[i]) for i in which}
        quad = {i: mp.fdot(ty[i], ty[i]) for i in which}
        yy, free = T[y][y], mpf(self.n - self.p)
        score = [(quad[i] - tr[i]) / 2 for i in which] + [(yy - free) / 2]
        expected = [[mpf(0)] * (k + 1) for _ in range(k + 1)]
        observed = [[mpf(0)] * (k + 1) for _ in range(k + 1)]
        for a, i in enumerate(which):
            for b, j in enumerate(which):
                tij = part(T, self.z[i], self.z[j])
                e = dot2(tij, tij) / 2
                expected[a][b] = e
                observed[a][b] = mp.fdot(ty[i], [mp.fdot(r, ty[j]) for r in tij]) - e
            expected[a][k] = expected[k][a] = tr[i] / 2
            observed[a][k] = observed[k][a] = quad[i] - tr[i] / 2
        expected[k][k], observed[k][k] = free / 2, yy - free / 2
        return score, expected, observed

    def newton(self):
        for _ in range(30):
            self.evaluate()
            score, _, observed = self.information(self.active)
            step, _ = solve(observed, [[v] for v in score])
            step = [r[0] for r in step]
            for a, i in enumerate(self.active):
                self.s[i] = self.s[i] * (1 + step[-1]) + step[a]
            self.s[-1] *= 1 + step[-1]
            change = max([abs(step[-1])] + [abs(step[a]) / self.s[i] for a, i in enumerate(self.active)])
            if change < mpf(10) ** -30:
                break
        else:
            raise RuntimeError("REML does not settle")
        self.evaluate()
        every = list(range(len(self.z)))
        score, expected, _ = self.information(every)
        _, _, self.observed = self.information(self.active)
        for i in every:
            assert i in self.active or score[i] < 0, "a component at zero must have a falling likelihood"
        k = len(every) + 1
        self.W, _ = solve(expected, identity(k))
        # P_i and Q_ij along V_1 ... V_k, V
        sx = part(self.S, self.x, self.x)
        xz = [part(self.S, self.x, z) for z in self.z]
        P = [[[-v for v in r] for r in mul(a, transpose(a))] for a in xz] + [[[-v for v in r] for r in sx]]
        inner = [[mpf(0)] * self.p for _ in range(self.p)]
        for i in range(k):
            for j in range(k):
                if i < k - 1 and j < k - 1:
                    q = mul(mul(xz[i], part(self.S, self.z[i], self.z[j])), transpose(xz[j]))
                else:
                    q = [[-v for v in r] for r in P[min(i, j)]]
                inner = add(inner, add(q, mul(mul(P[i], self.Phi), P[j]), -1), self.W[i][j])
        self.PhiA = add(self.Phi, mul(mul(self.Phi, inner), self.Phi), 2)
        self.PPP = [mul(mul(self.Phi, p), self.Phi) for p in P]

    def kenward_roger(self, L):
        """F (scaled), scaling, numerator and denominator degrees of freedom of L beta = 0."""
        q = len(L)
        lt = transpose(L)
        M, _ = solve(mul(mul(L, self.Phi), lt), identity(q))
        G = [mul(M, mul(mul(L, p), lt)) for p in self.PPP]
        k = len(G)
        t = [trace(g) for g in G]
        A1 = mp.fsum(self.W[i][j] * t[i] * t[j] for i in range(k) for j in range(k))
        A2 = mp.fsum(self.W[i][j] * dot2(G[i], transpose(G[j])) for i in range(k) for j in range(k))
        B = (A1 + 6 * A2) / (2 * q)
        g = ((q + 1) * A1 - (q + 4) * A2) / ((q + 2) * A2)
        d = 3 * q + 2 * (1 - g)
        c1, c2, c3 = g / d, (q - g) / d, (q + 2 - g) / d
        v1 = 1 - c2 * B
        e = 1 - A2 / q
        ratio = mpf(1) if abs(v1) < mpf(10) ** -25 and abs(e) < mpf(10) ** -25 else e / v1
        rho = ratio**2 * (1 + c1 * B) / (1 - c3 * B) / q
        df = 4 + (q + 2) / (q * rho - 1)
        # one restriction needs no scaling: the ratio is 1 for every df, and 0/0 at 2
        scaling = mpf(1) if q == 1 else df * e / (df - 2)
        b = [mp.fdot(r, self.beta) for r in L]
        w, _ = solve(mul(mul(L, self.PhiA), lt), [[v] for v in b])
        return scaling * mp.fdot(b, [r[0] for r in w]) / q, scaling, df

    def contrast(self, l):
        """Estimate; Kenward-Roger se and df; Satterthwaite se and df."""
        est = mp.fdot(l, self.beta)
        form = lambda m: mp.fdot(l, [mp.fdot(r, l) for r in m])
        _, _, df = self.kenward_roger([l])
        v = form(self.Phi)
        grad = [[-form(self.PPP[i])] for i in self.active + [len(self.z)]]
        half, _ = solve(self.observed, grad)
        sat = 2 * v * v / mp.fdot([g[0] for g in grad], [h[0] for h in half])
        return est, mp.sqrt(form(self.PhiA)), df, mp.sqrt(v), sat

    def mean_vector(self, factor, level):
        m, own = self.model, factor.split(":")
        chosen = dict(zip(own, level))
        out = []
        for t, u in self.keys:
            if t == "":
                out.append(mpf(1))
            elif t in m.covariates:
                out.append(mp.fsum(m.covariates[t]) / m.n)
            elif all(f in chosen for f in t.split(":")):
                out.append(mpf(u == " ".join(chosen[f] for f in t.split(":"))))
            else:
                out.append(mpf(1) / self.count[t])
        return out

    def restriction(self, term):
        own = set(term.split(":"))
        above = [t for t in self.terms if t != term and own <= set(t.split(":"))]
        C = [i for i in self.x if self.keys[i][0] in above]
        keep = [i for i in self.x if i not in C]
        rows = identity(self.p)
        if C:
            coef, _ = solve(part(self.S, keep, keep), part(self.S, keep, C))
            for a, i in enumerate(keep):
                for b, j in enumerate(C):
                    rows[i][j] = coef[a][b]
        return [rows[i] for i in keep if self.keys[i][0] == term]


def tukey(t, k, df):
    return precise.t_two_sided(t, df) if k == 2 else ranges.survival(abs(t) * mp.sqrt(2), k, df)


_critical = {}


def tukey_critical(k, df):
    key = (k, mp.nstr(df, 20))
    if key not in _critical:
        t = precise.t_quantile(mpf("0.05"), df, 2 + 4 / df)
        _critical[key] = t if k == 2 else ranges.quantile(mpf("0.05"), k, df, t * (1 + mpf("0.3") * mp.log(mpf(k) / 2)) * mp.sqrt(2)) / mp.sqrt(2)
    return _critical[key]


def check(case, rows, where):
    fit = Mixed(rows, case["request"], [c["sd"] for c in case["components"]])
    assert fit.n == case["n"], where
    for c, v in zip(case["components"], fit.s):
        agree("component sd", c["sd"], mp.sqrt(v), 1e-5, where, 1e-9 * float(mp.sqrt(max(fit.s))))
        c["sd_precise"] = float(mp.sqrt(v))
    agree("reml deviance", case["reml_deviance"], fit.deviance, 1e-9, where)
    case["reml_deviance_precise"] = float(fit.deviance)
    if case["intercept"]:
        est, _, _, se, _ = fit.contrast([mpf(1)])
        agree("intercept", case["intercept"]["estimate"], est, 1e-6, where)
        agree("intercept se", case["intercept"]["se"], se, 1e-5, where)
        case["intercept"].update(estimate_precise=float(est), se_precise=float(se))
    for r in case["anova"]:
        L = fit.restriction(r["term"])
        assert len(L) == r["df"], (where, r["term"])
        f, scaling, df = fit.kenward_roger(L)
        p = precise.f_upper(f, r["df"], df)
        k = r["kenward_roger"]
        for name, got in (("den_df", df), ("f", f), ("f_scaling", scaling), ("p", p)):
            agree("kenward-roger " + name, k[name], got, 1e-3 if name == "p" else 1e-4, where + " " + r["term"])
            k[name + "_precise"] = float(got)
        if r["df"] == 1:
            est, _, _, se, sat = fit.contrast(L[0])
            s = r["satterthwaite"]
            for name, got in (("den_df", sat), ("f", (est / se) ** 2), ("p", precise.t_two_sided(est / se, sat))):
                agree("satterthwaite " + name, s[name], got, 1e-3, where + " " + r["term"])
                s[name + "_precise"] = float(got)
    for fam in case["families"]:
        names = {}
        for row in fit.model.rows:
            level = tuple(row[f] for f in fam["factor"].split(":"))
            names[" ".join(level)] = fit.mean_vector(fam["factor"], level)
        k = len(fam["means"])
        big = max(abs(m["estimate"]) for m in fam["means"])

        def write(r, l, floor):
            est, se, df, ses, dfs = fit.contrast(l)
            agree("estimate", r["estimate"], est, 1e-5, where, floor)
            r["estimate_precise"] = float(est)
            for method, s, d in (("kenward_roger", se, df), ("satterthwaite", ses, dfs)):
                agree(method + " se", r[method]["se"], s, 1e-5, where)
                agree(method + " df", r[method]["df"], d, 1e-3, where)
                r[method].update(se_precise=float(s), df_precise=float(d))
            return est, se, df, ses, dfs

        for r in fam["means"]:
            write(r, names[r["level"]], 0)
        for r in fam["pairs"]:
            l = [a - b for a, b in zip(names[r["level"]], names[r["against"]])]
            est, se, df, ses, dfs = write(r, l, 1e-6 * big)
            for method, s, d in (("kenward_roger", se, df), ("satterthwaite", ses, dfs)):
                t = est / s
                r[method].update(t_precise=float(t), p_precise=float(precise.t_two_sided(t, d)))
                agree(method + " p", r[method]["p"], precise.t_two_sided(t, d), 1e-3, where, 1e-8)
            c = tukey_critical(k, df)
            p = tukey(est / se, k, df)
            agree("p_tukey", r["kenward_roger"]["p_tukey"], p, 1e-3, where, 1e-5)
            r["kenward_roger"].update(p_tukey_precise=float(p), low_precise=float(est - c * se), high_precise=float(est + c * se))


def main():
    names = sys.argv[1:] or sorted(p[:-4] for p in glob.glob("*.csv"))
    for name in names:
        with open(name + ".json", encoding="utf-8") as f:
            doc = json.load(f)
        with open(name + ".csv", encoding="utf-8", newline="") as f:
            rows = list(csv.DictReader(f))
        for i, case in enumerate(doc["cases"]):
            check(case, rows, f"{name}[{i}]")
        with open(name + ".json", "w", encoding="utf-8", newline="\n") as f:
            json.dump(doc, f, indent=0)
            f.write("\n")
        print(name, flush=True)
    for quantity, (err, where) in sorted(worst.items()):
        print(f"{quantity:28s} {err:9.2e}  {where}")


if __name__ == "__main__":
    main()
