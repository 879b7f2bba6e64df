# Rscript distance-functions.R k N CORRECTION | envelope N CORRECTION
# prints milliseconds on its last line
suppressMessages({library(spatstat.geom); library(spatstat.explore); library(spatstat.random)})
words <- commandArgs(TRUE)
n <- as.integer(words[2])
angle <- 2 * pi * (0:19) / 20
hollow <- ifelse(0:19 %% 3 > 0, 1, 0.9)
limit <- owin(poly = list(x = 20 + 20 * hollow * cos(angle), y = 12.5 + 12.5 * hollow * sin(angle)))
set.seed(1)
finds <- runifpoint(n, limit)
if (words[1] == "k") {
  r <- seq(0, 6.25, length.out = 513)
  seconds <- system.time(Kest(finds, r = r, correction = words[3]))[["elapsed"]]
} else {
  r <- seq(0, 6.25, length.out = 65)
  simulations <- if (n > 1000) 9 else 49
  seconds <- system.time(envelope(finds, Kest, nsim = simulations, simulate = expression(runifpoint(n, limit)),
    funargs = list(r = r, correction = words[3]), verbose = FALSE))[["elapsed"]] * 999 / simulations
}
cat(1000 * seconds, "\n")
