package refrigerant

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"coldwright/num"
	"coldwright/refrigerant/internal/data"
)

// singlePhases are a vapour and a liquid of r well inside its range, with room for differences around them.
func singlePhases(t *testing.T, r *Refrigerant) []State {
	t.Helper()
	l := r.Limits()
	T := math.Max(0.8*l.TCrit, l.TMin+5)
	d, err := r.DewT(T, Options{})
	if err != nil {
		t.Error(err)
		return nil
	}
	b, err := r.BubbleT(T, Options{})
	if err != nil {
		t.Error(err)
		return nil
	}
	var out []State
	for _, c := range [][2]float64{{0.6 * d.P, T}, {math.Min(2*b.P, 0.95*l.PMax), T - 4}} {
		s, err := r.StatePT(c[0], c[1], Options{})
		if err != nil {
			t.Error(err)
			continue
		}
		out = append(out, s)
	}
	return out
}

// TestProperty_Maxwell: the relations between derivatives that any one thermodynamic function implies, in vapour and
// in liquid of every designation, by central differences of published states (identities):
//
//	(∂h/∂T)_p = cp   (∂s/∂T)_p = cp/T   (∂s/∂p)_T = −(∂v/∂T)_p   (∂h/∂p)_T = v − T (∂v/∂T)_p
//	cp − cv = −T (∂v/∂T)_p²/(∂v/∂p)_T   w² = cp/cv (∂p/∂ρ)_T
func TestProperty_Maxwell(t *testing.T) {
	for _, name := range Designations() {
		r := mustLoad(t, name)
		for _, s := range singlePhases(t, r) {
			get := func(p, T float64) State {
				q, err := r.StatePT(p, T, Options{})
				if err != nil {
					t.Error(err)
				}
				if q.Phase != s.Phase {
					t.Errorf("%s: %v beside %v", name, q.Phase, s.Phase)
				}
				return q
			}
			const dT = 0.02
			dp := 2e-4 * s.P
			if s.Phase == Liquid {
				dp = 0.02 * s.P // liquid hardly answers
			}
			hot, cold, high, low := get(s.P, s.T+dT), get(s.P, s.T-dT), get(s.P+dp, s.T), get(s.P-dp, s.T)
			v := 1 / s.Rho
			vT, vp := (1/hot.Rho-1/cold.Rho)/(2*dT), (1/high.Rho-1/low.Rho)/(2*dp)
			hT, hp := (hot.H-cold.H)/(2*dT), (high.H-low.H)/(2*dp)
			sT, sp := (hot.S-cold.S)/(2*dT), (high.S-low.S)/(2*dp)
			for _, c := range []struct {
				what             string
				got, want, scale float64
			}{
				{"dh/dT", hT, s.Cp, s.Cp},
				{"ds/dT", sT, s.Cp / s.T, s.Cp / s.T},
				{"ds/dp", sp, -vT, math.Abs(vT)},
				{"dh/dp", hp, v - s.T*vT, v},
				{"cp − cv", s.Cp - s.Cv, -s.T * vT * vT / vp, s.Cp},
				{"w²", s.SpeedOfSound * s.SpeedOfSound, -s.Cp / s.Cv * v * v / vp, s.SpeedOfSound * s.SpeedOfSound},
			} {
				if !(math.Abs(c.got-c.want) <= 1e-4*c.scale) {
					t.Errorf("%s, %v at %.6g Pa, %.2f K: %s %.8g, want %.8g", name, s.Phase, s.P, s.T, c.what, c.got, c.want)
				}
			}
		}
	}
}

