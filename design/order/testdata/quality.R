# Writes quality.json: for given orders, the variances of all pairwise comparisons with and
# without drift, the average efficiency, residual degrees of freedom and correlations
# within blocks, by R's lm on a constant response. Run: Rscript quality.R
library(jsonlite)
cases <- list(
  list(name = "one block, line", treatments = 3, drift = "linear", shared = TRUE,
       blocks = list(c(0, 1, 2, 0, 2, 1, 1))),
  list(name = "two packs, shared line", treatments = 4, drift = "linear", shared = TRUE,
       blocks = list(c(0, 1, 2, 3, 3, 1, 2, 0), c(2, 0, 3, 1, 0, 1, 3, 2))),
  list(name = "two packs, own lines", treatments = 4, drift = "linear", shared = FALSE,
       blocks = list(c(0, 1, 2, 3, 3, 1, 2, 0), c(2, 0, 3, 1, 0, 1, 3, 2))),
  list(name = "three packs, own parabolas", treatments = 3, drift = "quadratic", shared = FALSE,
       blocks = list(c(0, 1, 2, 0, 2, 1), c(1, 1, 0, 2, 2, 0), c(2, 1, 0, 0, 1, 2))),
  list(name = "three packs, shared parabola", treatments = 3, drift = "quadratic", shared = TRUE,
       blocks = list(c(0, 1, 2), c(1, 0, 2), c(2, 1, 0))),
  list(name = "unequal packs", treatments = 4, drift = "quadratic", shared = TRUE,
       blocks = list(c(0, 1, 2), c(3, 0, 1, 2, 2), c(1, 3, 0, 0))),
  list(name = "sorted", treatments = 4, drift = "linear", shared = TRUE,
       blocks = list(c(0, 0, 1, 1, 2, 2, 3, 3), c(0, 0, 1, 1, 2, 2, 3, 3)))
)
variances <- function(d, treatments, terms) {
  d$y <- seq_len(nrow(d))
  rhs <- c(if (nlevels(d$b) > 1) "b", terms, "t")
  m <- lm(reformulate(rhs, "y"), d)
  v <- suppressWarnings(summary(m))$cov.unscaled
  full <- matrix(0, treatments, treatments)
  at <- paste0("t", seq_len(treatments - 1))
  stopifnot(all(at %in% rownames(v)))
  full[-1, -1] <- v[at, at]
  list(pair = outer(diag(full), diag(full), "+") - 2 * full, df = m$df.residual)
}
answer <- lapply(cases, function(k) {
  d <- do.call(rbind, lapply(seq_along(k$blocks), function(b) {
    t <- k$blocks[[b]]; n <- length(t); y <- 2 * (seq_len(n) - 1) - (n - 1)
    data.frame(b = b, t = t, x = y, z = 3 * y^2 - (n^2 - 1))
  }))
  d$b <- factor(d$b); d$t <- factor(d$t, levels = 0:(k$treatments - 1))
  terms <- switch(k$drift, linear = "x", quadratic = c("x", "z"))
  if (!k$shared && nlevels(d$b) > 1) terms <- paste0("b:", terms)
  with <- variances(d, k$treatments, terms)
  free <- variances(d, k$treatments, NULL)
  lower <- lower.tri(with$pair)
  within <- function(v) v - ave(v, d$b)
  correlation <- function(v) sapply(0:(k$treatments - 1), function(t) cor(within(as.numeric(d$t == t)), within(v)))
  list(name = k$name, treatments = k$treatments, drift = k$drift, shared = k$shared, blocks = k$blocks,
       efficiency = mean(free$pair[lower]) / mean(with$pair[lower]), df = with$df,
       variance = with$pair, free = free$pair, linear = correlation(d$x), quadratic = correlation(d$z))
})
write(toJSON(answer, digits = I(15), auto_unbox = TRUE), "quality.json")
