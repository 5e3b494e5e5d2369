package main

import (
	"fmt"
	"testing"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// held is what a group of worlds is held to.
type held struct {
	kind        casebook.Kind
	independent bool
	onFile      bool
}

func (h held) String() string {
	physics, file := "own physics and other laws", ""
	if h.independent {
		physics = "independent physics"
	}
	if h.onFile {
		file = ", healthy visit on file"
	}
	return fmt.Sprintf("%s, %s, full%s", h.kind, physics, file)
}

// worst is what a sample of a group came to.
type worst struct {
	healthy, alarmed int
	sure, wrong      int // answers above 0.8
	calibration      float64
}

// gateSample judges a small sample of every world that keep keeps, some healthy machines and one of each cause, by groups.
func gateSample(t *testing.T, seed uint64, healthy int, keep func(casebook.World) bool) map[held]worst {
	t.Helper()
	r, err := newRun(seed, 1)
	if err != nil {
		t.Fatal(err)
	}
	visits := map[held][]casebook.Visit{}
	for _, k := range cycleKinds {
		for _, w := range allWorlds(k) {
			if !keep(w) {
				continue
			}
			list, err := r.visitsOf(w, healthy, 1)
			if err != nil {
				t.Fatal(err)
			}
			h := held{kind: k, independent: w.Law == casebook.Independent}
			visits[h] = append(visits[h], list...)
		}
	}
	out := map[held]worst{}
	for h, list := range visits {
		for _, h.onFile = range []bool{false, true} {
			see := casebook.View{Set: casebook.Full, OnFile: h.onFile}
			answers, err := casebook.Judge(t.Context(), list, see, diagnose.Options{NoPairs: true})
			if err != nil {
				t.Fatal(err)
			}
			w := worst{calibration: casebook.Rate(h.kind, see, list, answers, &r.cat).CalibrationError}
			for i := range answers {
				truth := list[i].Truth()
				if truth == fault.Healthy {
					w.healthy++
					if answers[i].PHealthy < 0.1 {
						w.alarmed++
					}
				}
				if first, p := casebook.First(&answers[i]); p > 0.8 {
					w.sure++
					if first != truth.Inseparable() {
						w.wrong++
					}
				}
			}
			out[h] = w
		}
	}
	return out
}

// TestWorlds_Worst: no group of worlds gets worse than stands in limits, with full readings: healthy machines alarmed,
// answers above 0.8 that are wrong, and stated against observed, capillary machines included. On a seed of its own; the
// bounds on counts follow from the sample's size, one such sample in a thousand breaks its own.
func TestWorlds_Worst(t *testing.T) {
	seen := 0
	keep := func(w casebook.World) bool { return !testing.Short() || w.Population == casebook.Field }
	for h, w := range gateSample(t, 17, 8, keep) {
		most, ok := limits[h]
		if !ok {
			t.Errorf("%s: no limits", h)
			continue
		}
		seen++
		t.Logf("%s: %d of %d alarmed, %d of %d above 0.8 wrong, calibration %.3f", h, w.alarmed, w.healthy, w.wrong, w.sure, w.calibration)
		if n := mostOf(w.healthy, most.alarmed); w.alarmed > n {
			t.Errorf("%s: %d of %d healthy machines alarmed, at most %d at %.2f", h, w.alarmed, w.healthy, n, most.alarmed)
		}
		if n := mostOf(w.sure, most.wrong); w.wrong > n {
			t.Errorf("%s: %d of %d answers above 0.8 wrong, at most %d at %.2f", h, w.wrong, w.sure, n, most.wrong)
		}
		if w.calibration > most.calibration && !testing.Short() { // a third of the visits says nothing of it
			t.Errorf("%s: calibration error %.3f, at most %.3f", h, w.calibration, most.calibration)
		}
	}
	if seen != len(limits) {
		t.Errorf("%d groups of %d", seen, len(limits))
	}
}

// limit is what a group is held to: shares of the healthy and of the answers above 0.8, and the calibration error.
type limit struct{ alarmed, wrong, calibration float64 }

// limits are what three samples of this size on other seeds (102 to 104, of rooftops 101, 103 and 104) came to: each share
// with one standard error, the larger of the binomial one and that between the three samples, which share machines between
// laws; the calibration error with three standard deviations of one sample (0.032, over all groups). Behind each: alarmed of
// healthy, wrong of above 0.8, mean calibration error. They are no aims: those stand on the page, and where it says that one
// is missed this holds that it is missed by no more. Eight healthy machines are drawn to one of each cause,
// so that a share wrong is above that of the page, which goes by base rates.
var limits = map[held]limit{
	{casebook.WalkIn, false, false}:       {0.11, 0.23, 0.21}, // 11 of 144, 19 of 107, 0.110
	{casebook.WalkIn, false, true}:        {0.05, 0.26, 0.20}, // 4 of 144, 23 of 130, 0.104
	{casebook.WalkIn, true, false}:        {0.04, 0.15, 0.21}, // 1 of 72, 3 of 35, 0.111
	{casebook.WalkIn, true, true}:         {0.02, 0.19, 0.18}, // 0 of 72, 7 of 54, 0.084
	{casebook.CapillaryBox, false, false}: {0.08, 0.18, 0.22}, // 7 of 144, 15 of 106, 0.116
	{casebook.CapillaryBox, false, true}:  {0.09, 0.08, 0.21}, // 7 of 144, 5 of 125, 0.114
	{casebook.CapillaryBox, true, false}:  {0.13, 0.49, 0.19}, // 6 of 72, 30 of 70, 0.091
	{casebook.CapillaryBox, true, true}:   {0.08, 0.17, 0.19}, // 3 of 72, 9 of 76, 0.089
	{casebook.Rooftop, false, false}:      {0.13, 0.28, 0.17}, // 12 of 144, 22 of 111, 0.072
	{casebook.Rooftop, false, true}:       {0.05, 0.11, 0.15}, // 4 of 144, 11 of 138, 0.055
	{casebook.Rooftop, true, false}:       {0.04, 0.32, 0.18}, // 1 of 72, 10 of 41, 0.085
	{casebook.Rooftop, true, true}:        {0.04, 0.24, 0.22}, // 1 of 72, 11 of 60, 0.120
}
