"""P(max |T_i| > c) and P(max T_i > c) for correlated t, for precise.py and power.py.

T_i = Z_i / S with Z normal of unit variance and S = chi/sqrt(df). Three structures:

  product    correlation_ij = l_i l_j (one-way, blocks that do not upset balance): given a
             standard normal z the Z_i are independent, and the survival is a double
             integral of 1 - prod(1 - tail_i), all terms positive, so small
             probabilities keep about 12 digits (Dunnett 1955)
  general    up to four comparisons, any correlation: the Cholesky factor gives
             nested integrals over finite intervals, done by Gauss-Legendre
             (Genz 1992); absolute error about 1e-11
"""

import numpy as np
from scipy.special import log_ndtr, ndtr, gammaln
from numpy.polynomial.legendre import leggauss


def _scale(df):
    """Trapezoidal nodes and weights for S in log s."""
    h = min(0.06, 0.3 / np.sqrt(2 * df))
    x = np.arange(-45.0 / min(df, 40), np.log(1 + 9 / np.sqrt(df)) + 0.7, h)
    logf = np.log(2) + df / 2 * np.log(df / 2) - gammaln(df / 2) + df * x - df * np.exp(2 * x) / 2
    keep = logf > -90
    return np.exp(x[keep]), h * np.exp(logf[keep])


class _Law:
    def quantile(self, alpha, sided, start):
        a, b = start, start * 1.0005
        f = lambda c: np.log(self.survival(c, sided) / alpha)
        fa, fb = f(a), f(b)
        for _ in range(40):
            if fb == fa or abs(b - a) < 2e-14 * b:
                return b
            a, fa, b = b, fb, b - fb * (b - a) / (fb - fa)
            fb = f(b)
        return b


class Product(_Law):
    structure = "product"

    def __init__(self, l, df):
        self.l, self.df = l, df
        self.s, self.ws = _scale(df)

    def survival(self, c, sided):
        l, r = self.l, np.sqrt(1 - self.l**2)
        h = min(1 / 16, float(r.min() / np.abs(l).max()) / 6)
        top = 9 + max(9.0, float(np.abs(l).max()) * 40)
        z = np.arange(-top, top + h, h)
        wz = h * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
        parts = []
        for s, w in zip(self.s, self.ws):
            stay = np.zeros_like(z)
            for li, ri in zip(l, r):
                if sided == 2:
                    tail = ndtr((li * z - c * s) / ri) + ndtr((-li * z - c * s) / ri)
                    stay += np.where(tail < 0.5, np.log1p(-np.minimum(tail, 0.5)),
                                     np.log(np.maximum(ndtr((c * s - li * z) / ri) - ndtr((-c * s - li * z) / ri), 1e-300)))
                else:
                    stay += log_ndtr((c * s - li * z) / ri)
            parts.append(w * np.dot(wz, -np.expm1(stay)))
        return float(np.sum(parts))


class General(_Law):
    structure = "general"

    def __init__(self, corr, df):
        self.chol, self.df = np.linalg.cholesky(corr), df
        self.s, self.ws = _scale(df)
        self.nodes = {2: 80, 3: 64, 4: 40}[len(corr)]

    def survival(self, c, sided):
        """1 - E over S of the rectangle probability, by nested Gauss-Legendre."""
        L, m = self.chol, len(self.chol)
        x, wx = leggauss(self.nodes)
        total = 0.0
        mass = 0.0
        for s, w in zip(self.s, self.ws):
            if w < 1e-16:
                continue
            mass += w
            a = c * s
            ys = []
            weight = np.ones(1)
            shift = [np.zeros(1) for _ in range(m)]
            for i in range(m - 1):
                hi = np.minimum((a - shift[i]) / L[i, i], 9.0)
                lo = np.maximum((-a - shift[i]) / L[i, i], -9.0) if sided == 2 else np.full_like(hi, -9.0)
                hi = np.maximum(hi, lo)
                half = (hi - lo) / 2
                y = (hi + lo)[:, None] / 2 + half[:, None] * x
                weight = (weight[:, None] * half[:, None] * wx * np.exp(-y * y / 2) / np.sqrt(2 * np.pi)).ravel()
                shift = [np.repeat(v, len(x)) for v in shift]
                y = y.ravel()
                for j in range(i + 1, m):
                    shift[j] = shift[j] + L[j, i] * y
            last = ndtr((a - shift[m - 1]) / L[m - 1, m - 1])
            if sided == 2:
                last = last - ndtr((-a - shift[m - 1]) / L[m - 1, m - 1])
            total += w * float(np.dot(weight, last))
        return 1 - total


def law(corr, df):
    """The law for a correlation matrix, or None for more than four comparisons without product structure."""
    m = len(corr)
    if m == 2:
        rho = corr[0, 1]
        root = np.sqrt(abs(rho))
        return Product(np.array([root, np.copysign(root, rho)]), df)
    l0 = corr[0, 1] * corr[0, 2] / corr[1, 2] if corr[1, 2] != 0 else -1
    if l0 > 0:
        first = np.sqrt(l0)
        l = np.concatenate([[first], corr[0, 1:] / first])
        fits = np.allclose(np.outer(l, l)[~np.eye(m, dtype=bool)], corr[~np.eye(m, dtype=bool)], rtol=0, atol=1e-13)
        if fits and np.all(np.abs(l) < 1):
            return Product(l, df)
    return General(corr, df) if m <= 4 else None


if __name__ == "__main__":
    half = lambda m: np.full((m, m), 0.5) + 0.5 * np.eye(m)
    for m in (2, 3, 4, 5):  # Dunnett 1955 and 1964, 20 degrees of freedom: 2.03 2.19 2.30 2.39 and 2.38 2.54 2.65 2.73
        p = law(half(m), 20.0)
        print(m, p.quantile(0.05, 1, 2.2), p.quantile(0.05, 2, 2.5), end=" ")
        if m <= 4:
            g = General(half(m), 20.0)
            print(g.survival(2.5, 1) - p.survival(2.5, 1), g.survival(2.5, 2) - p.survival(2.5, 2), end="")
        print()
    # one comparison's tail bounds the family's; far tail
    p = law(half(3), 12.0)
    print(p.survival(30.0, 2), p.survival(-3.0, 1), p.survival(0.0, 1), p.survival(0.0, 2))
