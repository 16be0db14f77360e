"""Reference values of the studentized range and of maxima of t statistics.

    python3 maxima.py range     writes studentizedrange.csv
    python3 maxima.py dunnett   writes manytoone.csv
    python3 maxima.py check     recomputes some points with half the steps

Trapezoidal sums at 30 digits. Unlike the package, which integrates the upper tail of
the normal law, these integrate its CDF by the textbook formula and take it from one,
with digits to spare. The CDF of the normal law, an entire function, is interpolated by
Chebyshev polynomials of degree 28 on panels of length 1; `check` does without.
Needs gmpy2, and scipy to choose the points.
"""
import math
import random
import sys
import gmpy2
from gmpy2 import mpfr
from scipy import stats

gmpy2.get_context().precision = 100
ROOT2 = gmpy2.sqrt(mpfr(2))
NORM = 1 / gmpy2.sqrt(2 * gmpy2.const_pi())
random.seed(5)


def phi(x):
    """P(Z <= x)"""
    return gmpy2.erfc(-x / ROOT2) / 2


def density(x):
    return gmpy2.exp(-x * x / 2) * NORM


def make_range(k, fine):
    h = mpfr(1) / (5 if k <= 12 else 8 if k < 60 else 12) / fine
    nodes = [i * h for i in range(int(-12 / h), int(13 / h))]
    fixed = [(z, density(z), phi(z)) for z in nodes]

    def cdf(w):
        total = mpfr(0)
        for z, d, below in fixed:
            total += d * (below - phi(z - w)) ** (k - 1)
        return k * h * total
    return cdf


def make_maximum(groups, two_sided, fine):
    """groups: [(loading, count)]"""
    finest = min(math.sqrt(1 - l * l) / max(abs(l), 0.5) for l, _ in groups)
    h = mpfr(min(0.2, 0.5 * finest)) / fine
    nodes = [(i * h, density(i * h)) for i in range(int(-13 / h), int(13 / h))]
    terms = [(mpfr(l), gmpy2.sqrt(1 - mpfr(l) ** 2), n) for l, n in groups]

    def cdf(x):
        total = mpfr(0)
        for z, d in nodes:
            if two_sided and z < 0:
                continue
            p = d if z == 0 or not two_sided else 2 * d
            for l, rest, n in terms:
                u = phi((x - l * z) / rest)
                if two_sided:
                    u -= phi((-x - l * z) / rest)
                p *= u ** n
            total += p
        return h * total
    return cdf


def tabulated(f, top):
    """Chebyshev interpolants of f on [0, top]; one beyond."""
    n = 29
    pi = gmpy2.const_pi()
    angles = [pi * (2 * j + 1) / (2 * n) for j in range(n)]
    cos = [[gmpy2.cos(i * a) for a in angles] for i in range(n)]
    panels = []
    last = 0.0
    for p in range(top):
        y = [f(p + (1 + c) / 2) for c in cos[1]]
        coef = [2 * sum(v * c for v, c in zip(y, cos[i])) / n for i in range(n)]
        last = max(last, abs(float(coef[-1])), abs(float(coef[-2])))
        coef[0] /= 2
        panels.append(coef[::-1])
    print('last coefficients', last, flush=True)

    def at(x):
        p = int(gmpy2.floor(x))
        if p >= top:
            return mpfr(1)
        t = 2 * (x - p) - 1
        b1 = b2 = mpfr(0)
        for c in panels[p][:-1]:
            b1, b2 = c + 2 * t * b1 - b2, b1
        return panels[p][-1] + t * b1 - b2
    return at


