package pulldown

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/units"
	"coldwright/verdict/threshold"
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
// the warm end of a freezer (−10 to 0 °F). That it does not hold is certain before only of a box that is to be colder: of
// 0 °F, 2 degrees under the last of four readings in half an hour, the odds are two to one, which is not decided.
func TestJudge_Freezer(t *testing.T) {
	o := Options{SetPoint: units.Fahrenheit(0)}
	before, err := Judge(points(0, 7, 10, 4, 20, 3, 27, 2), o)
	if err != nil || before.Verdict != Undecided && before.Verdict != Slow && before.Verdict != Stalled {
		t.Errorf("before: %v %v, rate %.2f °F/h, P %.2f, %+v", before.Verdict, err, before.RateLast.F(), before.PReaches6h, before.Forecast)
	}
	if cold, err := Judge(points(0, 7, 10, 4, 20, 3, 27, 2), Options{SetPoint: units.Fahrenheit(-5)}); err != nil ||
		cold.Verdict != Slow && cold.Verdict != Stalled {
		t.Errorf("before, −5 °F: %v %v, P %.2f, falls well %.2f", cold.Verdict, err, cold.PReaches6h, cold.PWell)
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
// as on one machine. Before it no box falls well; at the warm end that may be undecided.
func TestJudge_CheckVisit(t *testing.T) {
	for _, c := range []struct{ before, after []Point }{
		{points(0, 7, 10, 4, 20, 3, 27, 2), points(0, 9, 18, 3, 26, 1)},
		{points(0, 8, 9, 5, 18, 4, 28, 3), points(0, 10, 14, 4, 25, 1)},
		{points(0, 11, 12, 8, 21, 7, 30, 6), points(0, 12, 10, 8, 20, 4, 30, 2)},
	} {
		for _, set := range []float64{-5, 0} {
			before, err := Judge(c.before, Options{SetPoint: units.Fahrenheit(set), Later: c.after})
			if err != nil || before.Verdict != Slow && before.Verdict != Stalled && (before.Verdict != Undecided || set < 0) {
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

// What is said of a box and what is believed of it agree: too slowly is said where falling well is likely not to be so,
// not decided between, and then a reading is named that is still to come, by the zero of the points.
func TestJudge_NotDecidedIsNotTooSlow(t *testing.T) {
	seen := map[Verdict]int{}
	rng := rand.New(rand.NewPCG(3, 5))
	for range 60 {
		pts := decay(rng, 4, 30, 34+8*rng.Float64(), 6+10*rng.Float64(), 15+30*rng.Float64(), 0.3, true)
		for i := range pts {
			pts[i].Minute += 100
		}
		r, err := Judge(pts, Options{SetPoint: units.Fahrenheit(36)})
		if err != nil {
			t.Fatal(err)
		}
		seen[r.Verdict]++
		switch {
		case r.Verdict == Slow && r.PWell >= threshold.PullMisses, r.Verdict == Undecided && r.PWell < threshold.PullMisses:
			t.Errorf("%v with %.2f", r.Verdict, r.PWell)
		case r.Verdict == Undecided && !(r.DecidesAt > 130 && r.DecidesAt <= 190):
			t.Errorf("decided at minute %g, last read at 130", r.DecidesAt)
		case r.Verdict != Undecided && r.DecidesAt != 0:
			t.Errorf("%v, and minute %g decides", r.Verdict, r.DecidesAt)
		case r.PWell > r.PReaches6h:
			t.Errorf("falls well %.2f, there in six hours %.2f", r.PWell, r.PReaches6h)
		}
	}
	if seen[Undecided] == 0 || seen[Slow] == 0 || seen[Falling] == 0 {
		t.Errorf("seen %v", seen)
	}
}

// Without a residual a course is the closed form of its bodies. One body: T = e + a exp(−t/τ), there at τ ln(a/(s−e)). Two:
// air of capacity c₁ cooled by q beside a mass c₂ behind a conductance k; modes from the 2 by 2 matrix of the balance. Three:
// a mass behind k on each side of the air; then the modes sum to a course whose balance closes, by finite differences.
func TestCourse_ClosedForms(t *testing.T) {
	one := course{end: 250, fast: 20, tau: [3]float64{40, 1, 1}, resTau: 60}
	if got, want := one.reaches(255), 40*math.Log(20.0/5); math.Abs(got-want) > 0.02 {
		t.Errorf("one body: there after %.3f min, want %.3f", got, want)
	}
	if got, want := one.between(268, 256, 0), 0.0; got != want {
		t.Errorf("no readings, no time between: %g", got)
	}
	// Two bodies about a common end: c1 x' = −g x + k(y − x), c2 y' = k(x − y).
	const c1, c2, k, g = 10.0, 90.0, 2.0, 1.5
	tr, det := -(g+k)/c1-k/c2, (g+k)/c1*k/c2-k*k/(c1*c2)
	l1, l2 := 0.5*(tr-math.Sqrt(tr*tr-4*det)), 0.5*(tr+math.Sqrt(tr*tr-4*det))
	x0, y0 := 12.0, 15.0
	rate := (-(g+k)*x0 + k*y0) / c1
	a := (rate - l2*x0) / (l1 - l2)
	two := course{end: 260, fast: a, slow: x0 - a, tau: [3]float64{-1 / l1, 1, -1 / l2}, resTau: 60}
	x, y := x0, y0 // the same, stepped in heat flows
	const dt = 1e-3
	for n := 0; n <= 120000; n++ {
		if n%20000 == 0 {
			if got := two.running(float64(n) * dt); math.Abs(got-260-x) > 2e-3 {
				t.Errorf("two bodies at %g min: %.4f, want %.4f", float64(n)*dt, got, 260+x)
			}
		}
		dx, dy := (-g*x+k*(y-x))/c1, k*(x-y)/c2
		x, y = x+dt*dx, y+dt*dy
	}
	// Three bodies: lining and product behind conductances of their own. The characteristic polynomial, by bisection.
	const cl, cp, kl, kp = 40.0, 400.0, 3.0, 1.0
	f := func(s float64) float64 { // balance of the air for exp(s t): 0 at a mode
		return c1*s + g + kl*cl*s/(cl*s+kl) + kp*cp*s/(cp*s+kp)
	}
	root := func(lo, hi float64) float64 {
		for range 200 {
			if m := 0.5 * (lo + hi); (f(m) > 0) == (f(lo) > 0) {
				lo = m
			} else {
				hi = m
			}
		}
		return 0.5 * (lo + hi)
	}
	poles := [2]float64{-kl / cl, -kp / cp}
	s := [3]float64{root(-5, poles[0]-1e-9), root(poles[0]+1e-9, poles[1]-1e-9), root(poles[1]+1e-9, 0)}
	amp := [3]float64{5, 4, 3}
	three := course{end: 260, fast: amp[0], lining: amp[1], slow: amp[2], tau: [3]float64{-1 / s[0], -1 / s[1], -1 / s[2]}, resTau: 60}
	x = amp[0] + amp[1] + amp[2]
	var lin, prod float64
	for i := range s {
		lin += amp[i] * kl / (cl*s[i] + kl)
		prod += amp[i] * kp / (cp*s[i] + kp)
	}
	for n := 0; n <= 240000; n++ {
		if n%40000 == 0 {
			if got := three.running(float64(n) * dt); math.Abs(got-260-x) > 3e-3 {
				t.Errorf("three bodies at %g min: %.4f, want %.4f", float64(n)*dt, got, 260+x)
			}
		}
		dx := (-g*x + kl*(lin-x) + kp*(prod-x)) / c1
		dl, dp := kl*(x-lin)/cl, kp*(x-prod)/cp
		x, lin, prod = x+dt*dx, lin+dt*dl, prod+dt*dp
	}
}

// Read without noise, an exponential is found again, whatever the number of bodies judged: one body of 45 min, and air of
// 10 min before a lining of 60: what the closed form says stands in the band one and two hours on.
func TestJudge_ClosedForms(t *testing.T) {
	for name, at := range map[string]func(m float64) float64{
		"one body":   func(m float64) float64 { return 34 + 20*math.Exp(-m/45) },
		"two bodies": func(m float64) float64 { return 34 + 8*math.Exp(-m/10) + 16*math.Exp(-m/60) },
		"three bodies": func(m float64) float64 {
			return 33 + 8*math.Exp(-m/8) + 9*math.Exp(-m/50) + 5*math.Exp(-m/900)
		},
	} {
		var pts []Point
		for m := 0.0; m <= 90; m += 5 {
			pts = append(pts, Point{Minute: m, Box: units.Fahrenheit(at(m))})
		}
		r, err := Judge(pts, Options{SetPoint: units.Fahrenheit(34)})
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range r.Forecast[:2] {
			want := units.Fahrenheit(at(90 + b.Minute))
			if !(b.Low <= want && want <= b.High) || math.Abs(b.Mid.F()-want.F()) > 2 {
				t.Errorf("%s in %g min: %.1f (%.1f to %.1f) °F, want %.1f", name, b.Minute, b.Mid.F(), b.Low.F(), b.High.F(), want.F())
			}
		}
	}
}

// One set of courses serves the probability, the minutes and the bands: the probability of the set point by a time never
// falls with it, at six hours it is the one that is said, and where a control stops the machine no band reaches farther
// under the set point than its cut-out may stand, however surely the machine would go on.
func TestJudge_EndsWhereTheControlStops(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	below := 0
	for range 12 {
		pts := decay(rng, 7, 60, 20*rng.Float64()-10, 20, 30+40*rng.Float64(), 0.3, true)
		o := Options{SetPoint: units.Fahrenheit(0)}
		r, err := Judge(pts, o)
		if err != nil {
			t.Fatal(err)
		}
		if lowest(pts) < float64(o.SetPoint) {
			continue // it has run on already
		}
		p := 0.0
		for _, b := range r.Forecast {
			if b.There < p {
				t.Errorf("by %g min %.3f, earlier %.3f", b.Minute, b.There, p)
			}
			p = b.There
			if b.Low < o.SetPoint-units.Temp(cutUnder) {
				t.Errorf("in %g min down to %.1f °F, set point 0", b.Minute, b.Low.F())
			}
			if !(b.High > b.Low+0.5) {
				t.Errorf("in %g min no width: %.1f to %.1f °F", b.Minute, b.Low.F(), b.High.F())
			}
		}
		if p != r.PReaches6h {
			t.Errorf("within six hours %.3f and %.3f", p, r.PReaches6h)
		}
		o.RunsOn = true
		on, err := Judge(pts, o)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(on.PReaches6h-r.PReaches6h) > 0.03 { // other draws: 2000 of them are good to 0.011
			t.Errorf("a control that stops it there moves the probability of getting there from %.3f to %.3f", on.PReaches6h, r.PReaches6h)
		}
		if on.Forecast[2].Low < o.SetPoint-units.Temp(cutUnder) {
			below++
		}
	}
	if below == 0 {
		t.Error("no machine that is not stopped falls below its set point")
	}
}
