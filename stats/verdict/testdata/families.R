# Expected values of trends, chosen contrasts, simple effects, comparisons with the best and
# p-values across responses, for TestFamilies: Rscript families.R > families.json
#
# R 4.2.2 (emmeans 1.8.4-1, mvtnorm 1.1-3, jsonlite). The bivariate t is Genz's TVPACK, good to
# 1e-10 here; ptukey to about 1e-9.
suppressMessages({library(emmeans); library(mvtnorm); library(jsonlite)})

below <- function(x, y, r, df) pmvt(upper = c(x, y), corr = matrix(c(1, r, r, 1), 2), df = df, algorithm = TVPACK(abseps = 1e-12))[1]
two_sided <- function(t, r, df) { # P(max |T| > t)
  t <- abs(t)
  1 - (below(t, t, r, df) - below(t, -t, r, df) - below(-t, t, r, df) + below(-t, -t, r, df))
}
one_sided <- function(t, r, df) 1 - below(t, t, r, df)
critical <- function(law, r, df) uniroot(function(x) law(x, r, df) - 0.05, c(0, 20), tol = 1e-11)$root

# Two contrasts of the adjusted means of one factor, as one family.
contrasts_of <- function(model, factor, weights) {
  c <- contrast(emmeans(model, factor), weights)
  s <- as.data.frame(summary(c))
  r <- cov2cor(vcov(c))[1, 2]
  k <- critical(two_sided, r, s$df[1])
  data.frame(name = names(weights), estimate = s$estimate, se = s$SE, df = s$df, t = s$t.ratio, p = s$p.value,
    p_adjusted = sapply(s$t.ratio, two_sided, r, s$df[1]), low = s$estimate - k * s$SE, high = s$estimate + k * s$SE)
}

# The slope of the straight line, and the squared level's coefficient in the parabola, through
# the adjusted means, each mean weighing the same.
trend_weights <- function(x) list(
  `linear trend` = solve(crossprod(cbind(1, x)), t(cbind(1, x)))[2, ],
  `quadratic trend` = solve(crossprod(cbind(1, x, x^2)), t(cbind(1, x, x^2)))[3, ])

mtcars$cyl <- factor(mtcars$cyl)
ToothGrowth$dose <- factor(ToothGrowth$dose)
trends <- list(
  list(csv = "mtcars.csv", response = "mpg", treatments = I("cyl"), covariates = I("wt"),
    contrasts = contrasts_of(lm(mpg ~ cyl + wt, mtcars), "cyl", trend_weights(c(4, 6, 8)))),
  list(csv = "ToothGrowth.csv", response = "len", treatments = I(c("dose", "supp")), covariates = I(character()), factor = "dose",
    contrasts = contrasts_of(lm(len ~ dose + supp, ToothGrowth), "dose", trend_weights(c(0.5, 1, 2)))))

chosen_weights <- list(`A and B less C` = c(0.5, 0.5, -1, 0, 0, 0), `D less E and F` = c(0, 0, 0, 1, -0.5, -0.5))
chosen <- list(csv = "InsectSprays.csv", response = "count", treatments = I("spray"),
  weights = lapply(chosen_weights, function(w) as.list(setNames(w, LETTERS[1:6]))),
  contrasts = contrasts_of(lm(count ~ spray, InsectSprays), "spray", chosen_weights))

# Pairs within each slice: Tukey's p, and that times the number of slices.
slices_of <- function(model, factor, by, slices) {
  s <- as.data.frame(summary(pairs(emmeans(model, factor, by = by), reverse = TRUE, adjust = "tukey"), by = NULL, adjust = "none"))
  k <- nlevels(model$model[[factor]])
  p <- ptukey(abs(s$t.ratio) * sqrt(2), k, s$df, lower.tail = FALSE)
  q <- qtukey(0.05 / slices, k, s$df, lower.tail = FALSE) / sqrt(2)
  levels <- strsplit(as.character(s$contrast), " - ")
  data.frame(factor = factor, level = sapply(levels, `[`, 1), against = sapply(levels, `[`, 2), at = paste(by, s[[by]]),
    estimate = s$estimate, se = s$SE, t = s$t.ratio, p = s$p.value, p_adjusted = pmin(1, slices * p),
    low = s$estimate - q * s$SE, high = s$estimate + q * s$SE)
}
m <- lm(breaks ~ wool * tension, warpbreaks)
simple <- list(csv = "warpbreaks.csv", response = "breaks", treatments = I(c("wool", "tension")),
  effects = rbind(slices_of(m, "wool", "tension", 3), slices_of(m, "tension", "wool", 2)))

# Hsu's constrained intervals with three levels, by the one-sided bivariate t, and Tukey's p that a
# level is not the best, or is. Larger is better.
best_of <- function(model, factor) {
  e <- emmeans(model, factor)
  m <- as.data.frame(summary(e))
  v <- vcov(e)
  k <- nrow(m)
  se <- function(i, j) sqrt(v[i, i] + v[j, j] - 2 * v[i, j])
  corr <- function(i) { o <- setdiff(1:k, i); (v[o[1], o[2]] - v[o[1], i] - v[o[2], i] + v[i, i]) / se(o[1], i) / se(o[2], i) }
  crit <- sapply(1:k, function(i) critical(one_sided, corr(i), m$df[i]))
  d <- function(i, j) m$emmean[i] - m$emmean[j]
  high <- sapply(1:k, function(i) max(0, min(sapply(setdiff(1:k, i), function(j) d(i, j) + crit[i] * se(i, j)))))
  low <- sapply(1:k, function(i) {
    others <- setdiff(which(high > 0), i)
    if (length(others) == 0) 0 else min(0, min(sapply(others, function(j) d(i, j) - crit[j] * se(i, j))))
  })
  # Of all pairs: the level is worse than some other, or better than every other.
  worst <- sapply(1:k, function(i) max(sapply(setdiff(1:k, i), function(j) -d(i, j) / se(i, j))))
  p <- ptukey(abs(worst) * sqrt(2), k, m$df[1], lower.tail = FALSE)
  data.frame(level = as.character(m[[factor]]), estimate = sapply(1:k, function(i) m$emmean[i] - max(m$emmean[-i])), low = low, high = high, p_adjusted = p)
}
best <- list(
  list(csv = "PlantGrowth.csv", response = "weight", treatments = I("group"), levels = best_of(lm(weight ~ group, PlantGrowth), "group")),
  list(csv = "mtcars.csv", response = "mpg", treatments = I("cyl"), levels = best_of(lm(mpg ~ cyl, mtcars), "cyl")))

# The overall tests of four responses together.
responses <- c("Sepal.Length", "Sepal.Width", "Petal.Length", "Petal.Width")
few <- iris[c(1:4, 51:54, 101:104), ]
p <- sapply(responses, function(r) anova(lm(few[[r]] ~ few$Species))[1, "Pr(>F)"])
across <- list(csv = "iris.csv", rows = c(1:4, 51:54, 101:104), treatments = I("Species"), responses = responses, p = unname(p),
  holm = unname(p.adjust(p, "holm")), hochberg = unname(p.adjust(p, "BH")))

cat(toJSON(list(trends = trends, chosen = chosen, simple = simple, best = best, across = across), digits = 15, auto_unbox = TRUE, pretty = TRUE), "\n")
