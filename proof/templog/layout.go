package templog

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/units"
)

// Source opens a file from its beginning; it is called once to propose a layout and once or twice to read.
type Source func() (io.ReadCloser, error)

// Column of a logger's file. Index counts from 1.
type Column struct {
	Index int    `json:"index"`
	Name  string `json:"name"`
	Unit  string `json:"unit"` // C, F or K
}

// Mapping is the layout of a logger's file: proposed from the file itself, confirmed by a person, and remembered for
// the next file of this logger.
type Mapping struct {
	Separator string    `json:"separator"` // , ; tab |
	Decimal   string    `json:"decimal"`   // . or ,
	Header    int       `json:"header"`    // line of the header; 0: none
	First     int       `json:"first"`     // line of the first reading
	Columns   []string  `json:"columns"`   // names of the header
	Time      []int     `json:"time"`      // columns that together make the time: one, or date and time of day; or minutes
	Minutes   bool      `json:"minutes"`   // the time column counts minutes
	Dates     DateOrder `json:"dates"`
	Air       *Column   `json:"air"`
	Product   *Column   `json:"product"`
}

// Note is a code with how often it happened. The words for it stand in package text.
type Note struct {
	Code string `json:"code"`
	N    int    `json:"n"`
}

// Codes of reading a logger's file.
const (
	NoteSeveralColumns  = "several_temperature_columns"
	NoteOrderBySequence = "date_order_by_sequence"
	NoteUnsorted        = "unsorted_rows"
	NoteNewestFirst     = "newest_first"
	NoteDuplicates      = "duplicate_rows"
	NoteDuplicateDiffer = "duplicate_times_differ"
	NoteMissing         = "missing_readings"
	NoteGaps            = "gaps"
	NoteClockBack       = "clock_set_back"
	NoteClockForward    = "clock_set_forward"
	NoteNoSuchTime      = "time_skipped_by_clock"
	NoteRejected        = "rejected_rows"
	NoteRelative        = "times_in_minutes"
)

// Options tune reading and judging a record; zero values are the documented defaults.
type Options struct {
	Mapping *Mapping       // remembered layout; nil: proposed from the file
	Unit    string         // C, F or K where neither heading nor cells say so
	Dates   DateOrder      // day first or month first where the file leaves it in doubt
	Zone    *time.Location // of times without an offset; nil: taken as they stand
	Air     string         // heading or number of the column to judge, where several could be
	Product string
	// Reject takes rows that cannot be read; nil: the first such row ends the reading with its error.
	Reject func(line int, cells []string, why error) error

	Limit     units.Temp     // 0: 5 °C (41 °F), FDA Food Code 3-501.16(A)(2)
	Tolerance units.TempDiff // of the logger, plus or minus; 0: 1.5 K for air, 1 K for product (FDA Food Code 4-203.12, 4-203.11)
	Tau       float64        // minutes after which the product has followed 63 % of a step of the air; 0: 120, with a wide spread
}

// sampleRows is how many rows a proposal looks at.
const sampleRows = 300

type layoutTry struct {
	sep   string
	rows  [][]string
	lines []int
	good  []bool
	first int // index of the first row of data
	score int
}

