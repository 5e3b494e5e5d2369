package wire

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Case is a row of a table of machines. Err says why the row cannot be used; the others go on.
type Case struct {
	ID, HealthyID string
	Line          int
	Sheet         reading.Sheet
	AmpsRatio     *float64
	Err           error
	twice         bool // its name belongs to an earlier row
	room          jsonRoomLoad
	with          map[reading.Place]reading.Instrument
	within        map[reading.Place]float64 // uncertainties, SI
}

// Cases hands out the cases of a table one by one. Only a table with the column healthy_case is held in memory, since
// a visit may stand anywhere in it; of any other what stays is the names.
type Cases struct {
	csv   *csv.Reader
	head  []string
	seen  map[string]struct{}
	n     int
	ahead []Case // of a table with links: what is left to hand out
}

// OpenCases reads the header of a table of machines, and all of it where cases refer to each other. Columns are those of
// [CaseColumns], which hold all that a sheet can; an empty cell was not read. Pressures are absolute, receiver is yes or
// no, healthy_case names the row of an earlier healthy visit, amps_ratio is in place of amps_a and rated_amps.
//
//   - in: CSV with dot decimals
//   - out: the cases, to be asked for by [Cases.Next]
//   - errors: [*fail.Error] when the table itself cannot be read
//   - source: definition
func OpenCases(r io.Reader) (*Cases, error) {
	c := &Cases{csv: csv.NewReader(r), seen: map[string]struct{}{}}
	c.csv.Comment = '#'
	c.csv.FieldsPerRecord = -1
	c.csv.TrimLeadingSpace = true
	head, err := c.csv.Read()
	if known := new(fail.Error); errors.As(err, &known) {
		return nil, known
	}
	if err != nil {
		return nil, fail.Of(fail.BadData, "line 1", "table.no_header_cases", nil)
	}
	for i := range head {
		head[i] = strings.TrimSpace(strings.TrimPrefix(head[i], "\ufeff"))
		if err := knownColumn(head[i]); err != nil {
			return nil, fail.Of(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), "cases.column",
				fail.Args{"why": err, "columns": slices.Concat(caseWords, numberNames(), caseSeen)})
		}
		for j := range i {
			if head[j] == head[i] {
				return nil, fail.Of(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), "table.twice",
					fail.Args{"column": head[i]})
			}
		}
	}
	c.head = head
	if slices.Contains(head, "healthy_case") {
		return c, c.link()
	}
	return c, nil
}

// Next returns the next case, with its own error where the row cannot be used.
//
//   - errors: [io.EOF] after the last one; what reading gave
func (c *Cases) Next() (Case, error) {
	if c.ahead == nil {
		return c.read()
	}
	if len(c.ahead) == 0 {
		return Case{}, io.EOF
	}
	k := c.ahead[0]
	c.ahead = c.ahead[1:]
	return k, nil
}

func (c *Cases) read() (Case, error) {
	rec, err := c.csv.Read()
	var k Case
	if err != nil {
		var pe *csv.ParseError
		if !errors.As(err, &pe) {
			return k, err
		}
		c.n++
		k = Case{ID: strconv.Itoa(c.n), Line: pe.Line}
		k.Err = fail.Of(fail.BadData, fmt.Sprintf("line %d", pe.Line), "table.quotes", fail.Args{"why": pe.Err})
		return k, nil
	}
	c.n++
	line, _ := c.csv.FieldPos(0)
	k.Line = line
	if len(rec) > len(c.head) {
		k.Err = fail.Of(fail.BadData, fmt.Sprintf("line %d", line), "table.too_many_cells",
			fail.Args{"cells": len(rec), "columns": len(c.head)})
	}
	j := jsonMachine{Design: &jsonDesign{}}
	k.with, k.within = map[reading.Place]reading.Instrument{}, map[reading.Place]float64{}
	for i, cell := range rec {
		cell = strings.TrimSpace(cell)
		if i >= len(c.head) || cell == "" || k.Err != nil {
			continue
		}
		if err := k.cell(c.head[i], cell, &j); err != nil {
			k.Err = at(err, fmt.Sprintf("line %d, column %s", line, c.head[i]))
		}
	}
	if k.Err == nil {
		if err := k.complete(&j); err != nil {
			k.Err = at(err, fmt.Sprintf("line %d", line))
		}
	}
	if k.Err == nil {
		m, err := j.machine()
		if err != nil {
			k.Err = at(err, fmt.Sprintf("line %d", line))
		}
		k.Sheet.Machine = m
	}
	if k.ID == "" {
		k.ID = strconv.Itoa(c.n)
	}
	if _, twice := c.seen[k.ID]; twice && k.Err == nil {
		k.Err = fail.Of(fail.BadData, fmt.Sprintf("line %d, column case_id", line), "cases.twice",
			fail.Args{"case": k.ID})
		k.twice = true
	} else {
		c.seen[strings.Clone(k.ID)] = struct{}{} // a clone: the cell would hold its whole row in memory
	}
	return k, nil
}

