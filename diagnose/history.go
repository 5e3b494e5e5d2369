package diagnose

import (
	"math"
	"slices"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// ofTheDay are the nuisances that say nothing of another visit.
var ofTheDay = [...]int{plant.NBox, plant.NAmbient, plant.NHumidity}

// learn turns a healthy visit into a narrower prior of the design nuisances and into the reading habits of this
// machine. Drift is added; box, ambient and humidity are of that day, and design values are as they were at its distance
// from the design point.
func (q *problem) learn(h reading.Sheet) (logZ float64) {
	v := *q
	v.e = observe(h, q.m, q.f, 1)
	// What earlier visits taught about a reading is known at this one: nothing is learned twice.
	for i := range v.e.obs {
		o := &v.e.obs[i]
		for k := range q.e.obs {
			if w := &q.e.obs[k]; w.at == o.at && w.drop == o.drop && !w.fromBox {
				o.discrepancy = math.Sqrt(math.Max(0, o.discrepancy*o.discrepancy-(o.lasting-w.lasting)))
				o.offset, o.lasting = w.offset, w.lasting
			}
		}
	}
	v.e.shareErrors(h)
	const N = plant.NumNuisances
	own := basePrior(h.Machine, q.m, &v.e)
	phi := distances(&v.e, q.m, q.f)
	v.scale = scale{}
	var ok bool
	if v.p, ok = q.of.prior(&phi, &own); !ok {
		return math.Log(1e-6)
	}
	hyp := hypothesis{n: N, rate: 1}
	v.fit(&hyp, [][maxParams]float64{{}}, nil)
	if !hyp.ok {
		return math.Log(1e-6)
	}
	q.e.amps.learn(h, reading.Amps, hyp.out[plant.AmpsRatio])
	q.e.power.learn(h, reading.Power, hyp.out[plant.PowerRatio])
	// z = mean + L x: new mean and covariance in z, plus drift.
	var mean [N]float64
	var c [N * N]float64
	for i := range N {
		mean[i] = v.p.mean[i]
		for j := 0; j <= i; j++ {
			mean[i] += v.p.l[i*N+j] * hyp.x[j]
		}
	}
	var lc [N * N]float64
	for i := range N {
		for j := range N {
			for k := 0; k <= i; k++ {
				lc[i*N+j] += v.p.l[i*N+k] * hyp.cov[k*N+j]
			}
		}
	}
	for i := range N {
		for j := range N {
			for k := 0; k <= j; k++ {
				c[i*N+j] += lc[i*N+k] * v.p.l[j*N+k]
			}
		}
	}
	now := basePrior(q.sheet.Machine, q.m, &q.e)
	if !q.of.learn(&phi, &mean, c[:]) {
		return hyp.logZ
	}
	for i := range N {
		if !slices.Contains(ofTheDay[:], i) {
			sd := drift(q.m, i)
			q.of.cov[i*numHidden+i] += sd * sd
		}
	}
	q.today(&now)
	// Of what the visit left unexplained, the lasting bias takes its share.
	for i := range v.e.obs {
		o := &v.e.obs[i]
		for k := range q.e.obs {
			w := &q.e.obs[k]
			if w.at != o.at || w.drop != o.drop || w.fromBox {
				continue
			}
			all := o.sigma() * o.sigma()
			w.offset += w.lasting / all * (o.y - hyp.pred[i])
			// Variance of the reading before this visit's fit, from what the fit leaves of it.
			before := all / (1 - math.Min(0.95, hyp.variance(&hyp.jac[i])/all))
			learned := w.lasting * w.lasting / before
			w.lasting -= learned
			w.discrepancy = math.Sqrt(math.Max(0, w.discrepancy*w.discrepancy-learned))
		}
	}
	q.e.shareErrors(q.sheet)
	return hyp.logZ
}
