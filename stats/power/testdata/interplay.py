"""Chances of finding a difference that is judged by how far specimens agree on it, for interplay_test.go.

The estimate of SE^2 over its true value is M1 where M1 >= w M2, else (n1 M1 + n2 w M2)/(n1 + n2), with M1 and M2
chi-squared with n1 and n2 degrees of freedom over these. Here as adaptive integrals over quantiles of both.
"""
from math import sqrt
from scipy.integrate import quad
from scipy.stats import chi2, norm, t

def found(delta, n1, n2, w):
    x = t.ppf(0.975, n1)
    def given(m2):
        floor = w * m2
        def f(q):
            m1 = chi2.ppf(q, n1) / n1
            v = m1 if m1 >= floor else (n1 * m1 + n2 * floor) / (n1 + n2)
            return norm.sf(x * sqrt(v) - delta) + norm.sf(x * sqrt(v) + delta)
        at = chi2.cdf(floor * n1, n1)
        return quad(f, 0, at, epsabs=1e-10, limit=200)[0] + quad(f, at, 1, epsabs=1e-10, limit=200)[0]
    return quad(lambda q: given(chi2.ppf(q, n2) / n2), 0, 1, epsabs=1e-8, limit=100)[0]

for case in [(4, 1, 9, 1), (4, 1, 9, 0.8), (7, 2, 33, 1), (3.4, 3, 18, 0.5), (90, 0.6, 9, 0.9), (13, 1, 9, 0.9)]:
    print(case, "%.9f" % found(*case))
