package wire

import (
	"cmp"
	"errors"
	"io"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// ReadMoves reads a table with the columns date, added, removed, reason and same_leak; date and added are
// required, masses carry their unit.
//
//   - in: CSV; lines starting with # are remarks; an empty mass is none
//   - out: moves in the order of the table
//   - errors: [*fail.Error] naming line, column and value
//   - source: definition
func ReadMoves(r io.Reader) ([]ledger.Move, error) {
	columns := []string{"date", "added", "removed", "reason", "same_leak"}
	t, err := table.Open(r, func(h string) bool { return slices.Contains(columns, h) }, strings.Join(columns, ", "))
	if err != nil {
		return nil, err
	}
	if err := cmp.Or(t.Need("date"), t.Need("added")); err != nil {
		return nil, err
	}
	var out []ledger.Move
	for {
		more, err := t.Next(len(out))
		if err != nil {
			return nil, err
		}
		if !more {
			return out, nil
		}
		var m ledger.Move
		if m.Date, err = ledger.ParseDate(t.Cell("date")); err != nil {
			return nil, in(t.Place("date"), err)
		}
		for name, to := range map[string]*units.Mass{"added": &m.Added, "removed": &m.Removed} {
			if s := t.Cell(name); s != "" {
				if *to, err = units.ParseMass(s, ""); err != nil {
					return nil, in(t.Place(name), err)
				}
			}
		}
		m.Reason = ledger.Reason(strings.ToLower(t.Cell("reason")))
		if m.Reason != "" && !slices.Contains(ledger.Reasons(), m.Reason) {
			return nil, fail.Of(fail.BadValue, t.Place("reason"), "ledger.reason_typed",
				fail.Args{"reason": m.Reason, "reasons": ledger.Reasons()})
		}
		m.SameLeak = ledger.SameLeak(strings.ToLower(t.Cell("same_leak")))
		if m.SameLeak != "" && !slices.Contains(ledger.SameLeaks(), m.SameLeak) {
			return nil, fail.Of(fail.BadValue, t.Place("same_leak"), "ledger.same_leak", fail.Args{"text": m.SameLeak})
		}
		out = append(out, m)
	}
}

// in puts a failure at a place.
func in(place string, err error) error {
	var e *fail.Error
	if errors.As(err, &e) {
		return e.In(place)
	}
	return fail.Of(fail.BadValue, place, "why.alone", fail.Args{"why": err})
}
