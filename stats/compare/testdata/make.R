# Makes reference.json: effect-size intervals and Fieller's intervals, by R's own laws (pt)
# and the formulas written out. Run: Rscript make.R
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

write_json(list(maker = paste("R", getRversion()), hedges = g, fieller = fieller),
  "reference.json", digits = I(15), auto_unbox = TRUE, pretty = TRUE)
