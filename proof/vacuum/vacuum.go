package vacuum

import (
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/gasflow"
	"coldwright/internal/table"
	"coldwright/num"
	"coldwright/proof/size"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/water"
)

// Point is one look at the vacuum gauge after the valve to the pump was shut.
type Point struct {
	Minute   float64
	Pressure units.Pressure // absolute
}

// Verdict of a vacuum rise test.
type Verdict int

// The verdicts.
const (
	Unknown Verdict = iota
	DryAndTight
	Leak
	Moisture
	Both
	CannotProveDry
	Undecided
)

func (v Verdict) String() string {
	return [...]string{"unknown", "dry_and_tight", "leak", "moisture", "both", "cannot_prove_dry", "undecided"}[v]
}

// MarshalText writes the word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Codes of a rise test. The words for them stand in package text.
const (
	FewPoints           = "fewer_than_four_readings"
	LineOrLevelling     = "line_or_levelling"     // the curve is too short to tell a leak from moisture
	LeakNotExcluded     = "leak_not_excluded"     // moisture for sure, perhaps a leak as well
	MoistureNotExcluded = "moisture_not_excluded" // a leak for sure, perhaps moisture as well
	HoldNotOver         = "hold_not_over"         // well so far, but the criterion asks to stand longer
	TargetNotReached    = "target_not_reached"    // the criterion asks for a deeper vacuum first
	AboveAccept         = "final_above_accept"    // it stands, but too high
	// levels off where water at the coldest part cannot stand: refrigerant out of the oil, or a wrong temperature
	AboveWaterCeiling = "levels_above_ceiling"
	PressureFalls     = "pressure_falls"
	ColdestUnknown    = "coldest_unknown"
	TooColdForDry     = "too_cold_for_dry" // ice at the coldest part would stand at or below this reading
	SmallStraightRise = "small_straight_rise"
	NeverDecides      = "longer_does_not_help"
)

// Options tune the judgement; zero values are the documented defaults.
type Options struct {
	Volume       float64        // m³; 0: not known, and then no leak size
	Coldest      units.Temp     // of the coldest part under vacuum; 0: not known, and then dryness cannot be proven
	ColdestU     units.TempDiff // standard uncertainty; 0: 1 K
	Gas          units.Temp     // of most of the volume, for the mass of water; 0: 20 °C
	Outside      units.Pressure // atmosphere; 0: sea level
	Profile      *Profile       // criterion; nil: defaultProfile default, see doc.go
	GaugeRel     float64        // tolerance of the gauge, share of the reading; 0: 0.1
	GaugeAbs     units.Pressure // and absolute; 0: 10 micron
	ReadRel      float64        // scatter of one look, share, standard uncertainty; 0: 0.01
	ReadAbs      units.Pressure // and absolute; 0: 2 micron
	Refrigerants []*refrigerant.Refrigerant
	Working      units.Pressure
}

// defaultProfile is what is asked where no criterion is named: stand a quarter of an hour, end at 500 micron or less, 200
// micron of levelling rise at most (the step of UFGS 15182) and a straight part of one micron a minute at most.
// Judgement.
var defaultProfile = Profile{Key: "house", Hold: 15, Accept: 500, Source: "judgement", Evidence: "MEMORY"}

const (
	maxRise      = 2000  // points that are used
	defaultRise  = 200.0 // micron
	defaultSlope = 1.0   // micron per minute
	sureRise     = 0.95
	likely       = 0.5  // where one is sure, the other is left open in a finding below this, and undecided from it
	givesOff     = 25.0 // micron that any clean volume may give off at first, standard uncertainty; judgement
)

