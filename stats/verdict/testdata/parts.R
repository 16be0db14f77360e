# Makes parts.json: the noise of campaigns in its parts, for TestNoiseInParts. Invented campaigns, balanced
# and with rows knocked out, with packs, sessions (days), items (packs that come back), specimens (motors) and whole
# plots. A difference is judged by classical mean squares where a campaign is balanced. Components and their profile limits by the dense code of stats/mixed/testdata/profile.R, compared with
# lme4 here; the F test of treatments by packs by lm; packs as a sample by pbkrtest and emmeans.
# Run in this folder: Rscript parts.R
suppressMessages({library(lme4); library(pbkrtest); library(emmeans); library(jsonlite)})
lines <- readLines("../../mixed/testdata/profile.R")
eval(parse(text = lines[seq_len(grep("^Oats <-", lines)[1] - 1)]))
profiled <- case
emm_options(lmerTest.limit = 1e4, pbkrtest.limit = 1e4)
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 1e-12, maxfun = 1e5), calc.derivs = FALSE,
                     check.conv.singular = "ignore", check.nobs.vs.nlev = "ignore", check.nobs.vs.nRE = "ignore")

set.seed(20260601)
campaign <- function(days, packs, motors, levels, replicates, sd, props = 1) {
  d <- expand.grid(rep = seq_len(replicates), level = seq_len(levels), prop = seq_len(props), pack = seq_len(packs))
  d <- d[order(d$pack, runif(nrow(d))), ]
  d$position <- ave(d$pack, d$pack, FUN = seq_along)
  d$day <- (d$pack - 1) %/% (packs / days) + 1
  d$item <- (d$pack - 1) %% (packs / days) + 1
  d$motor <- (d$pack - 1) %% motors + 1
  draw <- function(s, ...) { g <- interaction(..., drop = TRUE); rnorm(nlevels(g), 0, s)[g] }
  s <- modifyList(list(day = 0, item = 0, motor = 0, pack = 0, cross = 0, answer = 0, plot = 0, run = 1), sd)
  d$y <- round(50 + d$level + 0.5 * d$prop + 0.05 * d$position + draw(s$day, d$day) + draw(s$item, d$item) + draw(s$motor, d$motor) + draw(s$pack, d$pack) +
    draw(s$cross, d$pack, d$level) + draw(s$answer, d$motor, d$level) + draw(s$plot, d$pack, d$prop) + rnorm(nrow(d), 0, s$run), 3)
  d
}

# Newton's steps to where the derivatives of the restricted deviance by the components that are not zero vanish:
# nlminb stops a few parts in a million short where the deviance is flat.
polished <- function(d, fixed, random, sd) {
  X <- model.matrix(as.formula(paste("~", fixed)), d)
  V <- c(lapply(strsplit(random, ":"), function(p) { Z <- model.matrix(~ 0 + interaction(d[p], drop = TRUE)); Z %*% t(Z) }), list(diag(nrow(d))))
  s <- sd^2
  free <- which(s > 0)
  for (step in 1:8) {
    W <- solve(Reduce(`+`, Map(`*`, s, V)))
    P <- W - W %*% X %*% solve(t(X) %*% W %*% X, t(X) %*% W)
    Py <- P %*% d$y
    g <- vapply(free, function(i) sum(P * V[[i]]) - drop(t(Py) %*% V[[i]] %*% Py), 0)
    h <- outer(free, free, Vectorize(function(i, j) 2 * drop(t(Py) %*% V[[i]] %*% P %*% V[[j]] %*% Py) - sum((P %*% V[[i]]) * t(P %*% V[[j]]))))
    s[free] <- s[free] - solve(h, g)
  }
  stopifnot(max(abs(g)) < 1e-8, max(abs(sqrt(s) - sd)) < 1e-4)
  sqrt(s)
}

