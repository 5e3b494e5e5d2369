package templog

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/units"
)

// row is a reading: seconds since 1970, K; NaN where the column was empty.
type row struct {
	t            int64
	air, product float64
}

// logReader streams the rows of a file.
type logReader struct {
	m        Mapping
	o        Options
	notes    map[string]int
	noOffset bool
	shift    int64 // of clocks set back or forward where no zone is known
	prev     int64
	step     int64
	rows     int
	down     bool // newest first
}

// read calls yield for each reading in the order of the file.
func (l *logReader) read(r io.Reader, yield func(row) error) error {
	c := rowsOf(plainText(r), l.m.Separator)
	comma := l.m.Decimal == ","
	reject := func(line int, rec []string, err *fail.Error) error {
		if l.o.Reject == nil {
			return err
		}
		l.notes[NoteRejected]++
		return l.o.Reject(line, slices.Clone(rec), err)
	}
	for {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			var p *csv.ParseError
			if errors.As(err, &p) {
				return fail.Of(fail.BadData, fmt.Sprintf("line %d", p.Line), "table.quotation", nil)
			}
			return err
		}
		line, _ := c.FieldPos(0)
		if line < l.m.Header {
			continue
		}
		if line == l.m.Header {
			if err := l.sameHeading(rec); err != nil {
				return err
			}
			continue
		}
		if line < l.m.First { // remarks above a table without a heading, units below one
			continue
		}
		empty := true
		for _, cell := range rec {
			if strings.TrimSpace(cell) != "" {
				empty = false
				break
			}
		}
		if empty {
			continue
		}
		out, bad := l.parse(line, rec, comma)
		if bad != nil {
			if err := reject(line, rec, bad); err != nil {
				return err
			}
			continue
		}
		if math.IsNaN(out.air) && math.IsNaN(out.product) {
			l.notes[NoteMissing]++
			continue
		}
		l.rows++
		if err := yield(out); err != nil {
			return err
		}
	}
}

// sameHeading checks a remembered layout against the file.
func (l *logReader) sameHeading(rec []string) error {
	for _, c := range []*Column{l.m.Air, l.m.Product} {
		if c == nil {
			continue
		}
		got := ""
		if c.Index <= len(rec) {
			got = strings.TrimSpace(strings.ToValidUTF8(rec[c.Index-1], "°"))
		}
		if got != c.Name {
			return fail.Of(fail.BadData, fmt.Sprintf("line %d, column %d", l.m.Header, c.Index), "logger.other_heading",
				fail.Args{"heading": got, "remembered": c.Name})
		}
	}
	return nil
}

