# Mean squares between and within whole plots, for pivot_test.go: Yates's oats (MASS), whole and with runs lost.
# Run: Rscript plots.R > plots.json    (R 4, MASS, lme4, emmeans, jsonlite)
library(MASS); suppressMessages(library(lme4)); suppressMessages(library(emmeans)); library(jsonlite)
data(oats)
judge <- function(d) {
  d$plot <- interaction(d$B, d$V)
  within <- lm(Y ~ plot + N + V:N, d)            # whole plots fixed
  all <- lm(Y ~ B + V * N, d)                    # without whole plots
  out <- list(y = d$Y, b = as.character(d$B), v = as.character(d$V), n = as.character(d$N),
              within_ss = deviance(within), within_df = within$df.residual,
              between_ss = deviance(all) - deviance(within), between_df = all$df.residual - within$df.residual)
  if (nrow(d) == 72) {
    s <- summary(aov(Y ~ N * V + Error(B / V), d))
    ms <- function(stratum) tail(s[[stratum]][[1]][["Mean Sq"]], 1)
    out$aov_ms <- c(ms("Error: B:V"), ms("Error: Within"))
    fit <- lmer(Y ~ B + V * N + (1 | plot), d)
    pairs <- as.data.frame(pairs(emmeans(fit, ~ V * N, lmer.df = "asymptotic")))
    out$name <- as.character(pairs$contrast); out$se <- pairs$SE
  }
  out
}
write_json(list(judge(oats), judge(oats[-c(3, 8, 9, 22, 40, 41, 57, 71), ])), stdout(), digits = I(17), auto_unbox = TRUE, pretty = TRUE)
