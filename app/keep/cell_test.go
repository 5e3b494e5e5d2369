package keep_test

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
)

// A name that a spreadsheet would run as a formula is written as text, and comes back as it was typed.
func TestExportCSV_Formulas(t *testing.T) {
	names := []string{"=1+1", "+49 30", "-x", "@SUM(A1)", "'=quoted", "''-twice", "'t Hart", "plain", "a=b", ""}
	a, s := fresh(t)
	for n, by := range names {
		e := record.Event{
			ID: record.ID("01900000-0000-7000-8000-00000000000" + string(rune('0'+n))), Device: "=d",
			At: time.Date(2026, 5, 1, 8, n, 0, 0, time.UTC),
			By: by, Site: "@s", Kind: record.SiteSaved, Version: 1, Body: json.RawMessage(`{"name":"Kitchen","altitude_m":0}`),
		}
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	var sheet strings.Builder
	if err := keep.ExportCSV(ctx, a, &sheet); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(sheet.String())).ReadAll()
	if err != nil || len(rows) != len(names)+1 {
		t.Fatal(len(rows), err)
	}
	for _, r := range rows {
		for _, cell := range r {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				t.Errorf("a cell begins as a formula: %s", cell)
			}
		}
	}
	b, into := fresh(t)
	plan, err := keep.PlanImport(ctx, b, strings.NewReader(sheet.String()))
	if err != nil || plan.Added != len(names) {
		t.Fatalf("%+v %v", plan, err)
	}
	if err := keep.Import(ctx, b, app.Act{}, plan); err != nil {
		t.Fatal(err)
	}
	back, _, err := into.Since(ctx, 0, 99)
	if err != nil {
		t.Fatal(err)
	}
	for n, e := range back {
		if e.By != names[n] || e.Device != "=d" || e.Site != "@s" {
			t.Errorf("%q came back as %q, %q, %q", names[n], e.By, e.Device, e.Site)
		}
	}
}

// What is no event is said in words of ours, not in those of a decoder.
func TestPlanImport_OwnWords(t *testing.T) {
	a, _ := fresh(t)
	for line, says := range map[string]string{
		"[]":                                "is JSON, but no event",
		`{"id":1}`:                          "id",
		`{"at":"yesterday"}`:                "at",
		`{"id":`:                            "is not JSON",
		"id,device,\n":                      "",
		`{"seq":1.5}`:                       "seq",
		`{"seq":99999999999999999999}`:      "seq",
		`{"at":"2026-05-01T08:00:00Z","a"}`: "is not JSON",
	} {
		plan, err := keep.PlanImport(ctx, a, strings.NewReader(line))
		text := ""
		if err != nil {
			text = err.Error()
		} else if len(plan.Rejected) == 1 {
			text = plan.Rejected[0].Detail
		}
		if text == "" || !strings.Contains(text, says) || strings.Contains(text, "json:") || strings.Contains(text, "Go ") {
			t.Errorf("%s: %q", line, text)
		}
	}
	_, err := keep.PlanImport(ctx, a, strings.NewReader(`{"id":"`+strings.Repeat("x", 13<<20)+`"}`))
	if err == nil || strings.Contains(err.Error(), "bufio") || !strings.Contains(err.Error(), "table.line_long") {
		t.Errorf("a line too long: %.200v", err)
	}
}