def studentized(cdf, df, x, fine):
    """(CDF, survival) at x."""
    x = mpfr(x)
    if df == math.inf:
        p = cdf(x)
        return p, 1 - p
    a = mpfr(df) / 2
    lead = 2 * gmpy2.exp(a * gmpy2.log(a) - gmpy2.lgamma(a)[0])
    h = mpfr(min(0.09, 0.4 / math.sqrt(2 * df))) / fine

    def weight(v):
        return lead * gmpy2.exp(2 * a * v - a * gmpy2.exp(2 * v))
    low = high = mpfr(0)
    # the mode of the weight is v = 0; walk both ways until nothing is left
    for sign in (1, -1):
        i = 0 if sign == 1 else -1
        while True:
            v = i * h
            f = weight(v)
            p = cdf(x * gmpy2.exp(v))
            low += f * p
            high += f * (1 - p)
            if f < 1e-24 * (1e-36 if sign == 1 else min(low, high)):
                break
            i += sign
    return low * h, high * h


def point(df, m, two):
    """A value with an upper tail anywhere from 0.98 to 1e-12, by Bonferroni's bound."""
    p = 10 ** random.choice([-0.01, -0.1, -0.3, -1, -1.3, -2, -3, -5, -7, -9, -12])
    law = stats.t(df) if df != math.inf else stats.norm
    return float('%.6g' % law.isf(min(p / m, 0.9) / 2 if two else min(p / m, 0.45)))


def text(v):
    return '{0:.20e}'.format(v)


def main():
    if sys.argv[1] == 'range':
        with open('studentizedrange.csv', 'w') as out:
            out.write('groups,df,q,cdf,survival\n')
            for k in [2, 3, 4, 5, 8, 12, 20, 45, 100]:
                random.seed(k)
                cdf = tabulated(make_range(k, 1), 20)
                for df in [1, 2, 3, 5, 8, 12.5, 20, 40, 120, 1000, math.inf]:
                    for _ in range(3):
                        q = float('%.6g' % (point(df, k * (k - 1) / 2, True) * 2 ** 0.5))
                        low, high = studentized(cdf, df, q, 1 if k < 100 else 2)
                        out.write(','.join([str(k), repr(float(df)), repr(q), text(low), text(high)]) + '\n')
                    out.flush()
    if sys.argv[1] == 'dunnett':
        half = math.sqrt(0.5)
        sets = [[(half, 1)], [(half, 3)], [(half, 8)], [(half, 40)],
                [(math.sqrt(n / (n + 6.0)), 1) for n in (3, 5, 9)],
                [(0.2, 1), (0.5, 2), (0.9, 1)], [(0.4, 1), (0.95, 2), (0.98, 1)],
                [(-0.5, 1), (0.1, 1), (0.7, 1)], [(0.0, 1), (0.3, 5)]]
        with open('manytoone.csv', 'w') as out:
            out.write('two_sided,df,x,cdf,survival,loadings...\n')
            for groups in sets:
                loadings = [l for l, n in groups for _ in range(n)]
                for two in (False, True):
                    cdf = tabulated(make_maximum(groups, two, 1), 14)
                    for df in [1, 3, 8, 20, 60, math.inf]:
                        for _ in range(2):
                            x = point(df, len(loadings), two)
                            low, high = studentized(cdf, df, x, 1)
                            out.write(','.join([str(int(two)), repr(float(df)), repr(x), text(low), text(high)]
                                               + [repr(l) for l in loadings]) + '\n')
                        out.flush()
    if sys.argv[1] == 'check':
        for k, df, q in [(3, 2, 5.0), (12, 120, 12.0), (20, 120, 12.6629), (100, 40, 6.0)]:
            a = studentized(make_range(k, 1), df, q, 1)
            b = studentized(make_range(k, 2), df, q, 2)
            print(k, df, q, text(a[1]), text(a[1] / b[1] - 1), text(a[0] / b[0] - 1))
        for groups, two, df, x in [([(0.4, 1), (0.95, 2), (0.98, 1)], True, 3, 8.0), ([(0.7, 3)], False, 20, 3.0)]:
            a = studentized(make_maximum(groups, two, 1), df, x, 1)
            b = studentized(make_maximum(groups, two, 2), df, x, 2)
            print(groups, two, df, x, text(a[1]), text(a[1] / b[1] - 1), text(a[0] / b[0] - 1))


main()
