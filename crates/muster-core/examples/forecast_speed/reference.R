# Fits a linear mixed model to each kind of part by lme4 (Bates, Maechler, Bolker, Walker 2015, J. Stat. Soft. 67, 1) and
# says what it found: wear on distance, each life with its own level and rate.
#
# Rscript reference.R ROWS, as the example forecast_speed writes and runs it. On Debian: apt-get install r-cran-lme4.
suppressPackageStartupMessages(library(lme4))

path <- commandArgs(trailingOnly = TRUE)[1]
cells <- readBin(path, "double", file.size(path) / 8, endian = "little")
rows <- matrix(cells, nrow = 4)
cat("version", as.character(packageVersion("lme4")), "\n")
for (kind in unique(rows[1, ])) {
  own <- rows[, rows[1, ] == kind]
  data <- data.frame(life = factor(own[2, ]), x = own[3, ], z = own[4, ])
  used <- system.time(
    fitted <- lmer(z ~ x + (x | life), data, control = lmerControl(calc.derivs = FALSE))
  )
  spread <- attr(VarCorr(fitted)$life, "stddev")
  # Time of this process alone, in seconds; then mean rate, its standard error, spread of rates, a reading's deviation.
  seconds <- used[["user.self"]] + used[["sys.self"]]
  found <- c(kind, seconds, fixef(fitted)[["x"]], sqrt(vcov(fitted)["x", "x"]), spread[["x"]], sigma(fitted))
  cat("kind", format(found, digits = 12, scientific = FALSE), "\n")
}
