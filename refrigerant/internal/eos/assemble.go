package eos

import (
	"errors"
	"math"

	"coldwright/refrigerant/internal/data"
)

// NewtonMax bounds a Newton solve where nobody asks for another bound.
const NewtonMax = 50

// New reads the equations of the components and the parameters of their pairs. worst is the grade of the pair that is
// known worst, A to D; missing are the pairs nobody published parameters for. The gas constant is not set yet.
func New(designations []string) (m *Model, worst string, missing []string, err error) {
	m = &Model{N: len(designations)}
	for _, d := range designations {
		c, err := newComponent(d)
		if err != nil {
			return nil, "", nil, err
		}
		m.Components = append(m.Components, c)
		m.M = append(m.M, c.M)
	}
	worst = "A"
	for i := range m.N {
		for j := i + 1; j < m.N; j++ {
			q, grade, err := newPair(m.Components[i], m.Components[j])
			if err != nil {
				return nil, "", nil, err
			}
			if grade == "" {
				grade = "D"
				missing = append(missing, designations[i]+"/"+designations[j])
			}
			worst = max(worst, grade)
			q.i, q.j = i, j
			m.pairs = append(m.pairs, q)
		}
	}
	m.whole = m.Components[0].residual
	if m.N > 1 {
		m.whole = m.allTerms()
	}
	return m, worst, missing, nil
}

// newPair reads the parameters of a pair; the grade is empty where nobody published any.
func newPair(ci, cj *Component) (q pair, grade string, err error) {
	q = pair{betaT: 1, gammaT: 1, betaV: 1, gammaV: 1}
	p, _, err := data.LoadPair(ci.designation, cj.designation)
	switch {
	case errors.Is(err, data.ErrAbsent):
	case err != nil:
		return q, "", err
	default:
		q.betaT, q.gammaT, q.betaV, q.gammaV, q.f = p.BetaT, p.GammaT, p.BetaV, p.GammaV, p.F
		if p.Departure != nil && p.F != 0 {
			d, err := data.LoadDeparture(*p.Departure)
			if err != nil {
				return q, "", err
			}
			if q.terms, err = residualTerms(d.Terms); err != nil {
				return q, "", err
			}
			q.departure = newSeries(q.terms)
		}
		switch {
		case p.Basis == "estimated-by-analogy":
			grade = "D"
		case p.Basis != "fitted":
			grade = "C"
		case q.departure != nil:
			grade = "A"
		default:
			grade = "B"
		}
	}
	q.tij = 2 * q.betaT * q.gammaT * math.Sqrt(ci.T*cj.T)
	s := math.Cbrt(1/ci.rho) + math.Cbrt(1/cj.rho)
	q.vij = 2 * q.betaV * q.gammaV * s * s * s / 8
	return q, grade, nil
}

// SetGasConstant sets the gas constant to the mole-weighted mean of the components' at z.
func (m *Model) SetGasConstant(z []float64) {
	m.R = 0
	for i, c := range m.Components {
		m.R += z[i] * c.R
	}
}
