package pulldown

import (
	"math"
	"slices"

	"coldwright/units"
)

// order is the number of coefficients of a curve: where it ends, and the amplitudes of air, lining and product.
const order = 4

// vec holds coefficients in that order.
type vec [order]float64

// mat is a symmetric or triangular matrix by rows.
type mat [order * order]float64

// ladder is the time constants a curve may have, minutes, in equal ratios from 3 minutes to 66 hours.
var ladder = func() []float64 {
	var out []float64
	for t := 3.0; t < 4000; t *= 1.55 {
		out = append(out, t)
	}
	return out
}()

// The parts of a box and their time constants: median, minutes, and log standard deviation. Judgement, ours, by
// reckoning: air against fans, inner skin and shelves 4 to 12 min; skin and shelves of 150 to 400 kJ/K at 50 to 150
// W/K 0.3 to 2.2 h; 500 kg of product at 10 to 40 W/K 12 to 49 h, small packs much less.
const (
	airTau, airSd         = 8.0, 0.5
	liningTau, liningSd   = 50.0, 0.6
	productTau, productSd = 900.0, 0.9
	anyTau, anySd         = 120.0, 1.2 // of a box that behaves as one body
)

// structure is one shape of box: how many of its parts show, and how what the air still has to fall is divided.
type structure struct {
	prior   float64
	air     bool    // air apart from everything else
	lining  bool    // lining apart from product
	couples float64 // of product to air, as a share of all couplings
	share   float64 // of the fall before the product's that is the lining's
}

// structures: one body, air and product, air and lining and product. A thermal network has real time constants only
// (its matrix is similar to a symmetric one), so a box of more parts has more of the same terms, and four coefficients
// with correlated residuals carry it. Shares are judgement, ours.
var structures = func() []structure {
	out := []structure{{prior: 0.3, couples: 1}}
	for _, k := range []struct{ couples, p float64 }{{0.25, 0.25}, {0.5, 0.3}, {0.7, 0.3}, {0.87, 0.15}} {
		out = append(out, structure{prior: 0.25 * k.p, air: true, couples: k.couples})
		for _, w := range []float64{0.25, 0.5, 0.8} {
			out = append(out, structure{prior: 0.45 * k.p / 3, air: true, lining: true, couples: k.couples, share: w})
		}
	}
	return out
}()

// residual is what air does that no curve of few parts knows: doors, cycling valves, fans, where the thermometer
// hangs; K and minutes. Its scale is not known: it is summed over.
type residual struct{ prior, sd, tau float64 }

var residuals = func() []residual {
	var out []residual
	for _, s := range []struct{ sd, p float64 }{{0.12, 0.2}, {0.3, 0.35}, {0.7, 0.3}, {1.6, 0.15}} {
		for _, t := range []struct{ tau, p float64 }{{8, 0.4}, {40, 0.35}, {240, 0.25}} {
			if s.sd < 0.2 && t.tau != 40 {
				continue // too small for its time to matter
			}
			if s.sd < 0.2 {
				t.p = 1
			}
			out = append(out, residual{s.p * t.p, s.sd, t.tau})
		}
	}
	return out
}()

// look is a reading, or the mean of several that stand close together.
type look struct {
	minute, temp float64
	variance     float64 // of what is noise from reading to reading
	jump         float64 // variance of what happened just before: a door, a defrost
}

// mostLooks bounds the work: more readings are averaged in equal steps of time.
const mostLooks = 96

// looks condenses the points and finds what no running machine does: the air getting warmer at once. There the
// residual may have jumped, by the size of the rise.
func looks(pts []Point, noise float64) []look {
	first, last := pts[0].Minute, pts[len(pts)-1].Minute
	var out []look
	var n float64
	bin := -1
	for _, p := range pts {
		at := len(out)
		if len(pts) > mostLooks {
			at = min(mostLooks-1, int(mostLooks*(p.Minute-first)/(last-first)))
		}
		if at != bin {
			out, n, bin = append(out, look{}), 0, at
		}
		l := &out[len(out)-1]
		n++
		l.minute += (p.Minute - l.minute) / n
		l.temp += (float64(p.Box) - l.temp) / n
		l.variance = noise * noise / n
	}
	for i := 1; i < len(out); i++ {
		if up := out[i].temp - out[i-1].temp; up > 3*noise && up > 0.8 {
			out[i].jump = 2 * up * up
		}
	}
	return out
}

