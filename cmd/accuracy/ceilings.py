"""How well could any method name the cause in the worlds the diagnosis was not made for?

    for p in catalogue field "wrong plate"; do
        go run ./cmd/accuracy -visits "train $p.csv" -world "$p, own physics" -seed 2 -n 20000
        go run ./cmd/accuracy -visits "test 2000 $p.csv" -world "$p, own physics" -seed 3 -n 2000
        for l in "own physics" "other laws" "independent physics"; do
            go run ./cmd/accuracy -visits "test $p $l.csv" -world "$p, $l" -n 308
        done
    done
    python3 cmd/accuracy/ceilings.py 1 train*.csv test*.csv > answers.csv
    go run ./cmd/accuracy -answers answers.csv > cmd/accuracy/ceilings.csv

Trains the network of ceiling.py on the visits of each population alone, which knows that population's true spreads and, of the wrong plates, what they
say; and one on an equal mixture of all, which knows neither whose machine it sees nor its plate. Both learn the program's own physics only. Each answers
the visits of the tests; the answers are scored by the command itself, by the definitions of the page. The first argument is the share of the training
visits used: half of them show how far from learnt out a network is. Needs scikit-learn 1.7 or later.
"""

import sys

import numpy as np
from sklearn.neural_network import MLPClassifier

from ceiling import LAYERS, Visits

RUNS = [("full", True), ("full", False), ("b", False)]
PLATE = ["told_td", "told_split", "told_superheat"]


class World(Visits):
    """The visits of one file, all of one world."""

    def __init__(self, path):
        super().__init__(path)
        c = self.column
        self.name, self.seed, self.n = str(c["world"][0]), int(c["seed"][0]), int(c["n"][0])
        self.population = self.name.split(",")[0]
        count = {t: np.sum(c["truth"] == t) for t in set(c["truth"])}
        self.weight = c["rate"] / np.array([count[t] for t in c["truth"]])

    def seen(self, chosen, on_file, plate):
        x = self.features(chosen, on_file)
        return np.column_stack([x, *(self.column[p] for p in PLATE)]) if plate else x


def learn(x, truth, weight):
    mean, sd = x.mean(0), np.maximum(x.std(0), 1e-6)
    net = MLPClassifier(LAYERS, learning_rate_init=2e-3, batch_size=1024, early_stopping=True, validation_fraction=0.05, n_iter_no_change=5, max_iter=40, random_state=1)
    net.fit(np.clip((x - mean) / sd, -8, 8), truth, sample_weight=weight / weight.mean())
    return net.classes_, lambda y: net.predict_proba(np.clip((y - mean) / sd, -8, 8))


def main():
    share, files = float(sys.argv[1]), [World(p) for p in sys.argv[2:]]
    train, test = [w for w in files if w.n > 10000], [w for w in files if w.n <= 10000]
    known = None
    for chosen, on_file in RUNS:
        view = chosen + ("+" if on_file else "")
        jobs = [(w.population, [w], [t for t in test if t.population == w.population], True) for w in train]
        for name, teachers, pupils, plate in jobs + [("mixture", train, test, False)]:
            take = [np.random.default_rng(1).random(len(w.weight)) < share for w in teachers]
            x = np.concatenate([w.seen(chosen, on_file, plate)[k] for w, k in zip(teachers, take)])
            truth = np.concatenate([w.column["truth"][k] for w, k in zip(teachers, take)])
            classes, answer = learn(x, truth, np.concatenate([w.weight[k] for w, k in zip(teachers, take)]))
            if known is None:
                known = list(classes)
                print("classifier,world,seed,n,view," + ",".join(known))
            assert known == list(classes)
            who = name if name == "mixture" else "alone"
            for t in pupils:
                for p in answer(t.seen(chosen, on_file, plate)):
                    print(f'{who},"{t.name}",{t.seed},{t.n},{view},' + ",".join(f"{q:.5f}" for q in p), flush=True)
            print(view, name, len(truth), file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
