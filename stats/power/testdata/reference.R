# Reference values for stats/power by R's own power functions and laws.
# Rscript reference.R > reference_r.json
#
# power.t.test(strict = TRUE) counts both tails, as the package does. Tukey's
# critical value by qtukey, Dunnett's by root finding on a double integrate();
# the numbers of blocks are found by trying one after the other.
suppressMessages(library(jsonlite))
out <- list()

out$t_test <- do.call(rbind, lapply(list(c(5, 1, 1), c(20, 0.5, 1), c(3, 4, 1.5), c(64, 2, 4)), function(a) {
  data.frame(n = a[1], diff = a[2], sd = a[3],
    power = power.t.test(n = a[1], delta = a[2], sd = a[3], strict = TRUE)$power)
}))
out$t_test_n <- do.call(rbind, lapply(list(c(1, 1, 0.9), c(0.4, 1, 0.8), c(5, 2, 0.95)), function(a) {
  data.frame(diff = a[1], sd = a[2], power = a[3],
    n = ceiling(power.t.test(delta = a[1], sd = a[2], power = a[3], strict = TRUE, tol = 1e-10)$n))
}))
out$t_test_diff <- do.call(rbind, lapply(list(c(4, 1, 0.9), c(30, 2.5, 0.8)), function(a) {
  data.frame(n = a[1], sd = a[2], power = a[3],
    diff = power.t.test(n = a[1], sd = a[2], power = a[3], strict = TRUE, tol = 1e-12)$delta)
}))
# Two levels differ by diff, the others lie halfway: variance of the means diff^2 / 2 / (groups - 1).
out$anova <- do.call(rbind, lapply(list(c(4, 5, 1.5), c(3, 12, 1), c(8, 3, 3)), function(a) {
  data.frame(groups = a[1], n = a[2], diff = a[3],
    power = power.anova.test(groups = a[1], n = a[2], between.var = a[3]^2 / 2 / (a[1] - 1), within.var = 1)$power)
}))

dunnett <- function(levels, df, alpha = 0.05) {
  inner <- function(h) sapply(h, function(h)
    integrate(function(z) dnorm(z) * (pnorm(z + h) - pnorm(z - h))^(levels - 1), -9, 9, rel.tol = 1e-11)$value)
  miss <- function(x) integrate(function(v) dchisq(v, df) * (1 - inner(x * sqrt(2 * v / df))), 0, Inf, rel.tol = 1e-10)$value - alpha
  uniroot(miss, c(1.5, 10), tol = 1e-11)$root
}
critical <- function(family, levels, df) switch(family,
  pairs = qtukey(0.95, levels, df) / sqrt(2), baseline = dunnett(levels, df), single = qt(0.975, df))
pow <- function(x, df, delta) pt(x, df, delta, lower.tail = FALSE) + pt(-x, df, delta)

# Complete blocks: v treatments, r of each in each block, d drift terms, efficiency e.
blocks <- function(family, v, r, d, own, e, margin, sd, wanted) {
  b <- 1
  repeat {
    df <- v * b * r - b - (v - 1) - d - own * b
    if (df >= 2) { # qtukey starts at 2; with 1 the power is far below what is asked for
      x <- critical(family, v, df)
      p <- pow(x, df, margin / (sd * sqrt(2 / (b * r * e))))
      if (p >= wanted) return(data.frame(family, treatments = v, replicates = r, drift = d, own, efficiency = e, margin, sd,
        wanted, blocks = b, power = p, df, critical = x))
    }
    b <- b + 1
  }
}
out$blocks <- rbind(
  blocks("pairs", 4, 2, 1, 0, 1, 2, 1.5, 0.9), blocks("pairs", 4, 1, 0, 0, 1, 1, 1, 0.8), blocks("pairs", 3, 1, 1, 0, 0.9, 2, 1.5, 0.9),
  blocks("baseline", 4, 2, 1, 0, 0.95, 2, 1.5, 0.9), blocks("baseline", 5, 1, 0, 1, 1, 1.5, 1, 0.8), blocks("single", 2, 3, 2, 0, 1, 1, 1, 0.9))

# After results: se for unit noise and df so far, then k more complete blocks.
more <- function(family, v, r, own, se, df0, margin, sd, wanted) {
  for (k in 0:500) {
    df <- df0 + k * (v * r - 1 - own)
    x <- critical(family, v, df)
    p <- pow(x, df, margin / (sd / sqrt(1 / se^2 + k * r / 2)))
    if (p >= wanted) return(data.frame(family, treatments = v, replicates = r, own, se, df0, margin, sd, wanted, more = k, power = p, df))
  }
}
out$more <- rbind(more("pairs", 4, 2, 0, 0.5, 25, 1, 1.2, 0.9), more("baseline", 3, 1, 0, 0.9, 3, 1, 1, 0.8), more("pairs", 4, 2, 1, 0.2, 60, 1, 1, 0.9))
cat(toJSON(out, digits = NA, pretty = TRUE), "\n")
