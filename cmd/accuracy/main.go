// Command accuracy simulates seeded visits, runs the diagnosis and writes docs/accuracy.md with its calibration plot.
// Run it from the module's root:
//
//	go run ./cmd/accuracy          # a quarter of an hour on two cores
//	go run ./cmd/accuracy -quick   # an eighth of the visits
//
// How much better could any method do on the same readings? ceiling.py trains a general-purpose classifier on many
// simulated visits and scores it on those this command judges. Its report, ceiling.md, becomes part of
// docs/accuracy.md:
//
//	go run ./cmd/accuracy -visits train.csv -seed 2 -per-fault 20000
//	go run ./cmd/accuracy -visits test.csv
//	python3 cmd/accuracy/ceiling.py train.csv test.csv > cmd/accuracy/ceiling.md
package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"sort"
	"strings"
	"time"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

//go:embed ceiling.md
var ceiling string

func main() {
	seed := flag.Uint64("seed", 1, "seed of the simulated visits")
	per := flag.Int("per-fault", 44, "visits per cause; three times as many healthy")
	quick := flag.Bool("quick", false, "an eighth of the visits: for work on this command")
	dir := flag.String("out", "docs", "folder to write to")
	visits := flag.String("visits", "", "write the simulated visits as CSV to this file and judge nothing")
	flag.Parse()
	if *quick {
		*per = max(4, *per/8)
	}
	if err := command(*seed, *per, *dir, *visits); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

func command(seed uint64, per int, dir, visits string) error {
	r, err := newRun(seed, per)
	if err != nil {
		return err
	}
	if visits != "" {
		text, err := r.csv()
		if err != nil {
			return err
		}
		return os.WriteFile(visits, text, 0o644)
	}
	scores, err := r.write()
	if err != nil {
		return err
	}
	for _, section := range []func(func(string, ...any), uint64) error{leakSection, proofSection} {
		if err := section(r.w, seed); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "accuracy-calibration.svg"), []byte(plot(scores)), 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "accuracy.md"), []byte(r.b.String()), 0o644)
}

