#!/usr/bin/env python3
"""Tails of the largest of n t statistics with two common factors, corr_ij = l_i l_j + m_i m_j: far from product
structure where m is large, near it where m is small.

Given both factors the variables are independent, so that

    P(max > x) = E_S E_z1 E_z2 [ 1 - prod_i (1 - u_i) ],   u_i = P(Z_i beyond x S | z1, z2),

is three trapezoidal sums, over both factors and the logarithm of the scale S = sqrt(chi2_df / df). The bracket is
-expm1(sum log1p(-u_i)), so that nothing cancels. The sums are taken with two steps; a value is written only if they
agree to 1e-11.

    /usr/bin/python3 twofactor.py > twofactor.csv          (numpy, scipy; some minutes)
"""
import numpy as np
from scipy.special import gammaln, ndtr

NEAR = [
    [(0.7, 0.72, 0.65, 0.5), (0.2, -0.1, 0.15, 0.1)],
    [(0.7,) * 6, (0.15, -0.15, 0.15, -0.1, 0.05, 0.2)],
    [(0.71,) * 11, (0.2, -0.2, 0.1, 0.15, -0.15, 0.1, -0.1, 0.2, -0.05, 0.05, -0.2)],
    [(0.8, 0.75, 0.7, 0.7, 0.6, 0.6, 0.5, 0.5), (0.1, -0.15, 0.2, -0.2, 0.1, 0.1, -0.15, 0.15)],
]
FAR = [
    [(0.7, 0.6, 0.2, 0.1, 0.5), (-0.3, 0.5, 0.8, 0.6, -0.6)],
    [(0.6, 0.7, 0.5, -0.4, -0.6, 0.3, 0.2, 0.1), (0.6, -0.5, 0.7, 0.6, -0.3, 0.8, -0.7, 0.5)],
]


def tail(two, df, x, l, m, h):
    l, m = np.array(l), np.array(m)
    rest = np.sqrt(1 - l * l - m * m)
    z = np.arange(-9.5, 9.5 + h / 2, h)
    weight = h * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    mean = z[:, None, None] * l + z[None, :, None] * m
    total = 0.0
    if np.isinf(df):
        scales = [(1.0, 1.0)]
    else:
        sd = 1 / np.sqrt(2 * df)
        v = np.arange(-14 * sd - 6 / df, 9 * sd, h * sd * 0.8)
        a = df / 2
        log = np.log(2) + a * np.log(a) - gammaln(a) + df * v - a * np.exp(2 * v)
        scales = [(np.exp(s), h * sd * 0.8 * np.exp(g)) for s, g in zip(v, log) if g > -60]
    for s, w in scales:
        u = ndtr((mean - x * s) / rest)
        if two:
            u = u + ndtr((-mean - x * s) / rest)
        inside = np.log1p(-np.minimum(u, 1 - 1e-16)).sum(axis=2)
        total += w * float(weight @ -np.expm1(inside) @ weight)
    return total


def main():
    print("near,two_sided,df,x,tail,loadings of both factors")
    for near, laws in ((1, NEAR), (0, FAR)):
        for l, m in laws:
            for two in (1, 0):
                for df in (5, 27, np.inf) if near else (27,):
                    for x in (1.0, 2.2, 2.8, 4.5):
                        p, q = (tail(two, df, x, l, m, h) for h in (0.2, 0.16))
                        if abs(p - q) > 1e-11 * q:
                            raise SystemExit((l, m, two, df, x, p, q))
                        values = [near, two, df, x, repr(q)] + list(l) + list(m)
                        print(",".join(str(v).replace("inf", "Inf") for v in values), flush=True)


main()