// link reads the whole table and gives every case the healthy visit it names.
func (c *Cases) link() error {
	out := []Case{}
	index := map[string]int{}
	for {
		k, err := c.read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if !k.twice {
			index[k.ID] = len(out)
		}
		out = append(out, k)
	}
	for i := range out {
		if h := out[i].HealthyID; h != "" && out[i].Err == nil {
			n, ok := index[h]
			switch {
			case !ok:
				out[i].Err = fail.Of(fail.BadData, fmt.Sprintf("line %d, column healthy_case", out[i].Line), "cases.no_case",
					fail.Args{"case": h})
			case out[n].Err != nil:
				out[i].Err = fail.Of(fail.BadData, fmt.Sprintf("line %d, column healthy_case", out[i].Line), "cases.healthy_unreadable",
					fail.Args{"case": h})
			default:
				v := out[n].Sheet
				v.HealthyVisits = nil
				out[i].Sheet.HealthyVisits = []reading.Sheet{v}
			}
		}
	}
	c.ahead = out
	return nil
}

// caseNumbers are the numbers of a machine and its visit.
var caseNumbers = []struct {
	name string
	at   func(k *Case, j *jsonMachine) **float64
}{
	{"design_box_c", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.BoxC }},
	{"design_ambient_c", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.AmbientC }},
	{"design_td_k", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.TDK }},
	{"design_split_k", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.SplitK }},
	{"design_superheat_k", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.SuperheatK }},
	{"design_subcooling_k", func(_ *Case, j *jsonMachine) **float64 { return &j.Design.SubcoolK }},
	{"head_set_c", func(_ *Case, j *jsonMachine) **float64 { return &j.HeadSetC }},
	{"altitude_m", func(_ *Case, j *jsonMachine) **float64 { return &j.AltitudeM }},
	{"barometer_kpa", func(_ *Case, j *jsonMachine) **float64 { return &j.Barometer }},
	{"rated_amps", func(_ *Case, j *jsonMachine) **float64 { return &j.RatedAmps }},
	{"locked_rotor_amps", func(_ *Case, j *jsonMachine) **float64 { return &j.LockedAmps }},
	{"rated_power_w", func(_ *Case, j *jsonMachine) **float64 { return &j.RatedPower }},
	{"rated_capacity_w", func(_ *Case, j *jsonMachine) **float64 { return &j.RatedCold }},
	{"line_length_m", func(_ *Case, j *jsonMachine) **float64 { return &j.LineLength }},
	{"lift_m", func(_ *Case, j *jsonMachine) **float64 { return &j.Lift }},
	{"exchanger_effectiveness", func(_ *Case, j *jsonMachine) **float64 { return &j.Exchanger }},
	{"crankcase_regulator_kpa", func(_ *Case, j *jsonMachine) **float64 { return &j.Crankcase }},
	{"evaporator_regulator_kpa", func(_ *Case, j *jsonMachine) **float64 { return &j.Evaporator }},
	{"running_min", func(k *Case, _ *jsonMachine) **float64 { return &k.Sheet.RunningMin }},
	{"since_defrost_min", func(k *Case, _ *jsonMachine) **float64 { return &k.Sheet.SinceDefrostMin }},
	{"room_load_share", func(k *Case, _ *jsonMachine) **float64 { return &k.room.Share }},
	{"room_load_u", func(k *Case, _ *jsonMachine) **float64 { return &k.room.U }},
}

func numberNames() []string {
	var out []string
	for _, c := range caseNumbers {
		out = append(out, c.name)
	}
	return out
}

var caseSeen = reading.SeenKeys()

var caseWords = []string{
	"case_id", "refrigerant", "application", "expansion", "receiver", "accumulator", "head_control",
	"healthy_case", "amps_ratio",
}

// Suffixes of the columns of a reading: its unit, and what it is read with and how well.
var caseUnits = map[reading.Kind]string{
	reading.KindPressure: "_kpa", reading.KindTemperature: "_c", reading.KindCurrent: "_a", reading.KindPower: "_w",
	reading.KindShare: "_pct",
}

const (
	uSuffix          = "_u"
	instrumentSuffix = "_instrument"
)

// CaseColumns lists the columns a table of machines may have; every reading has three: the value with its unit in the
// name, <place>_u, its standard uncertainty in kPa, K, A, W or per cent, and <place>_instrument.
func CaseColumns() []string {
	out := slices.Concat(caseWords, numberNames(), caseSeen)
	for _, p := range reading.Places() {
		out = append(out, p.String()+caseUnits[p.Kind()], p.String()+uSuffix, p.String()+instrumentSuffix)
	}
	return out
}

func knownColumn(name string) error {
	if !slices.Contains(CaseColumns(), name) {
		return fail.Of(fail.BadData, "", "cases.no_column", fail.Args{"column": name})
	}
	return nil
}

