package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// TestEvidence_OneDefinition: the band under a cause is that of such a machine today, as the band of the healthy one is,
// so that the two agree for the healthy machine, and a reading inside the band of a cause never speaks against it.
func TestEvidence_OneDefinition(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	inside, narrow := 0, 0
	for _, head := range []float64{170, 230, 290, 350} {
		for _, suction := range []float64{5, 15, 25} {
			s := freezer(3, 75, suction, head, reading.Clear)
			s.Readings = append(
				s.Readings,
				reading.Reading{At: reading.CoilOutletLine, Value: degF(-1)},
				reading.Reading{At: reading.LiquidLine, Value: degF(90)},
				reading.Reading{At: reading.DischargeLine, Value: degF(190)},
			)
			p := run(t, s, f, Options{NoPairs: true})
			for _, h := range p.Ranked {
				for _, it := range h.Evidence {
					if it.Word != "" || !it.IfThis.Known() {
						continue
					}
					for _, e := range p.Expected {
						if e.At.String() != it.At {
							continue
						}
						if h.Faults[0] == fault.Healthy && it.IfThis != e.Band {
							t.Errorf("%s of a healthy machine: %+v here, %+v on the ladder", it.At, it.IfThis, e.Band)
						}
						if it.IfThis.High-it.IfThis.Low < 0.5*(e.Band.High-e.Band.Low) {
							narrow++
						}
					}
					if it.Measured >= it.IfThis.Low && it.Measured <= it.IfThis.High {
						inside++
						if math.Min(it.NatsAgainstHealthy, it.NatsAgainstRunner) < 0 {
							t.Errorf("%s inside what %v would show speaks against it: %+v", it.At, h.Faults, it)
						}
					}
				}
			}
		}
	}
	if inside < 200 {
		t.Errorf("only %d readings stood inside a band", inside)
	}
	t.Logf("%d inside, %d bands less than half the healthy one's", inside, narrow)
}
