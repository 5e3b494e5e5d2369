package wire

import (
	"strings"

	"coldwright/refrigerant"
	"coldwright/units"
)

// RefrigerantSafety is a safety group.
type RefrigerantSafety struct {
	Class   string `json:"class"`
	Edition string `json:"edition"`
	Basis   string `json:"basis"`
}

// RefrigerantGWP is a warming potential.
type RefrigerantGWP struct {
	Value   float64 `json:"value"`
	Edition string  `json:"edition"`
	Basis   string  `json:"basis"`
}

// RefrigerantRow is one refrigerant of the answer of `refrigerants`.
type RefrigerantRow struct {
	Designation string             `json:"designation"`
	Kind        string             `json:"kind"`
	Composition []Share            `json:"composition"`
	Safety      *RefrigerantSafety `json:"safety_class"`
	GWP         []RefrigerantGWP   `json:"gwp100"`
	Glide       *float64           `json:"glide_k_at_101kpa"`
	TMin        float64            `json:"t_min_c"`
	TMax        float64            `json:"t_max_c"`
	PMax        float64            `json:"p_max_kpa"`
	Grade       string             `json:"grade"`
	GradeReason string             `json:"grade_reason"`
	Reason      string             `json:"reason,omitempty"`
}

// Refrigerants lists every refrigerant on file in the order of their numbers; say puts a failure in words.
func Refrigerants(say func(error) string) ([]RefrigerantRow, error) {
	rows := []RefrigerantRow{}
	for _, d := range refrigerant.InOrder() {
		r, err := refrigerant.Load(d)
		if err != nil {
			return nil, err
		}
		l := r.Limits()
		x := RefrigerantRow{
			Designation: d,
			Kind:        r.Kind().String(),
			GWP:         []RefrigerantGWP{},
			TMin:        units.Temp(l.TMin).C(),
			TMax:        units.Temp(l.TMax).C(),
			PMax:        l.PMax / units.Kilo,
		}
		x.Grade, x.GradeReason = r.Grade()
		for _, p := range r.Composition() {
			x.Composition = append(x.Composition, Share{p.Designation, p.MassFraction})
		}
		var missing []string
		if s, ok := r.Safety(); ok {
			x.Safety = &RefrigerantSafety{s.Class, s.Edition, s.Evidence}
		} else {
			missing = append(missing, "no safety group on file")
		}
		for _, g := range r.GWP() {
			x.GWP = append(x.GWP, RefrigerantGWP{g.Value, g.Edition, g.Evidence})
		}
		if len(x.GWP) == 0 {
			missing = append(missing, "no GWP on file")
		}
		if g, err := r.GlideAt101(); err == nil {
			x.Glide = &g
		} else {
			missing = append(missing, "no saturation at 101.325 kPa: "+say(err))
		}
		x.Reason = strings.Join(missing, "; ")
		rows = append(rows, x)
	}
	return rows, nil
}
