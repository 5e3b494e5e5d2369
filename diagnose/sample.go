package diagnose

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"coldwright/machine/plant"
	"coldwright/num"
)

// How many hypotheses are refined by sampling, and with how many draws: what keeps a full sheet within its time.
const (
	refineMost  = 5
	refineDraws = 100
)

// refineBest samples the hypotheses that hold more than one in a hundred.
func (q *problem) refineBest(ctx context.Context, all []*hypothesis, none float64) {
	order := slices.Clone(all)
	sort.SliceStable(order, func(i, j int) bool { return score(order[i]) > score(order[j]) })
	best := math.Max(none, score(order[0]))
	k := 0
	for k < min(refineMost, len(order)) && order[k].ok && score(order[k]) > best-4.6 {
		k++
	}
	var missed [refineMost]float64
	inParallel(ctx, k, func(i int) {
		laplace := order[i].logZ
		order[i].of.refine(order[i], refineDraws)
		missed[i] = order[i].logZ - laplace
	})
	// What Laplace's method misses lies mostly in the nuisances that all hypotheses share: every one gets the mean of what
	// was found, or those not sampled would be weighed by another scale. A hundred draws repeat to about 0.15 nat: a
	// smaller difference from that mean is noise.
	mean, n := 0.0, 0.0
	for i, h := range order[:k] {
		if h.refined {
			mean, n = mean+missed[i], n+1
		}
	}
	if n == 0 {
		return
	}
	mean /= n
	for i, h := range order {
		switch {
		case !h.ok:
		case !h.refined:
			h.logZ += mean
		case math.Abs(missed[i]-mean) <= 0.3:
			h.logZ += mean - missed[i]
		}
	}
}

// refine replaces Laplace's evidence and severity by importance sampling from three t distributions with 6 degrees of
// freedom around the best fit: one of its covariance, two wider in the severities and shifted towards mild and
// towards severe: a valve that floods the coil shows no more however far it stands open, and the severity is open
// upwards. It is needed where the posterior has a kink: a shortage close to the just-empty receiver, a restriction
// before the valve gives in. The draws are seeded by their number, so the same sheet always gives the same answer.
//
// Source: Owen and Zhou (2000), J. Am. Stat. Assoc. 95:135-143 (defensive mixture).
func (q *problem) refine(h *hypothesis, draws int) {
	n := h.n
	const dof = 6.0
	source := rand.NewPCG(0, 0)
	rng := rand.New(source)
	type proposal struct {
		mean   [maxParams]float64
		l      [maxParams * maxParams]float64
		logDet float64
	}
	var ps [3]proposal
	for k := range ps {
		p := &ps[k]
		p.mean = h.x
		for i := range n * n {
			p.l[i] = 1.15 * h.cov[i]
		}
		if k > 0 {
			for j := range h.faults {
				i := plant.NumNuisances + j
				p.mean[i] += [3]float64{1: -0.8, 2: 0.8}[k]
				p.l[i*n+i] += 0.7
			}
		}
		if !num.Cholesky(n, p.l[:n*n]) {
			return
		}
		for i := range n {
			p.logDet += math.Log(p.l[i*n+i])
			for j := i + 1; j < n; j++ {
				p.l[i*n+j] = 0
			}
		}
	}
	a, _ := math.Lgamma((dof + float64(n)) / 2)
	b, _ := math.Lgamma(dof / 2)
	norm := a - b - 0.5*float64(n)*math.Log(dof*math.Pi)
	logDensity := func(p *proposal, x *[maxParams]float64) float64 {
		var y [maxParams]float64
		s := 0.0
		for i := range n {
			v := x[i] - p.mean[i]
			for j := range i {
				v -= p.l[i*n+j] * y[j]
			}
			y[i] = v / p.l[i*n+i]
			s += y[i] * y[i]
		}
		return norm - p.logDet - (dof+float64(n))/2*math.Log1p(s/dof)
	}
	type draw struct{ w, z0, z1 float64 }
	all := make([]draw, 0, draws)
	best := math.Inf(-1)
	for k := range draws {
		// The k-th draw of every hypothesis has the same nuisances in standard deviations: what chance does to one it does to
		// its rivals, and falls out between them.
		// They come in twos, one on either side of the middle.
		source.Seed(17, uint64(k/2))
		p := &ps[[5]int{1, 2, 0, 0, 0}[k/2%5]]
		g := 0.0
		for range int(dof) {
			v := rng.NormFloat64()
			g += v * v
		}
		scale := math.Sqrt(dof / g)
		if k%2 == 1 {
			scale = -scale
		}
		var u, x [maxParams]float64
		for i := range n {
			u[i] = rng.NormFloat64() * scale
			x[i] = p.mean[i]
			for j := 0; j <= i; j++ {
				x[i] += p.l[i*n+j] * u[j]
			}
		}
		t, ok := q.evaluate(h, &x, h.extrapolate(&h.state, &h.x, &x))
		if !ok {
			continue
		}
		d0, d1, d2 := logDensity(&ps[0], &x), logDensity(&ps[1], &x), logDensity(&ps[2], &x)
		m := math.Max(d0, math.Max(d1, d2))
		w := -t.obj - 0.5*float64(n)*math.Log(2*math.Pi) - m - math.Log(0.6*math.Exp(d0-m)+0.2*math.Exp(d1-m)+0.2*math.Exp(d2-m))
		all = append(all, draw{w, x[plant.NumNuisances], x[min(plant.NumNuisances+1, maxParams-1)]})
		best = math.Max(best, w)
	}
	if len(all) < draws/4 {
		return // most draws trip the machine: Laplace stands
	}
	sum, sq := 0.0, 0.0
	for i := range all {
		all[i].w = math.Exp(all[i].w - best)
		sum += all[i].w
		sq += all[i].w * all[i].w
	}
	if sum*sum/sq < 15 {
		return // one draw rules: no better than Laplace
	}
	h.logZ = best + math.Log(sum/float64(draws)) + h.marks
	for j := range h.faults {
		z := func(d draw) float64 {
			if j == 1 {
				return d.z1
			}
			return d.z0
		}
		sort.Slice(all, func(a, b int) bool { return z(all[a]) < z(all[b]) })
		// Few draws count: the i-th of n stands at i/(n+1), by their weights, so that what lies beyond the last one is not forgotten.
		// Source: Hyndman and Fan (1996), Am. Stat. 50:361-365, definition 6.
		n := sum * sum / sq
		s, k := 0.0, 0
		last, from := 0.0, z(all[0])
		for _, d := range all {
			at := ((s+0.5*d.w)/sum*n + 0.5) / (n + 1)
			s += d.w
			for k < 3 && at >= [3]float64{0.05, 0.5, 0.95}[k] {
				h.sampled[j][k] = from + (z(d)-from)*([3]float64{0.05, 0.5, 0.95}[k]-last)/(at-last)
				k++
			}
			last, from = at, z(d)
		}
		for ; k < 3; k++ {
			h.sampled[j][k] = z(all[len(all)-1])
		}
	}
	h.refined = true
}
