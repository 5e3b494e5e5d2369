package law

import (
	"slices"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/units"
)

func TestRetrofit(t *testing.T) {
	codes := func(from, to string, j Jurisdiction, kg float64, on string) []string {
		c, err := Retrofit(Machine{Jurisdiction: j, Class: Commercial, Refrigerant: from, FullCharge: units.Mass(kg)}, to, date(on))
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, x := range c {
			if !slices.Contains(ChangeCodes(), x.Code) {
				t.Errorf("%s is not on the list", x.Code)
			}
			out = append(out, x.Code)
		}
		return out
	}
	for _, c := range []struct {
		from, to string
		j        Jurisdiction
		kg       float64
		on       string
		want     string
	}{
		{"R-404A", "R-404A", US, 30, "2026-06-01", ""},
		// Glide 0.7 K against 6 K; 0.5 K is where it is said.
		{"R-404A", "R-448A", US, 30, "2026-06-01", "gwp glide pressure maker_must_agree"},
		{"R-404A", "R-454C", EU, 30, "2026-06-01", "safety_class becomes_a2l gwp glide pressure maker_must_agree"},
		{"R-134a", "R-290", EU, 5, "2026-06-01", "safety_class becomes_flammable gwp pressure rule_ends maker_must_agree"},
		{"R-22", "R-448A", US, 30, "2026-06-01", "gwp glide pressure rule_ends rule_begins maker_must_agree"},
		{"R-448A", "R-404A", EU, 5, "2026-06-01", "gwp glide pressure service_ban maker_must_agree"},
	} {
		if got := strings.Join(codes(c.from, c.to, c.j, c.kg, c.on), " "); got != c.want {
			t.Errorf("%s to %s: %s, want %s", c.from, c.to, got, c.want)
		}
	}
	if _, err := Retrofit(
		Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-404A"},
		"R-9999",
		date("2026-06-01"),
	); fail.CodeOf(err) != fail.BadValue {
		t.Errorf("%v", err)
	}
}
