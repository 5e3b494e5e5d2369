package figure_test

import (
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"coldwright/machine/reading"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

func f(v float64) units.Temp { return units.Fahrenheit(v) }

func band(lo, mid, hi float64) *figure.Band {
	return &figure.Band{Low: f(lo), Mid: f(mid), High: f(hi)}
}

// before and after are invented readings of one cooler short of refrigerant, then repaired.
func before() []figure.Mark {
	return []figure.Mark{
		{Key: "suction_dew", Name: "Suction, sat.", Read: f(18.7), Lane: figure.LaneSaturation, Band: band(26.4, 29.5, 32.4)},
		{Key: "coil_air_off", Name: "Air off coil", Read: f(39), Lane: figure.LaneAir, Band: band(34.8, 37.3, 39.7)},
		{Key: "coil_outlet_line", Name: "Coil outlet", Read: f(43.2), Lane: figure.LaneLine, Band: band(37.8, 40.4, 43.4)},
		{Key: "box_air", Name: "Box air", Read: f(44), Lane: figure.LaneAir},
		{Key: "ambient", Name: "Ambient", Read: f(86), Lane: figure.LaneAir},
		{Key: "liquid_line", Name: "Liquid line", Read: f(107.2), Lane: figure.LaneLine, Band: band(107.1, 112.4, 117.7)},
		{Key: "discharge_dew", Name: "Head, sat.", Read: f(107.7), Lane: figure.LaneSaturation, Band: band(110.5, 115.8, 121.1)},
		{Key: "discharge_line", Name: "Discharge", Read: f(176), Lane: figure.LaneLine, Band: band(155.4, 165.5, 176.8)},
	}
}

func after() []figure.Mark {
	return []figure.Mark{
		{Key: "suction_dew", Name: "Suction, sat.", Read: f(24.3), Lane: figure.LaneSaturation, Band: band(21.4, 24.1, 26.8)},
		{Key: "coil_air_off", Name: "Air off coil", Read: f(31), Lane: figure.LaneAir, Band: band(28.7, 31.1, 33.2)},
		{Key: "coil_outlet_line", Name: "Coil outlet", Read: f(33.9), Lane: figure.LaneLine, Band: band(31.5, 33.8, 36.0)},
		{Key: "liquid_line", Name: "Liquid line", Read: f(107.6), Lane: figure.LaneLine, Band: band(102.4, 107.5, 112.5)},
		{Key: "discharge_dew", Name: "Head, sat.", Read: f(110.7), Lane: figure.LaneSaturation, Band: band(105.8, 110.9, 116.0)},
		{Key: "discharge_line", Name: "Discharge", Read: f(162), Lane: figure.LaneLine, Band: band(152.6, 162.7, 174.8)},
		{Key: "box_air", Name: "Box air", Read: f(37), Lane: figure.LaneAir},
		{Key: "ambient", Name: "Ambient", Read: f(84), Lane: figure.LaneAir},
	}
}

func v(x float64) *float64 { return &x }

func circuit() figure.CircuitData {
	return figure.CircuitData{
		Receiver: true, Expansion: reading.Valve, HeadControl: reading.Flooding, Glass: reading.Bubbling, Outside: "Outside, on the roof",
		Display: units.US(), Ambient: units.Atm,
		Tags: []figure.Tag{
			{Key: "ambient", Value: v(float64(f(86)))},
			{Key: "liquid_line", Value: v(float64(f(107)))},
			{Key: "drier_out", Next: true},
			{Key: "glass", Word: "bubbling"},
			{Key: "discharge_pressure", Value: v(float64(units.Psig(141).Absolute(units.Atm))), Off: units.FahrenheitDiff(-8)},
			{Key: "discharge_line", Value: v(float64(f(176)))},
			{Key: "suction_pressure", Value: v(float64(units.Psig(17.5).Absolute(units.Atm))), Off: units.FahrenheitDiff(-10.8)},
			{Key: "suction_line"},
			{Key: "coil_air_off", Value: v(float64(f(39)))},
			{Key: "coil_outlet_line", Value: v(float64(f(43.2))), Off: units.FahrenheitDiff(14), OffName: "SH"},
			{Key: "box_air", Value: v(float64(f(44)))},
			{Key: "box_display", Value: v(float64(f(41)))},
			{Key: "amps", Value: v(8.2)},
			{Key: "condenser_air_off"},
			{Key: "standing_pressure"},
			{Key: "power"},
		},
	}
}

func pullDownData() figure.PullDownData {
	set := f(36)
	p := figure.PullDownData{SetPoint: &set, Display: units.US()}
	for m := 0.0; m <= 24; m += 3 {
		p.Points = append(p.Points, figure.PullPoint{Minute: m, Box: f(35 + 11*math.Exp(-m/17))})
	}
	for m := 24.0; m <= 384; m += 6 {
		mid, w := 35+11*math.Exp(-m/17), 0.03*(m-24)
		p.Forecast = append(
			p.Forecast,
			figure.PullBand{Minute: m, Low: f(mid - math.Min(w, 2)), Mid: f(mid), High: f(mid + math.Min(w, 2))},
		)
	}
	return p
}

// scenes are all drawings with invented numbers.
func scenes() map[string]plot.Scene {
	us, si := units.US(), units.Metric()
	second := pullDownData()
	second.Second = []figure.PullPoint{{Minute: 0, Box: f(46)}, {Minute: 30, Box: f(39)}, {Minute: 66, Box: f(36)}}
	second.Forecast = nil
	design := before()
	for i := range design {
		if design[i].Band != nil {
			b := *design[i].Band
			b.Design = true
			design[i].Band = &b
		}
	}
	metric := circuit()
	metric.ID, metric.Display, metric.Receiver, metric.Expansion, metric.HeadControl, metric.Glass = "cm", si, false, reading.Capillary,
		reading.FanCycling, reading.GlassUnknown
	metric.Tags = append(metric.Tags[:3:3], metric.Tags[4:]...)
	eev := circuit()
	eev.ID, eev.Expansion, eev.HeadControl, eev.Glass = "ce", reading.ElectronicValve, reading.HeadNone, reading.Clear
	orifice := circuit()
	orifice.ID, orifice.Expansion, orifice.HeadControl, orifice.Receiver = "co", reading.Orifice, reading.VariableFan, false
	return map[string]plot.Scene{
		"ladder":        figure.Ladder(figure.LadderData{Marks: before(), Display: us}),
		"ladder-metric": figure.Ladder(figure.LadderData{ID: "l2", Marks: design, Display: si}),
		"proof":         figure.Proof(figure.ProofData{Before: before(), After: after(), Display: us}),
		"proof-metric":  figure.Proof(figure.ProofData{ID: "p2", Before: before(), After: after(), Display: si}),
		"circuit":       figure.Circuit(circuit()),
		"circuit-cap":   figure.Circuit(metric),
		"circuit-eev":   figure.Circuit(eev),
		"circuit-fix":   figure.Circuit(orifice),
		"next": figure.NextBars(figure.NextData{At: "drier_drop_k", Display: us, Shows: []figure.Show{
			{
				Name: "Plugged before the glass",
				Low:  2.4,
				Mid:  4,
				High: 6.2,
			},
			{Name: "Short of refrigerant", Low: 0.4, Mid: 1, High: 1.7},
			{Name: "Valve feeding too little", Low: 0, Mid: 0.2, High: 0.5},
		}}),
		"next-temp": figure.NextBars(figure.NextData{ID: "n2", At: "discharge_line", Display: si, Shows: []figure.Show{
			{
				Name: "Compressor pumping poorly",
				Low:  352,
				Mid:  360,
				High: 368,
			},
			{Name: "Short of refrigerant", Low: 340, Mid: 348, High: 356},
		}}),
		"next-word": figure.NextBars(
			figure.NextData{
				ID:      "n3",
				At:      "glass",
				Display: us,
				Shows:   []figure.Show{{Name: "Short of refrigerant", Word: "bubbling"}, {Name: "Valve feeding too little", Word: "clear"}},
			},
		),
		"pulldown":  figure.PullDown(pullDownData()),
		"pulldown2": figure.PullDown(second),
		"worst":     figure.Worst("w1", units.FahrenheitDiff(-11), true, us),
		"worst-in":  figure.Worst("w2", 0, true, us),
		"worst-no":  figure.Worst("w3", 0, false, us),
		"bar":       figure.SuspectBar(0.79),
	}
}

type failer interface{ Fatalf(string, ...any) }

func wellFormed(t failer, name string, s plot.Scene) string {
	svg := string(plot.HTML(s))
	d := xml.NewDecoder(strings.NewReader(svg))
	ids := map[string]bool{}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return svg
		}
		if err != nil {
			t.Fatalf("%s is not well-formed: %v", name, err)
		}
		if e, ok := tok.(xml.StartElement); ok {
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "style", "onclick", "onload":
					t.Fatalf("%s has a %s", name, a.Name.Local)
				case "id":
					if ids[a.Value] {
						t.Fatalf("%s uses id %s twice", name, a.Value)
					}
					ids[a.Value] = true
				case "class":
					for c := range strings.FieldsSeq(a.Value) {
						if !known[c] {
							t.Fatalf("%s: class %q is not in the style sheet", name, c)
						}
					}
				}
			}
		}
	}
}

