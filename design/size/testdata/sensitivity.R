# What a plan of two levels, 4 runs of each in every block and no drift, finds: of n runs a level in b blocks the t test on
# 8b − b − 1 degrees of freedom, standard error 2 √(2/n) for a noise of 2, 5 % two-sided; the margin is 3.
#
#   Rscript design/size/testdata/sensitivity.R
power <- function(b, difference) {
  df <- 8 * b - b - 1
  ncp <- difference / (2 * sqrt(2 / (4 * b)))
  t <- qt(0.975, df)
  pt(t, df, ncp, lower.tail = FALSE) + pt(-t, df, ncp)
}
for (b in 1:4) {
  smallest <- uniroot(function(d) power(b, d) - 0.9, c(0.1, 50), tol = 1e-12)$root
  cat(b, format(power(b, 3), digits = 10), format(smallest, digits = 10), "\n")
}