func (l *logReader) parse(line int, rec []string, comma bool) (out row, bad *fail.Error) {
	cell := func(index int) string {
		if index > len(rec) {
			return ""
		}
		return strings.TrimSpace(rec[index-1])
	}
	place := func(index int) string {
		if index <= len(l.m.Columns) && l.m.Columns[index-1] != "" {
			return fmt.Sprintf("line %d, column %d (%s)", line, index, table.Clip(l.m.Columns[index-1]))
		}
		return fmt.Sprintf("line %d, column %d", line, index)
	}
	if l.m.Minutes {
		v, _, ok := cellNumber(cell(l.m.Time[0]), comma)
		if !ok || math.Abs(v) > 1e8 {
			return out, fail.Of(fail.BadValue, place(l.m.Time[0]), "table.minutes_time",
				fail.Args{"text": cell(l.m.Time[0])})
		}
		out.t = int64(math.Round(v * 60))
		l.direction(out.t)
	} else {
		s := cell(l.m.Time[0])
		st, ok := parseStamp(s)
		if ok && len(l.m.Time) == 2 {
			var clock stamp
			c := cell(l.m.Time[1])
			if clock, ok = parseStamp(c); ok && clock.hasTime && !clock.hasDate {
				st.seconds, st.hasTime, st.offset, st.hasOffset = clock.seconds, true, clock.offset, clock.hasOffset
			} else {
				return out, fail.Of(fail.BadValue, place(l.m.Time[1]), "logger.time_of_day", fail.Args{"text": c})
			}
		}
		if !ok || !st.hasDate || !st.hasTime {
			return out, fail.Of(fail.BadValue, place(l.m.Time[0]), "logger.date_and_time", fail.Args{"text": s})
		}
		wall, ok := st.wall(l.m.Dates)
		if !ok {
			order := "day first"
			if l.m.Dates == MonthFirst {
				order = "month first"
			}
			return out, fail.Of(fail.BadValue, place(l.m.Time[0]), "logger.no_date",
				fail.Args{"text": s, "order": order, "setting": fail.Setting("dates")})
		}
		out.t = l.instant(wall, &st)
	}
	var err *fail.Error
	value := func(c *Column) float64 {
		if c == nil {
			return math.NaN()
		}
		s := cell(c.Index)
		if blankCell(s) {
			return math.NaN()
		}
		v, unit, ok := cellNumber(s, comma)
		if !ok {
			err = fail.Of(fail.BadValue, place(c.Index), "logger.not_a_temperature",
				fail.Args{"text": s, "decimal": l.m.Decimal})
			return math.NaN()
		}
		if unit == "" {
			unit = c.Unit
		}
		var t units.Temp
		switch unit {
		case "F":
			t = units.Fahrenheit(v)
		case "K":
			t = units.Temp(v)
		default:
			t = units.Celsius(v)
		}
		if !(t > 180 && t < 400) {
			err = fail.Of(fail.Range, place(c.Index), "logger.cold_space", fail.Args{"text": s, "unit": unit})
			return math.NaN()
		}
		return float64(t)
	}
	out.air = value(l.m.Air)
	out.product = value(l.m.Product)
	return out, err
}

func (l *logReader) direction(t int64) {
	if l.rows > 0 {
		if l.rows == 1 {
			l.down = t < l.prev
		}
		if t < l.prev && !l.down || t > l.prev && l.down {
			l.notes[NoteUnsorted]++
		} else if d := t - l.prev; d != 0 {
			l.step = max(d, -d)
		}
	}
	l.prev = t
}

// instant turns a time on the wall into a moment: with its offset, by the zone, or as it stands. A clock set back
// makes an hour happen twice; the one that follows on is taken.
func (l *logReader) instant(wall int64, st *stamp) int64 {
	if st.hasOffset {
		t := wall - int64(st.offset)
		l.direction(t)
		return t
	}
	l.noOffset = true
	if l.o.Zone != nil {
		at := instants(wall, l.o.Zone)
		switch len(at) {
		case 0:
			l.notes[NoteNoSuchTime]++
			_, off := time.Unix(wall-86400, 0).In(l.o.Zone).Zone()
			at = []int64{wall - int64(off)}
		case 2:
			if l.rows > 0 && (!l.down && at[0] < l.prev || l.down && l.rows > 1 && at[1] <= l.prev) {
				at = at[1:]
			}
		}
		l.direction(at[0])
		return at[0]
	}
	t := wall + l.shift
	if l.rows > 2 && !l.down && l.step > 0 && l.step < 3600 {
		d := t - l.prev
		switch {
		// An hour back and a step on: summer time has ended.
		case d < 0 && d+3600 > 0 && 2*(d+3600) <= 3*l.step:
			l.shift += 3600
			l.notes[NoteClockBack]++
			t += 3600
		// An hour on and a step, in a Sunday's small hours: summer time has begun.
		case d > 3600 && 2*(d-3600) <= 3*l.step && 2*(d-3600) >= l.step && sundayNight(wall):
			l.shift -= 3600
			l.notes[NoteClockForward]++
			t -= 3600
		}
	}
	l.direction(t)
	return t
}

// sundayNight reports a Sunday before five in the morning, when clocks are changed.
func sundayNight(wall int64) bool {
	t := time.Unix(wall, 0).UTC()
	return t.Weekday() == time.Sunday && t.Hour() <= 4
}
