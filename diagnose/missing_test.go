package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// What is missing is the reserve and its share of the rest: 1 − (1 − reserve)(1 − deficit), the deficit's interval scaled
// to it and the reserve's own ± 10 % added in quadrature (definition). Without a receiver it is the deficit. Along clean
// machines of growing deficit it grows, and the interval holds what is missing.
func TestRun_Missing(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	mc := machineOf("R-404A", reading.WalkInFreezer)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %.4f, want %.4f", what, got, want)
		}
	}
	deficit := func(p Posterior) Severity {
		for _, h := range p.Ranked {
			if h.Name() == fault.LowCharge.String() {
				return h.Severity[0]
			}
		}
		t.Fatal("shortage is no candidate")
		return Severity{}
	}
	const reserve = 0.35
	last := 0.0
	for _, z := range []float64{-0.5, 0, 0.5, 1, 1.5} {
		c := cause(t, fault.LowCharge, z)
		s, ok := clean(t, mc, f, c)
		if !ok {
			t.Fatalf("z %.1f trips", z)
		}
		p := run(t, s, f, Options{NoPairs: true})
		m, d := p.Missing, deficit(p)
		near("reserve", m.Reserve, reserve)
		near("probability", m.Probability, p.Marginal(fault.LowCharge))
		near("middle", m.Mid, 1-(1-reserve)*(1-d.Mid))
		own := 1.645 * 0.10 * (1 - d.Mid)
		if low := m.Mid - math.Hypot((1-reserve)*(d.Mid-d.Low), own); math.Abs(m.Low-math.Max(0, low)) > 1e-4 {
			t.Errorf("z %.1f: lower limit %.4f, want %.4f", z, m.Low, low)
		}
		if high := m.Mid + math.Hypot((1-reserve)*(d.High-d.Mid), own); math.Abs(m.High-math.Min(1, high)) > 1e-4 {
			t.Errorf("z %.1f: upper limit %.4f, want %.4f", z, m.High, high)
		}
		truth := 1 - (1-reserve)*(1-c.Severity)
		if m.Mid <= last || m.Low > truth || m.High < truth {
			t.Errorf("z %.1f: %.3f [%.3f, %.3f] after %.3f; %.3f are missing", z, m.Mid, m.Low, m.High, last, truth)
		}
		last = m.Mid
		no := false
		s.Machine.Receiver = &no
		q := run(t, s, f, Options{NoPairs: true})
		d = deficit(q)
		near("no receiver", q.Missing.Reserve, 0)
		near("no receiver, middle", q.Missing.Mid, d.Mid)
		near("no receiver, low", q.Missing.Low, d.Low)
		near("no receiver, high", q.Missing.High, d.High)
	}
}
