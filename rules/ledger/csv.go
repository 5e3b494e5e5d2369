package ledger

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/units"
)

// ReadMoves reads a table with the columns date, added, removed and reason; date and added are required, masses carry their unit.
//
//   - in: CSV; lines starting with # are remarks; an empty mass is none
//   - out: moves in the order of the table
//   - errors: [*fail.Error] naming line, column and value
//   - source: definition
func ReadMoves(r io.Reader) ([]Move, error) {
	c := csv.NewReader(r)
	c.Comment, c.TrimLeadingSpace = '#', true
	head, err := c.Read()
	if err != nil {
		return nil, fail.New(fail.BadData, "line 1", "the table has no header row", "first row: date,added,removed,reason")
	}
	col := map[string]int{}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))
		place := fmt.Sprintf("line 1, column %d", i+1)
		if !slices.Contains([]string{"date", "added", "removed", "reason"}, h) {
			return nil, fail.New(fail.BadData, place, fmt.Sprintf("no column %q", h), "columns: date, added, removed, reason")
		}
		if _, twice := col[h]; twice {
			return nil, fail.New(fail.BadData, place, fmt.Sprintf("column %q is there twice", h), "")
		}
		col[h] = i
	}
	for _, h := range []string{"date", "added"} {
		if _, ok := col[h]; !ok {
			return nil, fail.New(fail.BadData, "line 1", fmt.Sprintf("the column %q is missing", h), "first row: date,added,removed,reason")
		}
	}
	var out []Move
	for {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fail.New(fail.BadData, "table", err.Error(), "every row has as many cells as the header")
		}
		line, _ := c.FieldPos(0)
		cell := func(name string) string {
			if i, ok := col[name]; ok {
				return strings.TrimSpace(rec[i])
			}
			return ""
		}
		at := func(name string, err error) error {
			where := fmt.Sprintf("line %d, column %s", line, name)
			var e *fail.Error
			if errors.As(err, &e) {
				return e.In(where)
			}
			return fail.New(fail.BadValue, where, err.Error(), "")
		}
		var m Move
		if m.Date, err = ParseDate(cell("date")); err != nil {
			return nil, at("date", err)
		}
		for name, to := range map[string]*units.Mass{"added": &m.Added, "removed": &m.Removed} {
			if s := cell(name); s != "" {
				if *to, err = units.ParseMass(s, ""); err != nil {
					return nil, at(name, err)
				}
			}
		}
		m.Reason = Reason(strings.ToLower(cell("reason")))
		if m.Reason != "" && !slices.Contains(Reasons(), m.Reason) {
			return nil, at(
				"reason",
				fail.New(fail.BadValue, "", fmt.Sprintf("%q is no reason", m.Reason), fmt.Sprintf("one of %v; empty is leak", Reasons())),
			)
		}
		out = append(out, m)
	}
}
