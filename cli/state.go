package cli

import (
	"fmt"
	"slices"
	"strconv"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/wire"
)

type stateCmd struct {
	Refrigerant string `arg:"" optional:"" help:"Designation, such as R-134a."`
	P           string `help:"Pressure: 8bar(a), 120psig." placeholder:"P"`
	T           string `help:"Temperature: 40C, 104F." placeholder:"T"`
	H           string `help:"Enthalpy: 420kJ/kg." placeholder:"H"`
	S           string `help:"Entropy: 1.8kJ/kgK." placeholder:"S"`
	X           string `help:"Vapour mass fraction: 0.3 or 30 %." placeholder:"X"`
	D           string `help:"Density: 35kg/m3." placeholder:"D"`
	Table       string `help:"CSV with two of ${states}." placeholder:"FILE"`
	Out         string `help:"Where the answered table goes; default standard output." placeholder:"FILE"`
	Composition string `help:"Mass fractions in place of a designation." placeholder:"LIST"`
	Reference   string `help:"Zero of enthalpy and entropy." enum:"IIR,ASHRAE,NBP" default:"IIR"`
	JSON        bool   `help:"One JSON document, of a table one on each line." name:"json"`
	where
}

// Run computes one state or streams a table.
func (c *stateCmd) Run(env *Env) error {
	r, err := load(c.Refrigerant, c.Composition)
	if err != nil {
		return err
	}
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	o := refrigerant.Options{Reference: reference(c.Reference)}
	if c.Table != "" {
		if c.P+c.T+c.H+c.S+c.X+c.D != "" {
			return fail.Of(fail.Usage, "", "usage.table_or_two",
				fail.Args{"table": fail.Setting("table"), "inputs": stateSettings()})
		}
		return c.table(env, r, o)
	}
	if c.Out != "" {
		return outAlone()
	}
	pair := ""
	var val []float64
	for _, q := range []struct {
		k    byte
		text string
		read func(string) (float64, error)
	}{
		{'p', c.P, func(s string) (float64, error) {
			e, err := units.ParsePressure(s, "")
			return float64(e.Absolute(ambient)), err
		}},
		{'t', c.T, func(s string) (float64, error) { t, err := units.ParseTemp(s, ""); return float64(t), err }},
		{'h', c.H, func(s string) (float64, error) { return units.ParseEnthalpy(s, "") }},
		{'s', c.S, func(s string) (float64, error) { return units.ParseEntropy(s, "") }},
		{'x', c.X, units.ParseFraction},
		{'d', c.D, func(s string) (float64, error) { return units.ParseDensity(s, "") }},
	} {
		if q.text == "" {
			continue
		}
		v, err := q.read(q.text)
		if err != nil {
			return at("--"+string(q.k), err)
		}
		pair += string(q.k)
		val = append(val, v)
	}
	ask := stateBy(pair)
	if ask == nil {
		return fail.Of(fail.Usage, "", "usage.state", fail.Args{"inputs": stateSettings(), "pairs": statePairs})
	}
	s, err := ask(r, val[0], val[1], o)
	if err != nil {
		return err
	}
	a := wire.NewStateAnswer(r, &s, o)
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	line := func(name, format string, args ...any) {
		fmt.Fprintf(env.Stdout, "%-16s"+format+"\n", append([]any{name}, args...)...)
	}
	line("refrigerant", "%s", a.Refrigerant)
	line("phase", "%s", a.Phase)
	p := units.Pressure(s.P)
	line(
		"pressure",
		"%s kPa absolute, %s psig, %s bar(g)",
		units.Fixed(a.P, 2),
		units.Fixed(float64(p.Gauge(ambient))/units.Psi, 2),
		units.Fixed(float64(p.Gauge(ambient))/units.Bar, 3),
	)
	line("temperature", "%s °C, %s °F", units.Fixed(a.T, 3), units.Fixed(units.Temp(s.T).F(), 2))
	line("density", "%s kg/m³", units.Fixed(a.D, 4))
	line("enthalpy", "%s kJ/kg (%s)", units.Fixed(a.H, 3), a.Reference)
	line("entropy", "%s kJ/(kg K)", units.Fixed(a.S, 5))
	if a.X != nil {
		line("vapour share", "%s kg/kg", units.Fixed(*a.X, 4))
	} else {
		line("heat capacity", "cp %s, cv %s kJ/(kg K)", units.Fixed(*a.Cp, 4), units.Fixed(*a.Cv, 4))
		line("speed of sound", "%s m/s", units.Fixed(*a.W, 2))
	}
	return nil
}

const statePairs = "p t, p h, p s, p x, p d, t h, t s, t x, t d, h s"

// stateSettings are the quantities of which two name a state.
func stateSettings() []fail.Setting { return []fail.Setting{"p", "t", "h", "s", "x", "d"} }