// TestProperty_Clapeyron: dp/dT = Δh/(T Δv) along the saturation line of every pure fluid (identity).
func TestProperty_Clapeyron(t *testing.T) {
	for _, name := range data.Fluids() {
		r := mustLoad(t, name)
		l := r.Limits()
		for _, share := range []float64{0.1, 0.5, 0.9} {
			T := l.TMin + share*(0.97*l.TCrit-l.TMin)
			at := func(T float64) Equilibrium {
				e, err := r.BubbleT(T, Options{})
				if err != nil {
					t.Error(err)
				}
				return e
			}
			const dT = 0.01
			e := at(T)
			slope := (at(T+dT).P - at(T-dT).P) / (2 * dT)
			want := (e.HVapour - e.HLiquid) / (T * (1/e.RhoVapour - 1/e.RhoLiquid))
			if !(math.Abs(slope/want-1) <= 1e-5) {
				t.Errorf("%s at %.2f K: dp/dT %.8g, want %.8g", name, T, slope, want)
			}
			if ds := (e.HVapour-e.HLiquid)/T - (e.SVapour - e.SLiquid); !(math.Abs(ds) <= 1e-5) {
				t.Errorf("%s at %.2f K: Δh/T differs from Δs by %g J/(kg K)", name, T, ds)
			}
		}
	}
}

// TestProperty_ZeroDensity: as the density goes to zero every designation becomes an ideal gas: p = ρ R T/M, cp − cv
// = R/M, w² = cp/cv R T/M, enthalpy without pressure; and the first correction is linear in density, which is the
// second virial coefficient (limits).
func TestProperty_ZeroDensity(t *testing.T) {
	for _, name := range Designations() {
		r := mustLoad(t, name)
		l := r.Limits()
		R := r.m.R / r.molarMass
		for _, T := range []float64{math.Max(l.TMin+1, 0.75*l.TCrit), 0.98 * l.TMax} {
			get := func(share float64) State {
				s, err := r.StateTD(T, share*l.RhoCrit, Options{})
				if err != nil {
					t.Error(err)
				}
				return s
			}
			a, b, c := get(1e-3), get(1e-4), get(1e-8)
			if z := c.P / (c.Rho * R * T); !(math.Abs(z-1) <= 1e-6) {
				t.Errorf("%s at %.1f K: compressibility %.9f without density", name, T, z)
			}
			if d := (c.Cp - c.Cv) / R; !(math.Abs(d-1) <= 1e-6) {
				t.Errorf("%s at %.1f K: cp − cv is %.9f R without density", name, T, d)
			}
			if w := c.SpeedOfSound * c.SpeedOfSound / (c.Cp / c.Cv * R * T); !(math.Abs(w-1) <= 1e-6) {
				t.Errorf("%s at %.1f K: w² is %.9f of an ideal gas's without density", name, T, w)
			}
			if d := get(1e-9).H - c.H; !(math.Abs(d) <= 1e-6*R*T) {
				t.Errorf("%s at %.1f K: enthalpy moves by %g J/kg without density", name, T, d)
			}
			virial := func(s State) float64 { return (s.P/(s.Rho*R*T) - 1) / s.Rho * l.RhoCrit }
			if d := virial(a) - virial(b); !(math.Abs(d) <= 0.01) {
				t.Errorf("%s at %.1f K: second virial coefficient %.6f and %.6f", name, T, virial(a), virial(b))
			}
		}
	}
}