// scatter is the noise of one reading, K, from second differences where there are enough of them; else what the
// thermometer of the trade does.
func scatter(pts []Point, given float64) float64 {
	usual := math.Hypot(0.7, 1/math.Sqrt(12)) * units.Fahr
	if given > 0 {
		return given
	}
	if len(pts) < 24 {
		return usual
	}
	var d []float64
	for i := 2; i < len(pts); i++ {
		// The middle one of three against the line through its neighbours.
		a, b, c := pts[i-2], pts[i-1], pts[i]
		f := (b.Minute - a.Minute) / (c.Minute - a.Minute)
		d = append(d, math.Abs(float64(b.Box)-float64(a.Box)-f*float64(c.Box-a.Box))/math.Sqrt(1+f*f+(1-f)*(1-f)))
	}
	slices.Sort(d)
	mean := 0.0 // of the smaller nine tenths: a median of rounded readings is 0
	for _, x := range d[:len(d)*9/10] {
		mean += x / float64(len(d)*9/10)
	}
	return min(usual, max(0.05, 1.6*mean))
}

// whiten takes the correlated residual out of columns of numbers at the looks, in place: afterwards their errors are
// independent with variance one. It returns half the logarithm of the determinant of the covariance, and the gain
// with which a residual of the last look is the residual now, with its variance.
func whiten(ls []look, r residual, columns [][]float64, state []float64) (halfLog, variance float64) {
	p := r.sd * r.sd
	for j := range state {
		state[j] = 0
	}
	for i, l := range ls {
		if i > 0 {
			f := math.Exp(-(l.minute - ls[i-1].minute) / r.tau)
			p = f*f*p + (1-f*f)*r.sd*r.sd
			for j := range state {
				state[j] *= f
			}
		}
		p += l.jump
		s := p + l.variance
		root := math.Sqrt(s)
		halfLog += math.Log(root)
		gain := p / s
		for j, c := range columns {
			e := c[i] - state[j]
			state[j] += gain * e
			c[i] = e / root
		}
		p *= 1 - gain
	}
	return halfLog, p
}

// prior is the normal distribution of the coefficients in one structure.
type prior struct {
	mean      vec
	precision mat
	halfLog   float64 // half the logarithm of the determinant of the precision
}

// priorOf builds it: the end as believed, product a little under the air at the start, and what is left of the fall
// divided between air and lining.
func (s *structure) priorOf(e ends, start float64, product *float64) prior {
	const small = 0.05 // K: a part that does not show
	under, underSd := -1.7, 4.0
	if product != nil {
		under, underSd = *product-start, 1.1
	}
	// Rows: end, air, lining, product; columns: what the end, the product's start, the air's start and the division
	// are off by, in standard deviations.
	const startSd, divideSd = 2.0, 1.2
	var a [order][order]float64
	var m vec
	m[0], a[0][0] = e.mean, e.sd
	if !s.air {
		m[3] = start - e.mean
		a[3] = [order]float64{-e.sd, 0, startSd, 0}
		a[1][1], a[2][3] = small, small
	} else {
		k := s.couples
		m[3] = k * (start + under - e.mean)
		a[3] = [order]float64{-k * e.sd, k * underSd, 0, 0}
		left := start - e.mean - m[3]
		leftBy := [order]float64{-(1 - k) * e.sd, -k * underSd, startSd, 0}
		w, by := s.share, divideSd
		if !s.lining {
			w, by = 0, small
		}
		m[1], m[2] = (1-w)*left, w*left
		for j := range order {
			a[1][j], a[2][j] = (1-w)*leftBy[j], w*leftBy[j]
		}
		a[2][3] += by
		a[1][3] -= by
	}
	// Precision: the inverse of a aᵀ.
	var cov mat
	for i := range order {
		for j := range order {
			for k := range order {
				cov[i*order+j] += a[i][k] * a[j][k]
			}
		}
	}
	l := cov
	half := chol(&l)
	return prior{m, inverse(&l), -half}
}

