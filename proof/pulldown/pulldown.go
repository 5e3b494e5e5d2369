package pulldown

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"coldwright/fail"
	"coldwright/num"
	"coldwright/units"
)

// Point is the box (and the product, where known) at a minute since the start.
type Point struct {
	Minute  float64
	Box     units.Temp
	Product *units.Temp
}

// Verdict of a pull-down.
type Verdict int

// The verdicts.
const (
	Unknown Verdict = iota
	TooShort
	Reached
	Falling
	Slow
	Stalled
	Warming
)

func (v Verdict) String() string {
	return [...]string{"unknown", "too_short", "reached", "falling", "slow", "stalled", "warming"}[v]
}

// MarshalText writes the word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Options of a pull-down; zero values are the documented defaults.
type Options struct {
	SetPoint units.Temp
	Noise    units.TempDiff // of one reading, standard deviation; 0: 0.7 °F and rounding to a whole degree
	NoRefine bool           // one stage only, for tests
}

// Band is a forecast: 5, 50, 95 % at a minute counted from the last reading.
type Band struct {
	Minute         float64
	Low, Mid, High units.Temp
}

// Interval is 5, 50, 95 %.
type Interval struct{ Low, Mid, High float64 }

// Result is the answer.
type Result struct {
	Verdict    Verdict
	N          int
	Span       float64        // minutes from the first to the last point
	Last       units.Temp     // last reading
	RateLast   units.TempDiff // K per hour over the last stretch, negative is falling
	Forecast   []Band         // at +60, +120, +360 min
	Curve      []Band         // the same, dense, for the figure; Minute counted from the first reading
	PReaches6h float64
	ToSetPoint *Interval // minutes from the last reading; nil when less likely than not within 24 h
	EffectiveN float64   // effective number of draws behind the answer
	Reason     string    // code, when too short
}

// Priors. Judgement, ours, because no table of temperature against time of a walk-in is published: air 5 min, product
// 6 h, coupling 1, all log-normal; product 3 °F below the air ± 8 °F at the start; final temperature 14 ± 14 °F below
// the set point.
const (
	muTauA, sdTauA = 1.6094379124341003, 0.5 // ln 5 min
	muTauP, sdTauP = 5.886104031450156, 0.8  // ln 360 min
	muRho, sdRho   = 0.0, 0.7
	productF       = -3.0
	productSdF     = 8.0
	finalF         = -14.0
	finalSdF       = 14.0
	dims           = 6
)

// sample is one box: the constants of its two exponentials.
type sample struct {
	tf, c1, c2, l1, l2 float64
	tp0                float64
}

func build(z *[dims]float64, start, set, noise float64) sample {
	ta := start + noise*z[5]
	tauA := math.Exp(muTauA + sdTauA*z[0])
	tauP := math.Exp(muTauP + sdTauP*z[1])
	rho := math.Exp(muRho + sdRho*z[2])
	tp := ta + (productF+productSdF*z[3])*units.Fahr
	tf := set + (finalF+finalSdF*z[4])*units.Fahr
	xa, xp := ta-tf, tp-tf
	tr := -(1/tauA + 1/tauP)
	det := 1 / (tauA * tauP * (1 + rho))
	root := math.Sqrt(math.Max(tr*tr-4*det, 1e-18))
	l1, l2 := 0.5*(tr-root), 0.5*(tr+root)
	d := -xa/tauA + rho*xp/((1+rho)*tauA)
	c1 := (d - l2*xa) / (l1 - l2)
	return sample{tf, c1, xa - c1, l1, l2, tp}
}

func (s *sample) at(t float64) float64 {
	return s.tf + s.c1*math.Exp(s.l1*t) + s.c2*math.Exp(s.l2*t)
}

// reaches returns the first minute after t0 at which the air is at the set point, or +Inf within a day.
func (s *sample) reaches(t0, set float64) float64 {
	if s.at(t0) <= set {
		return t0
	}
	prev := t0
	for _, step := range []float64{5, 10, 15, 20, 30, 40, 60, 90, 120, 180, 240, 300, 360, 480, 600, 720, 900, 1080, 1260, 1440} {
		if t := t0 + step; s.at(t) <= set {
			a, b := prev, t
			for range 20 {
				if m := 0.5 * (a + b); s.at(m) <= set {
					b = m
				} else {
					a = m
				}
			}
			return b
		}
		prev = t0 + step
	}
	return math.Inf(1)
}

