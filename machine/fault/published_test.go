package fault

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

var update = flag.Bool("update", false, "write docs/faults.md")

// observables in the order of the table; each from the outputs of the model and the fit. The bool says that its
// effect is a relative change.
var observables = []struct {
	key      string
	relative bool
	at       func(o *plant.Outputs, f *refrigerant.Fit) float64
}{
	{"superheat", false, func(o *plant.Outputs, _ *refrigerant.Fit) float64 { return o[plant.SuctionLineT] - o[plant.SuctionDew] }},
	{"subcooling", false, func(o *plant.Outputs, f *refrigerant.Fit) float64 {
		return f.BubbleP(f.DewT(o[plant.DischargeDew])) - o[plant.LiquidLineT]
	}},
	{"suction_pressure", true, func(o *plant.Outputs, f *refrigerant.Fit) float64 { return f.DewT(o[plant.SuctionDew]) }},
	{"discharge_pressure", true, func(o *plant.Outputs, f *refrigerant.Fit) float64 { return f.DewT(o[plant.DischargeDew]) }},
	{"pressure_ratio", true, func(o *plant.Outputs, f *refrigerant.Fit) float64 {
		return f.DewT(o[plant.DischargeDew]) / f.DewT(o[plant.SuctionDew])
	}},
	{"discharge_temperature", false, func(o *plant.Outputs, _ *refrigerant.Fit) float64 { return o[plant.DischargeLineT] }},
	{"power", true, func(o *plant.Outputs, _ *refrigerant.Fit) float64 { return o[plant.PowerRatio] }},
	{"capacity", true, func(o *plant.Outputs, _ *refrigerant.Fit) float64 { return o[plant.Capacity] }},
	{"cop", true, func(o *plant.Outputs, _ *refrigerant.Fit) float64 { return o[plant.Capacity] / o[plant.PowerRatio] }},
}

// asked are the severities at which the model is asked: about the largest of the sources.
var asked = map[Code]float64{
	LowCharge:              0.3,
	OverCharge:             0.3,
	CondenserAir:           0.5,
	CoilAir:                0.3,
	RestrictionBeforeGlass: 1e6, // a valve's reserve hides what is less; sources lost up to 18 % of capacity
	ValveUnderfeeding:      0.5,
	Noncondensables:        1e5,
	SuctionRestriction:     6,
}

// differs names where the model's direction is not the one all sources agree on, and why. A row that no longer differs fails the test, too.
var differs = map[string]string{
	"condenser_air superheat": "with a valve the model's superheat falls a little as the head drives more through it; measured, it rises " +
		"with suction pressure unclear",
}

type claim struct{ source, metering, fault, observable, sign, low, high string }

func claims(t *testing.T) []claim {
	t.Helper()
	text, err := os.ReadFile("testdata/published.csv")
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []claim
	for _, x := range rows[1:] {
		out = append(out, claim{x[0], x[2], x[3], x[4], x[5], x[6], x[7]})
	}
	return out
}

// effects runs the model: an air conditioner with R-410A at its design point, as the machines of the sources are.
func effects(t *testing.T) map[string]map[Code]map[string]float64 {
	t.Helper()
	ref, err := refrigerant.Load("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	f, err := ref.Fit()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[Code]map[string]float64{}
	for _, e := range []reading.Expansion{reading.Valve, reading.Orifice, reading.Capillary} {
		rm, _ := reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning, Expansion: e}.Resolve()
		p, err := plant.New(plant.FromMachine(rm), f)
		if err != nil {
			t.Fatal(err)
		}
		in := plant.Inputs{BoxT: p.Design().BoxT, AmbientT: p.Design().AmbientT}
		ok := p.Solve(in, plant.Change{}, plant.Options{})
		byFault := map[Code]map[string]float64{}
		for code, s := range asked {
			r := p.Solve(in, Apply(plant.Change{}, code, s), plant.Options{})
			if !r.Status.OK() || r.Trip != plant.TripNone {
				t.Fatalf("%s with %s %g: %v", e, code, s, r.Trip)
			}
			byFault[code] = map[string]float64{}
			for _, q := range observables {
				a, b := q.at(&ok.Out, f), q.at(&r.Out, f)
				if q.relative {
					byFault[code][q.key] = b/a - 1
				} else {
					byFault[code][q.key] = b - a
				}
			}
		}
		out[e.String()] = byFault
	}
	return out
}

// sign of an effect; what is smaller than a gauge shows is none.
func sign(v float64, relative bool) string {
	least := 0.1 // K
	if relative {
		least = 0.003
	}
	switch {
	case v > least:
		return "+"
	case v < -least:
		return "-"
	}
	return "0"
}

