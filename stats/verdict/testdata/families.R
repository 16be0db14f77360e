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

# Trends over three levels in one family with all pairs, by Tukey's law for every contrast: the linear one is a share of
# the difference of the ends and, where levels are not evenly spaced, of the middle from one, the quadratic one of those of the middle from both.
trends_of <- function(model, factor, weights) {
  e <- emmeans(model, factor)
  s <- as.data.frame(summary(contrast(e, weights)))
  v <- vcov(e)
  se <- function(i, j) sqrt(v[i, i] + v[j, j] - 2 * v[i, j])
  share <- function(w) abs(weights[[2]][w]) # of an outer level
  l <- abs(weights[[1]])
  unit <- c(min(l[c(1, 3)]) * se(1, 3) + l[2] * ifelse(weights[[1]][2] > 0, se(1, 2), se(2, 3)), share(1) * se(1, 2) + share(3) * se(2, 3))
  k <- qtukey(0.05, 3, s$df[1], lower.tail = FALSE) / sqrt(2)
  data.frame(name = names(weights), estimate = s$estimate, se = s$SE, df = s$df, t = s$t.ratio, p = s$p.value,
    p_adjusted = ptukey(abs(s$estimate) / unit * sqrt(2), 3, s$df[1], lower.tail = FALSE), low = s$estimate - k * unit, high = s$estimate + k * unit)
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
    contrasts = trends_of(lm(mpg ~ cyl + wt, mtcars), "cyl", trend_weights(c(4, 6, 8)))),
  list(csv = "ToothGrowth.csv", response = "len", treatments = I(c("dose", "supp")), covariates = I(character()), factor = "dose",
    contrasts = trends_of(lm(len ~ dose + supp, ToothGrowth), "dose", trend_weights(c(0.5, 1, 2)))))

chosen_weights <- list(`A and B less C` = c(0.5, 0.5, -1, 0, 0, 0), `D less E and F` = c(0, 0, 0, 1, -0.5, -0.5))
chosen <- list(csv = "InsectSprays.csv", response = "count", treatments = I("spray"),
  weights = lapply(chosen_weights, function(w) as.list(setNames(w, LETTERS[1:6]))),
  contrasts = contrasts_of(lm(count ~ spray, InsectSprays), "spray", chosen_weights))

# All pairs of two factors as one family: multcomp's single step, which samples, by its quantile and adjusted p-values.
suppressMessages(library(multcomp))
m <- lm(len ~ dose + supp, ToothGrowth)
set.seed(1)
rows <- rbind(c(0, 1, 0, 0), c(0, 0, 1, 0), c(0, -1, 1, 0), c(0, 0, 0, 1))
g <- summary(glht(m, linfct = rows), test = adjusted("single-step", abseps = 1e-7, maxpts = 1e7))
k <- attr(confint(glht(m, linfct = rows), calpha = adjusted_calpha(abseps = 1e-6, maxpts = 1e6))$confint, "calpha")
table <- list(csv = "ToothGrowth.csv", response = "len", treatments = I(c("dose", "supp")), critical = k,
  effects = data.frame(factor = c("dose", "dose", "dose", "supp"), level = c("1", "2", "2", "VC"), against = c("0.5", "0.5", "1", "OJ"),
    estimate = unname(g$test$coefficients), se = unname(g$test$sigma), p_adjusted = as.numeric(g$test$pvalues)))

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

# Each level less the best of the others, larger being better, by the two constants of stats/law, LessBest: of the high
# ends Tukey's, of the low ends that which solves miss = 0.05. p is the smallest level at which an interval leaves zero.
miss <- function(lower, upper, k, df) {
  given <- function(s) integrate(function(u) dnorm(u) * (pnorm(u + sqrt(2) * lower * s) - pnorm(u - sqrt(2) * upper * s))^(k - 2) *
    (pnorm(u + sqrt(2) * lower * s) - pnorm(u - sqrt(2) * lower * s)), -9, 9, rel.tol = 1e-12)$value
  density <- function(s) 2 * s * df * dchisq(df * s^2, df)
  1 - integrate(function(s) density(s) * sapply(s, given), 0, 1 + 10 / sqrt(df), rel.tol = 1e-11, subdivisions = 1000)$value
}
upper_p <- function(x, k, df) ptukey(x * sqrt(2), k, df, lower.tail = FALSE)
upper_constant <- function(alpha, k, df) uniroot(function(c) upper_p(c, k, df) - alpha, c(1, 20), tol = 1e-12)$root # qtukey stops early
lower_constant <- function(alpha, k, df) {
  upper <- upper_constant(alpha, k, df)
  uniroot(function(c) miss(c, upper, k, df) - alpha, c(qt(1 - alpha / 2, df), upper), tol = 1e-11)$root
}
lower_p <- function(x, k, df) {
  if (x <= 0) return(1)
  # Upper constants of the level looked for: Tukey's is the larger one.
  upper_p(uniroot(function(c) upper_p(c, k, df) - miss(x, c, k, df), c(x, 2 * x + 5), tol = 1e-12)$root, k, df)
}
best_of <- function(model, factor) {
  e <- emmeans(model, factor)
  m <- as.data.frame(summary(e))
  v <- vcov(e)
  k <- nrow(m)
  df <- m$df[1]
  se <- function(i, j) sqrt(v[i, i] + v[j, j] - 2 * v[i, j])
  d <- function(i, j) m$emmean[i] - m$emmean[j]
  each <- function(f) sapply(1:k, function(i) sapply(setdiff(1:k, i), function(j) f(i, j)))
  upper <- upper_constant(0.05, k, df)
  lower <- lower_constant(0.05, k, df)
  low <- apply(each(function(i, j) d(i, j) - lower * se(i, j)), 2, min)
  high <- apply(each(function(i, j) d(i, j) + upper * se(i, j)), 2, min)
  top <- which.max(m$emmean)
  if (all(high[-top] < 0)) low[top] <- max(low[top], min(-high[-top]))
  if (low[top] > 0) high[-top] <- pmin(high[-top], -low[top])
  behind <- upper_p(pmax(0, apply(each(function(i, j) -d(i, j) / se(i, j)), 2, max)), k, df)
  lead <- lower_p(min(each(function(i, j) d(i, j) / se(i, j))[, top]), k, df)
  p <- pmin(behind, lead)
  p[top] <- min(lead, max(behind[-top]))
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

cat(toJSON(list(trends = trends, chosen = chosen, simple = simple, table = table, best = best, across = across), digits = 15, auto_unbox = TRUE, pretty = TRUE), "\n")
