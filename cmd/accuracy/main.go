// Command accuracy simulates seeded visits, runs the diagnosis and writes docs/accuracy.md with its calibration plot. Run it from the module's root:
//
//	go run ./cmd/accuracy
//
// How much better could any method do on the same readings? ceiling.py trains a general-purpose classifier on many simulated visits and scores it on
// those this command judges:
//
//	go run ./cmd/accuracy -visits train.csv -seed 2 -per-fault 20000
//	go run ./cmd/accuracy -visits test.csv
//	python3 cmd/accuracy/ceiling.py train.csv test.csv
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"time"

	"coldwright/diagnose"
	"coldwright/fault"
	"coldwright/reading"
)

func main() {
	seed := flag.Uint64("seed", 1, "seed of the simulated visits")
	per := flag.Int("per-fault", 44, "visits per fault; three times as many healthy")
	dir := flag.String("out", "docs", "folder to write to")
	visits := flag.String("visits", "", "write the simulated visits as CSV to this file and judge nothing")
	flag.Parse()
	if *visits != "" {
		if err := writeVisits(*seed, *per, *visits); err != nil {
			fmt.Fprintln(os.Stderr, "accuracy:", err)
			os.Exit(1)
		}
		return
	}
	if err := run(*seed, *per, *dir); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

// Figures of the design paper's prototype, set by set: right first, in the first two (physical faults of above-median severity), false alarms.
var reference = map[byte][3]float64{'a': {0.28, 0.53, 0.045}, 'b': {0.59, 0.79, 0.030}, 'c': {0.63, 0.82, 0.038}, 'd': {0.80, 0.91, 0.038}}

var setText = map[byte]string{
	'a': "suction, discharge, glass (with box and ambient)", 'b': "a + coil outlet, liquid line", 'c': "b + discharge line, air off the coil",
	'd': "c + condenser air off, drier drop, suction line, amps, dirt and ice seen",
}

func run(seed uint64, per int, dir string) error {
	began := time.Now()
	scores, err := diagnose.Evaluate(context.Background(), seed, per, "abcd", diagnose.Options{NoPairs: true})
	if err != nil {
		return err
	}
	single := time.Since(began)
	like, err := prototypeCatalogue()
	if err != nil {
		return err
	}
	compared, err := diagnose.Evaluate(context.Background(), seed, per, "abcd", diagnose.Options{NoPairs: true, Catalogue: &like})
	if err != nil {
		return err
	}
	paired, err := diagnose.Evaluate(context.Background(), seed, per/2, "d", diagnose.Options{})
	if err != nil {
		return err
	}
	var b strings.Builder
	w := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	w("# How often the diagnosis is right\n")
	w("Written by `go run ./cmd/accuracy -seed %d -per-fault %d`. Do not edit.\n", seed, per)
	w("These are **simulated** visits: walk-in freezers with R-404A (60 %%) and coolers with R-134a, receiver, valve. Design values and severities come from the priors, so half the cases are mild; the simulated machine has structural spread the inference does not know (valve band, line loss, lift, NTU, clearance, shell loss), and every reading has measuring noise and model discrepancy. They say what readings can tell if machines behave like the model. Field accuracy is unknown.\n")
	w("A restriction after the glass and an underfeeding valve count as one cause: no circuit reading separates them. \"Alarm\" is P(healthy) < 0.1. Single causes; %d visits.\n", scores[0].N)
	w("| reading set | right first | in the first two | right first, mild ones included | false alarms on healthy | faults with alarm | answers above 0.9: share, right | calibration error | severity in its 90 %% interval |")
	w("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for _, s := range scores {
		w("| %c: %s | %s | %s | %s | %s | %s | %s, %s | %.3f | %s |", s.Set, setText[s.Set], pc(s.First), pc(s.FirstTwo), pc(s.FirstAll), pc(s.FalseAlarm), pc(s.Detected), pc(s.SureShare), pc(s.SureRight), s.CalibrationError, pc(s.Coverage))
	}
	s := paired[0]
	w("| d, with pairs tried as in the product (%d visits) | %s | %s | %s | %s | %s | %s, %s | %.3f | %s |", s.N, pc(s.First), pc(s.FirstTwo), pc(s.FirstAll), pc(s.FalseAlarm), pc(s.Detected), pc(s.SureShare), pc(s.SureRight), s.CalibrationError, pc(s.Coverage))
	w("\nFirst columns: physical faults of above-median severity (%d visits a set; standard error about %.0f points).\n", scores[0].Physical, 100*0.5/math.Sqrt(float64(scores[0].Physical)))
	w("## Against the design paper's prototype\n")
	w("The shipped base rates are not the prototype's: rare causes are rarer, and visits here draw every cause equally often, which costs first places. With the prototype's base rates and causes, the same visits give:\n")
	w("| reading set | right first | in the first two | false alarms |\n| --- | --- | --- | --- |")
	for _, s := range compared {
		w("| %c | %s | %s | %.1f %% |", s.Set, pc(s.First), pc(s.FirstTwo), 100*s.FalseAlarm)
	}
	w("\nThe prototype, on visits of its own model: a 28 / 53 %%, false alarms 4.5 %%; b 59 / 79 %%, 3.0 %%; c 63 / 82 %%, 3.8 %%; d 80 / 91 %%, 3.8 %%.\n")
	w("## Calibration\n")
	w("Stated probability against observed frequency, reweighted to the base rates. The calibration error above leaves out the many probabilities below 0.1, which would flatter it.\n")
	w("![Stated against observed](accuracy-calibration.svg)\n")
	w("| set | %s |", "stated → observed (number)")
	w("| --- | --- |")
	for _, s := range scores {
		var cells []string
		for _, bin := range s.Bins {
			cells = append(cells, fmt.Sprintf("%.2f → %.2f (%d)", bin.Stated, bin.Observed, bin.N))
		}
		w("| %c | %s |", s.Set, strings.Join(cells, "; "))
	}
	for _, s := range scores {
		w("\n## Set %c: truth against first answer\n", s.Set)
		confusion(w, s)
		w("\nFirst suggested next reading: %s.", nexts(s))
	}
	if err := leakSection(w, seed); err != nil {
		return err
	}
	if err := trialSection(w, seed); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "accuracy-calibration.svg"), []byte(plot(scores)), 0o644); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "accuracy.md"), []byte(b.String()), 0o644); err != nil {
		return err
	}
	for _, s := range compared {
		r := reference[s.Set]
		fmt.Printf("prototype's rates %c: first %.3f (prototype %.2f), first two %.3f (%.2f), false alarms %.3f (%.3f)\n", s.Set, s.First, r[0], s.FirstTwo, r[1], s.FalseAlarm, r[2])
	}
	for _, s := range scores {
		r := reference[s.Set]
		fmt.Printf("%c: first %.3f (prototype %.2f), first two %.3f (%.2f), false alarms %.3f (%.3f), calibration error %.3f\n", s.Set, s.First, r[0], s.FirstTwo, r[1], s.FalseAlarm, r[2], s.CalibrationError)
	}
	fmt.Printf("d with pairs: first %.3f, first two %.3f, false alarms %.3f\n%.0f s, of which %.0f s for single causes\n", s.First, s.FirstTwo, s.FalseAlarm, time.Since(began).Seconds(), single.Seconds())
	return nil
}

