package refrigerant

import (
	"fmt"
	"math"
	"slices"

	"coldwright/num"
)

// leakTol is what one step of the integration may err by, as a share of what is left; the sum over a leak stays below LeakTolerance.
const leakTol = 1e-9

// LeakTolerance bounds the error of the integration in every mass fraction of a [LeakRun]; a test tightens the steps
// and sees less than this.
const LeakTolerance = 1e-7

// maxRemoved is the largest share a leak may take: composition means nothing in an empty vessel.
const maxRemoved = 0.999

// Leak says what escapes from a closed vessel that stands at one temperature.
type Leak struct {
	Charge float64 // kg at the start, bulk composition of the refrigerant
	Volume float64 // m³
	T      float64 // K
	Phase  Phase   // Liquid or Vapour: what stands at the hole
	Remove float64 // share of the charge, 0 to 0.999
	Steps  int     // intervals reported; 0 means 10
}

// LeakStep is the vessel after a share of its charge is gone.
type LeakStep struct {
	Removed      float64 // share of the charge
	Mass         float64 // kg left
	P            float64 // Pa, in the vessel
	LiquidVolume float64 // share of the vessel's volume that is liquid; 0 when none is left
	Left         *Refrigerant
	Liquid       []Part // composition of the liquid by mass, nil when none is left
	Vapour       []Part // composition of the vapour by mass
}

// LeakRun is a leak from its start to its end. Dry says that the last liquid went at DryAt, a step of its own: from
// there on one phase is left, which leaks without changing. Residual is the largest fugacity error of the splits, in
// ln f.
type LeakRun struct {
	num.Solve
	Steps []LeakStep
	Dry   bool
	DryAt float64
}

// vessel is a volume of liquid and vapour in equilibrium at T.
type vessel struct {
	T, p   float64
	liquid float64       // volume share; slightly negative just beyond the last drop
	l, v   [maxN]float64 // partial densities, mol/m³
	worst  float64       // largest error in ln f
}

// balance sets the densities of the phase that is not a variable from c = s a + (1 − s) b; false when one would not be positive.
func balance(n int, c []float64, s float64, a, b *[maxN]float64) bool {
	for i := range n {
		b[i] = (c[i] - s*a[i]) / (1 - s)
		if !(b[i] > 0) {
			return false
		}
	}
	return true
}

