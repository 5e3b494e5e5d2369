package plant

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/machine/reading"
	"coldwright/num"
)

// TestOptions_DesignPoint: every machine reproduces the numbers it was sized from (identity).
func TestOptions_DesignPoint(t *testing.T) {
	for _, o := range options(t) {
		d := o.p.design
		r := o.p.Solve(Inputs{BoxT: d.BoxT, AmbientT: d.AmbientT}, Change{}, Options{})
		if r.Trip != TripNone || !r.Status.OK() {
			t.Errorf("%s: %v %v", o.name, r.Status, r.Trip)
			continue
		}
		sh := r.Out[CoilOutletT] - r.Out[CoilDew]
		if math.Abs(r.Out[CoilDew]-(d.BoxT-d.TD)) > 0.1 || math.Abs(r.Out[DischargeDew]-(d.AmbientT+d.Split)) > 0.1 ||
			math.Abs(r.Out[Capacity]-1) > 0.01 ||
			math.Abs(r.Out[ChargeShare]-1) > 0.01 ||
			math.Abs(sh-d.SHRatio*d.TD) > 0.3 ||
			math.Abs(r.Out[PowerRatio]-1) > 0.01 {
			t.Errorf(
				"%s: coil %.3f K off, head %.3f off, capacity %.4f, charge %.4f, power %.4f, superheat %.2f for %.2f",
				o.name,
				r.Out[CoilDew]-(d.BoxT-d.TD),
				r.Out[DischargeDew]-(d.AmbientT+d.Split),
				r.Out[Capacity],
				r.Out[ChargeShare],
				r.Out[PowerRatio],
				sh,
				d.SHRatio*d.TD,
			)
		}
		if d.Subcool > 0 {
			sc := o.p.f.BubbleP(o.p.f.DewT(r.Out[DischargeDew])) - r.Out[LiquidLineT]
			if math.Abs(sc-d.Subcool) > 0.05 {
				t.Errorf("%s: subcooling %.3f K, stated %.3f", o.name, sc, d.Subcool)
			}
		}
	}
}

// TestOptions_NestedOracle: Newton against bracketing in every unknown, charge included, for every way of building;
// and the share of draws that solve. The oracle itself has no bracket where a coil is flooded to within a few
// hundredths of a kelvin of the box; that may be one comparison in ten. With a fixed orifice and two grave faults two
// steady states can exist side by side (the coil flooded or dry): bracketing over the charge then ends at the jump
// between them, which shows as charge that does not close.
func TestOptions_NestedOracle(t *testing.T) {
	n, each := 120, 4
	if testing.Short() {
		n, each = 40, 1
	}
	total, missing := 0, 0
	for _, o := range options(t) {
		rng := rand.New(rand.NewPCG(3, 5))
		solved, unexplained := 0, 0
		compared := map[int]int{}
		for range n {
			d, in, ch := random(rng, o.p.design)
			p, err := New(d, o.p.f)
			if err != nil {
				continue // a drawn coil that its regulator would hold shut
			}
			if d.Head != reading.HeadNone {
				in.AmbientT -= 20 * rng.Float64()
			}
			r := p.Solve(in, ch, Options{})
			if r.Trip == NoState {
				unexplained++
			}
			if !r.Status.OK() || r.Trip != TripNone {
				continue
			}
			solved++
			if compared[r.Mode] >= each {
				continue
			}
			compared[r.Mode]++
			q := p.Solve(in, ch, Options{Nested: true})
			total++
			var s state
			p.eval(in, &ch, q.Mode, &q.U, &s)
			if !q.Status.OK() || byCharge(q.Mode) && math.Abs(s.F[3]) > 1e-6 {
				missing++
				continue
			}
			for i := range r.U {
				if q.Mode != r.Mode || math.Abs(q.U[i]-r.U[i]) > 1e-5 {
					t.Errorf("%s: Newton %v in mode %d, bracketing %v in mode %d for %+v at %+v", o.name, r.U, r.Mode, q.U, q.Mode, ch, in)
					break
				}
			}
		}
		t.Logf(
			"%s: %.1f %% solved, %.1f %% unexplained, compared by mode %v",
			o.name,
			100*float64(solved)/float64(n),
			100*float64(unexplained)/float64(n),
			compared,
		)
		if share := float64(solved) / float64(n); share < 0.9 {
			t.Errorf("%s: only %.3f solved", o.name, share)
		}
		if share := float64(unexplained) / float64(n); share > 0.03 {
			t.Errorf("%s: %.3f without a reason", o.name, share)
		}
	}
	t.Logf("%d comparisons, %d without an oracle", total, missing)
	if 10*missing > total {
		t.Errorf("bracketing found no state in %d of %d", missing, total)
	}
}

