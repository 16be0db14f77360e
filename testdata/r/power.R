# Power and replicates as R gives them: writes power.json, which power.py completes.
#
#     Rscript power.R && python3 power.py
#
# R's pt with a noncentrality is accurate to about 1e-12 absolute (algorithm AS 243), its pf likewise; power.py
# gives the same numbers by quadrature in 40 digits, and what R has no function for.

library(jsonlite)

t_test <- list()
for (type in c("two.sample", "paired")) for (n in c(2, 3, 4, 6, 8, 12, 20, 50)) for (d in c(0.25, 0.5, 1, 1.5, 2.5, 5)) {
  t_test[[length(t_test) + 1]] <- list(type = type, n = n, delta = d, sd = 1, alpha = 0.05,
    power = power.t.test(n = n, delta = d, sd = 1, sig.level = 0.05, type = type, strict = TRUE)$power)
}

anova <- list()
for (k in c(2, 3, 4, 6, 8)) for (n in c(2, 3, 5, 8, 12, 30)) for (f in c(0.1, 0.25, 0.4, 0.8, 1.5)) {
  between <- f^2 * k / (k - 1) # Cohen's f squared times k/(k-1): power.anova.test divides by k-1
  anova[[length(anova) + 1]] <- list(groups = k, n = n, f = f, between_variance = between, alpha = 0.05,
    power = power.anova.test(groups = k, n = n, between.var = between, within.var = 1, sig.level = 0.05)$power)
}

# the noncentrality that reaches a power, for t (two-sided, both tails) and F
reach <- list()
for (df in c(2, 5, 12, 30, 100)) for (power in c(0.5, 0.8, 0.9, 0.99)) {
  f <- function(l) pt(qt(0.975, df), df, l, lower.tail = FALSE) + pt(-qt(0.975, df), df, l) - power
  reach[[length(reach) + 1]] <- list(law = "t", df = df, alpha = 0.05, power = power, ncp = uniroot(f, c(0, 37), tol = 1e-12)$root)
}
for (d1 in c(1, 3, 7)) for (d2 in c(4, 16, 60)) for (power in c(0.8, 0.9)) {
  f <- function(l) pf(qf(0.95, d1, d2), d1, d2, l, lower.tail = FALSE) - power
  reach[[length(reach) + 1]] <- list(law = "f", df1 = d1, df = d2, alpha = 0.05, power = power, ncp = uniroot(f, c(0, 400), tol = 1e-12)$root)
}

writeLines(toJSON(list(
  maker = paste0("R ", getRversion(), ": power.t.test(strict = TRUE), power.anova.test, pt, pf"),
  tolerance = list(power = 1e-9, ncp = 1e-7),
  t_test = t_test, anova = anova, noncentrality = reach), digits = NA, auto_unbox = TRUE, pretty = 1), "power.json")
