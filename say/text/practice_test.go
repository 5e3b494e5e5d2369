package text_test

import (
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/practice"
	"coldwright/say/text"
	"coldwright/units"
)

func TestPractice_EveryCodeHasWords(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	said := []string{text.Remedy(practice.LeaveIt)}
	for _, f := range cat.Faults {
		if text.Remedy(f.Remedy) == text.Remedy("nothing_like_it") || text.Remedy(f.Remedy)[1:] == f.Remedy[1:] {
			t.Errorf("%s: remedy %s has no words", f.Code, f.Remedy)
		}
		said = append(
			said,
			text.Remedy(f.Remedy),
			text.PracticeTruth(practice.Truth{Fault: f.Code, Severity: f.Severity(0.5), Unit: f.Unit}, units.US()),
		)
	}
	for _, m := range practice.Machines() {
		said = append(said, text.PracticeMachine(m))
	}
	for _, l := range practice.Levels() {
		said = append(said, text.PracticeLevel(l))
	}
	for _, r := range diagnose.RiskCodes() {
		if text.RiskShort(r) == "" {
			t.Errorf("risk %s has no words", r)
		}
	}
	for _, a := range diagnose.AdviceCodes() {
		said = append(said, text.PracticeAdvice(practice.Step{Advice: a}))
	}
	for _, s := range said {
		if w := wellSaid(s); w != "" {
			t.Errorf("%q: %s", s, w)
		}
	}
}

func TestPracticeHeadline(t *testing.T) {
	one, two := []practice.Truth{{Fault: fault.LowCharge}}, []practice.Truth{{Fault: fault.LowCharge}, {Fault: fault.CondenserAir}}
	for _, c := range []struct {
		r        practice.Result
		h1, para string
	}{
		{
			practice.Result{Named: []fault.Code{fault.LowCharge}, Truth: one, Right: true},
			"Right: a shortage of refrigerant.",
			"You named what was wrong.",
		},
		{practice.Result{Named: []fault.Code{fault.CoilAir}, Truth: one}, "It was a shortage of refrigerant.", "You named a coil short of air."},
		{
			practice.Result{Named: []fault.Code{fault.CondenserAir}, Truth: two},
			"It was a shortage of refrigerant and a dirty condenser.",
			"You found a dirty condenser, and stopped before the other.",
		},
		{
			practice.Result{Named: []fault.Code{fault.CondenserAir, fault.CoilAir}, Truth: two},
			"It was a shortage of refrigerant and a dirty condenser.",
			"You named a dirty condenser and a coil short of air: one is there, the other is not.",
		},
		{practice.Result{Named: []fault.Code{fault.Healthy}, Right: true}, "Right: nothing is wrong.", "You left a healthy machine alone."},
		{practice.Result{Named: []fault.Code{fault.LowCharge}}, "Nothing was wrong.", "You named a shortage of refrigerant."},
	} {
		if h1, para := text.PracticeHeadline(&c.r); h1 != c.h1 || para != c.para {
			t.Errorf("%v of %v: %q, %q; want %q, %q", c.r.Named, c.r.Truth, h1, para, c.h1, c.para)
		}
	}
	r := practice.Result{Minutes: 50, Grams: 24.4, ExpertMinutes: 41}
	if got, want := text.PracticePace(
		&r,
	), "You: 50 minutes, 24 g left in hoses. Expert: 41 minutes, no refrigerant lost. 9 minutes more."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
