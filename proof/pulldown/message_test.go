package pulldown

import (
	"math"
	"testing"

	"coldwright/units"
)

// dense is the log density of the looks under one structure, time constants, residual and end, from the whole covariance
// matrix: nothing is whitened, nothing integrated by parts; with it the mean of where the box then ends, K.
func dense(ls []look, s *structure, tau [3]float64, r residual, set, above float64) (log, end float64) {
	p := s.priorOf(ends{1, set + above, balanceSd}, ls[0].temp, nil)
	// The covariance of the coefficients is the inverse of their precision, by Gauss and Jordan.
	var cov [order][2 * order]float64
	for i := range order {
		for j := range order {
			cov[i][j] = p.precision[i*order+j]
		}
		cov[i][order+i] = 1
	}
	for i := range order {
		d := cov[i][i]
		for j := range cov[i] {
			cov[i][j] /= d
		}
		for k := range order {
			if k != i {
				f := cov[k][i]
				for j := range cov[k] {
					cov[k][j] -= f * cov[i][j]
				}
			}
		}
	}
	n := len(ls)
	feature := func(i int) vec {
		m := ls[i].minute - ls[0].minute
		return vec{1, math.Exp(-m / tau[0]), math.Exp(-m / tau[1]), math.Exp(-m / tau[2])}
	}
	a := make([][]float64, n)
	for i := range a {
		a[i] = make([]float64, n+2)
		fi := feature(i)
		a[i][n] = ls[i].temp
		for k := range order {
			a[i][n] -= p.mean[k] * fi[k]
			a[i][n+1] += cov[0][order+k] * fi[k]
		}
		for j := range n {
			fj := feature(j)
			for k := range order {
				for l := range order {
					a[i][j] += fi[k] * cov[k][order+l] * fj[l]
				}
			}
			a[i][j] += r.sd * r.sd * math.Exp(-math.Abs(ls[i].minute-ls[j].minute)/r.tau)
		}
		a[i][i] += ls[i].variance
	}
	// Elimination: half the logarithm of the determinant, and the quadratic form.
	end = p.mean[0]
	for i := range n {
		d := a[i][i]
		end += a[i][n] * a[i][n+1] / d
		log -= 0.5 * (math.Log(d) + a[i][n]*a[i][n]/d)
		for k := i + 1; k < n; k++ {
			f := a[k][i] / d
			for j := i; j <= n+1; j++ {
				a[k][j] -= f * a[i][j]
			}
		}
	}
	return log, end
}

// The message and the circuit's likelihood, each by itself, against the joint of both enumerated on a grid: three causes
// with a capacity each, eight loads, and every structure, time constant and residual with its density from the whole
// covariance matrix. Causes after curve and readings, and where the box ends after both, must be the same from either side.
func TestMessage_JointIsEnumeration(t *testing.T) {
	pts := points(0, 31, 12, 25, 25, 22, 38, 21)
	o := Options{SetPoint: units.Fahrenheit(0)}
	says, err := Says(pts, o)
	if err != nil || says == nil {
		t.Fatal(says, err)
	}
	causes := []Machine{
		{Weight: 0.6, Gives: 1, Sd: 0.1, Grows: 0.025, Loads: Normal(0.75, 0.12, 1)},
		{Weight: 0.3, Gives: 0.55, Sd: 0.15, Grows: 0.03, Loads: Normal(0.75, 0.12, 1)},
		{Weight: 0.1, Gives: 1, Sd: 0.1, Grows: 0.025, Loads: Normal(1.3, 0.2, 1)},
	}
	sorted, err := inOrder(pts)
	if err != nil {
		t.Fatal(err)
	}
	ls := looks(sorted, scatter(sorted, 0))
	set := float64(o.SetPoint)
	curve := map[float64][2]float64{} // density of the looks by the end, and where the box then ends
	both := func(above float64) [2]float64 {
		if v, ok := curve[above]; ok {
			return v
		}
		var sum [2]float64
		for i := range structures {
			s := &structures[i]
			at := timesOf[s.bodies()]
			for _, r := range residuals {
				for i1, t1 := range at.at[0] {
					for i2, t2 := range at.at[1] {
						for i3, t3 := range at.at[2] {
							log, end := dense(ls, s, [3]float64{ladder[t1], ladder[t2], ladder[t3]}, r, set, above)
							p := s.prior * r.prior * at.p[0][i1] * at.p[1][i2] * at.p[2][i3] * math.Exp(log)
							sum[0], sum[1] = sum[0]+p, sum[1]+p*(end-set)
						}
					}
				}
			}
		}
		sum[1] /= sum[0]
		curve[above] = sum
		return sum
	}
	density := func(above float64) float64 { return both(above)[0] }
	// The likelihood itself, at ends between the steps of the message.
	for _, x := range []float64{-8.3, 2.4, 14.6} {
		want := math.Log(density(x) / density(10))
		if got := says.at(x) - says.at(10); math.Abs(got-want) > 0.03 {
			t.Errorf("end %g K above the set point: %.3f nats against 10 K, enumerated %.3f", x, got, want)
		}
	}
	// Joint on the grid: rounded ends, so that each density is reckoned once.
	grid := func(x float64) float64 { return math.Round(x) }
	found := o.standing(float64(pts[0].Box) - set)
	blank, all := 0.0, 0.0
	for _, m := range AnyMachine(soundShare, AnyLoad()) {
		m.balance(func(above, w float64) {
			blank += m.Weight * w * density(grid(above))
			all += m.Weight * w
		})
	}
	blank /= all
	joint := make([]float64, len(causes))
	end, sum := 0.0, 0.0
	for k, m := range causes {
		m.balance(func(above, w float64) {
			p := m.Weight * w * found.likelier(above) * ((1-astray)*density(grid(above)) + astray*blank)
			joint[k] += p
			sum += p
			end += p * both(grid(above))[1]
		})
	}
	posterior, total := make([]float64, len(causes)), 0.0
	for k, m := range causes {
		posterior[k] = m.Weight * math.Exp(says.Of(m))
		total += posterior[k]
	}
	for k := range causes {
		if got, want := posterior[k]/total, joint[k]/sum; math.Abs(got-want) > 0.01 {
			t.Errorf("cause %d: %.4f by messages, %.4f enumerated (%.2f before the curve)", k, got, want, causes[k].Weight)
		} else {
			t.Logf("cause %d: %.4f by messages, %.4f enumerated (%.2f before the curve)", k, got, want, causes[k].Weight)
		}
	}
	// The other way: the causes go into the forecast, and its ends are those of the joint.
	o.Machine = causes
	got := 0.0
	for _, c := range infer(sumsOf(ls, ls[0].temp), o.endsBeside(sorted), ls[0].temp, nil) {
		got += c.weight * (ls[0].temp + c.mean[0] - set)
	}
	end /= sum
	if math.Abs(got-end) > 0.3 {
		t.Errorf("the box ends %.2f K above its set point after both, enumerated %.2f", got, end)
	}
	t.Logf("the box ends %.2f K above its set point after both, enumerated %.2f", got, end)
}
