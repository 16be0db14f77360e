#!/usr/bin/python3
"""Makes plots.json: randomisation tests of small designs with whole plots, over all
their orders.

Nothing is clever here. Every order is fitted again by dense weighted least squares: what
lies between whole plots, blocks and drift taken out, counts a tenth. Mean squares come
from the residual of either stratum and the trace of its hat matrix, and the variance of a
comparison from the propagation of both; p of F by scipy. Hypotheses are imposed by
fitting the model with the comparison held, and dealing out its residuals; an interval
end is found by bisection, refitting every order at every step.

    ./plots.py > plots.json

Needs numpy and scipy. Takes about a minute.
"""
import itertools
import json
import random
import sys

import numpy as np
from scipy.stats import f as f_law

WEIGHT = 0.1


def space(x):
    u, s, _ = np.linalg.svd(x, full_matrices=False)
    return u[:, s > 1e-9 * max(s.max(), 1e-300)]


def dummies(codes):
    return np.array([[1.0 * (c == l) for l in sorted(set(codes))] for c in codes])


def orders_of(packs):
    """Whole plots of a pack in any order, runs of a whole plot in any order."""
    each = []
    for pack in packs:
        some = set()
        for plots in itertools.permutations(pack):
            for runs in itertools.product(*[set(itertools.permutations(p)) for p in plots]):
                some.add(sum(runs, ()))
        each.append(sorted(some))
    for c in itertools.product(*each):
        yield sum(c, ())


def wallace(square, var, df):
    t2 = np.where(square == 0, 0, square / np.maximum(var, 1e-300))
    return ((8 * df + 1) / (8 * df + 3)) ** 2 * df * np.log1p(t2 / df)


