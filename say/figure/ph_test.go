package figure_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	cycle "coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

// phSheets are invented machines: a pure refrigerant, blends with little and with much glide, readings that lack a
// line, one that is drawn on the dome.
var phSheets = map[string]string{
	"cooler": `{"machine": {"refrigerant": "R-134a", "application": "walk-in cooler", "expansion": "valve", "receiver": true, "head_control": "none"},
 "readings": [{"at": "suction_pressure", "value": "17.5 psig"}, {"at": "discharge_pressure", "value": "120 psig"}, {"at": "box_air", "value": "44 F"}, {"at": "ambient", "value": "86 F"},
  {"at": "coil_outlet_line", "value": "43.2 F"}, {"at": "suction_line", "value": "55 F"}, {"at": "liquid_line", "value": "97 F"}, {"at": "discharge_line", "value": "176 F"}], "running_min": 45}`,
	"freezer": `{"machine": {"refrigerant": "R-448A", "application": "walk-in freezer", "expansion": "valve", "receiver": true, "head_control": "none"},
 "readings": [{"at": "suction_pressure", "value": "1.0 bar(g)"}, {"at": "discharge_pressure", "value": "15.5 bar(g)"}, {"at": "box_air", "value": "-18 C"}, {"at": "ambient", "value": "25 C"},
  {"at": "coil_outlet_line", "value": "-22 C"}, {"at": "suction_line", "value": "-5 C"}, {"at": "liquid_line", "value": "31 C"}, {"at": "discharge_line", "value": "88 C"}], "running_min": 45}`,
	"case": `{"machine": {"refrigerant": "R-455A", "application": "reach-in cooler", "expansion": "capillary", "receiver": false, "head_control": "none"},
 "readings": [{"at": "suction_pressure", "value": "320 kPa(a)"}, {"at": "discharge_pressure", "value": "1500 kPa(a)"}, {"at": "box_air", "value": "5 C"}, {"at": "ambient", "value": "25 C"},
  {"at": "coil_outlet_line", "value": "1 C"}, {"at": "suction_line", "value": "8 C"}, {"at": "liquid_line", "value": "28.6 C"}, {"at": "discharge_line", "value": "70 C"}], "running_min": 45}`,
	"few": starved,
}

