# Expected results of one analysis: functions for make.R here and in ../handbook.
# case() answers one request, write_set() writes NAME.csv and NAME.json. README.md in the
# folder above explains the fields.

suppressPackageStartupMessages({
  library(car); library(emmeans); library(mvtnorm); library(jsonlite); library(multcomp); library(MASS)
})
options(warn = 1, contrasts = c("contr.treatment", "contr.poly"))
alpha <- 0.05

# ---- small pieces ----

rss <- function(fit) sum(residuals(fit)^2)

# rows of a model's formula: blocks, covariates, treatments (to all orders when crossed)
right_side <- function(blocks, covariates, treatment_terms) {
  terms <- c(blocks, covariates, treatment_terms)
  if (length(terms) == 0) "1" else paste(terms, collapse = " + ")
}

treatment_terms <- function(treatments, interactions) {
  if (!interactions || length(treatments) == 1) return(treatments)
  labels <- attr(terms(as.formula(paste("~", paste(treatments, collapse = "*")))), "term.labels")
  labels
}

# Type II sums of squares by comparing models: a term against the model of all terms that do not contain it.
# Holds with empty cells and aliasing, where car::Anova refuses; equals car::Anova elsewhere.
type2 <- function(y, data, blocks, covariates, terms) {
  all <- c(blocks, covariates, terms)
  fit <- function(t) lm(as.formula(paste(y, "~", if (length(t)) paste(t, collapse = "+") else "1")), data)
  parts <- strsplit(all, ":")
  lapply(seq_along(all), function(i) {
    without <- all[!vapply(parts, function(p) all(parts[[i]] %in% p), TRUE)]
    small <- fit(without); big <- fit(c(without, all[i]))
    list(term = all[i], df = small$df.residual - big$df.residual, ss = rss(small) - rss(big))
  })
}

# ---- families of comparisons ----

genz <- function(eps) GenzBretz(maxpts = 1e5, abseps = eps)

# P(max |T| <= c) or P(max T <= c) for correlated t
joint <- function(c, corr, df, sided, eps = 3e-5) {
  m <- nrow(corr)
  if (m == 1) return(if (sided == 2) 1 - 2 * pt(-c, df) else pt(c, df))
  set.seed(20240607)
  lower <- if (sided == 2) rep(-c, m) else rep(-Inf, m)
  as.numeric(pmvt(lower = lower, upper = rep(c, m), corr = corr, df = df, algorithm = genz(eps)))
}

critical <- function(corr, df, sided) {
  if (nrow(corr) == 1) return(qt(1 - alpha / sided, df))
  uniroot(function(c) joint(c, corr, df, sided) - (1 - alpha), c(1.6, 4.2), extendInt = "yes", tol = 1e-5)$root
}

contrast_row <- function(k, i, j) { l <- numeric(k); l[i] <- 1; l[j] <- -1; l }

# hedges' correction, exact
small_sample <- function(df) exp(lgamma(df / 2) - lgamma((df - 1) / 2)) / sqrt(df / 2)