func (o Options) defaults() Options {
	set := func(v *float64, d float64) {
		if !(*v > 0) {
			*v = d
		}
	}
	set((*float64)(&o.ColdestU), 1)
	set((*float64)(&o.Gas), float64(units.Celsius(20)))
	set((*float64)(&o.Outside), float64(units.Atm))
	set(&o.GaugeRel, 0.1)
	set((*float64)(&o.GaugeAbs), 10*units.Micron)
	set(&o.ReadRel, 0.01)
	set((*float64)(&o.ReadAbs), 2*units.Micron)
	return o
}

// Part is a share of the rise: standard uncertainty, and the interval that holds it 90 times of 100. The gauge's tolerance is inside.
type Part struct {
	Uncertain
	Low  float64
	High float64
}

// Result is the answer.
type Result struct {
	Verdict     Verdict
	Reason      string // code
	N           int
	Span        float64 // minutes
	First, Last units.Pressure
	Profile     Profile
	Horizon     float64         // minutes at which the parts are counted: the test, or the hold asked for when that is longer
	Leak        Part            // micron per minute, the straight part
	Moisture    Part            // micron at the horizon, the levelling part
	PLeak       float64         // probability that the straight part is more than allowed
	PMoisture   float64         // probability that the levelling part is more than allowed
	Tau         float64         // minutes of the levelling part, where it is there
	AllowedLeak float64         // micron per minute
	AllowedRise float64         // micron
	DryLimit    *units.Pressure // vapour over ice or water at the coldest part
	Flow        *float64        // Pa m³/s of air, from the straight part
	StdCC       *float64
	WaterGrams  *float64    // vapour of the levelling part
	Leaks       []size.Leak // by the middle of the straight part
	LeaksHigh   []size.Leak // by its upper end: not larger than this
	MinutesLeft *float64
	Findings    []string
}

// CurvePoint is the most likely curve at a minute after the first reading: the whole of it, and where it would stand by
// the straight part alone.
type CurvePoint struct {
	Minute      float64
	Whole, Leak units.Pressure
}

// DefaultProfile is the criterion of a rise test where none is named; see doc.go.
func DefaultProfile() Profile { return defaultProfile }

// Curve returns the most likely rise and its straight part, for a figure.
//
//   - in: the points and options of [Judge]; to, minutes after the first reading, above 0
//   - out: 41 moments from 0 to there; nothing with fewer than four points or where Judge refuses them
//   - source: as [Judge]: the four curves averaged by their weights
//   - cost: as Judge
func Curve(points []Point, o Options, to float64) []CurvePoint {
	o = o.defaults()
	pts := append([]Point{}, points...)
	if len(pts) < 4 || !(to > 0) || table.InOrder(pts, func(p Point) float64 { return p.Minute }) != nil {
		return nil
	}
	whole, straight := bestCurves(pts, o)
	var out []CurvePoint
	for i := range 41 {
		t := to * float64(i) / 40
		out = append(out, CurvePoint{t, units.Pressure(whole(t)), units.Pressure(straight(t))})
	}
	return out
}

