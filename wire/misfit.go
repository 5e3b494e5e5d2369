package wire

import "coldwright/diagnose"

// misfit is which reading cannot belong where nothing fits.
func misfit(m *diagnose.Misfit) any {
	type cause struct {
		Fault string `json:"fault"`
		P     num64  `json:"probability"`
	}
	type reread struct {
		How   string `json:"how"`
		Was   string `json:"taken_as,omitempty"`
		Is    string `json:"is,omitempty"`
		Value num64  `json:"value"`
	}
	type odd struct {
		At      string   `json:"at"`
		Unit    string   `json:"unit"`
		Shows   num64    `json:"shows"`
		Rest    jsonBand `json:"rest_expects"`
		PNone   num64    `json:"p_none_of_these"`
		Without []cause  `json:"without"`
		Fits    []reread `json:"fits"`
	}
	type all struct {
		How   string   `json:"how"`
		Was   string   `json:"taken_as,omitempty"`
		Is    string   `json:"is,omitempty"`
		At    []string `json:"at"`
		PNone num64    `json:"p_none_of_these"`
		Then  []cause  `json:"then"`
	}
	causes := func(list []diagnose.Marginal) []cause {
		out := []cause{}
		for _, c := range list {
			out = append(out, cause{c.Fault.String(), num64(c.Probability)})
		}
		return out
	}
	out := struct {
		Rule diagnose.MisfitRule `json:"rule"`
		Odd  []odd               `json:"odd"`
		All  []all               `json:"all"`
	}{m.Rule, []odd{}, []all{}}
	for _, x := range m.Odd {
		at := x.At.String()
		unit, conv := unitOf(at)
		o := odd{
			At: at, Unit: unit, Shows: num64(conv(x.Shows)), Rest: band(at, x.Rest), PNone: num64(x.PNone),
			Without: causes(x.Without), Fits: []reread{},
		}
		for _, r := range x.Fits {
			o.Fits = append(o.Fits, reread{r.How, r.Was, r.Is, num64(conv(r.Value))})
		}
		out.Odd = append(out.Odd, o)
	}
	for _, r := range m.All {
		a := all{How: r.How, Was: r.Was, Is: r.Is, PNone: num64(r.PNone), Then: causes(r.Then)}
		for _, p := range r.At {
			a.At = append(a.At, p.String())
		}
		out.All = append(out.All, a)
	}
	return out
}
