# make_more.R -- reference values that make_freedom.R does not hold.
# Run:  TZ=UTC Rscript make_more.R     (writes more_*.csv in the working directory)
# Needs: R, epiR (r-cran-epir) and BiasedUrn (r-cran-biasedurn).
suppressMessages({library(epiR); library(BiasedUrn)})
writeLines(c(R.version.string, paste("epiR", packageVersion("epiR")), paste("BiasedUrn", packageVersion("BiasedUrn"))), "more_versions.txt")
W <- function(d, f) write.csv(d, f, row.names = FALSE, quote = FALSE, na = "")

## Blaker's interval, by the search that epi.prev(method = "blaker") calls, in steps of 1e-6 (its default is 1e-4):
## it stops before the first step that would be accepted, so the exact end lies within one step further in.
blaker <- get(".blaker.ci", asNamespace("epiR"))
rows <- list()
for (conf in c(.90, .95, .99)) for (n in c(5, 10, 20, 30, 60, 100, 300)) for (x in unique(c(0, 1, 2, 3, 5, round(n/4), round(n/2), n-1, n))) if (x <= n) {
  e <- blaker(x, n, conf, tolerance = 1e-6)
  rows[[length(rows)+1]] <- data.frame(conf, x, n, lo = sprintf("%.9f", e$lower), hi = sprintf("%.9f", e$upper))
}
W(do.call(rbind, rows), "more_blaker.csv")

## Weak animals: chance of no sign among n of w weak animals when D of N are infested and the odds are o,
## sum over Fisher's noncentral hypergeometric of the infested among the weak, then the plain one for the catch.
rows <- list()
for (a in list(c(50,5,10,6), c(200,10,40,30), c(200,60,40,30), c(1000,30,100,60))) for (o in c(1/3, 1, 3, 10)) for (se in c(.6, 1)) {
  N <- a[1]; D <- a[2]; w <- a[3]; n <- a[4]
  x <- 0:min(D, w); px <- dFNCHypergeo(x, w, N - w, D, o, precision = 1e-14)
  miss <- sapply(x, function(i) { y <- 0:min(i, n); sum(dhyper(y, i, w - i, n) * (1 - se)^y) })
  rows[[length(rows)+1]] <- data.frame(N, D, weak = w, n, odds = sprintf("%.17g", o), se, none = sprintf("%.12g", sum(px * miss)))
}
W(do.call(rbind, rows), "more_weak.csv")
