package wire

import (
	"errors"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/rules/ledger"
	"coldwright/units"
)

func TestReadMoves(t *testing.T) {
	got, err := ReadMoves(
		strings.NewReader(
			"\ufeffDate,reason,added,removed\n# a remark\n2026-03-01,,5 lb,\n2026-04-01,Recharge,9 lb 8 oz,9lb\n2026-05-01,,,1kg\n",
		),
	)
	if err != nil {
		t.Fatal(err)
	}
	want := []ledger.Move{
		{Date: ledger.Day(2026, 3, 1), Added: 5 * units.Pound},
		{Date: ledger.Day(2026, 4, 1), Added: 9.5 * units.Pound, Removed: 9 * units.Pound, Reason: ledger.Recharge},
		{Date: ledger.Day(2026, 5, 1), Removed: 1},
	}
	if len(got) != len(want) {
		t.Fatalf("%d moves, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i].Date != want[i].Date || got[i].Reason != want[i].Reason {
			t.Errorf("row %d: %+v, want %+v", i, got[i], want[i])
		}
		testkit.Near(t, "added, kg", float64(got[i].Added), float64(want[i].Added), 1e-12, "definition of the pound")
		testkit.Near(t, "removed, kg", float64(got[i].Removed), float64(want[i].Removed), 1e-12, "definition of the pound")
	}
}

func TestReadMoves_Refused(t *testing.T) {
	for _, c := range []struct{ text, field, says string }{
		{"", "line 1", "table.no_header"},
		{"date,weight\n", "line 1, column 2", "table.no_column (column=weight"},
		{"date,added,added\n", "line 1, column 3", "table.twice_keep (column=added)"},
		{"date,removed\n", "line 1", "table.column_missing (column=added"},
		{"date,added\n2026-02-30,1kg\n", "line 2, column date", "date.typed (text=2026-02-30)"},
		{"date,added\n2026-02-01,1\n", "line 2, column added", "units.no_unit (text=1,"},
		{"date,added\n2026-02-01,1kg\n2026-03-01,-1kg\n", "line 3, column added", "units.not_negative (text=-1kg)"},
		{"date,added,reason\n2026-02-01,1kg,thirst\n", "line 2, column reason", "ledger.reason_typed (reason=thirst,"},
		{"date,added\n2026-02-01\n", "line 2", "table.cannot_split"},
	} {
		_, err := ReadMoves(strings.NewReader(c.text))
		var e *fail.Error
		if !errors.As(err, &e) || !strings.Contains(e.Field, c.field) || !strings.Contains(e.Error(), c.says) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
}

func FuzzReadMoves(f *testing.F) {
	f.Add("date,added,removed,reason\n2026-03-01,5 lb,,leak\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMoves(strings.NewReader(text))
		if err != nil {
			return
		}
		if _, err := ledger.LeakRate(ledger.RateInput{FullCharge: 1, AsOf: ledger.Day(2026, 11, 25), Moves: m}); err != nil {
			t.Fatalf("read, but refused: %v", err)
		}
	})
}
