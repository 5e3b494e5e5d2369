package pulldown

import (
	"math"
	"math/rand/v2"
	"testing"

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

// TestJudge_CheckVisit: a freezer before and after its repair, at the cold and the warm end of what freezers hold. The
// falls are those of a check visit of common practice (no source), with other numbers; each is judged knowing the other,
// as on one machine.
func TestJudge_CheckVisit(t *testing.T) {
	for _, c := range []struct{ before, after []Point }{
		{points(0, 7, 10, 4, 20, 3, 27, 2), points(0, 9, 18, 3, 26, 1)},
		{points(0, 8, 9, 5, 18, 4, 28, 3), points(0, 10, 14, 4, 25, 1)},
		{points(0, 11, 12, 8, 21, 7, 30, 6), points(0, 12, 10, 8, 20, 4, 30, 2)},
	} {
		for _, set := range []float64{-5, 0} {
			before, err := Judge(c.before, Options{SetPoint: units.Fahrenheit(set), Later: c.after})
			if err != nil || before.Verdict != Slow && before.Verdict != Stalled {
				t.Errorf("set %g °F, before: %v %v, P %.2f", set, before.Verdict, err, before.PReaches6h)
			}
			after, err := Judge(c.after, Options{SetPoint: units.Fahrenheit(set), Earlier: c.before})
			if err != nil || after.Verdict != Falling {
				t.Errorf("set %g °F, after: %v %v, P %.2f", set, after.Verdict, err, after.PReaches6h)
			}
			if alone, _ := Judge(c.before, Options{SetPoint: units.Fahrenheit(set)}); alone.PReaches6h < before.PReaches6h {
				t.Errorf("set %g °F: the faster fall afterwards raises P before from %.2f to %.2f", set, alone.PReaches6h, before.PReaches6h)
			}
			if r := after.Against; r == nil || !(r.Faster.Mid > 1.3 && r.Faster.Mid < 4 && r.PFaster > 0.75) {
				t.Errorf("set %g °F: after against before %+v", set, r)
			} else {
				t.Logf("set %g °F: before %v %.2f, after %v %.2f, %.1f (%.1f to %.1f) times as fast", set,
					before.Verdict, before.PReaches6h, after.Verdict, after.PReaches6h, r.Faster.Mid, r.Faster.Low, r.Faster.High)
			}
		}
	}
}

// decay is readings of one exponential, °F, rounded to a degree where round is true.
func decay(rng *rand.Rand, n int, span, end, fall, tau, noise float64, round bool) []Point {
	var out []Point
	for i := range n {
		m := span * float64(i) / float64(n-1)
		f := end + fall*math.Exp(-m/tau) + noise*rng.NormFloat64()
		if round {
			f = math.Round(f)
		}
		out = append(out, Point{Minute: m, Box: units.Fahrenheit(f)})
	}
	return out
}

// Any number of readings leaves a band of some width: what a curve does not know does not average away. A degree
// Fahrenheit each way is what a control's swing alone does.
func TestJudge_BandsKeepTheirWidth(t *testing.T) {
	for _, n := range []int{3, 12, 100, 1000, 10000} {
		r, err := Judge(decay(rand.New(rand.NewPCG(1, uint64(n))), n, 240, 7, 25, 50, 0.3, false), Options{SetPoint: units.Fahrenheit(0)})
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range r.Forecast {
			if w := (b.High - b.Low) / units.Fahr; w < 2 || w > 40 {
				t.Errorf("%d readings: %g minutes on %.1f °F wide", n, b.Minute, w)
			}
		}
	}
}

// A box that flattens out 7 °F above its set point is not called falling well more than once in twenty, from 45 minutes on
// (readings rounded to a degree, 60 draws of noise: more than seven by chance once in a hundred). After half an hour it
// still falls 17 °F an hour: there "likely" may be wrong three times of ten.
func TestJudge_StallsAboveItsSetPoint(t *testing.T) {
	for span, most := range map[float64]int{30: 18, 45: 7, 60: 7, 120: 7} {
		rng := rand.New(rand.NewPCG(7, uint64(span)))
		falling := 0
		for range 60 {
			r, err := Judge(decay(rng, 1+int(span/5), span, 7, 23, 25, 0.7, true), Options{SetPoint: units.Fahrenheit(0)})
			if err != nil {
				t.Fatal(err)
			}
			if r.Verdict == Falling {
				falling++
			}
		}
		t.Logf("%g min: %d of 60", span, falling)
		if falling > most {
			t.Errorf("%g min: %d of 60 called falling well", span, falling)
		}
	}
}

// Two falls along the same straight line, one at k times the speed: the interval holds k (definition), nine times of ten.
func TestJudge_HoldsTheRatioOfSpeeds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	in := 0
	const n = 40
	for i := range n {
		k := []float64{0.7, 1, 1.5, 2.5}[i%4]
		line := func(speed, from float64) []Point {
			var out []Point
			for m := 0.0; m <= 40; m += 5 {
				f := from - speed*m + 0.7*rng.NormFloat64()
				out = append(out, Point{Minute: m, Box: units.Fahrenheit(math.Round(f))})
			}
			return out
		}
		r, err := Judge(line(0.25*k, 32), Options{SetPoint: units.Fahrenheit(0), Earlier: line(0.25, 30)})
		c := r.Against
		if err != nil || c == nil {
			t.Fatal(c, err)
		}
		if c.Faster.Low <= k && k <= c.Faster.High {
			in++
		}
	}
	t.Logf("%d of %d", in, n)
	if lo := n * (0.9 - 3*math.Sqrt(0.9*0.1/n)); float64(in) < lo {
		t.Errorf("the interval holds the ratio %d times of %d, want %.0f", in, n, lo)
	}
	o := Options{SetPoint: units.Fahrenheit(0), Earlier: points(0, 30, 10, 28, 20, 26)}
	if r, err := Judge(points(0, 20, 10, 18, 20, 16), o); err != nil || r.Against != nil {
		t.Errorf("boxes that shared no temperature are compared: %+v %v", r.Against, err)
	}
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

func TestJudge_RepeatedMinute(t *testing.T) {
	if _, err := Judge(points(0, 3, 0, 4), Options{}); err == nil {
		t.Error("a repeated minute was accepted")
	}
}

func BenchmarkJudgeLogger(b *testing.B) {
	p := decay(rand.New(rand.NewPCG(1, 1)), 10000, 240, 7, 25, 50, 0.3, false)
	for b.Loop() {
		if _, err := Judge(p, Options{SetPoint: units.Fahrenheit(-5)}); err != nil {
			b.Fatal(err)
		}
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
