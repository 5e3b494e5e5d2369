package vacuum

import (
	"math"

	"coldwright/num"
	"coldwright/units"
)

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
