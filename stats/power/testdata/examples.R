# The numbers that the examples of stats/power print, found by R.
# Rscript examples.R
power <- function(x, df, delta) pt(x, df, delta, lower.tail = FALSE) + pt(-x, df, delta)

# Needed: 4 treatments twice a pack, one drift term, noise 1.5, margin 2.
for (packs in c(4, 9)) {
  df <- 8 * packs - packs - 3 - 1
  se <- 1.5 * sqrt(2 / (2 * packs))
  x <- qtukey(0.95, 4, df) / sqrt(2)
  cat(packs, "packs: power", power(x, df, 2 / se), "detectable",
    se * uniroot(function(d) power(x, df, d) - 0.9, c(1, 9), tol = 1e-10)$root, "\n")
}

# Words: the same at 9 packs, where df, se and x stand now.
words <- function(truth, margin = 2) {
  over <- function(f) integrate(function(v) sapply(v, function(v) dchisq(v, df) * f(x * se * sqrt(v / df))), 0, 200,
    rel.tol = 1e-9, subdivisions = 2000)$value
  ring <- function(a, b) if (b > a) pnorm(b, truth, se) - pnorm(a, truth, se) + pnorm(-a, truth, se) - pnorm(-b, truth, se) else 0
  c(matters = over(function(h) ring(h + margin, Inf)), real = over(function(h) ring(max(h, margin - h), margin + h)),
    trivial = over(function(h) ring(h, margin - h)), equal = over(function(h) ring(0, min(h, margin - h))),
    unresolved = over(function(h) ring(max(0, margin - h), h)))
}
for (truth in c(0, 2, 4)) print(round(words(truth), 4))

# Range: 3 packs done, then k more; Dunnett with 4 levels, noise 1.3 on 17 df:
# power at the lower limit of the noise, its estimate, its upper limit, and on average.
dunnett <- function(levels, df) {
  inner <- function(h) sapply(h, function(h)
    integrate(function(z) dnorm(z) * (pnorm(z + h) - pnorm(z - h))^(levels - 1), -9, 9, rel.tol = 1e-11)$value)
  miss <- function(x) integrate(function(v) dchisq(v, df) * (1 - inner(x * sqrt(2 * v / df))), 0, Inf, rel.tol = 1e-10)$value - 0.05
  uniroot(miss, c(1.5, 10), tol = 1e-10)$root
}
s <- 1.3
limits <- s * sqrt(17 / qchisq(c(0.975, 0.025), 17))
for (k in 0:11) {
  df <- 17 + 7 * k
  se <- sqrt(2 / (6 + 2 * k))
  x <- dunnett(4, df)
  average <- integrate(function(v) sapply(v, function(v) dchisq(v, 17) * power(x, df, 2 * sqrt(v / 17) / (s * se))), 0, 100, rel.tol = 1e-9)$value
  cat(k, "more:", power(x, df, 2 / (limits[1] * se)), power(x, df, 2 / (s * se)), power(x, df, 2 / (limits[2] * se)), average, "\n")
}