// known are the classes that the style sheets of the pages name; "tap", "pipe-dots" and "gap" among them are hooks of links and
// places, not looks.
var known = func() map[string]bool {
	m := map[string]bool{}
	class := regexp.MustCompile(`\.([a-z][a-z0-9-]*)`)
	for _, name := range []string{"tokens.css", "base.css", "more.css"} {
		css, err := os.ReadFile(filepath.Join("..", "..", "web", "static", name))
		if err != nil {
			panic(err)
		}
		for _, c := range class.FindAllSubmatch(css, -1) {
			m[string(c[1])] = true
		}
	}
	return m
}()

// within reports anything drawn outside of the drawing. Texts are measured by an estimate that is generous, so they may
// seem to stick out by a little.
func within(t failer, name string, s plot.Scene) {
	check := func(what string, x, y, slack float64) {
		if !(x >= -slack && x <= s.W+slack && y >= -slack && y <= s.H+slack) {
			t.Fatalf("%s: a %s leaves the drawing of %g × %g at %.2f, %.2f", name, what, s.W, s.H, x, y)
		}
	}
	plot.Walk(s.Items, func(i plot.Item) {
		switch v := i.(type) {
		case plot.Text:
			x0, y0, x1, y1 := v.Box()
			check("text "+v.S, x0, y0, 4)
			check("text "+v.S, x1, y1, 6)
		case plot.Line:
			check("line", v.X1, v.Y1, 0.01)
			check("line", v.X2, v.Y2, 0.01)
		case plot.Rect:
			check("field", v.X, v.Y, 0.01)
			check("field", v.X+v.W, v.Y+v.H, 0.01)
		case plot.Circle:
			check("point", v.X, v.Y, 0.01)
		case plot.Path:
			for _, c := range v.D {
				if c.Op != plot.Close {
					check("path", c.P[0], c.P[1], 0.01)
				}
			}
		}
	})
}

