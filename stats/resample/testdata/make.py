#!/usr/bin/python3
"""Makes exact.json: randomisation tests of small designs over all their orders.

Nothing is clever here. For every order all models are fitted again by dense
least squares (numpy's SVD); hypotheses are imposed by fitting the model without
the comparison and dealing out its residuals; an interval end is found by
bisecting delta on the p-value, refitting every order at every step.

    ./make.py > exact.json

Needs numpy. Takes about ten seconds.
"""
import itertools
import json
import random
import sys

import numpy as np

TIE = 1e-9


def dummies(codes, levels):
    return np.array([[1.0 if c == l else 0.0 for l in range(levels)] for c in codes])


def orders_of(blocks, allowed):
    """All orders: every arrangement of the treatments of each block."""
    each = [sorted(set(itertools.permutations(b))) for b in blocks]
    for combination in itertools.product(*each):
        order = sum(combination, ())
        if allowed(order):
            yield order


class Case:
    def __init__(self, name, blocks, covariates, treatments, families, alpha,
                 effects=None, allowed=lambda o: True, missing=(), tau=None, seed=1):
        rng = random.Random(seed)
        self.name, self.treatments, self.alpha = name, treatments, alpha
        self.block = [b for b, row in enumerate(blocks) for _ in row]
        self.covariates = covariates  # list of {name, value, by_block}
        self.families = families
        self.effects = effects
        self.orders = list(orders_of(blocks, allowed))
        self.drawn = rng.choice(self.orders)
        n = len(self.block)
        drift = [3 * b + 0.8 * i for i, b in enumerate(self.block)]
        tau = tau or [0.0] * treatments
        self.y = [round(drift[i] + tau[self.drawn[i]] + rng.gauss(0, 1), 3) for i in range(n)]
        self.used = [i for i in range(n) if i not in missing]
        self.missing = list(missing)

    def slots(self):
        nb = max(self.block) + 1
        cols = [dummies(self.block, nb)]
        for c in self.covariates:
            v = np.array(c["value"], float)[:, None]
            cols.append(dummies(self.block, nb) * v if c["by_block"] else v)
        return np.hstack(cols)[self.used]

    def design(self, order):
        x = dummies([order[i] for i in self.used], self.treatments)
        return x if self.effects is None else x @ np.array(self.effects, float)

    def run(self):
        z = self.slots()
        qz, s, _ = np.linalg.svd(z, full_matrices=False)
        qz = qz[:, s > 1e-9 * s[0]]
        m = np.eye(len(self.used)) - qz @ qz.T
        y = np.array(self.y)[self.used]
        L = [np.array(f, float) if self.effects is None else np.array(f, float) @ np.array(self.effects, float)
             for f in self.families]
        allL = np.vstack(L)

        # Of each order: pseudo-inverse of the projected design, rank, variances.
        fits = []
        for o in self.orders:
            x = m @ self.design(o)
            u, s, vt = np.linalg.svd(x, full_matrices=False)
            keep = s > 1e-8
            inv = vt[keep].T @ np.diag(1 / s[keep]) @ u[:, keep].T
            inside = vt[keep].T @ vt[keep]
            var = np.sum((allL @ inv) ** 2, axis=1)
            ok = np.max(np.abs(allL @ inside - allL), axis=1) < 1e-8
            fits.append((u[:, keep], inv, int(keep.sum()), var, ok))
        dfall = len(self.used) - qz.shape[1]

        def statistics(e):
            """F and all t (0 where not estimable) of every order for a response."""
            e = m @ e
            fs, ts = [], []
            for u, inv, rank, var, ok in fits:
                fit = u.T @ e
                ss = fit @ fit
                df = dfall - rank
                r = e - u @ fit
                ms = (r @ r) / df
                fs.append(ss / rank / ms)
                t = np.zeros(len(allL))
                t[ok] = np.abs((allL @ (inv @ e))[ok]) / np.sqrt(var[ok] * ms)
                ts.append(t)
            return np.array(fs), np.array(ts)

        def family_f(e, f):
            """F of the comparisons of a family together, of every order."""
            e = m @ e
            out = []
            l = L[f]
            lo = sum(len(k) for k in L[:f])
            for (u, inv, rank, var, ok) in fits:
                if not ok[lo:lo + len(l)].all():
                    out.append(0.0)
                    continue
                r = e - u @ (u.T @ e)
                ms = (r @ r) / (dfall - rank)
                v = l @ inv
                est = v @ e
                cov = v @ v.T
                k = np.linalg.matrix_rank(cov, tol=1e-9)
                out.append(est @ np.linalg.pinv(cov, rcond=1e-9) @ est / k / ms)
            return np.array(out)

        where = self.orders.index(self.drawn)

        def p(stats, observed):
            return float(np.mean(stats >= observed * (1 - TIE) - 1e-12))

        fs, ts = statistics(y)
        x0 = m @ self.design(self.drawn)
        u0, inv0, rank0, var0, ok0 = fits[where]
        e0 = m @ y
        df0 = dfall - rank0
        rss = float(np.sum((e0 - u0 @ (u0.T @ e0)) ** 2))
        beta = inv0 @ e0
        out = {"f": float(fs[where]), "df1": rank0, "df2": df0, "p": p(fs, fs[where]), "families": []}

        def without(l, delta):
            """Residual of the model in which comparison l is delta."""
            # beta = delta·l/(l'l) + null space of l.
            b = l / (l @ l) * delta
            basis = np.linalg.svd(l[None, :])[2][1:].T
            target = e0 - x0 @ b
            w = x0 @ basis
            u, s, _ = np.linalg.svd(w, full_matrices=False)
            u = u[:, s > 1e-9 * max(s[0], 1)]
            return target - u @ (u.T @ target)

        at = 0
        for f, l in enumerate(L):
            rows = list(range(at, at + len(l)))
            at += len(l)
            # The family taken to be zero.
            live = [k for k in rows if ok0[k]]
            basis = np.linalg.svd(l)[2][np.linalg.matrix_rank(l):].T
            w = x0 @ basis
            if w.shape[1]:
                u, s, _ = np.linalg.svd(w, full_matrices=False)
                u = u[:, s > 1e-9]
                e1 = e0 - u @ (u.T @ e0)
            else:
                e1 = e0
            ff = family_f(e1, f)
            fam = {"f": float(family_f(y, f)[where]), "df1": int(np.linalg.matrix_rank(l)), "p": p(ff, ff[where]), "comparisons": []}
            if fam["df1"] == rank0:
                fam["p"] = out["p"]  # all treatments, of whatever rank in an order
            for k in rows:
                est = float(allL[k] @ beta)
                se = float(np.sqrt(var0[k] * rss / df0))
                t0 = abs(est) / se

                def ps(delta):
                    _, t = statistics(without(allL[k], delta))
                    to = abs(est - delta) / se
                    return p(t[:, k], to), p(t[:, live].max(axis=1), to)

                own, adjusted = ps(0.0)
                comp = {"estimate": est, "se": se, "p": own, "p_adjusted": adjusted,
                        "p_complete": p(ts[:, live].max(axis=1), t0)}
                for name, sign in (("low", -1), ("high", 1)):
                    near, far = 0.0, 1.0
                    while ps(est + sign * far * se)[1] > self.alpha and far < 1e3:
                        near, far = far, far * 1.3
                    if far >= 1e3:
                        comp[name] = None
                        continue
                    while far - near > 1e-9 * far:
                        mid = (near + far) / 2
                        if ps(est + sign * mid * se)[1] > self.alpha:
                            near = mid
                        else:
                            far = mid
                    comp[name] = est + sign * near * se
                fam["comparisons"].append(comp)
            out["families"].append(fam)
        print(self.name, len(self.orders), "orders", file=sys.stderr)
        return {
            "name": self.name, "block": self.block, "covariates": self.covariates,
            "treatments": self.treatments, "effects": self.effects, "families": self.families, "alpha": self.alpha,
            "orders": ["".join(map(str, o)) for o in self.orders], "drawn": list(self.drawn),
            "y": [None if i in self.missing else v for i, v in enumerate(self.y)], "want": out,
        }


