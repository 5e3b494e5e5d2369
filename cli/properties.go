package cli

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
)

var examples = map[string]string{
	"sat":          "  coldwright sat R-404A --p 26psig\n  coldwright sat R-448A --t -10F --json\n  coldwright sat R-134a --table pressures.csv",
	"state":        "  coldwright state R-134a --p \"8 bar(a)\" --t 40C\n  coldwright state --composition \"R-32=0.7,R-125=0.3\" --p 10bar(a) --x 0.5",
	"refrigerants": "  coldwright refrigerants --json",
	"fractionate":  "  coldwright fractionate R-407C --charge 4kg --volume 20L --t 25C --phase vapour --remove 50% --recharge",
	"diagnose":     "  coldwright diagnose visit.json\n  coldwright diagnose --table cases.csv --out judged.csv\n\nA sheet:\n  {\"machine\": {\"refrigerant\": \"R-404A\", \"application\": \"walk-in freezer\"},\n   \"readings\": [{\"at\": \"box_air\", \"value\": \"3 F\"}, {\"at\": \"ambient\", \"value\": \"73 F\"},\n                {\"at\": \"suction_pressure\", \"value\": \"12 psig\"}, {\"at\": \"discharge_pressure\", \"value\": \"203 psig\"}],\n   \"seen\": {\"glass\": \"bubbling\"}, \"running_min\": 45}",
	"pulldown":     "  coldwright pulldown freezer.csv --setpoint -5F\n\nA table:\n  minute,box_f\n  0,9\n  18,3\n  26,1",
	"serve":        "  coldwright serve --demo\n  coldwright serve --data ~/coldwright --addr 127.0.0.1:8080",
	"report":       "  coldwright report 01930000-0000-7000-8000-000000000000 --data ~/coldwright --out visit.pdf",
	"export":       "  coldwright export --data ~/coldwright > events.jsonl",
	"import":       "  coldwright import events.jsonl --data ~/coldwright",
	"version":      "  coldwright version",
}

type satCmd struct {
	Refrigerant string `arg:"" optional:"" help:"Designation, such as R-404A."`
	P           string `help:"Pressure with its unit: 26psig, 8.5bar(a), 22inHg(vac)." placeholder:"P"`
	T           string `help:"Temperature with its unit: -7F, 40C." placeholder:"T"`
	Table       string `help:"CSV with one column, pressure_kpa or temperature_c; - is standard input." placeholder:"FILE"`
	Exact       bool   `help:"The equation of state for every row of a table; without it a table uses the fit where that covers it."`
	Composition string `help:"Mass fractions in place of a designation." placeholder:"LIST"`
	Reference   string `help:"Zero of enthalpy and entropy." enum:"IIR,ASHRAE,NBP" default:"IIR"`
	JSON        bool   `name:"json" help:"One JSON document."`
	where
}

func reference(s string) refrigerant.Reference {
	return map[string]refrigerant.Reference{"IIR": refrigerant.IIR, "ASHRAE": refrigerant.ASHRAE, "NBP": refrigerant.NBP}[s]
}