// splitNewton polishes a split of the overall partial densities c at v.T: equal fugacities and pressures. Variables
// are the densities of the phase with the smaller volume and its share, so the balance of every component and of the
// volume holds exactly.
func (m *model) splitNewton(c []float64, w *vessel) bool {
	n := m.n
	size := n + 1
	R, T := m.R, w.T
	liquidSmall := w.liquid < 0.5
	a, b, s := &w.v, &w.l, 1-w.liquid
	if liquidSmall {
		a, b, s = &w.l, &w.v, w.liquid
	}
	if !balance(n, c, s, a, b) {
		return false
	}
	const big = maxN + 1
	var J [big * big]float64
	var F [big]float64
	var A, B isochoric
	prev := math.Inf(1)
	for range 60 {
		A, B = isochoric{}, isochoric{}
		m.isochore(T, a[:n], &A)
		m.isochore(T, b[:n], &B)
		pa, pb, ra, rb := -A.psi, -B.psi, 0.0, 0.0
		for i := range n {
			pa += a[i] * (1 + A.g[i])
			pb += b[i] * (1 + B.g[i])
			ra += a[i]
			rb += b[i]
		}
		w.p = R * T * pb
		if rb > ra { // the vapour's pressure is the better scale
			w.p = R * T * pa
		}
		scale := math.Max(math.Abs(w.p), 1e-3) / (R * T)
		worst := 0.0
		clear(J[:])
		for i := range n {
			F[i] = -(math.Log(a[i]/b[i]) + A.g[i] - B.g[i])
			worst = math.Max(worst, math.Abs(F[i]))
			for j := range n {
				d := B.h[i][j]
				if i == j {
					d += 1 / b[i]
				}
				J[i*size+j] = A.h[i][j]*a[j] + d*s*a[j]/(1-s)
				J[i*size+n] -= d * (b[j] - a[j]) / (1 - s)
			}
			J[i*size+i]++
		}
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += a[i] * A.h[i][j]
				sb += b[i] * B.h[i][j]
			}
			J[n*size+j] = (sa + sb*s/(1-s)) * a[j] / scale
			J[n*size+n] -= sb * (b[j] - a[j]) / (1 - s) / scale
		}
		F[n] = -(pa - pb) / scale
		// As in newton: the liquid's pressure is a small difference of large numbers.
		worst = math.Max(worst, math.Abs(F[n])/(1+1e-2*math.Max(ra, rb)/scale))
		if math.IsNaN(worst) {
			return false
		}
		w.worst = worst
		if worst < 3e-13 || worst < 1e-8 && worst >= prev*0.5 {
			w.liquid = 1 - s
			if liquidSmall {
				w.liquid = s
			}
			rl, rv := rb, ra
			if liquidSmall {
				rl, rv = ra, rb
			}
			return w.p > 0 && math.Log(rl/rv) > 5e-3
		}
		prev = worst
		if !num.SolveDense(size, J[:size*size], F[:size]) {
			return false
		}
		// Step limits: densities by a third, the other phase's as well.
		f := 1.0
		for i := range n {
			if x := math.Abs(F[i]); x*f > 0.3 {
				f = 0.3 / x
			}
		}
		ok := false
		for range 30 {
			var na, nb [maxN]float64
			for i := range n {
				na[i] = a[i] * math.Exp(f*F[i])
			}
			ns := s + f*F[n]
			ok = ns < 1 && balance(n, c, ns, &na, &nb)
			for i := 0; ok && i < n; i++ {
				ok = math.Abs(math.Log(nb[i]/b[i])) < 0.7
			}
			if ok {
				*a, *b, s = na, nb, ns
				break
			}
			f /= 2
		}
		if !ok {
			return false
		}
	}
	return false
}

// splitCold splits without a start. At T the two phases are a bubble point of the liquid's composition, so that
// composition is all there is to find: successive substitution on it with the vapour share that fills the volume.
func (m *model) splitCold(c []float64, T float64) (w vessel, ok bool) {
	n := m.n
	var z, x [maxN]float64
	total := 0.0
	for i := range n {
		total += c[i]
	}
	for i := range n {
		z[i] = c[i] / total
	}
	x = z
	for round := range 60 {
		e, good := m.satT(x[:n], T, true, newtonMax)
		if !good {
			return w, false
		}
		rl, rv := e.bulk, e.incRho(n)
		share := (rl - total) / (rl - rv) // of the volume, vapour
		beta := math.Max(0, math.Min(1, share*rv/total))
		w = vessel{T: T, p: e.p, liquid: 1 - share}
		change := 0.0
		for i := range n {
			w.l[i], w.v[i] = x[i]*rl, e.inc[i]
			k := e.inc[i] / rv / x[i]
			was := x[i]
			x[i] = z[i] / (1 + beta*(k-1))
			change += math.Abs(x[i] - was)
		}
		normalise(x[:n])
		if round < 3 {
			continue
		}
		if try := w; m.splitNewton(c, &try) {
			return try, true
		}
		if change < 1e-13 {
			break
		}
	}
	return w, false
}

// split solves the vessel with overall partial densities c, from a neighbour if there is one. The phases of the
// neighbour keep their densities and shares move so that the total fits.
func (m *model) split(c []float64, near *vessel, T float64) (vessel, bool) {
	if near != nil {
		w := *near
		rl, rv, total := 0.0, 0.0, 0.0
		for i := range m.n {
			rl += w.l[i]
			rv += w.v[i]
			total += c[i]
		}
		w.liquid = (total - rv) / (rl - rv)
		if m.splitNewton(c, &w) {
			return w, true
		}
	}
	return m.splitCold(c, T)
}

