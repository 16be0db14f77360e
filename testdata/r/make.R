# Expected results for public data sets that ship with R: writes NAME.csv and NAME.json
# for every set below. Run in this folder:
#
#     Rscript make.R && python3 precise.py
#
# precise.py then recomputes everything from the CSV in 50-digit arithmetic, checks R
# against it, and adds the fields named *_precise.

source("results.R")

P <- PlantGrowth
write_set("PlantGrowth", P, "datasets::PlantGrowth", "Dobson, A. J. (1983) An Introduction to Statistical Modelling. Chapman and Hall.",
  plain(case(P, "weight", "group"), case(P, "weight", "group", scale = "log")))

write_set("InsectSprays", InsectSprays, "datasets::InsectSprays",
  "Beall, G. (1942) The Transformation of data from entomological field experiments. Biometrika 29, 243-262.",
  plain(case(InsectSprays, "count", "spray")))

write_set("chickwts", chickwts, "datasets::chickwts", "Anonymous (1948) Biometrika 35, 214.",
  plain(case(chickwts, "weight", "feed"), case(chickwts, "weight", "feed", scale = "log")))

A <- airquality[c("Ozone", "Temp", "Month", "Day")]
write_set("airquality", A, "datasets::airquality",
  "New York State Department of Conservation (ozone) and the National Weather Service, in Chambers, J. M. et al. (1983) Graphical Methods for Data Analysis. Wadsworth.",
  plain(case(A, "Ozone", "Month", note = "cells of Ozone are empty in 37 rows; those rows are left out"),
        case(A, "Ozone", "Month", scale = "log"), case(A, "Ozone", "Month", covariates = "Temp")))

write_set("iris", iris, "datasets::iris", "Fisher, R. A. (1936) Annals of Eugenics 7, 179-188; data collected by Anderson, E. (1935) Bulletin of the American Iris Society 59, 2-5.",
  plain(case(iris, "Sepal.Length", "Species"), case(iris, "Petal.Length", "Species", note = "far tails: p near 1e-90"),
        case(iris, "Sepal.Width", "Species", covariates = "Sepal.Length"), case(iris, "Petal.Width", "Species", scale = "log")))

write_set("warpbreaks", warpbreaks, "datasets::warpbreaks", "Tippett, L. H. C. (1950) Technological Applications of Statistics. Wiley, p. 106.",
  plain(case(warpbreaks, "breaks", c("wool", "tension"), interactions = TRUE), case(warpbreaks, "breaks", c("wool", "tension")),
        case(warpbreaks, "breaks", c("wool", "tension"), interactions = TRUE, scale = "log"), case(warpbreaks, "breaks", "tension", blocks = "wool")))

out <- c(2, 3, 5, 11, 12, 13, 14, 20, 29, 30, 41, 47, 48, 49, 50, 51)
W <- warpbreaks[-out, ]
write_set("warpbreaks_unbalanced", W, "datasets::warpbreaks", paste("As warpbreaks; rows", paste(out, collapse = " "), "removed by hand."),
  plain(case(W, "breaks", c("wool", "tension"), interactions = TRUE), case(W, "breaks", c("wool", "tension")),
        case(W, "breaks", c("wool", "tension"), scale = "log")))

E <- subset(warpbreaks, !(wool == "B" & tension == "H"))
write_set("warpbreaks_empty", E, "datasets::warpbreaks", "As warpbreaks; every row of wool B, tension H removed by hand.",
  plain(case(E, "breaks", c("wool", "tension"), interactions = TRUE,
             note = "the cell B H is empty: wool:tension has 1 degree of freedom, Type II by comparison of models; the family is the five cells that have runs"),
        case(E, "breaks", c("wool", "tension"))))

T <- ToothGrowth
write_set("ToothGrowth", T, "datasets::ToothGrowth", "Bliss, C. I. (1952) The Statistics of Bioassay. Academic Press; data of Crampton, E. W. (1947) The Journal of Nutrition 33(5), 491-504.",
  plain(case(T, "len", c("supp", "dose"), interactions = TRUE, note = "dose is a factor"), case(T, "len", c("supp", "dose")),
        case(T, "len", c("supp", "dose"), interactions = TRUE, scale = "log"), case(T, "len", "supp", covariates = "dose", note = "dose is a covariate")))

write_set("npk", npk, "datasets::npk", "Imperial College, London, M.Sc. exercise sheet; Venables, W. N. and Ripley, B. D. (2002) Modern Applied Statistics with S. Fourth edition. Springer.",
  plain(case(npk, "yield", c("N", "P", "K"), blocks = "block"),
        case(npk, "yield", c("N", "P", "K"), interactions = TRUE),
        case(npk, "yield", c("N", "P", "K"), blocks = "block", interactions = TRUE, families = FALSE,
             note = "N:P:K is confounded with blocks: 0 degrees of freedom, and no adjusted mean of a combination can be estimated; families is therefore empty"),
        case(npk, "yield", c("N", "P"), blocks = "block", interactions = TRUE, note = "K left out of the model on purpose"),
        case(npk, "yield", c("N", "P", "K"), blocks = "block", scale = "log")))

