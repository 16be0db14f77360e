# Incomplete blocks (charges) of two runs, two to a day, on packs that come back. In "complete" every day and every
# pack holds each level, so both are fixed and charges random; in "incomplete" neither does, so all three are random.
# REML with Kenward and Roger's degrees of freedom. Writes sessions.json. R 4, lme4, pbkrtest, emmeans, jsonlite.
suppressMessages({library(lme4); library(pbkrtest); library(emmeans); library(jsonlite)})
exact <- lmerControl(optimizer = "nloptwrap", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-12, maxeval = 1e6))
answer <- function(levels, pack, seed, formula) {
  set.seed(seed)
  charge <- rep(seq_len(length(levels) / 2), each = 2)
  day <- (charge - 1) %/% 2 + 1
  pull <- round(100 + 2 * levels + rnorm(max(day), 0, 4)[day] + rnorm(max(pack), 0, 3)[pack[charge]] +
                rnorm(max(charge), 0, 2)[charge] + rnorm(length(levels), 0, 1), 1)
  d <- data.frame(pull, charge = factor(charge), day = factor(day), pack = factor(pack[charge]), level = factor(levels))
  m <- lmer(formula, d, control = exact)
  p <- summary(pairs(emmeans(m, "level", lmer.df = "kenward-roger"), reverse = TRUE, adjust = "tukey"))
  list(treatments = levels, pull = pull, pairs = data.frame(pair = p$contrast, estimate = p$estimate, se = p$SE, df = p$df))
}
complete <- answer(c(0,1, 2,3, 0,2, 1,3, 1,2, 0,3, 0,1, 2,3, 1,3, 0,2, 0,3, 1,2),
                   c(1,2, 2,1, 1,2, 2,1, 1,2, 2,1), 3, pull ~ level + day + pack + (1 | charge))
incomplete <- answer(c(0,1, 2,3, 2,4, 0,3, 3,4, 1,2, 1,4, 0,2, 1,2, 0,4, 1,3, 2,4),
                     c(1,2, 3,4, 2,3, 4,1, 1,2, 3,4), 8, pull ~ level + (1 | charge) + (1 | day) + (1 | pack))
write_json(list(complete = complete, incomplete = incomplete), "sessions.json", digits = 12, auto_unbox = TRUE, pretty = TRUE)
