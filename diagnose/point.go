package diagnose

import (
	"math"

	"coldwright/machine/plant"
)

// point is one evaluated place in parameter space.
type point struct {
	x    [maxParams]float64
	in   plant.Inputs
	ch   plant.Change
	p    plant.Plant
	r    plant.Result
	pred [maxObs]float64
	obj  float64 // −log likelihood·prior without constants of the prior
	seen float64
}

// tolerance of the solves: a few thousandths of a kelvin, against readings good to some tenths.
const tolerance = 1e-5

func (q *problem) evaluate(h *hypothesis, x *[maxParams]float64, near *plant.Result) (point, bool) {
	t := point{x: *x}
	d, in, ch := q.machineAt(h, x)
	p, err := plant.NewWithoutCharge(d, q.f)
	if err != nil {
		return t, false
	}
	t.p, t.in, t.ch = p, in, ch
	h.solves++
	t.r = t.p.Solve(in, ch, plant.Options{Near: near, Quick: near != nil, Tolerance: tolerance})
	if !t.r.Status.OK() || t.r.Trip != plant.TripNone {
		return t, false
	}
	q.predict(h, x, in, &t.r.Out, &t.pred)
	for i := range q.e.obs {
		o := &q.e.obs[i]
		t.obj -= o.log(t.pred[i], o.sigma())
	}
	for i := range h.n {
		t.obj += 0.5 * x[i] * x[i]
	}
	if q.scale.n > 0 {
		more, _, _ := q.scale.cost(x)
		t.obj += more
	}
	t.seen = q.logSeenAt(&t.ch, &t.r.Out)
	t.obj -= t.seen
	return t, !math.IsNaN(t.obj)
}

// extrapolate is where the solution at x may be, by the slopes from a solved place: a start for a solve.
func (h *hypothesis) extrapolate(base *plant.Result, from, x *[maxParams]float64) *plant.Result {
	r := *base
	for k, most := range [4]float64{10, 0.5, 10, 0.15} {
		d := 0.0
		for j := range h.n {
			d += h.slopeU[j][k] * (x[j] - from[j])
		}
		r.U[k] += math.Max(-most, math.Min(most, d))
	}
	return &r
}

// warmStart is where a solve nearby may start.
func (h *hypothesis) warmStart() *plant.Result {
	if h == nil {
		return nil
	}
	return &h.state
}

// linearise fills the Jacobian of the predictions and outputs at a point, from parameter first on.
func (q *problem) linearise(h *hypothesis, t *point, first int) bool {
	const step = 1e-3
	var near [maxParams]plant.Problem
	var steps [maxParams]float64
	var plus [maxParams]plant.Inputs
	for j := first; j < h.n; j++ {
		x := t.x
		x[j] += step
		near[j].D, near[j].In, near[j].Ch = q.machineAt(h, &x)
		plus[j] = near[j].In
		steps[j] = step
	}
	r, ok := t.p.Derivative(t.in, t.ch, &t.r, near[first:h.n], steps[first:h.n], h.outJ[first:h.n], h.slopeU[first:h.n])
	if !ok {
		return false
	}
	t.r = r
	for j := first; j < h.n; j++ {
		x := t.x
		x[j] += step
		out := t.r.Out
		for o := range out {
			out[o] += step * h.outJ[j][o]
		}
		var pred [maxObs]float64
		q.predict(h, &x, plus[j], &out, &pred)
		for i := range q.e.obs {
			h.jac[i][j] = (pred[i] - t.pred[i]) / step
		}
	}
	return true
}
