package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
)

// MaxRows bounds a test against the clock: a reading a second for eleven days. A logger's record, which is streamed, has no such bound.
const MaxRows = 1_000_000

// MaxLine is the longest line of a table or a document, bytes: a logger of a hundred columns stays far below.
const MaxLine = 1 << 20

// Lines refuses a line that goes on and on before it fills the memory.
//
//   - in: r, the text; most, the longest line, bytes
//   - out: a reader of the same text
//   - errors: reading beyond such a line gives a [*fail.Error] that names it
func Lines(r io.Reader, most int) io.Reader { return &lines{r: r, most: most, line: 1} }

type lines struct {
	r                io.Reader
	most, long, line int
}

// Read implements [io.Reader].
func (l *lines) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	for rest := p[:n]; ; {
		i := bytes.IndexByte(rest, '\n')
		if i < 0 {
			l.long += len(rest)
		} else {
			l.long += i
		}
		if l.long > l.most {
			return 0, fail.Of(fail.BadData, fmt.Sprintf("line %d", l.line), "table.line_long", fail.Args{"limit": l.most >> 10})
		}
		if i < 0 {
			return n, err
		}
		l.long, l.line, rest = 0, l.line+1, rest[i+1:]
	}
}

// Table is a small CSV table of a test: a header of known columns, dot decimals, lines starting with # are remarks.
type Table struct {
	csv  *csv.Reader
	col  map[string]int
	rec  []string
	line int
	zero time.Time
	// Of clock times without a date: the last one, and how long after the first row, minutes.
	clock string
	last  time.Time
	since float64

	columns string // for hints
}

// Open reads the header; known says whether a column may be there.
func Open(r io.Reader, known func(string) bool, columns string) (*Table, error) {
	t := &Table{csv: csv.NewReader(r), col: map[string]int{}, columns: columns}
	t.csv.Comment, t.csv.TrimLeadingSpace, t.csv.ReuseRecord = '#', true, true
	head, err := t.csv.Read()
	if errors.Is(err, io.EOF) {
		return nil, fail.Of(fail.BadData, "line 1", "table.no_header", fail.Args{"columns": fail.Word(columns)})
	}
	if err != nil {
		return nil, t.broken(err)
	}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))
		place := fmt.Sprintf("line 1, column %d", i+1)
		if !known(h) {
			return nil, fail.Of(fail.BadData, place, "table.no_column", fail.Args{"column": h, "columns": fail.Word(columns)})
		}
		if _, twice := t.col[h]; twice {
			return nil, fail.Of(fail.BadData, place, "table.twice_keep", fail.Args{"column": h})
		}
		t.col[h] = i
	}
	return t, nil
}

// OneOf refuses a table that has both or none of two columns.
func (t *Table) OneOf(a, b string) error {
	if t.Has(a) != t.Has(b) {
		return nil
	}
	return fail.Of(fail.BadData, "line 1", "table.exactly_one", fail.Args{"one": a, "other": b, "columns": fail.Word(t.columns)})
}

// Need refuses a table without a column.
func (t *Table) Need(name string) error {
	if t.Has(name) {
		return nil
	}
	return fail.Of(fail.BadData, "line 1", "table.column_missing", fail.Args{"column": name, "columns": fail.Word(t.columns)})
}

// Cell is the text of a cell, "" where the column is not there.
func (t *Table) Cell(name string) string {
	i, there := t.col[name]
	if !there || i >= len(t.rec) {
		return ""
	}
	return strings.TrimSpace(t.rec[i])
}

func (t *Table) Has(name string) bool { _, ok := t.col[name]; return ok }

// broken puts the line into an error of the CSV reader.
func (t *Table) broken(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		why := "a quotation mark stands in the wrong place"
		if errors.Is(p.Err, csv.ErrFieldCount) {
			why = fmt.Sprintf("the row does not have the %d cells of the header", len(t.col))
		}
		return fail.Of(fail.BadData, fmt.Sprintf("line %d, column %d", p.Line, p.Column), "table.cannot_split",
			fail.Args{"reason": why})
	}
	return err
}

