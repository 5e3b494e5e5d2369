package plant

import (
	"math"
	"strings"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// shows is the least effect that counts as one, K; of the quality at the glass, a share of vapour.
const shows, showsGlass = 0.25, 0.002

// effects are the changes of what a mechanic reads, in the order of the columns of the table of signatures.
func effects(p *Plant, ok, r *Result) [7]float64 {
	d := func(o Output) float64 { return r.Out[o] - ok.Out[o] }
	return [7]float64{
		d(SuctionDew), d(DischargeDew), d(CoilOutletT) - d(SuctionDew), d(LiquidLineT), d(AirOffT), d(DrierDrop),
		d(GlassQuality) * shows / showsGlass,
	}
}

// sign of an effect.
func sign(v float64) byte {
	switch {
	case v > shows:
		return '+'
	case v < -shows:
		return '-'
	}
	return '0'
}

// TestSolve_Signatures: what each fault moves on a freezer with valve and receiver, and which way, by at least 0.25 K
// (of the glass: 0.2 % of vapour); 0 where it must not show, a dot where nothing is asked. Where they are from: the
// balance of the component that the fault is in, as a trade text would argue it. What starves the coil (charge,
// restriction, valve) lowers suction and head and raises superheat; only where flash gas is ahead of the glass do
// glass and drier show it. What takes the condenser's air, surface or pressure raises head. A coil without air lowers
// suction with its superheat. A compressor that leaks raises suction and lowers head. Directions against published
// measurements are in package fault.
//
// The last rows of the loop are the mutation: a machine without the fault must fail every mark that is not 0.
func TestSolve_Signatures(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	in := at(0, 80)
	ok := p.Solve(in, Change{}, Options{})
	names := [7]string{"suction", "head", "superheat", "liquid", "air off", "drier drop", "glass"}
	for _, c := range []struct {
		name  string
		ch    Change
		marks string // suction head superheat liquid air-off drier glass
	}{
		{"low charge 0.2", Change{LowCharge: 0.2}, "- - + - + + +"},
		{"low charge 0.3", Change{LowCharge: 0.3}, "- - + - + + +"},
		{"over charge 0.15", Change{OverCharge: 0.15}, ". + . - - 0 -"},
		{"condenser air 0.3", Change{CondenserAir: 0.3}, "+ + . + + 0 -"},
		{"condenser air 0.6", Change{CondenserAir: 0.6}, "+ + - + + 0 -"},
		{"recirculation 5", Change{Recirculation: 5}, "+ + . + + 0 -"},
		{"coil air 0.7", Change{CoilAir: 0.7}, "- - - - - 0 ."},
		{"restriction before 1.5 bar", Change{RestrictionBefore: 1.5 * units.Bar}, "- - + - . + +"},
		{"restriction before 4 bar", Change{RestrictionBefore: 4 * units.Bar}, "- - + - + + +"},
		{"restriction after 4 bar", Change{RestrictionAfter: 4 * units.Bar}, "- - + - + 0 ."},
		{"valve under 0.4", Change{ValveUnder: 0.4}, "- - + - + 0 ."},
		{"valve over 1.2", Change{ValveOver: 1.2}, "+ + - + . 0 ."},
		{"compressor 0.3", Change{CompressorLeak: 0.3}, "+ - - - + 0 ."},
		{"noncondensables 1.5 bar", Change{Noncondensables: 1.5 * units.Bar}, ". + . . 0 0 -"},
		{"suction restriction 4 K", Change{SuctionRestriction: 4}, "- - + - + 0 ."},
	} {
		r := p.Solve(in, c.ch, Options{})
		if !r.Status.OK() || r.Trip != TripNone {
			t.Errorf("%s: %v %v", c.name, r.Status, r.Trip)
			continue
		}
		got, none := effects(&p, &ok, &r), effects(&p, &ok, &ok)
		asked := 0
		for i, mark := range strings.Fields(c.marks) {
			if mark != "." && sign(got[i]) != mark[0] {
				t.Errorf("%s: %s moves by %.2f K, want %s", c.name, names[i], got[i], mark)
			}
			if mark == "+" || mark == "-" {
				asked++
				if sign(none[i]) == mark[0] {
					t.Errorf("%s: %s passes without the fault", c.name, names[i])
				}
			}
		}
		if asked < 2 {
			t.Errorf("%s asks for %d effects", c.name, asked)
		}
	}
	// Worse is more: suction and head move on from what they moved, from nothing.
	for name, change := range map[string]func(s float64) Change{
		"low charge":          func(s float64) Change { return Change{LowCharge: 0.3 * s} },
		"over charge":         func(s float64) Change { return Change{OverCharge: 0.3 * s} },
		"condenser air":       func(s float64) Change { return Change{CondenserAir: 0.6 * s} },
		"recirculation":       func(s float64) Change { return Change{Recirculation: 8 * s} },
		"coil air":            func(s float64) Change { return Change{CoilAir: 0.7 * s} },
		"restriction before":  func(s float64) Change { return Change{RestrictionBefore: 4 * units.Bar * s} },
		"valve under":         func(s float64) Change { return Change{ValveUnder: 0.4 * s} },
		"compressor":          func(s float64) Change { return Change{CompressorLeak: 0.3 * s} },
		"noncondensables":     func(s float64) Change { return Change{Noncondensables: 2 * units.Bar * s} },
		"suction restriction": func(s float64) Change { return Change{SuctionRestriction: 5 * s} },
	} {
		// A trace of a fault moves next to nothing, but goes through all that the fault goes through.
		trace := p.Solve(in, change(1e-6), Options{})
		if e := effects(&p, &ok, &trace); trace.Trip != TripNone || math.Abs(e[0]) > 1e-3 || math.Abs(e[1]) > 1e-3 {
			t.Errorf("%s: a trace moves suction by %g K, head by %g", name, e[0], e[1])
		}
		last := [7]float64{}
		for _, s := range []float64{0.4, 0.7, 1} {
			r := p.Solve(in, change(s), Options{})
			e := effects(&p, &ok, &r)
			for _, i := range []int{0, 1} {
				if math.Abs(last[i]) > 0.5 && math.Abs(e[i]) < math.Abs(last[i]) {
					t.Errorf("%s at %g: %s moves by %.3f K after %.3f", name, s, names[i], e[i], last[i])
				}
			}
			last = e
		}
	}
}

// TestSolve_MeasuredDirections: directions on which published measurements agree. Undercharge on valve machines
// without receiver: superheat and discharge temperature up, subcooling, suction, head and power down; overcharge:
// subcooling and head up (NIST valve heat pumps, both units); a blocked condenser raises head and power (ORNL rooftop
// unit: split ×1.2–1.4 at −28 % air, ×1.8–2.2 at −58 %).
func TestSolve_MeasuredDirections(t *testing.T) {
	p := machine(t, "R-134a", false, reading.Valve)
	in := at(36, 80)
	ok := p.Solve(in, Change{}, Options{})
	low := p.Solve(in, Change{LowCharge: 0.25}, Options{})
	over := p.Solve(in, Change{OverCharge: 0.3}, Options{})
	sc := func(r Result) float64 { return p.f.BubbleP(p.f.DewT(r.Out[DischargeDew])) - r.Out[LiquidLineT] }
	sh := func(r Result) float64 { return r.Out[CoilOutletT] - r.Out[SuctionDew] }
	for what, good := range map[string]bool{
		"undercharge: superheat up":             sh(low) > sh(ok)+1,
		"undercharge: discharge temperature up": low.Out[DischargeLineT] > ok.Out[DischargeLineT]+1,
		"undercharge: subcooling down":          sc(low) < sc(ok)-3, "undercharge: suction down": low.Out[SuctionDew] < ok.Out[SuctionDew]-1,
		"undercharge: head down":    low.Out[DischargeDew] < ok.Out[DischargeDew]-1,
		"undercharge: power down":   low.Out[PowerRatio] < ok.Out[PowerRatio]-0.01,
		"overcharge: subcooling up": sc(over) > sc(ok)+3, "overcharge: head up": over.Out[DischargeDew] > ok.Out[DischargeDew]+1,
		"overcharge: suction flat": math.Abs(over.Out[SuctionDew]-ok.Out[SuctionDew]) < 1,
	} {
		if !good {
			t.Error(what + " is not reproduced")
		}
	}
	q := machine(t, "R-134a", false, reading.Orifice)
	base := q.Solve(in, Change{}, Options{})
	split := func(r Result) float64 { return r.Out[DischargeDew] - in.AmbientT }
	for _, c := range []struct{ lost, lo, hi float64 }{{0.28, 1.2, 1.4}, {0.58, 1.8, 2.2}} {
		r := q.Solve(in, Change{CondenserAir: c.lost}, Options{})
		if f := split(r) / split(base); f < c.lo || f > c.hi || r.Out[PowerRatio] < base.Out[PowerRatio]+0.02 {
			t.Errorf("condenser air −%.0f %%: split ×%.2f, measured ×%.2f to ×%.2f", 100*c.lost, f, c.lo, c.hi)
		}
	}
}
