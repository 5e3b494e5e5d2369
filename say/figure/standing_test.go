package figure_test

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
)

// Whatever stands in the machine, the drawing of a standing-pressure test stays inside its frame and its table has
// every reading (property).
func TestHold_AnyTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, T := rapid.Float64Range(4e5, 4e6).Draw(t, "pressure"), rapid.Float64Range(270, 310).Draw(t, "gas")
		var pts []standing.Point
		m := 0.0
		for range rapid.IntRange(2, 9).Draw(t, "n") {
			k := T + rapid.Float64Range(-8, 8).Draw(t, "swing")
			pts = append(
				pts,
				standing.Point{
					Minute:   m,
					Pressure: units.Pressure(p * k / T * (1 - rapid.Float64Range(0, 0.02).Draw(t, "lost"))),
					Gas:      []units.Temp{units.Temp(k)},
				},
			)
			m += rapid.Float64Range(1, 900).Draw(t, "step")
		}
		h, err := standing.Judge(pts, standing.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d := figure.HoldData{Hold: &h, Ambient: units.Atm, Display: genDisplay(t), Lang: genLang(t), Compact: rapid.Bool().Draw(t, "compact")}
		s := figure.Hold(d)
		wellFormed(t, "hold", s)
		within(t, "hold", s)
		if len(d.Table().Rows) != len(pts) || d.Caption() == "" {
			t.Fatal("a reading is missing in the table")
		}
	})
}

// The same for a rise test, with any mixture of leak and moisture.
func TestRiseCurve_AnyTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, tau := rapid.Float64Range(0, 20).
			Draw(t, "leak"),
			rapid.Float64Range(0, 600).
				Draw(t, "moisture"),
			rapid.Float64Range(1, 40).
				Draw(t, "tau")
		step := rapid.Float64Range(0.5, 30).Draw(t, "step")
		var pts []vacuum.Point
		for i := range rapid.IntRange(1, 14).Draw(t, "n") {
			m := 3 + step*float64(i)
			pts = append(pts, vacuum.Point{Minute: m, Pressure: units.Pressure(40 + a*(m-3) + b*(1-math.Exp(-(m-3)/tau)))})
		}
		r, err := vacuum.Judge(pts, vacuum.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d := figure.RiseData{
			Points:  pts,
			Rise:    &r,
			Curve:   vacuum.Curve(pts, vacuum.Options{}, r.Horizon),
			Display: genDisplay(t),
			Lang:    genLang(t),
			Compact: rapid.Bool().Draw(t, "compact"),
		}
		s := figure.RiseCurve(d)
		wellFormed(t, "rise", s)
		within(t, "rise", s)
		if len(d.Table().Rows) != len(pts) || d.Caption() == "" || d.Lang == text.English && !strings.HasPrefix(d.Caption(), "Dots: read.") {
			t.Fatal("a reading is missing in the table")
		}
	})
}

// The same for a logger's record, with gaps in it.
func TestColdTrace_AnyRecord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("minute,box_c\n")
		base, swing, m := rapid.Float64Range(-30, 20).Draw(t, "base"), rapid.Float64Range(0, 15).Draw(t, "swing"), 0
		for i := range rapid.IntRange(3, 900).Draw(t, "n") {
			fmt.Fprintf(&b, "%d,%.2f\n", m, base+swing*math.Sin(float64(i)/20))
			if m += 5; i%97 == 96 {
				m += 300
			}
		}
		r, err := templog.Judge(
			func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(b.String())), nil },
			templog.Options{},
		)
		if err != nil {
			t.Fatal(err)
		}
		d := figure.ColdData{Record: &r, Display: genDisplay(t), Lang: genLang(t), Compact: rapid.Bool().Draw(t, "compact")}
		s := figure.ColdTrace(d)
		wellFormed(t, "record", s)
		within(t, "record", s)
		if d.Caption() == "" {
			t.Fatal("no caption")
		}
	})
}
