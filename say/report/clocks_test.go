package report_test

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
)

// Clocks that could not be reckoned are said to be missing, in the language of the report.
func TestClocks_NotReckoned(t *testing.T) {
	a := app.New(app.NewMemStore(), app.Options{Now: time.Now, Rand: rand.NewChaCha8([32]byte{1}), Version: "test"})
	site, err := a.SaveSite(t.Context(), app.Act{}, "", record.SiteBody{Name: "Kitchen", Jurisdiction: "US"})
	if err != nil {
		t.Fatal(err)
	}
	machine, err := a.SaveMachine(t.Context(), app.Act{}, site, "", record.MachineBody{
		Name: "Cooler", Refrigerant: "R-134a", Application: "walk-in cooler",
	})
	if err != nil {
		t.Fatal(err)
	}
	visit, err := a.OpenVisit(t.Context(), app.Act{}, machine, "")
	if err != nil {
		t.Fatal(err)
	}
	v, err := a.Visit(t.Context(), visit, report.Needs(units.US(), false))
	if err != nil {
		t.Fatal(err)
	}
	clocks := func(l text.Language) string {
		for _, s := range report.Build(report.FromVisit(v, units.US(), time.UTC, l)).Sections {
			if s.Key == "clocks" {
				return strings.Join(s.Points, "\n")
			}
		}
		return ""
	}
	if s := clocks(text.English); s != "" {
		t.Fatalf("a clock runs already: %s", s)
	}
	v.Clocks = nil
	for name, err := range map[string]error{"of the rules": fail.Of(fail.BadData, "", "blob.hash", nil), "of the store": errors.New("disk")} {
		v.ClocksErr = err
		for l, want := range map[text.Language]string{
			text.English: "The legal clocks could not be reckoned: ",
			text.Spanish: "No se pudieron calcular los plazos legales: ",
		} {
			if s := clocks(l); !strings.Contains(s, want) || !slices.Contains(strings.Split(s, "\n"), text.LawCaution(l)) {
				t.Errorf("%s, %s: %q", name, l, s)
			}
		}
	}
}