// Judge judges a vacuum rise test.
//
//		p(t) = p0 + a t + b (1 − exp(−t/τ));  a ≥ 0 is air through a leak, 0 ≤ b ≤ vapour over the coldest part is moisture
//
//	  - in: points in any order, from the moment the pump was shut off
//	  - out: verdict, leak and moisture part, probabilities, what the coldest part lets one prove
//	  - errors: [*fail.Error]: no points, repeated minutes, values that cannot be
//	  - assumes: volume shut off from the pump, temperatures steady; pressure far below the atmosphere, so that a leak flows steadily (choked)
//	  - source: model averaging over four curves (level, line, levelling, both) with τ on a grid, half-normal priors on the scale of the whole rise, noise
//	    learned from the scatter; ours, see doc.go. Ceiling: [water.VapourPressure]
//	  - cost: under 20 ms for 1,000 points
func Judge(points []Point, o Options) (Result, error) {
	o = o.defaults()
	if len(points) == 0 {
		return Result{}, fail.Of(fail.Required, "points", "vacuum.no_reading", nil)
	}
	pts := append([]Point{}, points...)
	if err := table.InOrder(pts, func(p Point) float64 { return p.Minute }); err != nil {
		return Result{}, err
	}
	for i, p := range pts {
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) || !(p.Pressure >= 0 && p.Pressure <= 120e3) {
			return Result{}, fail.Of(fail.Range, fmt.Sprintf("reading %d", i+1), "vacuum.at",
				fail.Args{"pressure": float64(p.Pressure) / units.Micron, "minute": p.Minute})
		}
	}
	if o.Volume < 0 || o.Volume > 1e3 || o.Coldest != 0 && !(o.Coldest >= 180 && o.Coldest <= 373) {
		return Result{}, fail.Of(fail.Range, "options", "vacuum.options", nil)
	}
	if every := (len(pts) + maxRise - 1) / maxRise; every > 1 {
		thin := pts[:0]
		for i, p := range pts {
			if i%every == 0 || i == len(pts)-1 {
				thin = append(thin, p)
			}
		}
		pts = thin
	}
	out := judge(pts, o)
	out.N = len(points)
	if out.Verdict != Undecided || out.Reason == PressureFalls || out.Reason == AboveWaterCeiling || out.Reason == AboveAccept ||
		out.Reason == TargetNotReached {
		return out, nil
	}
	if out.Reason == HoldNotOver {
		left := out.Profile.Hold - out.Span
		out.MinutesLeft = &left
		return out, nil
	}
	// Would a longer test decide, if the curve goes on as it most likely does?
	step := math.Max(1, out.Span/math.Max(1, float64(len(pts)-1)))
	best := bestCurve(pts, o)
	for _, grow := range []float64{1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 12} {
		want := math.Max(out.Span*grow, out.Span+2*step)
		if want > 24*60 {
			break
		}
		long := append([]Point{}, pts...)
		for m := out.Span + step; m <= want && len(long) < 5000; m += step {
			long = append(long, Point{pts[0].Minute + m, units.Pressure(best(m))})
		}
		if j := judge(long, o); j.Verdict != Undecided || j.Reason == HoldNotOver {
			left := math.Max(want, out.Profile.Hold) - out.Span
			out.MinutesLeft = &left
			return out, nil
		}
	}
	out.Findings = append(out.Findings, NeverDecides)
	return out, nil
}

// curve is a fit of the four for one τ: means and covariance of line and levelling part, and its weight.
type curve struct {
	kind          int // 0 level, 1 line, 2 levelling, 3 both
	tau           float64
	p0, a, b      float64 // a per minute
	vaa, vab, vbb float64
	logw, rss     float64
}

// readings prepares the readings.
type readings struct {
	t, y, w      []float64 // minutes from the first; Pa; 1/variance
	span         float64
	scaleA       float64 // prior scale of the line, Pa per minute
	rise         float64 // prior scale of what levels off within the test, Pa
	tauLo, tauHi float64 // minutes
}

