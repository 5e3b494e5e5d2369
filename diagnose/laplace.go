package diagnose

import (
	"math"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/num"
)

// normal builds gradient and Gauss–Newton Hessian of the objective at a linearised point; with fisher set, the
// Hessian that Laplace's method uses.
func (q *problem) normal(h *hypothesis, t *point, g *[maxParams]float64, a []float64, fisher bool) {
	n := h.n
	clear(a[:n*n])
	for j := range n {
		g[j] = t.x[j]
		a[j*n+j] = 1
	}
	q.scale.bend(n, &t.x, g, a)
	for i := range q.e.obs {
		o := &q.e.obs[i]
		slope, curve := o.slopeOfLog(t.pred[i])
		if fisher {
			nu, s := o.tails.nu, o.sigma()*o.tails.scale
			// The peak of a t is sharper than its mass: the expected information describes the volume better.
			curve = math.Min(curve, (nu+1)/((nu+3)*s*s))
		}
		for j := range n {
			if h.jac[i][j] == 0 {
				continue
			}
			g[j] -= slope * h.jac[i][j]
			for k := 0; k <= j; k++ {
				a[j*n+k] += curve * h.jac[i][j] * h.jac[i][k]
			}
		}
	}
	// Things seen: slope of their log probability along each parameter, squared as curvature (Fisher weight of one answer).
	if s := q.e.seen; s.Glass != reading.GlassUnknown || s.CondenserDirt != 0 || s.CoilIce != 0 || s.CoilFans != nil ||
		s.CondenserFans != nil {
		const step = 1e-3
		var d [maxParams]float64
		for j := range n {
			ch := t.ch
			if j >= plant.NumNuisances { // only severities change it
				x := t.x
				x[j] += step
				_, _, ch = q.machineAt(h, &x)
			}
			out := t.r.Out
			out[plant.GlassQuality] += step * h.outJ[j][plant.GlassQuality]
			d[j] = (q.logSeenAt(&ch, &out) - t.seen) / step
			g[j] -= d[j]
		}
		p := math.Exp(t.seen)
		w := math.Min(1, (1-math.Min(p, 0.999))*2)
		// The observed information of a logistic answer is at most its squared slope where the answer is unlikely, little where it is likely.
		for j := range n {
			for k := 0; k <= j; k++ {
				a[j*n+k] += w * 0.5 * d[j] * d[k]
			}
		}
	}
	for j := range n {
		for k := range j {
			a[k*n+j] = a[j*n+k]
		}
	}
}

// laplace gives the evidence from the slopes at t.
func (q *problem) laplace(h *hypothesis, t *point) bool {
	n := h.n
	var a, l [maxParams * maxParams]float64
	var g [maxParams]float64
	q.normal(h, t, &g, a[:], true)
	copy(l[:n*n], a[:n*n])
	if !num.Cholesky(n, l[:n*n]) {
		return false
	}
	logDet := 0.0
	for j := range n {
		logDet += 2 * math.Log(l[j*n+j])
	}
	for j := range n {
		var col [maxParams]float64
		col[j] = 1
		num.CholeskySolve(n, l[:n*n], col[:n])
		for k := range n {
			h.cov[k*n+j] = col[k]
		}
	}
	h.ok, h.x, h.pred, h.out, h.change, h.state = true, t.x, t.pred, t.r.Out, t.ch, t.r
	circuitFault := false
	for _, f := range h.faults {
		circuitFault = circuitFault || f.Code.Circuit()
	}
	h.marks = logMarks(&q.e, &t.ch, wetSuction(&h.out), q.m.Receiver, h.load, circuitFault) + q.e.room.log(h)
	h.logZ = -t.obj - 0.5*logDet + h.marks
	return true
}

// variance of a linear function with gradient v (over the parameters) under the posterior covariance.
func (h *hypothesis) variance(v *[maxParams]float64) float64 {
	s := 0.0
	for j := range h.n {
		for k := range h.n {
			s += v[j] * h.cov[j*h.n+k] * v[k]
		}
	}
	return math.Max(s, 0)
}
