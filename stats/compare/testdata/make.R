# Makes reference.json: effect-size intervals, Fieller's intervals and
# comparisons with the best, by R's own laws (pt, integrate) and the
# formulas written out. Run: Rscript make.R
library(jsonlite)

# Hedges' g with the interval that inverts the noncentral t.
g <- list()
for (case in list(c(2.1, 1.0, 1.5, 18, 0.05), c(-0.4, 0.9, 2.2, 7, 0.05), c(5.2, 0.8, 1.1, 24, 0.012), c(0, 1, 1, 30, 0.1))) {
  d <- case[1]; se <- case[2]; sd <- case[3]; df <- case[4]; alpha <- case[5]
  t <- d / se
  j <- exp(lgamma(df / 2) - lgamma((df - 1) / 2)) / sqrt(df / 2)
  # pt with ncp is good to about 1e-12 for |ncp| < 37.62.
  at <- function(p) uniroot(function(delta) pt(t, df, delta, lower.tail = FALSE) - p, c(t - 12, t + 12), tol = 1e-13)$root
  g[[length(g) + 1]] <- list(difference = d, se = se, sd = sd, df = df, alpha = alpha,
    g = j * d / sd, low = at(alpha / 2) * se / sd, high = at(1 - alpha / 2) * se / sd)
}

# Fieller: the roots in rho of (d - rho m)^2 = c^2 (varD - 2 rho cov + rho^2 varM).
fieller <- list()
for (case in list(c(1.5, 20, 0.3, 0.2, -0.1, 2.4), c(-1.5, 20, 0.3, 0.2, -0.1, 2.4), c(0.2, 3, 0.5, 0.4, 0.1, 2.1))) {
  d <- case[1]; m <- case[2]; vd <- case[3]; vm <- case[4]; cv <- case[5]; k <- case[6]^2
  p <- polyroot(c(d^2 - k * vd, -2 * (d * m - k * cv), m^2 - k * vm))
  r <- sort(Re(p))
  fieller[[length(fieller) + 1]] <- list(d = d, m = m, var_d = vd, var_m = vm, cov = cv, c = case[6],
    value = 100 * d / m, low = 100 * r[1], high = 100 * r[2])
}

# Comparisons with the best (Hsu 1984, larger is better), with unequal numbers.
best <- list()
for (case in list(list(mean = c(10, 12, 15, 14.2), n = c(5, 5, 5, 5), s2 = 2.5), list(mean = c(3.1, 2.9, 3.0), n = c(4, 9, 6), s2 = 0.4),
                  list(mean = c(1, 9, 2, 3, 1.5), n = c(6, 4, 5, 7, 6), s2 = 1.1))) {
  k <- length(case$mean); df <- sum(case$n) - k; v <- case$s2 / case$n; alpha <- 0.05
  # Dunnett's one-sided critical value with level i as the baseline: given the
  # baseline's estimate z and the noise estimate s the others are independent.
  crit <- sapply(1:k, function(i) {
    o <- setdiff(1:k, i)
    l <- sqrt(v[i] / (v[i] + v[o]))
    given <- function(q, s) integrate(function(z) dnorm(z) * apply(sapply(seq_along(o), function(a) pnorm((q * s + l[a] * z) / sqrt(1 - l[a]^2))), 1, prod),
      -9, 9, rel.tol = 1e-11, subdivisions = 400)$value
    below <- function(q) integrate(function(s) sapply(s, function(x) given(q, x) * 2 * x * df * dchisq(df * x^2, df)), 0.02, 4, rel.tol = 1e-10, subdivisions = 400)$value
    uniroot(function(q) below(q) - (1 - alpha), c(1, 4), tol = 1e-11)$root
  })
  se <- function(i, j) sqrt(v[i] + v[j])
  high <- sapply(1:k, function(i) max(0, min(sapply(setdiff(1:k, i), function(j) case$mean[i] - case$mean[j] + crit[i] * se(i, j)))))
  inG <- which(high > 0)
  low <- sapply(1:k, function(i) {
    if (length(inG) == 1 && inG == i) return(0)
    min(0, min(sapply(setdiff(inG, i), function(j) case$mean[i] - case$mean[j] - crit[j] * se(i, j))))
  })
  best[[length(best) + 1]] <- list(mean = case$mean, var = v, df = df, alpha = alpha, critical = crit, low = low, high = high)
}
write_json(list(maker = paste("R", getRversion()), hedges = g, fieller = fieller, best = best),
  "reference.json", digits = I(15), auto_unbox = TRUE, pretty = TRUE)
