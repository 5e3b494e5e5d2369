"""How well could any method name the cause from these readings?

    python3 cmd/accuracy/ceiling.py TRAIN.csv TEST.csv

Trains scikit-learn's neural network on the many simulated visits of TRAIN, weighted to the base rates, and scores it on TEST: right first, in the first
two (physical faults of above-median severity), healthy visits with P(healthy) < 0.1. It has seen the true machines, structural spread included, so with
enough visits it comes close to the best possible answer on the same readings. It knows nothing of physics and could never be used on a machine unlike
these. Needs scikit-learn 1.7 or later. Takes about five minutes on two cores.
"""

import csv
import sys

import numpy as np
from sklearn.neural_network import MLPClassifier

PLACES = {
    "a": ["suction_pressure", "discharge_pressure"],
    "b": ["coil_outlet_line", "liquid_line"],
    "c": ["discharge_line", "coil_air_off"],
    "d": ["condenser_air_off", "drier_in", "drier_out", "suction_line", "amps"],
}
LYING = {"box_thermometer", "suction_gauge", "discharge_gauge"}
# What a mechanic would subtract; the network could find these, so does it sooner.
DIFFERENCES = [
    ("box_air", "suction_pressure"), ("discharge_pressure", "ambient"), ("coil_outlet_line", "suction_pressure"), ("discharge_pressure", "liquid_line"),
    ("discharge_line", "discharge_pressure"), ("box_air", "coil_air_off"), ("condenser_air_off", "ambient"), ("drier_in", "drier_out"),
    ("liquid_line", "drier_in"), ("suction_line", "coil_outlet_line"), ("box_air", "coil_outlet_line"),
]


def load(path):
    with open(path) as f:
        return list(csv.DictReader(f))


def features(rows, chosen):
    have = {"box_air", "ambient"} | {p for s in "abcd" if s <= chosen for p in PLACES[s]}
    value = lambda p: np.array([float(r[p]) for r in rows])
    cols = [np.array([float(r["refrigerant"] == "R-404A") for r in rows])]
    cols += [value(p) for p in ("box_air", "ambient", "amps") if p in have]
    cols += [value(p) - value(q) for p, q in DIFFERENCES if p in have and q in have]
    seen = ["glass"] + (["condenser_dirt", "coil_ice"] if chosen == "d" else [])
    for s in seen:
        for word in sorted({r[s] for r in rows}):
            cols.append(np.array([float(r[s] == word) for r in rows]))
    return np.stack(cols, 1)


def main():
    train, test = load(sys.argv[1]), load(sys.argv[2])
    truth, true = np.array([r["truth"] for r in train]), np.array([r["truth"] for r in test])
    z = np.array([float(r["severity_z"]) for r in test])
    physical = np.array([t != "healthy" and t not in LYING for t in true]) & (z > 0)
    count = {t: np.sum(truth == t) for t in set(truth)}
    print("| base rates | set | right first | in the first two | false alarms |\n| --- | --- | --- | --- | --- |")
    for rates in ("rate_shipped", "rate_prototype"):
        w = np.array([float(r[rates]) / count[r["truth"]] for r in train])
        for chosen in "abcd":
            x, y = features(train, chosen), features(test, chosen)
            mean, sd = x.mean(0), x.std(0)
            net = MLPClassifier((192, 192, 96), learning_rate_init=2e-3, batch_size=1024, early_stopping=True, n_iter_no_change=4, max_iter=40, random_state=1)
            net.fit(np.clip((x - mean) / sd, -8, 8), truth, sample_weight=w / w.mean())
            p = net.predict_proba(np.clip((y - mean) / sd, -8, 8))
            order = net.classes_[np.argsort(-p, 1)]
            first = order[:, 0] == true
            two = first | (order[:, 1] == true)
            alarm = p[true == "healthy", list(net.classes_).index("healthy")] < 0.1
            print(f"| {rates[5:]} | {chosen} | {first[physical].mean():.3f} | {two[physical].mean():.3f} | {alarm.mean():.3f} |", flush=True)


main()
