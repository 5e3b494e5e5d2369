package plant

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/num"
)

// Trip says why a machine would not run in this state.
type Trip int

// The trips: results, not errors.
const (
	TripNone Trip = iota
	HighPressure
	LowPressure
	NoState // no steady state was found
)

func (t Trip) String() string {
	return [...]string{"none", "high_pressure", "low_pressure", "no_state"}[t]
}

// Result is a steady state.
type Result struct {
	num.Solve
	U    [4]float64 // Te, ln m, Tc, charge coordinate
	Mode int
	Out  Outputs
	Trip Trip

	jac       [16]float64 // of the residuals in U, as of the last steps
	justEmpty float64     // charge of the design state, where it was asked for
}

// Options tune a solve; the zero value is the documented default.
type Options struct {
	MaxIter   int     // 0 means 40
	Near      *Result // a solution nearby to start from
	Nested    bool    // bracketing instead of Newton: slow, for tests and as the fallback
	Tolerance float64 // sum of the residuals, which are relative; 0 means 1e-9
	Quick     bool    // no fallback to bracketing: where many states are asked and a machine at the edge of what runs may be given up
}

// Solve finds the steady state.
//
//   - in: box and ambient temperature, K; the change
//   - out: the state; when the machine would trip, Trip says why and Out is not to be used
//   - errors: none; every outcome is in the result
//   - assumes: running long enough to be steady at this box temperature
//   - source: the components' relations, each named where it stands; damped Newton (Dennis and Schnabel 1983), nested
//     bracketing as fallback
//   - cost: about 30 evaluations cold, 12 warm; a charge problem about twice that
func (p *Plant) Solve(in Inputs, ch Change, o Options) Result {
	if o.MaxIter <= 0 {
		o.MaxIter = 40
	}
	if o.Tolerance <= 0 {
		o.Tolerance = 1e-9
	}
	d := &p.design
	if p.receiver.justEmpty == 0 && (!d.Receiver || ch.LowCharge > 0 || d.Head == reading.Flooding) {
		q := *p
		q.receiver.justEmpty = q.designCharge()
		p = &q
	}
	in = p.entering(in)
	evals := 0
	cold := [4]float64{in.BoxT - d.TD, 0, math.Min(in.AmbientT+ch.Recirculation+d.Split, p.maxTc()-6), p.nominal.liquid}
	if d.Receiver {
		cold[3] = ch.OverCharge
	}
	attempt := func(mode int, start [4]float64) (Result, bool) {
		if o.Nested {
			if byCharge(mode) {
				return p.chargeByBracket(in, &ch, mode, start, o, &evals)
			}
			return p.nested(in, &ch, mode, start, &evals)
		}
		if o.Near != nil {
			s := o.Near.U
			if !byCharge(mode) {
				s[3] = start[3]
			}
			if held(mode) {
				s[2] = start[2]
			}
			var jac *[16]float64
			if o.Near.Mode == mode && o.Near.jac[0] != 0 {
				jac = &o.Near.jac
			}
			if r, ok := p.newton(in, &ch, mode, s, jac, o, &evals); ok {
				return r, true
			}
		}
		if r, ok := p.newton(in, &ch, mode, start, nil, o, &evals); ok {
			return r, true
		}
		// Starved machines run far below: a second guess before the fallback.
		s := start
		s[0] -= 12
		s[1] -= 0.6
		if !held(mode) {
			s[2] = math.Max(in.AmbientT+2, s[2]-6)
		}
		if r, ok := p.newton(in, &ch, mode, s, nil, o, &evals); ok {
			return r, true
		}
		switch {
		case o.Quick:
			return Result{}, false
		case byCharge(mode):
			return p.chargeByBracket(in, &ch, mode, start, o, &evals)
		}
		return p.nested(in, &ch, mode, start, &evals)
	}
	done := func(r Result) Result {
		r.Evaluations = evals
		r.justEmpty = p.receiver.justEmpty
		lo, _ := p.f.TRange()
		switch {
		case r.Trip != TripNone:
		case r.U[2] > p.maxTc():
			r.Trip = HighPressure
		case r.U[0] < lo || r.Out[SuctionDew] < lo:
			r.Trip = LowPressure
		}
		return r
	}
	failed := func() Result {
		r := Result{Solve: num.Solve{Status: num.Diverged}, Trip: NoState}
		// Which side gives out: a hot condenser or a starved coil.
		if p.needsMore(in, &ch) {
			r.Trip = HighPressure
		}
		return done(r)
	}
	// short finds the state in which vapour leaves the condenser because the charge does not reach.
	short := func(mode int, from [4]float64) (Result, bool) {
		from[3] = -math.Min(0.3, 0.3*ch.LowCharge+0.01)
		q, ok := attempt(mode, from)
		return q, ok && q.U[3] <= 1e-6
	}
	// Head control first: it holds while there is area to spare.
	set := p.headControl.set + ch.HeadShift
	control := p.headControl.fitted() && set > in.AmbientT+ch.Recirculation+0.5
	var free Result
	found := false // free is solved
	if control && d.Receiver && o.Near != nil && o.Near.Mode == modeFree {
		// Beside a neighbour above its set value: so is this one where the head is free to be there, since the area needed falls with the head.
		if free, found = attempt(modeFree, cold); found && free.U[2] > set {
			control = false
		}
	}
	if control {
		start := cold
		start[2] = set
		mode := modeHead
		if !d.Receiver {
			mode = modeHeadCharge
		}
		if r, ok := attempt(mode, start); ok {
			var s state
			p.eval(in, &ch, mode, &r.U, &s)
			switch {
			case s.excess > 0:
				// Not enough area even so: the head rises above the set value.
			case !d.Receiver:
				return done(r)
			case d.Head == reading.Flooding:
				have := p.receiver.full()
				if ch.LowCharge > 0 {
					have = p.receiver.charge(&ch)
				}
				if s.charge <= have {
					return done(r)
				}
				// Not enough to flood: the circuit without control.
			case ch.LowCharge == 0 || s.charge <= p.receiver.charge(&ch):
				return done(r)
			default:
				// Fans hold the head of a machine that is short of refrigerant too.
				if q, ok := short(modeHeadCharge, r.U); ok {
					p.eval(in, &ch, modeHeadCharge, &q.U, &s)
					if s.excess <= 0 {
						return done(q)
					}
				}
			}
		}
	}
	if !d.Receiver {
		if r, ok := attempt(modeCharge, cold); ok {
			return done(r)
		}
		return failed()
	}
	// A neighbour that was short of refrigerant: with vapour leaving the condenser the charge decides here too, since
	// it falls as that share rises.
	if n := o.Near; n != nil && ch.LowCharge > 0 && n.Mode == modeCharge && n.jac[0] != 0 && !o.Nested {
		if r, ok := p.newton(in, &ch, modeCharge, n.U, &n.jac, o, &evals); ok && r.U[3] < -1e-6 {
			return done(r)
		}
	}
	r, ok := free, found
	if !ok {
		r, ok = attempt(modeFree, cold)
	}
	if !ok {
		return failed()
	}
	if ch.LowCharge > 0 {
		var s state
		p.eval(in, &ch, modeFree, &r.U, &s)
		if s.charge > p.receiver.charge(&ch) {
			if q, ok := short(modeCharge, r.U); ok {
				return done(q)
			}
			if !o.Quick {
				if q, ok := p.chargeByBracket(in, &ch, modeCharge, r.U, o, &evals); ok {
					return done(q)
				}
			}
			return failed()
		}
	}
	return done(r)
}

