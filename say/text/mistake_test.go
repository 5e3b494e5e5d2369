package text

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// TestMistake_EveryKeyInEveryLanguage: each sentence with arguments of each type leaves no hole and no trace of a verb.
func TestMistake_EveryKeyInEveryLanguage(t *testing.T) {
	samples := []any{
		"12 psig", 3, -2.5, units.Celsius(-18), units.TempDiff(6), units.Psig(30).Absolute(units.Atm), units.Mass(4.3),
		time.Date(2026, 6, 16, 0, 0, 0, 0, time.UTC),
		[]string{"a", "b"},
		[]int{1, 2},
		fail.Setting("dates"), reading.SuctionLine,
		fmt.Errorf("broken"), fail.Of(fail.Required, "box", "field.missing", nil), &refrigerant.UnknownError{Designation: "R-1"},
	}
	left := regexp.MustCompile(`\{[a-z]\w*\}|%!`)
	for _, l := range Languages() {
		for key, w := range l.words().Mistakes {
			for _, a := range samples {
				args := fail.Args{}
				for _, m := range placeholder.FindAllStringSubmatch(w.Says+w.Do, -1) {
					args[m[1]] = a
				}
				for _, d := range []units.Display{units.US(), units.Metric()} {
					s := Voice{Language: l, Display: d}.Mistake(fail.Of(fail.Required, "", key, args))
					for _, x := range []string{s.Line(), s.Do, s.Sentence(), s.Advice(), s.Beside()} {
						if left.MatchString(x) {
							t.Errorf("%s %s with %T: %q", l, key, a, x)
						}
					}
					if s.Says == "" {
						t.Errorf("%s %s says nothing", l, key)
					}
				}
			}
		}
	}
}

func TestMistake_ArgumentsByTheirType(t *testing.T) {
	flag := func(s string) string { return "--" + s }
	for _, c := range []struct {
		lang   Language
		d      units.Display
		a      any
		want   string
		voiced bool
	}{
		{English, units.US(), units.Celsius(-18), "−0.4 °F", false},
		{English, units.Metric(), units.Celsius(-18), "−18.0 °C", false},
		{Spanish, units.Metric(), units.Mass(4.3), "4.30 kg", false},
		{English, units.Display{}, units.Psig(30).Absolute(units.Atm), "30.0 psig", false},
		{Spanish, units.US(), time.Date(2026, 6, 16, 0, 0, 0, 0, time.UTC), "16 de junio de 2026", false},
		{English, units.US(), []string{"lb", "kg"}, "lb, kg", false},
		{English, units.US(), -1234567.8, "−1234570", false},
		{English, units.US(), fail.Setting("dates"), `"dates"`, false},
		{English, units.US(), fail.Setting("dates"), "--dates", true},
		{English, units.US(), "a\nb", "a b", false},
		{English, units.US(), strings.Repeat("x", 200), strings.Repeat("x", 160) + "…", false},
		{English, units.US(), &refrigerant.UnknownError{Designation: "R-1"}, `no refrigerant "R-1"`, false},
		{Spanish, units.US(), &refrigerant.UnknownError{Designation: "R-1"}, `no hay refrigerante "R-1"`, false},
		{English, units.US(), reading.SuctionLine, LowerFirst(Place(reading.SuctionLine).Label), false},
	} {
		v := Voice{Language: c.lang, Display: c.d}
		if c.voiced {
			v.Setting = flag
		}
		if got := v.argument(c.a); got != c.want {
			t.Errorf("%v in %s: %q, want %q", c.a, c.lang, got, c.want)
		}
	}
}

func TestMistake_Sentences(t *testing.T) {
	missing := fail.Of(fail.Required, "full_charge", "field.missing", nil)
	for _, c := range []struct{ got, want string }{
		{Voice{}.Mistake(fmt.Errorf("sheet: %w", missing)).Line(), "full_charge: is missing"},
		{Voice{}.Mistake(missing).Sentence(), "Full charge is missing."},
		{Voice{}.Mistake(missing).Beside(), "This is needed."},
		{Voice{Language: Spanish}.Mistake(missing).Beside(), "Falta este dato."},
		{Voice{Language: Spanish}.Mistake(missing.In("line 3, column mass")).Where, "línea 3, columna mass"},
		{Voice{Language: Spanish}.Mistake(missing.In("baseline 3")).Where, "baseline 3"},
		{Voice{}.Mistake(errors.New("disk full")).Line(), "disk full"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
