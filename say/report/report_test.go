package report_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/wire"
)

// Two invented sheets of one cooler: short of refrigerant, then repaired.
const (
	sheetBefore = `{"machine": {"refrigerant": "R-134a", "application": "walk-in cooler", "expansion": "valve", "receiver": true, "head_control": "none", "altitude_m": 12},
 "readings": [{"at": "suction_pressure", "value": "17.5 psig"}, {"at": "discharge_pressure", "value": "120 psig"}, {"at": "box_air", "value": "44 F"}, {"at": "box_display", "value": "39 F"},
  {"at": "ambient", "value": "86 F"}, {"at": "coil_outlet_line", "value": "43.2 F"}, {"at": "liquid_line", "value": "97 F"}, {"at": "discharge_line", "value": "176 F"}],
 "seen": {"glass": "bubbling"}, "running_min": 45}`
	sheetAfter = `{"machine": {"refrigerant": "R-134a", "application": "walk-in cooler", "expansion": "valve", "receiver": true, "head_control": "none", "altitude_m": 12},
 "readings": [{"at": "suction_pressure", "value": "22.5 psig"}, {"at": "discharge_pressure", "value": "146 psig"}, {"at": "box_air", "value": "36.5 F"},
  {"at": "ambient", "value": "84 F"}, {"at": "coil_outlet_line", "value": "33.5 F"}, {"at": "liquid_line", "value": "104 F"}, {"at": "discharge_line", "value": "158 F"}],
 "seen": {"glass": "clear"}, "running_min": 60}`
)

func phase(t testing.TB, sheet string, pull []figure.PullPoint) report.Phase {
	t.Helper()
	s, err := wire.ReadSheet([]byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	r, err := refrigerant.Load(s.Machine.Refrigerant)
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		t.Fatal(err)
	}
	p, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: s, Fit: f}, diagnose.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return report.Phase{Sheet: s, Posterior: &p, PullDown: pull}
}

// judged puts the verdict on the visit as it stands into it, with the pull-down after the work as said.
func judged(d report.Data, after pulldown.Verdict) report.Data {
	f := verdict.VisitFacts{
		Before:      verdict.Of(d.Before.Posterior, d.Before.Sheet),
		After:       verdict.Of(d.After.Posterior, d.After.Sheet),
		AfterCounts: d.After.Posterior != nil,
		Closed:      !d.Closed.IsZero(),
		Changed:     len(d.Work)+len(d.Moves) > 0,
		LeakFound:   len(d.Leaks) > 0,
		ReadAfter:   len(d.After.Sheet.Readings)+len(d.After.PullDown) > 0,
		Stages:      []verdict.Stage{verdict.Cold},
	}
	if n := len(d.After.PullDown); n > 0 {
		f.Proofs = append(f.Proofs, verdict.OfCold(&pulldown.Result{Verdict: after}, &d.After.PullDown[n-1].Box, d.SetPoint))
	}
	d.Verdict = verdict.OfVisit(f)
	return d
}

func pull(fahrenheit ...float64) (out []figure.PullPoint) {
	for i, f := range fahrenheit {
		out = append(out, figure.PullPoint{Minute: 11 * float64(i), Box: units.Fahrenheit(f)})
	}
	return out
}

