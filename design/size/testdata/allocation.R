# Expected values of allocation_test.go: Rscript allocation.R
# The variance of a difference in balanced incomplete blocks, by generalised least squares with the variances known:
# all blocks of k of t treatments, b = choose(t, k), n = b k.
difference <- function(t, k, run, block) {
  blocks <- combn(t, k)
  treatment <- factor(as.vector(blocks)); b <- factor(rep(seq_len(ncol(blocks)), each = k))
  X <- model.matrix(~ treatment)
  Z <- model.matrix(~ 0 + b)
  V <- run * diag(nrow(X)) + block * Z %*% t(Z)
  solve(t(X) %*% solve(V, X))[2, 2]
}
cat("variance of a difference:", format(c(difference(5, 3, 1.44, 0.9), difference(5, 4, 1.44, 0.9), difference(4, 2, 0.25, 3)), digits = 15), "\n")
# F test of two variances, two-sided (var.test): 1.2^2 on 20 against 2.6^2 on 18, 1.2^2 on 20 against 1.5^2 on 18
f <- function(s1, n1, s2, n2) { p <- pf(s1^2 / s2^2, n1, n2); 2 * min(p, 1 - p) }
cat("p:", format(c(f(1.2, 20, 2.6, 18), f(1.2, 20, 1.5, 18)), digits = 12), "\n")
# the third of three against the other two, Bonferroni
s <- sqrt((20 * 1.2^2 + 18 * 1.5^2) / 38)
cat("p of three:", format(3 * f(3, 10, s, 38), digits = 12), "\n")