family <- function(factor, names, estimate, V, df, sd, n, scale, control_only = FALSE) {
  k <- length(estimate)
  back <- if (scale == "log") exp else identity
  se <- sqrt(diag(V)); tq <- qt(1 - alpha / 2, df)
  means <- lapply(seq_len(k), function(i) list(
    level = names[i], n = n[i], estimate = estimate[i], se = se[i], df = df,
    low = estimate[i] - tq * se[i], high = estimate[i] + tq * se[i],
    response = if (scale == "log") back(estimate[i]) else NULL,
    response_low = if (scale == "log") back(estimate[i] - tq * se[i]) else NULL,
    response_high = if (scale == "log") back(estimate[i] + tq * se[i]) else NULL))
  one <- function(i, j) {
    l <- contrast_row(k, i, j)
    e <- sum(l * estimate); s <- sqrt(drop(t(l) %*% V %*% l)); t <- e / s
    list(level = names[i], against = names[j], estimate = e, se = s, df = df, t = t, p = 2 * pt(-abs(t), df),
         hedges_g = e / sd * small_sample(df))
  }
  pairs <- list()
  for (j in seq_len(k - 1)) for (i in (j + 1):k) {
    r <- one(i, j)
    crit <- qtukey(1 - alpha, k, df) / sqrt(2)
    r$p_tukey <- ptukey(sqrt(2) * abs(r$t), k, df, lower.tail = FALSE)
    r$low <- r$estimate - crit * r$se; r$high <- r$estimate + crit * r$se
    pairs[[length(pairs) + 1]] <- r
  }
  L <- t(vapply(2:k, function(i) contrast_row(k, i, 1), numeric(k)))
  corr <- cov2cor(L %*% V %*% t(L))
  c2 <- critical(corr, df, 2); c1 <- critical(corr, df, 1)
  baseline <- lapply(2:k, function(i) {
    r <- one(i, 1); r$hedges_g <- NULL
    r$p_dunnett <- if (k == 2) r$p else 1 - joint(abs(r$t), corr, df, 2)
    r$low <- r$estimate - c2 * r$se; r$high <- r$estimate + c2 * r$se
    r$p_dunnett_greater <- if (k == 2) pt(-r$t, df) else 1 - joint(r$t, corr, df, 1)
    r$p_dunnett_less <- if (k == 2) pt(r$t, df) else 1 - joint(-r$t, corr, df, 1)
    r$low_one_sided <- r$estimate - c1 * r$se; r$high_one_sided <- r$estimate + c1 * r$se
    r
  })
  list(factor = factor, means = means, pairs = pairs,
       tukey_critical = qtukey(1 - alpha, k, df) / sqrt(2),
       baseline = list(level = names[1], critical = c2, critical_one_sided = c1, correlation = corr, comparisons = baseline))
}

# ---- assumption checks and alternatives ----

htest <- function(t) {
  par <- unname(t$parameter)
  list(statistic = unname(t$statistic), df1 = if (length(par) > 0) par[1], df2 = if (length(par) > 1) par[2], p = t$p.value)
}

runs <- function(e) {
  s <- sign(e[abs(e) > 1e-9 * sd(e)])
  n1 <- sum(s > 0); n2 <- sum(s < 0); r <- 1 + sum(diff(s) != 0); n <- n1 + n2
  density <- function(r) {
    k <- r %/% 2
    if (r %% 2 == 0) 2 * choose(n1 - 1, k - 1) * choose(n2 - 1, k - 1) / choose(n, n1)
    else (choose(n1 - 1, k) * choose(n2 - 1, k - 1) + choose(n1 - 1, k - 1) * choose(n2 - 1, k)) / choose(n, n1)
  }
  m <- 2 * n1 * n2 / n + 1
  v <- 2 * n1 * n2 * (2 * n1 * n2 - n) / (n^2 * (n - 1))
  list(runs = r, above = n1, below = n2, z = (r - m) / sqrt(v),
       p_few = sum(vapply(2:r, density, 0)), p_many = sum(vapply(r:n, density, 0)))
}

spread <- function(v, g) {
  if (min(table(g)) < 2) return(NULL)
  b <- tryCatch(bartlett.test(v, g), error = function(e) NULL)
  l <- leveneTest(v, g, center = median)
  list(bartlett = if (!is.null(b) && is.finite(b$statistic)) htest(b),
       brown_forsythe = if (is.finite(l[1, "F value"])) list(statistic = l[1, "F value"], df1 = l[1, "Df"], df2 = l[2, "Df"], p = l[1, "Pr(>F)"]))
}

games_howell <- function(y, g) {
  n <- table(g); m <- tapply(y, g, mean); v <- tapply(y, g, var); k <- length(m); out <- list()
  for (j in seq_len(k - 1)) for (i in (j + 1):k) {
    a <- v[i] / n[i]; b <- v[j] / n[j]
    if (a + b == 0) next
    df <- (a + b)^2 / (a^2 / (n[i] - 1) + b^2 / (n[j] - 1)); se <- sqrt(a + b); d <- m[i] - m[j]
    q <- qtukey(1 - alpha, k, df) / sqrt(2)
    out[[length(out) + 1]] <- lapply(list(level = names(m)[i], against = names(m)[j], estimate = d, se = se, df = df, t = d / se,
      p_tukey = ptukey(sqrt(2) * abs(d / se), k, df, lower.tail = FALSE), low = d - q * se, high = d + q * se), unname)
  }
  out
}

