# Makes lessbest.csv: the chance of a miss of law.LessBest, by Gauss-Legendre quadrature of the
# integral in both variables with mpmath. python3 lessbest.py > lessbest.csv (a few minutes)
from mpmath import mp, mpf, erfc, exp, sqrt, quad, gamma, pi

mp.dps = 18


def Q(x):
    return erfc(x / sqrt(2)) / 2


def phi(x):
    return exp(-x * x / 2) / sqrt(2 * pi)


def inner(k, lo, up):
    f = lambda u: phi(u) * (1 - (1 - Q(lo + u) - Q(up - u)) ** (k - 2) * (1 - Q(lo + u) - Q(lo - u)))
    return quad(f, [-9, -4, -2, 0, 2, 4, 9])


def mixture(df, g):
    c = 2 * (mpf(df) / 2) ** (mpf(df) / 2) / gamma(mpf(df) / 2)
    f = lambda s: c * s ** (df - 1) * exp(-df * s * s / 2) * g(s)
    sd = 1 / sqrt(2 * mpf(df))
    return quad(f, [max(0, 1 - 8 * sd), max(0, 1 - 3 * sd) or mpf('0.25'), 1, 1 + 3 * sd, 1 + 8 * sd, 1 + 13 * sd], maxdegree=5)


print("k,df,lower,upper,miss")
for k, df, q in ((3, 10, 2.7413), (5, 20, 2.9924), (8, 28, 3.2702), (4, 12, 5.0)):
    up = mpf(q)
    lo = up * mpf('0.9')
    print("%d,%d,%s,%s,%s" % (k, df, mp.nstr(lo, 17), mp.nstr(up, 17), mp.nstr(mixture(df, lambda s: inner(k, sqrt(2) * lo * s, sqrt(2) * up * s)), 14)))