// TestOptions_Monotone: what bracketing relies on. The valve's residual falls with the flow, the compressor's rises
// with the evaporating temperature, the area's falls with the condensing temperature; each with the ones before it
// solved, as bracketing does. A capillary keeps only the first: soldered to the suction line, it feeds more the
// colder its liquid, and its liquid is coldest just when the coil floods. Its states are single all the same in every
// draw compared above.
func TestOptions_Monotone(t *testing.T) {
	for _, o := range options(t) {
		rng := rand.New(rand.NewPCG(9, 9))
		for range 15 {
			d, in, ch := random(rng, o.p.design)
			p, err := New(d, o.p.f)
			if err != nil {
				continue
			}
			var s state
			at := func(u [4]float64) *state { p.eval(in, &ch, modeFree, &u, &s); return &s }
			u := [4]float64{
				in.BoxT - 1 - 12*rng.Float64(),
				0.6*rng.Float64() - 0.4,
				in.AmbientT + ch.Recirculation + 4 + 14*rng.Float64(),
				0,
			}
			last := math.Inf(1)
			for k := range 12 {
				w := u
				w[1] += 0.08 * float64(k)
				if f := at(w).F[1]; f >= last {
					t.Errorf("%s: valve residual rises with the flow at %v, %+v", o.name, w, ch)
				} else {
					last = f
				}
			}
			if d.Expansion == reading.Capillary {
				continue
			}
			fed := func(te, tc float64) (float64, bool) {
				w := [4]float64{te, 0, tc, 0}
				x, _, err := num.Brent(func(x float64) float64 { w[1] = x; return at(w).F[1] }, -6, 1.5, 1e-13)
				w[1] = x
				at(w)
				return s.F[0], err == nil
			}
			last = math.Inf(-1)
			for k := range 12 {
				te := math.Min(in.BoxT-0.1, u[0]+float64(k))
				if f, ok := fed(te, u[2]); ok && f < last-1e-9 {
					t.Errorf("%s: compressor residual falls with the evaporating temperature at %.2f, %.2f, %+v", o.name, te, u[2], ch)
				} else if ok {
					last = f
				}
			}
			last = math.Inf(1)
			for tc := u[2]; tc < p.maxTc(); tc += 2 {
				te, _, err := num.Brent(func(te float64) float64 {
					f, ok := fed(te, tc)
					if !ok {
						return math.NaN()
					}
					return f
				}, in.BoxT-40, in.BoxT-0.05, 1e-11)
				if err != nil {
					continue
				}
				if _, ok := fed(te, tc); ok && s.excess >= last {
					t.Errorf("%s: area residual rises with the condensing temperature at %.2f, %.2f, %+v", o.name, te, tc, ch)
				} else if ok {
					last = s.excess
				}
			}
		}
	}
}

// TestSolve_NoAllocation: a solve takes nothing from the heap, whatever the machine is built of.
func TestSolve_NoAllocation(t *testing.T) {
	for _, o := range options(t) {
		in := Inputs{BoxT: o.p.design.BoxT + 1, AmbientT: o.p.design.AmbientT - 3}
		if a := testing.AllocsPerRun(3, func() { o.p.Solve(in, Change{LowCharge: 0.1}, Options{}) }); a != 0 {
			t.Errorf("%s: %g allocations", o.name, a)
		}
	}
}
