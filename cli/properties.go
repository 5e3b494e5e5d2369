package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/wire"
)

// caseHelp lists the columns of a table of machines.
func caseHelp() string {
	out, line := "\n\nA table:\n  case_id,refrigerant,application,box_air_c,ambient_c,suction_pressure_kpa\n  a,R-404A,walk-in "+
		"freezer,-16,23,184\n\nColumns, all but refrigerant may be missing or empty:\n", " "
	list := wire.CaseColumns()
	for _, c := range list[:len(list)-3*len(reading.Places())] { // then come the readings, three each
		if len(line)+1+len(c) > 78 {
			out, line = out+line+"\n", " "
		}
		line += " " + c
	}
	return out + line + "\nand of a reading such as box_air its value, uncertainty and instrument:\n  box_air_c box_air_u " +
		"box_air_instrument; pressures _kpa (absolute), amps _a,\n  power _w; _u in kPa, K, A or W. Without a rating: amps_ratio."
}

var examples = map[string]string{
	"sat": "  coldwright sat R-404A --p 26psig\n  coldwright sat R-448A --t -10F --json\n  coldwright sat R-134a --table " +
		"pressures.csv\n\nA table:\n  pressure_kpa\n  292.8",
	"state": "  coldwright state R-134a --p \"8 bar(a)\" --t 40C\n  coldwright state --composition \"R-32=0.7,R-125=0.3\" --p " +
		"10bar(a) --x 0.5\n  coldwright state R-404A --table points.csv --out states.csv\n\nA table:\n  pressure_kpa,enthalpy_kj_kg\n  800,420",
	"refrigerants": "  coldwright refrigerants --json",
	"fractionate":  "  coldwright fractionate R-407C --charge 4kg --volume 20L --t 25C --phase vapour --remove 50% --recharge",
	"diagnose": "  coldwright diagnose visit.json\n  coldwright diagnose --table cases.csv --out judged.csv\n\nA sheet:\n  " +
		"{\"machine\": {\"refrigerant\": \"R-404A\", \"application\": \"walk-in freezer\"},\n   \"readings\": [{\"at\": \"box_air\", " +
		"\"value\": \"3 F\"}, {\"at\": \"ambient\", \"value\": \"73 F\"},\n                {\"at\": \"suction_pressure\", \"value\": \"12 " +
		"psig\"}, {\"at\": \"discharge_pressure\", \"value\": \"203 psig\"}],\n   \"seen\": {\"glass\": \"bubbling\"}, \"running_min\": 45}" +
		caseHelp(),
	"pulldown": "  coldwright pulldown freezer.csv --setpoint -5F\n\nA table:\n  minute,box_f\n  0,9\n  18,3\n  26,1",
	"leakrate": "  coldwright leakrate rack.csv --full-charge 60lb --as-of 2026-11-25\n\nA table:\n  date,added,removed,reason\n  " +
		"2026-03-01,15 lb,,leak\n  2026-06-10,9 lb 8 oz,9 lb 2 oz,\n\n" +
		"Reasons: leak (also when empty), recharge, seasonal, installation, retrofit.",
	"duties": "  coldwright duties rack.json --on 2026-11-25 --ics due.ics\n\nA machine:\n  {\"name\": \"Rack 1\", " +
		"\"jurisdiction\": \"US\", \"class\": \"commercial refrigeration\", \"refrigerant\": \"R-448A\",\n   \"full_charge\": \"60 lb\", " +
		"\"installed\": \"2019-05-01\",\n   \"events\": [{\"date\": \"2026-03-01\", \"kind\": \"added\", \"mass\": \"15 lb\", \"reason\": " +
		"\"leak\"},\n              {\"date\": \"2026-03-10\", \"kind\": \"repaired\"},\n              {\"date\": \"2026-03-11\", \"kind\": " +
		"\"initial_verification\", \"result\": \"passed\"}]}",
	"load": "  coldwright load room.json\n\nA room:\n  {\"room\": {\"t\": \"36 F\", \"rh\": \"90 %\"}, \"outside\": {\"t\": \"75 " +
		"F\", \"rh\": \"55 %\"},\n   \"box\": {\"length\": \"10 ft\", \"width\": \"8 ft\", \"height\": \"8 ft\", \"walls\": \"R-25\", " +
		"\"ceiling\": \"R-25\", \"floor\": \"bare slab\"},\n   \"doors\": [{\"width\": \"3 ft\", \"height\": \"6.5 ft\", \"passages_per_day\": " +
		"60, \"seconds_each\": 20}],\n   \"products\": [{\"per_day\": \"200 lb\", \"in\": \"45 F\", \"water\": \"85 %\"}], \"fans\": " +
		"[{\"power\": \"90 W\", \"hours_per_day\": 24}],\n   \"defrost\": {\"kind\": \"off-cycle\", \"minutes\": 40, \"per_day\": 4}, " +
		"\"machine\": {\"capacity\": \"6000 Btu/h\"}}",
	"charge": "  coldwright charge machine.json\n\nA machine:\n  {\"machine\": {\"refrigerant\": \"R-404A\", \"application\": " +
		"\"walk-in freezer\", \"head_control\": \"flooding\"},\n   \"nameplate\": \"9 lb 8 oz\", \"at\": {\"ambient\": \"84 F\", \"coldest\": " +
		"\"0 F\"},\n   \"parts\": [{\"kind\": \"liquid line\", \"size\": \"1/2 in\", \"length\": \"60 ft\"}, {\"kind\": \"condenser\", " +
		"\"volume\": \"6 L\"}],\n   \"in_before\": \"0 lb\", \"log\": [{\"cylinder\": \"C-1\", \"before\": \"30 lb\", \"now\": \"27 lb\", " +
		"\"tare\": \"14 lb\"}]}",
	"hold": "  coldwright hold standing.csv --volumes 20L --nameplate 150psig,300psig\n\nA table:\n  minute,pressure_psig,gas_f\n " +
		" 0,300,75\n  1440,288,55",
	"rise": "  coldwright rise vacuum.csv --volume 20L --coldest 50F --profile ufgs_15182\n\nA table:\n  minute,micron\n  0,280\n " +
		" 10,310\n  60,330",
	"cold-record": "  coldwright cold-record logger.csv --limit 41F --zone America/Denver\n  coldwright cold-record logger.csv " +
		"--save-layout logger.json",
	"practice": "  coldwright practice --level 2\n  coldwright practice --seed 2 --level 1 --json < answers.txt\n\nAnswers, one line " +
		"each:\n  box_air box_display ambient glass\n  liquid_line condenser_face_air\n  name condenser_recirculation clear_condenser_exhaust",
	"serve":   "  coldwright serve --demo\n  coldwright serve --data ~/coldwright --addr 127.0.0.1:8080",
	"report":  "  coldwright report 01930000-0000-7000-8000-000000000000 --data ~/coldwright --out visit.pdf",
	"export":  "  coldwright export --data ~/coldwright > events.jsonl",
	"import":  "  coldwright import events.jsonl --data ~/coldwright --dry-run",
	"backup":  "  coldwright backup --data ~/coldwright --out monday.backup",
	"restore": "  coldwright restore monday.backup --data ~/coldwright-again",
	"version": "  coldwright version",
}

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

