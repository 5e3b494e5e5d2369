package main

import (
	"strings"
	"testing"

	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// TestCycle_States: the file of the other model holds machines of both populations for every kind it knows, well and with
// every physical fault it models; visits from it are the same for a seed, and a wrong plate hangs on the catalogue's
// machines. Definition.
func TestCycle_States(t *testing.T) {
	r, err := newRun(3, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range cycleKinds {
		for _, p := range casebook.Populations() {
			w := casebook.World{Kind: k, Law: casebook.Independent, Population: p}
			visits, err := r.visitsOf(w, 20, 2)
			if err != nil {
				t.Fatal(err)
			}
			count := map[fault.Code]int{}
			for i := range visits {
				count[visits[i].Truth()]++
				d := visits[i].Sheet(casebook.View{Set: 'a'}).Machine.Design
				if (p == casebook.WrongPlate) != (d.TD != nil) {
					t.Fatalf("%s, %s: plate %+v", k, worldName(w), d)
				}
			}
			if count[fault.Healthy] != 20 || len(count) < 1+11 {
				t.Errorf("%s, %s: %v", k, worldName(w), count)
			}
			again, err := r.visitsOf(w, 20, 2)
			if err != nil {
				t.Fatal(err)
			}
			for i := range visits {
				a, b := visits[i].Sheet(examined[3]), again[i].Sheet(examined[3])
				for j := range a.Readings {
					if a.Readings[j] != b.Readings[j] {
						t.Fatalf("%s, visit %d: %v and %v", worldName(w), i, a.Readings[j], b.Readings[j])
					}
				}
			}
		}
	}
	for _, bad := range []string{"", "kind,code\nwalk-ins,healthy\n", "kind,code\nwalk-ins,nonsense\n"} {
		if _, err := casebook.ParseStates([]byte(bad)); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

// TestGoals_Worst: the worst set of the worst world counts, and only worlds and sets a goal is about. Definition.
func TestGoals_Worst(t *testing.T) {
	score := func(on bool, alarm, right float64) casebook.Score {
		return casebook.Score{View: casebook.View{Set: casebook.Full, OnFile: on}, FalseAlarm: alarm, LikelyRight: right, First: right}
	}
	world := func(k casebook.Kind, l casebook.Law, p casebook.Population) casebook.World {
		return casebook.World{Kind: k, Law: l, Population: p}
	}
	all := []judged{
		{world(casebook.WalkIn, casebook.Spread, casebook.Field), []casebook.Score{score(false, 0.9, 0.1)}},
		{world(casebook.WalkIn, casebook.Different, casebook.Field), []casebook.Score{score(false, 0.01, 0.95), score(true, 0.04, 0.81)}},
		{world(casebook.WalkIn, casebook.Independent, casebook.Field), []casebook.Score{score(false, 0.02, 0.92)}},
		{world(casebook.Rooftop, casebook.Spread, casebook.WrongPlate), []casebook.Score{score(false, 0.9, 0.1)}},
	}
	var r run
	r.goalLines(all)
	text := r.b.String()
	for _, want := range []string{
		"field, other physics: false alarms, worst set | at most 5.0 % | 4.0 % (field, other laws, full, healthy visit on file) | reached |",
		"field, other physics: answers above 0.8 right, worst set | at least 90.0 % | 81.0 % (field, other laws, full, healthy visit on file) " +
			"| missed |",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no line %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "rooftops") || strings.Contains(text, "own physics") {
		t.Errorf("an aim is held against worlds it is not about:\n%s", text)
	}
}

// TestParseViews: reading sets as on the command line. Definition.
func TestParseViews(t *testing.T) {
	got, err := parseViews("b, full+")
	if err != nil || len(got) != 2 || got[0].Set != 'b' || got[0].OnFile || got[1].Set != casebook.Full || !got[1].OnFile {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := parseViews("b,everything"); err == nil {
		t.Error("a set that is none was read")
	}
}