// stateBy returns the function of a pair of quantities in the order p t h s x d, nil where there is none.
func stateBy(pair string) func(r *refrigerant.Refrigerant, a, b float64, o refrigerant.Options) (refrigerant.State, error) {
	f := map[string]func(*refrigerant.Refrigerant, float64, float64, refrigerant.Options) (refrigerant.State, error){
		"pt": (*refrigerant.Refrigerant).StatePT, "ph": (*refrigerant.Refrigerant).StatePH, "ps": (*refrigerant.Refrigerant).StatePS,
		"px": (*refrigerant.Refrigerant).StatePX, "pd": (*refrigerant.Refrigerant).StatePD, "tx": (*refrigerant.Refrigerant).StateTX,
		"td": (*refrigerant.Refrigerant).StateTD, "th": (*refrigerant.Refrigerant).StateTH, "ts": (*refrigerant.Refrigerant).StateTS,
		"hs": (*refrigerant.Refrigerant).StateHS,
	}[pair]
	if f == nil {
		return nil
	}
	return func(r *refrigerant.Refrigerant, a, b float64, o refrigerant.Options) (refrigerant.State, error) {
		s, err := f(r, a, b, o)
		return s, physics(err)
	}
}

// stateColumns are the quantities that can be given, in the order of stateBy's letters.
var stateColumns = []string{"pressure_kpa", "temperature_c", "enthalpy_kj_kg", "entropy_kj_kg_k", "vapour_mass_fraction", "density_kg_m3"}

// table streams a table of states.
func (c *stateCmd) table(env *Env, r *refrigerant.Refrigerant, o refrigerant.Options) error {
	return tableFile(env, c.Table, c.Out, stateColumns, 2, func(inputs []string) (answers, error) {
		pair := ""
		for _, in := range inputs {
			pair += string("pthsxd"[slices.Index(stateColumns, in)])
		}
		ask := stateBy(pair)
		if ask == nil {
			return answers{}, fail.Of(fail.BadData, c.Table+": line 1", "usage.no_pair",
				fail.Args{"one": inputs[0], "other": inputs[1], "pairs": statePairs})
		}
		// What is given stands in the table already.
		shown := slices.DeleteFunc(
			[]string{"pressure_kpa", "temperature_c", "density_kg_m3", "enthalpy_kj_kg", "entropy_kj_kg_k", "vapour_mass_fraction"},
			func(n string) bool { return slices.Contains(inputs, n) },
		)
		shown = slices.Concat([]string{"phase"}, shown, []string{"cp_kj_kg_k", "cv_kj_kg_k", "speed_of_sound_m_s"})
		a := answers{
			json:    c.JSON,
			known:   fmt.Sprintf(`"refrigerant":%q,"reference":%q`, r.Designation(), r.ReferenceUsed(o)),
			unknown: append(slices.Clone(shown), "solver"),
			columns: append(slices.Clone(shown), "solver_status", "solver_iterations", "solver_residual", "reference", "reason"),
		}
		a.row = func(b []byte, v []float64) ([]byte, error) {
			s, err := ask(r, stateSI(inputs[0], v[0]), stateSI(inputs[1], v[1]), o)
			if err != nil {
				return b, err
			}
			x := wire.NewStateAnswer(r, &s, o)
			if c.JSON {
				return appendJSON(b, x)
			}
			number := func(v *float64) {
				if b = append(b, ','); v != nil {
					b = appendNumber(b, *v)
				}
			}
			for _, n := range shown {
				switch n {
				case "phase":
					b = append(append(b, ','), x.Phase...)
				case "pressure_kpa":
					number(&x.P)
				case "temperature_c":
					number(&x.T)
				case "density_kg_m3":
					number(&x.D)
				case "enthalpy_kj_kg":
					number(&x.H)
				case "entropy_kj_kg_k":
					number(&x.S)
				case "vapour_mass_fraction":
					number(x.X)
				case "cp_kj_kg_k":
					number(x.Cp)
				case "cv_kj_kg_k":
					number(x.Cv)
				case "speed_of_sound_m_s":
					number(x.W)
				}
			}
			b = append(append(b, ','), x.Solver.Status...)
			b = strconv.AppendInt(append(b, ','), int64(x.Solver.Iterations), 10)
			number(&x.Solver.Residual)
			return append(append(b, ','), x.Reference...), nil
		}
		return a, nil
	})
}

// stateSI turns a cell of a column into SI.
func stateSI(column string, v float64) float64 {
	switch column {
	case "temperature_c":
		return float64(units.Celsius(v))
	case "pressure_kpa", "enthalpy_kj_kg", "entropy_kj_kg_k":
		return v * units.Kilo
	}
	return v
}