// Next moves to the next row; false at the end.
func (t *Table) Next(rows int) (bool, error) {
	rec, err := t.csv.Read()
	if errors.Is(err, io.EOF) {
		return false, nil
	}
	if err != nil {
		return false, t.broken(err)
	}
	t.rec = rec
	t.line, _ = t.csv.FieldPos(0)
	if rows >= MaxRows {
		return false, fail.Of(fail.BadData, fmt.Sprintf("line %d", t.line), "table.too_many_rows",
			fail.Args{"rows": MaxRows})
	}
	return true, nil
}

func (t *Table) Place(name string) string { return fmt.Sprintf("line %d, column %s", t.line, name) }

// Number reads a cell; ok is false where the column is not there or the cell is empty.
func (t *Table) Number(name string) (v float64, ok bool, err error) {
	s := t.Cell(name)
	if s == "" {
		return 0, false, nil
	}
	v, perr := strconv.ParseFloat(strings.Replace(s, "−", "-", 1), 64)
	if perr != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, false, fail.Of(fail.BadValue, t.Place(name), "table.not_a_number", fail.Args{"text": s})
	}
	return v, true, nil
}

// Minute reads the time of the row, minutes from the first row for the column time.
func (t *Table) Minute() (float64, error) {
	if !t.Has("time") {
		v, ok, err := t.Number("minute")
		if err == nil && !ok {
			err = fail.Of(fail.Required, t.Place("minute"), "table.empty_minute", nil)
		}
		if err == nil && math.Abs(v) > 1e7 {
			err = fail.Of(fail.Range, t.Place("minute"), "table.minutes", fail.Args{"minutes": v})
		}
		return v, err
	}
	s := t.Cell("time")
	if at, ok := clockTime(s); ok && t.zero.IsZero() {
		return t.byClock(s, at)
	}
	at, err := time.Parse(time.RFC3339, s)
	if err != nil || t.clock != "" {
		return 0, fail.Of(fail.BadValue, t.Place("time"), "table.time", fail.Args{"text": s})
	}
	if t.zero.IsZero() {
		t.zero = at
	}
	return at.Sub(t.zero).Minutes(), nil
}

// clockTime reads "11:00" or "11:00:30".
func clockTime(s string) (time.Time, bool) {
	for _, layout := range []string{"15:04", "15:04:05"} {
		if at, err := time.Parse(layout, s); err == nil {
			return at, true
		}
	}
	return time.Time{}, false
}

// mostBetween is the longest time between two rows that clock times without a date can tell, minutes: beyond it a row out
// of order and one of the next day look alike.
const mostBetween = 720

// byClock is the minute of a row that says the time of day and no date, from the first row; after midnight it goes on.
func (t *Table) byClock(s string, at time.Time) (float64, error) {
	if t.clock != "" {
		on := at.Sub(t.last).Minutes()
		if on < 0 {
			on += 1440
		}
		if on > mostBetween {
			return 0, fail.Of(fail.BadValue, t.Place("time"), "table.clock_order", fail.Args{"text": s, "before": t.clock})
		}
		t.since += on
	}
	t.clock, t.last = s, at
	return t.since, nil
}

// Clip keeps messages to one short line.
func Clip(s string) string {
	r := []rune(strings.ToValidUTF8(strings.Join(strings.Fields(s), " "), "?"))
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return string(r)
}

// InOrder sorts rows by minute and refuses repeated minutes.
func InOrder[T any](rows []T, minute func(T) float64) error {
	slices.SortStableFunc(rows, func(a, b T) int {
		switch x, y := minute(a), minute(b); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	for i := range rows {
		if i > 0 && minute(rows[i]) == minute(rows[i-1]) {
			return fail.Of(fail.BadData, fmt.Sprintf("minute %g", minute(rows[i])), "test.minute_repeated", nil)
		}
	}
	return nil
}
