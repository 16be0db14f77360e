# Variances of comparisons between and within whole plots, as multiples of the variance of one run, by generalised least
# squares with whole plots that vary as much as runs: V = I + J within each whole plot. The order is that of
# TestExplainIncompleteWholePlots: 6 packs of 2 whole plots of 2 runs, of 2 propellers at 3 levels each.
#
#   Rscript design/size/testdata/plotfit.R
blocks <- rbind(c(0, 1, 3, 4), c(4, 5, 1, 2), c(2, 0, 5, 3), c(3, 5, 0, 1), c(2, 1, 4, 3), c(5, 4, 0, 2))
d <- data.frame(treatment = factor(as.vector(t(blocks))), pack = factor(rep(1:6, each = 4)), position = rep(1:4, 6))
plot <- rep(1:12, each = 2)
v <- diag(24) + outer(plot, plot, "==")
se2 <- function(formula) {
  x <- model.matrix(formula, d)
  cov <- solve(t(x) %*% solve(v) %*% x)
  at <- function(a) { w <- rep(0, ncol(x)); if (a > 0) w[which(colnames(x) == paste0("treatment", a))] <- 1; w }
  sapply(list(c(3, 0), c(3, 1), c(4, 2), c(5, 0), c(1, 0), c(5, 4)), function(p) { w <- at(p[1]) - at(p[2]); sum(w * (cov %*% w)) })
}
print(se2(~ pack + treatment + position), digits = 12)
print(se2(~ pack + treatment), digits = 12)
# Efficiency: the average over all pairs without drift over that with it.
average <- function(formula) {
  x <- model.matrix(formula, d)
  cov <- solve(t(x) %*% solve(v) %*% x)
  at <- function(a) { w <- rep(0, ncol(x)); if (a > 0) w[which(colnames(x) == paste0("treatment", a))] <- 1; w }
  mean(combn(0:5, 2, function(p) { w <- at(p[2]) - at(p[1]); sum(w * (cov %*% w)) }))
}
print(average(~ pack + treatment) / average(~ pack + treatment + position), digits = 12)
