package refrigerant

import (
	"errors"

	"coldwright/refrigerant/internal/data"
)

// Equation says where the equation of state of a pure fluid comes from.
type Equation struct {
	CAS                  string   // registry number of the substance
	TReducing, TCritical float64  // K
	Cites                []string // publications, the one with the coefficients first
}

// EquationOf returns where the equation of a pure fluid comes from.
//
//   - in: designation as [Load] takes it
//   - errors: [*UnknownError] where no pure fluid of that name is on file; the data do not load
//   - source: the fluid's data file
func EquationOf(designation string) (Equation, error) {
	f, err := data.LoadFluid(canonical(designation))
	if errors.Is(err, data.ErrAbsent) {
		return Equation{}, unknown(designation)
	}
	if err != nil {
		return Equation{}, err
	}
	e := Equation{CAS: f.CAS, TReducing: f.Reducing.T, TCritical: f.Critical.T}
	for _, s := range f.Source.Equation {
		e.Cites = append(e.Cites, s.Cite)
	}
	return e, nil
}

// Mixing holds the parameters of the reducing functions of a pair of fluids and where they come from.
type Mixing struct {
	BetaT, GammaT float64
	BetaV, GammaV float64
	ByAnalogy     bool // estimated from a pair alike; ours
	Cite          string
}

// MixingOf returns the parameters of a pair, for the fluids in this order.
//
//   - in: two designations as [Load] takes them
//   - out: the parameters; all 1 and false where nobody published any
//   - errors: the data do not load
//   - source: the pair's data file; Kunz and Wagner (2012), Eqs. (16)-(17)
func MixingOf(i, j string) (m Mixing, published bool, err error) {
	p, _, err := data.LoadPair(canonical(i), canonical(j))
	if errors.Is(err, data.ErrAbsent) {
		return Mixing{BetaT: 1, GammaT: 1, BetaV: 1, GammaV: 1}, false, nil
	}
	if err != nil {
		return Mixing{}, false, err
	}
	return Mixing{p.BetaT, p.GammaT, p.BetaV, p.GammaV, p.Basis == "estimated-by-analogy", p.Source[0].Cite}, true, nil
}

// Potentials returns the warming potentials on file of a designation, also of one without an equation of state.
//
//   - in: designation as it stands on file
//   - out: one value for each edition; none where there is none on file
//   - errors: the data do not load
//   - source: gwp.json names it for each edition
func Potentials(designation string) ([]GWPValue, error) {
	rows, src, err := data.GWPs(designation)
	if err != nil {
		return nil, err
	}
	var out []GWPValue
	for _, g := range rows {
		out = append(out, GWPValue{g.Value, g.Edition, src[g.Edition].Cite, src[g.Edition].Evidence})
	}
	return out, nil
}

// BlendOf returns the composition of a blend on file.
//
//   - in: designation as it stands on file
//   - out: parts by mass; none, without an error, where no blend of that name is on file
//   - errors: the data do not load
//   - source: the blend's data file
func BlendOf(designation string) ([]Part, error) {
	b, err := data.LoadBlend(designation)
	if errors.Is(err, data.ErrAbsent) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return partsOf(b), nil
}

func partsOf(b *data.Blend) []Part {
	var parts []Part
	for _, c := range b.Components {
		parts = append(parts, Part{c.Designation, c.Mass})
	}
	return parts
}
