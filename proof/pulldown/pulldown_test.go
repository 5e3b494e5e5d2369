package pulldown

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"coldwright/units"
)

func points(mf ...float64) []Point {
	var out []Point
	for i := 0; i < len(mf); i += 2 {
		out = append(out, Point{Minute: mf[i], Box: units.Fahrenheit(mf[i+1])})
	}
	return out
}

// TestJudge_Freezer: before, 7 °F at 0 min, 4 at 10, 3 at 20, 2 at 27: not holding. After, 9 at 0, 3 at 18, 1
// at 26: falling well (uninsulated floor, off for hours before). Common practice, no source. The box is to hold 0 °F,
// the warm end of a freezer (−10 to 0 °F).
func TestJudge_Freezer(t *testing.T) {
	o := Options{SetPoint: units.Fahrenheit(0)}
	before, err := Judge(points(0, 7, 10, 4, 20, 3, 27, 2), o)
	if err != nil || before.Verdict != Slow && before.Verdict != Stalled {
		t.Errorf("before: %v %v, rate %.2f °F/h, P %.2f, %+v", before.Verdict, err, before.RateLast.F(), before.PReaches6h, before.Forecast)
	}
	after, err := Judge(points(0, 9, 18, 3, 26, 1), o)
	if err != nil || after.Verdict != Falling {
		t.Errorf("after: %v %v, rate %.2f °F/h, P %.2f, %+v", after.Verdict, err, after.RateLast.F(), after.PReaches6h, after.Forecast)
	}
	if after.PReaches6h <= before.PReaches6h {
		t.Errorf("probability %.2f after, %.2f before", after.PReaches6h, before.PReaches6h)
	}
	t.Logf(
		"before %.2f (next hour to %.1f °F), after %.2f (%.1f °F)",
		before.PReaches6h,
		before.Forecast[0].Mid.F(),
		after.PReaches6h,
		after.Forecast[0].Mid.F(),
	)
}

func TestJudge_Verdicts(t *testing.T) {
	o := Options{SetPoint: units.Fahrenheit(36)}
	for _, c := range []struct {
		p    []Point
		want Verdict
	}{
		{points(0, 50, 5, 48), TooShort},
		{points(0, 50, 2, 49, 4, 48), TooShort},
		{points(0, 50, 20, 40, 40, 36), Reached},
		{points(0, 50, 15, 50, 30, 50, 60, 50), Stalled},
		{points(0, 50, 15, 52, 30, 55), Warming},
		{points(0, 60, 10, 52, 20, 47, 30, 43), Falling},
	} {
		got, err := Judge(c.p, o)
		if err != nil || got.Verdict != c.want {
			t.Errorf("%v: %v %v (rate %.1f, P %.2f), want %v", c.p, got.Verdict, err, got.RateLast.F(), got.PReaches6h, c.want)
		}
	}
}

