# Mixed models on public data sets that ship with R, nlme, lme4, MASS and pbkrtest: writes NAME.csv and
# NAME.json. Run in this folder:
#
#     Rscript make.R && python3 reml.py
#
# REML by lme4 with its optimiser held tight; Kenward-Roger by pbkrtest, Satterthwaite by lmerTest. lme4's
# optimum is good to about 6 digits, so reml.py solves the REML equations again in 40 digits and adds
# the fields named *_precise.

suppressPackageStartupMessages({
  library(lmerTest); library(pbkrtest); library(emmeans); library(jsonlite)
})
options(contrasts = c("contr.treatment", "contr.poly"), warn = 1)
emm_options(pbkrtest.limit = 1e4, lmerTest.limit = 1e4)
alpha <- 0.05

tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 1e-12, maxfun = 1e5), calc.derivs = FALSE,
                     check.conv.singular = "ignore", check.nobs.vs.nlev = "ignore")

# Type II restrictions of a term at the fitted V: the coefficients of the term in the model
# without the terms that contain it, written in the coefficients of the full model.
restriction <- function(m, term) {
  X <- model.matrix(m); assign <- attr(X, "assign"); labels <- attr(terms(m), "term.labels")
  parts <- strsplit(labels, ":"); own <- parts[[match(term, labels)]]
  above <- which(vapply(parts, function(p) all(own %in% p), TRUE) & labels != term)
  C <- which(assign %in% above); keep <- setdiff(seq_len(ncol(X)), C)
  L <- matrix(0, length(keep), ncol(X)); L[cbind(seq_along(keep), keep)] <- 1
  if (length(C)) {
    Z <- getME(m, "Z"); Lam <- getME(m, "Lambda")
    V <- as.matrix(Z %*% Lam %*% t(Lam) %*% t(Z)) + diag(nrow(X))
    W <- solve(V, X[, keep, drop = FALSE])
    L[, C] <- solve(t(X[, keep]) %*% W, t(W) %*% X[, C, drop = FALSE])
  }
  L[keep %in% which(assign == match(term, labels)), , drop = FALSE]
}