// Propose finds the layout of a logger's file: separator, heading, columns, units, decimal sign, order of dates.
//
//   - in: the file; unit, order of dates and columns where the caller knows them
//   - out: the layout, and notes on what was in doubt
//   - errors: [*fail.Error] naming line and column where something is missing or stays in doubt, with what to say
//   - source: definition; the order of dates is settled by a number above 12, else by which order makes the times follow on
//   - cost: the first rows; the whole file where the order of dates is in doubt
func Propose(open Source, o Options) (m Mapping, notes []Note, err error) {
	var best layoutTry
	for _, sep := range []string{",", ";", "\t", "|"} {
		t, err := tryLayout(open, sep)
		if err != nil {
			return m, nil, err
		}
		if t.score > best.score {
			best = t
		}
	}
	if best.score == 0 {
		return m, nil, fail.Of(fail.BadData, "line 1", "logger.no_rows", nil)
	}
	m.Separator, m.First = best.sep, best.lines[best.first]
	var data [][]string
	for i, r := range best.rows {
		if best.good[i] {
			data = append(data, r)
		}
	}
	width := 0
	for _, r := range data {
		width = max(width, len(r))
	}
	units := make([]string, width)
	// The heading: the last row above the data that is as wide; a row of bare units under it belongs to it.
	head := best.first - 1
	if head >= 0 && len(best.rows[head]) >= 2 {
		bare := 0
		for c, cell := range best.rows[head] {
			if u := unitWord(cell, true); u != "" && len([]rune(strings.TrimSpace(cell))) <= 4 && c < width {
				units[c] = u
				bare++
			}
		}
		if bare > 0 && head > 0 && len(best.rows[head-1]) >= len(best.rows[head]) {
			head--
		} else {
			clear(units)
		}
		m.Header = best.lines[head]
		for _, c := range best.rows[head] {
			m.Columns = append(m.Columns, strings.TrimSpace(strings.ToValidUTF8(c, "°")))
		}
		if len(m.Columns) < width && m.Separator == "," {
			return m, nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", best.lines[best.first]), "logger.cells",
				fail.Args{"cells": width, "columns": len(m.Columns)})
		}
	}
	name := func(c int) string {
		if c < len(m.Columns) {
			return m.Columns[c]
		}
		return ""
	}
	// What the columns hold.
	type kind struct{ both, date, clock, number, comma, filled, rising int }
	kinds := make([]kind, width)
	last := make([]float64, width)
	for _, r := range data {
		for c, cell := range r {
			cell = strings.TrimSpace(cell)
			if blankCell(cell) {
				continue
			}
			k := &kinds[c]
			k.filled++
			if st, ok := parseStamp(cell); ok {
				switch {
				case st.hasDate && st.hasTime:
					k.both++
				case st.hasDate:
					k.date++
				default:
					k.clock++
				}
				continue
			}
			point, u1, okPoint := cellNumber(cell, false)
			v, u2, okComma := cellNumber(cell, true)
			if okPoint {
				v = point
			}
			if !okPoint && !okComma {
				continue
			}
			if !okPoint {
				k.comma++
			}
			if k.number > 0 && v == last[c]+1 {
				k.rising++
			}
			k.number++
			last[c] = v
			if u := u1 + u2; u != "" && units[c] == "" {
				units[c] = u[:1]
			}
		}
	}
	most := func(n, of int) bool { return of > 0 && 10*n >= 9*of }
	for c := range kinds {
		if most(kinds[c].both, kinds[c].filled) && kinds[c].filled*2 > len(data) {
			m.Time = []int{c + 1}
			break
		}
	}
	if m.Time == nil {
		date, clock := -1, -1
		for c := range kinds {
			if date < 0 && most(kinds[c].date, kinds[c].filled) {
				date = c
			}
			if clock < 0 && most(kinds[c].clock, kinds[c].filled) {
				clock = c
			}
		}
		if date >= 0 && clock >= 0 {
			m.Time = []int{date + 1, clock + 1}
		}
	}
	if m.Time == nil {
		for c := range kinds {
			if minuteHeading(name(c)) && most(kinds[c].number, kinds[c].filled) {
				m.Time, m.Minutes, m.Dates = []int{c + 1}, true, OrderFree
				break
			}
		}
	}
	if m.Time == nil {
		return m, nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", best.lines[best.first]), "logger.no_time", nil)
	}
	// The temperatures.
	var temps []int
	pick := func(want string) (int, error) {
		for c := range kinds {
			if want == strconv.Itoa(c+1) || strings.EqualFold(strings.TrimSpace(want), name(c)) {
				if kinds[c].number == 0 {
					return 0, fail.Of(fail.BadData, fmt.Sprintf("column %s", table.Clip(want)), "logger.no_numbers", nil)
				}
				return c, nil
			}
		}
		return 0, fail.Of(fail.NotFound, fmt.Sprintf("column %s", table.Clip(want)), "logger.no_column", fail.Args{"columns": m.Columns})
	}
	named := false
	for c, k := range kinds {
		heading := name(c)
		if slices.Contains(m.Time, c+1) || k.number == 0 ||
			!most(k.number, k.filled) && (unitWord(heading, false) == "" || 2*k.number < k.filled) {
			continue
		}
		if unitWord(heading, false) == "" && units[c] == "" {
			if hasWord(heading, otherWords) || k.number > 2 && k.rising == k.number-1 {
				continue
			}
			named = named || hasWord(heading, tempWords) || hasWord(heading, airWords) || hasWord(heading, productWords)
		} else {
			if hasWord(heading, []string{"dew"}) {
				continue
			}
			named = true
		}
		temps = append(temps, c)
	}
	if named { // a heading that says temperature beats one that says nothing
		temps = slices.DeleteFunc(temps, func(c int) bool {
			h := name(c)
			return unitWord(h, false) == "" && units[c] == "" && !hasWord(h, tempWords) && !hasWord(h, airWords) &&
				!hasWord(h, productWords)
		})
	}
	air, product := -1, -1
	for _, c := range temps {
		switch isFood := hasWord(name(c), productWords); {
		case isFood && product < 0:
			product = c
		case !isFood && (air < 0 || hasWord(name(c), airWords) && !hasWord(name(air), airWords)):
			air = c
		}
	}
	if o.Air != "" {
		if air, err = pick(o.Air); err != nil {
			return m, nil, err
		}
	}
	if o.Product != "" {
		if product, err = pick(o.Product); err != nil {
			return m, nil, err
		}
		if o.Air == "" && air == product {
			air = -1
		}
	}
	if air < 0 && product < 0 {
		return m, nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", max(m.Header, 1)), "logger.no_temperature",
			fail.Args{"setting": fail.Setting("air")})
	}
	unnamed := 0
	for _, c := range temps {
		if c != air && c != product {
			unnamed++
		}
	}
	if unnamed > 0 && o.Air == "" {
		if !named {
			return m, nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", best.lines[best.first]), "logger.which_temperature",
				fail.Args{"count": len(temps), "setting": fail.Setting("air")})
		}
		notes = append(notes, Note{NoteSeveralColumns, len(temps)})
	}
	m.Decimal = "."
	column := func(c int) (*Column, error) {
		if c < 0 {
			return nil, nil
		}
		if kinds[c].comma > 0 {
			m.Decimal = ","
		}
		u := unitWord(name(c), false)
		if u == "" {
			u = units[c]
		}
		if u == "" {
			u = o.Unit
		}
		if u == "" {
			line := m.First
			if m.Header > 0 {
				line = m.Header
			}
			return nil, fail.Of(fail.BadUnit, fmt.Sprintf("line %d, column %d", line, c+1), "logger.no_unit",
				fail.Args{"column": name(c), "setting": fail.Setting("unit")})
		}
		return &Column{c + 1, name(c), u}, nil
	}
	if m.Air, err = column(air); err != nil {
		return m, nil, err
	}
	if m.Product, err = column(product); err != nil {
		return m, nil, err
	}
	if m.Minutes {
		return m, notes, nil
	}
	m.Dates = o.Dates
	if o.Dates == OrderUnknown || o.Dates == OrderFree {
		var sequence bool
		if m.Dates, sequence, err = dateOrder(open, m); err != nil {
			return m, nil, err
		}
		if sequence {
			notes = append(notes, Note{NoteOrderBySequence, 1})
		}
	}
	return m, notes, nil
}