func prepare(pts []Point, o Options) readings {
	f := readings{span: pts[len(pts)-1].Minute - pts[0].Minute}
	lo, hi := math.Inf(1), 0.0
	for _, p := range pts {
		y := float64(p.Pressure)
		s := math.Hypot(float64(o.ReadAbs), o.ReadRel*y)
		f.t = append(f.t, p.Minute-pts[0].Minute)
		f.y = append(f.y, y)
		f.w = append(f.w, 1/(s*s))
		lo, hi = math.Min(lo, y), math.Max(hi, y)
	}
	f.scaleA = math.Max(5*units.Micron, (hi-lo)/math.Max(1, f.span))
	f.rise = math.Max(100*units.Micron, 1.5*(hi-lo))
	// Time constants from a fifth of the mean step to two hours: what dries slower looks like a leak for as long as anybody stands there.
	f.tauLo = math.Max(0.3, f.span/math.Max(1, float64(len(pts)-1))/5)
	f.tauHi = math.Max(slowest, 4*f.tauLo)
	// Noise learned from the best of the widest curve, and looks that hang together.
	best := curve{rss: math.Inf(1)}
	for _, tau := range steps(f.tauLo, f.tauHi, coarse) {
		if c := f.fit(3, tau); c.rss < best.rss {
			best = c
		}
	}
	ratio := math.Pow(f.tauHi/f.tauLo, 1/float64(coarse-1))
	for _, tau := range steps(best.tau/ratio, best.tau*ratio, coarse) {
		if c := f.fit(3, tau); c.rss < best.rss {
			best = c
		}
	}
	nn := float64(len(pts))
	s2 := (nuPrior + best.rss) / (nuPrior + math.Max(0, nn-4))
	if len(pts) >= 12 {
		var r0, r1, prev float64
		for i := range f.t {
			r := (f.y[i] - best.at(f.t[i])) * math.Sqrt(f.w[i])
			r0 += r * r
			if i > 0 {
				r1 += r * prev
			}
			prev = r
		}
		if c := math.Min(0.9, r1/r0); c > 0 {
			s2 *= (1 + c) / (1 - c)
		}
	}
	for i := range f.w {
		f.w[i] /= s2
	}
	return f
}

func (c *curve) at(t float64) float64 {
	v := c.p0 + c.a*t
	if c.kind >= 2 {
		v += c.b * (1 - math.Exp(-t/c.tau))
	}
	return v
}

const (
	slowest = 120.0 // minutes
	coarse  = 40
	// nuPrior is what the assumed noise of a look is worth in looks; more looks move it to what they scatter.
	nuPrior = 10
	z95     = num.Normal90
)

// steps are n values in equal ratios.
func steps(lo, hi float64, n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = lo * math.Pow(hi/lo, float64(k)/float64(n-1))
	}
	return out
}

// scaleB is the prior scale of the levelling part: what it would show within the test is on the scale of what was seen.
func (f *readings) scaleB(tau float64) float64 {
	return f.rise / (1 - math.Exp(-math.Max(f.span, 1e-3)/tau))
}

// fit solves one of the four curves for one τ by weighted least squares with half-normal priors.
func (f *readings) fit(kind int, tau float64) curve {
	var m [9]float64
	var v [3]float64
	cc := 0.0
	use := [3]bool{true, kind == 1 || kind == 3, kind >= 2}
	base, scaleB := f.y[0], f.scaleB(tau)
	for i, t := range f.t {
		row := [3]float64{1, t, 0}
		if use[2] {
			row[2] = 1 - math.Exp(-t/tau)
		}
		y := f.y[i] - base
		cc += f.w[i] * y * y
		for r := range 3 {
			if !use[r] {
				continue
			}
			v[r] += f.w[i] * row[r] * y
			for c := range 3 {
				if use[c] {
					m[3*r+c] += f.w[i] * row[r] * row[c]
				}
			}
		}
	}
	k := 1.0
	for r := range 3 {
		if !use[r] {
			m[3*r+r] = 1
			continue
		}
		switch r {
		case 1:
			m[4] += 1 / (f.scaleA * f.scaleA)
			k++
		case 2:
			m[8] += 1 / (scaleB * scaleB)
			k++
		}
	}
	var inv [9]float64
	for j := range 3 {
		a, e := append([]float64{}, m[:]...), make([]float64, 3)
		e[j] = 1
		num.SolveDense(3, a, e)
		for i := range 3 {
			inv[3*i+j] = e[i]
		}
	}
	var th [3]float64
	q := cc
	for i := range 3 {
		for j := range 3 {
			th[i] += inv[3*i+j] * v[j]
		}
	}
	for i := range 3 {
		q -= th[i] * v[i]
	}
	det := m[0]*(m[4]*m[8]-m[5]*m[7]) - m[1]*(m[3]*m[8]-m[5]*m[6]) + m[2]*(m[3]*m[7]-m[4]*m[6])
	c := curve{kind: kind, tau: tau, p0: base + th[0], vaa: inv[4], vab: inv[5], vbb: inv[8]}
	if use[1] {
		c.a = th[1]
		c.logw += math.Log(2 / (math.Sqrt(2*math.Pi) * f.scaleA))
	}
	if use[2] {
		c.b = th[2]
		c.logw += math.Log(2 / (math.Sqrt(2*math.Pi) * scaleB))
	}
	c.logw += -0.5*q + 0.5*k*math.Log(2*math.Pi) - 0.5*math.Log(math.Max(det, 1e-300))
	for i, t := range f.t {
		r := f.y[i] - c.at(t)
		c.rss += f.w[i] * r * r
	}
	return c
}

