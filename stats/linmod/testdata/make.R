# Makes reference.json: fits of R's shipped data sets by lm, Type II sums of
# squares by comparing nested lm fits (checked against car::Anova where no term is
# aliased) and adjusted means by emmeans. Run in this folder: Rscript make.R
suppressMessages({library(car); library(emmeans); library(jsonlite)})

# lists: data, names of blocks, covariates list(name, by), factors, order of
# interaction, list of factor sets whose means are wanted.
case <- function(name, data, y, blocks = c(), covariates = list(), factors, order = 1, means) {
  data <- as.data.frame(data)
  cats <- unique(c(blocks, factors, unlist(lapply(covariates, `[[`, "by"))))
  for (f in cats) data[[f]] <- factor(data[[f]])
  terms <- list()
  for (b in blocks) terms[[length(terms) + 1]] <- list(name = b, kind = "block", full = b)
  for (cv in covariates) terms[[length(terms) + 1]] <- list(name = cv$name, kind = "covariate", by = cv$by,
      full = if (is.null(cv$by)) cv$name else c(cv$name, paste0(cv$name, ":", cv$by)))
  for (k in seq_len(order)) if (k <= length(factors)) for (s in combn(factors, k, simplify = FALSE))
    terms[[length(terms) + 1]] <- list(name = paste(s, collapse = ":"), kind = "treatment", set = s,
                                       full = paste(s, collapse = ":"))
  fit <- function(parts) lm(as.formula(paste(y, "~", paste(c("1", parts), collapse = " + "))), data = data)
  # what of u remains when t is tested
  beside <- function(u, t) {
    if (u$kind == "covariate" && !is.null(u$by) && u$by == t$name) return(u$name)
    if (u$kind == "treatment" && t$kind == "treatment" && all(t$set %in% u$set)) return(c())
    u$full
  }
  rows <- list()
  for (i in seq_along(terms)) {
    t <- terms[[i]]
    others <- unlist(lapply(terms[-i], beside, t))
    without <- fit(others); with <- fit(c(others, t$full))
    df <- df.residual(without) - df.residual(with)
    rows[[i]] <- list(name = t$name, kind = t$kind, df = df,
                      ss = if (df == 0) 0 else deviance(without) - deviance(with))
  }
  all <- unlist(lapply(terms, `[[`, "full"))
  full <- fit(all)
  if (!anyNA(coef(full)) && all(sapply(covariates, function(cv) is.null(cv$by))) && df.residual(full) > 0) {
    a <- Anova(full, type = 2)
    for (r in rows) stopifnot(isTRUE(all.equal(a[r$name, "Sum Sq"], r$ss, tolerance = 1e-9)))
  }
  blocky <- unlist(lapply(Filter(function(t) t$kind != "treatment", terms), function(u)
    if (!is.null(u$by) && u$by %in% factors) u$name else u$full))
  treat <- unlist(lapply(Filter(function(t) t$kind == "treatment", terms), `[[`, "full"))
  j0 <- fit(blocky); j1 <- fit(c(blocky, treat))
  grid <- ref_grid(full, nesting = NULL)
  ms <- lapply(means, function(s) {
    e <- emmeans(grid, rev(s), nesting = NULL)  # emmeans varies its first factor fastest
    k <- nrow(e@linfct)
    pairs <- combn(k, 2)
    co <- apply(pairs, 2, function(p) { v <- numeric(k); v[p[1]] <- 1; v[p[2]] <- -1; v }, simplify = FALSE)
    names(co) <- seq_along(co)
    pd <- suppressWarnings(as.data.frame(contrast(e, co)))
    md <- suppressWarnings(as.data.frame(e))
    list(factors = I(match(s, factors) - 1), value = I(md$emmean), se = I(md$SE),
         pairs = t(pairs) - 1, difference = I(pd$estimate), difference_se = I(pd$SE))
  })
  used <- as.integer(names(residuals(full)))
  column <- function(f) list(name = f, levels = I(levels(data[[f]])),
                             code = ifelse(is.na(data[[f]]), -1, as.integer(data[[f]]) - 1))
  list(name = name, y = data[[y]],
       blocks = I(lapply(blocks, column)),
       covariates = I(lapply(covariates, function(cv) c(list(name = cv$name, value = data[[cv$name]]),
                                                        if (!is.null(cv$by)) list(by = cv$by)))),
       factors = I(lapply(factors, column)), order = order,
       by = I(lapply(Filter(Negate(is.null), lapply(covariates, `[[`, "by")), column)),
       n = nobs(full), rank = full$rank, df = df.residual(full), rss = deviance(full),
       tss = sum((data[[y]][used] - mean(data[[y]][used]))^2),
       anova = rows, joint = list(df = df.residual(j0) - df.residual(j1), ss = deviance(j0) - deviance(j1)),
       means = ms, used = used - 1, residuals = unname(residuals(full)), leverages = unname(hatvalues(full)))
}