// run is one run of the evaluation.
type run struct {
	seed  uint64
	per   int
	cat   fault.Catalogue
	fits  casebook.Fits
	began time.Time
	b     strings.Builder
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

func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" && b.Main.Version != "(devel)" {
		return b.Main.Version
	}
	return "devel"
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
			"cause has its own PCG stream of the seed: the visits are the same on every machine (their fingerprint: %s). Do not edit.\n",
		r.seed,
		r.per,
		version(),
		fingerprint(table),
	)
	r.w(
		"These are **simulated** visits. Design values and severities come from the priors, so half the cases are mild; the simulated " +
			"machine has structural spread the inference does not know (valve band, line loss, lift, NTU, clearance, shell loss), and every " +
			"reading has measuring noise and model discrepancy. They say what readings can tell if machines behave like the model. Field accuracy " +
			"is unknown.\n",
	)
	r.w(
		"Words of the tables. *Right first*, *in the first two*: physical faults of above-median severity, every cause equally often. A " +
			"restriction after the glass and an underfeeding valve count as one cause: no circuit reading separates them. *False alarm*: a healthy " +
			"visit with P(healthy) < 0.1; *alarm*: a fault of above-median severity with it. *Sure*: answers above 0.9, and how many of them are " +
			"right. *Calibration error*: mean distance between stated and observed over ten bins, those from 0.1 up only, because the many near " +
			"zero would flatter it. Sure answers, calibration and *ln P(truth)* (mean log of the probability given to the truth, nats; 0 is " +
			"perfect) are reweighted to the base rates. *On file*: a healthy visit to the same machine, read with the same set; its design values " +
			"and 70 %% of its readings' discrepancies are the same, with a drift of 0.2 standard deviations.\n",
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
	r.targets(byName, different)
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
	for _, part := range []func() error{r.others, r.pairs, r.instruments, r.worth, r.prototype} {
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

func label(see casebook.View) string {
	if see.Set != casebook.Full {
		return "set " + name(see)
	}
	return name(see)
}

func (r *run) header() {
	r.w(
		"| readings | right first | in the first two | right first, mild ones included | false alarms | alarms | sure: share, right | " +
			"calibration error | severity in its 90 %% interval | ln P(truth) | states solved |\n| --- | --- | --- | --- | --- | --- | --- | --- | " +
			"--- | --- | --- |",
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

// targets holds the figures against what was asked for.
func (r *run) targets(same map[string]casebook.Score, different []casebook.Score) {
	full, b := same[name(casebook.View{Set: casebook.Full, OnFile: true})], same["b"]
	r.w("## What was asked for\n")
	r.w("| figure | asked | reached | |\n| --- | --- | --- | --- |")
	line := func(text string, v, want float64, least bool, format func(float64) string) {
		sign, word := "at most ", "missed"
		if least {
			sign = "at least "
		}
		if least && v >= want || !least && v <= want {
			word = "reached"
		}
		r.w("| %s | %s%s | %s | %s |", text, sign, format(want), format(v), word)
	}
	three := func(v float64) string { return fmt.Sprintf("%.3f", v) }
	one := func(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }
	line("full readings, healthy visit on file: right first", full.First, 0.85, true, one)
	line("full readings, healthy visit on file: in the first two", full.FirstTwo, 0.97, true, one)
	line("set b, nothing on file: right first", b.First, 0.62, true, one)
	line("set b, nothing on file: in the first two", b.FirstTwo, 0.82, true, one)
	b = same[name(casebook.View{Set: 'b', OnFile: true})]
	line("set b, healthy visit on file: right first", b.First, 0.62, true, one)
	line("set b, healthy visit on file: in the first two", b.FirstTwo, 0.82, true, one)
	worst := func(f func(casebook.Score) float64, list []casebook.Score) float64 {
		v := math.Inf(-1)
		for _, s := range list {
			v = math.Max(v, f(s))
		}
		return v
	}
	var all []casebook.Score
	for _, s := range same {
		all = append(all, s)
	}
	line("false alarms, worst set", worst(func(s casebook.Score) float64 { return s.FalseAlarm }, all), 0.03, false, one)
	line("calibration error, worst set", worst(func(s casebook.Score) float64 { return s.CalibrationError }, all), 0.05, false, three)
	line(
		"calibration error, other laws, worst set",
		worst(func(s casebook.Score) float64 { return s.CalibrationError }, different),
		0.08,
		false,
		three,
	)
	line("answers above 0.9 right, worst set", -worst(func(s casebook.Score) float64 { return -s.SureRight }, all), 0.95, true, one)
	line(
		"answers above 0.9 right, other laws, worst set",
		-worst(func(s casebook.Score) float64 { return -s.SureRight }, different),
		0.95,
		true,
		one,
	)
	r.w("")
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

// worth says what each reading is worth, added to set b and taken from the full set.
func (r *run) worth() error {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, max(2, r.per/8), &r.cat, &r.fits)
	if err != nil {
		return err
	}
	base := map[byte]casebook.Score{}
	for _, set := range []byte{'b', casebook.Full} {
		if base[set], err = r.score(w, casebook.View{Set: set}, visits, diagnose.Options{NoPairs: true}); err != nil {
			return err
		}
	}
	r.w("## What each reading is worth\n")
	r.w(
		"Change of ln P(truth), in hundredths of a nat, and of faults right first, in points, over the same %d visits (one visit, nothing on "+
			"file). The drier drop needs both its ends; they are counted together.\n",
		base['b'].N,
	)
	r.w("| reading | added to set b: ln P, first | taken from the full set: ln P, first |\n| --- | --- | --- |")
	small := map[string]bool{}
	for _, p := range (casebook.View{Set: 'b'}).Readings() {
		small[p] = true
	}
	type line struct {
		text  string
		worth float64
	}
	var lines []line
	for _, p := range (casebook.View{Set: casebook.Full}).Readings() {
		if p == reading.BoxAir.String() || p == reading.DrierIn.String() {
			continue
		}
		these, text := []string{p}, strings.ReplaceAll(p, "_", " ")
		if p == reading.DrierOut.String() {
			these, text = []string{reading.DrierIn.String(), p}, "drier drop"
		}
		added, most := "–", 0.0
		if !small[p] {
			s, err := r.score(w, casebook.View{Set: 'b', With: these}, visits, diagnose.Options{NoPairs: true})
			if err != nil {
				return err
			}
			most = s.LogTruth - base['b'].LogTruth
			added = fmt.Sprintf("%+.1f, %+.0f", 100*most, 100*(s.First-base['b'].First))
		}
		s, err := r.score(w, casebook.View{Set: casebook.Full, Drop: these}, visits, diagnose.Options{NoPairs: true})
		if err != nil {
			return err
		}
		lost := s.LogTruth - base[casebook.Full].LogTruth
		lines = append(
			lines,
			line{
				fmt.Sprintf("| %s | %s | %+.1f, %+.0f |", text, added, 100*lost, 100*(s.First-base[casebook.Full].First)),
				math.Max(most, -lost),
			},
		)
	}
	sort.SliceStable(lines, func(i, j int) bool { return lines[i].worth > lines[j].worth })
	for _, l := range lines {
		r.w("%s", l.text)
	}
	r.w("")
	return nil
}

// prototype compares with the design paper's prototype on its own base rates.
func (r *run) prototype() error {
	like, err := prototypeCatalogue()
	if err != nil {
		return err
	}
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, max(2, r.per/2), &like, &r.fits)
	if err != nil {
		return err
	}
	r.w("## Against the design paper's prototype\n")
	r.w(
		"The shipped base rates are not the prototype's: rare causes are rarer, and visits here draw every cause equally often, which costs "+
			"first places. With the prototype's base rates and causes, %d visits:\n",
		len(visits),
	)
	r.w(
		"| readings | right first | in the first two | false alarms | the prototype, on visits of its own model |\n| --- | --- | --- | --- | " +
			"--- |",
	)
	for _, set := range []byte("bd") {
		s, err := r.score(w, casebook.View{Set: set}, visits, diagnose.Options{NoPairs: true, Catalogue: &like})
		if err != nil {
			return err
		}
		p := reference[set]
		r.w(
			"| %s | %s | %s | %.1f %% | %s, %s, %.1f %% |",
			label(s.View),
			pc(s.First),
			pc(s.FirstTwo),
			100*s.FalseAlarm,
			pc(p[0]),
			pc(p[1]),
			100*p[2],
		)
	}
	r.w("")
	return nil
}

// Figures of the design paper's prototype, section 7: right first, in the first two (physical faults of above-median
// severity), false alarms.
var reference = map[byte][3]float64{'b': {0.586, 0.787, 0.030}, 'd': {0.795, 0.912, 0.038}}

func fingerprint(table []byte) string { return fmt.Sprintf("%x", sha256.Sum256(table))[:12] }

// csv is the walk-in visits with their truth and its base rate, today's readings and, after "was_", those of the
// healthy visit before; pressures as dew temperatures, K.
func (r *run) csv() ([]byte, error) {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, r.per, &r.cat, &r.fits)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	for i := range visits {
		v := &visits[i]
		s := v.Sheet(casebook.View{Set: casebook.Full, OnFile: true})
		sheets := []reading.Sheet{s, s.HealthyVisits[0]}
		if i == 0 {
			b.WriteString("truth,severe,rate,refrigerant")
			for k, s := range sheets {
				was := []string{"", "was_"}[k]
				for _, x := range s.Readings {
					b.WriteString("," + was + x.At.String())
				}
				b.WriteString("," + was + "glass," + was + "condenser_dirt," + was + "coil_ice")
			}
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "%s,%v,%.6f,%s", v.Truth(), v.Severe(), casebook.BaseRate(&r.cat, w.Kind, v.Truth()), s.Machine.Refrigerant)
		for _, s := range sheets {
			for _, x := range s.Readings {
				y := x.Value
				if x.At.Kind() == reading.KindPressure {
					y = v.Fit.DewP(y)
				}
				fmt.Fprintf(&b, ",%.3f", y)
			}
			fmt.Fprintf(&b, ",%s,%s,%s", s.Seen.Glass, s.Seen.CondenserDirt, s.Seen.CoilIce)
		}
		b.WriteString("\n")
	}
	return b.Bytes(), nil
}

func words(c fault.Code) string { return strings.ReplaceAll(c.String(), "_", " ") }

// prototypeCatalogue is the shipped catalogue with the causes and base rates of the design paper's section 2.4, for comparison only.
func prototypeCatalogue() (fault.Catalogue, error) {
	c, err := fault.Shipped()
	if err != nil {
		return c, err
	}
	rates := map[fault.Code]float64{
		fault.LowCharge:              0.20,
		fault.OverCharge:             0.04,
		fault.CondenserAir:           0.13,
		fault.CondenserRecirculation: 0.03,
		fault.CoilAir:                0.14,
		fault.RestrictionBeforeGlass: 0.05,
		fault.ValveUnderfeeding:      0.07,
		fault.ValveOverfeeding:       0.04,
		fault.CompressorValves:       0.05,
		fault.Noncondensables:        0.02,
		fault.SuctionRestriction:     0.02,
		fault.BoxThermometer:         0.02,
		fault.SuctionGauge:           0.02,
		fault.DischargeGauge:         0.02,
	}
	var keep []fault.Fault
	for _, f := range c.Faults {
		if r, ok := rates[f.Code]; ok {
			f.BaseRate = r
			keep = append(keep, f)
		}
	}
	c.Faults, c.NoneRate = keep, 0.001
	return c, nil
}

func pc(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }

func confusion(w func(string, ...any), s casebook.Score) {
	truths := append([]fault.Code{fault.Healthy}, casebook.Truths(casebook.WalkIn)...)
	cols := map[fault.Code]bool{}
	for _, row := range s.Confusion {
		for c := range row {
			cols[c] = true
		}
	}
	var order []fault.Code
	for c := range cols {
		order = append(order, c)
	}
	sort.Slice(order, func(i, j int) bool { return order[i] < order[j] })
	head, rule := "| truth | n |", "| --- | --- |"
	for _, c := range order {
		head += " " + strings.ReplaceAll(c.String(), "_", " ") + " |"
		rule += " --- |"
	}
	w("%s\n%s", head, rule)
	for _, t := range truths {
		n := 0
		for _, k := range s.Confusion[t] {
			n += k
		}
		line := fmt.Sprintf("| %s | %d |", strings.ReplaceAll(t.String(), "_", " "), n)
		for _, c := range order {
			cell := "."
			if k := s.Confusion[t][c]; k > 0 {
				cell = fmt.Sprintf("%d", (200*k+n)/(2*n))
				if c == t {
					cell = "**" + cell + "**"
				}
			}
			line += " " + cell + " |"
		}
		w("%s", line)
	}
	w("\nRows in percent.")
}

func nexts(s casebook.Score) string {
	type kv struct {
		k string
		v int
	}
	var list []kv
	for k, v := range s.Next {
		list = append(list, kv{k, v})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].v > list[j].v || list[i].v == list[j].v && list[i].k < list[j].k })
	var out []string
	for i, e := range list {
		if i < 6 {
			out = append(out, fmt.Sprintf("%s %.0f %%", strings.ReplaceAll(e.k, "_", " "), 100*float64(e.v)/float64(s.N)))
		}
	}
	return strings.Join(out, ", ")
}