// Judge judges a pull-down.
//
//   - in: points in any order, minutes from any zero; set point, K
//   - out: verdict, rate, forecast with 90 % bands, probability of the set point within 6 h
//   - errors: [*fail.Error]: no points, repeated minutes, temperatures that cannot be
//   - assumes: doors shut, running all the time, no defrost in between
//   - source: doc.go of this package; verdicts are common practice, no source
//   - cost: about 40 ms
func Judge(points []Point, o Options) (Result, error) {
	if len(points) == 0 {
		return Result{}, fail.Of(fail.Required, "points", "pulldown.no_reading", nil)
	}
	pts := append([]Point{}, points...)
	sort.SliceStable(pts, func(i, j int) bool { return pts[i].Minute < pts[j].Minute })
	for i, p := range pts {
		if math.IsNaN(p.Minute) || math.IsInf(p.Minute, 0) || !(p.Box > 180 && p.Box < 340) {
			return Result{}, fail.Of(fail.Range, fmt.Sprintf("point %d", i+1), "pulldown.box_at",
				fail.Args{"box": p.Box, "minute": p.Minute})
		}
		if i > 0 && p.Minute == pts[i-1].Minute {
			return Result{}, fail.Of(fail.BadData, fmt.Sprintf("minute %g", p.Minute), "test.minute_repeated", nil)
		}
	}
	zero := pts[0].Minute
	for i := range pts {
		pts[i].Minute -= zero
	}
	last := pts[len(pts)-1]
	set := float64(o.SetPoint)
	out := Result{N: len(pts), Span: last.Minute, Last: last.Box}
	out.RateLast = units.TempDiff(rate(pts))
	switch {
	case last.Box <= o.SetPoint+units.Temp(0.5*units.Fahr) && len(pts) > 1:
		out.Verdict = Reached
	case len(pts) < 3:
		out.Verdict, out.Reason = TooShort, "fewer_than_three_points"
	case last.Minute < 10:
		out.Verdict, out.Reason = TooShort, "shorter_than_ten_minutes"
	}
	if len(pts) < 2 {
		return out, nil
	}
	noise := float64(o.Noise)
	if noise <= 0 {
		noise = math.Hypot(0.7, 1/math.Sqrt(12)) * units.Fahr
	}
	w, draws, ess := infer(pts, set, noise, o.NoRefine)
	out.EffectiveN = ess
	for _, m := range []float64{60, 120, 360} {
		out.Forecast = append(out.Forecast, quantiles(w, draws, last.Minute+m, m))
	}
	end := last.Minute + 120
	for k := 0; k <= 24; k++ {
		t := end * float64(k) / 24
		out.Curve = append(out.Curve, quantiles(w, draws, t, t))
	}
	type hit struct{ t, w float64 }
	var hits []hit
	within := 0.0
	for i := range draws {
		t := draws[i].reaches(last.Minute, set) - last.Minute
		if t <= 360 {
			out.PReaches6h += w[i]
		}
		if !math.IsInf(t, 0) {
			within += w[i]
		}
		hits = append(hits, hit{t, w[i]})
	}
	if within > 0.5 {
		sort.Slice(hits, func(i, j int) bool { return hits[i].t < hits[j].t })
		q := func(p float64) float64 {
			s := 0.0
			for _, h := range hits {
				if s += h.w; s >= p {
					return h.t
				}
			}
			return hits[len(hits)-1].t
		}
		iv := Interval{q(0.05), q(0.5), q(0.95)}
		if math.IsInf(iv.High, 0) {
			iv.High = 1440
		}
		out.ToSetPoint = &iv
	}
	if out.Verdict == Unknown {
		out.Verdict = verdict(&out, set)
	}
	return out, nil
}

// verdict: common practice, no source. A healthy box falls steadily; a starved one flattens out above the set point.
func verdict(p *Result, set float64) Verdict {
	perHour := p.RateLast.F()
	gap := units.TempDiff(float64(p.Last) - set).F()
	fallNextHour := units.TempDiff(p.Last - p.Forecast[0].Mid).F()
	switch {
	case perHour > 2:
		return Warming
	case perHour > -1.5 && fallNextHour < 1.5:
		return Stalled
	// Falling well: it will be there today, more likely than not, and the next hour covers part of the way.
	case p.PReaches6h >= 0.55 && fallNextHour >= math.Min(3, 0.2*gap):
		return Falling
	}
	return Slow
}

// rate is the slope over the last third of the test (at least the last three points), K per hour.
func rate(pts []Point) float64 {
	n := len(pts)
	if n < 2 {
		return 0
	}
	k := n - 2
	for k > 0 && (n-k < 3 || pts[n-1].Minute-pts[k].Minute < pts[n-1].Minute/3) {
		k--
	}
	if n == 3 && k == 0 { // three points: the last stretch, not the first drop
		k = 1
	}
	var sx, sy, sxx, sxy float64
	m := float64(n - k)
	for _, p := range pts[k:] {
		sx += p.Minute
		sy += float64(p.Box)
		sxx += p.Minute * p.Minute
		sxy += p.Minute * float64(p.Box)
	}
	d := m*sxx - sx*sx
	if d == 0 {
		return 0
	}
	return 60 * (m*sxy - sx*sy) / d
}