// saturation is both saturation points at a pressure (Pa) or, byT, at a temperature (K). Liquid is that of the bubble
// point, vapour that of the dew point: bulk composition. SI.
type saturation struct {
	v                                      float64
	byT                                    bool
	dew, bubble                            float64 // K at a pressure, Pa at a temperature
	rhoLiquid, rhoVapour, hLiquid, hVapour float64
	method                                 string
}

// saturate asks the equation.
func saturate(r *refrigerant.Refrigerant, v float64, byT bool, o refrigerant.Options) (saturation, error) {
	bubble, dew := r.BubbleP, r.DewP
	if byT {
		bubble, dew = r.BubbleT, r.DewT
	}
	b, err := bubble(v, o)
	if err != nil {
		return saturation{}, physics(err)
	}
	d := b // a pure fluid has one saturation line
	if r.Kind() != refrigerant.Pure {
		if d, err = dew(v, o); err != nil {
			return saturation{}, physics(err)
		}
	}
	s := saturation{
		v:         v,
		byT:       byT,
		dew:       d.T,
		bubble:    b.T,
		rhoLiquid: b.RhoLiquid,
		rhoVapour: d.RhoVapour,
		hLiquid:   b.HLiquid,
		hVapour:   d.HVapour,
		method:    "equation",
	}
	if byT {
		s.dew, s.bubble = d.P, b.P
	}
	return s, nil
}