// AtComposition returns the same components at another composition, at a tenth of the cost of [Blend].
//
//   - in: mass fractions in the order of [Refrigerant.Composition], all > 0, adding up to 1 within 0.001
//   - out: the refrigerant, named by its parts, graded as r; r itself where it is pure
//   - errors: length, sign or sum of the fractions; [*num.NoConvergence] where it has no reference state
//   - source: definition
//   - cost: 0.2 ms for a five-component blend
func (r *Refrigerant) AtComposition(w []float64) (*Refrigerant, error) {
	n := r.m.n
	if len(w) != n {
		return nil, fmt.Errorf("%s has %d components, not %d", r.designation, n, len(w))
	}
	sum, mol := 0.0, 0.0
	for i, x := range w {
		if !(x > 0) || x > 1 {
			return nil, fmt.Errorf("mass fraction of %s is %g; allowed: more than 0, at most 1", r.parts[i].Designation, x)
		}
		sum += x
		mol += x / r.m.M[i]
	}
	if math.Abs(sum-1) > 1e-3 {
		return nil, fmt.Errorf("mass fractions add up to %g, not 1", sum)
	}
	if n == 1 {
		return r, nil
	}
	m := *r.m
	m.R = 0
	q := &Refrigerant{kind: Zeotrope, grade: r.grade, reason: r.reason, m: &m, parts: slices.Clone(r.parts), z: make([]float64, n)}
	for i := range n {
		q.parts[i].MassFraction = w[i] / sum
		q.z[i] = w[i] / m.M[i] / mol
		m.R += q.z[i] * m.c[i].R
		if i > 0 {
			q.designation += "/"
		}
		q.designation += q.parts[i].Designation
	}
	q.molarMass = m.molarMass(q.z)
	q.setLimits()
	if err := q.setReference(); err != nil {
		return nil, err
	}
	return q, nil
}

// TopUp returns what a vessel holds after nominal blend, charged as liquid from a full cylinder and so of its own
// composition, has been added.
//
//   - in: what was left and its mass, kg, zero or more; the mass added, kg, zero or more; together more than zero; r is the blend added
//   - out: the mixture of both
//   - errors: other components than r's, negative or no mass, as [Refrigerant.AtComposition]
//   - assumes: both mix completely; what was in the hoses is nothing
//   - source: definition, a mass balance
//   - cost: as [Refrigerant.AtComposition]
func (r *Refrigerant) TopUp(left *Refrigerant, mass, added float64) (*Refrigerant, error) {
	if !(mass >= 0 && added >= 0 && mass+added > 0) || math.IsInf(mass+added, 0) {
		return nil, fmt.Errorf("masses of %g kg and %g kg cannot be mixed", mass, added)
	}
	if left == nil || len(left.parts) != len(r.parts) {
		return nil, fmt.Errorf("what is left does not have the components of %s", r.designation)
	}
	w := make([]float64, len(r.parts))
	for i, p := range r.parts {
		if left.parts[i].Designation != p.Designation {
			return nil, fmt.Errorf("%s and %s have different components", left.designation, r.designation)
		}
		w[i] = (mass*left.parts[i].MassFraction + added*p.MassFraction) / (mass + added)
	}
	return r.AtComposition(w)
}

// CardError says how far the card of r misleads when the machine in truth holds another composition.
//
//   - in: what the machine holds; p, absolute pressure, Pa, where both have saturation
//   - out: true minus printed dew temperature and true minus printed bubble temperature at p, K. Superheat reckoned
//     with the card is too large by the first, subcooling too small by the second.
//   - errors: as [Refrigerant.DewP]
//   - source: definition
//   - cost: four saturation points, about 1 ms
func (r *Refrigerant) CardError(held *Refrigerant, p float64) (dew, bubble float64, err error) {
	var t [4]float64
	for i, q := range []*Refrigerant{r, held} {
		d, err := q.DewP(p, Options{})
		if err != nil {
			return 0, 0, err
		}
		b, err := q.BubbleP(p, Options{})
		if err != nil {
			return 0, 0, err
		}
		t[2*i], t[2*i+1] = d.T, b.T
	}
	return t[2] - t[0], t[3] - t[1], nil
}