func minuteHeading(s string) bool {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "minute", "minutes", "min", "elapsed_min", "elapsed min", "minuto", "minutos":
		return true
	}
	return false
}

// tryLayout reads the first rows with one separator and counts the rows that look like readings.
func tryLayout(open Source, sep string) (layoutTry, error) {
	t := layoutTry{sep: sep, first: -1}
	f, err := open()
	if err != nil {
		return t, err
	}
	// At most a megabyte: a file of another kind has no lines at all.
	c := rowsOf(io.LimitReader(plainText(f), 1<<20), sep)
	counts := false // a heading has named minutes
	for len(t.rows) < sampleRows {
		rec, err := c.Read()
		if err != nil {
			break
		}
		line, _ := c.FieldPos(0)
		rec = slices.Clone(rec)
		t.rows, t.lines, t.good = append(t.rows, rec), append(t.lines, line), append(t.good, false)
		if len(rec) < 2 {
			continue
		}
		date, clock, number := false, false, 0
		for _, cell := range rec {
			cell = strings.TrimSpace(cell)
			if st, ok := parseStamp(cell); ok {
				date, clock = date || st.hasDate, clock || st.hasTime
				continue
			}
			_, _, p := cellNumber(cell, false)
			_, _, q := cellNumber(cell, true)
			if p || q {
				number++
			}
			counts = counts || minuteHeading(cell)
		}
		if date && clock && number > 0 || counts && number >= 2 {
			if t.first < 0 {
				t.first = len(t.rows) - 1
			}
			t.score++
			t.good[len(t.good)-1] = true
		}
	}
	return t, f.Close()
}