// prototypeCatalogue is the shipped catalogue with the causes and base rates of the design paper's section 2.4, for comparison only.
func prototypeCatalogue() (fault.Catalogue, error) {
	c, err := fault.Shipped()
	if err != nil {
		return c, err
	}
	rates := map[fault.Code]float64{
		fault.LowCharge: 0.20, fault.OverCharge: 0.04, fault.CondenserAir: 0.13, fault.CondenserRecirculation: 0.03, fault.CoilAir: 0.14, fault.RestrictionBeforeGlass: 0.05,
		fault.ValveUnderfeeding: 0.07, fault.ValveOverfeeding: 0.04, fault.CompressorValves: 0.05, fault.Noncondensables: 0.02, fault.SuctionRestriction: 0.02,
		fault.BoxThermometer: 0.02, fault.SuctionGauge: 0.02, fault.DischargeGauge: 0.02,
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

// writeVisits writes simulated visits with their truth and its base rate, shipped and of the prototype; pressures as dew temperatures, K.
func writeVisits(seed uint64, per int, path string) error {
	cat, err := fault.Shipped()
	if err != nil {
		return err
	}
	visits, f404, f134, err := diagnose.Visits(seed, per, cat)
	if err != nil {
		return err
	}
	like, err := prototypeCatalogue()
	if err != nil {
		return err
	}
	rate := func(c fault.Catalogue, code fault.Code) float64 {
		if row, ok := c.Find(code); ok {
			return (1 - c.HealthyRate) * row.BaseRate
		}
		return c.HealthyRate
	}
	var b bytes.Buffer
	for i, v := range visits {
		s := v.Sheet('d')
		f := f134
		if s.Machine.Refrigerant == f404.Designation() {
			f = f404
		}
		if i == 0 {
			b.WriteString("truth,severity_z,rate_shipped,rate_prototype,refrigerant")
			for _, r := range s.Readings {
				at := r.At
				if at == reading.BoxDisplay {
					at = reading.BoxAir
				}
				b.WriteString("," + at.String())
			}
			b.WriteString(",glass,condenser_dirt,coil_ice\n")
		}
		fmt.Fprintf(&b, "%s,%.4f,%.6f,%.6f,%s", v.Truth, v.Z, rate(cat, v.Truth), rate(like, v.Truth), s.Machine.Refrigerant)
		for _, r := range s.Readings {
			x := r.Value
			if r.At.Kind() == reading.KindPressure {
				x = f.DewP(x)
			}
			fmt.Fprintf(&b, ",%.3f", x)
		}
		fmt.Fprintf(&b, ",%s,%s,%s\n", s.Seen.Glass, s.Seen.CondenserDirt, s.Seen.CoilIce)
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

func pc(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }

func confusion(w func(string, ...any), s diagnose.Score) {
	truths := append([]fault.Code{fault.Healthy}, diagnose.Truths()...)
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

func nexts(s diagnose.Score) string {
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
func plot(scores []diagnose.Score) string {
	var b strings.Builder
	const size, left, top = 360.0, 60.0, 20.0
	x := func(v float64) float64 { return left + size*v }
	y := func(v float64) float64 { return top + size*(1-v) }
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 460 450\" font-family=\"sans-serif\" font-size=\"14\" role=\"img\"><title>Calibration</title><desc>Stated probability against observed frequency for four reading sets; the diagonal is perfect.</desc><rect width=\"460\" height=\"450\" fill=\"#fff\"/>\n")
	for k := 0; k <= 10; k += 2 {
		v := float64(k) / 10
		fmt.Fprintf(&b, "<path d=\"M%.1f %.1fV%.1fM%.1f %.1fH%.1f\" stroke=\"#cbd5d3\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.1f</text><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%.1f</text>\n", x(v), y(0), y(1), x(0), y(v), x(1), x(v), y(0)+18, v, x(0)-6, y(v)+5, v)
	}
	fmt.Fprintf(&b, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#0d181e\" stroke-dasharray=\"5 4\"/>\n", x(0), y(0), x(1), y(1))
	for i, s := range scores {
		var last [2]float64
		for k, bin := range s.Bins {
			px, py := x(bin.Stated), y(bin.Observed)
			if k > 0 {
				fmt.Fprintf(&b, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#064b54\" stroke-width=\"1\" opacity=\"0.5\"/>\n", last[0], last[1], px, py)
			}
			last = [2]float64{px, py}
			fmt.Fprintf(&b, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"9\" fill=\"#fff\" stroke=\"#064b54\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" font-size=\"12\">%c</text>\n", px, py, px, py+4, "abcd"[i])
		}
	}
	fmt.Fprintf(&b, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">stated probability</text><text x=\"16\" y=\"%.1f\" text-anchor=\"middle\" transform=\"rotate(-90 16 %.1f)\">observed frequency</text></svg>\n", x(0.5), y(0)+40, y(0.5), y(0.5))
	return b.String()
}
