package diagnose

import (
	"math"
	"sort"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// insideIsNotAgainstHealthy takes back what a reading that stands inside its healthy band says against nothing being
// wrong: the other readings, fitted to a healthy machine, may move what it should show, but whoever sees the reading and
// its band sees that it is as it should be. The posterior weighs all readings together and is not touched.
func (it *Item) insideIsNotAgainstHealthy(runnerIsHealthy bool) {
	if it.Word != "" || it.IfHealthy.Low >= it.IfHealthy.High || it.Measured < it.IfHealthy.Low || it.Measured > it.IfHealthy.High {
		return
	}
	it.NatsAgainstHealthy = math.Min(0, it.NatsAgainstHealthy)
	if runnerIsHealthy {
		it.NatsAgainstRunner = math.Min(0, it.NatsAgainstRunner)
	}
}

// insideIsNotAgainst takes back what a reading says against a cause that it stands inside the band of: whoever sees both
// sees that it would read so.
func (it *Item) insideIsNotAgainst() {
	if it.Word != "" || !it.IfThis.Known() || it.Measured < it.IfThis.Low || it.Measured > it.IfThis.High {
		return
	}
	it.NatsAgainstHealthy = math.Max(0, it.NatsAgainstHealthy)
	it.NatsAgainstRunner = math.Max(0, it.NatsAgainstRunner)
}

// wouldShow is what a machine of this kind would show today with this cause as bad as the readings make it: like the
// band of the healthy one it leaves open how the machine is built, and no other reading narrows it.
//
//   - out: middle and standard deviation in the model's terms
//   - assumes: straight along the machine's unknowns, from where the cause fits best
func (q *problem) wouldShow(h *hypothesis, i int) (mid, sd float64) {
	const N = plant.NumNuisances
	s := q.e.obs[i].sigma()
	mid = h.pred[i]
	v := s * s
	for j := range min(N, h.n) {
		mid -= h.jac[i][j] * h.x[j]
		v += h.jac[i][j] * h.jac[i][j]
	}
	for j := N; j < h.n; j++ {
		for k := N; k < h.n; k++ {
			v += h.jac[i][j] * h.cov[j*h.n+k] * h.jac[i][k]
		}
	}
	return mid, math.Sqrt(math.Max(v, s*s))
}

// evidenceFor says how each reading and each thing seen speaks for h, against the healthy machine and against the
// hypothesis it is held against: the density of the reading predicted from the others under the one and the other.
func (q *problem) evidenceFor(h, healthy, against *hypothesis, bands []Expectation) []Item {
	var items []Item
	for i := range q.e.obs {
		o := &q.e.obs[i]
		it := Item{At: o.at.String(), Measured: o.measured}
		own := q.leaveOut(h, i)
		if healthy.ok && h != healthy {
			it.NatsAgainstHealthy = own - q.leaveOut(healthy, i)
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = own - q.leaveOut(against, i)
		}
		mid, sd := q.wouldShow(h, i)
		base := 0.0
		if o.out == plant.DrierDrop && !o.drierLevel && o.at == reading.DrierOut {
			base = math.NaN()
		}
		conv := func(y float64) float64 { return o.si(q.f, y) }
		if math.IsNaN(base) { // shown as the outlet temperature it would be
			inlet := o.measured + o.y
			it.IfThis = Band{inlet - (mid + z95*sd), inlet - mid, inlet - math.Max(0, mid-z95*sd)}
		} else {
			it.IfThis = Band{conv(mid - z95*sd), conv(mid), conv(mid + z95*sd)}
		}
		for _, b := range bands {
			if b.At == o.at {
				it.IfHealthy = b.Band
			}
		}
		if h == healthy && it.IfHealthy.Known() {
			it.IfThis = it.IfHealthy
		}
		items = append(items, it)
	}
	word := func(key, w string, p func(h *hypothesis) float64) {
		if w == "" {
			return
		}
		it := Item{At: key, Word: w}
		own := p(h)
		it.IfThis.Mid = own
		if healthy.ok {
			it.IfHealthy.Mid = p(healthy)
			if h != healthy {
				it.NatsAgainstHealthy = math.Log(own / it.IfHealthy.Mid)
			}
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = math.Log(own / p(against))
		}
		items = append(items, it)
	}
	sn := q.e.seen
	word("glass", sn.Glass.String(), func(h *hypothesis) float64 { return pGlass(sn.Glass, h.out[plant.GlassQuality]) })
	word("condenser_dirt", sn.CondenserDirt.String(), func(h *hypothesis) float64 { return pDirt(sn.CondenserDirt, h.change.CondenserAir) })
	word("coil_ice", sn.CoilIce.String(), func(h *hypothesis) float64 { return pIce(sn.CoilIce, h.change.CoilAir) })
	if r := q.e.room; r != nil {
		it := Item{At: RoomLoad, Measured: r.share, IfHealthy: r.ifChosen, IfThis: r.ifChosen}
		if h.load {
			it.IfThis = r.ifEx
		}
		if healthy.ok && h != healthy {
			it.NatsAgainstHealthy = r.log(h) - r.log(healthy)
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = r.log(h) - r.log(against)
		}
		items = append(items, it)
	}
	if c := q.e.curve; c != nil && len(h.machine) > 0 {
		items = append(items, c.item(h, healthy, against))
	}
	for i := range items {
		items[i].insideIsNotAgainstHealthy(against == healthy)
		items[i].insideIsNotAgainst()
	}
	sort.SliceStable(items, func(i, j int) bool {
		return math.Abs(items[i].NatsAgainstHealthy)+math.Abs(items[i].NatsAgainstRunner) > math.Abs(items[j].NatsAgainstHealthy)+
			math.Abs(items[j].NatsAgainstRunner)
	})
	return items
}

// leaveOut is the log predictive density of reading i from the others under h, linearised at its best fit.
func (q *problem) leaveOut(h *hypothesis, i int) float64 {
	o := &q.e.obs[i]
	s2 := o.sigma() * o.sigma()
	lev := math.Min(0.95, h.variance(&h.jac[i])/s2)
	r := (o.y - h.pred[i]) / (1 - lev)
	return o.log(o.y-r, math.Sqrt(s2/(1-lev)))
}
