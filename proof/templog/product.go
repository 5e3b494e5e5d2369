package templog

import (
	"math"
)

// lagNode is one time constant of the product with its weight.
type lagNode struct {
	tau, w    float64 // seconds
	x         float64
	peak      float64
	dt, decay float64
	above     [3]float64 // seconds above limit less, at, plus a part of the tolerance
	unknown   float64
}

// Five, fifty and ninety-five parts of a hundred lie under 41, 120 and 350 minutes: judgement, from a wrapped portion to a full crate.
const (
	tauMedian = 120.0
	tauSd     = 0.65
)

// Nodes and weights of three-point Gauss–Legendre for a tolerance taken as a rectangle.
var toleranceNodes, toleranceWeights = [3]float64{-0.7745966692414834, 0, 0.7745966692414834}, [3]float64{5.0 / 18, 8.0 / 18, 5.0 / 18}

// share of a straight line from a to b that lies above c.
func share(a, b, c float64) float64 {
	switch {
	case a > c && b > c:
		return 1
	case a <= c && b <= c:
		return 0
	case a > b:
		return (a - c) / (a - b)
	}
	return (b - c) / (b - a)
}

// product moves the product on: by its own column, or behind the air.
func (j *judge) product(r row) {
	if j.m.Product != nil {
		if math.IsNaN(r.product) {
			return
		}
		n := &j.nodes[0]
		if n.decay != 0 { // there was a reading before; decay holds its time
			dt := float64(r.t) - n.dt
			n.count(j, n.x, r.product, dt)
		}
		n.x, n.dt, n.decay, n.peak = r.product, float64(r.t), 1, math.Max(n.peak, r.product)
		return
	}
	if j.n <= 1 {
		return
	}
	dt := float64(r.t - j.prev.t)
	if dt <= 0 {
		return
	}
	slope := (r.air - j.at) / dt
	for i := range j.nodes {
		n := &j.nodes[i]
		if n.dt != dt {
			n.dt, n.decay = dt, math.Exp(-dt/n.tau)
		}
		next := r.air - slope*n.tau + (n.x-j.at+slope*n.tau)*n.decay
		n.count(j, n.x, next, dt)
		n.x = next
		n.peak = math.Max(n.peak, next)
	}
}

func (n *lagNode) count(j *judge, a, b, dt float64) {
	if dt > j.gap {
		n.unknown += dt
		return
	}
	for k, z := range toleranceNodes {
		n.above[k] += dt * share(a, b, j.limit-z*j.tol)
	}
}
