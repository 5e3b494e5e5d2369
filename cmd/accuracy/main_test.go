package main

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// page is docs/accuracy.md with the seed and the number of visits it was written with.
func page(t *testing.T) (text string, r *run) {
	t.Helper()
	raw, err := os.ReadFile("../../docs/accuracy.md")
	if err != nil {
		t.Fatal(err)
	}
	text = string(raw)
	m := regexp.MustCompile(`-seed (\d+) -per-fault (\d+)`).FindStringSubmatch(text)
	if m == nil {
		t.Fatal("the page does not say how it was written")
	}
	seed, _ := strconv.ParseUint(m[1], 10, 64)
	per, _ := strconv.Atoi(m[2])
	if r, err = newRun(seed, per); err != nil {
		t.Fatal(err)
	}
	return text, r
}

// TestPage_Current: the page was written on these visits, with this catalogue and these assumptions, and the program
// still answers as its sample says. One percent is allowed: rounding differs between processors.
func TestPage_Current(t *testing.T) {
	text, r := page(t)
	if r.seed != 1 || r.per != 44 {
		t.Errorf("the page is of seed %d and %d visits a cause, not the command's own", r.seed, r.per)
	}
	table, err := r.csv()
	if err != nil {
		t.Fatal(err)
	}
	for what, now := range map[string]string{
		"visits":                      fingerprint(table),
		"catalogue":                   fingerprint(catalogueText(&r.cat)),
		"what the diagnosis assumes ": fingerprint(assumptions()),
	} {
		if !strings.Contains(text, now) {
			t.Errorf("%s: the page was written with others than %s: run go run ./cmd/accuracy", what, now)
		}
	}
	if !strings.Contains(ceiling, fingerprint(table)) {
		t.Error("ceiling.md was made on other visits")
	}
	_, part, ok := strings.Cut(text, sampleTitle)
	if !ok {
		t.Fatal("the page has no sample")
	}
	lines, err := r.sampleLines()
	if err != nil {
		t.Fatal(err)
	}
	row := map[string][]string{}
	for line := range strings.SplitSeq(part, "\n") {
		if strings.HasPrefix(line, "## ") {
			break
		}
		if cells := strings.Split(strings.Trim(line, "| "), " | "); len(cells) == 1+2*len(sampleViews) {
			row[cells[0]] = cells[1:]
		}
	}
	if len(row) != len(lines)+2 { // head and rule
		t.Errorf("%d lines on file, %d now", len(row)-2, len(lines))
	}
	for _, l := range lines {
		got := row[l.truth]
		for k, a := range l.views {
			if got == nil {
				t.Errorf("%s is not on file", l.truth)
				break
			}
			if p, err := strconv.ParseFloat(got[2*k+1], 64); err != nil || got[2*k] != a.first || math.Abs(p-a.percent) > 1 {
				t.Errorf("%s, %s: on file %v, now %s", l.truth, label(sampleViews[k]), got, l)
			}
		}
	}
}

// TestPage_Complete: every part of the page is there, every row of a table has as many cells as its head, and the plot
// has a mark for every bin of the four rows it shows.
func TestPage_Complete(t *testing.T) {
	text, _ := page(t)
	for _, title := range []string{
		"Walk-ins", "A machine that obeys other laws", "Aims", "The best any method can do on these readings", "Other machines",
		"Two faults at once", "Instruments that lie", "What each reading is worth", "Calibration", "Finding the leak",
	} {
		if !strings.Contains(text, "\n## "+title+"\n") {
			t.Errorf("no part %q", title)
		}
	}
	head := 0
	rows := map[string]string{}
	for line := range strings.SplitSeq(text, "\n") {
		if !strings.HasPrefix(line, "| ") {
			head = 0
			continue
		}
		n := strings.Count(line, "|")
		if head == 0 {
			head = n
		}
		if n != head {
			t.Errorf("%d cells in a table of %d: %s", n-1, head-1, line)
		}
		if strings.Contains(line, "→") && !strings.Contains(line, "stated →") {
			name, bins, _ := strings.Cut(strings.Trim(line, "| "), " | ")
			rows[name] = bins
		}
	}
	marks := 0
	for _, name := range []string{"set a", "set b", "set d", "full, healthy visit on file"} {
		marks += strings.Count(rows[name], "→")
	}
	svg, err := os.ReadFile("../../docs/accuracy-calibration.svg")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(svg), "<circle"); n != marks || n < 20 {
		t.Errorf("%d marks in the plot, %d bins on the page", n, marks)
	}
}

// claimed reads the figures of a row of the first table: right first, in the first two, false alarms, severities held.
func claimed(t *testing.T, text, readings string) [4]float64 {
	t.Helper()
	for line := range strings.SplitSeq(text, "\n") {
		if !strings.HasPrefix(line, "| "+readings+" |") {
			continue
		}
		cells := strings.Split(line, "|")
		if len(cells) != 13 {
			continue
		}
		var out [4]float64
		for k, at := range [4]int{2, 3, 5, 9} {
			v, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(cells[at]), " %"), 64)
			if err != nil {
				t.Fatal(line, err)
			}
			out[k] = v / 100
		}
		return out
	}
	t.Fatalf("no row %q", readings)
	return [4]float64{}
}