func chart(t testing.TB, name string, d units.Display) *refrigerant.Chart {
	t.Helper()
	r, err := refrigerant.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		t.Fatal(err)
	}
	c, err := f.Chart(figure.PHLines(d))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func visit(t testing.TB) report.Data {
	t.Helper()
	zone := time.FixedZone("local", -5*3600)
	set, full := units.Fahrenheit(36), units.Mass(4.31)
	return judged(report.Data{
		Number:      "2026-0616-03",
		Site:        "School kitchen",
		Customer:    "kitchen manager",
		Machine:     "Walk-in cooler 1",
		Application: reading.WalkInCooler,
		Mechanic:    "Van 7",
		Opened:      time.Date(2026, 6, 16, 7, 40, 0, 0, zone),
		Closed:      time.Date(2026, 6, 16, 12, 20, 0, 0, zone),
		Refrigerant: "R-134a",
		Complaint:   "Too warm since the morning",
		SetPoint:    &set,
		Food:        "milk and meat moved at 07:50",
		Before:      phase(t, sheetBefore, pull(46, 45.2, 44.4, 44, 43.8)),
		After:       phase(t, sheetAfter, pull(46, 42.9, 40.5, 38.8, 37.5, 36.7, 36)),
		Work: []report.Work{
			{Code: "leak_repaired", Text: "pipe replaced and clamped with a sleeve"},
			{Code: "drier_replaced"},
			{Code: "joint_brazed", Text: "bubble test, no bubbles"},
			{Code: "pressure_tested", Text: "45 minutes, no loss beyond cooling"},
			{Code: "evacuated"},
			{Code: "other", Text: "Größe des Verdampfers geprüft"},
		},
		Moves:          []report.Move{{Cylinder: "R-07", Out: 2.21}, {Cylinder: "C-131", In: 4.31}},
		Leaks:          []report.Leak{{Place: "liquid line at the wall clamp", How: "detector, then bubbles"}},
		FullCharge:     &full,
		GWP:            1430,
		GWPEdition:     "AR4",
		MechanicSigned: report.Signed{Name: "Van 7", At: time.Date(2026, 6, 16, 12, 19, 0, 0, zone)},
		Chart:          chart(t, "R-134a", units.US()),
		Display:        units.US(),
		AltitudeM:      12,
		Version:        "0.1",
		Grade:          "A",
		GradeReason:    "checked against the published equation",
		PriorSource:    "published field surveys, edition 2026-11",
	}, pulldown.Reached)
}

