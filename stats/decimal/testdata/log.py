"""Makes log.json: natural logarithms of decimals, less that of the first, with 50
digits by mpmath. Run in this folder: python3 log.py"""

import json
from mpmath import mp, mpf, log

mp.dps = 60
columns = [
    ["1000000000000.4", "1000000000000.3", "1000000000000.6", "1000000000001.9"],
    ["107.8681568", "107.8681465", "107.8681572"],
    ["412", "405", "391", "393", "404.5"],
    ["0.02", "1.1", "200", "3e5", "7"],
    ["1.00012e-12", "1.00017e-12", "1.0001299999999999999999999e-12"],
    ["1.5", "1", "3", "2.9", "1.0000000001"],
    ["1e-300", "1e300"],
    ["3"],
]
with open("log.json", "w") as f:
    json.dump([{"texts": c, "log": [float(log(mpf(t))) for t in c],
                "difference": [float(log(mpf(t)) - log(mpf(c[0]))) for t in c]} for c in columns], f, indent=1)
