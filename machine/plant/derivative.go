package plant

import (
	"coldwright/num"
)

// Problem is a plant with its inputs and change: a point in parameter space.
type Problem struct {
	D  Design
	In Inputs
	Ch Change
}

// Derivative returns the change of the outputs per step from the solved base problem to a neighbouring one, by the implicit rule
// dy/dθ = y_θ − y_u F_u⁻¹ F_θ, without solving again.
//
//   - in: the base result of p.Solve(in, ch); neighbours, each with its step; dst with one Outputs per neighbour; du
//     likewise for the unknowns, or nil
//   - out: dst[k] = dOut per unit step, du[k] = dU per unit step; that of ChargeShare is left at zero where the charge
//     does not decide. The result returned is r with exact slopes: a better start for solves nearby
//   - errors: false when the state is singular
//   - source: implicit function theorem
//   - cost: 4 evaluations plus one per neighbour (and a sizing where the design moved)
func (p *Plant) Derivative(
	in Inputs, ch Change, r *Result, neighbours []Problem, steps []float64, dst []Outputs, du [][4]float64,
) (Result, bool) {
	idx := active[r.Mode]
	n := len(idx)
	base := *p
	if base.receiver.justEmpty == 0 {
		base.receiver.justEmpty = r.justEmpty
	}
	p = &base
	asked := in
	asked.coil = moistAir{}
	in = p.entering(in)
	var s0, t state
	u := r.U
	p.eval(in, &ch, r.Mode, &u, &s0)
	h := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	if u[3] < 0 {
		h[3] = -h[3]
	}
	var fu [16]float64
	var yu [4]Outputs
	for b, j := range idx {
		w := u
		w[j] += h[j]
		p.eval(in, &ch, r.Mode, &w, &t)
		for a, i := range idx {
			fu[a*n+b] = (t.F[i] - s0.F[i]) / h[j]
		}
		for k := range yu[b] {
			yu[b][k] = (t.out[k] - s0.out[k]) / h[j]
		}
	}
	near := *r
	near.jac = fu
	for k := range neighbours {
		if n := &neighbours[k]; n.D == p.design && n.In == asked && n.Ch == ch {
			dst[k] = Outputs{} // what this machine does not have
			if du != nil {
				du[k] = [4]float64{}
			}
			continue
		}
		q := *p
		if neighbours[k].D != p.design {
			q.build(neighbours[k].D)
			q.size()
			// The design charge of the neighbour costs an evaluation; it matters only where the charge decides.
			if byCharge(r.Mode) {
				q.receiver.justEmpty = q.designCharge()
			}
		}
		w := u
		if held(r.Mode) {
			w[2] = q.headControl.set + neighbours[k].Ch.HeadShift
		}
		if !byCharge(r.Mode) && p.receiver.fitted {
			w[3] = neighbours[k].Ch.OverCharge
		}
		q.eval(neighbours[k].In, &neighbours[k].Ch, r.Mode, &w, &t)
		var a [16]float64
		copy(a[:], fu[:])
		var b [4]float64
		for c, i := range idx {
			b[c] = (t.F[i] - s0.F[i]) / steps[k]
		}
		if !num.SolveDense(n, a[:n*n], b[:n]) {
			return *r, false
		}
		if du != nil {
			du[k] = [4]float64{}
			for c, i := range idx {
				du[k][i] = -b[c]
			}
		}
		for o := range dst[k] {
			v := (t.out[o] - s0.out[o]) / steps[k]
			for j := range n {
				v -= yu[j][o] * b[j]
			}
			dst[k][o] = v
		}
		if !byCharge(r.Mode) {
			dst[k][ChargeShare] = 0
		}
	}
	return near, true
}
