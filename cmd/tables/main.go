// Command tables writes docs/composition_shift.md: what a large vapour leak does to every zeotropic blend on file.
// Run it from the module's root:
//
//	go run ./cmd/tables
package main

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"

	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

func main() {
	dir := flag.String("out", "docs", "folder to write to")
	flag.Parse()
	text, err := document()
	if err == nil {
		err = os.WriteFile(filepath.Join(*dir, "composition_shift.md"), []byte(text), 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "tables:", err)
		os.Exit(1)
	}
}

// The leak of the tables.
const (
	fill    = 0.8 // of the volume is liquid at the start
	removed = 0.5
	volume  = 0.02 // m³; results do not depend on it
)

// The temperatures of the leak, °C.
func temperatures() []float64 { return []float64{25, -20} }

// row is one blend at one temperature. none says why there is nothing to say.
type row struct {
	designation, grade      string
	before, after           []refrigerant.Part
	dew, bubble             float64 // true above card, K
	glide                   float64 // change at 101.325 kPa, K
	glideKnown              bool
	standing                float64 // change of the vessel's pressure, Pa
	toppedDew, toppedBubble float64
	liquidLeak              float64 // bubble, the same share gone as liquid, K
	none                    string
}

// worst is what decides the group: the larger error of the card.
func (r row) worst() float64 { return math.Max(math.Abs(r.dew), math.Abs(r.bubble)) }

// compute follows the leak of one blend.
func compute(designation string, celsius float64) (out row, err error) {
	r, err := refrigerant.Load(designation)
	if err != nil {
		return out, err
	}
	out.designation, out.before = designation, r.Composition()
	out.grade, _ = r.Grade()
	T := float64(units.Celsius(celsius))
	charge, err := r.FillCharge(volume, T, fill)
	var outside *refrigerant.RangeError
	if errors.As(err, &outside) {
		out.none = fmt.Sprintf(
			"liquid and vapour side by side from %s to %s °C only",
			units.Fixed(units.Temp(outside.Min).C(), 1),
			units.Fixed(units.Temp(outside.Max).C(), 1),
		)
		return out, nil
	}
	if err != nil {
		return out, err
	}
	leak := refrigerant.Leak{Charge: charge, Volume: volume, T: T, Phase: refrigerant.Vapour, Remove: removed, Steps: 1}
	run, err := r.Leak(leak)
	if err != nil {
		return out, err
	}
	first, last := run.Steps[0], run.Steps[len(run.Steps)-1]
	out.after, out.standing = last.Left.Composition(), last.P-first.P
	if out.dew, out.bubble, err = shift(r, last.Left, T); err != nil {
		return out, err
	}
	topped, err := r.TopUp(last.Left, last.Mass, charge-last.Mass)
	if err != nil {
		return out, err
	}
	if out.toppedDew, out.toppedBubble, err = shift(r, topped, T); err != nil {
		return out, err
	}
	a, err1 := r.GlideAt101()
	b, err2 := last.Left.GlideAt101()
	out.glideKnown = err1 == nil && err2 == nil
	out.glide = b - a
	leak.Phase = refrigerant.Liquid
	if run, err = r.Leak(leak); err != nil {
		return out, err
	}
	_, out.liquidLeak, err = shift(r, run.Steps[len(run.Steps)-1].Left, T)
	return out, err
}

// shift is the card's error where the card says T: in dew at the dew pressure, in bubble at the bubble pressure.
func shift(r, held *refrigerant.Refrigerant, T float64) (dew, bubble float64, err error) {
	d, err := r.DewT(T, refrigerant.Options{})
	if err != nil {
		return 0, 0, err
	}
	b, err := r.BubbleT(T, refrigerant.Options{})
	if err != nil {
		return 0, 0, err
	}
	if dew, _, err = r.CardError(held, d.P); err != nil {
		return 0, 0, err
	}
	_, bubble, err = r.CardError(held, b.P)
	return dew, bubble, err
}

