package main

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// TestScoreAnswers: whoever always gives the truth everything is always right, and whoever always says healthy is never
// right about a fault. Definition.
func TestScoreAnswers(t *testing.T) {
	r, err := newRun(5, 1)
	if err != nil {
		t.Fatal(err)
	}
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread, Population: casebook.Field}
	visits, err := r.worldVisits(w, 60)
	if err != nil {
		t.Fatal(err)
	}
	codes := append([]fault.Code{fault.Healthy}, casebook.Truths(w.Kind)...)
	var in strings.Builder
	in.WriteString("classifier,world,seed,n,view")
	for _, c := range codes {
		fmt.Fprintf(&in, ",%s", c)
	}
	for _, who := range []string{"knows", "blind"} {
		for i := range visits {
			fmt.Fprintf(&in, "\n%s,%q,5,60,full+", who, worldName(w))
			for _, c := range codes {
				p := 0
				if who == "knows" && c == visits[i].Truth() || who == "blind" && c == fault.Healthy {
					p = 1
				}
				fmt.Fprintf(&in, ",%d", p)
			}
		}
	}
	var out bytes.Buffer
	if err := r.scoreAnswers(strings.NewReader(in.String()), &out); err != nil {
		t.Fatal(err)
	}
	lines, err := parseCeilings(out.Bytes())
	if err != nil || len(lines) != 2 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	for i, right := range []float64{1, 0} {
		c := lines[i].cells
		if c["right_first"] != right || right == 1 && (c["calibration"] != 0 || c["log_truth"] != 0) || c["false_alarm"] != 0 {
			t.Errorf("%s: %v", lines[i].classifier, c)
		}
	}
	short := strings.Join(strings.Split(in.String(), "\n")[:5], "\n")
	if err := r.scoreAnswers(strings.NewReader(short), &out); err == nil {
		t.Error("four answers to sixty visits are taken")
	}
}

// TestCeilings_File: every line of the file is of a world and a view that the page judges, and both classifiers are there.
func TestCeilings_File(t *testing.T) {
	lines, err := parseCeilings(ceilings)
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, x := range lines {
		if _, err := namedWorld(casebook.WalkIn, x.world); err != nil {
			t.Error(err)
		}
		if _, err := parseViews(x.view); err != nil {
			t.Error(err)
		}
		count[x.classifier]++
	}
	if count["alone"] != count["mixture"] || len(count) > 2 {
		t.Errorf("lines by classifier: %v", count)
	}
}

// TestVerdictOn: what is said of an aim follows from the shares. Definition.
func TestVerdictOn(t *testing.T) {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread, Population: casebook.WrongPlate} // aim 80 %
	for _, c := range []struct {
		alone, mixture float64
		want           string
	}{
		{0.85, 0.82, "The aim can be reached without"},
		{0.85, 0.75, "only by the classifier that knows"},
		{0.75, 0.72, "Nobody here"},
	} {
		got := verdictOn(w, casebook.Score{First: 0.7, N: 2000, Physical: 300}, c.alone, c.mixture)
		if !strings.Contains(got, c.want) || !strings.Contains(got, "(80 %)") {
			t.Errorf("%+v: %s", c, got)
		}
	}
	if got := verdictOn(w, casebook.Score{First: 0.9, N: 2000, Physical: 300}, 0.75, 0.72); !strings.Contains(got, "The diagnosis reaches") {
		t.Error(got)
	}
}