// TestPublished_Directions: what docs/faults.md says is what this finds; go test ./machine/fault -update writes it. For every
// fault and observable on which all published sources agree the model moves the same way. Where sources disagree, or
// the model differs, docs/faults.md names it.
func TestPublished_Directions(t *testing.T) {
	all := claims(t)
	model := effects(t)
	var table strings.Builder
	agree, named := 0, map[string]bool{}
	for _, code := range Singles() {
		for _, q := range observables {
			var mine []claim
			signs, devices := map[string]bool{}, map[string]bool{}
			for _, c := range all {
				if c.fault != code.String() || c.observable != q.key {
					continue
				}
				mine = append(mine, c)
				if c.sign != "0" {
					signs[c.sign] = true
				}
				if c.metering == "any" {
					devices["valve"], devices["orifice"] = true, true
				} else {
					devices[c.metering] = true
				}
			}
			if len(mine) == 0 {
				continue
			}
			var says, sources []string
			same, want := true, ""
			for s := range signs {
				want = s
			}
			for _, d := range []string{"valve", "orifice", "capillary"} {
				if !devices[d] {
					continue
				}
				v := model[d][code][q.key]
				same = same && sign(v, q.relative) == want
				if q.relative {
					says = append(says, fmt.Sprintf("%s %+.0f %%", d, 100*v))
				} else {
					says = append(says, fmt.Sprintf("%s %+.1f K", d, v))
				}
			}
			for _, c := range mine {
				w := map[string]string{"+": "rises", "-": "falls", "0": "either way"}[c.sign]
				if c.low != "" {
					var lo, hi float64
					fmt.Sscan(c.low, &lo)
					fmt.Sscan(c.high, &hi)
					w = fmt.Sprintf("%+.0f to %+.0f %%", 100*lo, 100*hi)
					if lo == hi {
						w = fmt.Sprintf("%+.0f %%", 100*lo)
					}
				}
				sources = append(sources, c.source+": "+w)
			}
			key := code.String() + " " + q.key
			verdict := "agrees"
			switch {
			case len(signs) == 0:
				verdict = "the source has both"
			case len(signs) != 1:
				verdict = "sources disagree"
			case !same && differs[key] == "":
				t.Errorf(
					"%s: sources agree on %q (%s), the model says %s",
					key,
					want,
					strings.Join(sources, "; "),
					strings.Join(says, ", "),
				)
				verdict = "differs"
			case !same:
				verdict = "**differs**: " + differs[key]
				named[key] = true
			default:
				agree++
			}
			fmt.Fprintf(
				&table,
				"| %s | %s | %s | %s | %s |\n",
				code,
				strings.ReplaceAll(q.key, "_", " "),
				strings.Join(sources, "; "),
				strings.Join(says, ", "),
				verdict,
			)
		}
	}
	for key := range differs {
		if !named[key] {
			t.Errorf("%s is listed as different and is not", key)
		}
	}
	if agree < 20 {
		t.Errorf("only %d directions agree", agree)
	}
	want := document(t, agree, len(differs), table.String())
	const path = "../../docs/faults.md"
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != want {
		t.Errorf("docs/faults.md is not what the catalogue and the model say (%v): go test ./machine/fault -run Published -update", err)
	}
}