def pairs(n):
    rows = []
    for i in range(n):
        for j in range(i + 1, n):
            r = [0.0] * n
            r[j], r[i] = 1.0, -1.0
            rows.append(r)
    return rows


def position(blocks):
    return [float(i) for b in blocks for i in range(len(b))]


def near_level(blocks, limit):
    """Orders whose treatments have mean positions within limit of each other."""
    pos = position(blocks)

    def ok(order):
        s, n = {}, {}
        for x, t in zip(pos, order):
            s[t] = s.get(t, 0) + x
            n[t] = n.get(t, 0) + 1
        means = [s[t] / n[t] for t in s]
        return max(means) - min(means) <= limit + 1e-9
    return ok


def main():
    cases = []
    b = [[0, 0, 0, 0, 1, 1, 1, 1]]
    cases.append(Case("two treatments, one block", b, [], 2, [pairs(2)], 0.1, tau=[0, 1.5], seed=3))
    b = [[0, 0, 1, 1]] * 3
    cases.append(Case("two treatments, line, constrained", b,
                      [{"name": "position", "value": position(b), "by_block": False}], 2, [pairs(2)], 0.1,
                      allowed=near_level(b, 0.7), tau=[0, 2], seed=4))
    b = [[0, 1, 2]] * 3
    cases.append(Case("three treatments in three blocks", b, [], 3, [pairs(3), [pairs(3)[0], pairs(3)[1]]], 0.1,
                      tau=[0, 1, 4], seed=5))
    cases.append(Case("three treatments, line, a run missing", b,
                      [{"name": "position", "value": position(b), "by_block": False}], 3, [pairs(3)], 0.1,
                      missing=[4], tau=[0, 2, 3], seed=6))
    b = [[0, 0, 1, 1, 2, 2]] * 2
    cases.append(Case("own lines, runs missing", b,
                      [{"name": "position", "value": position(b), "by_block": True}], 3, [pairs(3)], 0.1,
                      allowed=near_level(b, 0.5), missing=[0, 7], tau=[0, 3, 1], seed=7))
    b = [[0, 1], [0, 2], [1, 2], [0, 3], [1, 3], [2, 3]]
    cases.append(Case("incomplete blocks", b, [], 4, [pairs(4)], 0.2, tau=[0, 1, 4, 9], seed=8))
    b = [[0, 1, 2, 3]] * 2
    main_effects = [[1, 0, 1, 0], [1, 0, 0, 1], [0, 1, 1, 0], [0, 1, 0, 1]]
    cases.append(Case("two factors, no interaction", b, [], 4,
                      [[[-0.5, -0.5, 0.5, 0.5]], [[-0.5, 0.5, -0.5, 0.5]]], 0.1,
                      effects=main_effects, tau=[0, 2, 3, 5], seed=9))
    cases.append(Case("two factors, interaction", b, [], 4,
                      [[[-0.5, -0.5, 0.5, 0.5]], [[-0.5, 0.5, -0.5, 0.5]], pairs(4)], 0.1,
                      tau=[0, 2, 3, 5], seed=10))
    b = [[0, 0, 1, 2, 2]] * 2
    cases.append(Case("a treatment often lost", b, [], 3, [pairs(3)], 0.1,
                      missing=[1, 6], tau=[0, 0, 2], seed=11))
    json.dump([c.run() for c in cases], sys.stdout, indent=None, separators=(",", ":"))
    print()


main()