type satAnswer struct {
	Refrigerant  string   `json:"refrigerant"`
	PressureKpa  *float64 `json:"pressure_kpa,omitempty"`
	DewC         *float64 `json:"dew_c,omitempty"`
	BubbleC      *float64 `json:"bubble_c,omitempty"`
	GlideK       *float64 `json:"glide_k,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	DewKpa       *float64 `json:"dew_kpa,omitempty"`
	BubbleKpa    *float64 `json:"bubble_kpa,omitempty"`
	RhoLiquid    float64  `json:"rho_liquid_kg_m3"`
	RhoVapour    float64  `json:"rho_vapour_kg_m3"`
	HLiquid      float64  `json:"h_liquid_kj_kg"`
	HVapour      float64  `json:"h_vapour_kj_kg"`
	Method       string   `json:"method"`
	Reference    string   `json:"reference"`
	Grade        string   `json:"grade"`
}

// saturate answers at a pressure (Pa) or, with byT, at a temperature (K). Liquid is that of the bubble point, vapour that of the dew point: bulk composition.
func saturate(r *refrigerant.Refrigerant, v float64, byT bool, o refrigerant.Options) (satAnswer, error) {
	a := satAnswer{Refrigerant: r.Designation(), Method: "equation", Reference: r.ReferenceUsed(o).String()}
	a.Grade, _ = r.Grade()
	ptr := func(v float64) *float64 { return &v }
	var b, d refrigerant.Equilibrium
	var err error
	if byT {
		if b, err = r.BubbleT(v, o); err == nil {
			d, err = r.DewT(v, o)
		}
		a.TemperatureC, a.DewKpa, a.BubbleKpa = ptr(units.Temp(v).C()), ptr(d.P/units.Kilo), ptr(b.P/units.Kilo)
	} else {
		if b, err = r.BubbleP(v, o); err == nil {
			d, err = r.DewP(v, o)
		}
		a.PressureKpa, a.DewC, a.BubbleC, a.GlideK = ptr(v/units.Kilo), ptr(units.Temp(d.T).C()), ptr(units.Temp(b.T).C()), ptr(d.T-b.T)
	}
	a.RhoLiquid, a.HLiquid, a.RhoVapour, a.HVapour = b.RhoLiquid, b.HLiquid/units.Kilo, d.RhoVapour, d.HVapour/units.Kilo
	return a, physics(err)
}

// fromFit answers from the fit.
func fromFit(f *refrigerant.Fit, v float64, byT bool) satAnswer {
	r := f.Refrigerant()
	a := satAnswer{Refrigerant: r.Designation(), Method: "fit", Reference: r.ReferenceUsed(refrigerant.Options{}).String()}
	a.Grade, _ = r.Grade()
	ptr := func(v float64) *float64 { return &v }
	tb, td := v, v
	if byT {
		a.TemperatureC, a.DewKpa, a.BubbleKpa = ptr(units.Temp(v).C()), ptr(f.DewT(v)/units.Kilo), ptr(f.BubbleT(v)/units.Kilo)
	} else {
		tb, td = f.BubbleP(v), f.DewP(v)
		a.PressureKpa, a.DewC, a.BubbleC, a.GlideK = ptr(v/units.Kilo), ptr(units.Temp(td).C()), ptr(units.Temp(tb).C()), ptr(td-tb)
	}
	rl, hl, _ := f.Liquid(tb)
	rv, hv, _ := f.DewVapour(td)
	a.RhoLiquid, a.HLiquid, a.RhoVapour, a.HVapour = rl, hl/units.Kilo, rv, hv/units.Kilo
	return a
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
		return fail.New(fail.Usage, "", "give exactly one of --p, --t and --table", "such as: coldwright sat R-404A --p 26psig")
	}
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	if c.Table != "" {
		return c.table(env, r, o)
	}
	var a satAnswer
	if c.P != "" {
		p, err := units.ParsePressure(c.P, "")
		if err != nil {
			return at("--p", err)
		}
		a, err = saturate(r, float64(p.Absolute(ambient)), false, o)
		if err != nil {
			return err
		}
	} else {
		t, err := units.ParseTemp(c.T, "")
		if err != nil {
			return at("--t", err)
		}
		a, err = saturate(r, float64(t), true, o)
		if err != nil {
			return err
		}
	}
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
		return fmt.Sprintf("%8s psig  %8s bar(g)  %9s kPa absolute", units.Fixed(float64(p.Gauge(ambient))/units.Psi, 1), units.Fixed(float64(p.Gauge(ambient))/units.Bar, 2), units.Fixed(kpa, 1))
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

func full(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

func (c *satCmd) table(env *Env, r *refrigerant.Refrigerant, o refrigerant.Options) (err error) {
	in, err := env.open(c.Table)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	rd := csv.NewReader(in)
	rd.Comment = '#'
	head, err := rd.Read()
	if err != nil {
		return fail.New(fail.BadData, c.Table+", line 1", "there is no header row", "first row: pressure_kpa or temperature_c")
	}
	col, byT := -1, false
	for i, h := range head {
		switch strings.TrimSpace(h) {
		case "pressure_kpa":
			col = i
		case "temperature_c":
			col, byT = i, true
		}
	}
	if col < 0 {
		return fail.New(fail.BadData, c.Table+", line 1", "there is no column pressure_kpa or temperature_c", "")
	}
	var fit *refrigerant.Fit
	if !c.Exact && o.Reference == refrigerant.IIR {
		if fit, err = r.Fit(); err != nil {
			return physics(err)
		}
	}
	out := csv.NewWriter(env.Stdout)
	names := []string{"pressure_kpa", "dew_c", "bubble_c", "glide_k"}
	if byT {
		names = []string{"temperature_c", "dew_kpa", "bubble_kpa"}
	}
	if err := out.Write(append(names, "rho_liquid_kg_m3", "rho_vapour_kg_m3", "h_liquid_kj_kg", "h_vapour_kj_kg", "method", "reason")); err != nil {
		return err
	}
	bad := 0
	for {
		rec, err := rd.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fail.New(fail.BadData, c.Table, err.Error(), "")
		}
		line, _ := rd.FieldPos(0)
		v, perr := strconv.ParseFloat(strings.TrimSpace(rec[col]), 64)
		if perr != nil || v != v {
			return fail.New(fail.BadData, fmt.Sprintf("%s, line %d, column %s", c.Table, line, names[0]), fmt.Sprintf("%q is not a number", rec[col]), "dot decimal, no unit: the column names it")
		}
		si := v * units.Kilo
		covered := false
		if byT {
			si = float64(units.Celsius(v))
		}
		if fit != nil {
			lo, hi := fit.TRange()
			covered = byT && si >= lo && si <= hi || !byT && si > 0 && fit.InRange(si)
		}
		var a satAnswer
		var aerr error
		if covered {
			a = fromFit(fit, si, byT)
		} else {
			a, aerr = saturate(r, si, byT, o)
		}
		cells := []string{rec[col]}
		if aerr != nil {
			bad++
			for range len(names) + 4 {
				cells = append(cells, "")
			}
			cells = append(cells, oneLine(aerr.Error()))
		} else {
			if byT {
				cells = append(cells, full(a.DewKpa), full(a.BubbleKpa))
			} else {
				cells = append(cells, full(a.DewC), full(a.BubbleC), full(a.GlideK))
			}
			cells = append(cells, full(&a.RhoLiquid), full(&a.RhoVapour), full(&a.HLiquid), full(&a.HVapour), a.Method, "")
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	if bad > 0 {
		fmt.Fprintf(env.Stderr, "coldwright: %d rows without answer; the reason stands in the last column\n", bad)
	}
	return out.Error()
}

type stateCmd struct {
	Refrigerant string `arg:"" optional:"" help:"Designation, such as R-134a."`
	P           string `help:"Pressure: 8bar(a), 120psig." placeholder:"P"`
	T           string `help:"Temperature: 40C, 104F." placeholder:"T"`
	H           string `help:"Enthalpy: 420kJ/kg." placeholder:"H"`
	S           string `help:"Entropy: 1.8kJ/kgK." placeholder:"S"`
	X           string `help:"Vapour mass fraction: 0.3 or 30 %." placeholder:"X"`
	D           string `help:"Density: 35kg/m3." placeholder:"D"`
	Composition string `help:"Mass fractions in place of a designation." placeholder:"LIST"`
	Reference   string `help:"Zero of enthalpy and entropy." enum:"IIR,ASHRAE,NBP" default:"IIR"`
	JSON        bool   `name:"json" help:"One JSON document."`
	where
}

// Run computes one state.
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
	given := ""
	val := map[byte]float64{}
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
		given += string(q.k)
		val[q.k] = v
	}
	var s refrigerant.State
	switch given {
	case "pt":
		s, err = r.StatePT(val['p'], val['t'], o)
	case "ph":
		s, err = r.StatePH(val['p'], val['h'], o)
	case "ps":
		s, err = r.StatePS(val['p'], val['s'], o)
	case "px":
		s, err = r.StatePX(val['p'], val['x'], o)
	case "pd":
		s, err = r.StatePD(val['p'], val['d'], o)
	case "tx":
		s, err = r.StateTX(val['t'], val['x'], o)
	case "td":
		s, err = r.StateTD(val['t'], val['d'], o)
	default:
		return fail.New(fail.Usage, "", "two of --p --t --h --s --x --d name a state", "pairs: p t, p h, p s, p x, p d, t x, t d")
	}
	if err != nil {
		return physics(err)
	}
	type solver struct {
		Status     string  `json:"status"`
		Iterations int     `json:"iterations"`
		Residual   float64 `json:"residual"`
	}
	a := struct {
		Refrigerant string   `json:"refrigerant"`
		Phase       string   `json:"phase"`
		P           float64  `json:"pressure_kpa"`
		T           float64  `json:"temperature_c"`
		D           float64  `json:"density_kg_m3"`
		H           float64  `json:"enthalpy_kj_kg"`
		S           float64  `json:"entropy_kj_kg_k"`
		X           *float64 `json:"vapour_mass_fraction"`
		Cp          *float64 `json:"cp_kj_kg_k"`
		Cv          *float64 `json:"cv_kj_kg_k"`
		W           *float64 `json:"speed_of_sound_m_s"`
		Reason      string   `json:"reason,omitempty"`
		Reference   string   `json:"reference"`
		Solver      solver   `json:"solver"`
	}{
		Refrigerant: r.Designation(), Phase: s.Phase.String(), P: s.P / units.Kilo, T: units.Temp(s.T).C(), D: s.Rho, H: s.H / units.Kilo, S: s.S / units.Kilo,
		Reference: r.ReferenceUsed(o).String(), Solver: solver{s.Status.String(), s.Iterations, s.Residual},
	}
	if s.Phase == refrigerant.TwoPhase {
		a.X, a.Reason = &s.VapourMass, "two phases have no single heat capacity or speed of sound"
	} else {
		cp, cv := s.Cp/units.Kilo, s.Cv/units.Kilo
		a.Cp, a.Cv, a.W, a.Reason = &cp, &cv, &s.SpeedOfSound, "a single phase has no vapour share"
	}
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	line := func(name, format string, args ...any) {
		fmt.Fprintf(env.Stdout, "%-16s"+format+"\n", append([]any{name}, args...)...)
	}
	line("refrigerant", "%s", a.Refrigerant)
	line("phase", "%s", a.Phase)
	p := units.Pressure(s.P)
	line("pressure", "%s kPa absolute, %s psig, %s bar(g)", units.Fixed(a.P, 2), units.Fixed(float64(p.Gauge(ambient))/units.Psi, 2), units.Fixed(float64(p.Gauge(ambient))/units.Bar, 3))
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
		x := row{Designation: d, Kind: r.Kind().String(), GWP: []gwp{}, TMin: units.Temp(l.TMin).C(), TMax: units.Temp(l.TMax).C(), PMax: l.PMax / units.Kilo}
		x.Grade, x.GradeReason = r.Grade()
		for _, p := range r.Composition() {
			x.Composition = append(x.Composition, part{p.Designation, p.MassFraction})
		}
		if s, ok := r.Safety(); ok {
			x.Safety = &safety{s.Class, s.Edition, s.Evidence}
		}
		for _, g := range r.GWP() {
			x.GWP = append(x.GWP, gwp{g.Value, g.Edition, g.Evidence})
		}
		if g, err := r.GlideAt101(); err == nil {
			x.Glide = &g
		} else {
			x.Reason = "no saturation at 101.325 kPa: " + oneLine(err.Error())
		}
		rows = append(rows, x)
	}
	if c.JSON {
		return printJSON(env.Stdout, rows)
	}
	fmt.Fprintf(env.Stdout, "%-14s %-10s %-5s %7s %7s %8s  %s\n", "designation", "kind", "grade", "safety", "GWP", "glide K", "composition by mass")
	for _, x := range rows {
		safety, warming, glide := "", "", ""
		if x.Safety != nil {
			safety = x.Safety.Class
		}
		if len(x.GWP) > 0 {
			warming = units.Fixed(x.GWP[0].Value, 0)
		}
		if x.Glide != nil {
			glide = units.Fixed(*x.Glide, 1)
		}
		var parts []string
		if len(x.Composition) > 1 {
			for _, p := range x.Composition {
				parts = append(parts, p.Designation+" "+units.Fixed(100*p.Mass, 1))
			}
		}
		fmt.Fprintf(env.Stdout, "%-14s %-10s %-5s %7s %7s %8s  %s\n", x.Designation, x.Kind, x.Grade, safety, warming, glide, strings.Join(parts, " / "))
	}
	fmt.Fprintln(env.Stdout, "\nGrades: A every pair with a departure function, B every pair fitted, C and D approximate. GWP: AR4. Safety groups are from memory unless the JSON says otherwise.")
	return nil
}
