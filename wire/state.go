package wire

import (
	"coldwright/refrigerant"
	"coldwright/units"
)

// StateAnswer is the answer of `state`.
type StateAnswer struct {
	Refrigerant string      `json:"refrigerant"`
	Phase       string      `json:"phase"`
	P           float64     `json:"pressure_kpa"`
	T           float64     `json:"temperature_c"`
	D           float64     `json:"density_kg_m3"`
	H           float64     `json:"enthalpy_kj_kg"`
	S           float64     `json:"entropy_kj_kg_k"`
	X           *float64    `json:"vapour_mass_fraction"`
	Cp          *float64    `json:"cp_kj_kg_k"`
	Cv          *float64    `json:"cv_kj_kg_k"`
	W           *float64    `json:"speed_of_sound_m_s"`
	Reason      string      `json:"reason,omitempty"`
	Reference   string      `json:"reference"`
	Solver      StateSolver `json:"solver"`
}

// StateSolver says how the state was found.
type StateSolver struct {
	Status     string  `json:"status"`
	Iterations int     `json:"iterations"`
	Residual   float64 `json:"residual"`
}

// NewStateAnswer is the document of a state.
func NewStateAnswer(r *refrigerant.Refrigerant, s *refrigerant.State, o refrigerant.Options) StateAnswer {
	a := StateAnswer{
		Refrigerant: r.Designation(),
		Phase:       s.Phase.String(),
		P:           s.P / units.Kilo,
		T:           units.Temp(s.T).C(),
		D:           s.Rho,
		H:           s.H / units.Kilo,
		S:           s.S / units.Kilo,
		Reference:   r.ReferenceUsed(o).String(),
		Solver:      StateSolver{s.Status.String(), s.Iterations, s.Residual},
	}
	if s.Phase == refrigerant.TwoPhase {
		x := s.VapourMass
		a.X, a.Reason = &x, "two phases have no single heat capacity or speed of sound"
	} else {
		cp, cv, w := s.Cp/units.Kilo, s.Cv/units.Kilo, s.SpeedOfSound
		a.Cp, a.Cv, a.W, a.Reason = &cp, &cv, &w, "a single phase has no vapour share"
	}
	return a
}