// overall returns partial densities of a charge, mol/m³, and the bounds of two-phase charges at T, kg/m³.
func (r *Refrigerant) overall(T, rho float64) (c [maxN]float64, dew, bubble float64, err error) {
	l := r.limits
	if !(T >= l.TMin && T < l.TCrit) {
		return c, 0, 0, r.outside(QuantityTemperature, num.Temperature, T, l.TMin, l.TCrit, reasonSaturation)
	}
	b, ok := r.m.satT(r.z, T, true, newtonMax)
	d := b
	if r.m.n > 1 && ok {
		d, ok = r.m.satT(r.z, T, false, newtonMax)
		bubble, dew = b.bulk, d.bulk
	} else {
		bubble, dew = b.bulk, b.inc[0]
	}
	if !ok {
		return c, 0, 0, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.3f K", r.designation, T), Solve: d.Solve}
	}
	for i := range r.m.n {
		c[i] = r.z[i] * rho / r.molarMass
	}
	return c, dew * r.molarMass, bubble * r.molarMass, nil
}

// FillCharge returns the charge that fills a share of a vessel's volume with liquid.
//
//   - in: volume, m³, > 0; T, K, below the critical temperature; fill, share of the volume, 0.01 to 0.99
//   - out: charge, kg, of which the vapour above the liquid is part
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
//   - cost: about ten splits, 2 ms
func (r *Refrigerant) FillCharge(volume, T, fill float64) (float64, error) {
	if !(fill >= 0.01 && fill <= 0.99) {
		return 0, r.outside(QuantityLiquidShare, num.Dimensionless, fill, 0.01, 0.99, reasonDefinition)
	}
	if !(volume > 0) || math.IsInf(volume, 0) {
		return 0, r.outside(QuantityVolume, num.Volume, volume, 0, math.MaxFloat64, reasonDefinition)
	}
	c, dew, bubble, err := r.overall(T, 1)
	if err != nil {
		return 0, err
	}
	n := r.m.n
	rho, _, err := num.Brent(func(rho float64) float64 {
		var k [maxN]float64
		for i := range n {
			k[i] = c[i] * rho
		}
		if rho <= dew {
			return -fill
		}
		if rho >= bubble {
			return 1 - fill
		}
		w, ok := r.m.split(k[:n], nil, T)
		if !ok {
			return math.NaN()
		}
		return w.liquid - fill
	}, dew, bubble, 1e-9*bubble)
	return rho * volume, err
}

// leaking is the running state of a leak: what is in the vessel per volume.
type leaking struct {
	c  [maxN]float64
	at vessel
}

// Leak follows a slow leak from a vessel at constant temperature: at every moment liquid and vapour are in
// equilibrium, and what escapes has the composition of the phase at the hole.
//
//		dm_i = w_i dm,  w the leaking phase of the split of m_i at T and V
//
//	  - in: l, see its fields; l.T from Limits().TMin to below Limits().TCrit; charge and volume > 0, and the vessel not full of liquid
//	  - out: l.Steps+1 steps from nothing removed to l.Remove (one where that is 0), and one more where the last liquid goes. A vessel that holds no liquid leaks
//	    without a change of composition; so does a liquid leak after its liquid is gone
//	  - errors: [*RangeError], [*num.NoConvergence]
//	  - assumes: slow and isothermal, complete mixing in each phase, no oil, no air; the outside pressure is no bound
//	  - source: definition; open-system distillation after Rayleigh (1902), Phil. Mag. 4:521-537; Runge-Kutta steps of fourth order, each
//	    against two of half its length; the split is our Newton on isochoric derivatives, Deiters and Bell (2018)
//	  - cost: about 6 ms for half the charge of a three-component blend, 30 ms to the last liquid
func (r *Refrigerant) Leak(l Leak) (LeakRun, error) { return r.leak(l, leakTol) }

