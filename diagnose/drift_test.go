package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A charge that falls from visit to visit is a leak, with its rate and its beginning; one that stands is none; and
// one top-up that brings it back does not hide it. Source: definition.
func TestDrift_Plain(t *testing.T) {
	steady := []DriftPoint{
		{Day: 0, Missing: 0.01, Sd: 0.03, Full: true},
		{Day: 180, Missing: 0, Sd: 0.03, Full: true},
		{Day: 365, Missing: 0.02, Sd: 0.03},
	}
	d, ok := DriftOf(steady, 365)
	if !ok || d.Leaking > 0.3 || d.Missing.High > 0.12 {
		t.Errorf("a steady charge: %+v", d)
	}
	falling := []DriftPoint{
		{Day: 0, Missing: 0, Sd: 0.03, Full: true},
		{Day: 180, Missing: 0.01, Sd: 0.03},
		{Day: 365, Missing: 0.12, Sd: 0.03},
		{Day: 500, Missing: 0.21, Sd: 0.03},
	}
	d, _ = DriftOf(falling, 500)
	if d.Leaking < 0.95 || d.Since.Low < 60 || d.Since.High > 330 || d.Rate.Low < 0.1 || d.Rate.High > 0.6 {
		t.Errorf("a falling charge: %+v", d)
	}
	// 0.12 and 0.21 lie on a line of 0.243 a year that begins on day 185.
	if math.Abs(d.Rate.Mid-0.243) > 0.08 || math.Abs(d.Since.Mid-185) > 70 {
		t.Errorf("rate %.3f, since day %.0f", d.Rate.Mid, d.Since.Mid)
	}
	topped := []DriftPoint{
		{Day: 0, Missing: 0, Sd: 0.03, Full: true},
		{Day: 200, Missing: 0.15, Sd: 0.03, Added: 0.15},
		{Day: 400, Missing: 0.15, Sd: 0.03, Added: 0.15},
	}
	if d, _ = DriftOf(topped, 400); d.Leaking < 0.95 || d.Missing.Mid > 0.05 {
		t.Errorf("topped up twice: %+v", d)
	}
	if _, ok := DriftOf(steady[:1], 365); ok {
		t.Error("one visit says something about change")
	}
	// A receiver hides its reserve: clear glass twice says little either way.
	hidden := []DriftPoint{{Day: 0, Missing: 0.35, Sd: 0.1, AtMost: true, Full: true}, {Day: 365, Missing: 0.35, Sd: 0.1, AtMost: true}}
	if d, _ = DriftOf(hidden, 365); d.Leaking < 0.15 || d.Leaking > 0.32 {
		t.Errorf("hidden by the receiver: %+v", d)
	}
}

// On simulated machines of the prior the stated probability is right as often as it says, and 90 % intervals hold the
// truth neither less nor more often than that, within three binomial standard errors. The interval of the beginning is
// of cells of the grid, and of a rate of neighbouring rates on it: the truth is rounded to them before it is looked for.
// Source: definition of calibration; own simulation, not field data.
func TestDrift_Calibrated(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	const n = 600
	var stated, happened, leaks, since, rate float64
	for range n {
		begin, r := math.Inf(1), 0.0
		if rng.Float64() < leakPrior {
			begin, r = 720*rng.Float64(), leakMedian*math.Exp(leakSpread*rng.NormFloat64())
		}
		var points []DriftPoint
		c, last := 0.0, 0.0
		for k := range 5 {
			day := 180 * float64(k)
			if day > begin {
				c += r * (day - math.Max(begin, last)) / daysAYear
			}
			last = day
			m := math.Min(c, 1)
			// t residuals, as the model assumes
			g := 0.0
			for range int(nu) {
				v := rng.NormFloat64()
				g += v * v
			}
			points = append(
				points,
				DriftPoint{Day: day, Missing: m + 0.04*tScale*rng.NormFloat64()*math.Sqrt(nu/g), Sd: 0.04, Full: k == 0},
			)
		}
		d, ok := DriftOf(points, 720)
		if !ok {
			t.Fatal("nothing said")
		}
		stated += d.Leaking
		if r > 0 {
			happened++
			leaks++
			// 40 cells of 18 days and 25 rates a factor of exp(0.24) apart, as DriftOf lays them.
			day := 18 * math.Floor(begin/18)
			if day >= d.Since.Low-1e-9 && day <= d.Since.High+1e-9 {
				since++
			}
			const step = 6 * leakSpread / 25
			cell := math.Floor(math.Log(r/leakMedian)/step + 0.5)
			if cell = math.Max(-12, math.Min(12, cell)); leakMedian*math.Exp(step*cell) >= d.Rate.Low*(1-1e-9) &&
				leakMedian*math.Exp(step*cell) <= d.Rate.High*(1+1e-9) {
				rate++
			}
		}
	}
	if most := 3 * math.Sqrt(n*leakPrior*(1-leakPrior)); math.Abs(stated-happened) > most {
		t.Errorf("stated %.0f leaks of %d, there were %.0f: more than %.0f apart", stated, n, happened, most)
	}
	slack := 3 * math.Sqrt(0.9*0.1/leaks)
	for what, held := range map[string]float64{"beginning": since / leaks, "rate": rate / leaks} {
		if math.Abs(held-0.9) > slack {
			t.Errorf("90 %% intervals hold the %s %.3f times, want 0.900 ± %.3f", what, held, slack)
		}
		t.Logf("%s held %.3f ± %.3f", what, held, slack)
	}
}