// TestJudge_HonestIntervals: on boxes drawn from the prior, 90 % intervals hold the truth nine times of ten, are no
// wider than that needs, and say more than the prior does (definition of a calibrated forecast). Bounds are three
// standard errors of the number of boxes; the forecast is made with the true prior, so nothing else is allowed for.
func TestJudge_HonestIntervals(t *testing.T) {
	const n = 120
	coverage := 3 * math.Sqrt(0.9*0.1/n)
	for _, c := range []struct{ length, every float64 }{{20, 4}, {60, 10}} {
		rng := rand.New(rand.NewPCG(5, 6))
		set, start := float64(units.Fahrenheit(0)), float64(units.Fahrenheit(30))
		type sums struct{ in, z2, e2 float64 }
		var at [2]sums
		horizons := []float64{120, 360}
		var prior [2][]float64 // what boxes do that were never read
		for range 4000 {
			s := drawn(rng, start, set)
			for k, m := range horizons {
				prior[k] = append(prior[k], s.at(c.length+m))
			}
		}
		for range n {
			s := drawn(rng, start, set)
			var p []Point
			for m := 0.0; m <= c.length; m += c.every {
				f := units.Temp(s.at(m)).F() + 0.7*rng.NormFloat64()
				p = append(p, Point{Minute: m, Box: units.Fahrenheit(math.Round(f))})
			}
			r, err := Judge(p, Options{SetPoint: units.Temp(set)})
			if err != nil || len(r.Forecast) != 3 {
				t.Fatal(err, r)
			}
			for k, m := range horizons {
				b, truth := r.Forecast[k+1], s.at(c.length+m)
				if float64(b.Low) <= truth && truth <= float64(b.High) {
					at[k].in += 1.0 / n
				}
				off := float64(b.Mid) - truth
				z := off / (float64(b.High-b.Low) / (2 * 1.645))
				at[k].z2 += z * z / n
				at[k].e2 += off * off / n
			}
		}
		for k, m := range horizons {
			x := at[k]
			spread := stat.Variance(prior[k], nil)
			t.Logf("%g min every %g: at %g h within %.3f, z² %.2f, rms %.1f °F, before any reading %.1f °F",
				c.length, c.every, m/60, x.in, x.z2, math.Sqrt(x.e2)/units.Fahr, math.Sqrt(spread)/units.Fahr)
			if math.Abs(x.in-0.9) > coverage {
				t.Errorf("%g min, at %g h: %.3f within, want 0.9 ± %.3f", c.length, m/60, x.in, coverage)
			}
			// The square of a standard normal has variance 2; the tails here are somewhat heavier: four standard errors.
			if d := 4 * math.Sqrt(2.0/n); math.Abs(x.z2-1) > d {
				t.Errorf("%g min, at %g h: squared error over squared spread %.2f, want 1 ± %.2f", c.length, m/60, x.z2, d)
			}
			if x.e2 > spread/4 {
				t.Errorf("%g min, at %g h: readings leave more than half of the prior's spread", c.length, m/60)
			}
		}
	}
}

// drawn is a box from the prior.
func drawn(rng *rand.Rand, start, set float64) sample {
	var z [dims]float64
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	z[5] = 0
	return build(&z, start, set, 0)
}

// The order of the points and the zero of the clock change nothing; the same points give the same answer (properties).
func TestJudge_Invariance(t *testing.T) {
	o := Options{SetPoint: units.Fahrenheit(-5)}
	a, _ := Judge(points(0, 7, 10, 4, 20, 3, 27, 2), o)
	b, _ := Judge(points(120, 3, 100, 7, 127, 2, 110, 4), o)
	if a.PReaches6h != b.PReaches6h || a.Forecast[0] != b.Forecast[0] {
		t.Errorf("%+v\n%+v", a.Forecast, b.Forecast)
	}
}

// The closed form solves its differential equations (identity, by differences).
func TestBuild_SolvesTheEquations(t *testing.T) {
	z := [dims]float64{0.3, -0.5, 0.7, 0.2, -0.4, 0}
	s := build(&z, 280, 255, 0)
	tauA, tauP, rho := math.Exp(muTauA+sdTauA*z[0]), math.Exp(muTauP+sdTauP*z[1]), math.Exp(muRho+sdRho*z[2])
	ta, tp := s.at(0), s.tp0
	const dt = 1e-3
	for k := range 60000 {
		da := ((s.tf - ta) + rho*(tp-ta)) / (1 + rho) / tauA
		dp := (ta - tp) / tauP
		ta, tp = ta+dt*da, tp+dt*dp
		if k == 59999 && math.Abs(ta-s.at(60)) > 0.01 {
			t.Errorf("air after 60 min %.4f, stepped %.4f", s.at(60), ta)
		}
	}
}

func TestJudge_RepeatedMinute(t *testing.T) {
	if _, err := Judge(points(0, 3, 0, 4), Options{}); err == nil {
		t.Error("a repeated minute was accepted")
	}
}

func BenchmarkJudge(b *testing.B) {
	p := points(0, 7, 10, 4, 20, 3, 27, 2)
	for b.Loop() {
		if _, err := Judge(p, Options{SetPoint: units.Fahrenheit(-5)}); err != nil {
			b.Fatal(err)
		}
	}
}
