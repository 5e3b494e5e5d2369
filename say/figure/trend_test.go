package figure_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/diagnose"
	derive "coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/units"
)

func trendPoint(v, low, high float64) figure.TrendPoint {
	return figure.TrendPoint{Value: v, Band: &diagnose.Band{Low: low, Mid: (low + high) / 2, High: high}}
}

// Any history makes a well-formed drawing: nothing outside of it, marks of neighbouring visits apart, one mark for every value.
func TestTrend_AnyHistory(t *testing.T) {
	keys := []string{derive.Superheat, derive.Subcooling, derive.TD, derive.Split, derive.CompressionRatio}
	rapid.Check(t, func(t *rapid.T) {
		d := figure.TrendData{Display: genDisplay(t)}
		at := time.Date(2025, 1, 5, 9, 0, 0, 0, time.UTC)
		values := 0
		for range rapid.IntRange(0, 12).Draw(t, "visits") {
			v := figure.TrendVisit{
				At:       at,
				Repaired: rapid.Bool().Draw(t, "repaired"),
				In:       units.Mass(rapid.SampledFrom([]float64{0, 0.2, 4}).Draw(t, "in")),
				Out:      units.Mass(rapid.SampledFrom([]float64{0, 3}).Draw(t, "out")),
			}
			at = at.Add(time.Duration(rapid.IntRange(0, 4000).Draw(t, "hours")) * time.Hour)
			for _, e := range []*figure.TrendEnd{&v.Before, &v.After} {
				e.Glass = reading.Glass(rapid.IntRange(0, 3).Draw(t, "glass"))
				e.Points = map[string]figure.TrendPoint{}
				if e.Glass != reading.GlassUnknown {
					values++
				}
				for _, k := range keys {
					if rapid.Bool().Draw(t, "read") {
						x := rapid.Float64Range(-20, 60).Draw(t, "value")
						e.Points[k] = figure.TrendPoint{Value: x}
						if rapid.Bool().Draw(t, "known") {
							e.Points[k] = trendPoint(
								x,
								x+rapid.Float64Range(-30, 10).Draw(t, "low"),
								x+rapid.Float64Range(10.1, 40).Draw(t, "high"),
							)
						}
						values++
					}
				}
			}
			d.Visits = append(d.Visits, v)
		}
		s := figure.Trend(d)
		wellFormed(t, "trend", s)
		marks := 0
		inside := func(x, y float64) {
			if x < -0.01 || x > s.W+0.01 || y < -0.01 || y > s.H+0.01 {
				t.Fatalf("a mark at %g, %g of %g × %g", x, y, s.W, s.H)
			}
		}
		plot.Walk(s.Items, func(i plot.Item) {
			switch v := i.(type) {
			case plot.Circle:
				marks++
				inside(v.X, v.Y)
			case plot.Rect:
				if v.W == 7 && v.H == 7 {
					marks++
				}
				inside(v.X, v.Y)
				inside(v.X+v.W, v.Y+v.H)
			case plot.Path:
				if strings.Contains(v.Class, "ember") {
					marks++
				}
				for _, c := range v.D {
					if c.Op != plot.Close {
						inside(c.P[0], c.P[1])
					}
				}
			case plot.Text:
				x0, y0, x1, y1 := v.Box()
				inside(x0, y0)
				inside(x1, y1)
			}
		})
		if marks != values {
			t.Fatalf("%d marks for %d values", marks, values)
		}
		rows := d.Table().Rows
		for _, r := range rows {
			if len(r) != len(d.Table().Head) {
				t.Fatalf("a row of %d under a head of %d", len(r), len(d.Table().Head))
			}
		}
		if d.Caption() == "" || len(rows) < len(d.Visits) {
			t.Fatalf("%d rows for %d visits", len(rows), len(d.Visits))
		}
	})
}

// A value outside its band stands as a triangle and says so in words; one that is outside by less than is shown does not.
func TestTrend_Verdict(t *testing.T) {
	d := figure.TrendData{Display: units.US(), Visits: []figure.TrendVisit{
		{
			At: time.Date(2026, 6, 16, 8, 0, 0, 0, time.UTC),
			Before: figure.TrendEnd{
				Points: map[string]figure.TrendPoint{
					derive.Superheat:        trendPoint(13.7, 2, 8),
					derive.TD:               trendPoint(5.01, 2, 5),
					derive.Split:            trendPoint(6, 9, 15),
					derive.CompressionRatio: trendPoint(4.2, 3, 5.1),
				},
			},
		},
	}}
	row := strings.Join(d.Table().Rows[0], "|")
	// In °F: K times 1.8.
	if want := "16 Jun 2026|25 (4 to 14), over|9 (4 to 9)|11 (16 to 27), under|4.2 (3.0 to 5.1)"; row != want {
		t.Errorf("got %s, want %s", row, want)
	}
	triangles := 0
	plot.Walk(figure.Trend(d).Items, func(i plot.Item) {
		if p, ok := i.(plot.Path); ok && p.Class == "f-ember" {
			triangles++
		}
	})
	if triangles != 2 {
		t.Errorf("%d triangles", triangles)
	}
	if (figure.TrendData{}).Empty() != true || d.Empty() {
		t.Error("empty or not")
	}
	if got := fmt.Sprint(d.Table().Head); got != "[Visit Superheat, coil, °F TD, °F Split, °F Compression ratio]" {
		t.Error(got)
	}
}
