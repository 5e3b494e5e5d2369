package refrigerant

import (
	"fmt"
	"math"
	"slices"
)

// AtComposition returns the same components at another composition, at a tenth of the cost of [Blend].
//
//   - in: mass fractions in the order of [Refrigerant.Composition], all > 0, adding up to 1 within 0.001
//   - out: the refrigerant, named by its parts, graded as r; r itself where it is pure
//   - errors: length, sign or sum of the fractions; [*num.NoConvergence] where it has no reference state
//   - source: definition
//   - cost: 0.2 ms for a five-component blend
func (r *Refrigerant) AtComposition(w []float64) (*Refrigerant, error) {
	n := r.m.N
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
	q := &Refrigerant{kind: Zeotrope, grade: r.grade, reason: r.reason, m: &m, parts: slices.Clone(r.parts), z: make([]float64, n)}
	for i := range n {
		q.parts[i].MassFraction = w[i] / sum
		q.z[i] = w[i] / m.M[i] / mol
		if i > 0 {
			q.designation += "/"
		}
		q.designation += q.parts[i].Designation
	}
	m.SetGasConstant(q.z)
	q.molarMass = m.MolarMass(q.z)
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
