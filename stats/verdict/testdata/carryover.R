# Makes carryover.json: first-order residual effects beside direct ones, by lm. Run in this folder:
#   Rscript carryover.R > carryover.json
# Milk of cows on three feeds in three periods, two squares: Cochran & Cox, Experimental Designs, 2nd ed., 4.6a,
# the numbers from memory. Residual effects add to zero over the feeds; the first period has none.
milk <- data.frame(
  square = rep(1:2, each = 9), cow = rep(1:6, each = 3), period = rep(1:3, 6),
  feed = strsplit("ABCBCACABACBBACCBA", "")[[1]],
  milk = c(38, 25, 15, 109, 86, 39, 124, 72, 27, 86, 76, 46, 75, 35, 34, 101, 63, 1))
# A Williams square of four in two sets of packs, a run lost, the drift a line: made up.
heat <- data.frame(
  pack = rep(1:8, each = 4), position = rep(1:4, 8), level = strsplit("ABDCBCADCDBADACBABDCBCADCDBADACB", "")[[1]],
  y = c(10.2, 11.9, 15.1, 14.0, 12.1, 13.2, 10.9, 15.0, 12.8, 16.1, 13.3, 11.1, 14.9, 11.8, 13.9, 12.8,
        10.0, 12.2, 15.3, 14.6, 11.8, 13.7, 11.4, 14.8, 13.1, 15.7, 13.0, 11.5, 15.2, 12.1, 13.5, NA))
residuals.of <- function(treatment, block) {
  before <- ave(as.integer(factor(treatment)), block, FUN = function(x) c(0, head(x, -1)))
  t <- max(before)
  sapply(1:(t - 1), function(k) (before == k) - (before == t))
}
show <- function(d, treatment, block, y, nuisance) {
  d$x <- factor(d[[treatment]]); d$y <- d[[y]]
  d$R <- residuals.of(d$x, d[[block]])
  d <- d[!is.na(d$y), ]
  full <- lm(as.formula(paste("y ~", nuisance, "+ R + x")), d)
  rest <- function(without) { a <- anova(update(full, as.formula(paste(". ~ . -", without))), full); c(a$Df[2], a$F[2], a[["Pr(>F)"]][2]) }
  b <- coef(full); V <- vcov(full); t <- nlevels(d$x)
  direct <- function(i) { w <- 0 * b; if (i > 1) w[paste0("x", levels(d$x)[i])] <- 1; w }
  carried <- function(i) { w <- 0 * b; if (i < t) w[paste0("R", i)] <- 1 else w[paste0("R", 1:(t - 1))] <- -1; w }
  out <- c()
  for (j in 1:(t - 1)) for (i in (j + 1):t) {
    of <- function(w) sprintf("%.10f, %.10f", sum(w[!is.na(b)] * b[!is.na(b)]), sqrt(drop(w[!is.na(b)] %*% V[!is.na(b), !is.na(b)] %*% w[!is.na(b)])))
    d1 <- direct(i) - direct(j); r1 <- carried(i) - carried(j)
    out <- c(out, sprintf('  {"level": "%s", "against": "%s", "direct": [%s], "residual": [%s], "permanent": [%s]}',
      levels(d$x)[i], levels(d$x)[j], of(d1), of(r1), of(d1 + r1)))
  }
  sprintf(' {"df": %d, "sd": %.10f, "direct": [%s], "carry_over": [%s], "pairs": [\n%s]}', full$df.residual, summary(full)$sigma,
    paste(sprintf("%.10f", rest("x")), collapse = ", "), paste(sprintf("%.10f", rest("R")), collapse = ", "), paste(out, collapse = ",\n"))
}
cat("{\n", '"milk":', show(milk, "feed", "cow", "milk", "factor(cow) + factor(square):factor(period)"), ",\n",
    '"heat":', show(heat, "level", "pack", "y", "factor(pack) + position"), "\n}\n")
