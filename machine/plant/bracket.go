package plant

import (
	"math"

	"coldwright/num"
)

// nested solves by bracketing, relying on monotone residuals: ln m inside on the valve, Te on the compressor, Tc outside on the area.
func (p *Plant) nested(in Inputs, ch *Change, mode int, start [4]float64, evals *int) (Result, bool) {
	u := start
	var s state
	get := func() *state {
		*evals++
		p.eval(in, ch, mode, &u, &s)
		return &s
	}
	solveM := func() bool {
		x, _, err := num.Brent(func(x float64) float64 { u[1] = x; return get().F[1] }, -6, 1.5, 1e-12)
		u[1] = x
		return err == nil
	}
	lo, _ := p.f.TRange()
	solveTe := func() bool {
		f := func(x float64) float64 {
			u[0] = x
			if !solveM() {
				return math.NaN()
			}
			return get().F[0]
		}
		a, b := math.Max(lo-15, in.BoxT-70), in.BoxT-0.05
		// Shrink the bracket to where the inner problem has a solution.
		for range 12 {
			if !math.IsNaN(f(a)) {
				break
			}
			a += 0.25 * (b - a)
		}
		x, _, err := num.Brent(f, a, b, 1e-11)
		if err != nil {
			return false
		}
		u[0] = x
		return solveM()
	}
	if mode == modeHead {
		if !solveTe() {
			return Result{}, false
		}
	} else {
		f := func(x float64) float64 {
			u[2] = x
			if !solveTe() {
				return math.NaN()
			}
			return get().excess
		}
		a, b := in.AmbientT+ch.Recirculation+0.3, p.maxTc()+10
		for range 12 {
			if !math.IsNaN(f(a)) {
				break
			}
			a += 0.2 * (b - a)
		}
		// At high condensing temperature a wide feed passes more than the compressor can take at any evaporating temperature.
		for range 12 {
			if !math.IsNaN(f(b)) {
				break
			}
			b -= 0.2 * (b - a)
		}
		x, _, err := num.Brent(f, a, b, 1e-11)
		if err != nil {
			return Result{}, false
		}
		u[2] = x
		if !solveTe() {
			return Result{}, false
		}
	}
	get()
	return Result{
		Solve: num.Solve{Status: num.Converged, Iterations: 1, Residual: math.Abs(s.F[0]) + math.Abs(s.F[1])},
		U:     u,
		Mode:  mode,
		Out:   s.out,
	}, true
}

// chargeByBracket finds the charge coordinate by expanding steps and bracketing, warm-starting the inner Newton (or bracketing there too).
func (p *Plant) chargeByBracket(in Inputs, ch *Change, mode int, start [4]float64, o Options, evals *int) (Result, bool) {
	inner := modeFree
	if mode == modeHeadCharge {
		inner = modeHead
	}
	want := p.receiver.charge(ch)
	var last Result
	warm := start
	f := func(c float64) float64 {
		u := warm
		u[3] = c
		var r Result
		var ok bool
		if o.Nested {
			r, ok = p.nested(in, ch, inner, u, evals)
		} else {
			r, ok = p.newton(in, ch, inner, u, nil, o, evals)
		}
		if !ok {
			return math.NaN()
		}
		var s state
		p.eval(in, ch, inner, &r.U, &s)
		last, warm = r, r.U
		return math.Log(s.charge / want)
	}
	a := 0.0
	fa := f(a)
	if math.IsNaN(fa) {
		return Result{}, false
	}
	step := 0.04
	if fa > 0 {
		step = -step
	}
	for range 30 {
		b := a + step
		if b > 0.9 || b < -0.9 {
			return Result{}, false
		}
		save := warm
		fb := f(b)
		if math.IsNaN(fb) {
			warm = save
			step *= 0.4
			if math.Abs(step) < 1e-4 {
				return Result{}, false
			}
			continue
		}
		if fa*fb <= 0 {
			c, _, err := num.Brent(f, a, b, 1e-10)
			if err != nil || math.IsNaN(f(c)) {
				return Result{}, false
			}
			last.Mode, last.jac = mode, [16]float64{} // the Jacobian is that of the inner problem
			return last, true
		}
		a, fa = b, fb
		step *= 1.8
	}
	return Result{}, false
}
