"""Makes phreeqc_mix.csv, phreeqc_aired.csv and phreeqc_conductivity.csv.

usage: phreeqc.py PHREEQC DATABASE_FOLDER
PHREEQC 3.8.9 of the U.S. Geological Survey, built from its public sources;
databases wateq4f.dat (pH) and phreeqc.dat (conductivity) as shipped with it.
"""
import csv, itertools, math, os, subprocess, sys

EXE, DATABASES = sys.argv[1:3]

def run(database, lines, columns):
    """Runs the input and returns every row of the selected output as floats."""
    text = "\n".join(["SELECTED_OUTPUT", "-file sel.txt", "-reset false", "-high_precision true"] + columns + ["END"] + lines)
    open("in.txt", "w").write(text)
    subprocess.run([EXE, "in.txt", "out.txt", os.path.join(DATABASES, database)], stdout=subprocess.DEVNULL, check=True)
    rows = [float(line.split()[0]) for line in open("sel.txt").read().splitlines()[1:] if line.strip()]
    for name in ("in.txt", "out.txt", "sel.txt"):
        os.remove(name)
    return rows

def solution(number, temp, ph, alk):
    return [f"SOLUTION {number}", f" temp {temp}", f" pH {ph}", " units mmol/L", f" Alkalinity {alk}", f" Na {alk} charge"]

def write(name, head, rows):
    with open(name, "w") as f:
        w = csv.writer(f)
        w.writerow(head)
        w.writerows(rows)

# Two sodium bicarbonate waters, one after the other, then poured together.
waters = [(0.5, 6.2), (1.0, 6.4), (2.0, 6.8), (1.5, 7.4), (3.0, 7.8), (0.3, 7.0), (4.0, 8.1)]
cases = [(a1, p1, a2, p2, t, f) for (a1, p1), (a2, p2) in itertools.combinations(waters, 2) for t in (15, 24) for f in (0.1, 0.5, 0.8)]
lines = []
for a1, p1, a2, p2, t, f in cases:
    lines += solution(1, t, p1, a1) + ["END"] + solution(2, t, p2, a2) + ["END", "MIX", f" 1 {1 - f}", f" 2 {f}", "END"]
ph = run("wateq4f.dat", lines, ["-pH true"])
assert len(ph) == 3 * len(cases)
write("phreeqc_mix.csv", "alk1_meq_l,ph1,alk2_meq_l,ph2,temp_C,share2,ph".split(","), [list(c) + [f"{v:.4f}"] for c, v in zip(cases, ph[2::3])])

# One water in balance with air.
cases = [(a, t, p) for a in (0.1, 0.36, 0.7, 1.4, 2.8, 4) for t in (10, 18, 24, 28) for p in (425e-6, 1200e-6)]
lines = []
for a, t, p in cases:
    lines += solution(1, t, 7, a) + ["EQUILIBRIUM_PHASES", f" CO2(g) {math.log10(p):.8f} 10", "END"]
ph = run("wateq4f.dat", lines, ["-pH true"])
assert len(ph) == 2 * len(cases)
write("phreeqc_aired.csv", "alk_meq_l,temp_C,co2_atm,ph".split(","), [list(c) + [f"{v:.4f}"] for c, v in zip(cases, ph[1::2])])

# Conductivity of single salts at 25 C.
salts = {"NaCl": " Na {c}\n Cl {c}", "CaCl2": " Ca {c}\n Cl {c2}", "MgSO4": " Mg {c}\n S(6) {c}", "CaSO4": " Ca {c}\n S(6) {c}", "NaHCO3": " Na {c}\n Alkalinity {c}", "KHCO3": " K {c}\n Alkalinity {c}"}
cases = [(s, c) for s in salts for c in (0.1, 0.5, 1, 2, 5, 10)]
lines = []
for s, c in cases:
    lines += ["SOLUTION 1", " temp 25", " pH " + ("8.2" if "HCO3" in s else "7"), " units mmol/L", salts[s].format(c=c, c2=2 * c), "END"]
ec = run("phreeqc.dat", lines, ["USER_PUNCH", "-headings sc", "10 PUNCH SC"])
assert len(ec) == len(cases)
write("phreeqc_conductivity.csv", ["salt", "mmol_l", "us_cm_25C"], [[s, c, f"{v:.2f}"] for (s, c), v in zip(cases, ec)])