case <- function(data, response, treatments = character(), random, blocks = character(), covariates = character(), interactions = FALSE, scale = "raw", note = NULL) {
  d <- data[complete.cases(data[c(response, treatments, blocks, covariates)]), ]
  for (f in unique(c(treatments, blocks, unlist(strsplit(random, ":"))))) d[[f]] <- factor(as.character(d[[f]]), levels = unique(as.character(d[[f]])))
  d$y_ <- if (scale == "log") log(d[[response]]) else d[[response]]
  fixed <- c(blocks, covariates, if (interactions) paste(treatments, collapse = "*") else treatments)
  if (length(fixed) == 0) fixed <- "1"
  rand <- paste0("(1|", random, ")", collapse = " + ")
  m <- lmer(as.formula(paste("y_ ~", paste(fixed, collapse = " + "), "+", rand)), d, REML = TRUE, control = tight)
  vc <- as.data.frame(VarCorr(m))
  components <- lapply(c(random, "Residual"), function(g) list(name = if (g == "Residual") "residual" else g, sd = vc$sdcor[match(g, vc$grp)]))
  stopifnot(!anyNA(unlist(lapply(components, function(x) x$sd))))

  labels <- attr(terms(m), "term.labels")
  anova <- lapply(labels, function(t) {
    L <- restriction(m, t)
    k <- as.list(KRmodcomp(m, L)$test["Ftest", ])
    s <- as.data.frame(contest(m, L, joint = TRUE, ddf = "Satterthwaite"))
    list(term = t, df = nrow(L), kenward_roger = list(den_df = k$ddf, f = k$stat, f_scaling = k$F.scaling, p = k$p.value),
         satterthwaite = list(den_df = s$DenDF, f = s$`F value`, p = s$`Pr(>F)`))
  })

  at <- lapply(d[covariates], mean)
  family <- function(f) {
    spec <- as.formula(paste("~", paste(f, collapse = "+")))
    e <- suppressMessages(emmeans(m, spec, at = at, weights = "equal", lmer.df = "kenward-roger"))
    s <- as.data.frame(suppressMessages(emmeans(m, spec, at = at, weights = "equal", lmer.df = "satterthwaite")))
    g <- as.data.frame(e)
    names <- do.call(paste, lapply(g[f], as.character))
    n <- table(do.call(paste, lapply(d[f], as.character)))
    means <- lapply(seq_along(names), function(i) list(level = names[i], n = n[[names[i]]], estimate = g$emmean[i],
      kenward_roger = list(se = g$SE[i], df = g$df[i]), satterthwaite = list(se = s$SE[i], df = s$df[i])))
    k <- length(names)
    pairs <- list()
    for (j in seq_len(k - 1)) for (i in (j + 1):k) {
      l <- numeric(k); l[i] <- 1; l[j] <- -1
      kr <- as.data.frame(contrast(e, list(c = l)))
      b <- contest(m, matrix(l, 1) %*% e@linfct, joint = FALSE, ddf = "Satterthwaite")
      pairs[[length(pairs) + 1]] <- list(level = names[i], against = names[j], estimate = kr$estimate,
        kenward_roger = list(se = kr$SE, df = kr$df, t = kr$t.ratio, p = kr$p.value,
          p_tukey = ptukey(sqrt(2) * abs(kr$t.ratio), k, kr$df, lower.tail = FALSE)),
        satterthwaite = list(se = b$`Std. Error`, df = b$df, t = b$`t value`, p = b$`Pr(>|t|)`))
    }
    list(factor = paste(f, collapse = ":"), means = means, pairs = pairs)
  }
  families <- if (length(treatments) == 0) list() else if (interactions) list(family(treatments)) else lapply(treatments, family)
  list(request = list(response = response, treatments = I(treatments), interactions = interactions, blocks = I(blocks), covariates = I(covariates),
                      random = I(random), scale = scale, alpha = alpha),
       note = note, tolerance = list(lme4 = 1e-5, precise = 1e-12), n = nrow(d),
       reml_deviance = REMLcrit(m), components = components,
       intercept = if (length(labels) == 0) list(estimate = fixef(m)[[1]], se = sqrt(vcov(m)[1, 1])),
       anova = anova, families = families)
}

as_text <- function(x) {
  if (is.factor(x) || is.character(x)) return(as.character(x))
  t <- vapply(x, function(v) if (is.na(v)) "" else format(v, digits = 15, scientific = FALSE, trim = TRUE), "")
  stopifnot(all(is.na(x) | as.numeric(t) == x))
  t
}

write_set <- function(name, data, help, source, ...) {
  data <- as.data.frame(data)
  write.table(as.data.frame(lapply(data, as_text)), paste0(name, ".csv"), sep = ",", quote = FALSE, row.names = FALSE)
  v <- function(p) paste(p, packageVersion(p))
  json <- list(csv = paste0(name, ".csv"), help = help, source = source,
    maker = paste0("R ", getRversion(), ", ", paste(v("lme4"), v("pbkrtest"), v("lmerTest"), v("emmeans"), sep = ", ")),
    sign = "estimate is the mean of level minus the mean of against", cases = list(...))
  writeLines(toJSON(json, digits = NA, auto_unbox = TRUE, null = "null", na = "null", pretty = 1), paste0(name, ".json"))
  cat(name, "\n")
}

