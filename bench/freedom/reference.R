# The same questions through epiR where it answers them, and through plain
# vectorised R (dhyper, dbinom) where it does not. Prints name, who answers,
# microseconds of processor time a question, answer.
options(warn = -1)
suppressMessages(library(epiR))
EPS <- 1e-12
miss <- function(N, D, n, se) { y <- 0:min(D, n); sum(dhyper(y, D, N - D, n) * (1 - se)^y) }
size <- function(N, p, se) {                       # exact, by halving
  D <- max(1, ceiling(N * p - 1e-9)); lo <- 1; hi <- N
  while (lo < hi) { m <- (lo + hi) %/% 2; if (1 - miss(N, D, m, se) >= .95 - EPS) hi <- m else lo <- m + 1 }
  lo
}
prior <- function(N) {
  d <- 0:N
  p <- .5 * exp(lchoose(N, d) + lbeta(d + .749, N - d + 2.171) - lbeta(.749, 2.171)); p[1] <- p[1] + .5
  p
}
P <- list(`200` = prior(200), `2000` = prior(2000), `10000` = prior(10000))
# E[(1-se)^Y | D] for all D: the sum over y of dhyper, one vector operation a y.
clear <- function(N, n, se) {
  d <- 0:N; L <- numeric(N + 1)
  for (y in 0:n) L <- L + dhyper(y, d, N - d, n) * (1 - se)^y
  w <- P[[as.character(N)]] * L
  w[1] / sum(w)
}
more <- function(N, line, se) { lo <- 0; hi <- N
  while (lo < hi) { m <- (lo + hi) %/% 2; if (clear(N, m, se) >= line - EPS) hi <- m else lo <- m + 1 }
  lo }
cut <- function(N, D, se, sp) rsu.sssep.rsfreecalc(N = N, pstar = D / N, mse.p = .95, msp.p = .95, se.u = se, sp.u = sp, method = "hypergeometric", max.ss = 32000)$summary$n
Q <- list(
  list("size_200_se0.8", "plain R", function() size(200, .05, .8)),
  list("size_10000_se0.8", "plain R", function() size(10000, .02, .8)),
  list("size_100000_se0.8", "plain R", function() size(100000, .02, .8)),
  list("cutpoint_200", "epiR", function() cut(200, 20, .9, .98)),
  list("cutpoint_1000", "epiR", function() cut(1000, 100, .9, .98)),
  list("power_500", "epiR", function() rsu.sep.rsfreecalc(N = 500, n = 150, c = 3, pstar = .05, se.u = .9, sp.u = .98)),
  list("clopper_3of30", "epiR", function() epi.conf(matrix(c(3, 30), 1), ctype = "prevalence", method = "exact", N = 1000, design = 1, conf.level = .95)[1, "upper"]),
  list("blaker_3of30", "epiR", function() epi.prev(3, 30, .9, .98, method = "blaker", units = 1)$ap[[3]]),
  list("posterior_200", "plain R", function() clear(200, 30, .8)),
  list("posterior_2000", "plain R", function() clear(2000, 100, .8)),
  list("posterior_10000", "plain R", function() clear(10000, 200, .8)),
  list("more_clean_200", "plain R", function() more(200, .95, .8)),
  list("more_clean_10000", "none", NULL))
for (q in Q) {
  if (is.null(q[[3]])) { cat(q[[1]], q[[2]], "", "", sep = "\t"); cat("\n"); next }
  answer <- q[[3]](); runs <- 0; begin <- sum(proc.time()[1:2])
  repeat { q[[3]](); runs <- runs + 1; took <- sum(proc.time()[1:2]) - begin; if (took > .5) break }
  cat(q[[1]], q[[2]], sprintf("%.3f", took * 1e6 / runs), sprintf("%.10g", as.numeric(answer)), sep = "\t"); cat("\n")
}
