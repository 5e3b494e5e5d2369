package casebook

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// States are machines in steady states that another model computed, today and when they were healthy: the readings of
// worlds of the law [Independent].
type States struct {
	rows map[statesOf][]machineState
}

// statesOf is what the states are filed under.
type statesOf struct {
	kind, population string
	code             fault.Code
}

// machineState is a machine today and before.
type machineState struct {
	refrigerant          string
	cause                Cause
	td, split, superheat float64
	kW                   float64
	at                   [2]map[string]float64 // K, Pa, shares
}

// ParseStates reads the file of states: a line a machine, °C and kPa absolute.
//
//   - in: CSV with the columns that cmd/accuracy/cycle.py writes
//   - out: the states
//   - errors: a column or number is missing
//   - source: definition
func ParseStates(text []byte) (*States, error) {
	lines, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(lines) < 2 {
		return nil, fmt.Errorf("states: %d lines, %w", len(lines), err)
	}
	out := &States{map[statesOf][]machineState{}}
	for n, line := range lines[1:] {
		cell := map[string]string{}
		for i, name := range lines[0] {
			cell[name] = line[i]
		}
		number := func(name string) float64 {
			v, e := strconv.ParseFloat(cell[name], 64)
			if e != nil && err == nil {
				err = fmt.Errorf("states, line %d: %s: %w", n+2, name, e)
			}
			return v
		}
		code, e := fault.Parse(cell["code"])
		if e != nil {
			return nil, fmt.Errorf("states, line %d: %w", n+2, e)
		}
		m := machineState{
			refrigerant: cell["refrigerant"], cause: Cause{code, number("z"), number("severity")},
			td: number("td"), split: number("split"), superheat: number("superheat"), kW: number("kw"),
		}
		for k, was := range []string{"", "was_"} {
			m.at[k] = map[string]float64{}
			for _, c := range stateColumns {
				v := number(was + c)
				switch c {
				case "suction", "head", "standing":
					v *= units.Kilo
				case "drop", "amps", "power", "glass":
				default:
					v = float64(units.Celsius(v))
				}
				m.at[k][c] = v
			}
			if cell[was+"wet_bulb"] != "" { // nobody takes it where the coil is to be dry
				m.at[k]["wet_bulb"] = float64(units.Celsius(number(was + "wet_bulb")))
			}
		}
		if err != nil {
			return nil, err
		}
		of := statesOf{cell["kind"], cell["population"], code}
		out.rows[of] = append(out.rows[of], m)
	}
	return out, nil
}

var stateColumns = []string{
	"box", "ambient", "suction", "head", "standing", "coil_out", "suction_line", "liquid", "discharge", "air_off", "face", "cond_off", "drop",
	"amps", "power", "glass",
}

// rowsOf are the machines of a world with a cause; a wrong plate hangs on machines of the catalogue.
func (s *States) rowsOf(w World, c fault.Code) []machineState {
	p := w.Population
	if p == WrongPlate {
		p = Catalogue
	}
	return s.rows[statesOf{w.Kind.String(), p.String(), c}]
}

// Visits reads machines in these states, with the noise of measuring and nothing else between state and reading. What
// changes no circuit (lying instruments, load, the wrong refrigerant) is drawn upon healthy ones. Causes that the states
// do not hold are left out.
//
//   - in: seed; the world; healthy visits and visits per cause at most; the catalogue of the severities drawn here
//   - out: the visits, always the same for a seed
//   - errors: a refrigerant cannot be loaded; no states of such machines
//   - source: definition
func (s *States) Visits(seed uint64, w World, healthy, perFault int, cat *fault.Catalogue, fits *Fits) ([]Visit, error) {
	well := s.rowsOf(w, fault.Healthy)
	if len(well) == 0 {
		return nil, fmt.Errorf("states: no %s of the population %s", w.Kind, w.Population)
	}
	var out []Visit
	take := func(rows []machineState, n int, c fault.Code) error {
		for k := range min(n, len(rows)) {
			rng := rand.New(rand.NewPCG(seed, uint64(c)<<40|uint64(k)<<8))
			row := rows[k]
			var causes []Cause
			if c != fault.Healthy {
				causes = []Cause{row.cause}
				if !c.Circuit() {
					fault, _ := cat.Find(c)
					row = rows[(k+7*int(c))%len(rows)]
					causes = []Cause{Draw(rng, fault)}
				}
			}
			v, ok, err := w.readState(rng, fits, &row, causes)
			if err != nil {
				return err
			}
			if ok {
				out = append(out, v)
			}
		}
		return nil
	}
	if err := take(well, healthy, fault.Healthy); err != nil {
		return nil, err
	}
	for _, c := range Truths(w.Kind) {
		rows := s.rowsOf(w, c)
		if !c.Circuit() {
			rows = well
		}
		if _, ok := cat.Find(c); !ok {
			continue
		}
		if err := take(rows, perFault, c); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// readState is a visit to a machine in a state.
func (w World) readState(rng *rand.Rand, fits *Fits, row *machineState, causes []Cause) (v Visit, ok bool, err error) {
	mc, _, _, _ := w.Kind.machine(rng)
	for mc.Refrigerant != row.refrigerant {
		mc, _, _, _ = w.Kind.machine(rng)
	}
	if v.Fit, err = fits.Get(mc.Refrigerant); err != nil {
		return v, false, fmt.Errorf("simulated visit: %w", err)
	}
	v.Causes = causes
	v.displayOnly = slices.ContainsFunc(causes, func(c Cause) bool { return c.Code == fault.BoxThermometer })
	own := w.Population.own(rng)
	w.Population.plate(&mc, row.td, row.split, row.superheat, own)
	var none habits
	for k, sheet := range []*reading.Sheet{&v.today, &v.earlier} {
		at, now := row.at[k], causes
		if k == 1 {
			now = nil
		}
		st := state{wet: at["wet_bulb"], habit: &none, kW: row.kW, errs: own.gauges(w.Population)}
		st.in = plant.Inputs{BoxT: at["box"], AmbientT: at["ambient"]}
		for _, c := range now {
			st.change = fault.Apply(st.change, c.Code, c.Severity)
		}
		f := v.Fit
		for o, x := range map[plant.Output]float64{
			plant.SuctionDew: f.DewP(at["suction"]), plant.DischargeDew: f.DewP(at["head"]), plant.StandingT: f.DewP(at["standing"]),
			plant.CoilOutletT: at["coil_out"], plant.SuctionLineT: at["suction_line"], plant.LiquidLineT: at["liquid"],
			plant.DischargeLineT: at["discharge"], plant.AirOffT: at["air_off"], plant.CondenserFaceT: at["face"],
			plant.CondenserOffT: at["cond_off"], plant.DrierDrop: at["drop"], plant.AmpsRatio: at["amps"], plant.PowerRatio: at["power"],
			plant.GlassQuality: at["glass"],
		} {
			st.out[o] = x
		}
		display := 0.0
		if v.displayOnly && k == 0 {
			display = causes[0].Severity
		}
		sheet.Machine = mc
		sheet.Readings = []reading.Reading{
			{At: reading.BoxAir, Value: st.in.BoxT + measuring(reading.BoxAir)*rng.NormFloat64()},
			{At: reading.BoxDisplay, Value: st.in.BoxT + measuring(reading.BoxDisplay)*rng.NormFloat64() + display},
			{At: reading.Ambient, Value: st.in.AmbientT + measuring(reading.Ambient)*rng.NormFloat64()},
		}
		if !st.read(rng, f, sheet, now) {
			return v, false, nil
		}
	}
	return v, true, nil
}