// chol puts the lower triangle of the Cholesky factor into m and returns the sum of the logarithms of its diagonal.
func chol(m *mat) float64 {
	half := 0.0
	for i := range order {
		for j := 0; j <= i; j++ {
			s := m[i*order+j]
			for k := range j {
				s -= m[i*order+k] * m[j*order+k]
			}
			if i == j {
				d := math.Sqrt(math.Max(s, 1e-12))
				m[i*order+i] = d
				half += math.Log(d)
			} else {
				m[i*order+j] = s / m[j*order+j]
			}
		}
	}
	return half
}

// forward solves l x = b, back solves lᵀ x = b.
func forward(l *mat, b vec) vec {
	for i := range order {
		for k := range i {
			b[i] -= l[i*order+k] * b[k]
		}
		b[i] /= l[i*order+i]
	}
	return b
}

func back(l *mat, b vec) vec {
	for i := order - 1; i >= 0; i-- {
		for k := i + 1; k < order; k++ {
			b[i] -= l[k*order+i] * b[k]
		}
		b[i] /= l[i*order+i]
	}
	return b
}

func inverse(l *mat) (out mat) {
	for j := range order {
		var e vec
		e[j] = 1
		x := back(l, forward(l, e))
		for i := range order {
			out[i*order+j] = x[i]
		}
	}
	return out
}

// candidate is one curve with all that is still normal about it: weight and posterior of its coefficients.
type candidate struct {
	weight float64
	tau    [3]float64 // of air, lining, product
	mean   vec
	factor mat // Cholesky factor of the posterior precision
	noise  *noiseFit
	at     [3]int // of the time constants in the ladder
}

// noiseFit is what a residual makes of the looks: the residual now is that of the data less that of each feature
// times its coefficient.
type noiseFit struct {
	residual
	data, one float64
	of        []float64 // by time constant
	variance  float64
}

// sums are the looks whitened by each residual, and their products: all that weighing curves needs of them.
type sums struct {
	noise *noiseFit
	half  float64
	dot   [][]float64
}

// sumsOf whitens the looks: column 0 is the data less the start, column 1 is one, the others are the ladder.
func sumsOf(ls []look, start float64) []sums {
	columns := len(ladder) + 2
	base := make([][]float64, columns)
	for j := range base {
		base[j] = make([]float64, len(ls))
		for i, l := range ls {
			switch j {
			case 0:
				base[j][i] = l.temp - start // small numbers
			case 1:
				base[j][i] = 1
			default:
				base[j][i] = math.Exp(-(l.minute - ls[0].minute) / ladder[j-2])
			}
		}
	}
	out := make([]sums, 0, len(residuals))
	for _, r := range residuals {
		cols := make([][]float64, columns)
		for j := range cols {
			cols[j] = slices.Clone(base[j])
		}
		fit := &noiseFit{residual: r}
		state := make([]float64, columns)
		half, variance := whiten(ls, r, cols, state)
		fit.variance, fit.data, fit.one, fit.of = variance, state[0], state[1], state[2:]
		dot := make([][]float64, columns)
		for a := range dot {
			dot[a] = make([]float64, columns)
			for b := range a + 1 {
				s := 0.0
				for i := range ls {
					s += cols[a][i] * cols[b][i]
				}
				dot[a][b] = s
			}
		}
		out = append(out, sums{fit, half, dot})
	}
	return out
}

