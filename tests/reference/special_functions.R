# Rscript special_functions.R > special_functions_r.json : tails of the laws the statistics use, from R itself
number <- function(v) sprintf("%.17g", v)
row <- function(call, ours, arguments, value) {
  sprintf('    {"call": "%s", "name": "%s", "arguments": [%s], "value": %s}', call, ours,
          paste(number(arguments), collapse = ", "), number(value))
}
rows <- c()
add <- function(...) rows <<- c(rows, row(...))
for (z in c(-3, -0.5, 0.01, 0.7, 1.2815515655446004, 1.96, 2.5758293035489004, 4, 6.5, 9, 14, 21, 29, 37))
  add(sprintf("pnorm(%s, lower.tail = FALSE)", number(z)), "normalUpperTail", z, pnorm(z, lower.tail = FALSE))
for (df in c(1, 2, 3, 7, 10, 35, 120, 999)) for (q in c(0.05, 0.5, 1, 1.5, 3, 6)) {
  x <- q * df
  add(sprintf("pchisq(%s, %g, lower.tail = FALSE)", number(x), df), "chiSquareUpperTail", c(x, df), pchisq(x, df, lower.tail = FALSE))
  add(sprintf("pchisq(%s, %g)", number(x), df), "chiSquareLowerTail", c(x, df), pchisq(x, df))
}
for (df in c(1, 2, 4, 9, 30, 250)) for (t in c(0.1, 1, 2.2, 4.5, 9, 20))
  add(sprintf("pt(%g, %g, lower.tail = FALSE)", t, df), "studentUpperTail", c(t, df), pt(t, df, lower.tail = FALSE))
for (d in list(c(1, 5), c(2, 8), c(3, 37), c(10, 10), c(9, 400), c(60, 3))) for (f in c(0.2, 1, 2.5, 6, 25))
  add(sprintf("pf(%g, %g, %g, lower.tail = FALSE)", f, d[1], d[2]), "fUpperTail", c(f, d), pf(f, d[1], d[2], lower.tail = FALSE))
for (ab in list(c(0.5, 0.5), c(2, 3), c(7.5, 1.25), c(40, 60), c(300, 5))) for (x in c(0.001, 0.1, 0.37, 0.5, 0.81, 0.99))
  add(sprintf("pbeta(%g, %g, %g)", x, ab[1], ab[2]), "incompleteBeta", c(x, ab), pbeta(x, ab[1], ab[2]))
for (a in c(0.001, 0.3, 1.5, 4, 12.25, 170.5, 1e5, 1e9))
  add(sprintf("lgamma(%g)", a), "logGamma", a, lgamma(a))
# asymptotic Kolmogorov law, P(K > x): R's own series through psmirnov's limit form
k <- function(x) { j <- 1:2000; if (x < 1) 1 - sqrt(2 * pi) / x * sum(exp(-(2 * j - 1)^2 * pi^2 / (8 * x^2))) else 2 * sum((-1)^(j - 1) * exp(-2 * j^2 * x^2)) }
for (x in c(0.4, 0.7, 1, 1.36, 1.63, 2.5, 4))
  add(sprintf("1 - K(%g), its two series summed to 2000 terms in R", x), "kolmogorovLimit", x, k(x))
# exact one-sample law, P(D >= d): through ks.test on a sample made to have that D
for (nd in list(c(5, 0.31), c(10, 0.27), c(20, 0.21), c(50, 0.16), c(90, 0.2))) {
  n <- nd[1]; d <- nd[2]
  x <- pmin(1, pmax(0, (seq_len(n) - 0.5) / n)); x <- pmax(0, seq_len(n) / n - d); x[x == 0] <- (1:sum(x == 0)) * 1e-9
  test <- ks.test(x, "punif", exact = TRUE)
  add(sprintf("ks.test(x, punif, exact = TRUE), n = %d, D = %s", n, number(test$statistic)), "kolmogorovExact", c(n, test$statistic), test$p.value)
}
cat("{\n", sprintf('  "origin": "%s, package stats, tests/reference/special_functions.R; the call stands with each value",\n', R.version.string), '  "values": [\n', paste(rows, collapse = ",\n"), "\n  ]\n}\n", sep = "")
