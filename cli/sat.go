package cli

import (
	"fmt"
	"slices"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/wire"
)

type satCmd struct {
	Refrigerant string `arg:"" optional:"" help:"Designation, such as R-404A."`
	P           string `help:"Pressure with its unit: 26psig, 8.5bar(a), 22inHg(vac)." placeholder:"P"`
	T           string `help:"Temperature with its unit: -7F, 40C." placeholder:"T"`
	Table       string `help:"CSV with a column pressure_kpa (absolute) or temperature_c; - is standard input." placeholder:"FILE"`
	Out         string `help:"Where the answered table goes; default standard output." placeholder:"FILE"`
	Exact       bool   `help:"The equation of state for every row of a table; without it a table uses the fit where that covers it."`
	Composition string `help:"Mass fractions in place of a designation." placeholder:"LIST"`
	Reference   string `help:"Zero of enthalpy and entropy." enum:"IIR,ASHRAE,NBP" default:"IIR"`
	JSON        bool   `help:"One JSON document, of a table one on each line." name:"json"`
	where
}

// reference reads the flag; IIR, its default, leaves the choice to a substance that has no liquid at 0 °C.
func reference(s string) refrigerant.Reference {
	return map[string]refrigerant.Reference{"IIR": refrigerant.ReferenceUnset, "ASHRAE": refrigerant.ASHRAE, "NBP": refrigerant.NBP}[s]
}

// saturate asks the equation.
func saturate(r *refrigerant.Refrigerant, v float64, byT bool, o refrigerant.Options) (wire.Saturation, error) {
	bubble, dew := r.BubbleP, r.DewP
	if byT {
		bubble, dew = r.BubbleT, r.DewT
	}
	b, err := bubble(v, o)
	if err != nil {
		return wire.Saturation{}, physics(err)
	}
	d := b // a pure fluid has one saturation line
	if r.Kind() != refrigerant.Pure {
		if d, err = dew(v, o); err != nil {
			return wire.Saturation{}, physics(err)
		}
	}
	s := wire.Saturation{
		Value:     v,
		ByT:       byT,
		Dew:       d.T,
		Bubble:    b.T,
		RhoLiquid: b.RhoLiquid,
		RhoVapour: d.RhoVapour,
		HLiquid:   b.HLiquid,
		HVapour:   d.HVapour,
		Method:    "equation",
	}
	if byT {
		s.Dew, s.Bubble = d.P, b.P
	}
	return s, nil
}

// Run answers one saturation question or streams a table.
func (c *satCmd) Run(env *Env) error {
	r, err := load(c.Refrigerant, c.Composition)
	if err != nil {
		return err
	}
	o := refrigerant.Options{Reference: reference(c.Reference)}
	given := 0
	for _, s := range []string{c.P, c.T, c.Table} {
		if s != "" {
			given++
		}
	}
	if given != 1 {
		return fail.Of(fail.Usage, "", "usage.saturation",
			fail.Args{"p": fail.Setting("p"), "t": fail.Setting("t"), "table": fail.Setting("table")})
	}
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	if c.Table != "" {
		return c.table(env, r, o)
	}
	if c.Out != "" {
		return outAlone()
	}
	var v float64
	if c.P != "" {
		p, err := units.ParsePressure(c.P, "")
		if err != nil {
			return at("--p", err)
		}
		v = float64(p.Absolute(ambient))
	} else {
		t, err := units.ParseTemp(c.T, "")
		if err != nil {
			return at("--t", err)
		}
		v = float64(t)
	}
	s, err := saturate(r, v, c.P == "", o)
	if err != nil {
		return err
	}
	a := s.Answer(r, o)
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	if g, why := r.Grade(); g > "B" {
		fmt.Fprintf(env.Stderr, "coldwright: %s is approximate: %s\n", r.Designation(), why)
	}
	line := func(name, format string, args ...any) {
		fmt.Fprintf(env.Stdout, "%-16s"+format+"\n", append([]any{name}, args...)...)
	}
	both := func(c float64) string {
		t := units.Celsius(c)
		return fmt.Sprintf("%8s °F  %8s °C", units.Fixed(t.F(), 1), units.Fixed(t.C(), 2))
	}
	press := func(kpa float64) string {
		p := units.Pressure(kpa * units.Kilo)
		return fmt.Sprintf(
			"%8s psig  %8s bar(g)  %9s kPa absolute",
			units.Fixed(float64(p.Gauge(ambient))/units.Psi, 1),
			units.Fixed(float64(p.Gauge(ambient))/units.Bar, 2),
			units.Fixed(kpa, 1),
		)
	}
	line("refrigerant", "%s, grade %s", a.Refrigerant, a.Grade)
	if a.PressureKpa != nil {
		line("pressure", "%s", press(*a.PressureKpa))
		line("dew", "%s", both(*a.DewC))
		line("bubble", "%s", both(*a.BubbleC))
		line("glide", "%8s °F  %8s K", units.Fixed(units.TempDiff(*a.GlideK).F(), 1), units.Fixed(*a.GlideK, 2))
	} else {
		line("temperature", "%s", both(*a.TemperatureC))
		line("dew", "%s", press(*a.DewKpa))
		line("bubble", "%s", press(*a.BubbleKpa))
	}
	line("liquid", "%8s kg/m³  %8s kJ/kg", units.Fixed(a.RhoLiquid, 1), units.Fixed(a.HLiquid, 2))
	line("vapour", "%8s kg/m³  %8s kJ/kg (%s)", units.Fixed(a.RhoVapour, 3), units.Fixed(a.HVapour, 2), a.Reference)
	return nil
}

