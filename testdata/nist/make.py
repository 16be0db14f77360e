"""Make NAME.csv and certified.json from the NIST StRD one-way files NAME.dat.

The .dat files are the originals (public domain), as carried by Debian's
python3-scipy under scipy/stats/tests/data/nist_anova. Run in this folder:

    python3 make.py

The response keeps its decimal text. Each certified value is also recomputed in
exact rational arithmetic from that text ("exact", rounded once to 30 digits),
and the script fails if the two differ by more than one unit in the fifteenth
digit.
"""

import glob
import json
import re
from decimal import Decimal, getcontext
from fractions import Fraction

getcontext().prec = 60
NUMBER = r"[-+]?\d\.\d+E[-+]\d+"


def text30(q):
    """A rational number as decimal text, rounded once to 30 digits."""
    getcontext().prec = 30
    d = Decimal(q.numerator) / Decimal(q.denominator)
    getcontext().prec = 60
    return str(d)


def root30(q):
    """The square root of a rational number, rounded to 30 digits."""
    d = (Decimal(q.numerator) / Decimal(q.denominator)).sqrt()
    getcontext().prec = 30
    d = +d
    getcontext().prec = 60
    return str(d)


def certified(text):
    between = re.search(rf"^Between \w+\s+(\d+)\s+({NUMBER})\s+({NUMBER})\s+({NUMBER})", text, re.M)
    within = re.search(rf"^Within \w+\s+(\d+)\s+({NUMBER})\s+({NUMBER})", text, re.M)
    r2 = re.search(rf"Certified R-Squared\s+({NUMBER})", text)
    sd = re.search(rf"Standard Deviation\s+({NUMBER})", text)
    return {
        "between": {"df": int(between[1]), "ss": between[2], "ms": between[3]},
        "within": {"df": int(within[1]), "ss": within[2], "ms": within[3]},
        "f": between[4],
        "r_squared": r2[1],
        "residual_sd": sd[1],
    }


def exact(rows):
    groups = {}
    for level, y in rows:
        groups.setdefault(level, []).append(Fraction(y))
    n = len(rows)
    mean = {g: sum(v) / len(v) for g, v in groups.items()}
    grand = sum(mean[g] * len(v) for g, v in groups.items()) / n
    between = sum(len(v) * (mean[g] - grand) ** 2 for g, v in groups.items())
    # (y - mean)^2 summed over distinct values keeps the rationals small.
    within = Fraction(0)
    for g, v in groups.items():
        count = {}
        for y in v:
            count[y] = count.get(y, 0) + 1
        within += sum(c * (y - mean[g]) ** 2 for y, c in count.items())
    df1, df2 = len(groups) - 1, n - len(groups)
    return {
        "between": {"df": df1, "ss": text30(between), "ms": text30(between / df1)},
        "within": {"df": df2, "ss": text30(within), "ms": text30(within / df2)},
        "f": text30((between / df1) / (within / df2)),
        "r_squared": text30(between / (between + within)),
        "residual_sd": root30(within / df2),
        "means": {g: text30(m) for g, m in mean.items()},
    }


def agree(name, want, got):
    for key in want:
        if isinstance(want[key], dict):
            agree(f"{name}.{key}", want[key], got[key])
        elif isinstance(want[key], int):
            assert want[key] == got[key], (name, key)
        else:
            a, b = Decimal(want[key]), Decimal(got[key])
            unit = Decimal(1).scaleb(a.adjusted() - 14)
            assert abs(a - b) <= unit, (name, key, want[key], got[key])


def main():
    out = {}
    for path in sorted(glob.glob("*.dat")):
        name = path[: -len(".dat")]
        text = open(path, encoding="ascii").read()
        n = int(re.search(r"(\d+) Observations", text)[1])
        lines = text.split("\n")[60 : 60 + n]
        rows = [tuple(line.split()) for line in lines]
        assert len(rows) == n and all(len(r) == 2 for r in rows), name
        with open(name + ".csv", "w", encoding="ascii", newline="\n") as f:
            f.write("treatment,response\n")
            f.writelines(f"{a},{b}\n" for a, b in rows)
        want, got = certified(text), exact(rows)
        agree(name, want, got)
        out[name] = {
            "file": name + ".csv",
            "runs": n,
            "difficulty": re.search(r"(\w+) Level of Difficulty", text)[1].lower(),
            "leading_digits": int(re.search(r"(\d+) Constant Leading", text)[1]),
            "certified": want,
            "exact": got,
        }
    with open("certified.json", "w", encoding="ascii", newline="\n") as f:
        json.dump(out, f, indent=1)
        f.write("\n")


main()
