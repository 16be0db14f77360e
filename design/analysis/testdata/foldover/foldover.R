# Reference values for the verdict on a screen and its fold-over: Rscript foldover.R > foldover.json
#
# runsheet.csv is invented: nozzle and gearing together move the pull by 6 N, the prop by 2 N, with a noise
# of 1 N, 0.2 N lost from run to run and packs 1 N apart. Packs 1 and 2 hold the quarter fraction
# I = ABD = ACE = BCDE of prop, nozzle, coating, gearing, strut = A to E; packs 3 and 4 its mirror image.
suppressMessages(library(jsonlite))
d <- read.csv("runsheet.csv", colClasses = c(gearing = "character"))
level <- function(x, high) ifelse(x == high, 1, -1)
d <- transform(d, A = level(prop, "B"), B = level(nozzle, "long"), C = level(coating, "yes"),
               D = level(gearing, "20"), E = level(strut, "thick"), block = factor(block))
fit <- function(interactions, rows) {
  terms <- c("block", "position", LETTERS[1:5], interactions)
  lm(reformulate(terms, "pull"), d[rows, ])
}
# An effect is the difference of a factor's levels: twice the coefficient. p-values of interactions by Holm.
said <- function(model) {
  s <- summary(model)$coefficients
  main <- s[LETTERS[1:5], ]
  list(estimate = unname(2 * main[, 1]), se = unname(2 * main[, 2]), p = unname(main[, 4]), df = model$df.residual,
       interactions = I(p.adjust(unname(s[grep(":", rownames(s)), 4]), "holm")))
}
first <- d$block %in% c("1", "2")
all <- rep(TRUE, nrow(d))
# Interactions of two factors that can be distinguished from main effects: of the fraction BC = DE and BE = CD; with its
# mirror image, I = BCDE, all of A and BC = DE, BD = CE, BE = CD.
toJSON(list(
  half = said(fit(NULL, first)), half_with = said(fit(c("B:C", "B:E"), first)),
  whole = said(fit(NULL, all)), whole_with = said(fit(c("A:B", "A:C", "A:D", "A:E", "B:C", "B:D", "B:E"), all))
), digits = NA, auto_unbox = TRUE, pretty = TRUE)
