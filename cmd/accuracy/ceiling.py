"""How well could any method name the cause from these readings?

    python3 cmd/accuracy/ceiling.py TRAIN.csv TEST.csv > cmd/accuracy/ceiling.md

Trains scikit-learn's neural network on the many simulated visits of TRAIN, weighted to the base rates, and scores it on TEST, reading set by reading set,
without and with the readings of a healthy visit on file. It has seen the true machines, structural spread included, so with enough visits it comes close to
the best possible answer on the same readings. It knows nothing of physics and could never be used on a machine unlike these. Needs scikit-learn 1.7 or
later. Takes about seven minutes on two busy cores for 120,000 visits.
"""

import csv
import hashlib
import sys

import numpy as np
import sklearn
from sklearn.neural_network import MLPClassifier

PLACES = {
    "a": ["suction_pressure", "discharge_pressure"],
    "b": ["coil_outlet_line", "liquid_line"],
    "c": ["discharge_line", "coil_air_off"],
    "d": ["condenser_air_off", "drier_in", "drier_out", "suction_line", "amps"],
    "full": ["condenser_face_air", "standing_pressure", "power"],
}
LAYERS = (256, 128)
SETS = ["a", "b", "c", "d", "full"]
RUNS = [("a", False), ("b", False), ("c", False), ("d", False), ("full", False), ("b", True), ("d", True), ("full", True)]
NOT_PHYSICAL = {"healthy", "box_thermometer", "suction_gauge", "discharge_gauge", "excess_load", "wrong_refrigerant"}
# What a mechanic would subtract; the network could find these, so does it sooner.
DIFFERENCES = [
    ("box_air", "suction_pressure"), ("discharge_pressure", "ambient"), ("coil_outlet_line", "suction_pressure"), ("discharge_pressure", "liquid_line"),
    ("discharge_line", "discharge_pressure"), ("box_air", "coil_air_off"), ("condenser_air_off", "ambient"), ("drier_in", "drier_out"),
    ("liquid_line", "drier_in"), ("suction_line", "coil_outlet_line"), ("box_air", "coil_outlet_line"), ("condenser_face_air", "ambient"),
    ("standing_pressure", "ambient"), ("condenser_air_off", "condenser_face_air"), ("discharge_pressure", "condenser_face_air"),
]
WORDS = {"glass": ["clear", "bubbling", "empty"], "condenser_dirt": ["none", "some", "heavy"], "coil_ice": ["none", "some", "heavy"]}


class Visits:
    """The columns of a file of visits, numbers as float32."""

    def __init__(self, path):
        with open(path, "rb") as f:
            self.fingerprint = hashlib.sha256(f.read()).hexdigest()[:12]
        with open(path) as f:
            reader = csv.reader(f)
            # The only thermometer of a visit goes under either name.
            names = [n.replace("box_display", "box_air") for n in next(reader)]
            rows = list(reader)
        self.column = {}
        for i, n in enumerate(names):
            values = [r[i] for r in rows]
            try:
                self.column[n] = np.array(values, dtype=np.float32)
            except ValueError:
                self.column[n] = np.array(values)

    def one(self, have, chosen, was):
        """Features of one visit: numbers, then words."""
        col = lambda p: self.column[was + p]
        numbers = [col(p) for p in ("box_air", "ambient", "amps") if p in have]
        numbers += [col(p) - col(q) for p, q in DIFFERENCES if p in have and q in have]
        if "power" in have:
            numbers.append(np.log(col("power")))
        seen = ["glass"] + (["condenser_dirt", "coil_ice"] if chosen in ("d", "full") else [])
        return numbers, [(col(s) == w).astype(np.float32) for s in seen for w in WORDS[s]]

    def features(self, chosen, on_file):
        have = {"box_air", "ambient"} | {p for s in SETS[: SETS.index(chosen) + 1] for p in PLACES[s]}
        numbers, words = self.one(have, chosen, "")
        cols = [(self.column["refrigerant"] == "R-404A").astype(np.float32)] + numbers + words
        if on_file:
            before, said = self.one(have, chosen, "was_")
            cols += before + said + [a - b for a, b in zip(numbers, before)]
        return np.stack(cols, 1)


def main():
    train, test = Visits(sys.argv[1]), Visits(sys.argv[2])
    truth, true = train.column["truth"], test.column["truth"]
    severe = test.column["severe"] == "true"
    physical = ~np.isin(true, list(NOT_PHYSICAL)) & severe
    count = {t: np.sum(truth == t) for t in set(truth)}
    count_test = {t: np.sum(true == t) for t in set(true)}
    weight = train.column["rate"] / np.array([count[t] for t in truth])
    weight_test = test.column["rate"] / np.array([count_test[t] for t in true])
    print(
        f"A neural network (scikit-learn {sklearn.__version__}, layers of {', '.join(map(str, LAYERS))}) trained on {len(truth):,} visits, scored on {len(true):,} others "
        f"(fingerprint {test.fingerprint}), {physical.sum()} of them physical faults of above-median severity. The columns mean the same as above.\n"
    )
    print("| readings | right first | in the first two | false alarms | sure: share, right | ln P(truth) |\n| --- | --- | --- | --- | --- | --- |")
    lines = {}
    # What is asked for most first, so that whoever waits sees it.
    for chosen, on_file in sorted(RUNS, key=lambda r: (r[0] not in ("full", "b"), not r[1])):
        x, y = train.features(chosen, on_file), test.features(chosen, on_file)
        mean, sd = x.mean(0), x.std(0)
        net = MLPClassifier(LAYERS, learning_rate_init=2e-3, batch_size=1024, early_stopping=True, validation_fraction=0.05, n_iter_no_change=5, max_iter=40, random_state=1)
        net.fit(np.clip((x - mean) / sd, -8, 8), truth, sample_weight=weight / weight.mean())
        p = net.predict_proba(np.clip((y - mean) / sd, -8, 8))
        order = net.classes_[np.argsort(-p, 1)]
        first = order[:, 0] == true
        two = first | (order[:, 1] == true)
        alarm = p[true == "healthy", list(net.classes_).index("healthy")] < 0.1
        sure = p.max(1) > 0.9
        given = np.log(np.maximum(p[np.arange(len(true)), np.searchsorted(net.classes_, true)], 1e-6))
        name = ("full" if chosen == "full" else "set " + chosen) + (", healthy visit on file" if on_file else "")
        lines[chosen, on_file] = (
            f"| {name} | {first[physical].mean():.1%} | {two[physical].mean():.1%} | {alarm.mean():.1%} | {weight_test[sure].sum() / weight_test.sum():.0%}, "
            f"{(weight_test * first)[sure].sum() / weight_test[sure].sum():.1%} | {(weight_test * given).sum() / weight_test.sum():.2f} |"
        ).replace("%", " %")
        print(f"{net.n_iter_} rounds {lines[chosen, on_file]}", file=sys.stderr, flush=True)
    for run in RUNS:
        print(lines[run])


if __name__ == "__main__":
    main()
