# Makes profile.json: profile-likelihood limits of the standard deviations of mixed
# models on sets that ship with R, and standard errors of the variances by the
# expected information. Dense matrices and R's own optimisers, nothing clever:
# the restricted deviance is
#
#   log|V| + log|X'V^-1 X| + y'Py,  V = sum s_i Z_i Z_i' + s_0 I,
#
# minimised by nlminb over the logs of the components that are not held (a
# component at zero by trying it), and uniroot for the limits.
# Run in this folder: Rscript profile.R
suppressMessages({library(nlme); library(lme4); library(jsonlite)})

case <- function(name, data, y, fixed, random) {
  X <- model.matrix(as.formula(paste("~", fixed)), data)
  y <- data[[y]]
  n <- length(y)
  G <- lapply(strsplit(random, ":"), function(p) interaction(lapply(data[p], factor), drop = TRUE))
  V <- c(lapply(G, function(g) { Z <- model.matrix(~ 0 + g); Z %*% t(Z) }), list(diag(n)))
  k <- length(V)
  parts <- function(s) {
    S <- Reduce(`+`, Map(`*`, s, V))
    U <- chol(S); W <- chol2inv(U)
    XW <- t(X) %*% W
    C <- chol(XW %*% X)
    P <- W - t(XW) %*% chol2inv(C) %*% XW
    list(P = P, dev = 2 * sum(log(diag(U))) + 2 * sum(log(diag(C))) + drop(t(y) %*% P %*% y))
  }
  # minimise over the components in free, the others being as in s
  minimise <- function(s, free) {
    best <- NULL
    random_free <- setdiff(free, k)
    for (zero in 0:(2^length(random_free) - 1)) {  # every choice of components at zero
      at0 <- random_free[bitwAnd(zero, 2^(seq_along(random_free) - 1)) > 0]
      move <- setdiff(free, at0)
      t <- s; t[at0] <- 0
      f <- function(l) { t[move] <- exp(l); parts(t)$dev }
      g <- function(l) {
        t[move] <- exp(l); P <- parts(t)$P; Py <- P %*% y
        vapply(move, function(i) t[i] * (sum(P * V[[i]]) - drop(t(Py) %*% V[[i]] %*% Py)), 0)
      }
      start <- log(pmax(s[move], 0.1 * var(y)))
      if (length(move) == 0) o <- list(par = numeric(), objective = f(numeric()))
      else {
        o <- nlminb(start, f, g, lower = -40, upper = 40, control = list(rel.tol = 1e-15, x.tol = 1e-12, iter.max = 1000, eval.max = 2000))
        o <- nlminb(o$par, f, g, lower = -40, upper = 40, control = list(rel.tol = 1e-15, x.tol = 1e-12, iter.max = 1000, eval.max = 2000))
      }
      if (is.null(best) || o$objective < best$dev - 1e-11) { t[move] <- exp(o$par); best <- list(s = t, dev = o$objective) }
    }
    best
  }
  top <- minimise(rep(var(y) / k, k), seq_len(k))
  P <- parts(top$s)$P
  info <- outer(seq_len(k), seq_len(k), Vectorize(function(i, j) sum((P %*% V[[i]]) * t(P %*% V[[j]])) / 2))
  se <- sqrt(diag(solve(info)))
  limits <- function(i, level) {
    cut <- qchisq(level, 1)
    excess <- function(v) { s <- top$s; s[i] <- v; minimise(s, setdiff(seq_len(k), i))$dev - top$dev - cut }
    find <- function(lo, hi) exp(uniroot(function(l) excess(exp(l)), log(c(lo, hi)), tol = 1e-11)$root)
    from <- max(top$s[i], 1e-6 * top$s[k])
    hi <- from; while (excess(hi) < 0) hi <- 2 * hi
    high <- find(hi / 2, hi)
    if (top$s[i] == 0 || (i < k && excess(0) <= 0)) return(c(0, high))
    lo <- from; while (excess(lo) < 0) lo <- lo / 2
    c(find(lo, 2 * lo), high)
  }
  cat(name, "\n")
  components <- lapply(seq_len(k), function(i) list(name = c(random, "residual")[i], sd = sqrt(top$s[i]), se = se[i],
    limits95 = sqrt(limits(i, 0.95)), limits80 = sqrt(limits(i, 0.8))))
  code <- function(f) { f <- factor(as.character(f), levels = unique(as.character(f))); list(levels = I(levels(f)), code = as.integer(f) - 1) }
  treatments <- setdiff(all.vars(as.formula(paste("~", fixed))), "1")
  list(name = name, y = y, factors = lapply(treatments, function(f) c(list(name = f), code(data[[f]]))), order = if (grepl("*", fixed, fixed = TRUE)) 2 else 1,
       random = Map(function(n, g) c(list(name = n), code(g)), random, G, USE.NAMES = FALSE), components = components)
}

Oats <- as.data.frame(nlme::Oats); Oats$nitro <- factor(Oats$nitro); Oats$Block <- factor(as.character(Oats$Block))
gaps <- Oats[-c(3, 10, 11, 18, 25, 33, 34, 35, 47, 58, 66, 72), ]
cases <- list(
  case("Rail", as.data.frame(nlme::Rail), "travel", "1", "Rail"),
  case("Dyestuff2", lme4::Dyestuff2, "Yield", "1", "Batch"),
  case("Pastes", lme4::Pastes, "strength", "1", c("batch", "batch:cask")),
  case("Penicillin", lme4::Penicillin, "diameter", "1", c("plate", "sample")),
  case("Oats", Oats, "yield", "Variety*nitro", c("Block", "Block:Variety")),
  case("Oats_gaps", gaps, "yield", "Variety*nitro", c("Block", "Block:Variety")),
  case("ergoStool_gaps", as.data.frame(nlme::ergoStool)[-c(1, 6, 11, 12, 22, 31), ], "effort", "Type", "Subject"))
writeLines(toJSON(cases, digits = NA, auto_unbox = TRUE), "profile.json")
