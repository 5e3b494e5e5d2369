package report_test

import (
	"strings"
	"testing"

	"coldwright/say/report"
	"coldwright/verdict"
)

// A test stands in the report with verdict, numbers and what it was held against; what it left open is said to the
// customer, in plain words and under what to do.
func TestTests(t *testing.T) {
	d := visit(t)
	d.Tests = []report.Test{
		{
			Key:       "tight",
			Title:     "Nitrogen test, 16 June, 09:10",
			Plain:     "The circuit held nitrogen.",
			State:     verdict.Proven,
			Verdict:   "Tight, as far as this test can see.",
			Lines:     []string{"From 300.0 psig to 288.2 psig in 20.0 h."},
			Criterion: "Held against a loss of 5 % of the gas a day.",
		},
		{
			Key:       "dry",
			Title:     "Vacuum rise, 16 June, 10:30",
			Plain:     "Under vacuum the circuit still holds moisture.",
			Verdict:   "Moisture: the rise levels off.",
			Lines:     []string{"From 240 micron to 585 micron in 16 min."},
			Criterion: "Criterion: stand 15 min, at most 500 micron (house rule, judgement).",
		},
	}
	doc := report.Build(d)
	say := map[string]string{}
	for _, s := range doc.Sections {
		say[s.Key] = strings.Join(append(s.Paragraphs, s.Points...), " ")
	}
	if !strings.Contains(say["proven"], "The circuit held nitrogen.") || !strings.Contains(say["proven"], "still holds moisture") ||
		!strings.Contains(say["do"], "left open") {
		t.Errorf("proven %q, do %q", say["proven"], say["do"])
	}
	if len(doc.Tests) != 2 || doc.Tests[1].Key != "dry" || len(doc.Tests[1].Points) != 2 || len(d.Tests[1].Lines) != 1 {
		t.Errorf("%+v", doc.Tests)
	}
	got := strings.Join(strings.Fields(words(t, bytesOf(t, d))), " ")
	for _, want := range []string{
		"Nitrogen test, 16 June, 09:10", "Tight, as far as this test can see.", "288.2 psig", "loss of 5 %",
		"Vacuum rise", "585 micron", "house rule",
	} {
		if !strings.Contains(strings.ReplaceAll(got, "\u00a0", " "), want) {
			t.Errorf("the PDF does not say %q", want)
		}
	}
	// Without anything left open nothing is asked of the customer for it.
	d.Tests = d.Tests[:1]
	for _, s := range report.Build(d).Sections {
		if s.Key == "do" && strings.Contains(strings.Join(s.Points, " "), "left open") {
			t.Error("a tight circuit is said to be left open")
		}
	}
}
