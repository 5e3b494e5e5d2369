package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
)

// rooftops is what a maker's installation text prints of healthy packaged air conditioners: model, air outside, °F,
// suction and liquid pressure, psig; R-410A by its pressures, return air 80 °F and 67 °F wet bulb.
//
//go:embed testdata/rooftops.csv
var rooftops []byte

// state is one state of a machine, with how far outside it is from the one the machine is calibrated at.
type state struct {
	sheet reading.Sheet
	group string
}

// comparison is how far the machines of a group were from what a judgement expected of them, one state of each on file.
type comparison struct {
	group, source string
	n, alarms     int
	at            map[reading.Place]*offs
}

// offs are the distances at a place.
type offs struct {
	n, in  int
	square float64 // K², or of shares
}

// rooftopStates reads the published air conditioners: for each its state at 95 °F, and the others.
func rooftopStates() (rated map[string]reading.Sheet, others map[string][]state, err error) {
	lines, err := csv.NewReader(bytes.NewReader(rooftops)).ReadAll()
	if err != nil {
		return nil, nil, err
	}
	rated, others = map[string]reading.Sheet{}, map[string][]state{}
	no := false
	for _, l := range lines[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(l[i+1], 64); err != nil {
				return nil, nil, err
			}
		}
		s := reading.Sheet{
			Machine: reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning, Receiver: &no},
			Readings: []reading.Reading{
				{At: reading.BoxAir, Value: float64(units.Fahrenheit(80))},
				{At: reading.BoxWetBulb, Value: float64(units.Fahrenheit(67))},
				{At: reading.Ambient, Value: float64(units.Fahrenheit(v[0]))},
				{At: reading.SuctionPressure, Value: float64(units.Psig(v[1]).Absolute(units.Atm))},
				{At: reading.LiquidPressure, Value: float64(units.Psig(v[2]).Absolute(units.Atm))},
			},
		}
		group := "80 to 90 °F outside"
		switch {
		case v[0] == 95:
			rated[l[0]] = s
			continue
		case v[0] < 80:
			group = "65 to 75 °F outside"
		case v[0] > 95:
			group = "100 to 115 °F outside"
		}
		others[l[0]] = append(others[l[0]], state{s, "12 packaged air conditioners, " + group})
	}
	return rated, others, nil
}

// compare judges states of a machine with another one of it on file.
func (r *run) compare(on reading.Sheet, others []state, source string, to []*comparison) ([]*comparison, error) {
	fit, err := r.fits.Get(on.Machine.Refrigerant)
	if err != nil {
		return nil, err
	}
	for _, x := range others {
		i := slices.IndexFunc(to, func(c *comparison) bool { return c.group == x.group })
		if i < 0 {
			i, to = len(to), append(to, &comparison{group: x.group, source: source, at: map[reading.Place]*offs{}})
		}
		c := to[i]
		s := x.sheet
		s.HealthyVisits = []reading.Sheet{on}
		p, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{NoPairs: true})
		if err != nil {
			continue // refused in words
		}
		c.n++
		if p.PHealthy < 0.1 {
			c.alarms++
		}
		for _, e := range p.Expected {
			if !e.Read || e.At.Kind() == reading.KindCurrent || e.At.Kind() == reading.KindPower {
				continue
			}
			at := e.At
			if at == reading.LiquidPressure { // either is the head
				at = reading.DischargePressure
			}
			o := c.at[at]
			if o == nil {
				o = &offs{}
				c.at[at] = o
			}
			o.n++
			o.square += e.Off * e.Off
			if e.In {
				o.in++
			}
		}
	}
	return to, nil
}

// comparedAt are the columns of the table.
var comparedAt = []reading.Place{
	reading.SuctionPressure, reading.DischargePressure, reading.CoilOutletLine, reading.SuctionLine, reading.LiquidLine,
	reading.DischargeLine, reading.CoilAirOff,
}

// noFault reports whether a row is of a machine nothing was done to.
func noFault(cell map[string]string) bool {
	return slices.Contains([]string{"none", "none stated", "unlabelled", "normal", ""}, cell["fault"])
}

// inPlant prints how far published and measured machines are from what is expected of them once the model knows one of
// their states: of published tables always, of measured machines where their readings are at hand.
func (r *run) inPlant() error {
	r.w("## Published and measured machines in the model\n")
	var all []*comparison
	rated, others, err := rooftopStates()
	if err != nil {
		return err
	}
	var names []string
	for n := range rated {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		if all, err = r.compare(rated[n], others[n], "a maker's installation text", all); err != nil {
			return err
		}
	}
	for _, machine := range r.measuredMachines {
		on, others := calibrated(machine)
		if len(others) == 0 {
			continue
		}
		if all, err = r.compare(on, others, measuredSource(machine[0]["source"]), all); err != nil {
			return err
		}
	}
	r.w(
		"How far is a real machine from the model that knows one of its states? Each has the state nearest to its rating on file as a " +
			"healthy visit (the air conditioners 95 °F outside); of the others stand how many were alarmed, and for each place the root mean " +
			"square of what was read less what was expected, K (pressures as dew temperature, head at the condenser or in the liquid line), " +
			"and how many lay in the stated 5 to 95 %% band. A band as wide as the truth holds 90 of 100. The first are published " +
			"values without noise; of measured machines nobody stated a fault, which is not health, and chillers in water are outside what " +
			"the model knows. The width of the bands away from a machine's design point rests on the first group (diagnose/discrepancy.json): " +
			"for these it is no prediction.\n",
	)
	head, line := "| machines | source | states | alarms |", "| --- | --- | --- | --- |"
	for _, at := range comparedAt {
		head += " " + strings.ReplaceAll(at.String(), "_", " ") + " |"
		line += " --- |"
	}
	r.w("%s\n%s", head, line)
	for _, c := range all {
		row := fmt.Sprintf("| %s | %s | %d | %d |", c.group, c.source, c.n, c.alarms)
		for _, at := range comparedAt {
			if o := c.at[at]; o != nil {
				row += fmt.Sprintf(" %.1f K, %d of %d |", math.Sqrt(o.square/float64(o.n)), o.in, o.n)
			} else {
				row += " |"
			}
		}
		r.w("%s", row)
	}
	r.w("")
	return nil
}

// calibrated takes the row of a machine nearest to its rating, and about fifteen others spread evenly.
func calibrated(rows []map[string]string) (on reading.Sheet, others []state) {
	away := func(s reading.Sheet) float64 {
		m, _ := s.Machine.Resolve()
		box, _ := s.Find(reading.BoxAir)
		air, ok := s.Find(reading.Ambient)
		if !ok {
			return math.Inf(1)
		}
		return math.Hypot(box.Value-float64(m.Box), air.Value-float64(m.Ambient))
	}
	best, at := math.Inf(1), -1
	var sheets []reading.Sheet
	for _, cell := range rows {
		s, ran := measuredSheet(cell)
		if !ran || !noFault(cell) {
			continue
		}
		if d := away(s); d < best {
			best, at = d, len(sheets)
		}
		sheets = append(sheets, s)
	}
	if at < 0 {
		return on, nil
	}
	on, sheets = sheets[at], slices.Delete(sheets, at, at+1)
	for i := 0; i < len(sheets); i += max(1, len(sheets)/15) {
		others = append(others, state{sheets[i], rows[0]["machine"]})
	}
	return on, others
}