func (r *Refrigerant) leak(l Leak, tol float64) (run LeakRun, err error) {
	for _, q := range []struct {
		what          string
		dim           num.Dimension
		value, lo, hi float64
	}{
		{QuantityCharge, num.Mass, l.Charge, math.SmallestNonzeroFloat64, math.MaxFloat64},
		{QuantityVolume, num.Volume, l.Volume, math.SmallestNonzeroFloat64, math.MaxFloat64},
		{QuantityRemovedShare, num.Dimensionless, l.Remove, 0, maxRemoved},
		{QuantitySteps, num.Dimensionless, float64(l.Steps), 0, 1000},
		{QuantityPhase, num.Dimensionless, float64(l.Phase), float64(Liquid), float64(Vapour)},
	} {
		if !(q.value >= q.lo && q.value <= q.hi) {
			return run, r.outside(q.what, q.dim, q.value, q.lo, q.hi, reasonDefinition)
		}
	}
	if l.Steps == 0 {
		l.Steps = 10
	}
	rho := l.Charge / l.Volume
	c, dew, bubble, err := r.overall(l.T, rho)
	if err != nil {
		return run, err
	}
	if rho >= bubble {
		return run, r.outside(QuantityChargePerVolume, num.Density, rho, 0, bubble, "a vessel full of liquid has no room")
	}
	n := r.m.n
	now := leaking{c: c}
	dry := rho <= dew
	run.Status = num.Converged
	if !dry {
		var ok bool
		now.at, ok = r.m.split(c[:n], nil, l.T)
		run.Evaluations++
		if !ok {
			return run, r.noSplit(l.T, run.Solve)
		}
	}
	removed := 0.0
	for k := 0; k <= l.Steps; k++ {
		goal := l.Remove * float64(k) / float64(l.Steps)
		for removed < goal && !dry {
			h := goal - removed
			next, used, gone, ok := r.advance(&now, l, rho, h, 1-removed, tol, &run.Solve)
			if !ok {
				return run, r.noSplit(l.T, run.Solve)
			}
			now = next
			if used >= h {
				removed = goal
			} else {
				removed += used
			}
			if gone {
				dry, run.Dry, run.DryAt = true, true, removed
				if err := r.report(&run, l, &now, removed, true); err != nil {
					return run, err
				}
			}
		}
		if dry {
			for i := range n {
				now.c[i] *= (1 - goal) / (1 - removed)
			}
			removed = goal
		}
		if run.Dry && run.DryAt == goal {
			continue
		}
		if err := r.report(&run, l, &now, removed, dry); err != nil {
			return run, err
		}
		if l.Remove == 0 {
			break
		}
	}
	return run, nil
}

func (r *Refrigerant) noSplit(T float64, s num.Solve) error {
	s.Status = num.Diverged
	return &num.NoConvergence{What: fmt.Sprintf("%s: liquid and vapour in a vessel at %.3f K", r.designation, T), Solve: s}
}

// rate is what leaves the vessel per share of the charge, mol/m³.
func (r *Refrigerant) rate(w *vessel, l Leak, rho float64) (d [maxN]float64) {
	from := &w.v
	if l.Phase == Liquid {
		from = &w.l
	}
	mass := 0.0
	for i := range r.m.n {
		mass += from[i] * r.m.M[i]
	}
	for i := range r.m.n {
		d[i] = -rho * from[i] / mass
	}
	return d
}

