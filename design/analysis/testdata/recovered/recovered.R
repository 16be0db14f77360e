# Ten packs of two runs each, four levels of weakening in incomplete blocks, packs random: REML with Kenward and
# Roger's degrees of freedom. Writes recovered.json. R 4, lme4, pbkrtest, emmeans, jsonlite.
suppressMessages({library(lme4); library(pbkrtest); library(emmeans); library(jsonlite)})
levels <- c(0, 1, 0, 2, 0, 3, 1, 2, 1, 3, 2, 3, 1, 0, 3, 2, 2, 0, 3, 1)
pull <- c(101.2, 103.1, 96.4, 99.8, 104.9, 109.6, 100.3, 101.1, 106.8, 111.4,
          98.7, 100.2, 105.6, 104.1, 107.7, 104.8, 103.9, 101.6, 99.2, 96.1)
d <- data.frame(pull, pack = factor(rep(1:10, each = 2)), weakening = factor(levels * 4))
m <- lmer(pull ~ weakening + (1 | pack), d,
          control = lmerControl(optimizer = "nloptwrap", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-12, maxeval = 1e6)))
pairs <- summary(pairs(emmeans(m, "weakening", lmer.df = "kenward-roger"), reverse = TRUE, adjust = "tukey"))
sds <- as.data.frame(VarCorr(m))$sdcor
write_json(list(treatments = levels, pull = pull, pack = sds[1], run = sds[2],
                pairs = data.frame(pair = pairs$contrast, estimate = pairs$estimate, se = pairs$SE, df = pairs$df, p = pairs$p.value)),
           "recovered.json", digits = 12, auto_unbox = TRUE, pretty = TRUE)