one <- function(name, d, fixed, parts, treatments, blocks = "pack", random = character(), more = character(), interplay = character(), drop = integer(), crossed = NULL, judged = NULL) {
  if (length(drop)) d <- d[-drop, ]
  for (f in c("level", "prop", "pack", "day", "item", "motor")) d[[f]] <- factor(d[[f]])
  if (!is.null(crossed)) { # how differently packs answer is a part where it is clear of chance
    known <- paste(c("y ~ pack", fixed, interplay, random), collapse = " + ")
    if (anova(lm(as.formula(known), d), lm(as.formula(paste(known, "+", paste(crossed, collapse = " + "))), d))$`Pr(>F)`[2] >= 0.01) {
      more <- setdiff(more, crossed)
      if (!is.null(judged) && judged[1] %in% crossed) judged <- NULL
    }
  }
  all <- c(parts, more, random, interplay)
  p <- profiled(name, d, "y", fixed, all)
  sd <- polished(d, fixed, all, sapply(p$components, function(c) c$sd))
  p$components <- Map(function(c, s) { c$sd <- s; c }, p$components, sd)
  m <- lmer(as.formula(paste("y ~", fixed, "+", paste0("(1|", all, ")", collapse = " + "))), d, control = tight)
  vc <- as.data.frame(VarCorr(m))
  for (c in p$components) {
    sd <- vc$sdcor[match(if (c$name == "residual") "Residual" else c$name, vc$grp)]
    if (abs(sd - c$sd) > 1e-5 * max(0.1, c$sd)) stop(name, ": ", c$name, " ", sd, " by lme4, ", c$sd)
  }
  out <- list(name = name, y = d$y, position = d$position, drift = grepl("position", fixed), interactions = grepl("*", fixed, fixed = TRUE),
    treatments = I(treatments), blocks = I(blocks), parts = I(parts), random = I(random), interplay = I(interplay),
    factors = lapply(c("level", "prop", "pack", "day", "item", "motor"), function(f) list(name = f, code = as.integer(d[[f]]) - 1, levels = I(levels(d[[f]])))),
    components = lapply(p$components, function(c) c[c("name", "sd", "limits95")]),
    reproducibility = qnorm(0.975) * sqrt(2 * sum(sapply(p$components, function(c) c$sd^2))))
  if (!is.null(judged)) { # a term that holds how differently items answer, and the factor it does so of: 2 MS / runs a level
    a <- anova(lm(as.formula(paste("y ~ pack +", fixed, "+", judged[1])), d))
    out$difference <- list(factor = judged[2], se = sqrt(2 * a[sapply(strsplit(rownames(a), ":"), setequal, strsplit(judged[1], ":")[[1]]), "Mean Sq"] / (nrow(d) / nlevels(d[[judged[2]]]))))
  }
  if (!is.null(crossed)) {
    known <- paste(c("y ~ pack", fixed, interplay, random), collapse = " + ")
    small <- lm(as.formula(known), d)
    large <- lm(as.formula(paste(known, "+", paste(crossed, collapse = " + "))), d)
    a <- anova(small, large)
    out$crossing <- list(f = a$F[2], df1 = a$Df[2], df2 = a$Res.Df[2], p = a$`Pr(>F)`[2])
    if (length(interplay) == 0) {
      s <- lmer(as.formula(paste("y ~ pack +", fixed, "+", paste0("(1|", crossed, ")", collapse = " + "))), d, control = tight)
      if (length(treatments) == 1) {
        k <- KRmodcomp(s, update(s, paste(". ~ . -", treatments)))$test["Ftest", ]
        pairs <- function(model) as.data.frame(confint(emmeans::contrast(emmeans(model, treatments), "tukey")))
        clear <- function(t) t[[grep("lower", names(t))]] > 0 | t[[grep("upper", names(t))]] < 0
        out$sample <- list(f = k$stat, df1 = k$ndf, df2 = k$ddf, p = k$p.value, alike = sum(clear(pairs(s)) == clear(pairs(small))), of = nrow(pairs(s)))
      }
    }
  }
  out
}

complete <- campaign(1, 5, 1, 3, 2, list(pack = 1.5, cross = 0.6))
unlike <- campaign(1, 6, 1, 3, 3, list(pack = 2, cross = 1.5, run = 0.5))
alike <- campaign(1, 4, 1, 3, 2, list(run = 1))
two <- campaign(1, 2, 1, 2, 4, list(pack = 1))
motors <- campaign(1, 8, 4, 2, 2, list(motor = 1, pack = 0.8, answer = 0.9, run = 0.7))
days <- campaign(4, 12, 1, 3, 1, list(day = 1.2, pack = 0.8))
back <- campaign(4, 12, 1, 3, 1, list(day = 1.2, item = 1, pack = 0.4))
plots <- campaign(1, 6, 1, 2, 2, list(pack = 1, plot = 0.8), props = 2)
both <- campaign(1, 4, 1, 2, 3, list(pack = 1, cross = 0.5), props = 2)
cases <- list(
  one("complete", complete, "level + position", "pack", "level", more = "pack:level", crossed = "pack:level"),
  one("complete, rows lost", complete, "level + position", "pack", "level", more = "pack:level", crossed = "pack:level", drop = c(2, 9, 10, 23)),
  one("levels unlike in packs", unlike, "level + position", "pack", "level", more = "pack:level", crossed = "pack:level"),
  one("levels unlike in packs, rows lost", unlike, "level + position", "pack", "level", more = "pack:level", crossed = "pack:level", drop = c(1, 7, 30, 31, 45)),
  one("packs alike", alike, "level + position", "pack", "level", more = "pack:level", crossed = "pack:level"),
  one("two packs", two, "level", "pack", "level", more = "pack:level", crossed = "pack:level", judged = c("pack:level", "level")),
  one("motors", motors, "level", c("motor", "pack"), "level", more = "pack:level", interplay = "motor:level", crossed = "pack:level", judged = c("motor:level", "level")),
  one("motors, rows lost", motors, "level", c("motor", "pack"), "level", more = "pack:level", interplay = "motor:level", crossed = "pack:level", drop = c(3, 12, 17, 25)),
  one("days", days, "level + position", c("day", "pack"), "level"),
  one("days, rows lost", days, "level + position", c("day", "pack"), "level", drop = c(4, 5, 6, 20, 33)),
  one("packs that come back", back, "level + position", c("day", "item", "pack"), "level"),
  one("whole plots", plots, "prop * level", "pack", c("prop", "level"), random = "pack:prop", crossed = "pack:prop:level", judged = c("pack:prop", "prop")),
  one("whole plots, rows lost", plots, "prop * level", "pack", c("prop", "level"), random = "pack:prop", crossed = "pack:prop:level", drop = c(1, 14, 15, 40)),
  one("two factors", both, "level * prop", "pack", c("level", "prop"), more = "pack:level:prop", crossed = "pack:level:prop"),
  one("two factors that add up", both, "level + prop", "pack", c("level", "prop"), more = c("pack:level", "pack:prop"), crossed = c("pack:level", "pack:prop")))
writeLines(toJSON(cases, digits = NA, auto_unbox = TRUE, null = "null"), "parts.json")