// information is what the looks say of the coefficients of three time constants, and of their products with the data.
func (s *sums) information(t1, t2, t3 int) (info mat, y vec) {
	at := func(a, b int) float64 { return s.dot[max(a, b)][min(a, b)] }
	ix := [order]int{1, t1 + 2, t2 + 2, t3 + 2}
	for a, ja := range ix {
		for b := range a + 1 {
			info[a*order+b] = at(ja, ix[b])
		}
		y[a] = at(ja, 0)
	}
	return info, y
}

// times are the time constants a structure may have, by place in the ladder, with their probabilities.
type times struct {
	at [3][]int
	p  [3][]float64
}

// within is the part of the ladder that a time constant of this median and log standard deviation may have.
func within(median, sd float64) (at []int, p []float64) {
	sum := 0.0
	for i, t := range ladder {
		if z := math.Log(t/median) / sd; math.Abs(z) < 1.9 {
			at, p = append(at, i), append(p, math.Exp(-0.5*z*z))
			sum += p[len(p)-1]
		}
	}
	for i := range p {
		p[i] /= sum
	}
	return at, p
}

// timesOf are, in this order, those of boxes of one, two and three bodies.
var timesOf = func() (out [3]times) {
	one, only := []int{0}, []float64{1}
	airAt, airP := within(airTau, airSd)
	liningAt, liningP := within(liningTau, liningSd)
	productAt, productP := within(productTau, productSd)
	anyAt, anyP := within(anyTau, anySd)
	out[0] = times{[3][]int{one, one, anyAt}, [3][]float64{only, only, anyP}}
	out[1] = times{[3][]int{airAt, one, productAt}, [3][]float64{airP, only, productP}}
	out[2] = times{[3][]int{airAt, liningAt, productAt}, [3][]float64{airP, liningP, productP}}
	return out
}()

// bodies is which of them a structure has.
func (s *structure) bodies() int {
	switch {
	case s.lining:
		return 2
	case s.air:
		return 1
	}
	return 0
}

// sweep calls f for each set of time constants with its log probability, residual and what the looks say.
func sweep(all []sums, f func(bodies int, s *sums, at [3]int, logP float64, info *mat, y *vec)) {
	for i := range all {
		s := &all[i]
		base := math.Log(s.noise.prior) - s.half - 0.5*s.dot[0][0]
		for bodies := range timesOf {
			t := &timesOf[bodies]
			for i1, t1 := range t.at[0] {
				for i2, t2 := range t.at[1] {
					for i3, t3 := range t.at[2] {
						info, y := s.information(t1, t2, t3)
						f(bodies, s, [3]int{t1, t2, t3}, base+math.Log(t.p[0][i1]*t.p[1][i2]*t.p[2][i3]), &info, &y)
					}
				}
			}
		}
	}
}