// overlap reports two texts that cover each other, or one that leaves the drawing.
func overlap(t failer, name string, s plot.Scene) {
	type box struct {
		text           string
		x0, y0, x1, y1 float64
	}
	var boxes []box
	plot.Walk(s.Items, func(i plot.Item) {
		if w, ok := i.(plot.Text); ok {
			b := box{text: w.S}
			b.x0, b.y0, b.x1, b.y1 = w.Box()
			boxes = append(boxes, b)
		}
	})
	for i, a := range boxes {
		// The estimate of the width is generous, so a text may seem to stick out by a little.
		if a.x0 < -4 || a.x1 > s.W+6 || a.y0 < -3 || a.y1 > s.H+3 {
			t.Fatalf("%s: %q leaves the drawing %v × %v: %.0f..%.0f, %.0f..%.0f", name, a.text, s.W, s.H, a.x0, a.x1, a.y0, a.y1)
		}
		for _, b := range boxes[i+1:] {
			if dx, dy := math.Min(a.x1, b.x1)-math.Max(a.x0, b.x0), math.Min(a.y1, b.y1)-math.Max(a.y0, b.y0); dx > 4 && dy > 2 {
				t.Fatalf("%s: %q and %q overlap by %.1f × %.1f", name, a.text, b.text, dx, dy)
			}
		}
	}
}

