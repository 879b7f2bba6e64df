# Rscript kriging.R predict|leave-one-out LEVELS.csv MODEL PARTIAL_SILL RANGE NUGGET WIDTH HEIGHT SIDE EVERY
# levels x,y,z; cells SIDE x SIDE over WIDTH x HEIGHT metres of which gstat takes one in EVERY (of the left-out: levels);
# prints milliseconds for all of them on its last line
suppressMessages({library(sp); library(gstat)})
words <- commandArgs(TRUE)
number <- as.numeric(words[4:10])
levels <- read.csv(words[2])
coordinates(levels) <- ~x+y
model <- vgm(psill = number[1], model = words[3], range = number[2], nugget = number[3])
side <- number[6]
every <- number[7]
if (words[1] == "predict") {
  cells <- expand.grid(x = (0:(side - 1) + .5) * number[4] / side, y = (0:(side - 1) + .5) * number[5] / side)
  cells <- cells[seq(1, side * side, every), ]
  coordinates(cells) <- ~x+y
  seconds <- system.time(krige(z ~ 1, levels, cells, model, debug.level = 0))[["elapsed"]] * every
} else {
  left <- seq(1, nrow(levels), every)
  seconds <- system.time(for (i in left)
    krige(z ~ 1, levels[-i, ], levels[i, ], model, debug.level = 0))[["elapsed"]] * nrow(levels) / length(left)
}
cat(1000 * seconds, "\n")