func (p *Plant) maxTc() float64 {
	_, hi := p.f.TRange()
	return hi
}

// needsMore reports whether at the highest condensing temperature the condenser still lacks area.
func (p *Plant) needsMore(in Inputs, ch *Change) bool {
	u := [4]float64{in.BoxT - p.design.TD, 0, p.maxTc(), 0}
	var s state
	p.eval(in, ch, modeFree, &u, &s)
	return s.excess > 0
}

// newton solves from u. The Jacobian is differenced where none is known and where it has worn out, and kept up to
// date by Broyden's rank-one update in between; near is one of a neighbouring solution of the same mode. Source:
// Dennis and Schnabel (1983), Numerical Methods for Unconstrained Optimization and Nonlinear Equations, ch. 8.
func (p *Plant) newton(in Inputs, ch *Change, mode int, u [4]float64, near *[16]float64, o Options, evals *int) (Result, bool) {
	idx := active[mode]
	n := len(idx)
	clamp := func(u *[4]float64) {
		u[0] = math.Min(u[0], in.BoxT-0.05)
		u[2] = math.Max(u[2], in.AmbientT+ch.Recirculation+0.3)
		if byCharge(mode) {
			u[3] = math.Max(-0.9, math.Min(0.9, u[3]))
		}
	}
	clamp(&u)
	var places [2]state
	s, t := &places[0], &places[1]
	p.residuals(in, ch, mode, &u, s)
	*evals++
	norm := func(s *state) float64 {
		v := 0.0
		for _, i := range idx {
			v += math.Abs(s.F[i])
		}
		return v
	}
	f0 := norm(s)
	steps := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	limits := [4]float64{8, 0.5, 8, 0.15}
	var J [16]float64
	known, fresh := near != nil, false
	if known {
		J = *near
	}
	for it := 1; it <= o.MaxIter; it++ {
		if f0 < o.Tolerance {
			if !byCharge(mode) {
				p.weigh(ch, mode, s)
			}
			p.show(in, ch, mode, s)
			return Result{Solve: num.Solve{Status: num.Converged, Iterations: it, Residual: f0}, U: u, Mode: mode, Out: s.out, jac: J}, true
		}
		if math.IsNaN(f0) {
			return Result{}, false
		}
		if !known {
			for b, j := range idx {
				w := u
				h := steps[j]
				// Stay on one side of the kink of the charge coordinate.
				if j == 3 && u[3] < 0 {
					h = -h
				}
				w[j] += h
				p.residuals(in, ch, mode, &w, t)
				*evals++
				for a, i := range idx {
					J[a*n+b] = (t.F[i] - s.F[i]) / h
				}
			}
			known, fresh = true, true
		}
		A := J
		var F [4]float64
		for a, i := range idx {
			F[a] = -s.F[i]
		}
		scale := 1.0
		accepted := false
		if num.SolveDense(n, A[:n*n], F[:n]) {
			for k, i := range idx {
				if a := math.Abs(F[k]) * scale; a > limits[i] {
					scale *= limits[i] / a
				}
			}
			tries := 12
			switch {
			case !fresh:
				tries = 1 // a worn Jacobian is not worth a search
			case o.Quick:
				tries = 5
			}
			for range tries {
				w := u
				for k, i := range idx {
					w[i] += scale * F[k]
				}
				clamp(&w)
				p.residuals(in, ch, mode, &w, t)
				*evals++
				if f1 := norm(t); f1 < f0*(1-1e-4*scale) || f1 < o.Tolerance {
					broyden(idx, &J, &u, &w, s, t, &limits)
					known = f1 < 0.45*f0 && (w[3] < 0) == (u[3] < 0)
					fresh = false
					u, f0 = w, f1
					s, t = t, s
					accepted = true
					break
				}
				scale *= 0.4
			}
		}
		if !accepted {
			if fresh {
				return Result{}, false
			}
			known = false
		}
	}
	return Result{}, false
}

// broyden updates J by what the step from u to w taught, in coordinates of comparable size.
func broyden(idx []int, J *[16]float64, u, w *[4]float64, s, t *state, size *[4]float64) {
	n := len(idx)
	var d [4]float64
	sum := 0.0
	for b, j := range idx {
		d[b] = w[j] - u[j]
		sum += d[b] * d[b] / (size[j] * size[j])
	}
	if sum == 0 {
		return
	}
	for a, i := range idx {
		y := t.F[i] - s.F[i]
		for b := range n {
			y -= J[a*n+b] * d[b]
		}
		for b, j := range idx {
			J[a*n+b] += y * d[b] / (size[j] * size[j] * sum)
		}
	}
}