func signed(v float64, decimals int) string {
	s := units.Fixed(v, decimals)
	if v > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

func percents(parts []refrigerant.Part) string {
	var s []string
	for _, p := range parts {
		s = append(s, units.Fixed(100*p.MassFraction, 1))
	}
	return strings.Join(s, " / ")
}

func (r row) String() string {
	var names []string
	for _, p := range r.before {
		names = append(names, strings.TrimPrefix(p.Designation, "R-"))
	}
	head := fmt.Sprintf("| %s | %s | %s | %s |", r.designation, r.grade, strings.Join(names, " / "), percents(r.before))
	if r.none != "" {
		return head + " " + r.none + " | | | | | | |"
	}
	glide := "–"
	if r.glideKnown {
		glide = signed(r.glide, 1)
	}
	return head + fmt.Sprintf(" %s | %s | %s | %s | %s (%s) | %s | %s |", percents(r.after), signed(r.dew, 1), signed(r.bubble, 1), glide,
		signed(r.standing/units.Kilo, 0), signed(r.standing/units.Psi, 1), signed(r.toppedDew, 1), signed(r.toppedBubble, 1))
}

// zeotropes lists the blends of the tables.
func zeotropes() ([]string, error) {
	var out []string
	for _, d := range refrigerant.Designations() {
		r, err := refrigerant.Load(d)
		if err != nil {
			return nil, err
		}
		if r.Kind() == refrigerant.Zeotrope {
			out = append(out, d)
		}
	}
	return out, nil
}

// The groups, by the larger error of the card at either temperature, K. The bounds are judgement, no source: half a
// kelvin is what a good clamp and gauge resolve together, two kelvin is half of a usual superheat.
const (
	small = 0.5
	large = 2
)

func document() (string, error) {
	list, err := zeotropes()
	if err != nil {
		return "", err
	}
	rows := map[float64][]row{}
	worst := map[string]float64{}
	liquid, liquidName := 0.0, ""
	for _, c := range temperatures() {
		for _, d := range list {
			r, err := compute(d, c)
			if err != nil {
				var n *num.NoConvergence
				if !errors.As(err, &n) {
					return "", fmt.Errorf("%s at %g °C: %w", d, c, err)
				}
				r.none = "no solution found: " + n.What
			}
			rows[c] = append(rows[c], r)
			if r.none == "" {
				worst[d] = math.Max(worst[d], r.worst())
				if x := math.Abs(r.liquidLeak); x > liquid {
					liquid, liquidName = x, d
				}
			}
		}
	}
	var b strings.Builder
	w := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	w("# What a leak does to a blend\n")
	w("Written by `go run ./cmd/tables`. Do not edit. For other charges, temperatures and leaks: `coldwright fractionate --help`.\n")
	w(
		"The parts of a zeotropic blend boil off at different rates. Where vapour stands over liquid and leaks, the gas that goes holds more " +
			"of the volatile parts, and what stays is poorer in them: it boils and condenses warmer at the same pressure than the printed card " +
			"says. Superheat read with the card is then too large by the dew column below, subcooling too small by the bubble column. A valve set " +
			"by that superheat feeds too much.\n",
	)
	w("## What to do with it\n")
	w(
		"- **Charge zeotropic blends as liquid**, from a cylinder that stands the right way up for it. Vapour out of the cylinder is the " +
			"same leak, into the machine. (Common practice, and what makers' manuals say.)",
	)
	w("- **Find and mend the leak first.** After that the size of the loss and the group of the blend decide.")
	w(
		"- **A small loss, or a blend of the first group: top up.** A leak in a line that carries one phase, or in a running circuit, shifts "+
			"less than these tables: there what goes has nearly the whole blend's composition (common practice, no source). A liquid leak shifts "+
			"little: with half the charge gone as liquid the bubble temperature of no blend here moves by more than %s K (%s).",
		units.Fixed(liquid, 1),
		liquidName,
	)
	w(
		"- **A big loss of vapour, above all from a machine that stood still, with a blend of the last group: recover what is left, weigh in " +
			"a full new charge.** Topping up halves the error, it does not remove it, and every further leak adds to it. Local rules and the " +
			"maker's instructions come first; recovered blend of unknown composition is marked as such and not put into another machine.",
	)
	w(
		"- **Check before you trust the card:** with the machine off, everything at one temperature and liquid in the receiver, the gauge " +
			"should stand at the card's bubble pressure, or a few percent below where there is little of it. The column \"standing pressure\" " +
			"says by how much it falls in the worst case. Air in the circuit raises it and can hide the shift; a circuit without " +
			"liquid is lower for another reason.",
	)
	w("- Say it in the record: blend, mass lost, whether topped up. Two top-ups later nobody knows the composition.\n")
	w("## The groups\n")
	w(
		"By the larger error of the card at 25 °C or −20 °C. The bounds are our judgement: half a kelvin is what a good clamp and gauge " +
			"resolve together, two kelvin is half of a usual superheat.\n",
	)
	var groups [3][]string
	for _, d := range list {
		x, ok := worst[d]
		switch {
		case !ok:
		case x < small:
			groups[0] = append(groups[0], d)
		case x < large:
			groups[1] = append(groups[1], d)
		default:
			groups[2] = append(groups[2], d)
		}
	}
	w("| card off after losing half as vapour | blends |\n| --- | --- |")
	w("| below %s K: top up | %s |", units.Fixed(small, 1), strings.Join(groups[0], ", "))
	w(
		"| %s to %s K: top up once, expect to reset the valve | %s |",
		units.Fixed(small, 1),
		units.Fixed(large, 0),
		strings.Join(groups[1], ", "),
	)
	w("| %s K and more: after such a loss recover and weigh in | %s |", units.Fixed(large, 0), strings.Join(groups[2], ", "))
	w("\n## How it is reckoned\n")
	w(
		"- A closed vessel, %s %% of its volume liquid at the leak's temperature, the vapour above it leaks until %s %% of the charge is "+
			"gone. Slow and at constant temperature; at every moment liquid and vapour are in equilibrium, and what goes has the vapour's "+
			"composition (open-system distillation, Rayleigh 1902). No oil, no air.",
		units.Fixed(100*fill, 0),
		units.Fixed(100*removed, 0),
	)
	w(
		"- It is a worst case of a machine that stands still. The classification standards test leaks from fuller and emptier vessels and at " +
			"the boiling point as well, for flammability; these tables are about the card only and replace none of that.",
	)
	w(
		"- **dew, bubble**: true temperature above the card's, K, at the pressure where the card says the table's temperature. **glide**: " +
			"its change, K, at 101.325 kPa. **standing pressure**: change in the vessel, kPa (psi). **topped up**: dew and bubble once the charge " +
			"is full again with new blend, charged as liquid.",
	)
	w(
		"- Grade: how well the mixing data are known, A and B fitted to measurements, C and D approximate; a C or D row may be off by a " +
			"third of its shift (our judgement). Checked against an independent property library, the Rayleigh equation, published directions and " +
			"mass balances: `refrigerant/shift_test.go`. Errors of the integration are below 10⁻⁷ in every mass fraction.",
	)
	for _, c := range temperatures() {
		w("\n## Leak at %s °C\n", units.Fixed(c, 0))
		w("| blend | grade | parts | before, %% by mass | after | dew | bubble | glide | standing pressure | topped up: dew | bubble |")
		w("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
		for _, r := range rows[c] {
			w("%s", r)
		}
	}
	return b.String(), nil
}
