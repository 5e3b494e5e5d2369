package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/units"
)

// fall is a box read every five minutes: one body, °F, rounded to a degree.
func fall(tb testing.TB, span, end, from, tau float64) *pulldown.Message {
	tb.Helper()
	var pts []pulldown.Point
	for m := 0.0; m <= span; m += 5 {
		pts = append(pts, pulldown.Point{Minute: m, Box: units.Fahrenheit(math.Round(end + (from-end)*math.Exp(-m/tau)))})
	}
	says, err := pulldown.Says(pts, pulldown.Options{SetPoint: units.Fahrenheit(-5)})
	if err != nil {
		tb.Fatal(err)
	}
	return says
}

// A machine that reads as a healthy one: a box that stalls 14 °F above its set point speaks for too much load, one that
// falls well against it. A machine that lost its charge: the same stall speaks for it no less than for load, and a good
// fall against it, but not past its gauges.
func TestRun_PullDown(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	sound := freezer(9, 85, 15, 230, reading.Clear)
	for _, e := range run(t, sound, f, Options{NoPairs: true}).Expected {
		for i := range sound.Readings {
			if sound.Readings[i].At == e.At {
				sound.Readings[i].Value = e.Band.Mid
			}
		}
	}
	stalls, falls := fall(t, 180, 9, 24, 20), fall(t, 60, -18, 24, 70)
	if stalls == nil || falls == nil {
		t.Fatal("curves that say nothing")
	}
	p, still, well := run(t, sound, f, Options{}), run(t, sound, f, Options{Pull: stalls}), run(t, sound, f, Options{Pull: falls})
	a, b, c := well.Marginal(fault.ExcessLoad), p.Marginal(fault.ExcessLoad), still.Marginal(fault.ExcessLoad)
	t.Logf("load %.3f falling, %.3f without, %.3f stalling; healthy %.3f, %.3f, %.3f", a, b, c, well.PHealthy, p.PHealthy, still.PHealthy)
	if a > 0.7*b || c < 2*b || still.PHealthy > 0.7*p.PHealthy || well.PHealthy < p.PHealthy {
		t.Errorf("too much load %.3f falling, %.3f without a curve, %.3f stalling; healthy %.3f, %.3f, %.3f",
			a, b, c, well.PHealthy, p.PHealthy, still.PHealthy)
	}
	found := false
	for _, h := range still.Ranked {
		for _, it := range h.Evidence {
			if h.Name() == "excess_load" && it.At == PullDown {
				found = it.NatsAgainstHealthy > 0.5 && it.IfThis.Mid > it.IfHealthy.Mid && math.Abs(units.Temp(it.Measured).F()-9) < 4
			}
		}
	}
	if !found {
		t.Error("the curve is no evidence for too much load")
	}
	short := benchSheet()
	p, still, well = run(t, short, f, Options{}), run(t, short, f, Options{Pull: stalls}), run(t, short, f, Options{Pull: falls})
	a, b, c = well.Marginal(fault.LowCharge), p.Marginal(fault.LowCharge), still.Marginal(fault.LowCharge)
	t.Logf("short %.3f falling, %.3f without, %.3f stalling; %d machines", a, b, c, len(still.Machines))
	if a < b-0.15 || c < b-0.1 {
		t.Errorf("short of refrigerant %.3f falling, %.3f without a curve, %.3f stalling", a, b, c)
	}
}

// What a curve adds to a cause against plain enumeration: the capacity along the severity by solving the plant at forty
// severities in place of three, loads from their density at two hundred in place of forty.
func TestWeighCurve_Enumerated(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	q, all := judged(t, benchSheet(), f)
	q.e.curve = q.curveOf(fall(t, 60, 9, 24, 20))
	c := q.e.curve
	for _, h := range all[:3] {
		if len(h.faults) != 1 || !h.ok || h.load {
			continue
		}
		var loads []pulldown.Share
		for i := range 200 {
			z := -4 + 8*(float64(i)+0.5)/200
			if v := chosenShare + chosenSd*z; v < chosenMost {
				loads = append(loads, pulldown.Share{Weight: math.Exp(-0.5 * z * z), Value: v})
			}
		}
		const n = 40
		sum, all := 0.0, 0.0
		for i := range n {
			z := -3.5 + 7*(float64(i)+0.5)/n
			g := *h
			sd := math.Sqrt(h.cov[(h.n-1)*h.n+h.n-1])
			for j := range h.n {
				g.x[j] += z * h.cov[j*h.n+h.n-1] / sd
			}
			g.cov[(h.n-1)*h.n+h.n-1] = 0 // one node, at this severity
			for _, m := range q.gives(&g, c.says) {
				m.Loads, m.Sd = loads, capacitySd
				w := m.Weight * math.Exp(-0.5*z*z)
				sum += w * math.Exp(c.says.Of(m))
				all += w
			}
		}
		want := math.Log(sum / all)
		if got := c.log(against(q.gives(h, c.says), c.chosen, 1)); math.Abs(got-want) > 0.1 {
			t.Errorf("%s: %.3f nats, enumerated %.3f", name(h), got, want)
		} else {
			t.Logf("%s: %.3f nats, enumerated %.3f", name(h), got, want)
		}
	}
}