// piece is one piece of the answer: a levelling part b with τ, and a normal line part cut off below zero.
type piece struct {
	w       float64
	tau     float64
	b       float64
	a, sa   float64 // sa < 0: no line part
	norm    float64 // of the cut-off normal
	hasLine bool
}

// pieces spreads a curve over its levelling part, weights relative to ref; ceiling is the most the levelling part can be.
func (c *curve) pieces(ref, ceiling float64, into []piece) []piece {
	w := math.Exp(c.logw - ref)
	line := func(w, b, mean, variance float64) {
		s := math.Sqrt(variance)
		p := num.NormalCDF(mean / s)
		if w*p > 1e-14 {
			into = append(into, piece{w * p, c.tau, b, mean, s, p, true})
		}
	}
	switch c.kind {
	case 0:
		return append(into, piece{w: w})
	case 1:
		line(w, 0, c.a, c.vaa)
		return into
	}
	s := math.Sqrt(c.vbb)
	lo, hi := math.Max(0, c.b-7*s), math.Min(ceiling, c.b+7*s)
	if c.b < 0 {
		hi = math.Min(ceiling, 8*s*math.Min(1, s/-c.b))
	}
	if hi <= lo {
		if c.b <= ceiling {
			return into
		}
		// The mean stands above the ceiling: the tail below it, which falls off within s²/(b − ceiling).
		lo, hi = math.Max(0, ceiling-8*s*math.Min(1, s/(c.b-ceiling))), ceiling
	}
	const n = 40
	h := (hi - lo) / n
	for k := range n {
		b := lo + (float64(k)+0.5)*h
		z := (b - c.b) / s
		wk := w * math.Exp(-0.5*z*z) / (math.Sqrt(2*math.Pi) * s) * h
		if c.kind == 2 {
			if wk > 1e-14 {
				into = append(into, piece{w: wk, tau: c.tau, b: b})
			}
			continue
		}
		line(wk, b, c.a+c.vab/c.vbb*(b-c.b), math.Max(1e-18, c.vaa-c.vab*c.vab/c.vbb))
	}
	return into
}