// runge makes one step of fourth order. ok is false when a stage has no two phases with liquid.
func (r *Refrigerant) runge(a *leaking, l Leak, rho, h float64, s *num.Solve) (b leaking, ok bool) {
	n := r.m.n
	var k [4][maxN]float64
	k[0] = r.rate(&a.at, l, rho)
	b = *a
	for j, f := range [...]float64{0.5, 0.5, 1} {
		for i := range n {
			b.c[i] = a.c[i] + f*h*k[j][i]
		}
		if !r.refresh(&b, l.T, s) {
			return b, false
		}
		k[j+1] = r.rate(&b.at, l, rho)
	}
	for i := range n {
		b.c[i] = a.c[i] + h/6*(k[0][i]+2*k[1][i]+2*k[2][i]+k[3][i])
	}
	return b, r.refresh(&b, l.T, s)
}

// refresh splits the vessel anew and says whether liquid is left.
func (r *Refrigerant) refresh(b *leaking, T float64, s *num.Solve) bool {
	for i := range r.m.n {
		if !(b.c[i] > 0) {
			return false
		}
	}
	s.Evaluations++
	w, ok := r.m.split(b.c[:r.m.n], &b.at, T)
	if ok {
		b.at = w
		s.Residual = math.Max(s.Residual, w.worst)
	}
	return ok && w.liquid > 0
}

// advance makes one step of at most h whose error is below tol of what is left. gone says that the last liquid went at its end.
func (r *Refrigerant) advance(a *leaking, l Leak, rho, h, left, tol float64, s *num.Solve) (b leaking, used float64, gone, ok bool) {
	n := r.m.n
	h = math.Min(h, 0.05*left)
	for shortest := math.Min(h, 1e-12*left); h >= shortest; {
		s.Iterations++
		whole, ok1 := r.runge(a, l, rho, h, s)
		half, ok2 := r.runge(a, l, rho, h/2, s)
		if ok2 {
			b, ok2 = r.runge(&half, l, rho, h/2, s)
		}
		if !ok1 || !ok2 {
			// The liquid ends within this step (or the split fails, which shows in what is left of it).
			h /= 2
			continue
		}
		worst := 0.0
		for i := range n {
			worst = math.Max(worst, math.Abs(whole.c[i]-b.c[i])*r.m.M[i]/rho)
		}
		if worst <= tol*left {
			return b, h, false, true
		}
		h *= math.Max(0.2, 0.8*math.Pow(tol*left/worst, 0.2))
	}
	// No step is short enough: either the last drop is reached, or the equations fail.
	return *a, 0, true, a.at.liquid < 1e-8
}

// report adds the vessel as it is now.
func (r *Refrigerant) report(run *LeakRun, l Leak, now *leaking, removed float64, dry bool) error {
	n := r.m.n
	masses := func(c *[maxN]float64) []float64 {
		w, sum := make([]float64, n), 0.0
		for i := range n {
			w[i] = c[i] * r.m.M[i]
			sum += w[i]
		}
		for i := range n {
			w[i] /= sum
		}
		return w
	}
	parts := func(w []float64) []Part {
		p := slices.Clone(r.parts)
		for i := range n {
			p[i].MassFraction = w[i]
		}
		return p
	}
	bulk := masses(&now.c)
	left := r
	if removed > 0 {
		var err error
		if left, err = r.AtComposition(bulk); err != nil {
			return err
		}
	}
	s := LeakStep{Removed: removed, Mass: l.Charge * (1 - removed), Left: left}
	if dry {
		total := 0.0
		for i := range n {
			total += now.c[i]
		}
		q := r.m.at(left.z, l.T, total)
		if !(q.p > 0) {
			return r.noSplit(l.T, run.Solve)
		}
		s.P, s.Vapour = q.p, parts(bulk)
	} else {
		s.P, s.LiquidVolume, s.Liquid, s.Vapour = now.at.p, now.at.liquid, parts(masses(&now.at.l)), parts(masses(&now.at.v))
	}
	run.Steps = append(run.Steps, s)
	return nil
}