func TestScenes_WellFormedAndClear(t *testing.T) {
	for name, s := range scenes() {
		svg := wellFormed(t, name, s)
		overlap(t, name, s)
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s holds a number that is none", name)
		}
		if name != "bar" && s.Title == "" {
			t.Errorf("%s has no title", name)
		}
		if s.W > 358 {
			t.Errorf("%s is wider than a phone: %v", name, s.W)
		}
	}
	// FIGURE_PAGE=dir writes them into one page for looking at them, with base.css beside it.
	if dir := os.Getenv("FIGURE_PAGE"); dir != "" {
		var b strings.Builder
		b.WriteString(
			`<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width"><link rel="stylesheet" href="base.css"><main>`,
		)
		for _, name := range slices.Sorted(maps.Keys(scenes())) {
			class := "sheet"
			if strings.HasPrefix(name, "next") {
				class = "slab"
			}
			b.WriteString(
				`<section class="` + class + `"><h2>` + name + `</h2><figure>` + string(plot.HTML(scenes()[name])) + `</figure></section>`,
			)
		}
		if err := os.WriteFile(filepath.Join(dir, "figures.html"), []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestVerdict(t *testing.T) {
	us, si := units.US(), units.Metric()
	for _, c := range []struct {
		read float64
		b    *figure.Band
		d    units.Display
		want string
	}{
		{18.7, band(26.4, 29.5, 32.4), us, "11 under"}, // 29.5 − 18.7 = 10.8
		{18.7, band(26.4, 29.5, 32.4), si, "6 under"},  // 10.8 °F = 6.0 K
		{27, band(26.4, 29.5, 32.4), us, "in band"},
		{32.4, band(26.4, 29.5, 32.4), us, "in band"},
		{40, band(26.4, 29.5, 32.4), us, "11 over"}, // 10.5 rounds away from zero
		{30.0, band(29.4, 29.6, 29.8), us, "in band"},
	} {
		if got := figure.Off(f(c.read), *c.b, c.d); got != c.want {
			t.Errorf("%v in %v (%s): got %q, want %q", c.read, *c.b, c.d.Temp, got, c.want)
		}
	}
}

// genMarks draws any machine: readings from −60 to 260 °F, bands of any width beside or around them.
func genMarks(t *rapid.T) []figure.Mark {
	names := []string{
		"Suction, sat.",
		"Air off coil",
		"Coil outlet",
		"Box air",
		"Ambient",
		"Liquid line",
		"Head, sat.",
		"Discharge",
		"After drier",
		"Suction line",
		"Air off cond.",
	}
	base := rapid.Float64Range(-60, 60).Draw(t, "base")
	spread := rapid.Float64Range(1, 200).Draw(t, "spread")
	var out []figure.Mark
	for _, n := range names[:rapid.IntRange(0, len(names)).Draw(t, "n")] {
		m := figure.Mark{
			Key:  n,
			Name: n,
			Read: f(base + rapid.Float64Range(0, 1).Draw(t, "read")*spread),
			Lane: figure.Lane(rapid.IntRange(0, 3).Draw(t, "lane")),
		}
		if rapid.Bool().Draw(t, "banded") {
			mid := float64(m.Read) + rapid.Float64Range(-20, 20).Draw(t, "off")
			half := rapid.Float64Range(0.1, 8).Draw(t, "half")
			m.Band = &figure.Band{
				Low:    units.Temp(mid - half),
				Mid:    units.Temp(mid),
				High:   units.Temp(mid + half),
				Design: rapid.Bool().Draw(t, "design"),
			}
		}
		out = append(out, m)
	}
	return out
}

func genDisplay(t *rapid.T) units.Display {
	return rapid.SampledFrom([]units.Display{units.US(), units.Metric()}).Draw(t, "display")
}

func genLang(t *rapid.T) text.Language {
	return rapid.SampledFrom(text.Languages()).Draw(t, "lang")
}

func TestLadder_NoOverlapForAnyMachine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := figure.LadderData{Marks: genMarks(t), Display: genDisplay(t), Lang: genLang(t)}
		s := figure.Ladder(d)
		wellFormed(t, "ladder", s)
		overlap(t, "ladder", s)
		within(t, "ladder", s)
		if len(d.Table().Rows) != len(d.Marks) {
			t.Fatalf("table has %d rows for %d marks", len(d.Table().Rows), len(d.Marks))
		}
	})
}

