package refrigerant

import (
	"fmt"
	"math"
	"slices"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
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

// overall returns partial densities of a charge, mol/m³, and the bounds of two-phase charges at T, kg/m³.
func (r *Refrigerant) overall(T, rho float64) (c [eos.MaxN]float64, dew, bubble float64, err error) {
	l := r.limits
	if !(T >= l.TMin && T < l.TCrit) {
		return c, 0, 0, r.outside(QuantityTemperature, num.Temperature, T, l.TMin, l.TCrit, reasonSaturation)
	}
	b, ok := r.m.SatT(r.z, T, true, eos.NewtonMax)
	d := b
	if r.m.N > 1 && ok {
		d, ok = r.m.SatT(r.z, T, false, eos.NewtonMax)
		bubble, dew = b.Bulk, d.Bulk
	} else {
		bubble, dew = b.Bulk, b.Incipient[0]
	}
	if !ok {
		return c, 0, 0, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.3f K", r.designation, T), Solve: d.Solve}
	}
	for i := range r.m.N {
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
	n := r.m.N
	rho, _, err := num.Brent(func(rho float64) float64 {
		var k [eos.MaxN]float64
		for i := range n {
			k[i] = c[i] * rho
		}
		if rho <= dew {
			return -fill
		}
		if rho >= bubble {
			return 1 - fill
		}
		w, ok := r.m.SplitVessel(k[:n], nil, T)
		if !ok {
			return math.NaN()
		}
		return w.Liquid - fill
	}, dew, bubble, 1e-9*bubble)
	return rho * volume, err
}

// leaking is the running state of a leak: what is in the vessel per volume.
type leaking struct {
	c  [eos.MaxN]float64
	at eos.Vessel
}

// Leak follows a slow leak from a vessel at constant temperature: at every moment liquid and vapour are in
// equilibrium, and what escapes has the composition of the phase at the hole.
//
//		dm_i = w_i dm,  w the leaking phase of the split of m_i at T and V
//
//	  - in: l, see its fields; l.T from Limits().TMin to below Limits().TCrit; charge and volume > 0, and the vessel not full of liquid
//	  - out: l.Steps+1 steps from nothing removed to l.Remove (one where that is 0), and one more where the last liquid goes. A vessel
//	    that holds no liquid leaks without a change of composition; so does a liquid leak after its liquid is gone
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
	n := r.m.N
	now := leaking{c: c}
	dry := rho <= dew
	run.Status = num.Converged
	if !dry {
		var ok bool
		now.at, ok = r.m.SplitVessel(c[:n], nil, l.T)
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
func (r *Refrigerant) rate(w *eos.Vessel, l Leak, rho float64) (d [eos.MaxN]float64) {
	from := &w.V
	if l.Phase == Liquid {
		from = &w.L
	}
	mass := 0.0
	for i := range r.m.N {
		mass += from[i] * r.m.M[i]
	}
	for i := range r.m.N {
		d[i] = -rho * from[i] / mass
	}
	return d
}

// runge makes one step of fourth order. ok is false when a stage has no two phases with liquid.
func (r *Refrigerant) runge(a *leaking, l Leak, rho, h float64, s *num.Solve) (b leaking, ok bool) {
	n := r.m.N
	var k [4][eos.MaxN]float64
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
	for i := range r.m.N {
		if !(b.c[i] > 0) {
			return false
		}
	}
	s.Evaluations++
	w, ok := r.m.SplitVessel(b.c[:r.m.N], &b.at, T)
	if ok {
		b.at = w
		s.Residual = math.Max(s.Residual, w.Worst)
	}
	return ok && w.Liquid > 0
}

// advance makes one step of at most h whose error is below tol of what is left. gone says that the last liquid went at its end.
func (r *Refrigerant) advance(a *leaking, l Leak, rho, h, left, tol float64, s *num.Solve) (b leaking, used float64, gone, ok bool) {
	n := r.m.N
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
	return *a, 0, true, a.at.Liquid < 1e-8
}

// report adds the vessel as it is now.
func (r *Refrigerant) report(run *LeakRun, l Leak, now *leaking, removed float64, dry bool) error {
	n := r.m.N
	masses := func(c *[eos.MaxN]float64) []float64 {
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
		q := r.m.At(left.z, l.T, total)
		if !(q.P > 0) {
			return r.noSplit(l.T, run.Solve)
		}
		s.P, s.Vapour = q.P, parts(bulk)
	} else {
		s.P, s.LiquidVolume, s.Liquid, s.Vapour = now.at.P, now.at.Liquid, parts(masses(&now.at.L)), parts(masses(&now.at.V))
	}
	run.Steps = append(run.Steps, s)
	return nil
}
