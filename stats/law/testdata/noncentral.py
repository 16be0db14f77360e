"""Reference values of the noncentral laws.

    python3 noncentral.py   writes noncentralchisquared.csv, noncentralf.csv, noncentralt.csv

Plain Poisson mixtures, summed in order from the first term at 420 digits: whatever
cancels, cancels into digits that are there. Needs gmpy2.
"""
import functools
import random
import gmpy2
from gmpy2 import mpfr

DIGITS = 420
gmpy2.get_context().precision = 1420
random.seed(77)


g = mpfr


@functools.cache
def gamma(a):
    return gmpy2.gamma(a)


def beta_lower(a, b, x):
    """I_x(a, b): positive series in x, or one minus that in 1-x."""
    if x > 0.7:
        return 1 - beta_lower(b, a, 1 - x)
    term = total = mpfr(1)
    n = 0
    while term > gmpy2.exp10(-DIGITS) * total or x * (a + b + n) > a + 1 + n:
        term *= x * (a + b + n) / (a + 1 + n)
        total += term
        n += 1
    return x ** a * (1 - x) ** b * gamma(a + b) / (gamma(a + 1) * gamma(b)) * total


def chi_mix(df, lam, x):
    a, m, x = g(df) / 2, g(lam) / 2, g(x) / 2
    term = total = mpfr(1)
    n = 0
    while term > gmpy2.exp10(-DIGITS) * total or x > a + 1 + n:
        n += 1
        term *= x / (a + n)
        total += term
    d = x ** a * gmpy2.exp(-x) / gamma(a + 1)
    p = d * total
    return mixture(p, d, lambda j: x / (a + j + 1), m)


def mixture(p, d, growth, m):
    w = gmpy2.exp(-m)
    cdf = mpfr(0)
    j = 0
    while w > gmpy2.exp10(-DIGITS + 20) or j < m:
        cdf += w * p
        p -= d
        d *= growth(j)
        j += 1
        w *= m / j
    return cdf, 1 - cdf


def f_mix(d1, d2, lam, x):
    a, b, m, x = g(d1) / 2, g(d2) / 2, g(lam) / 2, g(x)
    y = a * x / (a * x + b)
    p = beta_lower(a, b, y)
    d = y ** a * (1 - y) ** b * gamma(a + b) / (gamma(a + 1) * gamma(b))
    return mixture(p, d, lambda j: y * (a + b + j) / (a + j + 1), m)


def t_mix(df, delta, x):
    """(CDF, survival) for x > 0 and any delta: Johnson, Kotz and Balakrishnan, ch. 31."""
    b, de, x = g(df) / 2, g(delta), g(x)
    m = de * de / 2
    y = x * x / (2 * b + x * x)
    half = mpfr(1) / 2

    def increments(a):
        return y ** a * (1 - y) ** b * gamma(a + b) / (gamma(a + 1) * gamma(b))
    p, d = beta_lower(half, b, y), increments(half)
    q, e = beta_lower(mpfr(1), b, y), increments(mpfr(1))
    w = gmpy2.exp(-m)
    v = w * de / gmpy2.sqrt(mpfr(2)) / gamma(mpfr(3) / 2)
    total = mpfr(0)
    j = 0
    while w > gmpy2.exp10(-DIGITS + 20) or j < m:
        total += w * p + v * q
        p -= d
        q -= e
        d *= y * (half + b + j) / (half + j + 1)
        e *= y * (1 + b + j) / (1 + j + 1)
        j += 1
        w *= m / j
        v *= m / (j + half)
    below = gmpy2.erfc(de / gmpy2.sqrt(mpfr(2))) / 2
    cdf = below + total / 2
    return cdf, 1 - cdf


def text(v):
    return '%.20e' % 0 if v <= 0 else '{0:.20e}'.format(v)


def write(name, head, rows):
    with open(name, 'w') as out:
        out.write(head + '\n')
        for row in rows:
            out.write(','.join(repr(float(v)) for v in row[:-2]) + ',' + ','.join(text(v) for v in row[-2:]) + '\n')
    print(name, len(rows), flush=True)


zs = [-30, -12, -6, -3, -1.5, -0.5, 0.4, 1.2, 2.5, 4.5, 9, 18, 30]

rows = []
for df in [0.1, 1, 2, 3, 4.5, 12, 60, 500]:
    for lam in [0.01, 1, 7.5, 40, 300, 5000]:
        for z in random.sample(zs, 7):
            root = (df + lam) ** 0.5 + z * random.uniform(0.8, 1)
            x = root * root if root > 0 else 10.0 ** (z * random.uniform(0.2, 0.6))
            rows.append([df, lam, x, *chi_mix(df, lam, x)])
write('noncentralchisquared.csv', 'df,lambda,x,cdf,survival', rows)

rows = []
for d1 in [0.5, 1, 2, 3, 7, 24, 150]:
    for d2 in [1, 4, 16, 33.5, 200, 3000]:
        for lam in random.sample([0.01, 0.9, 6.0, 12.5, 45, 350, 3000], 4):
            for z in random.sample(zs, 3):
                root = (d1 + lam) ** 0.5 + z * random.uniform(0.8, 1)
                x = root * root / d1 if root > 0 else 10.0 ** (z * random.uniform(0.2, 0.6))
                x = 1e6 if x > 1e6 else x
                rows.append([d1, d2, lam, x, *f_mix(d1, d2, lam, x)])
write('noncentralf.csv', 'd1,d2,lambda,x,cdf,survival', rows)

rows = []
for df in [1, 2, 3, 5.5, 10, 16, 40, 150, 2000]:
    for delta in [-37, -12, -5, -2, -0.3, 0.1, 1.1, 3.3, 6.0, 15, 60]:
        for _ in range(3):
            z = random.choice(zs) * random.uniform(0.8, 1)
            x = abs(delta + z) if random.random() < 0.7 else abs(z) * 10.0 ** random.uniform(-3, 2)
            rows.append([df, delta, x, *t_mix(df, delta, x)])
write('noncentralt.csv', 'df,delta,x,cdf,survival', rows)