// infer weighs all curves by the readings: structures, time constants, ends and residuals are summed over a grid, and
// for each the coefficients are integrated in closed form. Nothing is drawn, so nothing collapses.
func infer(all []sums, believed []ends, start float64, product *float64) []candidate {
	type set struct {
		p    prior
		logP float64
	}
	var prod *float64
	if product != nil {
		v := *product - start
		prod = &v
	}
	var sets [3][]set
	for i := range structures {
		s := &structures[i]
		for _, e := range believed {
			e.mean -= start
			k := s.bodies()
			sets[k] = append(sets[k], set{s.priorOf(e, 0, prod), math.Log(s.prior * e.weight)})
		}
	}
	var out []candidate
	best := math.Inf(-1)
	sweep(all, func(bodies int, s *sums, at [3]int, logP float64, info *mat, y *vec) {
		for k := range sets[bodies] {
			q := &sets[bodies][k].p
			l, h, quad := q.and(info, y)
			lh := chol(&l)
			u := forward(&l, h)
			for _, v := range u {
				quad -= v * v
			}
			logW := sets[bodies][k].logP + logP + q.halfLog - lh - 0.5*quad
			if logW < best-12 {
				continue
			}
			best = math.Max(best, logW)
			out = append(out, candidate{
				weight: logW, tau: [3]float64{ladder[at[0]], ladder[at[1]], ladder[at[2]]},
				mean: u, factor: l, noise: s.noise, at: at,
			})
		}
	})
	kept := out[:0]
	sum := 0.0
	for _, c := range out {
		if c.weight < best-12 {
			continue
		}
		c.weight = math.Exp(c.weight - best)
		sum += c.weight
		c.mean = back(&c.factor, c.mean)
		kept = append(kept, c)
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	return kept
}

// and is the prior with what the looks say: the precision of both, lower half, what it makes of the mean, and the prior's
// own quadratic form.
func (q *prior) and(info *mat, y *vec) (l mat, h vec, quad float64) {
	for a := range order {
		h[a] = y[a]
		for b := range order {
			h[a] += q.precision[a*order+b] * q.mean[b]
		}
		for b := range a + 1 {
			l[a*order+b] = info[a*order+b] + q.precision[a*order+b]
		}
	}
	for a := range order {
		quad += q.mean[a] * (h[a] - y[a])
	}
	return l, h, quad
}

// byEnd is the log likelihood of the looks by where the box would end, every messageStep from coldest on, up to a
// factor; set is the set point less the start. The bodies are summed over as in infer. With the width of the end fixed
// each part is a parabola in its middle.
func byEnd(all []sums, set float64, product *units.Temp, start float64) []float64 {
	var prod *float64
	if product != nil {
		v := float64(*product) - start
		prod = &v
	}
	type line struct {
		p          prior // at the end coldest K above the set point
		by, weighs vec   // how its mean moves with each K more, and that times the precision
		logP       float64
	}
	var lines [3][]line
	for i := range structures {
		s := &structures[i]
		p := s.priorOf(ends{1, set + coldest, balanceSd}, 0, prod)
		q := s.priorOf(ends{1, set + coldest + 1, balanceSd}, 0, prod)
		n := line{p: p, logP: math.Log(s.prior)}
		for a := range order {
			n.by[a] = q.mean[a] - p.mean[a]
		}
		for a := range order {
			for b := range order {
				n.weighs[a] += p.precision[a*order+b] * n.by[b]
			}
		}
		k := s.bodies()
		lines[k] = append(lines[k], n)
	}
	steps := int((warmest-coldest)/messageStep) + 1
	type parabola struct{ a, b, c float64 }
	var parts []parabola
	best := math.Inf(-1)
	sweep(all, func(bodies int, _ *sums, _ [3]int, logP float64, info *mat, y *vec) {
		for k := range lines[bodies] {
			n := &lines[bodies][k]
			q := &n.p
			l, h, quad := q.and(info, y)
			turn, curve := 0.0, 0.0
			for a := range order {
				turn += n.by[a] * (h[a] - y[a])
				curve += n.by[a] * n.weighs[a]
			}
			lh := chol(&l)
			u, v := forward(&l, h), forward(&l, n.weighs)
			for a := range order {
				quad -= u[a] * u[a]
				turn -= u[a] * v[a]
				curve -= v[a] * v[a]
			}
			p := parabola{n.logP + logP + q.halfLog - lh - 0.5*quad, -turn, -0.5 * curve}
			top := p.a
			if x := p.b / math.Max(-2*p.c, 1e-12); x > 0 {
				x = math.Min(x, warmest-coldest)
				top = p.a + x*(p.b+x*p.c)
			}
			if top < best-14 {
				continue
			}
			best = math.Max(best, top)
			parts = append(parts, p)
		}
	})
	out := make([]float64, steps)
	most := math.Inf(-1)
	for i := range out {
		x := messageStep * float64(i)
		sum := 0.0
		for _, p := range parts {
			if v := p.a + x*(p.b+x*p.c) - best; v > -20 {
				sum += math.Exp(v)
			}
		}
		out[i] = math.Log(math.Max(sum, 1e-9))
		most = math.Max(most, out[i])
	}
	for i := range out {
		out[i] -= most
	}
	return out
}