func TestProof_NoOverlapForAnyMachine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := figure.ProofData{Before: genMarks(t), After: genMarks(t), Display: genDisplay(t), Lang: genLang(t)}
		s := figure.Proof(d)
		wellFormed(t, "proof", s)
		overlap(t, "proof", s)
		within(t, "proof", s)
		named := map[string]bool{}
		for _, m := range append(slices.Clone(d.Before), d.After...) {
			named[m.Key] = true
		}
		if rows := d.Table().Rows; len(rows) != len(named) {
			t.Fatalf("%d rows for %d places", len(rows), len(named))
		}
	})
}

// A figure and its table say the same: every value in the table stands in the drawing.
func TestLadder_TableSaysTheSame(t *testing.T) {
	d := figure.LadderData{Marks: before(), Display: units.US()}
	var words []string
	plot.Walk(figure.Ladder(d).Items, func(i plot.Item) {
		if w, ok := i.(plot.Text); ok {
			words = append(words, w.S)
		}
	})
	all := "|" + strings.Join(words, "|") + "|"
	for _, row := range d.Table().Rows {
		for _, cell := range []string{row[0], row[1], row[2]} {
			if !strings.Contains(all, cell) {
				t.Errorf("%q of the table is not in the drawing: %s", cell, all)
			}
		}
		if row[3] != "given" && row[3] != "in band" && !strings.Contains(all, "|"+row[3]+"|") {
			t.Errorf("finding %q is not in the drawing", row[3])
		}
	}
}

func TestCircuit_TagsAreLinksThatSpeak(t *testing.T) {
	svg := wellFormed(t, "circuit", figure.Circuit(circuit()))
	for _, want := range []string{
		`href="#e-suction_pressure" class="tap off" aria-label="Suction: 17.5 psig, 11 °F under"`,
		`aria-label="After drier + next to read, tap to enter"`, `aria-label="Sight glass: Bubbling"`,
		`aria-label="Coil outlet: 43.2 °F, SH 14 over"`, `aria-label="Amps: 8.2 A"`, `class="tap todo"`, "+ next", "Outside, on the roof",
	} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %s", want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := circuit()
		c.Tags = nil
		for _, p := range reading.Places() {
			if !rapid.Bool().Draw(t, "shown") {
				continue
			}
			tag := figure.Tag{Key: p.String(), Next: rapid.Bool().Draw(t, "next")}
			if rapid.Bool().Draw(t, "read") {
				lo, hi := p.Range()
				tag.Value = v(rapid.Float64Range(lo, hi).Draw(t, "value"))
				if p.Kind() != reading.KindCurrent && p.Kind() != reading.KindPower && p != reading.BoxAir && p != reading.BoxDisplay {
					tag.Off = units.TempDiff(rapid.Float64Range(-30, 30).Draw(t, "off"))
				}
			}
			c.Tags = append(c.Tags, tag)
		}
		c.Display = genDisplay(t)
		s := figure.Circuit(c)
		wellFormed(t, "circuit", s)
		overlap(t, "circuit", s)
		links := 0
		plot.Walk(s.Items, func(i plot.Item) {
			if _, ok := i.(plot.Link); ok {
				links++
			}
		})
		if links != len(c.Tags) || len(c.Table().Rows) != len(c.Tags) {
			t.Fatalf("%d tags, %d links, %d rows", len(c.Tags), links, len(c.Table().Rows))
		}
	})
}

