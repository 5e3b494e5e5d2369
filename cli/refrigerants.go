package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"coldwright/refrigerant"
	"coldwright/units"
)

type refrigerantsCmd struct {
	JSON bool `name:"json" help:"One JSON document."`
}

// Run lists the refrigerants.
func (c *refrigerantsCmd) Run(env *Env) error {
	type part struct {
		Designation string  `json:"designation"`
		Mass        float64 `json:"mass_fraction"`
	}
	type safety struct {
		Class   string `json:"class"`
		Edition string `json:"edition"`
		Basis   string `json:"basis"`
	}
	type gwp struct {
		Value   float64 `json:"value"`
		Edition string  `json:"edition"`
		Basis   string  `json:"basis"`
	}
	type row struct {
		Designation string   `json:"designation"`
		Kind        string   `json:"kind"`
		Composition []part   `json:"composition"`
		Safety      *safety  `json:"safety_class"`
		GWP         []gwp    `json:"gwp100"`
		Glide       *float64 `json:"glide_k_at_101kpa"`
		TMin        float64  `json:"t_min_c"`
		TMax        float64  `json:"t_max_c"`
		PMax        float64  `json:"p_max_kpa"`
		Grade       string   `json:"grade"`
		GradeReason string   `json:"grade_reason"`
		Reason      string   `json:"reason,omitempty"`
	}
	rows := []row{}
	for _, d := range refrigerant.Designations() {
		r, err := refrigerant.Load(d)
		if err != nil {
			return physics(err)
		}
		l := r.Limits()
		x := row{
			Designation: d,
			Kind:        r.Kind().String(),
			GWP:         []gwp{},
			TMin:        units.Temp(l.TMin).C(),
			TMax:        units.Temp(l.TMax).C(),
			PMax:        l.PMax / units.Kilo,
		}
		x.Grade, x.GradeReason = r.Grade()
		for _, p := range r.Composition() {
			x.Composition = append(x.Composition, part{p.Designation, p.MassFraction})
		}
		var missing []string
		if s, ok := r.Safety(); ok {
			x.Safety = &safety{s.Class, s.Edition, s.Evidence}
		} else {
			missing = append(missing, "no safety group on file")
		}
		for _, g := range r.GWP() {
			x.GWP = append(x.GWP, gwp{g.Value, g.Edition, g.Evidence})
		}
		if len(x.GWP) == 0 {
			missing = append(missing, "no GWP on file")
		}
		if g, err := r.GlideAt101(); err == nil {
			x.Glide = &g
		} else {
			missing = append(missing, "no saturation at 101.325 kPa: "+said(physics(err)))
		}
		x.Reason = strings.Join(missing, "; ")
		rows = append(rows, x)
	}
	if c.JSON {
		return printJSON(env.Stdout, rows)
	}
	// 80 columns: the composition goes on below itself.
	const indent = 48
	fmt.Fprintf(env.Stdout, "%-13s%-10s%-6s%-7s%6s%5s %s\n", "designation", "kind", "grade", "safety", "GWP", "K", "% by mass")
	for _, x := range rows {
		safety, warming, glide := "–", "–", "–"
		if x.Safety != nil {
			safety = x.Safety.Class
		}
		if len(x.GWP) > 0 {
			warming = units.Fixed(x.GWP[0].Value, 0)
		}
		if x.Glide != nil {
			glide = units.Fixed(*x.Glide, 1)
		}
		line := fmt.Sprintf("%-13s%-10s%-6s%-7s%6s%5s", x.Designation, x.Kind, x.Grade, safety, warming, glide)
		if len(x.Composition) > 1 {
			for i, p := range x.Composition {
				word := " " + strings.TrimPrefix(p.Designation, "R-") + " " + units.Fixed(100*p.Mass, 1)
				if i < len(x.Composition)-1 {
					word += ","
				}
				if utf8.RuneCountInString(line)+len(word) > 80 {
					fmt.Fprintln(env.Stdout, line)
					line = strings.Repeat(" ", indent-1)
				}
				line += word
			}
		}
		fmt.Fprintln(env.Stdout, line)
	}
	_, err := fmt.Fprintln(env.Stdout, `
Grade: A every pair with a departure function, B every pair fitted, C and D
approximate. K: glide at 101.3 kPa. GWP: AR4. – is not on file. Safety groups
are from memory unless --json says otherwise.`)
	return err
}