Oats <- transform(as.data.frame(nlme::Oats), Block = as.character(Block), Variety = as.character(Variety))
oats_source <- "Yates, F. (1935) Complex experiments. Journal of the Royal Statistical Society Suppl. 2, 181-247; Venables and Ripley (2002)."
write_set("Oats", Oats, "nlme::Oats", oats_source,
  case(Oats, "yield", c("Variety", "nitro"), c("Block", "Block:Variety"), interactions = TRUE, note = "split plot; nitro is a factor"),
  case(Oats, "yield", c("Variety", "nitro"), c("Block", "Block:Variety")),
  case(Oats, "yield", c("Variety", "nitro"), "Block:Variety", blocks = "Block"),
  case(Oats, "yield", "Variety", c("Block", "Block:Variety"), covariates = "nitro"),
  case(Oats, "yield", c("Variety", "nitro"), c("Block", "Block:Variety"), scale = "log"))
out <- c(3, 10, 11, 18, 25, 33, 34, 35, 47, 58, 66, 72)
O <- Oats[-out, ]
write_set("Oats_gaps", O, "nlme::Oats", paste(oats_source, "Rows", paste(out, collapse = " "), "removed by hand."),
  case(O, "yield", c("Variety", "nitro"), c("Block", "Block:Variety"), interactions = TRUE),
  case(O, "yield", c("Variety", "nitro"), c("Block", "Block:Variety")))

Machines <- transform(as.data.frame(nlme::Machines), Worker = as.character(Worker))
machines_source <- "Pinheiro, J. C. and Bates, D. M. (2000) Mixed-Effects Models in S and S-PLUS. Springer, Appendix A.14."
write_set("Machines", Machines, "nlme::Machines", machines_source,
  case(Machines, "score", "Machine", c("Worker", "Worker:Machine")), case(Machines, "score", "Machine", "Worker"))
out <- c(2, 3, 6, 8, 9, 12, 17, 20, 27, 33, 34)
G <- Machines[-out, ]
write_set("Machines_gaps", G, "nlme::Machines", paste(machines_source, "Rows", paste(out, collapse = " "), "removed by hand."),
  case(G, "score", "Machine", c("Worker", "Worker:Machine")))

Rail <- transform(as.data.frame(nlme::Rail), Rail = as.character(Rail))
write_set("Rail", Rail, "nlme::Rail", "Devore, J. L. (2000) Probability and Statistics for Engineering and the Sciences. Duxbury; in Pinheiro and Bates (2000), A.26.",
  case(Rail, "travel", random = "Rail", note = "no treatment: components and the mean"))

ergo <- transform(as.data.frame(nlme::ergoStool), Subject = as.character(Subject))
write_set("ergoStool", ergo, "nlme::ergoStool", "Wretenberg, P. et al. (1993) Ergonomics 36, 1401-1409; in Pinheiro and Bates (2000), A.9.",
  case(ergo, "effort", "Type", "Subject"))
E <- ergo[-c(1, 6, 11, 12, 22, 31), ]
write_set("ergoStool_gaps", E, "nlme::ergoStool", "As ergoStool; rows 1 6 11 12 22 31 removed by hand: incomplete blocks with recovery of information between blocks.",
  case(E, "effort", "Type", "Subject"))

Orthodont <- transform(as.data.frame(nlme::Orthodont), Subject = as.character(Subject))
write_set("Orthodont", Orthodont, "nlme::Orthodont", "Potthoff, R. F. and Roy, S. N. (1964) Biometrika 51, 313-326; in Pinheiro and Bates (2000), A.17.",
  case(Orthodont, "distance", "Sex", "Subject", covariates = "age", note = "treatment between subjects, covariate within"))

write_set("Dyestuff", lme4::Dyestuff, "lme4::Dyestuff", "Davies, O. L. and Goldsmith, P. L., eds (1972) Statistical Methods in Research and Production, 4th ed. Oliver and Boyd, section 6.4.",
  case(lme4::Dyestuff, "Yield", random = "Batch"))
write_set("Dyestuff2", lme4::Dyestuff2, "lme4::Dyestuff2", "Box, G. E. P. and Tiao, G. C. (1973) Bayesian Inference in Statistical Analysis. Addison-Wesley, section 5.1.2 (simulated).",
  case(lme4::Dyestuff2, "Yield", random = "Batch", note = "the batch component is estimated as zero"))