func (s saturation) answer(r *refrigerant.Refrigerant, o refrigerant.Options) satAnswer {
	a := satAnswer{
		Refrigerant: r.Designation(),
		RhoLiquid:   s.rhoLiquid,
		RhoVapour:   s.rhoVapour,
		HLiquid:     s.hLiquid / units.Kilo,
		HVapour:     s.hVapour / units.Kilo,
		Method:      s.method,
		Reference:   r.ReferenceUsed(o).String(),
	}
	a.Grade, _ = r.Grade()
	ptr := func(v float64) *float64 { return &v }
	if s.byT {
		a.TemperatureC, a.DewKpa, a.BubbleKpa = ptr(units.Temp(s.v).C()), ptr(s.dew/units.Kilo), ptr(s.bubble/units.Kilo)
	} else {
		a.PressureKpa, a.DewC, a.BubbleC, a.GlideK = ptr(s.v/units.Kilo), ptr(units.Temp(s.dew).C()), ptr(units.Temp(s.bubble).C()), ptr(s.dew-s.bubble)
	}
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
	a := s.answer(r, o)
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
			s, ok := saturation{}, false
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
				return appendJSON(b, s.answer(r, o))
			}
			cells := [...]float64{
				units.Temp(s.dew).C(),
				units.Temp(s.bubble).C(),
				s.dew - s.bubble,
				s.rhoLiquid,
				s.rhoVapour,
				s.hLiquid / units.Kilo,
				s.hVapour / units.Kilo,
			}
			numbers := cells[:]
			if byT {
				cells[1], cells[2] = s.dew/units.Kilo, s.bubble/units.Kilo
				numbers = cells[1:]
			}
			for _, x := range numbers {
				b = appendNumber(append(b, ','), x)
			}
			b = append(append(b, ','), s.method...)
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
func (f *fitted) saturate(v float64, byT bool) (saturation, bool) {
	s := saturation{v: v, byT: byT, method: "fit"}
	tb, td := v, v
	if !byT {
		if !(v > 0) {
			return s, false
		}
		tb, td = f.BubbleP(v), f.DewP(v)
		s.dew, s.bubble = td, tb
	}
	if !(tb >= f.lo && td <= f.hi) {
		return s, false
	}
	if byT {
		s.dew, s.bubble = f.DewT(v), f.BubbleT(v)
	}
	s.hLiquid, _ = f.LiquidH(tb)
	s.hLiquid += f.dh
	s.rhoLiquid = f.LiquidRho(tb)
	s.rhoVapour, s.hVapour, _ = f.DewVapour(td)
	s.hVapour += f.dh
	return s, true
}

func outAlone() error {
	return fail.Of(fail.Usage, "--out", "usage.goes_with", fail.Args{"other": fail.Setting("table")})
}

// tableFile streams one table into another.
func tableFile(env *Env, file, out string, inputs []string, need int, with func(inputs []string) (answers, error)) (err error) {
	in, err := env.open(file)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	t, err := openTable(file, in, inputs, need)
	if err != nil {
		return err
	}
	a, err := with(t.inputs())
	if err != nil {
		return err
	}
	rows, bad := 0, 0
	err = env.writeFile(out, func(w io.Writer) error {
		rows, bad, err = t.run(w, a)
		return err
	})
	if err == nil && bad > 0 {
		fmt.Fprintf(env.Stderr, "coldwright: %s: %d of %d rows without answer; the reason stands with each\n", file, bad, rows)
	}
	return err
}

func appendJSON(b []byte, v any) ([]byte, error) {
	doc, err := json.Marshal(v)
	return append(b, doc...), err
}

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
	a := newStateAnswer(r, &s, o)
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

type stateAnswer struct {
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
	Solver      stateSolver `json:"solver"`
}

type stateSolver struct {
	Status     string  `json:"status"`
	Iterations int     `json:"iterations"`
	Residual   float64 `json:"residual"`
}

func newStateAnswer(r *refrigerant.Refrigerant, s *refrigerant.State, o refrigerant.Options) stateAnswer {
	a := stateAnswer{
		Refrigerant: r.Designation(),
		Phase:       s.Phase.String(),
		P:           s.P / units.Kilo,
		T:           units.Temp(s.T).C(),
		D:           s.Rho,
		H:           s.H / units.Kilo,
		S:           s.S / units.Kilo,
		Reference:   r.ReferenceUsed(o).String(),
		Solver:      stateSolver{s.Status.String(), s.Iterations, s.Residual},
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
			x := newStateAnswer(r, &s, o)
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