// TestProperty_RandomBlends: blends of random composition converge, have equal fugacities, dew below bubble pressure,
// saturated states that recompute, and do not depend on the order in which their parts are named (identities).
func TestProperty_RandomBlends(t *testing.T) {
	pool := []string{"R-32", "R-125", "R-134a", "R-143a", "R-152a", "R-1234yf", "R-1234ze(E)", "R-290", "R-600a", "R-227ea"}
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		n := 2 + rng.IntN(4)
		parts := make([]Part, n)
		sum := 0.0
		for i, k := range rng.Perm(len(pool))[:n] {
			parts[i] = Part{pool[k], 0.03 + rng.Float64()}
			sum += parts[i].MassFraction
		}
		for i := range parts {
			parts[i].MassFraction /= sum
		}
		turned := make([]Part, n)
		for i, k := range rng.Perm(n) {
			turned[i] = parts[k]
		}
		a, err := Blend(parts)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Blend(turned)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("%s %v", a.Designation(), parts)
		// Deeper, some of these split into two liquids; Limits says where that ends.
		lo := math.Max(230, math.Max(a.Limits().TMin, b.Limits().TMin))
		T := lo + rng.Float64()*math.Max(0, 0.95*a.Limits().TCrit-lo)
		var p [2]float64
		for k, find := range []func(*Refrigerant) (Equilibrium, error){
			func(r *Refrigerant) (Equilibrium, error) { return r.BubbleT(T, Options{}) },
			func(r *Refrigerant) (Equilibrium, error) { return r.DewT(T, Options{}) },
		} {
			x, err := find(a)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			y, err := find(b)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if lnF, v, l := a.EquilibriumError(x); !(lnF <= 1e-7 && v <= 1e-8 && l <= 1e-8) {
				t.Errorf("%s at %.2f K: ln f %g, vapour pressure %g, liquid density %g", name, T, lnF, v, l)
			}
			if !(math.Abs(x.P/y.P-1) <= 1e-8 && math.Abs(x.RhoLiquid/y.RhoLiquid-1) <= 1e-8 && math.Abs(x.HVapour-y.HVapour) <= 1e-2) {
				t.Errorf(
					"%s at %.2f K: in another order %.12g Pa, %.12g kg/m³, want %.12g Pa, %.12g kg/m³",
					name,
					T,
					y.P,
					y.RhoLiquid,
					x.P,
					x.RhoLiquid,
				)
			}
			p[k] = x.P
		}
		if p[1] > p[0]*(1+1e-8) {
			t.Errorf("%s at %.2f K: dew %.10g Pa above bubble %.10g Pa", name, T, p[1], p[0])
		}
		// Between dew and bubble pressure at T the state is colder than T by part of the glide: near the lower limit it may
		// lie below it. It is then refused, and only then: asked for beyond the range, it is the same state, colder than the limit.
		o := Options{}
		pMid, share := math.Sqrt(p[0]*p[1]), 0.05+0.9*rng.Float64()
		s, err := a.StatePX(pMid, share, o)
		if outside := new(RangeError); errors.As(err, &outside) {
			o.Extrapolate = true
			if s, err = a.StatePX(pMid, share, o); err == nil && s.T >= a.Limits().TMin {
				t.Fatalf("%s: %v, yet its temperature is %.4f K", name, outside, s.T)
			}
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		q, err := a.Recompute(s, o)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !(math.Abs(q.P/s.P-1) <= 1e-7 && math.Abs(q.VapourMass-s.VapourMass) <= 1e-7 && math.Abs(q.H-s.H) <= 1e-3) {
			t.Errorf(
				"%s at %.6g Pa: recomputed %.10g Pa, share %.9f, %.4f J/kg; was %.10g Pa, %.9f, %.4f J/kg",
				name,
				s.P,
				q.P,
				q.VapourMass,
				q.H,
				s.P,
				s.VapourMass,
				s.H,
			)
		}
	})
}

// TestProperty_Monotone: bubble and dew pressure rise with temperature, liquid expands and vapour thickens, over the
// range of every designation (sense).
func TestProperty_Monotone(t *testing.T) {
	for _, name := range Designations() {
		r := mustLoad(t, name)
		l := r.Limits()
		lo := math.Max(l.TMin, math.Min(num.ZeroCelsius-60, 0.6*l.TCrit))
		var was [2]Equilibrium
		for i := range 30 {
			T := lo + float64(i)/29*(0.985*l.TCrit-lo)
			b, err1 := r.BubbleT(T, Options{})
			d, err2 := r.DewT(T, Options{})
			if err1 != nil || err2 != nil {
				t.Errorf("%s at %.2f K: %v, %v", name, T, err1, err2)
				continue
			}
			if was[0].P > 0 && !(b.P > was[0].P && d.P > was[1].P && b.RhoLiquid < was[0].RhoLiquid && d.RhoVapour > was[1].RhoVapour) {
				t.Errorf(
					"%s from %.2f to %.2f K: bubble %.6g to %.6g Pa, dew %.6g to %.6g Pa, liquid %.6g to %.6g, vapour %.6g to %.6g kg/m³",
					name,
					was[0].T,
					T,
					was[0].P,
					b.P,
					was[1].P,
					d.P,
					was[0].RhoLiquid,
					b.RhoLiquid,
					was[1].RhoVapour,
					d.RhoVapour,
				)
			}
			was = [2]Equilibrium{b, d}
		}
	}
}
