# Reference values from R for the tests of package check.
#
#   Rscript make.R      writes r.json beside this script's working directory
#
# Made with R 4.2.2, car, lmtest and jsonlite. All data are invented.
suppressMessages({library(jsonlite); library(car); library(lmtest)})

# Grouped data: spin-up times (ms), bollard pull (N), counts.
groups <- list(
  `three levels`      = list(c(412.1, 409.8, 415.3, 411.0, 413.7), c(405.2, 403.9, 407.7, 404.4, 406.1), c(399.8, 401.2, 398.5, 402.6, 400.9)),
  `unequal`           = list(c(51.2, 49.8, 50.6), c(47.1, 52.9, 44.8, 55.0, 49.3, 46.6, 53.2), c(50.1, 50.4, 50.2, 50.0, 50.3), c(58.4, 40.2, 61.9, 39.0, 52.2, 47.7)),
  `heavy ties`        = list(c(1, 1, 2, 2, 2, 3), c(2, 2, 3, 3, 3), c(1, 2, 3, 3, 4, 4, 4), c(1, 1, 1, 2)),
  `two levels`        = list(c(8.31, 8.27, 8.40, 8.35, 8.29, 8.33), c(8.52, 8.61, 8.40, 8.75)),
  `some pairs`        = list(c(3.1, 3.4), c(2.9, 3.3, 3.0, 3.6), c(4.1, 3.9, 4.4)),
  `far apart`         = list(c(100.3, 101.1, 99.4, 100.8, 99.9, 100.2), c(151.2, 148.8, 150.3, 149.9, 150.5, 149.1), c(201.6, 198.2, 199.7, 200.4, 200.1, 199.3)),
  `wide range`        = list(c(0.0012, 0.0009, 0.0015, 0.0011), c(1.3, 1.9, 1.1, 1.6), c(1450, 1210, 1820, 1330)),
  `equal means`       = list(c(4, 6, 5, 5), c(3, 7, 5, 5), c(5, 5, 2, 8))
)
long <- function(g) data.frame(y = unlist(g), g = factor(rep(seq_along(g), lengths(g))))
# Distances from the median without their structural zero (Hines & Hines 2000).
hines <- function(x) { z <- sort(abs(x - median(x))); if (length(z) %% 2 == 1) z[-1] else c(sqrt(2) * z[1], z[-(1:2)]) }
grouped <- lapply(names(groups), function(name) {
  g <- groups[[name]]; d <- long(g)
  bf <- leveneTest(y ~ g, d, center = median); ba <- bartlett.test(y ~ g, d)
  hh <- anova(lm(y ~ g, long(lapply(g, hines))))
  we <- oneway.test(y ~ g, d); kw <- kruskal.test(y ~ g, d)
  list(name = name, groups = g,
    brownforsythe = c(bf[1, "F value"], bf[1, "Df"], bf[2, "Df"], bf[1, "Pr(>F)"]),
    hineshines = c(hh[1, "F value"], hh[1, "Df"], hh[2, "Df"], hh[1, "Pr(>F)"]),
    bartlett = unname(c(ba$statistic, ba$parameter, 0, ba$p.value)),
    welch = unname(c(we$statistic, we$parameter, we$p.value)),
    kruskalwallis = unname(c(kw$statistic, kw$parameter, 0, kw$p.value)))
})

# Shapiro-Wilk. Long samples follow a rule that the test repeats: u is the
# fractional part of i times 0.6180339887498949.
golden <- function(n) { v <- seq_len(n) * 0.6180339887498949; v - floor(v) }
samples <- list(
  list(x = c(1.2, 3.4, 2.9)), list(x = c(1, 1, 2)), list(x = c(1, 1, 1, 2)), list(x = c(5.1, 4.8, 5.6, 9.9)),
  list(x = c(148, 154, 158, 160, 161)), list(x = c(3, 1, 4, 1, 5, 9)), list(x = c(2, 7, 1, 8, 2, 8, 1)),
  list(x = c(412.1, 409.8, 415.3, 411.0, 413.7, 405.2, 403.9, 407.7, 404.4, 406.1)),
  list(x = c(0.11, 0.35, 0.02, 1.81, 0.47, 0.93, 0.08, 0.60, 0.25, 3.40, 0.15)),
  list(x = c(0.11, 0.35, 0.02, 1.81, 0.47, 0.93, 0.08, 0.60, 0.25, 3.40, 0.15, 0.77)),
  list(x = c(1e-5, 2e-5, 4e-5, 1e-4, 1, 1, 1, 1, 1, 1, 1, 1, 1)),
  list(x = qnorm((1:20 - 0.375) / 20.25)),
  list(x = 1e6 + c(3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8, 9, 7, 9)),
  list(rule = "u", n = 50), list(rule = "u", n = 200), list(rule = "u*u", n = 1000), list(rule = "u", n = 5000), list(rule = "u+v+w", n = 5000), list(rule = "u+v+w", n = 60))
shapiro <- lapply(samples, function(s) {
  x <- s$x
  if (is.null(x)) {
    u <- golden(s$n)
    # three neighbours of the sequence squared up and mixed: roughly bell-shaped
    m <- golden(3 * s$n)
    x <- switch(s$rule, u = u, `u*u` = u * u, `u+v+w` = (m[seq_len(s$n)] + m[s$n + seq_len(s$n)] * m[s$n + seq_len(s$n)]) + m[2 * s$n + seq_len(s$n)])
  }
  t <- shapiro.test(x)
  c(s, list(w = unname(t$statistic), p = t$p.value))
})

