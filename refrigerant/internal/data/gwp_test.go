package data

import (
	"strings"
	"testing"
)

func gwp(t *testing.T, name, edition string) (float64, bool) {
	t.Helper()
	rows, src, err := GWPs(name)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	v := 0.0
	for _, g := range rows {
		if src[g.Edition].Cite == "" || src[g.Edition].Evidence == "" {
			t.Errorf("%s, %s has no source", name, g.Edition)
		}
		if g.Edition == edition {
			n++
			v = g.Value
		}
	}
	if n > 1 {
		t.Errorf("%s, %s is there %d times", name, edition, n)
	}
	return v, n == 1
}

// Published values. AR4: 40 CFR part 98 table A-1 (IPCC 2007, table 2.14), read in a copy of the code. EU: Regulation
// (EU) 2024/573 annexes I and II, read. AR5: IPCC 2013, table 8.A.1, two public copies. AR6: the data behind IPCC
// 2021, table 7.SM.7, as its authors published them. A dash: not listed there.
func TestGWP_Published(t *testing.T) {
	const none = -1
	for name, want := range map[string][4]float64{ // AR4, EU, AR5, AR6
		"R-23": {14800, 14800, 12400, 14600}, "R-227ea": {3220, 3220, 3350, 3600}, "R-236fa": {9810, 9810, 8060, 8690},
		"R-245fa": {1030, 1030, 858, 962},
		"R-32":    {675, 675, 677, 771}, "R-125": {3500, 3500, 3170, 3740}, "R-134a": {1430, 1430, 1300, 1530},
		"R-143a": {4470, 4470, 4800, 5810}, "R-152a": {124, 124, 138, 164},
		"R-1132a": {none, 0.052, 1, 0.052}, "R-1243zf": {none, none, 1, 0.261}, "R-1224yd(Z)": {none, 0.06, none, none},
		"R-1234ze(Z)": {none, 1.37, 1, 0.315},
	} {
		for i, edition := range []string{"AR4", "EU 2024/573", "AR5", "AR6"} {
			got, ok := gwp(t, name, edition)
			if ok != (want[i] != none) || ok && got != want[i] {
				t.Errorf("%s, %s: %v (on file: %v), published %v", name, edition, got, ok, want[i])
			}
		}
	}
}

// Identities of Regulation (EU) 2024/573: annex I section 1 (saturated HFCs) goes by AR4, annex I section 2 and annex
// II by AR6. Unsaturated ones are far under 53, the limit of 40 CFR 84.106(a)(2).
func TestGWP_Identities(t *testing.T) {
	n := 0
	for _, name := range Fluids() {
		ar4, ok4 := gwp(t, name, "AR4")
		eu, okEU := gwp(t, name, "EU 2024/573")
		ar6, ok6 := gwp(t, name, "AR6")
		number := strings.TrimPrefix(name, "R-")
		number = number[:len(number)-len(strings.TrimLeft(number, "0123456789"))]
		unsaturated := len(number) == 4 && number[0] == '1' // ASHRAE 34: the first of four digits counts the double bonds
		switch {
		case unsaturated:
			for _, e := range []string{"AR4", "EU 2024/573", "AR5", "AR6"} {
				if v, ok := gwp(t, name, e); ok && v >= 53 {
					t.Errorf("%s, %s: %v", name, e, v)
				}
			}
			if okEU && ok6 && name != "R-1234ze(Z)" && eu != ar6 { // "and isomers": the value of the other one
				t.Errorf("%s: EU %v, AR6 %v", name, eu, ar6)
			}
		case name == "R-14" || name == "R-116" || name == "R-218" || name == "R-C318":
			n++
			if eu != ar6 {
				t.Errorf("%s: EU %v, AR6 %v", name, eu, ar6)
			}
		case ok4 && okEU && eu > 1 && ar4 > 3:
			n++
			if eu != ar4 {
				t.Errorf("%s: EU %v, AR4 %v", name, eu, ar4)
			}
		}
	}
	if n < 15 {
		t.Errorf("only %d compared", n)
	}
}
