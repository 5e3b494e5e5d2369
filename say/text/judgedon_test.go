package text

import (
	"strings"
	"testing"
	"time"

	"coldwright/verdict"
)

// TestJudgedOn_NothingAndWhen: no reading is not "0 readings", and an entry is of a day.
func TestJudgedOn_NothingAndWhen(t *testing.T) {
	b := verdict.Basis{Sheet: "0123456789"}
	b.Entry.ID, b.Entry.Number, b.Entry.At = "x", 241, time.Date(2026, 11, 30, 9, 5, 0, 0, time.UTC)
	for l, want := range map[Language][]string{
		English: {"Judged on no reading.", "no. 241 of "},
		Spanish: {"Juzgado sin lecturas.", "n.º 241 del 30 de noviembre"},
		French:  {"Jugé sans aucune lecture.", "n° 241 du 30 novembre"},
	} {
		s := JudgedOn(b, time.UTC, l)
		for _, w := range want {
			if !strings.Contains(s, w) {
				t.Errorf("%v: %q lacks %q", l, s, w)
			}
		}
	}
}
