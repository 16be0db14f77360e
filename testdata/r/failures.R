# Exact and Wilson intervals of proportions, and Fisher's exact test: writes failures.json.
#
#     Rscript failures.R && python3 failures.py
#
# failures.py holds R's numbers against exact rational arithmetic.

library(jsonlite)

counts <- list(c(0, 1), c(1, 1), c(0, 2), c(1, 2), c(0, 3), c(1, 3), c(3, 3), c(0, 5), c(1, 5), c(2, 5), c(5, 5), c(0, 8), c(1, 8), c(3, 8),
  c(0, 12), c(1, 12), c(2, 12), c(6, 12), c(11, 12), c(12, 12), c(0, 20), c(1, 20), c(7, 20), c(19, 20), c(3, 48), c(0, 60), c(1, 60), c(5, 60), c(30, 60),
  c(59, 60), c(1, 200), c(17, 200), c(0, 1000), c(3, 1000), c(500, 1000), c(999, 1000), c(12, 100000), c(50000, 100000))

proportions <- list()
for (level in c(0.90, 0.95, 0.99)) for (c in counts) {
  exact <- binom.test(c[1], c[2], conf.level = level)$conf.int
  wilson <- suppressWarnings(prop.test(c[1], c[2], conf.level = level, correct = FALSE)$conf.int)
  proportions[[length(proportions) + 1]] <- list(failed = c[1], runs = c[2], confidence = level,
    clopper_pearson = list(low = exact[1], high = exact[2]), wilson = list(low = wilson[1], high = wilson[2]))
}

# failed and runs of each level
tables <- list(list(c(0, 1), c(12, 12)), list(c(0, 4), c(12, 12)), list(c(1, 5), c(12, 12)), list(c(2, 2), c(8, 8)), list(c(0, 8), c(8, 8)), list(c(3, 1), c(10, 4)),
  list(c(1, 9), c(20, 11)), list(c(5, 0), c(60, 48)), list(c(0, 0), c(5, 5)), list(c(5, 5), c(5, 5)), list(c(1, 0), c(1, 1)), list(c(17, 40), c(200, 200)), list(c(3, 3), c(7, 9)), list(c(10, 2), c(15, 14)),
  list(c(0, 1, 4), c(12, 12, 12)), list(c(0, 0, 3), c(8, 8, 8)), list(c(2, 5, 1), c(10, 9, 12)), list(c(0, 1, 2, 5), c(12, 12, 12, 12)), list(c(1, 0, 0, 0), c(4, 4, 4, 4)),
  list(c(0, 3, 6, 2), c(8, 10, 9, 12)), list(c(1, 1, 4, 0, 2), c(6, 6, 6, 6, 6)))

fisher <- lapply(tables, function(t) {
  m <- rbind(t[[1]], t[[2]] - t[[1]])
  p <- function(side) fisher.test(m, alternative = side, conf.int = FALSE)$p.value
  two <- length(t[[1]]) == 2
  list(failed = t[[1]], runs = t[[2]], p = if (two) p("two.sided") else fisher.test(m, workspace = 2e6)$p.value,
       p_first_more = if (two) p("greater"), p_first_fewer = if (two) p("less"))
})

writeLines(toJSON(list(
  maker = paste0("R ", getRversion(), ": binom.test, prop.test(correct = FALSE), fisher.test"),
  tolerance = list(proportions = 1e-10, fisher = 1e-10),
  proportions = proportions, fisher = fisher), digits = NA, auto_unbox = TRUE, null = "null", pretty = 1), "failures.json")
