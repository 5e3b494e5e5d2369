package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// run is one run of the evaluation.
type run struct {
	seed  uint64
	per   int
	cat   fault.Catalogue
	fits  casebook.Fits
	began time.Time

	measuredDir string // a folder of measured readings, empty: none
	// measuredMachines are its rows, by machine and fault.
	measuredMachines [][]map[string]string
	b                strings.Builder
}

func newRun(seed uint64, per int) (*run, error) {
	cat, err := fault.Shipped()
	return &run{seed: seed, per: per, cat: cat, began: time.Now()}, err
}

func (r *run) w(format string, args ...any) { fmt.Fprintf(&r.b, format+"\n", args...) }

// say tells the person waiting how far it is.
func (r *run) say(format string, args ...any) {
	fmt.Fprintf(os.Stderr, "%5.0f s  %s\n", time.Since(r.began).Seconds(), fmt.Sprintf(format, args...))
}

// score judges visits of a world.
func (r *run) score(w casebook.World, see casebook.View, visits []casebook.Visit, o diagnose.Options) (casebook.Score, error) {
	cat := &r.cat
	if o.Catalogue != nil {
		cat = o.Catalogue
	}
	answers, err := casebook.Judge(context.Background(), visits, see, o)
	if err != nil {
		return casebook.Score{}, err
	}
	s := casebook.Rate(w.Kind, see, visits, answers, cat)
	r.say(
		"%s, %s: first %.3f, first two %.3f, false alarms %.3f, calibration error %.3f",
		w.Kind,
		name(see),
		s.First,
		s.FirstTwo,
		s.FalseAlarm,
		s.CalibrationError,
	)
	return s, nil
}