// document is docs/faults.md.
func document(t *testing.T, agree, differ int, directions string) string {
	t.Helper()
	cat, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString(`# Faults

Written by the test of package fault from its catalogue and the model: ` + "`go test ./machine/fault -run Published -update`" + `.

## The catalogue

How often a fault is behind a complaint, before anything is read, and what acts like it. Where a rate rests on judgement, counts from confirmed repairs should replace it.

| code | rate | severity, median | looks like | covers, besides its name | rests on | basis of the rate | basis of the severity |
| --- | --- | --- | --- | --- | --- | --- | --- |
`)
	words := func(s string) string { return strings.ReplaceAll(s, "_", " ") }
	for _, code := range Singles() {
		f, ok := cat.Find(code)
		if !ok {
			continue
		}
		var mimics, covers []string
		for _, m := range f.Mimics {
			mimics = append(mimics, m.String())
		}
		for _, c := range f.Covers {
			covers = append(covers, words(c))
		}
		fmt.Fprintf(
			&b,
			"| %s | %g (%g to %g) | %g %s | %s | %s | %s | %s | %s |\n",
			f.Code,
			f.BaseRate,
			f.RateLow,
			f.RateHigh,
			f.Median,
			f.Unit,
			strings.Join(mimics, ", "),
			strings.Join(covers, ", "),
			f.Evidence,
			f.Basis,
			f.SeverityBasis,
		)
	}
	b.WriteString(`
## Regulators and controls set wrong

They have no code of their own; they act like a fault that has one.

| part | set wrong | what the gauges show | code |
| --- | --- | --- | --- |
| crankcase regulator | too low | suction at the compressor low, coil pressure high, less capacity | suction_restriction |
| crankcase regulator | too high | nothing at the box temperature it is built for; current too high in a pull-down | none |
| evaporator regulator | too high | coil pressure and box high, suction at the compressor low | suction_restriction |
| evaporator regulator | too low, or hunting | coil colder than it should be in a light load; frost where none belongs | none: compare coil_pressure with its setting |
| head control, by flooding or fans | too low | head follows the weather, the coil starves in the cold | head_control_low |
| head control, by flooding or fans | too high | head stands above its setting with air to spare | head_control_high |
| electronic valve | stuck, or has lost steps | superheat off its setting | valve_underfeeding or valve_overfeeding |
| capillary | partly blocked | as a valve feeding too little; box warm, power low | valve_underfeeding |

## Directions against published work

`)
	fmt.Fprintf(
		&b,
		"The model is an air conditioner with R-410A at its design point, with the device the source had (a source that does not say: valve "+
			"and orifice), at about the largest severity of the sources. On %d pairs of fault and reading all sources agree and the model goes "+
			"their way; on %d it does not, and they are named. Where sources disagree nothing is asked of the model. What the sources are, and how "+
			"far they can be trusted, stands in machine/fault/testdata/published.csv.\n\n",
		agree,
		differ,
	)
	b.WriteString("| fault | reading | published | model | |\n| --- | --- | --- | --- | --- |\n" + directions)
	return b.String()
}

// TestRegulators_ActLikeTheirFault: a regulator set wrong moves suction, coil, superheat and head as the fault whose
// row covers it does, at some severity.
func TestRegulators_ActLikeTheirFault(t *testing.T) {
	ref, err := refrigerant.Load("R-404A")
	if err != nil {
		t.Fatal(err)
	}
	f, err := ref.Fit()
	if err != nil {
		t.Fatal(err)
	}
	cat, _ := Shipped()
	row, _ := cat.Find(SuctionRestriction)
	rm, _ := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}.Resolve()
	base := plant.FromMachine(rm)
	te := base.BoxT - base.TD
	for _, c := range []struct {
		name        string
		right, done plant.Design
	}{
		{
			"crankcase_regulator_set_low",
			func() plant.Design { d := base; d.CrankcaseP = f.DewT(te + 4); return d }(),
			func() plant.Design { d := base; d.CrankcaseP = f.DewT(te - 5); return d }(),
		},
		{
			"evaporator_regulator_set_high",
			func() plant.Design { d := base; d.CoilP = f.DewT(te - 1); return d }(),
			func() plant.Design { d := base; d.CoilP = f.DewT(te + 2.5); return d }(),
		},
	} {
		if !slices.Contains(row.Covers, c.name) {
			t.Errorf("%s covers %v, not %s", row.Code, row.Covers, c.name)
		}
		p, err := plant.New(c.right, f)
		if err != nil {
			t.Fatal(err)
		}
		in := plant.Inputs{BoxT: base.BoxT + 1, AmbientT: base.AmbientT - 4}
		ok := p.Solve(in, plant.Change{}, plant.Options{})
		// The same machine with only the setting turned.
		turned := p.Altered(c.done)
		wrong := turned.Solve(in, plant.Change{}, plant.Options{})
		if wrong.Trip != plant.TripNone || ok.Out[plant.SuctionDew]-wrong.Out[plant.SuctionDew] < 1.5 {
			t.Fatalf("%s: suction moves by %.2f K, %v", c.name, wrong.Out[plant.SuctionDew]-ok.Out[plant.SuctionDew], wrong.Trip)
		}
		best := math.Inf(1)
		for s := 0.25; s < 20; s += 0.25 {
			r := p.Solve(in, Apply(plant.Change{}, SuctionRestriction, s), plant.Options{})
			if r.Trip != plant.TripNone {
				continue
			}
			worst := 0.0
			for _, o := range []plant.Output{
				plant.SuctionDew, plant.CoilDew, plant.CoilOutletT, plant.DischargeDew, plant.LiquidLineT,
				plant.AirOffT,
			} {
				worst = math.Max(worst, math.Abs(r.Out[o]-wrong.Out[o]))
			}
			best = math.Min(best, worst)
		}
		if best > 0.5 {
			t.Errorf("%s: no suction restriction comes closer than %.2f K", c.name, best)
		}
	}
}
