package reading

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/units"
)

// Case is a row of a table of machines. Err says why the row cannot be used; the others go on.
type Case struct {
	ID, HealthyID string
	Line          int
	Sheet         Sheet
	AmpsRatio     *float64
	Err           error
	twice         bool // its name belongs to an earlier row
}

// ReadCases reads a table of machines with a header row. Columns: case_id, refrigerant, application, expansion, receiver (yes/no), head_control,
// design_box_c, design_ambient_c, design_td_k, design_split_k, altitude_m, running_min, healthy_case, readings as <at>_kpa (absolute) or <at>_c,
// amps_ratio, glass, condenser_dirt, coil_ice. An empty cell was not read.
//
//   - in: CSV with dot decimals
//   - out: the cases in file order, each with its own error; healthy visits are linked
//   - errors: [*fail.Error] when the table itself cannot be read
//   - source: definition
func ReadCases(r io.Reader) ([]Case, error) {
	c, err := OpenCases(r)
	if err != nil {
		return nil, err
	}
	var out []Case
	for {
		k, err := c.Next()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		out = append(out, k)
	}
}

// Cases hands out the cases of a table one by one. Only a table with the column healthy_case is held in memory, since a visit may stand anywhere in it;
// of any other what stays is the names.
type Cases struct {
	csv   *csv.Reader
	head  []string
	seen  map[string]struct{}
	n     int
	ahead []Case // of a table with links: what is left to hand out
}

// OpenCases reads the header of a table of machines, and all of it where cases refer to each other; columns as for [ReadCases].
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
	if err != nil {
		return nil, fail.New(fail.BadData, "line 1", "the table has no header row", "first row: case_id,refrigerant,…")
	}
	for i := range head {
		head[i] = strings.TrimSpace(strings.TrimPrefix(head[i], "\ufeff"))
		if err := knownColumn(head[i]); err != nil {
			return nil, fail.New(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), err.Error(), "columns: case_id, refrigerant, application, …, <place>_kpa, <place>_c, amps_ratio, glass, condenser_dirt, coil_ice")
		}
		for j := range i {
			if head[j] == head[i] {
				return nil, fail.New(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), fmt.Sprintf("column %q is there twice", head[i]), "")
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
		k.Err = fail.New(fail.BadData, fmt.Sprintf("line %d", pe.Line), pe.Err.Error(), "check the quotes")
		return k, nil
	}
	c.n++
	line, _ := c.csv.FieldPos(0)
	k.Line = line
	if len(rec) > len(c.head) {
		k.Err = fail.New(fail.BadData, fmt.Sprintf("line %d", line), fmt.Sprintf("%d cells, the header has %d", len(rec), len(c.head)), "")
	}
	j := jsonMachine{Design: &jsonDesign{}}
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
		k.Err = fail.New(fail.BadData, fmt.Sprintf("line %d, column case_id", line), fmt.Sprintf("%q is there twice", k.ID), "")
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
				out[i].Err = fail.New(fail.BadData, fmt.Sprintf("line %d, column healthy_case", out[i].Line), fmt.Sprintf("there is no case %q", h), "")
			case out[n].Err != nil:
				out[i].Err = fail.New(fail.BadData, fmt.Sprintf("line %d, column healthy_case", out[i].Line), fmt.Sprintf("case %q cannot be read", h), "")
			default:
				v := out[n].Sheet
				v.HealthyVisits = nil
				out[i].Sheet.HealthyVisits = []Sheet{v}
			}
		}
	}
	c.ahead = out
	return nil
}

func knownColumn(name string) error {
	switch name {
	case "case_id", "refrigerant", "application", "expansion", "receiver", "head_control", "design_box_c", "design_ambient_c", "design_td_k",
		"design_split_k", "altitude_m", "running_min", "healthy_case", "amps_ratio", "glass", "condenser_dirt", "coil_ice":
		return nil
	}
	if _, _, err := columnPlace(name); err == nil {
		return nil
	}
	return fmt.Errorf("no column %q", name)
}

func columnPlace(name string) (Place, string, error) {
	for _, suffix := range []string{"_kpa", "_c"} {
		if key, ok := strings.CutSuffix(name, suffix); ok {
			p, err := ParsePlace(key)
			if err == nil && (p.Kind() == KindPressure) == (suffix == "_kpa") && (p.Kind() == KindPressure || p.Kind() == KindTemperature) {
				return p, suffix, nil
			}
		}
	}
	return PlaceUnknown, "", fmt.Errorf("no column %q", name)
}

func (k *Case) cell(column, cell string, j *jsonMachine) error {
	number := func() (*float64, error) {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || v != v || v > 1e9 || v < -1e9 {
			return nil, fail.New(fail.BadValue, "", fmt.Sprintf("%q is not a number", cell), "dot decimal, no unit: the column names it")
		}
		return &v, nil
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
	case "receiver":
		var yes bool
		switch strings.ToLower(cell) {
		case "yes":
			yes = true
		case "no":
		default:
			return fail.New(fail.BadValue, "", fmt.Sprintf("%q is not an answer here", cell), "allowed: yes, no")
		}
		j.Receiver = &yes
	case "design_box_c":
		j.Design.BoxC, err = number()
	case "design_ambient_c":
		j.Design.AmbientC, err = number()
	case "design_td_k":
		j.Design.TDK, err = number()
	case "design_split_k":
		j.Design.SplitK, err = number()
	case "altitude_m":
		j.AltitudeM, err = number()
	case "running_min":
		k.Sheet.RunningMin, err = number()
	case "amps_ratio":
		k.AmpsRatio, err = number()
		if err == nil && !(*k.AmpsRatio > 0.05 && *k.AmpsRatio < 5) {
			return fail.New(fail.Range, "", cell+" is no ratio of amperes", "allowed: 0.05 to 5")
		}
		if err == nil {
			k.Sheet.Readings = append(k.Sheet.Readings, Reading{At: Amps, Value: *k.AmpsRatio, Text: cell})
			one := 1.0
			j.RatedAmps = &one
		}
	case "glass", "condenser_dirt", "coil_ice":
		return k.Sheet.Seen.Set(column, cell)
	default:
		p, suffix, perr := columnPlace(column)
		if perr != nil {
			return perr
		}
		v, nerr := number()
		if nerr != nil {
			return nerr
		}
		si := *v * units.Kilo
		if suffix == "_c" {
			si = float64(units.Celsius(*v))
		}
		if err := p.check(si); err != nil {
			var e *fail.Error
			if errors.As(err, &e) {
				return fail.New(e.Code, "", e.Message, e.Hint)
			}
			return err
		}
		k.Sheet.Readings = append(k.Sheet.Readings, Reading{At: p, Value: si, Text: cell})
	}
	return err
}