// average runs all curves; it returns the pieces, weights adding up to one, and the log of the whole. The time
// constants of a levelling curve are spread evenly in ratio, first over the whole range, then once more where the
// weight lies.
func (f *readings) average(ceiling float64) ([]piece, float64) {
	all := []curve{f.fit(0, 1), f.fit(1, 1)}
	whole := math.Log(f.tauHi / f.tauLo)
	for kind := 2; kind <= 3; kind++ {
		one := func(tau float64) curve {
			c := f.fit(kind, tau)
			room := math.Erf(ceiling / f.scaleB(tau) / math.Sqrt2) // of the prior below the ceiling
			c.logw -= math.Log(math.Max(room, 1e-12))
			return c
		}
		taus := steps(f.tauLo, f.tauHi, coarse)
		logs := make([]float64, len(taus))
		top := math.Inf(-1)
		for k, tau := range taus {
			c := one(tau)
			mass := 0.0
			for _, p := range c.pieces(c.logw, ceiling, nil) {
				mass += p.w
			}
			logs[k] = c.logw + math.Log(math.Max(mass, 1e-300))
			top = math.Max(top, logs[k])
		}
		lo, hi := len(taus)-1, 0
		for k, l := range logs {
			if l > top-9 {
				lo, hi = min(lo, max(k-1, 0)), max(hi, min(k+1, len(taus)-1))
			}
		}
		const fine = 48
		share := math.Log(math.Log(taus[hi]/taus[lo])/whole) - math.Log(fine)
		ratio := math.Pow(taus[hi]/taus[lo], 1/float64(fine))
		for k := range fine {
			c := one(taus[lo] * math.Pow(ratio, float64(k)+0.5))
			c.logw += share
			all = append(all, c)
		}
	}
	ref := math.Inf(-1)
	for _, c := range all {
		ref = math.Max(ref, c.logw)
	}
	var ps []piece
	for i := range all {
		ps = all[i].pieces(ref, ceiling, ps)
	}
	sum := 0.0
	for _, p := range ps {
		sum += p.w
	}
	if sum == 0 { // everything cut off: what is left is the level
		return []piece{{w: 1}}, math.Inf(-1)
	}
	for i := range ps {
		ps[i].w /= sum
	}
	return ps, ref + math.Log(sum)
}

// bestCurve continues the readings along the most likely mean.
func bestCurve(pts []Point, o Options) func(float64) float64 {
	whole, _ := bestCurves(pts, o)
	return whole
}

// bestCurves continues the readings along the most likely mean, and along its straight part alone.
func bestCurves(pts []Point, o Options) (whole, straight func(float64) float64) {
	f := prepare(pts, o)
	ceiling, _ := waterCeiling(o)
	ps, _ := f.average(ceiling)
	p0 := 0.0
	line := func(t float64) (v float64) {
		for i := range ps {
			if ps[i].hasLine {
				a, _ := ps[i].moments()
				v += ps[i].w * a * t
			}
		}
		return v
	}
	mean := func(t float64) float64 {
		v := line(t)
		for i := range ps {
			v += ps[i].w * ps[i].part(t)
		}
		return v
	}
	for i := range f.t {
		p0 += (f.y[i] - mean(f.t[i])) / float64(len(f.t))
	}
	from := func(f func(float64) float64) func(float64) float64 {
		return func(t float64) float64 { return math.Min(120e3, math.Max(0, p0+f(t))) }
	}
	return from(mean), from(line)
}

// moments of the cut-off normal: mean and second moment.
func (p *piece) moments() (m1, m2 float64) {
	z := p.a / p.sa
	h := math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi) / math.Max(p.norm, 1e-300)
	m1 = p.a + p.sa*h
	return m1, p.a*p.a + p.sa*p.sa + p.a*p.sa*h
}

// above is the share of the cut-off normal above x ≥ 0.
func (p *piece) above(x float64) float64 {
	if !p.hasLine {
		return 0
	}
	return num.NormalCDF((p.a-x)/p.sa) / math.Max(p.norm, 1e-300)
}

// Where the coldest part is not known water stands at most as over 40 °C, the hottest plant room; and 60 °C is so warm
// that no part under vacuum is: what rises beyond the ceiling but not beyond that is no water. Judgement, ours.
const (
	unknownCeiling = num.ZeroCelsius + 40
	freeCeiling    = num.ZeroCelsius + 60
)

// waterCeiling is the most that water can stand at, with what the thermometer and the gauge may be off, and the least
// that ice or water would.
func waterCeiling(o Options) (most, least float64) {
	if o.Coldest == 0 {
		return water.Curve(unknownCeiling), 0
	}
	most = water.Curve(float64(o.Coldest+2*units.Temp(o.ColdestU)))*(1+o.GaugeRel) + float64(o.GaugeAbs)
	return most, water.Curve(float64(o.Coldest - 2*units.Temp(o.ColdestU)))
}