// TestPage_HoldsElsewhere: what the page claims holds on visits it was not written on. Drawn with another seed, shares
// lie within three standard errors of the claim (binomial, of the smaller sample and of the page's own), both ways: a
// page that claims too little is as wrong as one that claims too much.
func TestPage_HoldsElsewhere(t *testing.T) {
	text, r := page(t)
	per := 10
	if testing.Short() {
		per = 4
	}
	walk := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := walk.Visits(4, per, &r.cat, &r.fits)
	if err != nil {
		t.Fatal(err)
	}
	see := casebook.View{Set: 'd'}
	answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{NoPairs: true})
	if err != nil {
		t.Fatal(err)
	}
	s := casebook.Rate(walk.Kind, see, visits, answers, &r.cat)
	claim := claimed(t, text, "set d")
	single := float64(len(visits) - 3*per)
	for k, c := range []struct {
		what string
		got  float64
		n    float64
	}{
		{"right first", s.First, float64(s.Physical)},
		{"in the first two", s.FirstTwo, float64(s.Physical)},
		{"false alarms", s.FalseAlarm, float64(3 * per)},
		{"severity in its interval", s.Coverage, single},
	} {
		// The page's own sample is 44/per times as large. A share of none is taken as one in the sample.
		p := math.Min(1-1/c.n, math.Max(1/c.n, claim[k]))
		se := math.Sqrt(p * (1 - p) / c.n * (1 + float64(per)/float64(r.per)))
		if math.Abs(c.got-claim[k]) > 3*se {
			t.Errorf("%s: %.3f on other visits, the page claims %.3f ± %.3f", c.what, c.got, claim[k], se)
		}
		t.Logf("%s: %.3f, claimed %.3f ± %.3f", c.what, c.got, claim[k], se)
	}
}

// TestAims: what misses its aim is said to. Definition.
func TestAims(t *testing.T) {
	good := casebook.Score{First: 0.9, FirstTwo: 0.98, FalseAlarm: 0.01, CalibrationError: 0.03, SureRight: 0.97, LogTruth: -0.5}
	bad := casebook.Score{First: 0.5, FirstTwo: 0.7, FalseAlarm: 0.05, CalibrationError: 0.09, SureRight: 0.9, LogTruth: -2}
	all := func(s casebook.Score) map[string]casebook.Score {
		out := map[string]casebook.Score{}
		for _, see := range []casebook.View{{Set: 'b'}, {Set: 'b', OnFile: true}, {Set: casebook.Full, OnFile: true}} {
			out[name(see)] = s
		}
		return out
	}
	count := func(same, other casebook.Score) (reached, missed int) {
		var r run
		r.aims(all(same), []casebook.Score{other}, nil)
		text := r.b.String()
		return strings.Count(text, "| reached |\n"), strings.Count(text, "| missed |\n") // the head says "reached | |"
	}
	reached, missed := count(good, good)
	if reached < 10 || missed != 0 {
		t.Errorf("all good: %d reached, %d missed", reached, missed)
	}
	if r, m := count(bad, bad); r != 0 || m != reached {
		t.Errorf("all bad: %d reached, %d missed", r, m)
	}
	if r, m := count(good, bad); r != reached-2 || m != 2 {
		t.Errorf("bad under other laws: %d reached, %d missed", r, m)
	}
}

// TestTables: rows of the confusion add up to a hundred, and the plot is well-formed with a mark a bin. Definition.
func TestTables(t *testing.T) {
	s := casebook.Score{
		View: casebook.View{Set: 'a'}, N: 20,
		Bins: []casebook.Bin{{Stated: 0.1, Observed: 0.2, N: 3}, {Stated: 0.9, Observed: 0.8, N: 2}},
		Next: map[string]int{"amps": 3, "liquid_line": 12},
		Confusion: map[fault.Code]map[fault.Code]int{
			fault.Healthy:   {fault.Healthy: 9, fault.LowCharge: 1},
			fault.LowCharge: {fault.LowCharge: 7, fault.Healthy: 3},
		},
	}
	var lines []string
	confusion(func(f string, a ...any) { lines = append(lines, fmt.Sprintf(f, a...)) }, s)
	table := strings.Join(lines, "\n")
	for _, want := range []string{"| healthy | 10 | **90** | 10 |", "| low charge | 10 | 30 | **70** |"} {
		if !strings.Contains(table, want) {
			t.Errorf("no row %q in\n%s", want, table)
		}
	}
	if got := nexts(s); got != "liquid line 60 %, amps 15 %" {
		t.Errorf("next readings %q", got)
	}
	svg := plot([]casebook.Score{s, s})
	d := xml.NewDecoder(strings.NewReader(svg))
	circles := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "circle" {
			circles++
		}
	}
	if circles != 4 {
		t.Errorf("%d marks for 4 bins", circles)
	}
}
