# Writes gain.json: expected information gains worked out with scipy, as the
# mutual information H(outcome) - sum_s share(s) * H(outcome | s), which is the
# other way round from the Go code (H(s) - sum_o P(o) * H(s | o)).
# Run: python3 make_gain.py > gain.json
import json, sys
import numpy, scipy
from scipy.stats import entropy

rng = numpy.random.default_rng(20261125)
cases = []
shapes = [(2, 2), (2, 5), (3, 3), (5, 4), (10, 7), (40, 33), (40, 16), (4, 1)]
for things, outcomes in shapes:
    for sharp in (0.05, 0.5, 5.0):
        share = rng.dirichlet(numpy.full(things, sharp))
        rows = rng.dirichlet(numpy.full(outcomes, sharp), size=things)
        marginal = share @ rows
        bits = entropy(marginal, base=2) - sum(
            w * entropy(r, base=2) for w, r in zip(share, rows))
        cases.append({"share": share.tolist(), "rows": rows.tolist(),
                      "entropy": float(entropy(share, base=2)), "gain": float(bits)})
json.dump({"python": sys.version.split()[0], "numpy": numpy.__version__,
           "scipy": scipy.__version__, "cases": cases}, sys.stdout)
