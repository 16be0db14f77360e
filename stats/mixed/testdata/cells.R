# Cells of pack x treatment: least squares on their unweighted means, for cellfit_test.go.
# Run: Rscript cells.R > cells.json    (R 4, emmeans, jsonlite)
library(emmeans); library(jsonlite)
d <- expand.grid(run = 1:2, t = c("a", "b", "c"), pack = 1:3)
d$position <- rep(c(1, 4, 2, 6, 3, 5), 3)
d$y <- c(10.0, 10.2, 10.9, 11.3, 11.0, 13.1, 9.3, 9.6, 10.5, 10.2, 12.4, 10.2, 10.4, 10.1, 11.2, 11.5, 10.8, 13.4)
d$pack <- factor(d$pack)
judge <- function(d, drift) {
  d$cell <- interaction(d$pack, d$t, drop = TRUE)
  runs <- if (drift) lm(y ~ cell + position, d) else lm(y ~ cell, d)
  cells <- as.data.frame(emmeans(runs, "cell"))
  at <- match(cells$cell, d$cell)
  cells$pack <- d$pack[at]; cells$t <- d$t[at]
  fit <- lm(emmean ~ pack + t, cells)
  pairs <- as.data.frame(confint(pairs(emmeans(fit, "t"), reverse = TRUE), level = 0.95))
  list(rows = which(!is.na(d$y)), y = d$y, t = as.character(d$t), pack = as.character(d$pack), position = d$position, drift = drift,
       ms = summary(fit)$sigma^2, df = fit$df.residual, run_ms = summary(runs)$sigma^2, run_df = runs$df.residual,
       name = as.character(pairs$contrast), estimate = pairs$estimate, se = pairs$SE)
}
write_json(list(judge(d, FALSE), judge(d[-6, ], FALSE), judge(d[-c(9, 10), ], FALSE), judge(d, TRUE), judge(d[-6, ], TRUE)),
           stdout(), digits = I(17), auto_unbox = TRUE, pretty = TRUE)