func chart(tb testing.TB, name string, d units.Display) *refrigerant.Chart {
	tb.Helper()
	r, err := refrigerant.Load(name)
	if err != nil {
		tb.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		tb.Fatal(err)
	}
	c, err := f.Chart(figure.PHLines(d))
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

// judged keeps judgements for the length of a test: the same sheet is drawn in several ways.
type judged map[string]func(units.Display) figure.PHData

func (j judged) ph(t *testing.T, sheet string, d units.Display) figure.PHData {
	t.Helper()
	if j[sheet] == nil {
		s, p := judge(t, sheet)
		j[sheet] = func(d units.Display) figure.PHData {
			return figure.PHFrom(s, &p, chart(t, s.Machine.Refrigerant, d), d)
		}
	}
	return j[sheet](d)
}

func ph(t *testing.T, sheet string, d units.Display) figure.PHData {
	t.Helper()
	return judged{}.ph(t, sheet, d)
}

var kpa = units.Display{Temp: "°C", Pressure: "kPa(a)", Mass: "kg"}

// clearOf reports words over each other, words on a point, and anything outside the drawing.
func clearOf(t failer, name string, s plot.Scene) {
	overlap(t, name, s)
	within(t, name, s)
	var dots []plot.Circle
	plot.Walk(s.Items, func(i plot.Item) {
		if c, ok := i.(plot.Circle); ok {
			dots = append(dots, c)
		}
	})
	plot.Walk(s.Items, func(i plot.Item) {
		v, ok := i.(plot.Text)
		if !ok {
			return
		}
		x0, y0, x1, y1 := v.Box()
		for _, d := range dots {
			if d.X > x0+1 && d.X < x1-1 && d.Y > y0+1 && d.Y < y1-1 {
				t.Fatalf("%s: %q covers the point at %.0f, %.0f", name, v.S, d.X, d.Y)
			}
		}
	})
}

func TestPH_WellFormedAndClear(t *testing.T) {
	var page strings.Builder
	j := judged{}
	for name, sheet := range phSheets {
		for unit, d := range map[string]units.Display{"us": units.US(), "si": units.Metric(), "kpa": kpa} {
			data := j.ph(t, sheet, d)
			for _, lang := range text.Languages() {
				for _, compact := range []bool{false, true} {
					data.Lang, data.Compact = lang, compact
					what := fmt.Sprint(name, " ", unit, " ", lang, " ", compact)
					data.ID = strings.ReplaceAll(what, " ", "-")
					s := figure.PH(data)
					svg := wellFormed(t, what, s)
					clearOf(t, what, s)
					if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
						t.Errorf("%s holds a number that is none", what)
					}
					if s.W > 358 || s.Title == "" || s.Desc == "" {
						t.Errorf("%s: %v wide, title %q, desc %q", what, s.W, s.Title, s.Desc)
					}
					if again := string(plot.HTML(figure.PH(data))); again != svg {
						t.Errorf("%s is drawn in another way the second time", what)
					}
					if len(svg) > 16000 {
						t.Errorf("%s takes %d bytes", what, len(svg))
					}
					fmt.Fprintf(
						&page,
						`<section class="sheet"><h2>%s</h2><figure>%s<figcaption>%s %s</figcaption></figure></section>`,
						what,
						svg,
						data.Caption(),
						strings.Join(data.Notes(), " "),
					)
				}
			}
		}
	}
	// FIGURE_PAGE=dir writes them into one page for looking at them, with base.css beside it.
	if dir := os.Getenv("FIGURE_PAGE"); dir != "" {
		head := `<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width"><link rel="stylesheet" href="tokens.css"><link rel="stylesheet" href="base.css"><main>`
		if err := os.WriteFile(filepath.Join(dir, "ph.html"), []byte(head+page.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// labels returns the height of each label of the pressure axis.
func labels(s plot.Scene) map[string]float64 {
	out := map[string]float64{}
	plot.Walk(s.Items, func(i plot.Item) {
		if w, ok := i.(plot.Text); ok && w.Class == "x-s x-e f-ink2" && w.X < 40 {
			out[w.S] = w.Y
		}
	})
	return out
}

// The pressure axis is logarithmic in absolute pressure, whatever stands beside it: equal ratios of absolute pressure
// take equal heights (definition of the logarithm; 14.696 psi and 1.01325 bar are one atmosphere).
func TestPH_PressureAxis(t *testing.T) {
	j := judged{}
	for _, c := range []struct {
		d    units.Display
		air  float64
		a, b string
		va   float64
		vb   float64
	}{
		{units.US(), 14.696, "10", "100", 10, 100},
		{units.US(), 14.696, "100", "500", 100, 500},
		{units.Metric(), 1.01325, "1", "10", 1, 10},
		{kpa, 0, "200", "2000", 200, 2000},
	} {
		at := labels(figure.PH(j.ph(t, phSheets["cooler"], c.d)))
		ya, ok1 := at[c.a]
		yb, ok2 := at[c.b]
		y0, ok3 := at[map[string]string{"psig": "50", "bar(g)": "5", "kPa(a)": "500"}[c.d.Pressure]]
		if !ok1 || !ok2 || !ok3 {
			t.Errorf("%s: labels %v", c.d.Pressure, at)
			continue
		}
		v0 := map[string]float64{"psig": 50, "bar(g)": 5, "kPa(a)": 500}[c.d.Pressure]
		got := (ya - y0) / (ya - yb)
		want := math.Log((v0+c.air)/(c.va+c.air)) / math.Log((c.vb+c.air)/(c.va+c.air))
		if math.Abs(got-want) > 0.003 {
			t.Errorf("%s: %g stands at %.4f of the way from %s to %s, want %.4f", c.d.Pressure, v0, got, c.a, c.b, want)
		}
	}
	// High up the same gauge reading is a lower absolute pressure: with other air the axis moves, the dome does not.
	low := j.ph(t, phSheets["cooler"], units.US())
	high := low
	high.Ambient = units.Pressure(0.8 * float64(units.Atm))
	if a, b := labels(figure.PH(low))["10"], labels(figure.PH(high))["10"]; !(b > a+2) {
		t.Errorf("10 psig stands at %.1f at the sea and at %.1f in thin air", a, b)
	}
}

// points returns the filled points of the drawing, left to right: states of the cycle.
func points(s plot.Scene) (out [][2]float64) {
	plot.Walk(s.Items, func(i plot.Item) {
		if c, ok := i.(plot.Circle); ok && c.Class == "f-ink" {
			out = append(out, [2]float64{c.X, c.Y})
		}
	})
	return out
}

// What is drawn is what the table says: expansion straight down, both pressures level, superheat to the right of the
// dome, all corners of the table drawn.
func TestPH_CycleClosed(t *testing.T) {
	for _, name := range []string{"cooler", "freezer", "case"} {
		d := ph(t, phSheets[name], units.Metric())
		q := points(figure.PH(d))
		if len(q) != 5 || len(d.Cycle.States) != 5 {
			t.Fatalf("%s: %d points, %d states", name, len(q), len(d.Cycle.States))
		}
		in, out, suction, discharge, liquid := q[0], q[1], q[2], q[3], q[4]
		// A reach-in's capillary is soldered to the suction line: its liquid gives heat away before it has expanded.
		if lean := liquid[0] - in[0]; name == "case" && lean < 2 || name != "case" && math.Abs(lean) > 1e-9 {
			t.Errorf("%s: the coil's inlet stands %g left of the liquid", name, lean)
		}
		if in[1] != out[1] || in[1] != suction[1] || discharge[1] != liquid[1] {
			t.Errorf("%s: pressures are not level: %v", name, q)
		}
		if !(in[0] < out[0] && out[0] < suction[0] && suction[0] < discharge[0] && liquid[1] < in[1]) {
			t.Errorf("%s: the corners are out of order: %v", name, q)
		}
		// Every part is there: five corners joined by five lines of the cycle's weight, and one for the exchanger.
		want := 5
		if name == "case" {
			want = 6
		}
		parts := 0
		plot.Walk(figure.PH(d).Items, func(i plot.Item) {
			if p, ok := i.(plot.Path); ok && p.Width == 3.2 {
				parts++
			}
		})
		if parts != want {
			t.Errorf("%s: %d parts, want %d", name, parts, want)
		}
	}
}

// A missing reading leaves its part out and says so; nothing read is no drawing.
func TestPH_Missing(t *testing.T) {
	d := ph(t, phSheets["few"], units.US())
	if n := len(points(figure.PH(d))); n != 3 {
		t.Errorf("%d points, want 3: into the coil, coil outlet, liquid line", n)
	}
	if got := strings.Join(d.Notes(), " "); got != "Not read, so its part is left out: suction line, discharge line." {
		t.Errorf("notes: %q", got)
	}
	if d.Healthy == nil || !d.Healthy.Design {
		t.Error("the healthy band stands from the design")
	}
	s, err := wire.ReadSheet([]byte(`{"machine": {"refrigerant": "R-134a"}, "readings": [{"at": "box_air", "value": "4 C"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	none := figure.PHFrom(s, nil, chart(t, "R-134a", units.US()), units.US())
	if none.Known() || figure.PHFrom(s, nil, nil, units.US()).Known() {
		t.Error("nothing was read")
	}
	if got := figure.PH(none); len(got.Items) != 0 {
		t.Errorf("%d items are drawn of nothing", len(got.Items))
	}
	figure.PHFrom(s, nil, nil, units.US()).Table()
}

// Figure and table say the same, also for the healthy band; enthalpy is counted as the caption says.
func TestPH_TableSaysTheSame(t *testing.T) {
	d := ph(t, phSheets["cooler"], units.US())
	rows := d.Table().Rows
	find := func(name string) []string {
		i := slices.IndexFunc(rows, func(r []string) bool { return strings.HasPrefix(r[0], name) })
		if i < 0 {
			t.Fatalf("no row %q in %v", name, rows)
		}
		return rows[i]
	}
	var words []string
	plot.Walk(figure.PH(d).Items, func(i plot.Item) {
		if w, ok := i.(plot.Text); ok {
			words = append(words, w.S)
		}
	})
	for name, want := range map[string]string{"Coil outlet": "43.2", "Suction line": "55", "Discharge": "176", "Liquid line": "97"} {
		r := find(name)
		if r[2] != want || !slices.Contains(words, name+" "+want) {
			t.Errorf("%s: table %v, drawing %q, want %s", name, r, words, want)
		}
	}
	for _, row := range rows {
		if _, second, ok := strings.Cut(row[0], ", "); ok && second != "healthy" && !slices.Contains(words, second) {
			t.Errorf("%q of the table is not in the drawing", second)
		}
		if len(row) != len(d.Table().Head) {
			t.Errorf("row %v", row)
		}
	}
	// 24.5 °F above the dew point of 17.5 psig, 18.7 °F, is the superheat of the sheet (18.7 + 24.5 = 43.2).
	if r := find("Coil outlet"); r[0] != "Coil outlet, SH 24.5 °F" {
		t.Errorf("%q", r[0])
	}
	if r := find("Dew at suction"); r[2] != "18.7" {
		t.Errorf("%v", r)
	}
	// Saturated liquid of R-134a at −40 °F is zero for who reads Btu/lb: at 97 °F (36.1 °C) the table of the US
	// Department of Energy's data file gives 250.6 kJ/kg (250.5 at 36 °C, 0.15 more per tenth), less its 148.1 at −40
	// °C: 102.5 kJ/kg or 44.1 Btu/lb (2.326 kJ/kg each), ±0.1 for its digits.
	if r := find("Liquid line"); r[3] != "44.1" && r[3] != "44.0" {
		t.Errorf("%v", r)
	}
	if !strings.Contains(d.Caption(), "0 in saturated liquid at −40 °F") ||
		strings.Contains(ph(t, phSheets["cooler"], units.Metric()).Caption(), "−40") {
		t.Error("captions say where enthalpy is counted from")
	}
	for _, at := range cycle.Corners() {
		r, ok := d.Healthy.Rows[at]
		if !ok || !(r.P[0] < r.P[1] && r.T[0] < r.T[1] && r.H[0] < r.H[1]) {
			t.Errorf("%v healthy: %+v", at, r)
		}
	}
}

// TestPH_HealthyBandsAsElsewhere: a line's healthy band reads the same in the table of the cycle as beside the reading.
func TestPH_HealthyBandsAsElsewhere(t *testing.T) {
	lines := map[reading.Place]cycle.Corner{
		reading.LiquidLine: cycle.LiquidOut, reading.DischargeLine: cycle.CompressorOut, reading.SuctionLine: cycle.CompressorIn,
	}
	for name, sheet := range phSheets {
		s, p := judge(t, sheet)
		d := figure.PHFrom(s, &p, chart(t, s.Machine.Refrigerant, units.US()), units.US())
		for _, e := range p.Expected {
			at, ok := lines[e.At]
			if !ok || d.Healthy == nil {
				continue
			}
			if got, want := d.Healthy.Rows[at].T, [2]float64{e.Band.Low, e.Band.High}; got != want {
				t.Errorf("%s, %s: %v K in the cycle, %v beside the reading", name, e.At, got, want)
			}
		}
	}
}

// Any machine at rest or running, with any lines read: words stay clear of each other and of the points, everything stays inside.
func TestPH_AnyMachine(t *testing.T) {
	charts := map[string][2]*refrigerant.Chart{}
	for _, name := range []string{"R-134a", "R-404A", "R-455A", "R-290", "R-744", "R-717"} {
		charts[name] = [2]*refrigerant.Chart{chart(t, name, units.US()), chart(t, name, units.Metric())}
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"R-134a", "R-404A", "R-455A", "R-290", "R-744", "R-717"}).Draw(t, "refrigerant")
		d := genDisplay(t)
		c := charts[name][0]
		if d.Temp == "°C" {
			c = charts[name][1]
		}
		f := c.Fit()
		lo, hi := f.PRange()
		evap := rapid.Float64Range(230, 278).Draw(t, "evaporating")
		cond := evap + rapid.Float64Range(3, 60).Draw(t, "lift")
		sheet := reading.Sheet{Machine: reading.Machine{Refrigerant: name, AltitudeM: rapid.Float64Range(0, 3000).Draw(t, "altitude")}}
		add := func(at reading.Place, v float64) {
			if rapid.Bool().Draw(t, at.String()) {
				sheet.Readings = append(sheet.Readings, reading.Reading{At: at, Value: v})
			}
		}
		add(reading.SuctionPressure, math.Max(lo, f.DewT(evap)))
		add(reading.DischargePressure, math.Min(hi, f.DewT(cond)))
		add(reading.CoilOutletLine, evap+rapid.Float64Range(0, 20).Draw(t, "superheat"))
		add(reading.SuctionLine, evap+rapid.Float64Range(0, 40).Draw(t, "more"))
		add(reading.DischargeLine, cond+rapid.Float64Range(0, 70).Draw(t, "discharge"))
		add(reading.LiquidLine, cond-rapid.Float64Range(0, 20).Draw(t, "subcooling"))
		data := figure.PHFrom(sheet, nil, c, d)
		data.Compact, data.Lang = rapid.Bool().Draw(t, "compact"), rapid.SampledFrom(text.Languages()).Draw(t, "lang")
		s := figure.PH(data)
		wellFormed(t, name, s)
		clearOf(t, name, s)
		table := data.Table()
		for _, row := range table.Rows {
			if len(row) != len(table.Head) {
				t.Fatalf("row %v under %v", row, table.Head)
			}
		}
		if n := len(data.Cycle.States); len(table.Rows) < n {
			t.Fatalf("%d rows for %d states", len(table.Rows), n)
		}
	})
}

func BenchmarkPH(b *testing.B) {
	s, err := wire.ReadSheet([]byte(phSheets["freezer"]))
	if err != nil {
		b.Fatal(err)
	}
	c := chart(b, "R-448A", units.US())
	for b.Loop() {
		figure.PH(figure.PHFrom(s, nil, c, units.US()))
	}
}
