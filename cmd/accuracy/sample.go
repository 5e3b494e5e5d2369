package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

const sampleTitle = "## One visit of each cause"

// sampleLine is the first visit of a cause, with what the diagnosis makes of it.
type sampleLine struct {
	truth string
	views []sampleAnswer
}

// sampleAnswer is the first answer and the probability of the truth, in percent.
type sampleAnswer struct {
	first   string
	percent float64
}

func (l sampleLine) String() string {
	s := "| " + l.truth + " |"
	for _, a := range l.views {
		s += fmt.Sprintf(" %s | %.0f |", a.first, a.percent)
	}
	return s
}

var sampleViews = []casebook.View{{Set: 'b'}, {Set: casebook.Full, OnFile: true}}

// sampleLines judges the first visit of each cause and the first healthy one.
func (r *run) sampleLines() ([]sampleLine, error) {
	walk := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := walk.Visits(r.seed, 1, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	visits = visits[2:] // one of the three healthy ones
	out := make([]sampleLine, len(visits))
	for i := range visits {
		out[i].truth = words(visits[i].Truth())
	}
	for _, see := range sampleViews {
		answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{NoPairs: true})
		if err != nil {
			return nil, err
		}
		for i := range answers {
			truth := visits[i].Truth()
			p := answers[i].Marginal(truth)
			if truth == fault.Healthy {
				p = answers[i].PHealthy
			}
			out[i].views = append(out[i].views, sampleAnswer{strings.ReplaceAll(answers[i].Ranked[0].Name(), "_", " "), 100 * p})
		}
	}
	return out, nil
}

// sample writes what a test computes anew: whether the page is that of the program it stands beside.
func (r *run) sample() error {
	lines, err := r.sampleLines()
	if err != nil {
		return err
	}
	r.w("%s\n", sampleTitle)
	r.w(
		"The first visit of each cause, whatever its severity: the first answer, and the probability of the truth in percent. The tests of " +
			"this command compute these lines and the fingerprints above anew: they fail when the page is not of this program.\n",
	)
	r.w("| truth | set b: first | truth, %% | full, healthy visit on file: first | truth, %% |\n| --- | --- | --- | --- | --- |")
	for _, l := range lines {
		r.w("%s", l)
	}
	r.w("")
	return nil
}

// catalogueText is what of the catalogue of faults decides an answer.
func catalogueText(c *fault.Catalogue) []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b, c.HealthyRate, c.NoneRate)
	for i := range c.Faults {
		f := &c.Faults[i]
		fmt.Fprintf(&b, "%s %v %.9g %.9g %.9g\n", f.Code, f.BaseRate, f.Severity(-1), f.Severity(0), f.Severity(1))
	}
	return b.Bytes()
}

// assumptions is what the diagnosis takes for granted beside the catalogue: spreads, discrepancies, instruments, costs
// and the chances of what is seen.
func assumptions() []byte {
	var b bytes.Buffer
	b.Write(diagnose.Assumed())
	for _, n := range plant.Nuisances() {
		fmt.Fprintf(&b, "%s %v\n", n.Key, n.Sd)
	}
	for _, p := range reading.Places() {
		out, sd, ok := diagnose.Modelled(p)
		minutes, risk, offered := diagnose.Cost(p.String(), false)
		fmt.Fprintln(&b, p, out, sd, ok, minutes, risk, offered, reading.InstrumentUnknown.U(p))
	}
	for _, key := range reading.SeenKeys() {
		for _, x := range []float64{0, 0.1, 0.3, 0.6} {
			var out plant.Outputs
			out[plant.GlassQuality] = x
			for _, c := range diagnose.Chances(key, &out, plant.Change{CondenserAir: x, CoilAir: x, LowCharge: x}) {
				fmt.Fprintf(&b, "%s %v %s %.9g\n", key, x, c.Word, c.P)
			}
		}
	}
	return b.Bytes()
}
