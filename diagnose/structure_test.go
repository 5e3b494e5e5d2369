package diagnose

import (
	"math"
	"slices"
	"strings"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
)

// inTheCold is a freezer outdoors at −8 °C whose head stands at 31 °C, liquid and glass as they should be: a head
// control holds it, or most of the condenser's air is missing.
func inTheCold(head reading.HeadControl) reading.Sheet {
	c := func(v float64) float64 { return float64(units.Celsius(v)) }
	return reading.Sheet{
		Machine: reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, HeadControl: head},
		Seen:    reading.Seen{Glass: reading.Clear},
		Readings: []reading.Reading{
			{At: reading.BoxAir, Value: c(-20)},
			{At: reading.Ambient, Value: c(-8)},
			{At: reading.SuctionPressure, Value: 2.2e5},
			{At: reading.DischargePressure, Value: 14.4e5},
			{At: reading.LiquidLine, Value: c(28)},
		},
	}
}

// TestRun_HeadControlNotSaid: a machine that runs in the cold with its head held up is not called dirty because nobody
// said that it has a head control; where somebody says that there is none, it is not called well. Definition of the
// controls.
func TestRun_HeadControlNotSaid(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	p := run(t, inTheCold(reading.HeadUnknown), f, Options{})
	if p.Ranked[0].Name() != "healthy" || p.Marginal(fault.CondenserAir) > 0.25 {
		t.Errorf("not said: first %s, nothing wrong %.2f, condenser %.2f", p.Ranked[0].Name(), p.PHealthy, p.Marginal(fault.CondenserAir))
	}
	if !slices.ContainsFunc(p.Warnings, func(w reading.Finding) bool { return w.Code == HeadControlNotSaid }) {
		t.Error("nobody is asked whether there is a head control")
	}
	if none := run(t, inTheCold(reading.HeadNone), f, Options{}); none.PHealthy > 0.1 {
		t.Errorf("said that there is none: nothing wrong with %.2f", none.PHealthy)
	}
}

// TestRun_VisitReason: the same readings on a complaint and on a visit that was due: the odds of a sound machine stand to
// each other as the two rates of finding one do, and without a reason they lie between. Bayes' rule by hand.
func TestRun_VisitReason(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	odds := func(r reading.Reason) float64 {
		s := freezer(1, 76, 24, 252, reading.Clear)
		s.Reason = r
		p := run(t, s, f, Options{NoPairs: true})
		return p.PHealthy / (1 - p.PHealthy - p.PNone)
	}
	complaint, unknown, planned := odds(reading.Complaint), odds(reading.ReasonUnknown), odds(reading.Planned)
	none := 0.03 // of the catalogue
	rate := func(healthy float64) float64 { return healthy / (1 - healthy - none) }
	if got, want := planned/complaint, rate(0.75)/rate(0.05); math.Abs(got/want-1) > 0.15 { // which fits are sampled differs
		t.Errorf("planned over complaint %.1f, by the rates %.1f", got, want)
	}
	if complaint >= unknown || unknown >= planned {
		t.Errorf("%.3f, %.3f, %.3f: not in order", complaint, unknown, planned)
	}
}

// TestPopulation_Refuses: the table is read strictly: nothing missing, twice, or without its reason.
func TestPopulation_Refuses(t *testing.T) {
	good := string(populationFile)
	if _, _, err := parsePopulations(populationFile); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{
		{`"quantity": "td"`, `"quantity": "colour"`},
		{`"quantity": "td"`, `"quantity": "split"`},
		{`"application": "ice machine"`, `"application": "boat"`},
		{`"source": "judgement, ours: `, `"source": "`},
		{`"answer": "flooding"`, `"answer": "magic"`},
		{`"share": 0.12`, `"share": 1.2`},
		{`coldwright-population-1`, `coldwright-population-2`},
	} {
		bad := strings.Replace(good, c[0], c[1], 1)
		if bad == good {
			t.Fatalf("%s is not in the file", c[0])
		}
		if _, _, err := parsePopulations([]byte(bad)); err == nil {
			t.Errorf("%s is taken", c[1])
		}
	}
}
