package diagnose

import (
	"math"
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// TestPredict_OneGauge: readings that share an error have together the density of a normal whose covariance has that
// error's variance in every place, Σ = diag(s²) + v vᵀ: the product of their deviations is the root of its determinant
// (1 + Σ v²/s²)·Π s² and their squared standardised residuals add up to Σ r²/s² − (Σ v r/s²)²/(1 + Σ v²/s²) (Sherman and
// Morrison). So for one gauge at head, standing pressure and liquid; read with gauges of two kinds they share nothing.
func TestPredict_OneGauge(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	for _, other := range []reading.Instrument{reading.InstrumentUnknown, reading.DigitalGauge} {
		s := freezer(1, 76, 24, 252, reading.Clear)
		s.Readings = append(
			s.Readings,
			reading.Reading{At: reading.LiquidPressure, Value: psig(248), Instrument: other},
			reading.Reading{At: reading.StandingPressure, Value: f.DewT(degF(76)), Instrument: other},
		)
		q, _ := judged(t, s, f)
		h := hypothesis{n: plant.NumNuisances, rate: 1}
		var x [maxParams]float64
		at, ok := q.evaluate(&h, &x, nil)
		if !ok {
			t.Fatal("no state")
		}
		k := 0
		for i := range q.e.obs {
			if o := &q.e.obs[i]; o.bias == biasHead {
				o.y = at.pred[i] + [3]float64{1.1, -0.7, 0.4}[k]
				k++
				q.predict(&h, &x, at.in, &at.r.Out, &at.pred)
			}
		}
		// What each would show beside the shared error: before any observation was counted.
		alone := at.pred
		off := 0.0
		var det, sum, vs, vr, logs, squares float64 = 1, 0, 0, 0, 0, 0
		for i := range q.e.obs {
			o := &q.e.obs[i]
			if o.bias != biasHead {
				continue
			}
			if o.common.of == headGauge {
				alone[i] -= o.common.load * off
				off += o.says(at.pred[i])
			}
			v, s2, r := o.common.load, o.common.own*o.common.own+o.discrepancy*o.discrepancy, o.y-alone[i]
			if o.common.of == sharesNone {
				v, s2 = 0, o.measure*o.measure+o.discrepancy*o.discrepancy
			}
			if math.Abs(o.y-at.pred[i]) > farthest*o.sigma() {
				t.Fatalf("%s: %g K off", o.at, o.y-at.pred[i])
			}
			det *= s2
			sum += r * r / s2
			vs += v * v / s2
			vr += v * r / s2
			logs += 2 * math.Log(o.sigma())
			squares += (o.y - at.pred[i]) * (o.y - at.pred[i]) / (o.sigma() * o.sigma())
		}
		if want := math.Log(det * (1 + vs)); math.Abs(logs-want) > 1e-9 {
			t.Errorf("%v: log determinant %.6f, want %.6f", other, logs, want)
		}
		if want := sum - vr*vr/(1+vs); math.Abs(squares-want) > 1e-9 {
			t.Errorf("%v: squares %.6f, want %.6f", other, squares, want)
		}
	}
}

// TestRun_GaugeOff: a head gauge 20 psi high shows so at head and at standing pressure. A sound machine with a healthy
// visit on file is held for sound far sooner than where each pressure, with the uncertainty it had by itself, speaks alone.
func TestRun_GaugeOff(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	well := func(u float64) float64 {
		s, ok := clean(t, machineOf("R-404A", reading.WalkInFreezer), f)
		if !ok {
			t.Fatal("trips")
		}
		s.Readings = append(s.Readings, reading.Reading{At: reading.StandingPressure, Value: f.DewT(degF(80))})
		before := s
		before.Readings = slices.Clone(s.Readings)
		for i := range s.Readings {
			if r := &s.Readings[i]; r.At == reading.DischargePressure || r.At == reading.StandingPressure {
				r.Value += 20 * units.Psi
				r.U = u
			}
		}
		s.HealthyVisits = []reading.Sheet{before}
		return run(t, s, f, Options{NoPairs: true}).PHealthy
	}
	one, alone := well(0), well(3*units.Psi)
	t.Logf("healthy %.3f, %.3f each by itself", one, alone)
	if one < 2*alone {
		t.Errorf("healthy %.3f on one gauge, %.3f each by itself: twice as likely asked", one, alone)
	}
}