// table streams a table through the fit where that covers the row, and through the equation elsewhere.
func (c *satCmd) table(env *Env, r *refrigerant.Refrigerant, o refrigerant.Options) error {
	return tableFile(env, c.Table, c.Out, []string{"pressure_kpa", "temperature_c"}, 1, func(inputs []string) (answers, error) {
		byT := inputs[0] == "temperature_c"
		grade, _ := r.Grade()
		ref := r.ReferenceUsed(o).String()
		a := answers{
			json:    c.JSON,
			known:   fmt.Sprintf(`"refrigerant":%q,"reference":%q,"grade":%q`, r.Designation(), ref, grade),
			unknown: []string{"dew_c", "bubble_c", "glide_k"},
		}
		if byT {
			a.unknown = []string{"dew_kpa", "bubble_kpa"}
		}
		a.unknown = append(a.unknown, "rho_liquid_kg_m3", "rho_vapour_kg_m3", "h_liquid_kj_kg", "h_vapour_kj_kg", "method")
		a.columns = append(slices.Clone(a.unknown), "reference", "reason")
		var fit *fitted
		if !c.Exact {
			fit = newFitted(r, o)
		}
		a.row = func(b []byte, v []float64) ([]byte, error) {
			si := v[0] * units.Kilo
			if byT {
				si = float64(units.Celsius(v[0]))
			}
			s, ok := wire.Saturation{}, false
			if fit != nil {
				s, ok = fit.saturate(si, byT)
			}
			if !ok {
				var err error
				if s, err = saturate(r, si, byT, o); err != nil {
					return b, err
				}
			}
			if c.JSON {
				return appendJSON(b, s.Answer(r, o))
			}
			cells := [...]float64{
				units.Temp(s.Dew).C(),
				units.Temp(s.Bubble).C(),
				s.Dew - s.Bubble,
				s.RhoLiquid,
				s.RhoVapour,
				s.HLiquid / units.Kilo,
				s.HVapour / units.Kilo,
			}
			numbers := cells[:]
			if byT {
				cells[1], cells[2] = s.Dew/units.Kilo, s.Bubble/units.Kilo
				numbers = cells[1:]
			}
			for _, x := range numbers {
				b = appendNumber(append(b, ','), x)
			}
			b = append(append(b, ','), s.Method...)
			return append(append(b, ','), ref...), nil
		}
		return a, nil
	})
}

// fitted is a fit with the enthalpy of the reference asked for.
type fitted struct {
	*refrigerant.Fit
	lo, hi float64 // K
	dh     float64 // J/kg
}

// newFitted returns nil where there is no fit: the equation answers then.
func newFitted(r *refrigerant.Refrigerant, o refrigerant.Options) *fitted {
	f, err := r.Fit()
	if err != nil {
		return nil
	}
	lo, hi := f.TRange()
	out := &fitted{Fit: f, lo: lo, hi: hi}
	if o.Reference != refrigerant.ReferenceUnset {
		asked, err1 := r.BubbleT((lo+hi)/2, o)
		own, err2 := r.BubbleT((lo+hi)/2, refrigerant.Options{})
		if err1 != nil || err2 != nil {
			return nil
		}
		out.dh = asked.HLiquid - own.HLiquid
	}
	return out
}

// saturate is the fit's answer, false where it does not reach.
func (f *fitted) saturate(v float64, byT bool) (wire.Saturation, bool) {
	s := wire.Saturation{Value: v, ByT: byT, Method: "fit"}
	tb, td := v, v
	if !byT {
		if !(v > 0) {
			return s, false
		}
		tb, td = f.BubbleP(v), f.DewP(v)
		s.Dew, s.Bubble = td, tb
	}
	if !(tb >= f.lo && td <= f.hi) {
		return s, false
	}
	if byT {
		s.Dew, s.Bubble = f.DewT(v), f.BubbleT(v)
	}
	s.HLiquid, _ = f.LiquidH(tb)
	s.HLiquid += f.dh
	s.RhoLiquid = f.LiquidRho(tb)
	s.RhoVapour, s.HVapour, _ = f.DewVapour(td)
	s.HVapour += f.dh
	return s, true
}