func judge(pts []Point, o Options) Result {
	pr := defaultProfile
	if o.Profile != nil {
		pr = *o.Profile
	}
	first, last := pts[0], pts[len(pts)-1]
	out := Result{N: len(pts), Span: last.Minute - first.Minute, First: first.Pressure, Last: last.Pressure, Profile: pr}
	out.Horizon = math.Max(out.Span, pr.Hold)
	out.AllowedLeak, out.AllowedRise = defaultSlope, defaultRise
	if o.Profile != nil {
		out.AllowedRise = math.Max(pr.Accept-pr.Target, float64(o.GaugeAbs)/units.Micron+o.GaugeRel*pr.Accept)
		out.AllowedLeak = out.AllowedRise / math.Max(pr.Hold, 1)
	}
	if o.Coldest != 0 {
		p := units.Pressure(water.Curve(float64(o.Coldest)))
		out.DryLimit = &p
	}
	if len(pts) < 4 {
		out.Verdict, out.Reason = Undecided, FewPoints
		return out
	}
	f := prepare(pts, o)
	most, least := waterCeiling(o)
	ps, whole := f.average(most)
	if _, free := f.average(water.Curve(freeCeiling)); free > whole+8 {
		out.Verdict, out.Reason = Undecided, AboveWaterCeiling
	}
	var a1, a2, b1, b2, tau, wTau float64
	for i := range ps {
		p := &ps[i]
		if p.hasLine {
			m1, m2 := p.moments()
			a1 += p.w * m1
			a2 += p.w * m2
			out.PLeak += p.w * p.above(out.AllowedLeak*units.Micron)
		}
		if b := p.part(out.Horizon); b > 0 {
			b1 += p.w * b
			b2 += p.w * b * b
			tau += p.w * math.Log(p.tau)
			wTau += p.w
			if b > out.AllowedRise*units.Micron {
				out.PMoisture += p.w
			}
		}
	}
	if wTau > 0.5 {
		out.Tau = math.Exp(tau / wTau)
	}
	line := func(p *piece) bool { return p.hasLine }
	levels := func(p *piece) bool { return p.tau > 0 }
	out.Leak = spread(ps, a1, a2, o.GaugeRel, line, func(p *piece, x float64) float64 { return p.above(x) })
	out.Moisture = spread(ps, b1, b2, o.GaugeRel, levels, func(p *piece, x float64) float64 {
		if p.part(out.Horizon) > x {
			return 1
		}
		return 0
	})
	out.Moisture.U = math.Hypot(out.Moisture.U, givesOff)
	out.Moisture.High = out.Moisture.Value + math.Hypot(out.Moisture.High-out.Moisture.Value, z95*givesOff)
	if o.Volume > 0 {
		through := out.Leak.Value * units.Micron * o.Volume / 60
		flow := gasflow.FromThroughput(through, float64(o.Gas))
		cc, grams := flow.StandardCC(), 0.0
		if kg, err := water.Mass(out.Moisture.Value*units.Micron, o.Volume, float64(o.Gas)); err == nil {
			grams = kg * units.Kilo
		}
		out.Flow, out.StdCC, out.WaterGrams = &through, &cc, &grams
		air := gasflow.Drive{Gas: gasflow.Air(gasflow.Room), Inside: float64(o.Outside)}
		for _, r := range o.Refrigerants {
			mid, err := size.Of(r, o.Working, flow, air, o.Outside)
			if err != nil { // a refrigerant that has no vapour at the comparison's temperature is left out
				continue
			}
			most := gasflow.FromThroughput(out.Leak.High*units.Micron*o.Volume/60, float64(o.Gas))
			high, err := size.Of(r, o.Working, most, air, o.Outside)
			if err != nil {
				continue
			}
			out.Leaks, out.LeaksHigh = append(out.Leaks, mid), append(out.LeaksHigh, high)
		}
	}
	if out.Verdict == Undecided {
		return out
	}
	leak, noLeak := out.PLeak >= sureRise, out.PLeak <= 1-sureRise
	wet, noWet := out.PMoisture >= sureRise, out.PMoisture <= 1-sureRise
	end := float64(out.Last)
	tolerance := float64(o.GaugeAbs) + o.GaugeRel*end
	switch {
	case leak && wet:
		out.Verdict = Both
	case leak && out.PMoisture < likely:
		out.Verdict = Leak
		if !noWet {
			out.Findings = append(out.Findings, MoistureNotExcluded)
		}
	case wet && out.PLeak < likely:
		out.Verdict = Moisture
		if !noLeak {
			out.Findings = append(out.Findings, LeakNotExcluded)
		}
	case leak:
		out.Verdict, out.Reason = Undecided, MoistureNotExcluded
	case wet:
		out.Verdict, out.Reason = Undecided, LeakNotExcluded
	case !noLeak || !noWet:
		out.Verdict, out.Reason = Undecided, LineOrLevelling
	case float64(first.Pressure)-end > 2*tolerance:
		out.Verdict, out.Reason = Undecided, PressureFalls
	case pr.Target > 0 && float64(first.Pressure) > pr.Target*units.Micron*(1+o.GaugeRel)+float64(o.GaugeAbs):
		out.Verdict, out.Reason = Undecided, TargetNotReached
	case end > pr.Accept*units.Micron*(1+1e-9):
		out.Verdict, out.Reason = Undecided, AboveAccept
	case out.Span < pr.Hold-1e-9:
		out.Verdict, out.Reason = Undecided, HoldNotOver
	case o.Coldest == 0:
		out.Verdict, out.Reason = CannotProveDry, ColdestUnknown
	case end+tolerance >= least:
		out.Verdict, out.Reason = CannotProveDry, TooColdForDry
	default:
		out.Verdict = DryAndTight
	}
	if !leak && out.Leak.Low > 0.1*out.AllowedLeak {
		out.Findings = append(out.Findings, SmallStraightRise)
	}
	return out
}

