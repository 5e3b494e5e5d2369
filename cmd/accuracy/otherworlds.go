package main

import (
	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
)

// different judges visits to machines that obey other laws.
func (r *run) different() ([]casebook.Score, error) {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Different}
	visits, err := w.Visits(r.seed, (r.per+1)/2, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	var out []casebook.Score
	for _, see := range []casebook.View{{Set: 'b'}, {Set: casebook.Full}, {Set: 'b', OnFile: true}, {Set: casebook.Full, OnFile: true}} {
		s, err := r.score(w, see, visits, diagnose.Options{NoPairs: true})
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	r.w("## A machine that obeys other laws\n")
	r.w(
		"The same walk-ins, with superheat, desuperheat and subcool conductances of 0.20, 0.55 and 0.80 of the two-phase zone (the "+
			"diagnosis: 0.30, 0.40, 0.60), air-side exponents of −0.30 (−0.45), volumes 25 %% smaller to 45 %% larger, another volumetric law, and "+
			"other laws of fouling, ice, valves, leaking compressor valves and gas; %d visits, %d physical faults of above-median severity.\n",
		out[0].N,
		out[0].Physical,
	)
	r.header()
	for _, s := range out {
		r.row(label(s.View), s)
	}
	r.w("")
	return out, nil
}

// others judges the other kinds of machines.
func (r *run) others() error {
	r.w("## Other machines\n")
	n := max(2, r.per/4)
	r.w(
		"Per kind %d visits of each cause and three times as many healthy ones; machines with head control are met at 0 to 100 °F outside "+
			"and can have it stuck.\n",
		n,
	)
	r.w(
		"| machine | readings | right first | in the first two | false alarms | sure: share, right | calibration error | severity in its 90 " +
			"%% interval | ln P(truth) |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
	)
	for _, k := range casebook.Kinds() {
		if k == casebook.WalkIn {
			continue
		}
		w := casebook.World{Kind: k, Law: casebook.Spread}
		visits, err := w.Visits(r.seed, n, &r.cat, &r.fits)
		if err != nil {
			return err
		}
		for _, see := range []casebook.View{{Set: 'b'}, {Set: casebook.Full, OnFile: true}} {
			s, err := r.score(w, see, visits, diagnose.Options{NoPairs: true})
			if err != nil {
				return err
			}
			r.w(
				"| %s | %s | %s | %s | %.1f %% | %s, %s | %.3f | %s | %.2f |",
				k,
				label(see),
				pc(s.First),
				pc(s.FirstTwo),
				100*s.FalseAlarm,
				pc(s.SureShare),
				pc(s.SureRight),
				s.CalibrationError,
				pc(s.Coverage),
				s.LogTruth,
			)
		}
	}
	r.w("")
	return nil
}
