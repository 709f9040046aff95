# Complete strip plots, most of them without variance between strips, tested by R's aov with Error(block/(along*across)):
# each strip factor against its own strips within blocks, both together against the rest (Gomez & Gomez 1984, 3.5).
# Rscript r-strip-plots.R > r-strip-plots.json
library(jsonlite)
set.seed(1984)
cases <- lapply(1:30, function(i) {
  a <- 2 + i %% 3; s <- 2 + (i %/% 3) %% 3; b <- 3 + i %% 2; sd <- if (i > 24) c(1, 1) else c(0, 0)
  d <- expand.grid(across = paste0("s", 1:s), along = paste0("m", 1:a), block = paste0("b", 1:b))
  d$y <- round(10 + rnorm(b, 0, 2)[as.integer(d$block)] + rnorm(a * b, 0, sd[1])[as.integer(interaction(d$block, d$along))] +
    rnorm(s * b, 0, sd[2])[as.integer(interaction(d$block, d$across))] + rnorm(nrow(d)), 3)
  parts <- summary(aov(y ~ along * across + Error(block / (along * across)), d))
  line <- function(stratum, term) { t <- parts[[stratum]][[1]]; r <- which(trimws(rownames(t)) == term); list(f = t[r, "F value"], df1 = t[r, "Df"], df2 = t["Residuals", "Df"], p = t[r, "Pr(>F)"], errorMs = t["Residuals", "Mean Sq"]) }
  list(block = d$block, along = d$along, across = d$across, y = d$y, tests = list(
    line("Error: block:along", "along"), line("Error: block:across", "across"), line("Error: block:along:across", "along:across")))
})
cat(toJSON(list(cases = cases), auto_unbox = TRUE, digits = 15))