func TestPullDown_AnyCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := figure.PullDownData{Display: genDisplay(t), Lang: genLang(t), Compact: rapid.Bool().Draw(t, "compact")}
		n := rapid.IntRange(0, 30).Draw(t, "n")
		m := 0.0
		start := rapid.Float64Range(-30, 80).Draw(t, "start")
		for range n {
			p.Points = append(p.Points, figure.PullPoint{Minute: m, Box: f(start + rapid.Float64Range(-20, 3).Draw(t, "box"))})
			m += rapid.Float64Range(0.5, 20).Draw(t, "step")
		}
		if rapid.Bool().Draw(t, "set") {
			s := f(start - 10)
			p.SetPoint = &s
		}
		for k := range rapid.IntRange(0, 12).Draw(t, "forecast") {
			p.Forecast = append(
				p.Forecast,
				figure.PullBand{Minute: m + 30*float64(k), Low: f(start - 12), Mid: f(start - 9), High: f(start - 5)},
			)
		}
		s := figure.PullDown(p)
		wellFormed(t, "pulldown", s)
		within(t, "pulldown", s)
		if len(p.Table().Rows) != n {
			t.Fatal("a reading is missing in the table")
		}
	})
}

func TestNextBars_WordsAndUnits(t *testing.T) {
	n := figure.NextData{
		At:      "discharge_line",
		Display: units.US(),
		Shows:   []figure.Show{{Name: text.Fault("low_charge").Name, Low: float64(f(150)), Mid: float64(f(155)), High: float64(f(160))}},
	}
	if got := n.Table().Rows[0][1]; got != "150 to 160 °F" {
		t.Errorf("got %q", got)
	}
	n = figure.NextData{
		At:      "suction_pressure",
		Display: units.US(),
		Ambient: units.Atm,
		Shows: []figure.Show{
			{Name: "x", Low: float64(units.Psig(10).Absolute(units.Atm)), High: float64(units.Psig(20).Absolute(units.Atm))},
		},
	}
	if got := n.Table().Rows[0][1]; got != "10 to 20 psig" {
		t.Errorf("got %q", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		n := figure.NextData{At: "liquid_line", Display: genDisplay(t)}
		for range rapid.IntRange(1, 4).Draw(t, "n") {
			lo := rapid.Float64Range(230, 380).Draw(t, "lo")
			n.Shows = append(
				n.Shows,
				figure.Show{
					Name: "Expansion valve feeding too little",
					Low:  lo,
					Mid:  lo + 1,
					High: lo + rapid.Float64Range(0, 40).Draw(t, "w"),
				},
			)
		}
		s := figure.NextBars(n)
		wellFormed(t, "next", s)
		overlap(t, "next", s)
		within(t, "next", s)
	})
}

// TestPullDown_HalfMinutes: readings half a minute apart stand in the table at two minutes, not twice at one.
func TestPullDown_HalfMinutes(t *testing.T) {
	p := figure.PullDownData{Points: []figure.PullPoint{{0, 280}, {0.5, 279}, {1, 278}}, Display: units.US()}
	rows := p.Table().Rows
	for i, want := range []string{"0", "0.5", "1"} {
		if rows[i][0] != want {
			t.Errorf("minute %q, noted at %s", rows[i][0], want)
		}
	}
}
