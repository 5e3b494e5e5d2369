package figure_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/wire"
)

// starved is an invented sheet of a cooler short of refrigerant: suction and head low, superheat high, bubbles.
const starved = `{
 "machine": {"refrigerant": "R-134a", "application": "walk-in cooler", "expansion": "valve", "receiver": true, "head_control": "none"},
 "readings": [
  {"at": "suction_pressure", "value": "17.5 psig"}, {"at": "discharge_pressure", "value": "120 psig"}, {"at": "box_air", "value": "44 F"},
  {"at": "ambient", "value": "86 F"}, {"at": "coil_outlet_line", "value": "43.2 F"}, {"at": "liquid_line", "value": "97 F"},
  {"at": "standing_pressure", "value": "95 psig"}
 ],
 "seen": {"glass": "bubbling"}, "running_min": 45
}`

func judge(t *testing.T, sheet string) (reading.Sheet, diagnose.Posterior) {
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
	return s, p
}

func TestFrom_Judgement(t *testing.T) {
	s, p := judge(t, starved)
	d := units.US()
	marks := figure.Marks(&p, s)
	got := map[string]figure.Mark{}
	for _, m := range marks {
		got[m.Key] = m
	}
	for _, key := range []string{"suction_pressure", "discharge_pressure", "box_air", "ambient", "coil_outlet_line", "liquid_line"} {
		if _, ok := got[key]; !ok {
			t.Errorf("no mark for %s", key)
		}
	}
	if _, ok := got["standing_pressure"]; ok {
		t.Error("a machine at rest has no place on the ladder")
	}
	if got["box_air"].Band != nil || got["ambient"].Band != nil {
		t.Error("box and ambient are given, not judged")
	}
	// The drawing flags exactly what the judgement says is outside, by its degrees to a whole number.
	compared := 0
	for _, e := range p.Expected {
		m, ok := got[e.At.String()]
		if !ok || m.Band == nil {
			continue
		}
		kind, n := figure.Verdict(m.Read, *m.Band, d)
		// Outside by less than half a degree of the middle counts as in on the drawing.
		small := math.Abs(m.Read.F()-m.Band.Mid.F()) < 0.5
		if kind == figure.In && !e.In && !small || kind != figure.In && (e.In || n < 1) {
			t.Errorf("%s: drawing says %s %d, judgement in=%v", e.At, kind, n, e.In)
		}
		compared++
		if m.Band.Design != (e.Basis != "history") {
			t.Errorf("%s: basis %s", e.At, e.Basis)
		}
	}
	if compared < 4 {
		t.Errorf("only %d places of drawing and judgement were compared", compared)
	}
	lad := figure.LadderData{Marks: marks, Display: d}
	sc := figure.Ladder(lad)
	wellFormed(t, "ladder", sc)
	overlap(t, "ladder", sc)
	if !strings.Contains(lad.Caption(), "design") {
		t.Error("bands from the design only must be said to be so")
	}
	cir := figure.Circuit(figure.CircuitFrom(s, &p, d, false))
	wellFormed(t, "circuit", cir)
	overlap(t, "circuit", cir)
	if svg := string(plot.HTML(cir)); !strings.Contains(svg, `aria-label="Suction: 17.5 psig`) ||
		!strings.Contains(svg, `aria-label="Sight glass: Bubbling`) {
		t.Error("readings are missing in the circuit")
	}
	if n := len(figure.Tags(s, nil, true)); n != len(reading.Places())+1 {
		t.Errorf("every place and the glass: %d tags", n)
	}
	if len(p.Next) == 0 {
		t.Fatal("no next reading")
	}
	for _, n := range p.Next {
		data := figure.NextFrom(n, d, units.Atm)
		b := figure.NextBars(data)
		wellFormed(t, "next", b)
		overlap(t, "next", b)
		if len(data.Table().Rows) != len(n.Shows) {
			t.Errorf("%s: %d rows for %d suspects", n.At, len(data.Table().Rows), len(n.Shows))
		}
		if w := text.NextFrom(n); w.Title == "" || w.Sentence == "" {
			t.Errorf("%s: no words", n.At)
		}
	}
	h1, para := text.Headline(verdict.Of(&p, s), d)
	if !strings.Contains(strings.ToLower(h1), "refrigerant") || para == "" {
		t.Errorf("headline %q, %q for a starved machine", h1, para)
	}
	severities := 0
	for _, h := range p.Ranked {
		for _, sv := range h.Severity {
			severities++
			if text.SeverityFrom(sv, d) == "" {
				t.Errorf("no words for the severity of %s", sv.Fault)
			}
		}
	}
	if severities == 0 {
		t.Error("no severity in the judgement of a starved machine")
	}
}

// A falling box: the forecast starts at the last reading and is drawn beyond it.
func TestPullDownFrom(t *testing.T) {
	var points []pulldown.Point
	var shown []figure.PullPoint
	for i, f := range []float64{46, 44.5, 43.2, 42.1, 41.1, 40.3, 39.6, 39, 38.4} {
		p := pulldown.Point{Minute: 5 + 4*float64(i), Box: units.Fahrenheit(f)}
		points, shown = append(points, p), append(shown, figure.PullPoint{Minute: p.Minute, Box: p.Box})
	}
	set := units.Fahrenheit(36)
	r, err := pulldown.Judge(points, pulldown.Options{SetPoint: set})
	if err != nil {
		t.Fatal(err)
	}
	d := figure.PullDownFrom(shown, &set, &r, units.US())
	if len(d.Forecast) < 2 || d.Forecast[0].Minute < 37-1e-9 || d.Forecast[0].Minute > 40 {
		t.Fatalf("forecast does not start at the last reading, minute 37: %+v", d.Forecast[:min(2, len(d.Forecast))])
	}
	s := figure.PullDown(d)
	wellFormed(t, "pulldown", s)
	overlap(t, "pulldown", s)
	if rows := figure.Forecast(&r, units.US()).Rows; len(rows) != 3 || rows[0][0] != "after 1 h" {
		t.Errorf("forecast table: %v", rows)
	}
	f := text.PullFactsFrom(&r, set)
	if w := text.PullDown(f, units.US()); !strings.Contains(w, "in 100 within 6 hours") {
		t.Errorf("%s: %q", f.Verdict, w)
	}
}