func bytesOf(t testing.TB, d report.Data) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := report.PDF(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// words is the text of a PDF as poppler reads it.
func words(t testing.TB, pdf []byte) string {
	t.Helper()
	cmd := exec.Command("pdftotext", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return string(out)
}

func pages(t testing.TB, pdf []byte) int {
	t.Helper()
	n := len(regexp.MustCompile(`/Type /Page\b[^s]`).FindAll(pdf, -1))
	if n == 0 {
		t.Fatal("no page found")
	}
	return n
}

func TestPDF_OnePageSaysAll(t *testing.T) {
	pdf := bytesOf(t, visit(t))
	// REPORT_PAGE=dir keeps the document for looking at it.
	if dir := os.Getenv("REPORT_PAGE"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "report.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if n := pages(t, pdf); n != 1 {
		t.Errorf("%d pages, want 1", n)
	}
	got := strings.Join(strings.Fields(strings.ReplaceAll(words(t, pdf), "\u00a0", " ")), " ")
	for _, want := range []string{
		"Service report 2026-0616-03", "The walk-in cooler is cold again.", "What was wrong", "What was done", "What is proven",
		"What you should do",
		"it must hold 36 °F", "16 June 2026,", "Walk-in cooler 1", "R-134a", "bubbling", "clear", "R-07", "C-131", "4 lb 14 oz", "9 lb 8 oz",
		"CO₂", "Größe",
		"food authority", "Page 1 of 1", "Program 0.1.", "grade A", "published field surveys", "Suction, sat.", "Before", "After",
		"Healthy then", "Van 7, 16 June 2026, 12:19",
		"set or replaced", "tested again",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in: %s", want, got)
		}
	}
	if strings.Contains(got, "NaN") || strings.Contains(got, "%!") || regexp.MustCompile(` -\d`).MatchString(got) {
		t.Error("a broken number or a hyphen for a minus")
	}
}

func TestPDF_SameBytes(t *testing.T) {
	if !bytes.Equal(bytesOf(t, visit(t)), bytesOf(t, visit(t))) {
		t.Error("the same visit gave other bytes")
	}
	b := bytesOf(t, visit(t))
	// 12:20 at −5 h is 17:20 UTC.
	if !bytes.Contains(b, []byte("D:20260616172000")) {
		t.Error("the creation date is not the visit's")
	}
}

// The customer's part keeps the trade's quantities out.
func TestBuild_CustomerWords(t *testing.T) {
	doc := report.Build(visit(t))
	secret := regexp.MustCompile(`(?i)superheat|saturat|subcool|\bTD\b`)
	all := []string{doc.Headline}
	for _, s := range doc.Sections {
		all = append(all, append(slices.Clone(s.Paragraphs), s.Points...)...)
	}
	for _, s := range all {
		if m := secret.FindString(s); m != "" {
			t.Errorf("%q in %q", m, s)
		}
		if strings.Contains(s, "..") || strings.Contains(s, "  ") || strings.TrimSpace(s) == "" {
			t.Errorf("badly written: %q", s)
		}
	}
	if doc.Figure == nil || !strings.Contains(doc.Figure.Title, "Before and after") || doc.Pull == nil {
		t.Error("proof or pull-down is missing")
	}
}

// TestBuild_AltitudeInItsUnits: a paper in °F gives the height of the site in feet, one in °C in metres.
func TestBuild_AltitudeInItsUnits(t *testing.T) {
	for want, show := range map[string]units.Display{"at 39 ft altitude": units.US(), "at 12 m altitude": units.Metric()} {
		d := visit(t)
		d.Display = show
		if all := fmt.Sprintf("%+v", report.Build(d)); !strings.Contains(all, want) {
			t.Errorf("no %q", want)
		}
	}
}

// The cycle stands in the evidence: the one after the work, else the one as found; its words are those of the trade.
// On paper it is drawn where there is room, and never costs a page.
func TestReport_Cycle(t *testing.T) {
	d := visit(t)
	doc := report.Build(d)
	if doc.Cycle == nil || !strings.HasPrefix(doc.Cycle.Title, "The cycle after the work") || len(doc.Cycle.Table.Rows) < 5 {
		t.Fatalf("got %+v", doc.Cycle)
	}
	if n := pages(t, bytesOf(t, d)); n != 1 {
		t.Errorf("%d pages with it", n)
	}
	// Two gauges and two lines, looked at only: there is room.
	d.After, d.Work, d.Leaks, d.Moves, d.Food, d.Before.PullDown = report.Phase{}, nil, nil, nil, "", nil
	d.Before = phase(
		t,
		`{"machine": {"refrigerant": "R-134a", "application": "walk-in cooler", "expansion": "valve", "receiver": true, "head_control": "none", "altitude_m": 12},
 "readings": [{"at": "suction_pressure", "value": "17.5 psig"}, {"at": "discharge_pressure", "value": "120 psig"}, {"at": "coil_outlet_line", "value": "43.2 F"}, {"at": "liquid_line", "value": "97 F"}]}`,
		nil,
	)
	if doc = report.Build(d); doc.Cycle == nil || !strings.HasPrefix(doc.Cycle.Title, "The cycle as found") {
		t.Fatalf("got %+v", doc.Cycle)
	}
	pdf := bytesOf(t, d)
	got := words(t, pdf)
	for _, want := range []string{
		"The cycle as found, pressure against enthalpy", "enthalpy, Btu/lb", "Liquid line 97", "SH 24.6",
		"Not read, so its part is left out: suction line, discharge line.",
	} {
		if !strings.Contains(strings.Join(strings.Fields(strings.ReplaceAll(got, "\u00a0", " ")), " "), want) {
			t.Errorf("no %q in the document", want)
		}
	}
	if n := pages(t, pdf); n != 1 {
		t.Errorf("%d pages", n)
	}
	if dir := os.Getenv("REPORT_PAGE"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "cycle.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	d.Chart = nil
	if report.Build(d).Cycle != nil {
		t.Error("a cycle without a chart")
	}
}

// Sums of what was weighed: 4.31 in, 2.21 out leaves 2.10 kg; times 1430 is 3.0 t.
// What the refrigerant can do to whoever opens the circuit next stands on the paper in the words of the pages, in each
// language; of one that neither burns nor poisons nothing. Classes of ASHRAE 34 / ISO 817, from memory.
func TestBuild_Danger(t *testing.T) {
	for name, want := range map[string][]string{
		"R-134a": nil,
		"R-290":  {"flammable"},
		"R-717":  {"flammable", "toxic"},
		"R-744":  {"carbon_dioxide"},
		"R-1123": {"class_unknown", "flammable", "toxic"},
	} {
		for _, l := range text.Languages() {
			all := text.Cautions("repair", text.DangerOf(name, reading.WalkInCooler), l)
			var points []string
			for _, s := range report.Build(report.Data{Refrigerant: name, Lang: l}).Sections {
				if s.Key == "do" {
					points = s.Points
				}
			}
			if got := len(points) - 1; got != len(want) { // after what there is to do
				t.Errorf("%s in %s: %d cautions, want %q", name, l, got, want)
				continue
			}
			for i, code := range want {
				if all[i].Code != code || points[1+i] != all[i].Text {
					t.Errorf("%s in %s: %q, want %s: %q", name, l, points[1+i], code, all[i].Text)
				}
			}
		}
	}
}

func TestBuild_Refrigerant(t *testing.T) {
	doc := report.Build(visit(t))
	last := doc.Refrigerant.Rows[len(doc.Refrigerant.Rows)-1]
	if last[0] != "More in than out" || last[2] != "4 lb 10 oz" {
		t.Errorf("got %v", last)
	}
	if want := "2.10 kg more went in than came out. If all of that was lost to the air, it warms like 3.0 t of CO₂ (GWP 1430, " +
		"AR4)."; doc.Refrigerant.Note != want {
		t.Errorf("got %q", doc.Refrigerant.Note)
	}
}

func TestHeadline_NeverClaimsMoreThanIsProven(t *testing.T) {
	d := visit(t)
	head := func() string { return report.Build(judged(d, pulldown.Falling)).Headline }
	if got := report.Build(d).Headline; got != "The walk-in cooler is cold again. The machine has lost refrigerant through a leak." {
		t.Errorf("got %q", got)
	}
	d.After = report.Phase{}
	if got := head(); strings.Contains(got, "cold again") || !strings.Contains(got, "needs more work") {
		t.Errorf("nothing read after the work, yet %q", got)
	}
	if p := report.Build(d).Sections[2]; p.Points[0] != "Nothing is proven: no readings were taken after the work." {
		t.Errorf("got %v", p.Points)
	}
	d.Leaks, d.Before.Posterior.Marginals[0].Probability = nil, 0.5
	if got := head(); !strings.Contains(got, "The cause is not certain.") {
		t.Errorf("even odds, yet %q", got)
	}
	d.Before.Posterior.Marginals[0].Probability = 0.8
	if got := head(); !strings.Contains(got, "Most likely: the ") {
		t.Errorf("likely, yet %q", got)
	}
	d = visit(t)
	d.After.PullDown = pull(46, 44, 42)
	if got := head(); strings.Contains(got, "cold again") {
		t.Errorf("box at 42 of 36, yet %q", got)
	}
}

func TestPDF_AnyData(t *testing.T) {
	empty := report.Data{Display: units.Metric(), Opened: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)}
	if s := words(t, bytesOf(t, empty)); !strings.Contains(s, "Nothing was read before the work.") {
		t.Errorf("got %s", s)
	}
	long := visit(t)
	long.Display = units.Metric()
	for i := range 60 {
		long.Work = append(
			long.Work,
			report.Work{
				Code: "other",
				Text: "point " + strconv.Itoa(i) + " of the work with a rather long explanation of what was done and why, so that it wraps",
			},
		)
		long.Moves = append(long.Moves, report.Move{Cylinder: "C-" + strconv.Itoa(i), In: 0.1})
	}
	long.Address = strings.Repeat("Donaudampfschifffahrtsgesellschaftskapitänsgasse", 3)
	pdf := bytesOf(t, long)
	s := words(t, pdf)
	n := pages(t, pdf)
	for _, want := range []string{"point 0 of", "point 59 of", "C-59", "continued", "Page 1 of " + strconv.Itoa(n), "Page " +
		strconv.Itoa(n) + " of " + strconv.Itoa(n), "For the customer (kitchen manager), name and time"} {
		if !strings.Contains(s, want) {
			t.Errorf("no %q on %d pages", want, n)
		}
	}
	if n < 2 || n > 6 {
		t.Errorf("%d pages", n)
	}
	if dir := os.Getenv("REPORT_PAGE"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "long.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