# Dunn (1964) with the tie correction; two-sided p, and Holm over the pairs
dunn <- function(y, g) {
  r <- rank(y); n <- table(g); N <- length(y); m <- tapply(r, g, mean); k <- length(m)
  ties <- table(y); ties <- sum(ties^3 - ties)
  v <- N * (N + 1) / 12 - ties / (12 * (N - 1))
  out <- list()
  for (j in seq_len(k - 1)) for (i in (j + 1):k) {
    z <- (m[i] - m[j]) / sqrt(v * (1 / n[i] + 1 / n[j]))
    out[[length(out) + 1]] <- list(level = names(m)[i], against = names(m)[j], z = unname(z), p = unname(2 * pnorm(-abs(z))))
  }
  h <- p.adjust(vapply(out, function(o) o$p, 0), "holm")
  Map(function(o, p) c(o, list(p_holm = p)), out, h)
}

checks <- function(fit, y, cell, blocks) {
  e <- residuals(fit); n <- length(e)
  rs <- rstudent(fit); rs[hatvalues(fit) > 1 - 1e-8] <- NA
  w <- which.max(abs(rs))
  b <- NULL
  if (length(blocks) == 1 && all(table(cell, blocks[[1]]) == 1)) b <- htest(friedman.test(y, cell, blocks[[1]]))
  enough <- min(table(cell)) >= 2 && all(tapply(y, cell, var) > 0)
  list(
    shapiro = htest(shapiro.test(e)),
    spread_of_response = spread(y, cell),
    spread_of_residuals = spread(e, cell),
    durbin_watson = sum(diff(e)^2) / sum(e^2),
    runs = runs(e),
    outlier = list(row = unname(w), rstudent = unname(rs[w]), p_bonferroni = unname(min(1, n * 2 * pt(-abs(rs[w]), fit$df.residual - 1)))),
    kruskal_wallis = htest(kruskal.test(y, cell)),
    dunn = dunn(y, cell),
    welch = if (enough) htest(oneway.test(y ~ cell)),
    games_howell = if (enough) games_howell(y, cell),
    friedman = b)
}

# ---- one case ----

