"""Log ratios of kernel densities for density_ratio_site_a.json: full Gaussian sums and exact edge factors.

python3 density_ratio.py < cross_site_a.json > density_ratio_site_a.json (numpy, scipy; R with spatstat.explore)
"""

import json
import subprocess
import sys

import numpy as np
import scipy
from scipy.stats import norm

source = json.load(sys.stdin)["input"]
points = np.array(source["points"])
marks = np.array(source["marks"])
sigma = 0.83


def kernel_sum(of, at):
    d2 = ((at[:, None, :] - of[None, :, :]) ** 2).sum(axis=2)
    return np.exp(-d2 / (2 * sigma**2)).sum(axis=1) / (2 * np.pi * sigma**2)


def log_ratio(above, below, at):
    return np.log(kernel_sum(above, at) / len(above)) - np.log(kernel_sum(below, at) / len(below))


# rectangles: the share of a kernel inside is a product of two differences of the normal law
def mass(box, at):
    west, south, east, north = box
    x = norm.cdf((east - at[:, 0]) / sigma) - norm.cdf((west - at[:, 0]) / sigma)
    y = norm.cdf((north - at[:, 1]) / sigma) - norm.cdf((south - at[:, 1]) / sigma)
    return x * y


def inside(box, of):
    west, south, east, north = box
    return of[(of[:, 0] >= west) & (of[:, 0] <= east) & (of[:, 1] >= south) & (of[:, 1] <= north)]


places = np.array([[0.75, 0.6666666666666666], [6.75, 2.0], [11.25, 2.0], [3.75, 3.3333333333333335], [3.75, 4.666666666666667], [6.75, 7.333333333333333]])
amphora, ballast = points[marks == "amphora"], points[marks == "ballast"]
early, late, shared = (0.0, 0.0, 9.0, 5.0), (6.0, 0.0, 12.0, 5.0), (6.0, 0.0, 9.0, 5.0)
on_shared = np.array([[6.2, 0.4], [7.5, 2.5], [8.9, 4.9], [7.1, 3.3]])
above, below = inside(late, amphora), inside(early, ballast)
unequal = (
    np.log(kernel_sum(above, on_shared) / mass(late, on_shared) / len(inside(shared, amphora)))
    - np.log(kernel_sum(below, on_shared) / mass(early, on_shared) / len(inside(shared, ballast)))
)

call = """
suppressMessages(library(spatstat.explore))
d <- read.csv(file("stdin"))
w <- owin(c(0, 12), c(0, 8))
s <- function(k) density(ppp(d$x[k], d$y[k], w), sigma = 0.83, edge = FALSE, at = "points", leaveoneout = FALSE)
both <- d$class == "amphora"
# the density of all finds at the amphora, and of the amphora there
all <- density(ppp(d$x, d$y, w), sigma = 0.83, edge = FALSE, at = "points", leaveoneout = FALSE)[both]
own <- s(both)
cat(format(log(own / sum(both)) - log(all / length(both)), digits = 17), sep = "\\n")
"""
rows = "x,y,class\n" + "\n".join(f"{x!r},{y!r},{m}" for (x, y), m in zip(points.tolist(), marks))
from_r = subprocess.run(["Rscript", "-e", call], input=rows, capture_output=True, text=True, check=True).stdout.split()

json.dump(
    {
        "source": f"points and classes of cross_site_a.json (synthetic, free of conditions); expected by numpy {np.__version__} and scipy {scipy.__version__} (density_ratio.py)",
        "method": "ln((sum k / e / n) of the numerator) - the same of the denominator; e cancels on one window",
        "parameters": {"sigma": sigma, "early": early, "late": late, "shared": shared},
        "input": source,
        "expected": {
            "places": places.tolist(),
            "amphora_to_all": log_ratio(amphora, points, places).tolist(),
            "amphora_to_ballast": log_ratio(amphora, ballast, places).tolist(),
            "shared_places": on_shared.tolist(),
            "late_amphora_to_early_ballast": unequal.tolist(),
        },
        "spatstat": {
            "call": "R 4.2.2, spatstat.explore 3.0-6: density.ppp(sigma = 0.83, edge = FALSE, at = \"points\", leaveoneout = FALSE) of the amphora and of all finds, at the amphora",
            "amphora_to_all_at_amphora": [float(v) for v in from_r],
        },
    },
    sys.stdout,
)