// write runs everything and returns the document and the scores to plot.
func (r *run) write() ([]casebook.Score, error) {
	table, err := r.csv()
	if err != nil {
		return nil, err
	}
	r.w("# How often the diagnosis is right\n")
	r.w(
		"Written by `go run ./cmd/accuracy -seed %d -per-fault %d`, program %s, base rates and priors of the shipped catalogue. Visit k of a "+
			"cause has its own PCG stream of the seed: the visits are the same on every machine. Fingerprints: visits %s, catalogue %s, what the "+
			"diagnosis assumes %s. Do not edit.\n",
		r.seed,
		r.per,
		version(),
		fingerprint(table),
		fingerprint(catalogueText(&r.cat)),
		fingerprint(assumptions()),
	)
	r.w(
		"These are **simulated** visits. Design values come from populations of the examiner's own, severities from the catalogue, so half " +
			"the cases are mild; the simulated machine has structural spread the inference does not know (valve band, line loss, lift, NTU, " +
			"clearance, shell loss), and every reading has measuring noise and model discrepancy. They say what readings can tell if machines " +
			"behave like the model; where they do not, see *Machines the diagnosis was not made for*. Field accuracy is unknown.\n",
	)
	r.w(
		"Words of the tables. *Right first*, *in the first two*: physical faults of above-median severity, every cause equally often. A " +
			"restriction after the glass and an underfeeding valve count as one cause: no circuit reading separates them. *False alarm*: a " +
			"healthy visit with P(healthy) < 0.1; *alarm*: a fault of above-median severity with it. *Sure*: answers above 0.9, and how many of " +
			"them are right. *Calibration error*: mean distance between stated and observed over ten bins, those from 0.1 up only, because the " +
			"many near zero would flatter it. Sure answers, calibration and *ln P(truth)* (mean log of the probability given to the truth, " +
			"nats; 0 is perfect) are reweighted to the base rates. *On file*: a healthy visit to the same machine, read with the same set; " +
			"its design values and 70 %% of its readings' discrepancies are the same, with a drift of 0.2 standard deviations.\n",
	)
	walk := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := walk.Visits(r.seed, r.per, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	single := diagnose.Options{NoPairs: true}
	var scores []casebook.Score
	byName := map[string]casebook.Score{}
	for _, see := range []casebook.View{
		{Set: 'a'},
		{Set: 'b'},
		{Set: 'c'},
		{Set: 'd'},
		{Set: casebook.Full},
		{Set: 'b', OnFile: true},
		{Set: 'd', OnFile: true},
		{Set: casebook.Full, OnFile: true},
	} {
		s, err := r.score(walk, see, visits, single)
		if err != nil {
			return nil, err
		}
		scores = append(scores, s)
		byName[name(see)] = s
	}
	r.w("## Walk-ins\n")
	r.w(
		"Freezers with R-404A (60 %%) and coolers with R-134a, receiver, valve, no head control; single causes; %d visits, %d of them "+
			"physical faults of above-median severity (standard error of a share about %.0f points).\n",
		scores[0].N,
		scores[0].Physical,
		100*0.5/math.Sqrt(float64(scores[0].Physical)),
	)
	r.header()
	for _, s := range scores {
		r.row(label(s.View), s)
	}
	r.w(
		"\nThe sets: %s.\n",
		strings.Join(
			[]string{"a " + setText['a'], "b " + setText['b'], "c " + setText['c'], "d " + setText['d'], "full " + setText[casebook.Full]},
			"; ",
		),
	)
	different, err := r.different()
	if err != nil {
		return nil, err
	}
	elsewhere, err := r.examiner()
	if err != nil {
		return nil, err
	}
	if err := r.houses(); err != nil {
		return nil, err
	}
	if err := r.measured(); err != nil {
		return nil, err
	}
	if err := r.inPlant(); err != nil {
		return nil, err
	}
	r.aims(byName, different, elsewhere)
	r.w("## The best any method can do on these readings\n")
	r.w(
		"A general-purpose classifier, trained on many simulated visits of the same machines, hidden spread included, knows what these " +
			"readings can tell and nothing else. Where it is no better, what is missing is missing from the readings.\n",
	)
	r.w("%s", strings.TrimSpace(ceiling))
	if !strings.Contains(ceiling, fingerprint(table)) {
		r.w("\nThis table was made on other visits than those above.")
	}
	r.w("")
	if err := r.worldCeilings(elsewhere); err != nil {
		return nil, err
	}
	for _, part := range []func() error{r.others, r.pairs, r.instruments, r.worth, r.sample} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	r.w("## Calibration\n")
	r.w("Stated probability against observed frequency, reweighted to the base rates; the number of stated probabilities in brackets.\n")
	r.w("![Stated against observed](accuracy-calibration.svg)\n")
	r.w("| set | stated → observed |\n| --- | --- |")
	for _, s := range append(scores, different...) {
		var cells []string
		for _, bin := range s.Bins {
			cells = append(cells, fmt.Sprintf("%.2f → %.2f (%d)", bin.Stated, bin.Observed, bin.N))
		}
		text := label(s.View)
		if s.N != scores[0].N {
			text = "other laws, " + text
		}
		r.w("| %s | %s |", text, strings.Join(cells, "; "))
	}
	for _, key := range []string{"a", "b", "full", name(casebook.View{Set: casebook.Full, OnFile: true})} {
		s := byName[key]
		r.w("\n## %s: truth against first answer\n", strings.ToUpper(label(s.View)[:1])+label(s.View)[1:])
		confusion(r.w, s)
		r.w("\nFirst suggested next reading: %s.", nexts(s))
	}
	r.say("done")
	plotted := []casebook.Score{byName["a"], byName["b"], byName["d"], byName[name(casebook.View{Set: casebook.Full, OnFile: true})]}
	return plotted, nil
}

func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" && b.Main.Version != "(devel)" {
		return b.Main.Version
	}
	return "devel"
}

func label(see casebook.View) string {
	if see.Set != casebook.Full {
		return "set " + name(see)
	}
	return name(see)
}

func name(see casebook.View) string {
	s := string(see.Set)
	if see.Set == casebook.Full {
		s = "full"
	}
	if see.OnFile {
		s += ", healthy visit on file"
	}
	if see.Second {
		s += ", second thermometer"
	}
	return s
}

var setText = map[byte]string{
	'a':           "suction, discharge, glass (with box and ambient)",
	'b':           "a + coil outlet, liquid line",
	'c':           "b + discharge line, air off the coil",
	'd':           "c + condenser air off, drier drop, suction line, amps, dirt and ice seen",
	casebook.Full: "d + air at the condenser face, standing pressure, power",
}

func (r *run) header() {
	r.w(
		"| readings | right first | in the first two | right first, mild ones included | false alarms | alarms | sure: share, right | " +
			"calibration error | severity in its 90 %% interval | ln P(truth) | states solved |\n" +
			"| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
	)
}

func (r *run) row(text string, s casebook.Score) {
	r.w(
		"| %s | %s | %s | %s | %.1f %% | %s | %s, %s | %.3f | %s | %.2f | %.0f |",
		text,
		pc(s.First),
		pc(s.FirstTwo),
		pc(s.FirstAll),
		100*s.FalseAlarm,
		pc(s.Detected),
		pc(s.SureShare),
		pc(s.SureRight),
		s.CalibrationError,
		pc(s.Coverage),
		s.LogTruth,
		s.SolvesMean,
	)
}
