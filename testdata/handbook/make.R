# The worked one-way example of the NIST/SEMATECH e-Handbook of Statistical Methods,
# sections 7.4.3 and 7.4.6.1 (public domain). Run in this folder:
#
#     Rscript make.R && python3 ../r/precise.py oneway
#
# The data were written down from memory. They reproduce the printed sums of squares, F and
# Tukey conclusion, which stopifnot() below holds R to.

source("../r/results.R")

y <- c(6.9, 5.4, 5.8, 4.6, 4.0, 8.3, 6.8, 7.8, 9.2, 6.5, 8.0, 10.5, 8.1, 6.9, 9.3, 5.8, 3.8, 6.1, 5.6, 6.2)
d <- data.frame(group = factor(rep(1:4, each = 5)), response = y)
one <- case(d, "response", "group")
t <- one$anova[[1]]; e <- one$anova[[2]]
stopifnot(round(t$ss, 3) == 38.820, t$df == 3, round(e$ss, 3) == 21.292, e$df == 16, round(t$f, 2) == 9.72)
apart <- vapply(one$families[[1]]$pairs, function(p) p$low * p$high > 0, TRUE)
names <- vapply(one$families[[1]]$pairs, function(p) paste(p$against, p$level), "")
stopifnot(setequal(names[!apart], c("1 4", "2 3")))
write_set("oneway", d, "none", "NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3 and 7.4.6.1; data from memory, printed results reproduced.", list(one))
