package diagnose

import (
	"math"
	"sort"

	"coldwright/machine/plant"
	"coldwright/num"
)

// fit climbs from the start that explains the readings best, and from the next one where that leads nowhere.
func (q *problem) fit(h *hypothesis, starts [][maxParams]float64, like *hypothesis) {
	warm := like.warmStart()
	order := make([]int, len(starts))
	value := make([]float64, len(starts))
	var best point
	for i := range starts {
		order[i] = i
		if len(starts) > 1 {
			value[i] = math.Inf(1)
			if t, ok := q.evaluate(h, &starts[i], warm); ok {
				value[i] = t.obj
				if best.obj == 0 || t.obj < best.obj {
					best = t
				}
			}
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return value[order[a]] < value[order[b]] })
	for k, i := range order {
		ok := false
		if k == 0 && best.obj != 0 {
			ok = q.climbFrom(h, &best, like)
		} else {
			ok = q.climb(h, starts[i], like)
		}
		if ok {
			h.untried = nil
			for _, j := range order[k+1:] {
				h.untried = append(h.untried, starts[j])
			}
			return
		}
	}
}

// tryOtherStarts climbs from the starts left over and keeps the better end.
func (q *problem) tryOtherStarts(h *hypothesis) {
	for _, s := range h.untried {
		c := *h
		if q.climb(&c, s, h) && c.logZ > h.logZ-3 && q.finishClimb(&c) && c.logZ > h.logZ {
			*h = c
		} else {
			h.solves = c.solves
		}
	}
	h.untried = nil
}

// climb looks for the most probable parameters from a start. With like, a hypothesis fitted nearby or nil, its slopes
// along what both share serve for the first step, and on as long as they foretell where the steps lead; the evidence
// is then approximate until finishClimb.
func (q *problem) climb(h *hypothesis, start [maxParams]float64, like *hypothesis) bool {
	warm := like.warmStart()
	t, ok := q.evaluate(h, &start, warm)
	for shrink := 0; !ok && shrink < 4; shrink++ {
		// The start may trip the machine: come closer to healthy.
		for k := range h.faults {
			start[plant.NumNuisances+k] -= 0.7
		}
		t, ok = q.evaluate(h, &start, warm)
	}
	return ok && q.climbFrom(h, &t, like)
}

func (q *problem) climbFrom(h *hypothesis, t *point, like *hypothesis) bool {
	if like != nil {
		n := min(like.n, len(h.faults)-1+plant.NumNuisances) // the last severity is the climber's own
		for i := range q.e.obs {
			copy(h.jac[i][:n], like.jac[i][:n])
		}
		copy(h.outJ[:n], like.outJ[:n])
		copy(h.slopeU[:n], like.slopeU[:n])
		if !q.linearise(h, t, n) {
			return false
		}
	}
	stale, ok := q.iterate(h, t, like != nil)
	if !ok || !q.laplace(h, t) {
		return false
	}
	h.end = nil
	if stale {
		h.end = t
		if like == nil {
			return q.finishClimb(h)
		}
	}
	return true
}

// iterate moves t to the most probable parameters; known says that slopes are there, good enough for a step. stale:
// those at the end are approximate.
func (q *problem) iterate(h *hypothesis, t *point, known bool) (stale, ok bool) {
	n := h.n
	var a, l [maxParams * maxParams]float64
	var g, dx [maxParams]float64
	lambda := 0.0
	// about: the slopes at t are known from elsewhere or from the step that led there.
	stale, about := true, known
	for range 20 {
		if !about {
			if !q.linearise(h, t, 0) {
				return true, false
			}
		}
		stale = about
		q.normal(h, t, &g, a[:], false)
		moved, improved, size := false, false, 0.0
		for range 6 {
			copy(l[:n*n], a[:n*n])
			for j := range n {
				l[j*n+j] += lambda
			}
			if !num.Cholesky(n, l[:n*n]) {
				lambda = math.Max(1, 4*lambda)
				continue
			}
			for j := range n {
				dx[j] = -g[j]
			}
			num.CholeskySolve(n, l[:n*n], dx[:n])
			size = 0
			for j := range n {
				size = math.Max(size, math.Abs(dx[j]))
			}
			scale := 1.0
			if size > 1.5 {
				scale = 1.5 / size
			}
			x := t.x
			for j := range n {
				x[j] += scale * dx[j]
			}
			u, ok := q.evaluate(h, &x, h.extrapolate(&t.r, &t.x, &x))
			if ok && u.obj < t.obj {
				gain := t.obj - u.obj
				about = q.secant(h, t, &u)
				*t, stale, moved = u, true, true
				improved = gain > worthGain
				lambda /= 4
				if lambda < 1e-3 {
					lambda = 0
				}
				break
			}
			if about {
				break // approximate slopes are not worth a search
			}
			lambda = math.Max(0.3, 4*lambda)
		}
		if about && !moved {
			about = false
			continue
		}
		if !improved || size < 0.03 {
			break
		}
	}
	return stale, true
}

// finishClimb takes exact slopes at the end of a climb, goes on where they lead on, and gives the evidence.
func (q *problem) finishClimb(h *hypothesis) bool {
	t := h.end
	if t == nil {
		return h.ok
	}
	h.end, h.ok = nil, false
	if !q.linearise(h, t, 0) {
		return false
	}
	if q.promisedGain(h, t) > worthGain {
		stale, ok := q.iterate(h, t, true)
		if !ok || stale && !q.linearise(h, t, 0) {
			return false
		}
	}
	return q.laplace(h, t)
}

// promisedGain is what the slopes at t promise of the best step from there, nats.
func (q *problem) promisedGain(h *hypothesis, t *point) float64 {
	var a [maxParams * maxParams]float64
	var g, dx [maxParams]float64
	q.normal(h, t, &g, a[:], false)
	if !num.Cholesky(h.n, a[:h.n*h.n]) {
		return 0
	}
	dx = g
	num.CholeskySolve(h.n, a[:h.n*h.n], dx[:h.n])
	s := 0.0
	for j := range h.n {
		s += 0.5 * g[j] * dx[j]
	}
	return s
}

// worthGain is the gain in nats below which a step moves no probability.
const worthGain = 0.03

// secant updates the slopes by what a step from t to u taught (Broyden), and reports whether the old ones had
// foretold the step well enough to be trusted so.
func (q *problem) secant(h *hypothesis, t, u *point) bool {
	var d [maxParams]float64
	size := 0.0
	for j := range h.n {
		d[j] = u.x[j] - t.x[j]
		size += d[j] * d[j]
	}
	if size == 0 {
		return false
	}
	miss, move := 0.0, 0.0
	for i := range q.e.obs {
		y := u.pred[i] - t.pred[i]
		told := 0.0
		for j := range h.n {
			told += h.jac[i][j] * d[j]
		}
		s := q.e.obs[i].sigma()
		miss += (y - told) * (y - told) / (s * s)
		move += y * y / (s * s)
		for j := range h.n {
			h.jac[i][j] += (y - told) * d[j] / size
		}
	}
	g := u.r.Out[plant.GlassQuality] - t.r.Out[plant.GlassQuality]
	for j := range h.n {
		g -= h.outJ[j][plant.GlassQuality] * d[j]
	}
	for j := range h.n {
		h.outJ[j][plant.GlassQuality] += g * d[j] / size
	}
	return miss < 0.04*move+1e-4
}