// dateOrder settles day first or month first over the whole file.
func dateOrder(open Source, m Mapping) (o DateOrder, bySequence bool, err error) {
	f, err := open()
	if err != nil {
		return o, false, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	c := rowsOf(plainText(f), m.Separator)
	col := m.Time[0] - 1
	var prev [2]int64
	var jumps [2]int
	differ := false
	doubt := false
	var buf []byte
	seen := ""
	for {
		rec, rerr := c.Read()
		if rerr != nil {
			break
		}
		if col >= len(rec) || rec[col] == seen && doubt {
			continue
		}
		st, ok := parseStamp(strings.TrimSpace(rec[col]))
		if !ok || !st.hasDate {
			continue
		}
		if st.a == 0 {
			if !doubt {
				return OrderFree, false, nil
			}
			continue
		}
		buf = append(buf[:0], rec[col]...)
		seen = string(buf)
		switch {
		case st.a > 12:
			return DayFirst, false, nil
		case st.b > 12:
			return MonthFirst, false, nil
		}
		differ = differ || st.a != st.b
		for k, order := range []DateOrder{DayFirst, MonthFirst} {
			t, _ := st.wall(order)
			if d := t - prev[k]; doubt && (d > 7*86400 || d < -7*86400) {
				jumps[k]++
			}
			prev[k] = t
		}
		doubt = true
	}
	switch {
	case !differ:
		return DayFirst, false, nil
	case jumps[0] == 0 && jumps[1] > 0:
		return DayFirst, true, nil
	case jumps[1] == 0 && jumps[0] > 0:
		return MonthFirst, true, nil
	}
	return o, false, fail.Of(fail.BadData, fmt.Sprintf("column %d", m.Time[0]), "logger.day_or_month",
		fail.Args{"text": seen, "setting": fail.Setting("dates")})
}

// check refuses a remembered layout that cannot be.
func (m *Mapping) check() error {
	bad := !slices.Contains([]string{",", ";", "\t", "|"}, m.Separator) || m.Decimal != "." && m.Decimal != "," || len(m.Time) < 1 ||
		len(m.Time) > 2 ||
		m.Air == nil && m.Product == nil ||
		m.Dates == OrderUnknown
	for _, c := range []*Column{m.Air, m.Product} {
		bad = bad || c != nil && (c.Index < 1 || !slices.Contains([]string{"C", "F", "K"}, c.Unit))
	}
	for _, c := range m.Time {
		bad = bad || c < 1
	}
	if bad {
		return fail.Of(fail.BadData, "mapping", "layout.incomplete", nil)
	}
	return nil
}

// Describe is a layout in one line, for a person to confirm.
func (m Mapping) Describe() string {
	s := fmt.Sprintf("separator %q, decimal %q, time in column %d", m.Separator, m.Decimal, m.Time[0])
	if len(m.Time) > 1 {
		s += fmt.Sprintf(" and %d", m.Time[1])
	}
	for _, c := range []struct {
		what string
		c    *Column
	}{{"air", m.Air}, {"product", m.Product}} {
		if c.c != nil {
			s += fmt.Sprintf(", %s in column %d %q in °%s", c.what, c.c.Index, c.c.Name, c.c.Unit)
		}
	}
	return s
}
