"""False alarms of all pairs among the combinations of a hard factor with H levels and an easy one with E, in a
balanced campaign of b packs, each with H whole plots of E levels run r times: intervals by
Tukey's law with the degrees of freedom of Kenward and Roger for each pair. Nothing is fitted here: the mean squares
are drawn from their laws, chi-squared, and the combinations' means from theirs, so that the figures are independent
of the program's fits. A component below zero is put at zero, where the mean squares pool and the information stays
that of two components. Beside it, the same with the weighted critical values of Cochran & Cox (1957, Experimental
Designs, 7.1) across whole plots; and those of the hard factor's two levels by themselves.

    python3 wholeplots.py > wholeplots.csv
"""
import numpy as np
from scipy import stats
from scipy.interpolate import PchipInterpolator

def study(H, E, b, r, spread, campaigns, rng):
    k, m = H * E, E * r                          # combinations, runs in a whole plot
    fw = (b - 1) * (H - 1)
    fe = b * H * m - b * H - (E - 1) * H
    at = np.array([0, *np.linspace(1 / 200, 1 / fw * 1.001, 60)])
    q = PchipInterpolator(at, [stats.studentized_range.ppf(0.95, k, 1 / x if x else 1e5) / np.sqrt(2) for x in at])
    found, cautiously, hard = 0, 0, 0
    for _ in range(0, campaigns, 100_000):
        n = 100_000
        mse = stats.chi2.rvs(fe, size=n, random_state=rng) / fe
        msw = (1 + m * spread**2) * stats.chi2.rvs(fw, size=n, random_state=rng) / fw
        pool = (fw * msw + fe * mse) / (fw + fe)
        zero = msw < mse
        mse, msw = np.where(zero, pool, mse), np.where(zero, pool, msw)
        means = spread * rng.standard_normal((n, H, 1)) / np.sqrt(b) + rng.standard_normal((n, H, E)) / np.sqrt(b * r)
        within = np.abs(means.max(2) - means.min(2)).max(1)
        alarm = within > q(1 / fe) * np.sqrt(2 * mse / (b * r))
        # variance between combinations of two whole plots: 2/b (w² + σ²/r), w² = (msw - mse)/m
        a, c = 2 / b * mse * (1 / r - 1 / m), 2 / b * msw / m
        df = (a + c) ** 2 / (a**2 / fe + c**2 / fw)
        across = np.zeros(n)
        for i in range(H):
            for j in range(H):
                if i != j:
                    across = np.maximum(across, means[:, i].max(1) - means[:, j].min(1))
        found += (alarm | (across > q(1 / df) * np.sqrt(a + c))).sum()
        cautiously += (alarm | (across > (a * q(1 / fe) + c * q(1 / fw)) / np.sqrt(a + c))).sum()
        level = np.sqrt(2 / b) * np.sqrt((1 + m * spread**2) / m) * rng.standard_normal(n)
        hard += (np.abs(level) > stats.t.ppf(0.975, fw) * np.sqrt(2 / b * msw / m)).sum()
    return found / campaigns, cautiously / campaigns, hard / campaigns

rng = np.random.default_rng(1911)
print("packs,spread,combinations,cautious,hard")
for b in (3, 5, 8, 12, 20):
    for spread in (0.5, 1, 2):
        print(b, spread, *(f"{p:.5f}" for p in study(2, 3, b, 2, spread, 1_000_000, rng)), sep=",", flush=True)
