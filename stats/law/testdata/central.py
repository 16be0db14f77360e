"""Reference values of the central laws: t, F, chi-squared and beta.

    python3 central.py      writes t.csv, f.csv, chisquared.csv, beta.csv

Each line holds the parameters, x, the CDF and the survival function. Both tails
come from hypergeometric series with positive terms at 370 digits, so that
one minus the other keeps 60 of them at 1e-300. Needs mpmath and gmpy2.
"""
import random
import gmpy2
from mpmath import mp, mpf, exp, log, loggamma, hyp1f1, erfc, sqrt

DIGITS = 370
mp.dps = DIGITS
gmpy2.get_context().precision = 1250
random.seed(20240517)


def from_gmpy(v):
    digits, point, _ = gmpy2.digits(v) if v else ('0', 0, 0)
    sign = -1 if digits.startswith('-') else 1
    digits = digits.lstrip('-')
    return sign * mpf(digits) * mpf(10) ** (point - len(digits))


def positive_series(x, up, down):
    """Sum of the terms x^n (up)_n / (down+1)_n: 2F1(up, 1; down+1; x)."""
    x, up, down = (gmpy2.mpfr(mp.nstr(v, DIGITS + 5)) for v in (x, up, down))
    term = total = gmpy2.mpfr(1)
    eps = gmpy2.mpfr(10) ** -DIGITS
    n = 0
    while term > eps * total or x * (up + n) > down + n:
        term *= x * (up + n) / (down + 1 + n)
        total += term
        n += 1
    return from_gmpy(total)


def beta_series(a, b, x, y):
    """I_x(a, b) by x^a y^b 2F1(a+b, 1; a+1; x) / (a B(a, b))."""
    lead = a * log(x) + b * log(y) + loggamma(a + b) - loggamma(a + 1) - loggamma(b)
    return exp(lead) * positive_series(x, a + b, a)


def beta_tails(a, b, x, y):
    if (x > 0.95) if x * (a + b) <= a else (y <= 0.95):
        upper = beta_series(b, a, y, x)
        return 1 - upper, upper
    lower = beta_series(a, b, x, y)
    return lower, 1 - lower


def gamma_tails(a, x):
    if x <= a:
        lower = exp(a * log(x) - x - loggamma(a + 1)) * hyp1f1(1, a + 1, x)
        return lower, 1 - lower
    # upper tail by the continued fraction, evaluated backwards with many terms
    g, v = gmpy2.mpfr(mp.nstr(a, DIGITS + 5)), gmpy2.mpfr(mp.nstr(x, DIGITS + 5))
    f = gmpy2.mpfr(0)
    for i in range(int(2000 + 200 * sqrt(a) + 30000 / x), 0, -1):
        f = -i * (i - g) / (v + 1 - g + 2 * i + f)
    upper = exp(a * log(x) - x - loggamma(a)) / (x + 1 - a + from_gmpy(f))
    return 1 - upper, upper


def t_tails(df, x):
    x = mpf(x)
    if df == 'inf':
        upper = erfc(abs(x) / sqrt(mpf(2))) / 2
    else:
        df = mpf(df)
        s = df + x * x
        upper = beta_tails(df / 2, mpf(1) / 2, df / s, x * x / s)[0] / 2 if x else mpf(1) / 2
    return (1 - upper, upper) if x >= 0 else (upper, 1 - upper)


def f_tails(d1, d2, x):
    d1, d2, x = mpf(d1), mpf(d2), mpf(x)
    s = d1 * x + d2
    return beta_tails(d1 / 2, d2 / 2, d1 * x / s, d2 / s)


def locate(tails, side, target, start, top=1e300):
    """A double x whose tail is roughly 10^target: steps outwards, then bisection."""
    def beyond(x):
        v = tails(x)[side]
        return v <= 0 or log(v, 10) < target
    out = 1.0 if side == 1 else -1.0
    near, step = start, 0.25
    while True:
        far = min(near * 2.0 ** (out * step), top)
        if beyond(far) or far == top or far < 1e-300:
            break
        near, step = far, step * 1.2
    for _ in range(8):
        mid = near ** 0.5 * far ** 0.5
        near, far = (near, mid) if beyond(mid) else (mid, far)
    return near if near != start else far


def write(name, head, rows):
    with open(name, 'w') as out:
        out.write(head + '\n')
        for row in rows:
            out.write(','.join(v if isinstance(v, str) else repr(v) if isinstance(v, float)
                               else mp.nstr(v, 20, min_fixed=0, max_fixed=0) for v in row) + '\n')
    print(name, len(rows))


def main():
    pts = [-1e-3, -0.1, -0.3, -0.6, -1, -1.5, -2, -3, -4.5, -7, -12, -20, -40, -80, -150, -250, -299]

    rows = []
    for df in ['0.1', '0.5', '1', '1.5', '2', '3', '4', '5.5', '8', '12', '20', '33.3', '60', '120', '1000', '25000', '1000000', '10000000000', 'inf']:
        for e in pts:
            if df in ('0.1', '0.5') and e < -80:
                continue
            e = e * random.uniform(0.8, 1.0) - 0.302
            x = locate(lambda v: t_tails(df, v), 1, e, 1e-3)
            if random.random() < 0.3:
                x = -x
            rows.append([df, x, *t_tails(df, x)])
        rows.append([df, 1e-7, *t_tails(df, 1e-7)])
    write('t.csv', 'df,x,cdf,survival', rows)

    rows = []
    shapes = [0.5, 1.0, 2.0, 3.0, 4.0, 7.0, 15.0, 20.0, 45.5, 120.0, 999.0, 20000.0]
    for d1 in shapes:
        for d2 in shapes:
            for side in (0, 1):
                for _ in range(1):
                    e = random.choice(pts) * random.uniform(0.8, 1)
                    if min(d1, d2) < 1 and e < -60:
                        e /= 5
                    x = locate(lambda v: f_tails(d1, d2, v), side, e, 1.0)
                    if 1e-290 < x < 1e290:
                        rows.append([d1, d2, x, *f_tails(d1, d2, x)])
    write('f.csv', 'd1,d2,x,cdf,survival', rows)

    rows = []
    for df in [0.1, 0.5, 1.0, 1.7, 2.0, 3.0, 5.0, 8.0, 13.0, 21.5, 50.0, 144.0, 1001.0, 30000.0]:
        for side in (0, 1):
            for e in pts:
                e *= random.uniform(0.8, 1)
                if df < 1 and side == 0 and e < -10:
                    continue
                g = lambda v: gamma_tails(mpf(df) / 2, mpf(v) / 2)
                x = locate(g, side, e, df)
                if 1e-290 < x < 1e290:
                    rows.append([df, x, *g(x)])
    write('chisquared.csv', 'df,x,cdf,survival', rows)

    rows = []
    for a in [0.05, 0.5, 1.0, 2.5, 10.0, 77.0, 5000.0]:
        for b in [0.05, 0.5, 1.0, 2.5, 10.0, 77.0, 5000.0]:
            for e in pts[::2]:
                e *= random.uniform(0.8, 1)
                if a < 1:
                    e /= 20
                g = lambda v: beta_tails(mpf(a), mpf(b), mpf(v), 1 - mpf(v))
                x = locate(g, 0, e, a / (a + b), 1 - 1e-12)
                if 1e-290 < x < 1 - 1e-12:
                    rows.append([a, b, x, *g(x)])
    write('beta.csv', 'a,b,x,cdf,survival', rows)


main()
