package main

import (
	"context"
	"fmt"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

var twoFaults = [][2]fault.Code{
	{fault.LowCharge, fault.CondenserAir},
	{fault.LowCharge, fault.CoilAir},
	{fault.CondenserAir, fault.CoilAir},
	{fault.LowCharge, fault.RestrictionBeforeGlass},
	{fault.CondenserAir, fault.CompressorValves},
	{fault.LowCharge, fault.ValveUnderfeeding},
	{fault.CoilAir, fault.ValveOverfeeding},
	{fault.CondenserAir, fault.ValveUnderfeeding},
}

// pairs judges visits with two faults, and single ones with pairs tried.
func (r *run) pairs() error {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	n := max(2, r.per/5)
	r.w("## Two faults at once\n")
	r.w(
		"Walk-ins with two faults, neither far below its median (−0.35 standard deviations), %d visits a row; pairs tried as in the product.\n",
		n,
	)
	r.w(
		"| truth | readings | this very pair first | among the first three | both are the two highest | one of them highest | mean " +
			"probability of each |\n| --- | --- | --- | --- | --- | --- | --- |",
	)
	for _, pair := range twoFaults {
		a, _ := r.cat.Find(pair[0])
		b, _ := r.cat.Find(pair[1])
		visits, err := w.VisitsOf(r.seed, n, &r.fits, -0.35, a, b)
		if err != nil {
			return err
		}
		for _, see := range []casebook.View{{Set: 'b'}, {Set: casebook.Full}} {
			answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{})
			if err != nil {
				return err
			}
			s := casebook.RatePairs(visits, answers)
			r.w(
				"| %s + %s | %s | %s | %s | %s | %s | %.2f, %.2f |",
				words(s.A),
				words(s.B),
				label(see),
				pc(s.Exact),
				pc(s.TopThree),
				pc(s.Both),
				pc(s.Either),
				s.Marginals[0],
				s.Marginals[1],
			)
		}
	}
	r.say("pairs")
	r.w("\nWhat trying pairs costs where there is only one cause:\n")
	visits, err := w.Visits(r.seed, max(2, r.per/4), &r.cat, &r.fits)
	if err != nil {
		return err
	}
	r.header()
	see := casebook.View{Set: 'd'}
	for _, o := range []diagnose.Options{{NoPairs: true}, {}} {
		s, err := r.score(w, see, visits, o)
		if err != nil {
			return err
		}
		text := "set d, single causes only"
		if !o.NoPairs {
			text = "set d, pairs tried"
		}
		r.row(fmt.Sprintf("%s (%d visits)", text, s.N), s)
	}
	r.w("")
	return nil
}

// instruments judges visits where an instrument lies, alone and beside a fault.
func (r *run) instruments() error {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	n := max(3, r.per/3)
	r.w("## Instruments that lie\n")
	r.w(
		"Errors of one standard deviation of their prior and more (3 K, 4 psi, 12 psi), beside a fault of half of that and more, the fault "+
			"half a standard deviation above its median and more; %d visits a row, pairs tried as in the product. *Misled*: a fault of the circuit "+
			"that is not there is given more than one half.\n",
		n,
	)
	r.w(
		"| truth | readings | instrument first | first or second | a true fault of the circuit first | misled | mean probability of the " +
			"instrument |\n| --- | --- | --- | --- | --- | --- | --- |",
	)
	type row struct {
		faults []fault.Code
		see    []casebook.View
	}
	full, second := casebook.View{Set: casebook.Full}, casebook.View{Set: casebook.Full, Second: true}
	file := casebook.View{Set: casebook.Full, OnFile: true}
	rows := []row{
		{[]fault.Code{fault.BoxThermometer}, []casebook.View{full, second}},
		{[]fault.Code{fault.SuctionGauge}, []casebook.View{full, file}},
		{[]fault.Code{fault.DischargeGauge}, []casebook.View{full, file}},
		{[]fault.Code{fault.BoxThermometer, fault.LowCharge}, []casebook.View{second}},
		{[]fault.Code{fault.BoxThermometer, fault.CoilAir}, []casebook.View{second}},
		{[]fault.Code{fault.SuctionGauge, fault.CoilAir}, []casebook.View{full}},
		{[]fault.Code{fault.SuctionGauge, fault.LowCharge}, []casebook.View{full}},
		{[]fault.Code{fault.DischargeGauge, fault.CondenserAir}, []casebook.View{full}},
		{[]fault.Code{fault.DischargeGauge, fault.LowCharge}, []casebook.View{full}},
	}
	for _, row := range rows {
		var list []*fault.Fault
		var text []string
		for _, c := range row.faults {
			f, _ := r.cat.Find(c)
			list = append(list, f)
			text = append(text, words(c))
		}
		least := 1.0
		if len(list) == 2 {
			least = 0.5
		}
		visits, err := w.VisitsOf(r.seed, n, &r.fits, least, list...)
		if err != nil {
			return err
		}
		for _, see := range row.see {
			answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{})
			if err != nil {
				return err
			}
			s := casebook.RateInstrument(visits, answers)
			circuit := "–"
			if len(list) == 2 {
				circuit = pc(s.CircuitFirst)
			}
			r.w(
				"| %s | %s | %s | %s | %s | %s | %.2f |",
				strings.Join(text, " + "),
				label(see),
				pc(s.First),
				pc(s.FirstTwo),
				circuit,
				pc(s.Misled),
				s.Probability,
			)
		}
	}
	r.say("instruments")
	r.w("")
	return nil
}