// columnPlace parts a column of a reading into its place and its suffix.
func columnPlace(name string) (reading.Place, string, error) {
	for _, suffix := range []string{"_kpa", "_c", "_a", "_w", "_pct", uSuffix, instrumentSuffix} {
		if key, ok := strings.CutSuffix(name, suffix); ok {
			if p, err := reading.ParsePlace(key); err == nil && (suffix == uSuffix || suffix == instrumentSuffix || caseUnits[p.Kind()] == suffix) {
				return p, suffix, nil
			}
		}
	}
	return reading.PlaceUnknown, "", fail.Of(fail.BadData, "", "cases.no_column", fail.Args{"column": name})
}

func (k *Case) cell(column, cell string, j *jsonMachine) error {
	number := func() (*float64, error) {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || v != v || v > 1e9 || v < -1e9 {
			return nil, fail.Of(fail.BadValue, "", "table.not_a_number", fail.Args{"text": cell})
		}
		return &v, nil
	}
	for _, c := range caseNumbers {
		if c.name == column {
			v, err := number()
			*c.at(k, j) = v
			return err
		}
	}
	if slices.Contains(caseSeen, column) {
		return k.Sheet.Seen.Set(column, cell)
	}
	var err error
	switch column {
	case "case_id":
		k.ID = cell
	case "healthy_case":
		k.HealthyID = cell
	case "refrigerant":
		j.Refrigerant = cell
	case "application":
		j.Application = cell
	case "expansion":
		j.Expansion = cell
	case "head_control":
		j.HeadControl = cell
	case "receiver", "accumulator":
		var yes bool
		switch strings.ToLower(cell) {
		case "yes":
			yes = true
		case "no":
		default:
			return fail.Of(fail.BadValue, "", "cases.yes_no", fail.Args{"text": cell})
		}
		if column == "receiver" {
			j.Receiver = &yes
		} else {
			j.Accumulator = &yes
		}
	case "amps_ratio":
		k.AmpsRatio, err = number()
		if err == nil && !(*k.AmpsRatio > 0.05 && *k.AmpsRatio < 5) {
			return fail.Of(fail.Range, "", "cases.amps_ratio", fail.Args{"text": cell})
		}
		if err == nil {
			k.Sheet.Readings = append(k.Sheet.Readings, reading.Reading{At: reading.Amps, Value: *k.AmpsRatio, Text: cell})
		}
	default:
		p, suffix, perr := columnPlace(column)
		if perr != nil {
			return perr
		}
		return k.reading(p, suffix, cell, number)
	}
	return err
}

// reading takes one of the three cells of a reading.
func (k *Case) reading(p reading.Place, suffix, cell string, number func() (*float64, error)) (err error) {
	if suffix == instrumentSuffix {
		k.with[p], err = reading.ParseInstrument(cell)
		return err
	}
	v, err := number()
	if err != nil {
		return err
	}
	si := *v
	switch p.Kind() {
	case reading.KindPressure:
		si *= units.Kilo
	case reading.KindShare:
		si /= 100
	}
	if suffix == uSuffix {
		if lo, hi := p.Range(); !(si > 0 && si < hi-lo) {
			return fail.Of(fail.Range, "", "reading.uncertainty", fail.Args{"text": cell})
		}
		k.within[p] = si
		return nil
	}
	if suffix == "_c" {
		si = float64(units.Celsius(*v))
	}
	if err := p.Check(si); err != nil {
		var e *fail.Error
		if errors.As(err, &e) {
			return e.In("")
		}
		return err
	}
	k.Sheet.Readings = append(k.Sheet.Readings, reading.Reading{At: p, Value: si, Text: cell})
	return nil
}

// complete puts together what stands in several cells of a row.
func (k *Case) complete(j *jsonMachine) error {
	if amps := 0; k.AmpsRatio != nil {
		for _, r := range k.Sheet.Readings {
			if r.At == reading.Amps {
				amps++
			}
		}
		if j.RatedAmps != nil || amps > 1 {
			return fail.Of(fail.BadData, "amps_ratio", "cases.amps_twice", nil)
		}
		one := 1.0
		j.RatedAmps = &one
	}
	for _, c := range []struct {
		name string
		v    *float64
	}{{"running_min", k.Sheet.RunningMin}, {"since_defrost_min", k.Sheet.SinceDefrostMin}} {
		if err := minutes(c.name, c.v); err != nil {
			return err
		}
	}
	if k.room != (jsonRoomLoad{}) {
		if err := k.room.check(); err != nil {
			var e *fail.Error
			if errors.As(err, &e) {
				return e.In("room_load_" + e.Field)
			}
			return err
		}
		k.Sheet.RoomLoad = &reading.RoomLoad{Share: *k.room.Share, U: *k.room.U}
	}
	for i := range k.Sheet.Readings {
		r := &k.Sheet.Readings[i]
		r.U, r.Instrument = k.within[r.At], k.with[r.At]
		delete(k.within, r.At)
		delete(k.with, r.At)
	}
	for _, p := range reading.Places() {
		if _, ok := k.within[p]; ok {
			return fail.Of(fail.BadData, p.String()+uSuffix, "cases.lone_uncertainty",
				fail.Args{"place": p.String(), "unit": caseUnits[p.Kind()]})
		}
	}
	k.with, k.within = nil, nil
	return nil
}
