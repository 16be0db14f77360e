#!/usr/bin/env python3
"""Enumerates the orders of this folder's campaign and the randomisation tests over
them, from nothing but the files of the campaign and the definitions:

- an order is two packs, each a permutation of two runs of three propellers;
- it is allowed when fitting a line over the positions, one for both packs, raises
  the mean variance of the three pairwise comparisons by no more than the threshold
  in draw.json;
- every response stays in its run; blocks and line are fitted again with the
  propellers of each order, by numpy's least squares;
- p of a comparison: the effects fitted with that comparison taken as zero are taken
  out of the response, and |t| is compared with the largest |t| of the three pairs in
  each order (Freedman & Lane 1983); its interval holds every difference that the
  same test, with that difference for zero, does not reject at 0.05.

Writes randomisation.json. Run it in this folder.
"""
import csv
import itertools
import json

import numpy as np

LEVELS = ["A", "B", "C"]
PAIRS = [("B", "A"), ("C", "A"), ("C", "B")]
ALPHA = 0.05
TIE = 1e-9

draw = json.load(open("draw.json"))
rows = list(csv.DictReader(open("runsheet.csv")))
block = np.array([int(r["block"]) for r in rows])
position = np.array([float(r["position"]) for r in rows])
drawn = np.array([LEVELS.index(r["prop"]) for r in rows])
nuisance = np.column_stack([block == 1, block == 2, position]).astype(float)


def treatments(order):
    return np.eye(3)[order][:, 1:]  # effects of B and C against A


CONTRAST = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 1.0]])  # B-A, C-A, C-B


def variance(order, columns):
    x = np.column_stack([treatments(order), columns])
    v = np.linalg.inv(x.T @ x)[:2, :2]
    return np.mean([c @ v @ c for c in CONTRAST])


one = sorted(set(itertools.permutations([0, 0, 1, 1, 2, 2])))
without = variance(drawn, nuisance[:, :2])
orders = []
for first, second in itertools.product(one, one):
    order = np.array(first + second)
    if variance(order, nuisance) / without - 1 <= draw["order"]["threshold"] + 1e-9:
        orders.append(order)


class Fit:
    """The fit of one order to the runs that have a response."""

    def __init__(self, order, used):
        x = np.column_stack([treatments(order)[used], nuisance[used]])
        self.x, self.pinv = x, np.linalg.pinv(x)
        v = np.linalg.inv(x.T @ x)[:2, :2]
        self.se = np.sqrt([c @ v @ c for c in CONTRAST])
        self.cov = np.linalg.inv(v)
        self.df = len(x) - np.linalg.matrix_rank(x)

    def t(self, y):
        b = self.pinv @ y
        rss = np.sum((y - self.x @ b) ** 2)
        theta = CONTRAST @ b[:2]
        return theta / (self.se * np.sqrt(rss / self.df)), theta

    def f(self, y):
        b = self.pinv @ y
        rss = np.sum((y - self.x @ b) ** 2)
        return b[:2] @ self.cov @ b[:2] / 2 / (rss / self.df)


def constrained(y, used, k, delta):
    """The response less the effects fitted with comparison k taken as delta."""
    x = treatments(drawn)[used]
    # With c'tau = delta: tau = delta * c/(c'c) + free * d, d orthogonal to c.
    c = CONTRAST[k]
    d = np.array([-c[1], c[0]])
    base = x @ (delta * c / (c @ c))
    z = np.column_stack([x @ d, nuisance[used]])
    free = (np.linalg.pinv(z) @ (y - base))[0]
    return y - base - free * (x @ d)


def judge(y, used):
    fits = [Fit(o, used) for o in orders]
    mine = Fit(drawn, used)
    pinv = np.array([f.pinv for f in fits])
    x = np.array([f.x for f in fits])
    se = np.array([f.se for f in fits])

    def largest(e):
        b = pinv @ e
        rss = np.sum((e - np.einsum("oij,oj->oi", x, b)) ** 2, axis=1)
        t = (b[:, :2] @ CONTRAST.T) / (se * np.sqrt(rss / mine.df)[:, None])
        return np.max(np.abs(t), axis=1)

    def p(k, delta):
        e = constrained(y, used, k, delta)
        t = abs(mine.t(e)[0][k])
        return np.mean(largest(e) >= t * (1 - TIE))

    def end(k, estimate, sign):
        # The farthest difference that is not rejected, by steps outwards and bisection.
        step, last = mine.se[k] * 0.02 * scale, 0.0
        d = 0.0
        while d < 60 * mine.se[k] * scale:
            if p(k, estimate + sign * d) > ALPHA:
                last = d
            elif d > last + 6 * mine.se[k] * scale:
                break
            d += step
        low, high = last, last + step
        for _ in range(45):
            m = (low + high) / 2
            low, high = (m, high) if p(k, estimate + sign * m) > ALPHA else (low, m)
        return estimate + sign * low

    tt, theta = mine.t(y)
    b = mine.pinv @ y
    scale = np.sqrt(np.sum((y - mine.x @ b) ** 2) / mine.df)
    f = mine.f(y)
    overall = np.mean([g.f(y) >= f * (1 - TIE) for g in fits])
    return {
        "f": f,
        "p": overall,
        "comparisons": [
            {"level": a, "against": b, "p": p(k, 0.0), "low": end(k, theta[k], -1), "high": end(k, theta[k], 1)}
            for k, (a, b) in enumerate(PAIRS)
        ],
    }


out = {"orders": len(orders), "responses": []}
for name, log in [("thrust", False), ("input", True)]:
    used = np.array([r[name] != "" for r in rows])
    y = np.array([float(r[name]) for r in rows if r[name] != ""])
    out["responses"].append({"name": name} | judge(np.log(y) if log else y, used))
json.dump(out, open("randomisation.json", "w"), indent=1)