def case(name, packs, treatments, tau, missing=(), drift=False, seed=1, alpha=0.0, sd=2.0):
    rng = random.Random(seed)
    orders = list(orders_of(packs))
    drawn = rng.choice(orders)
    pack, position = [], []
    for i, p in enumerate(packs):
        at = 0
        for q in p:
            for _ in q:
                pack.append(i)
                position.append(float(at))
                at += 1
    k, plot = 0, []
    for p in packs:
        for q in p:
            plot += [k] * len(q)
            k += 1
    shift = [rng.gauss(0, sd) for _ in range(k)]
    y = [round(2 * pack[i] + shift[plot[i]] + tau[drawn[i]] + rng.gauss(0, 1), 3) for i in range(len(pack))]
    used = [i for i in range(len(pack)) if i not in missing]
    take = lambda v: [v[i] for i in used]
    z = dummies(take(pack))
    if drift:
        z = np.column_stack([z, take(position)])
    q = space(z)
    n = len(used)
    m = np.eye(n) - q @ q.T
    b = space(m @ dummies(take(plot)))
    pb = b @ b.T
    mw = m - pb
    half = mw + np.sqrt(WEIGHT) * pb      # its square weights the strata
    L = []
    for i in range(treatments):
        for j in range(i + 1, treatments):
            l = np.zeros(treatments)
            l[j], l[i] = 1, -1
            L.append(l)
    L = np.array(L)

    fits, kept = [], []
    for o in orders:
        x = np.array([[1.0 * (o[i] == t) for t in range(treatments)] for i in used])
        inv = np.linalg.pinv(half @ x, rcond=1e-7)
        rank = np.linalg.matrix_rank(half @ x, tol=1e-7)
        if rank < treatments - 1:         # no order of this design
            continue
        kept.append(o)
        to = inv @ half                   # y to effects
        hat = x @ to
        rank_b = np.trace(pb @ hat @ pb)
        df_b = b.shape[1] - rank_b
        df_w = (n - q.shape[1] - rank) - df_b
        a = np.sum((L @ to @ mw) ** 2, axis=1)
        c = np.sum((L @ to @ pb) ** 2, axis=1)
        fits.append((x, to, rank - rank_b, rank_b, df_w, df_b, a, c))

    def ratio(values, var_w, var_b, df_w, df_b):
        var = var_w + var_b
        df = var ** 2 / (var_w ** 2 / df_w + var_b ** 2 / df_b)
        return wallace(values ** 2, var, df)

    def judge(fit, e):
        x, to, rw, rb, dw, db, a, c = fit
        beta = to @ e
        r = e - x @ beta
        qw, qb = r @ mw @ r, r @ pb @ r
        u = ratio(L @ beta, a * qw / dw, c * qb / db, dw, db)
        f = 0.0
        xb = x @ beta
        for ss, rss, rank, df in ((xb @ mw @ xb, qw, rw, dw), (xb @ pb @ xb, qb, rb, db)):
            if rank >= 0.5 and df >= 0.5:
                f -= 2 * np.log(f_law.sf(ss / rank / (rss / df), rank, df))
        return f, u, beta, a * qw / dw, c * qb / db

    orders = kept
    where = orders.index(drawn)
    yy = np.array(take(y))
    f0, u0, beta0, w0, b0 = judge(fits[where], yy)
    every = [judge(f, yy) for f in fits]
    # Of the family, those that runs within whole plots decide and those that whole plots do.
    across = fits[where][7] > WEIGHT * fits[where][6]
    strata = len(set(across))
    reach = lambda s, v: float(np.mean(np.array(s) >= v * (1 - 1e-9) - 1e-12))
    x0 = half @ fits[where][0]

    def held(l, delta):
        """Residual of the model in which l'tau is delta, the fixed part put back."""
        fix = l / (l @ l) * delta
        basis = np.linalg.svd(l[None, :])[2][1:].T
        w = x0 @ basis
        target = half @ yy - x0 @ fix
        coef = np.linalg.pinv(w, rcond=1e-7) @ target
        return yy - fits[where][0] @ (fix + basis @ coef)

    out = {"f": f0, "p": reach([e[0] for e in every], f0), "comparisons": []}
    for k, l in enumerate(L):
        est, se = float(l @ beta0), float(np.sqrt(w0[k] + b0[k]))

        def ps(delta):
            e = held(l, delta)
            us = [judge(f, e)[1] for f in fits]
            at = us[where][k]
            return reach([u[k] for u in us], at), min(1, strata * reach([u[across == across[k]].max() for u in us], at))

        own, adjusted = ps(0.0)
        comp = {"estimate": est, "se": se, "between": float(b0[k] / (w0[k] + b0[k])), "p": own, "p_adjusted": adjusted,
                "p_complete": min(1, strata * reach([e[1][across == across[k]].max() for e in every], u0[k]))}
        for end, sign in (("low", -1), ("high", 1)) if alpha > 0 else ():
            near, far = 0.0, 1.0
            while ps(est + sign * far * se)[1] > alpha and far < 300:
                near, far = far, far * 1.5
            if far >= 300:
                comp[end] = None
                continue
            while far - near > 1e-6 * far:
                mid = (near + far) / 2
                if ps(est + sign * mid * se)[1] > alpha:
                    near = mid
                else:
                    far = mid
            comp[end] = est + sign * near * se
        out["comparisons"].append(comp)
    print(name, len(orders), "orders", file=sys.stderr)
    return {"name": name, "block": pack, "plot": plot, "position": position if drift else None, "treatments": treatments,
            "alpha": alpha, "orders": ["".join(map(str, o)) for o in orders], "drawn": list(drawn),
            "y": [None if i in missing else v for i, v in enumerate(y)], "want": out}


two = [[(0, 1), (2, 3)]]
json.dump([
    case("three packs of two whole plots of two", two * 3, 4, [0, 1, 2, 4], alpha=0.3),
    case("drift", two * 3, 4, [0, 3, 0, 3], drift=True, seed=3),
    case("a run missing", two * 3, 4, [0, 2, 0, 2], missing=(5,), seed=4),
    case("runs missing", two * 3, 4, [0, 2, 0, 2], missing=(1, 6), seed=7),
    case("settings repeated", [[(0, 1), (0, 1), (2, 3), (2, 3)]] + two, 4, [0, 1, 0, 1], seed=6),
], sys.stdout, separators=(",", ":"))
print()
