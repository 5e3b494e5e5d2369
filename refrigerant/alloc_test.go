package refrigerant

import "testing"

// TestExact_NoAllocation: the equation answers from the stack, for one fluid and for the largest blends on file, in one phase and in two.
func TestExact_NoAllocation(t *testing.T) {
	for _, name := range []string{"R-134a", "R-744", "R-404A", "R-438A", "R-455A", "R-470A"} {
		r := mustLoad(t, name)
		const p, Ts = 1.2e6, 270.0
		hot, err := r.StatePT(p, 350, Options{})
		if err != nil {
			t.Fatal(err)
		}
		wet, err := r.StatePX(p, 0.4, Options{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := r.BubbleP(p, Options{})
		if err != nil {
			t.Fatal(err)
		}
		cold := b.T - 10
		liquid, err := r.StatePT(p, cold, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			what string
			ask  func() error
		}{
			{"vapour at p, T", func() error { _, err := r.StatePT(p, 350, Options{}); return err }},
			{"liquid at p, T", func() error { _, err := r.StatePT(p, cold, Options{}); return err }},
			{"vapour at p, h", func() error { _, err := r.StatePH(p, hot.H, Options{}); return err }},
			{"liquid at p, h", func() error { _, err := r.StatePH(p, liquid.H, Options{}); return err }},
			{"two phases at p, h", func() error { _, err := r.StatePH(p, wet.H, Options{}); return err }},
			{"vapour at p, s", func() error { _, err := r.StatePS(p, hot.S, Options{}); return err }},
			{"two phases at p, s", func() error { _, err := r.StatePS(p, wet.S, Options{}); return err }},
			{"two phases at p, x", func() error { _, err := r.StatePX(p, 0.4, Options{}); return err }},
			{"dew at p", func() error { _, err := r.DewP(p, Options{}); return err }},
			{"bubble at p", func() error { _, err := r.BubbleP(p, Options{}); return err }},
			{"dew at T", func() error { _, err := r.DewT(Ts, Options{}); return err }},
			{"bubble at T", func() error { _, err := r.BubbleT(Ts, Options{}); return err }},
		} {
			if err := c.ask(); err != nil {
				t.Errorf("%s, %s: %v", name, c.what, err)
				continue
			}
			if n := testing.AllocsPerRun(5, func() { _ = c.ask() }); n != 0 {
				t.Errorf("%s, %s: %g allocations", name, c.what, n)
			}
		}
	}
}
