package plant

import (
	"math"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// TestDerivative_AgainstResolve: the implicit rule against central differences of full solves.
func TestDerivative_AgainstResolve(t *testing.T) {
	for _, c := range []struct {
		name     string
		receiver bool
		ch       Change
	}{
		{"R-404A", true, Change{CondenserAir: 0.3}},
		{"R-404A", true, Change{LowCharge: 0.2}},
		{"R-134a", false, Change{LowCharge: 0.1}},
		{"R-134a", false, Change{CoilAir: 0.4}},
	} {
		p := machine(t, c.name, c.receiver, reading.Valve)
		in := at(p.design.BoxT/units.Fahr-459.67+3, 82)
		r := p.Solve(in, c.ch, Options{})
		for i, n := range Nuisances() {
			h := 1e-4 * n.Sd
			near := func(s float64) Problem {
				q := Problem{p.design, in, c.ch}
				Shift(&q.D, &q.In, i, s)
				return q
			}
			var dst [1]Outputs
			if _, ok := p.Derivative(in, c.ch, &r, []Problem{near(h)}, []float64{h}, dst[:], nil); !ok {
				t.Fatal("singular")
			}
			solve := func(s float64) Outputs {
				q := near(s)
				m, err := New(q.D, p.f)
				if err != nil {
					t.Fatal(err)
				}
				return m.Solve(q.In, q.Ch, Options{Near: &r}).Out
			}
			a, b := solve(20*h), solve(-20*h)
			for o := range dst[0] {
				if Output(o) == ChargeShare && r.Mode != modeCharge {
					continue
				}
				want := (a[o] - b[o]) / (40 * h)
				if math.Abs(dst[0][o]-want) > 0.02*math.Abs(want)+2e-3/n.Sd {
					t.Errorf("%s %+v: d out[%d]/d %s = %.5g, by solving again %.5g", c.name, c.ch, o, n.Key, dst[0][o], want)
				}
			}
		}
	}
}

// TestOptions_Derivative: the implicit rule against central differences of full solves.
func TestOptions_Derivative(t *testing.T) {
	for _, o := range options(t) {
		p := o.p
		for _, ch := range []Change{{CondenserAir: 0.2}, {LowCharge: 0.2}, {CoilAir: 0.3}} {
			in := Inputs{BoxT: p.design.BoxT + 2, AmbientT: p.design.AmbientT - 4}
			if p.design.Head != reading.HeadNone {
				in.AmbientT -= 15
			}
			r := p.Solve(in, ch, Options{})
			if !r.Status.OK() || r.Trip != TripNone {
				t.Errorf("%s %+v: %v %v", o.name, ch, r.Status, r.Trip)
				continue
			}
			for i, n := range Nuisances() {
				h := 1e-4 * n.Sd
				near := func(s float64) Problem {
					q := Problem{p.design, in, ch}
					Shift(&q.D, &q.In, i, s)
					return q
				}
				var dst [1]Outputs
				if _, ok := p.Derivative(in, ch, &r, []Problem{near(h)}, []float64{h}, dst[:], nil); !ok {
					t.Fatal("singular")
				}
				solve := func(s float64) Outputs {
					q := near(s)
					m, err := New(q.D, p.f)
					if err != nil {
						t.Fatal(err)
					}
					return m.Solve(q.In, q.Ch, Options{Near: &r}).Out
				}
				a, b := solve(20*h), solve(-20*h)
				for k := range dst[0] {
					if Output(k) == ChargeShare && !byCharge(r.Mode) {
						continue
					}
					want := (a[k] - b[k]) / (40 * h)
					if math.Abs(dst[0][k]-want) > 0.02*math.Abs(want)+2e-3/n.Sd {
						t.Errorf(
							"%s %+v mode %d: d out[%d]/d %s = %.5g, by solving again %.5g",
							o.name,
							ch,
							r.Mode,
							k,
							n.Key,
							dst[0][k],
							want,
						)
					}
				}
			}
		}
	}
}