write_set("Penicillin", lme4::Penicillin, "lme4::Penicillin", "Davies, O. L. and Goldsmith, P. L., eds (1972) Statistical Methods in Research and Production, 4th ed. Oliver and Boyd, section 6.6.",
  case(lme4::Penicillin, "diameter", random = c("plate", "sample"), note = "crossed random effects"),
  case(lme4::Penicillin, "diameter", "sample", "plate"))
Pen <- lme4::Penicillin[-seq(4, 144, by = 5), ]
write_set("Penicillin_gaps", Pen, "lme4::Penicillin", "As Penicillin; rows 4, 9, 14, ... 144 removed by hand.",
  case(Pen, "diameter", random = c("plate", "sample")), case(Pen, "diameter", "sample", "plate"))

write_set("Pastes", lme4::Pastes, "lme4::Pastes", "Davies, O. L. and Goldsmith, P. L., eds (1972) Statistical Methods in Research and Production, 4th ed. Oliver and Boyd, section 6.5.",
  case(lme4::Pastes, "strength", random = c("batch", "batch:cask"), note = "nested random effects"),
  case(lme4::Pastes, "strength", "cask", c("batch", "batch:cask"), note = "cask read as a treatment within batches, for the arithmetic only"))

write_set("sleepstudy", lme4::sleepstudy, "lme4::sleepstudy", "Belenky, G. et al. (2003) Journal of Sleep Research 12, 1-12.",
  case(lme4::sleepstudy, "Reaction", "Days", "Subject", note = "Days is a factor of ten levels"))

cake <- transform(as.data.frame(lme4::cake), temperature = as.character(temperature))[c("replicate", "recipe", "temperature", "angle")]
cake_source <- "Cook, F. E. (1938) Chocolate cake, I. Optimum baking temperature. Iowa State College thesis; in Cochran, W. G. and Cox, G. M. (1957) Experimental Designs, 2nd ed. Wiley, p. 300."
write_set("cake", cake, "lme4::cake", cake_source,
  case(cake, "angle", c("recipe", "temperature"), c("replicate", "recipe:replicate"), interactions = TRUE, note = "split plot"),
  case(cake, "angle", c("recipe", "temperature"), c("replicate", "recipe:replicate"), scale = "log"))
C <- cake[-c(seq(5, 270, by = 11), 31:36), ]
write_set("cake_gaps", C, "lme4::cake", paste(cake_source, "Rows 5, 16, 27, ... 269 and 31 to 36 removed by hand."),
  case(C, "angle", c("recipe", "temperature"), c("replicate", "recipe:replicate")))

beets <- as.data.frame(pbkrtest::beets)
write_set("beets", beets, "pbkrtest::beets", "Halekoh, U. and Hojsgaard, S. (2014) Journal of Statistical Software 59(9).",
  case(beets, "sugpct", c("sow", "harvest"), "block:harvest", blocks = "block", note = "split plot, harvest on whole plots"),
  case(beets, "yield", c("sow", "harvest"), "block:harvest", blocks = "block"))

I1 <- MASS::immer[-c(1, 7, 8, 14, 20, 21, 27, 28), ]
write_set("immer_random", I1, "MASS::immer", "Immer, F. R., Hayes, H. D. and LeRoy Powers (1934) Journal of the American Society for Agronomy 26, 403-419. Rows 1 7 8 14 20 21 27 28 removed by hand.",
  case(I1, "Y1", "Var", "Loc", note = "incomplete blocks, random"))

write_set("npk_random", npk, "datasets::npk", "Venables, W. N. and Ripley, B. D. (2002) Modern Applied Statistics with S. Fourth edition. Springer.",
  case(npk, "yield", c("N", "P", "K"), "block", interactions = TRUE, note = "N:P:K is confounded with blocks: its test rests on the variation between blocks"))