case <- function(data, response, treatments, blocks = character(), covariates = character(), interactions = FALSE,
                 scale = "raw", note = NULL, families = TRUE) {
  d <- data[complete.cases(data[c(response, treatments, blocks, covariates)]), ]
  for (f in c(treatments, blocks)) d[[f]] <- droplevels(factor(d[[f]]))
  d$y_ <- if (scale == "log") log(d[[response]]) else d[[response]]
  terms <- treatment_terms(treatments, interactions)
  fit <- lm(as.formula(paste("y_ ~", right_side(blocks, covariates, terms))), d)
  null <- lm(as.formula(paste("y_ ~", right_side(blocks, covariates, character()))), d)
  df <- fit$df.residual; mse <- rss(fit) / df; total <- sum((d$y_ - mean(d$y_))^2); n <- nrow(d)

  rows <- type2("y_", d, blocks, covariates, terms)
  aliased <- any(is.na(coef(fit)))
  if (!aliased) {
    a <- Anova(fit, type = 2)
    for (r in rows) stopifnot(isTRUE(all.equal(a[r$term, "Sum Sq"], r$ss, tolerance = 1e-9)), a[r$term, "Df"] == r$df)
    rows <- lapply(rows, function(r) { r$ss <- a[r$term, "Sum Sq"]; r })
  }
  full_row <- function(r) {
    if (r$df == 0) return(list(term = r$term, df = 0))
    f <- r$ss / r$df / mse
    list(term = r$term, df = r$df, ss = r$ss, ms = r$ss / r$df, f = f, p = pf(f, r$df, df, lower.tail = FALSE),
         eta_squared_partial = r$ss / (r$ss + rss(fit)),
         omega_squared = (r$ss - r$df * mse) / (total + mse),
         omega_squared_partial = (r$ss - r$df * mse) / (r$ss + (n - r$df) * mse))
  }
  anova <- c(lapply(rows, full_row), list(list(term = "residual", df = df, ss = rss(fit), ms = mse)))
  treatment <- full_row(list(term = "treatments", df = null$df.residual - df, ss = rss(null) - rss(fit)))

  cell <- interaction(d[treatments], sep = " ", lex.order = TRUE, drop = TRUE)
  means_at <- function(fit, name) {
    at <- lapply(d[covariates], mean)
    emmeans(fit, as.formula(paste("~", name)), at = at, weights = "equal")
  }
  fams <- list()
  crossed <- interactions && length(treatments) > 1
  if (families && crossed) {
    d$cell_ <- cell
    one <- lm(as.formula(paste("y_ ~", right_side(blocks, covariates, "cell_"))), d)
    stopifnot(one$df.residual == df, isTRUE(all.equal(rss(one), rss(fit), tolerance = 1e-10)))
    e <- means_at(one, "cell_")
    est <- as.data.frame(e)
    stopifnot(!anyNA(est$emmean))
    fams <- list(family(paste(treatments, collapse = ":"), as.character(est$cell_), est$emmean, vcov(e), df, sqrt(mse),
                        as.vector(table(cell)[as.character(est$cell_)]), scale))
  } else if (families) {
    fams <- lapply(treatments, function(f) {
      e <- means_at(fit, f); est <- as.data.frame(e)
      r <- family(f, as.character(est[[f]]), est$emmean, vcov(e), df, sqrt(mse), as.vector(table(d[[f]])), scale)
      # the package's own answer must be the one written out above
      p <- as.data.frame(summary(contrast(e, "revpairwise"), adjust = "tukey", infer = TRUE))
      stopifnot(isTRUE(all.equal(sort(p$p.value), sort(vapply(r$pairs, function(x) x$p_tukey, 0)), tolerance = 1e-6)),
                isTRUE(all.equal(sort(p$SE), sort(vapply(r$pairs, function(x) x$se, 0)), tolerance = 1e-9)))
      r
    })
  }
  list(
    request = list(response = response, treatments = I(treatments), interactions = interactions, blocks = I(blocks),
                   covariates = I(covariates), scale = scale, alpha = alpha),
    note = note,
    tolerance = list(plain = 1e-10, tukey = 1e-6, dunnett = 1e-4, checks = 1e-8),
    n = n,
    anova = anova, treatment = treatment,
    noise = list(sd = sqrt(mse), df = df, sd_low = sqrt(rss(fit) / qchisq(1 - alpha / 2, df)), sd_high = sqrt(rss(fit) / qchisq(alpha / 2, df))),
    families = fams,
    checks = checks(fit, d$y_, cell, d[blocks]))
}

as_text <- function(x) {
  if (is.factor(x)) return(as.character(x))
  if (is.character(x)) return(x)
  t <- vapply(x, function(v) if (is.na(v)) "" else format(v, digits = 15, scientific = FALSE, trim = TRUE), "")
  stopifnot(all(is.na(x) | as.numeric(t) == x))
  t
}

write_set <- function(name, data, help, source, cases) {
  out <- as.data.frame(lapply(data, as_text), check.names = FALSE)
  write.table(out, paste0(name, ".csv"), sep = ",", quote = FALSE, row.names = FALSE, na = "")
  json <- list(csv = paste0(name, ".csv"), help = help, source = source,
               maker = paste0("R ", getRversion(), ", car ", packageVersion("car"), ", emmeans ", packageVersion("emmeans"), ", mvtnorm ", packageVersion("mvtnorm")),
               sign = "estimate is the mean of level minus the mean of against; limits follow it",
               cases = cases)
  writeLines(toJSON(json, digits = NA, auto_unbox = TRUE, null = "null", na = "null", pretty = 1), paste0(name, ".json"))
  cat(name, length(cases), "\n")
}

plain <- function(...) lapply(list(...), function(x) x)