const stageDraws = 12000

// infer returns weighted draws of boxes.
func infer(pts []Point, set, noise float64, noRefine bool) ([]float64, []sample, float64) {
	rng := rand.New(rand.NewPCG(2026, 8))
	start := float64(pts[0].Box)
	logLike := func(s *sample) float64 {
		l := 0.0
		for _, p := range pts {
			r := (float64(p.Box) - s.at(p.Minute)) / noise
			l -= 0.5 * r * r
			if p.Product != nil && p.Minute == 0 {
				q := (float64(*p.Product) - s.tp0) / (2 * units.Fahr)
				l -= 0.5 * q * q
			}
		}
		return l
	}
	var mean [dims]float64
	L := make([]float64, dims*dims)
	for i := range dims {
		L[i*dims+i] = 1
	}
	stages := 4
	if noRefine {
		stages = 1
	}
	var w []float64
	var draws []sample
	ess := 0.0
	for stage := range stages {
		zs := make([][dims]float64, stageDraws)
		draws = make([]sample, stageDraws)
		w = make([]float64, stageDraws)
		best := math.Inf(-1)
		logDet := 0.0
		for i := range dims {
			logDet += math.Log(L[i*dims+i])
		}
		for k := range zs {
			var u, z [dims]float64
			q := 0.0
			// After the first stage a t with 6 degrees of freedom, so that no tail is missed.
			scale := 1.0
			if stage > 0 {
				g := 0.0
				for range 6 {
					x := rng.NormFloat64()
					g += x * x
				}
				scale = math.Sqrt(6 / g)
			}
			for i := range dims {
				u[i] = rng.NormFloat64() * scale
				q += u[i] * u[i]
			}
			lp := 0.0
			for i := range dims {
				z[i] = mean[i]
				for j := 0; j <= i; j++ {
					z[i] += L[i*dims+j] * u[j]
				}
				lp -= 0.5 * z[i] * z[i]
			}
			zs[k] = z
			draws[k] = build(&z, start, set, noise)
			lq := -0.5*q - logDet
			if stage > 0 {
				lq = -(6+dims)/2.0*math.Log1p(q/6) - logDet
			}
			// The first reading is in the prior of the start already (z[5]): its residual is counted once, there.
			first := (start - draws[k].at(0)) / noise
			w[k] = logLike(&draws[k]) + 0.5*first*first + lp - lq
			best = math.Max(best, w[k])
		}
		sum, sq := 0.0, 0.0
		for k := range w {
			w[k] = math.Exp(w[k] - best)
			sum += w[k]
		}
		for k := range w {
			w[k] /= sum
			sq += w[k] * w[k]
		}
		ess = 1 / sq
		if stage == stages-1 || stage > 0 && ess > stageDraws/3 {
			break
		}
		// The next proposal: mean and covariance of this sample, widened; early stages temper the weights so that one draw does not rule.
		tw := w
		if ess < 200 {
			tw = make([]float64, len(w))
			s := 0.0
			for k := range w {
				tw[k] = math.Pow(w[k], 0.35)
				s += tw[k]
			}
			for k := range tw {
				tw[k] /= s
			}
		}
		var c [dims * dims]float64
		mean = [dims]float64{}
		for k := range zs {
			for i := range dims {
				mean[i] += tw[k] * zs[k][i]
			}
		}
		for k := range zs {
			for i := range dims {
				for j := 0; j <= i; j++ {
					c[i*dims+j] += tw[k] * (zs[k][i] - mean[i]) * (zs[k][j] - mean[j])
				}
			}
		}
		for i := range dims {
			for j := range i {
				c[j*dims+i] = c[i*dims+j]
			}
			c[i*dims+i] = c[i*dims+i]*1.2 + 0.01
		}
		next := append([]float64{}, c[:]...)
		if !num.Cholesky(dims, next) {
			break
		}
		for i := range dims {
			for j := i + 1; j < dims; j++ {
				next[i*dims+j] = 0
			}
		}
		L = next
	}
	return w, draws, ess
}

func quantiles(w []float64, draws []sample, t, label float64) Band {
	type pair struct{ v, w float64 }
	vs := make([]pair, 0, len(w))
	for i := range w {
		if w[i] > 1e-9 {
			vs = append(vs, pair{draws[i].at(t), w[i]})
		}
	}
	sort.Slice(vs, func(i, j int) bool { return vs[i].v < vs[j].v })
	var total float64
	for _, v := range vs {
		total += v.w
	}
	q := func(p float64) units.Temp {
		s := 0.0
		for _, v := range vs {
			if s += v.w; s >= p*total {
				return units.Temp(v.v)
			}
		}
		return units.Temp(vs[len(vs)-1].v)
	}
	return Band{label, q(0.05), q(0.5), q(0.95)}
}