// plot draws stated against observed with one mark shape per set.
func plot(scores []casebook.Score) string {
	var b strings.Builder
	const size, left, top = 360.0, 60.0, 20.0
	x := func(v float64) float64 { return left + size*v }
	y := func(v float64) float64 { return top + size*(1-v) }
	fmt.Fprintf(
		&b,
		"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 460 450\" font-family=\"sans-serif\" font-size=\"14\" "+
			"role=\"img\"><title>Calibration</title><desc>Stated probability against observed frequency for reading sets a, b and d without, and "+
			"the full one (f) with a healthy visit on file; the diagonal is perfect.</desc><rect width=\"460\" height=\"450\" fill=\"#fff\"/>\n",
	)
	for k := 0; k <= 10; k += 2 {
		v := float64(k) / 10
		fmt.Fprintf(
			&b,
			"<path d=\"M%.1f %.1fV%.1fM%.1f %.1fH%.1f\" stroke=\"#cbd5d3\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.1f</text><text "+
				"x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%.1f</text>\n",
			x(v),
			y(0),
			y(1),
			x(0),
			y(v),
			x(1),
			x(v),
			y(0)+18,
			v,
			x(0)-6,
			y(v)+5,
			v,
		)
	}
	fmt.Fprintf(&b, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#0d181e\" stroke-dasharray=\"5 4\"/>\n", x(0), y(0), x(1), y(1))
	for _, s := range scores {
		var last [2]float64
		for k, bin := range s.Bins {
			px, py := x(bin.Stated), y(bin.Observed)
			if k > 0 {
				fmt.Fprintf(
					&b,
					"<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#064b54\" stroke-width=\"1\" opacity=\"0.5\"/>\n",
					last[0],
					last[1],
					px,
					py,
				)
			}
			last = [2]float64{px, py}
			fmt.Fprintf(
				&b,
				"<circle cx=\"%.1f\" cy=\"%.1f\" r=\"9\" fill=\"#fff\" stroke=\"#064b54\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" "+
					"font-size=\"12\">%c</text>\n",
				px,
				py,
				px,
				py+4,
				s.View.Set,
			)
		}
	}
	fmt.Fprintf(
		&b,
		"<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">stated probability</text><text x=\"16\" y=\"%.1f\" text-anchor=\"middle\" "+
			"transform=\"rotate(-90 16 %.1f)\">observed frequency</text></svg>\n",
		x(0.5),
		y(0)+40,
		y(0.5),
		y(0.5),
	)
	return b.String()
}