wb <- warpbreaks
wbGap <- wb; wbGap$breaks[c(3, 12, 13, 20, 40, 41, 42, 54)] <- NA
wbEmpty <- wb; wbEmpty$breaks[wb$wool == "B" & wb$tension == "H"] <- NA
wbChain <- wb[!(wb$wool == "A" & wb$tension == "H") & !(wb$wool == "B" & wb$tension == "L"), ]
rownames(wbChain) <- NULL
wbApart <- wb[(wb$wool == "A") != (wb$tension == "H"), ]
rownames(wbApart) <- NULL
wbDrift <- wb
wbDrift$pack <- rep(1:9, 6)
wbDrift$position <- ave(as.numeric((1:54 * 17) %% 54), wbDrift$pack, FUN = rank)
wbDrift$square <- wbDrift$position^2
nested <- npk; nested$session <- (as.integer(npk$block) + 1) %/% 2
nested$warm <- as.integer(npk$block)^2   # constant in each block
gap <- npk; gap$yield[c(2, 5, 9, 17)] <- NA; gap$age <- c(31, 5, 27, 14, 3, 22, 9, 30, 12, 6, 25, 18, 2, 29, 11, 20, 8, 24, 16, 1, 28, 13, 21, 7)
tooth <- ToothGrowth
chick <- subset(as.data.frame(ChickWeight), Time <= 10, c(weight, Time, Chick, Diet)); rownames(chick) <- NULL
chick$Chick <- as.character(chick$Chick)

cases <- list(
  case("warpbreaks", wb, "breaks", factors = c("wool", "tension"), order = 2,
       means = list(c("wool", "tension"), "tension")),
  case("warpbreaks with gaps", wbGap, "breaks", factors = c("wool", "tension"), order = 2,
       means = list(c("tension", "wool"), "wool", "tension")),
  case("warpbreaks with gaps, additive", wbGap, "breaks", factors = c("wool", "tension"),
       means = list(c("wool", "tension"), "wool", "tension")),
  case("warpbreaks with an empty cell", wbEmpty, "breaks", factors = c("wool", "tension"), order = 2,
       means = list(c("wool", "tension"), "wool", "tension")),
  case("warpbreaks, a chain of combinations", wbChain, "breaks", factors = c("wool", "tension"),
       means = list(c("wool", "tension"), "wool", "tension")),
  case("warpbreaks, factors aliased in part", wbApart, "breaks", factors = c("wool", "tension"), order = 2,
       means = list(c("wool", "tension"), "wool", "tension")),
  case("warpbreaks with a common drift", wbDrift, "breaks", blocks = "pack",
       covariates = list(list(name = "position"), list(name = "square")),
       factors = c("wool", "tension"), order = 2, means = list(c("wool", "tension"), "tension")),
  case("warpbreaks with a drift in each pack", wbDrift, "breaks", blocks = "pack",
       covariates = list(list(name = "position", by = "pack")),
       factors = c("wool", "tension"), means = list("wool", "tension")),
  case("npk", npk, "yield", blocks = "block", factors = c("N", "P", "K"), order = 3,
       means = list(c("N", "P"), "N", c("N", "P", "K"))),
  case("npk with gaps and a covariate", gap, "yield", blocks = "block", covariates = list(list(name = "age")),
       factors = c("N", "P", "K"), order = 2, means = list(c("N", "P"), "K")),
  case("npk, blocks nested and a covariate aliased", nested, "yield", blocks = c("session", "block"),
       covariates = list(list(name = "warm")), factors = c("N", "P", "K"), order = 1, means = list("N", "K")),
  case("OrchardSprays", OrchardSprays, "decrease", blocks = c("rowpos", "colpos"), factors = "treatment",
       means = list("treatment")),
  case("ToothGrowth", tooth, "len", factors = c("supp", "dose"), order = 2, means = list(c("supp", "dose"), "dose")),
  case("Puromycin", Puromycin, "rate", covariates = list(list(name = "conc")), factors = "state",
       means = list("state")),
  case("Puromycin, a slope in each state", Puromycin, "rate", covariates = list(list(name = "conc", by = "state")),
       factors = "state", means = list("state")),
  case("iris", iris, "Sepal.Length", covariates = list(list(name = "Sepal.Width"), list(name = "Petal.Length")),
       factors = "Species", means = list("Species")),
  case("ChickWeight, diets between chicks", chick, "weight", blocks = "Chick",
       covariates = list(list(name = "Time", by = "Diet")), factors = "Diet", means = list("Diet")),
  case("one run of each", wb[c(1, 10, 19, 28, 37, 46), ] |> `rownames<-`(NULL), "breaks",
       factors = c("wool", "tension"), order = 2, means = list(c("wool", "tension")))
)
writeLines(toJSON(cases, digits = NA, auto_unbox = TRUE, na = "null", null = "null", pretty = FALSE), "reference.json")