write_set("OrchardSprays", OrchardSprays, "datasets::OrchardSprays", "Finney, D. J. (1947) Probit Analysis. Cambridge.",
  plain(case(OrchardSprays, "decrease", "treatment", blocks = c("rowpos", "colpos"), note = "Latin square"),
        case(OrchardSprays, "decrease", "treatment", blocks = c("rowpos", "colpos"), scale = "log"),
        case(OrchardSprays, "decrease", "treatment", blocks = "rowpos")))

write_set("sleep", sleep, "datasets::sleep", "Cushny, A. R. and Peebles, A. R. (1905) The Journal of Physiology 32, 501-510; Student (1908) Biometrika 6, 1-25.",
  plain(case(sleep, "extra", "group", blocks = "ID")))

write_set("morley", morley, "datasets::morley", "Weekes, A. J. (1986) A Genstat Primer. Edward Arnold; Michelson's measurements of the speed of light, 1879.",
  plain(case(morley, "Speed", "Expt", blocks = "Run"), case(morley, "Speed", "Expt")))

M <- mtcars[c("mpg", "cyl", "am", "gear", "wt", "hp")]
write_set("mtcars", M, "datasets::mtcars", "Henderson, H. V. and Velleman, P. F. (1981) Building multiple regression models interactively. Biometrics 37, 391-411; 1974 Motor Trend US magazine.",
  plain(case(M, "mpg", "cyl", covariates = "wt"), case(M, "mpg", "cyl", covariates = c("wt", "hp")), case(M, "mpg", c("cyl", "am")),
        case(M, "mpg", c("cyl", "am"), interactions = TRUE), case(M, "mpg", c("cyl", "am"), covariates = "wt", scale = "log"),
        case(M, "mpg", c("gear", "am"), interactions = TRUE, note = "cells 3 1 and 5 0 are empty: gear:am has 0 degrees of freedom"),
        case(M, "mpg", "gear", blocks = "cyl")))

write_set("Puromycin", Puromycin, "datasets::Puromycin", "Bates, D. M. and Watts, D. G. (1988) Nonlinear Regression Analysis and Its Applications. Wiley, Appendix A1.3; Treloar, M. A. (1974).",
  plain(case(Puromycin, "rate", "state", covariates = "conc"), case(Puromycin, "rate", "state", blocks = "conc", note = "conc is a block: one block has a single run of one state"),
        case(Puromycin, "rate", "state", blocks = "conc", scale = "log")))

write_set("immer", immer, "MASS::immer", "Immer, F. R., Hayes, H. D. and LeRoy Powers (1934) Journal of the American Society for Agronomy 26, 403-419; Fisher, R. A. (1947) The Design of Experiments.",
  plain(case(immer, "Y1", "Var", blocks = "Loc"), case(immer, "Y2", "Var", blocks = "Loc", scale = "log")))

gaps <- c(1, 7, 8, 14, 20, 21, 27, 28)
I1 <- immer[-gaps, ]
write_set("immer_incomplete", I1, "MASS::immer", paste("As immer; rows", paste(gaps, collapse = " "), "removed by hand: blocks are incomplete and not orthogonal to Var."),
  plain(case(I1, "Y1", "Var", blocks = "Loc"), case(I1, "Y1", "Var", blocks = "Loc", covariates = "Y2")))

write_set("genotype", genotype, "MASS::genotype", "Scheffe, H. (1959) The Analysis of Variance. Wiley, p. 140; data of Bailey, D. W.",
  plain(case(genotype, "Wt", c("Litter", "Mother")), case(genotype, "Wt", c("Litter", "Mother"), interactions = TRUE),
        case(genotype, "Wt", "Mother", blocks = "Litter", scale = "log")))

write_set("cabbages", cabbages, "MASS::cabbages", "Rawlings, J. O. (1988) Applied Regression Analysis. Wadsworth and Brooks/Cole.",
  plain(case(cabbages, "VitC", c("Cult", "Date"), interactions = TRUE), case(cabbages, "VitC", c("Cult", "Date"), covariates = "HeadWt"),
        case(cabbages, "HeadWt", c("Cult", "Date"), interactions = TRUE, scale = "log")))

write_set("anorexia", anorexia, "MASS::anorexia", "Hand, D. J. et al., eds (1993) A Handbook of Small Data Sets. Chapman & Hall, data set 285.",
  plain(case(anorexia, "Postwt", "Treat", covariates = "Prewt"), case(anorexia, "Postwt", "Treat", scale = "log")))