// part is the levelling part after t minutes.
func (p *piece) part(t float64) float64 {
	if p.tau == 0 || p.b == 0 {
		return 0
	}
	return p.b * (1 - math.Exp(-t/p.tau))
}

// spread turns moments and the share above a value (Pa) into micron with the gauge's tolerance added. The upper end
// is taken among the curves that have the part at all: "at most" says what the readings can exclude, not how little
// one believed in it beforehand.
func spread(ps []piece, m1, m2, rel float64, has func(*piece) bool, share func(*piece, float64) float64) Part {
	quantile := func(q float64, only bool) float64 {
		above := func(x float64) float64 {
			s, w := 0.0, 0.0
			for i := range ps {
				if p := &ps[i]; has(p) {
					s += p.w * share(p, x)
					w += p.w
				}
			}
			if only {
				return s / math.Max(w, 1e-300)
			}
			return s
		}
		if above(0) <= q {
			return 0
		}
		lo, hi := 0.0, 1e-3
		for above(hi) > q && hi < 1e9 {
			hi *= 2
		}
		for range 40 {
			if m := 0.5 * (lo + hi); above(m) > q {
				lo = m
			} else {
				hi = m
			}
		}
		return hi
	}
	scale := rel / math.Sqrt(3) // a tolerance taken as a rectangle
	u := math.Hypot(math.Sqrt(math.Max(0, m2-m1*m1)), scale*m1)
	lo, hi := quantile(0.95, false), math.Max(m1, quantile(0.05, true))
	widen := z95 * scale * m1
	return Part{
		Uncertain{Value: m1 / units.Micron, U: u / units.Micron},
		math.Max(0, m1-math.Hypot(m1-lo, widen)) / units.Micron, (m1 + math.Hypot(hi-m1, widen)) / units.Micron,
	}
}
