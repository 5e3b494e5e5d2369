package casebook

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/proof/standing"
)

// Verdicts are right where they can be and undecided where not, and intervals hold the truth as often as they say, no
// less and no more (simulated tests, seeded). Bounds of a share are three standard errors of this number of tests; for
// the 90 % intervals 0.03 is taken off below for what is simulated and the judgement does not know.
func TestEvaluate(t *testing.T) {
	n := 240
	if testing.Short() {
		n = 120
	}
	covers := func(what string, v, cautious float64) {
		t.Helper()
		d := 3 * math.Sqrt(0.9*0.1/float64(n))
		if v < 0.9-0.03-d || v > 0.9+cautious+d {
			t.Errorf("%s: 90 %% intervals hold the truth %.3f of the time, want %.3f to %.3f", what, v, 0.9-0.03-d, 0.9+cautious+d)
		}
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
	covers("hold: change", h.Coverage, 0)
	// Wrong by a factor of 1.5 either way is seen; the squares of 240 standard normals have a standard error of 0.09.
	between("hold: squared error over squared uncertainty", h.Squared, 1/1.5, 1.5)
	between("hold: smallest leak seen", h.Seen, 0.9-3*math.Sqrt(0.9*0.1/float64(n)), 0.97) // "about nine times of ten"
	if h.Large[0] > 0 || h.Tight[2] > 1+n/25 {
		t.Errorf("hold: %d large leaks called tight, %d tight machines called leaking", h.Large[0], h.Tight[2])
	}
	if h.Long[0] < 4*(h.Long[1]+h.Long[2]) || h.LongLeak[2] < 9*(h.LongLeak[0]+h.LongLeak[1]) {
		t.Errorf("hold, 12 h or more: tight %v, leaking %v", h.Long, h.LongLeak)
	}
	r := q.Vacuum
	// Half of the tests have no leak and half no moisture: an interval that begins at nothing holds nothing for sure.
	covers("rise: leak", r.LeakIn, 0.05)
	covers("rise: moisture", r.MoistureIn, 0.05)
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
	covers("cold: product", c.ProductIn, 0)
	between("cold: defrosts found", c.DefrostFound, 0.7, 1)
	if c.Missed > 0 || c.DefrostFalse > n/4 {
		t.Errorf("cold: %d excursions missed, %d defrosts that were none", c.Missed, c.DefrostFalse)
	}
}

// Bands of a pull-down hold the air in every kind of box, and boxes that stall are seldom said to fall well (simulated
// boxes, seeded). A band is to hold 0.85 to 0.97; the bounds are that with three standard errors of this number of boxes.
func TestEvaluatePull(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 16
	}
	least := 0.85 - 3*math.Sqrt(0.85*0.15/float64(n))
	all, falling, stalling := [3]float64{}, 0, 0
	for _, b := range Boxes() {
		q, err := EvaluatePull(1, n, b)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%-8s within %.2f, %.1f K wide, stalling called falling %d of %d", b, q.In, q.Wide, q.Falling, q.Stalling)
		for k, v := range q.In {
			if v < least {
				t.Errorf("%v: band %d holds the air %.2f of the time, want %.2f", b, k, v, least)
			}
			all[k] += v / float64(len(Boxes()))
		}
		falling, stalling = falling+q.Falling, stalling+q.Stalling
	}
	for k, v := range all {
		if most := 0.97 + 3*math.Sqrt(0.97*0.03/float64(n*len(Boxes()))); v > most {
			t.Errorf("all boxes: band %d holds the air %.3f of the time, want at most %.3f: too wide to say anything", k, v, most)
		}
	}
	if most := 0.05 + 3*math.Sqrt(0.05*0.95/float64(stalling)); float64(falling) > most*float64(stalling) {
		t.Errorf("%d of %d stalling boxes called falling", falling, stalling)
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
