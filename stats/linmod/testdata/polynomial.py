"""Makes polynomial.json: orthogonal polynomial contrasts by Gram-Schmidt on the
monomials with 40 digits. Run in this folder: python3 polynomial.py"""

import json
from mpmath import mp, mpf, sqrt

mp.dps = 40


def contrasts(values, degree):
    basis = [[mpf(1)] * len(values)]
    for d in range(1, degree + 1):
        p = [mpf(v) ** d for v in values]
        for q in basis:
            f = sum(a * b for a, b in zip(p, q)) / sum(b * b for b in q)
            p = [a - f * b for a, b in zip(p, q)]
        basis.append(p)
    return [[float(a / sqrt(sum(b * b for b in p))) for a in p] for p in basis[1:]]


cases = [([0, 4, 8, 12], 3), ([1, 2, 4, 8, 16], 4), ([12, 0, 1], 2),
         ([1000000.5, 1000000.75, 1000002], 2), ([0, 4, 4, 12], 2), (list(range(12)), 8)]
with open("polynomial.json", "w") as f:
    json.dump([{"values": v, "want": contrasts(v, d)} for v, d in cases], f, indent=1)
