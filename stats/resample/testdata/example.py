#!/usr/bin/python3
"""Prints the numbers of the package example, from models fitted again to every
order. Needs numpy."""
import itertools

import numpy as np

y = np.array([410, 403, 406, 417, 401, 409, 412, 409, 413, 402, 409, 418], float)
drawn = (0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0)
z = np.hstack([np.kron(np.eye(3), np.ones((4, 1))), np.tile([1.0, 2, 3, 4], 3)[:, None]])


def f(order, response):
    x = np.hstack([z, np.array(order, float)[:, None]])
    rss = lambda a: np.sum((response - a @ np.linalg.lstsq(a, response, rcond=None)[0]) ** 2)
    small, large = rss(z), rss(x)
    return (small - large) / large


within = sorted(set(itertools.permutations([0, 0, 1, 1])))
orders = [sum(o, ()) for o in itertools.product(within, repeat=3)]


def p(delta):
    r = y - delta * np.array(drawn)
    limit = f(drawn, r) * (1 - 1e-9)
    return np.mean([f(o, r) >= limit for o in orders])


estimate = np.linalg.lstsq(np.hstack([z, np.array(drawn, float)[:, None]]), y, rcond=None)[0][-1]
print("p", p(0), "estimate", estimate)
for sign in (-1, 1):
    near, far = 0.0, 50.0
    while far - near > 1e-5:
        mid = (near + far) / 2
        near, far = (mid, far) if p(estimate + sign * mid) > 0.05 else (near, mid)
    print("end", estimate + sign * near)
