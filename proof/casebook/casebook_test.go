package casebook

import (
	"math/rand/v2"
	"testing"

	"coldwright/proof/standing"
)

// Verdicts are right where they can be and undecided where not, and intervals hold the truth about as often as they
// say (simulated tests, seeded). Bounds are three standard errors or more from what these numbers of tests should
// give.
func TestEvaluate(t *testing.T) {
	n := 160
	if testing.Short() {
		n = 60
	}
	q, err := Evaluate(1, n)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", q.Standing)
	t.Logf("%+v", q.Vacuum)
	t.Logf("%+v", q.Log)
	between := func(what string, v, lo, hi float64) {
		t.Helper()
		if v < lo || v > hi {
			t.Errorf("%s: %.3f, want %.2f to %.2f", what, v, lo, hi)
		}
	}
	h := q.Standing
	between("hold: interval of the change", h.Coverage, 0.80, 0.99)
	between("hold: smallest leak seen", h.Seen, 0.78, 1)
	if h.Large[0] > 0 || h.Tight[2] > 1+n/25 {
		t.Errorf("hold: %d large leaks called tight, %d tight machines called leaking", h.Large[0], h.Tight[2])
	}
	if h.Long[0] < 4*(h.Long[1]+h.Long[2]) || h.LongLeak[2] < 9*(h.LongLeak[0]+h.LongLeak[1]) {
		t.Errorf("hold, 12 h or more: tight %v, leaking %v", h.Long, h.LongLeak)
	}
	r := q.Vacuum
	between("rise: interval of the leak", r.LeakIn, 0.80, 1)
	between("rise: interval of the moisture", r.MoistureIn, 0.80, 1)
	var all, long VacuumCount
	for k := range 4 {
		for to, from := range map[*VacuumCount]VacuumCount{&all: r.All[k], &long: r.Long[k]} {
			to.Right += from.Right
			to.Part += from.Part
			to.Undecided += from.Undecided
			to.Wrong += from.Wrong
		}
	}
	if all.Wrong > 1+n/20 || long.Right < 4*(long.Undecided+long.Wrong) {
		t.Errorf("rise: all %+v, long %+v", all, long)
	}
	c := q.Log
	between("cold: start", c.StartIn, 0.85, 1)
	between("cold: end", c.EndIn, 0.85, 1)
	between("cold: start, perfect logger", c.PlainIn, 0.9, 1)
	between("cold: product", c.ProductIn, 0.80, 1)
	between("cold: defrosts found", c.DefrostFound, 0.7, 1)
	if c.Missed > 0 || c.DefrostFalse > n/4 {
		t.Errorf("cold: %d excursions missed, %d defrosts that were none", c.Missed, c.DefrostFalse)
	}
}

// The 90 % interval of the change holds the truth about nine times of ten on tests simulated with the assumed spreads.
func TestSimulateStanding_Coverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	in, n := 0, 200
	for range n {
		p, truth := SimulateStanding(rng, 0.01*rng.Float64(), 2+22*rng.Float64(), 8)
		h, err := standing.Judge(p, standing.Options{Gauge: true})
		if err != nil {
			t.Fatal(err)
		}
		if h.Low <= truth && truth <= h.High {
			in++
		}
	}
	if c := float64(in) / float64(n); c < 0.82 || c > 0.98 {
		t.Errorf("coverage %.2f", c)
	}
}

func BenchmarkStanding(b *testing.B) {
	p, _ := SimulateStanding(rand.New(rand.NewPCG(1, 1)), 0, 24, 288)
	for b.Loop() {
		if _, err := standing.Judge(p, standing.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