# A blocked design with a covariate, residuals in run order; the last row has a level
# of its own, so its leverage is 1.
bench <- data.frame(
  pack = factor(c(1,1,1,1,1,1, 2,2,2,2,2,2, 3,3,3,3,3,3, 3)),
  level = factor(c("0","4","8","8","4","0", "4","8","0","0","8","4", "8","0","4","4","0","8", "12")),
  pull = c(41.2,43.9,46.1,45.8,43.2,40.1, 43.0,44.9,40.3,39.9,47.9,42.1, 44.2,39.5,41.9,41.7,39.0,43.7, 44.0))
bench$run <- seq_len(nrow(bench))
models <- list(`mean only` = pull ~ 1, blocks = pull ~ pack, `blocks and levels` = pull ~ pack + level, `with drift` = pull ~ pack + level + run)
fits <- lapply(names(models), function(name) {
  f <- lm(models[[name]], bench); n <- nrow(bench)
  t <- rstudent(f); h <- hatvalues(f); t[h > 1 - 1e-9] <- NA
  ok <- !is.na(t); p <- 2 * pt(-abs(t), f$df.residual - 1)
  ot <- outlierTest(f, cutoff = Inf, n.max = Inf)
  less <- dwtest(f, alternative = "less", exact = TRUE, tol = 1e-12); more <- dwtest(f, alternative = "greater", exact = TRUE, tol = 1e-12)
  list(name = name, residuals = unname(residuals(f)), leverages = unname(h), sigma2 = summary(f)$sigma^2, df = f$df.residual,
    pack = as.integer(bench$pack) - 1L, basis = unname(qr.Q(qr(model.matrix(f)))), 
    t = unname(t), p = unname(p), adjusted = unname(pmin(1, sum(ok) * p)),
    worst = unname(c(which.max(abs(t)) - 1, ot$rstudent[1], ot$p[1])),
    dw = unname(durbinWatsonTest(f, simulate = FALSE)$dw), dw_positive = more$p.value, dw_negative = less$p.value)
})

friedman <- lapply(list(
  list(name = "no ties", y = c(5.40, 5.50, 5.55, 5.85, 5.70, 5.75, 5.20, 5.60, 5.50, 5.55, 5.50, 5.40, 5.90, 5.85, 5.70), k = 3),
  list(name = "ties", y = c(1, 2, 2, 3, 2, 2, 2, 4, 1, 1, 3, 3, 2, 2, 2, 2, 1, 3, 2, 4), k = 4),
  list(name = "two treatments", y = c(1.1, 1.3, 2.2, 2.1, 0.9, 1.4, 1.8, 2.6, 3.0, 3.3, 1.7, 1.9), k = 2)),
  function(d) {
    m <- matrix(d$y, ncol = d$k, byrow = TRUE); t <- friedman.test(m)
    list(name = d$name, y = d$y, k = d$k, want = unname(c(t$statistic, t$parameter, 0, t$p.value)))
  })

# Two unequal ways to write the same counts: failed of runs, by level.
tables <- list(
  list(failed = c(1, 9), runs = c(12, 14)), list(failed = c(0, 5), runs = c(10, 10)), list(failed = c(3, 1), runs = c(4, 4)),
  list(failed = c(4, 4), runs = c(10, 10)), list(failed = c(40, 2), runs = c(60, 55)), list(failed = c(120, 80), runs = c(1000, 1100)),
  list(failed = c(0, 2, 5), runs = c(8, 8, 8)), list(failed = c(1, 0, 3, 6), runs = c(10, 12, 9, 11)),
  list(failed = c(2, 2, 2, 2), runs = c(6, 6, 6, 6)), list(failed = c(0, 0, 12, 1, 3), runs = c(15, 14, 15, 16, 13)),
  list(failed = c(10, 14, 25, 31, 8, 19), runs = c(40, 42, 45, 50, 41, 40)), list(failed = c(1, 0, 0, 0, 0, 0, 0, 1, 0, 4), runs = rep(5, 10)))
fisher <- lapply(tables, function(t) {
  m <- cbind(t$failed, t$runs - t$failed)
  c(t, list(p = fisher.test(m, workspace = 2e7)$p.value, chisq = unname(suppressWarnings(chisq.test(m, correct = FALSE)$statistic))))
})

proportions <- lapply(list(c(0, 12), c(12, 12), c(1, 12), c(3, 20), c(10, 20), c(1, 1), c(0, 1), c(7, 1000), c(999, 1000)), function(kn)
  lapply(c(0.05, 0.01), function(alpha) list(k = kn[1], n = kn[2], alpha = alpha,
    clopperpearson = as.vector(binom.test(kn[1], kn[2], conf.level = 1 - alpha)$conf.int),
    wilson = as.vector(suppressWarnings(prop.test(kn[1], kn[2], conf.level = 1 - alpha, correct = FALSE)$conf.int)))))

adjust <- lapply(list(c(0.01, 0.04, 0.03, 0.005), c(0.2, NA, 0.01, 0.01, 0.5, NA, 0.049), c(0.7), c(1e-300, 1, 0, 0.3, 0.3), c(0.04, 0.05, 0.06, 0.9, 0.001, 0.02, 0.021)),
  function(p) list(p = I(p), holm = I(p.adjust(p, "holm")), bh = I(p.adjust(p, "BH"))))

write_json(list(made = paste(R.version.string, "car", packageVersion("car"), "lmtest", packageVersion("lmtest")),
  grouped = grouped, shapirowilk = shapiro, fits = fits, friedman = friedman, fisher = fisher,
  proportions = unlist(proportions, recursive = FALSE), adjust = adjust),
  "r.json", digits = I(17), auto_unbox = TRUE, na = "null", null = "null", matrix = "rowmajor", pretty = FALSE)
