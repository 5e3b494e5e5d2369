package main

import (
	"context"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// taught are how many machines of a house have been met healthy.
var taught = []int{0, 5, 30}

// houseSeed sets the houses apart from every other simulated visit.
const houseSeed = 7

// owners are the houses whose machines are judged.
func owners(kind casebook.Kind, n int) (out []casebook.World) {
	w := casebook.World{Kind: kind, Law: casebook.Spread, Population: casebook.Field}
	for i := range n {
		out = append(out, w.House(houseSeed+uint64(i)))
	}
	return out
}

// learning judges visits of some houses as 0, 5 and 30 of their machines have taught; with wrong, one of those was kept
// as healthy with a dirty condenser.
func (r *run) learning(of []casebook.World, healthy, per int, see casebook.View, wrong bool) (out []casebook.Score, err error) {
	row, _ := r.cat.Find(fault.CondenserAir)
	for _, n := range taught {
		if wrong && n == 0 {
			continue
		}
		var visits []casebook.Visit
		for i, w := range of {
			seed := r.seed + houseSeed + 1000*uint64(i)
			judged, err := w.VisitsAnd(seed, healthy, per, &r.cat, &r.fits)
			if err != nil {
				return nil, err
			}
			teaching, err := w.VisitsAnd(seed+500, n, 0, &r.cat, &r.fits)
			if err != nil {
				return nil, err
			}
			if wrong && n > 0 {
				ill, err := w.VisitsOf(seed+501, 1, &r.fits, 0.7, row)
				if err != nil {
					return nil, err
				}
				teaching[0] = ill[0]
			}
			casebook.Teach(teaching, see, &r.cat, judged)
			visits = append(visits, judged...)
		}
		answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{NoPairs: true})
		if err != nil {
			return nil, err
		}
		out = append(out, casebook.Rate(of[0].Kind, see, visits, answers, &r.cat))
	}
	return out, nil
}

// houses prints what machines of one house teach about each other.
func (r *run) houses() error {
	small := max(1, r.per/9)
	r.w("## Machines of one house\n")
	r.w(
		"Machines of the field's population, own physics, each house with a middle of its own (TD, split and superheat up to 1.3 " +
			"standard deviations apart, by a uniform law; machines 0.8 times as spread); *small splits*: one house whose splits are 1.5 " +
			"standard deviations below the field's, half as spread; *one wrong*: with one of those that taught met with a dirty condenser " +
			"and kept as healthy. So many other machines of the house were met healthy once, at six sites, with the same readings. No " +
			"visit to the machine itself is on file.\n",
	)
	r.w(
		"| machines | readings | taught | false alarms | none first | right first | calibration error | ln P(truth) |\n" +
			"| --- | --- | --- | --- | --- | --- | --- | --- |",
	)
	rooftops := casebook.World{Kind: casebook.Rooftop, Law: casebook.Spread, Population: casebook.Field}.SmallSplit()
	for _, c := range []struct {
		name         string
		of           []casebook.World
		healthy, per int
		see          casebook.View
		wrong        bool
	}{
		{"walk-ins", owners(casebook.WalkIn, small+2), 3 * small, 1, casebook.View{Set: 'b'}, false},
		{"rooftops", owners(casebook.Rooftop, small+2), 3 * small, 1, casebook.View{Set: 'b'}, false},
		{"rooftops, small splits", []casebook.World{rooftops}, 10 * small, (small + 1) / 2, casebook.View{Set: 'b'}, false},
		{"rooftops, small splits, one wrong", []casebook.World{rooftops}, 10 * small, (small + 1) / 2, casebook.View{Set: 'b'}, true},
	} {
		scores, err := r.learning(c.of, c.healthy, c.per, c.see, c.wrong)
		if err != nil {
			return err
		}
		for i, s := range scores {
			n := taught[len(taught)-len(scores)+i]
			r.w("| %s | %s | %d | %.1f %% of %d | %.1f %% | %s | %.3f | %.2f |", c.name, label(s.View), n,
				100*s.FalseAlarm, s.Healthy, 100*s.NoneFirst, pc(s.First), s.CalibrationError, s.LogTruth)
		}
	}
	r.w("")
	return nil
}
