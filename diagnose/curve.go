package diagnose

import (
	"context"
	"math"
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/proof/pulldown"
)

// PullDown is the key of the pull-down of the same visit among the evidence of a cause.
const PullDown = "pulldown"

// capacitySd is what is not known of a capacity whose machine is known, as a share. Judgement, ours: catalogues of
// compressors are good to 5 % (published tolerance of their rating), the coil to as much again.
const capacitySd = 0.08

// worthCapacity is how many nats behind the best a hypothesis may be whose capacity is reckoned by itself; of the others
// it is as of machines nobody has read.
const worthCapacity = 14

// curve is what a pull-down says, and the loads it was against.
type curve struct {
	says           *pulldown.Message
	chosen, excess []pulldown.Share // given what was measured of the room; adding up to one
	z              []float64        // the severity of each load that is too much
	both           float64          // prior probability of too much load beside another fault
	none           float64          // log likelihood of a machine nobody knows,
	noneMachine    []pulldown.Machine
}

// RunWithPull judges a sheet and the pull-down of the same end of a visit together: what the curve says goes into the
// causes, what the readings say into the forecast, each once.
//
//   - in: as of [Run] and [pulldown.Judge]
//   - out: the answers of both
//   - errors: of the sheet and of the pull-down, each beside its answer. A sheet that cannot be judged leaves the
//     pull-down to be judged by itself
//   - source: definition: both are independent given the machine and its room; section 9 of docs/physics.md
//   - cost: the two together and about 40 ms
func RunWithPull(ctx context.Context, ev Evidence, o Options, points []pulldown.Point, p pulldown.Options) (
	post Posterior, r pulldown.Result, wrong, wrongPull error,
) {
	o.Pull, wrongPull = pulldown.Says(points, p)
	if post, wrong = Run(ctx, ev, o); wrong == nil {
		p.Machine = post.Machines
	}
	if wrongPull == nil {
		r, wrongPull = pulldown.Judge(points, p)
	}
	return post, r, wrong, wrongPull
}

// curveOf divides the loads a room may have, given what was measured of it.
func (q *problem) curveOf(says *pulldown.Message) *curve {
	if says == nil {
		return nil
	}
	c := &curve{says: says}
	x, ok := q.cat.Find(fault.ExcessLoad)
	if !ok {
		return nil
	}
	total := 0.0
	for i := range q.cat.Faults {
		total += q.cat.Faults[i].BaseRate
	}
	c.both = (1 - q.healthyRate() - q.cat.NoneRate) * x.BaseRate / total
	add := func(to []pulldown.Share, z, load float64) []pulldown.Share {
		w := math.Exp(-0.5 * z * z)
		if l := q.sheet.RoomLoad; l != nil {
			w *= math.Exp(heavy.log(l.Share-load, l.U))
		}
		return append(to, pulldown.Share{Weight: w, Value: load})
	}
	const n = 40
	for i := range n {
		z := -4 + 8*(float64(i)+0.5)/n
		if load := chosenShare + chosenSd*z; load <= chosenMost {
			c.chosen = add(c.chosen, z, load)
		}
		c.excess = add(c.excess, z, 1+x.Severity(z))
		c.z = append(c.z, z)
	}
	for _, s := range [][]pulldown.Share{c.chosen, c.excess} {
		sum := 0.0
		for _, v := range s {
			sum += v.Weight
		}
		for i := range s {
			s[i].Weight /= sum
		}
	}
	return c
}

// gives is what the machine of a hypothesis gives at the set point over what it was designed for, and how that grows
// with the box: the severity in three parts, the rest of what is unknown as a width.
//
//   - source: Gauss-Hermite of three points (exact to the fifth power of the severity)
func (q *problem) gives(h *hypothesis, says *pulldown.Message) []pulldown.Machine {
	n := h.n
	at := func(x *[maxParams]float64, box float64) (float64, bool) {
		d, in, ch := q.machineAt(h, x)
		in.BoxT = box
		p, err := plant.NewWithoutCharge(d, q.f)
		if err != nil {
			return 0, false
		}
		h.solves++
		r := p.Solve(in, ch, plant.Options{Tolerance: tolerance})
		return r.Out[plant.Capacity], r.Status.OK() && r.Out[plant.Capacity] > 0
	}
	set, start := float64(says.SetPoint), float64(says.Start)
	var jac [maxParams]float64
	for j := range n {
		jac[j] = h.outJ[j][plant.Capacity]
	}
	rest := h.variance(&jac)
	nodes := []float64{0}
	weights := []float64{1}
	k := plant.NumNuisances
	var along [maxParams]float64
	if n > k && !h.load && h.cov[k*n+k] > 1e-9 {
		sd := math.Sqrt(h.cov[k*n+k])
		by := 0.0
		for j := range n {
			along[j] = h.cov[j*n+k] / sd
			by += jac[j] * along[j]
		}
		rest = math.Max(0, rest-by*by)
		nodes, weights = []float64{-math.Sqrt(3), 0, math.Sqrt(3)}, []float64{1.0 / 6, 2.0 / 3, 1.0 / 6}
	}
	out := make([]pulldown.Machine, 0, len(nodes))
	for i, z := range nodes {
		x := h.x
		for j := range n {
			x[j] += z * along[j]
		}
		m := pulldown.Machine{Weight: weights[i], Gives: math.Max(0, h.out[plant.Capacity]), Sd: math.Hypot(capacitySd, math.Sqrt(rest))}
		cold, ok := at(&x, set)
		if ok {
			m.Gives = cold
		}
		m.Grows = pulldown.CapacitySlope
		if warm, fine := at(&x, math.Max(start, set+3)); ok && fine {
			m.Grows = (warm/cold - 1) / (math.Max(start, set+3) - set)
		}
		out = append(out, m)
	}
	return out
}

// against gives machines their loads.
func against(ms []pulldown.Machine, loads []pulldown.Share, weight float64) []pulldown.Machine {
	out := slices.Clone(ms)
	for i := range out {
		out[i].Loads = loads
		out[i].Weight *= weight
	}
	return out
}

// log is the log likelihood of the curve by machines that add up to one.
func (c *curve) log(ms []pulldown.Machine) float64 {
	sum := 0.0
	for _, m := range ms {
		sum += m.Weight * math.Exp(c.says.Of(m))
	}
	return math.Log(sum)
}

// weighCurve adds to each hypothesis what the pull-down says of it: the mean of its likelihood over what the machine may
// give, after its readings, and over the loads it may work against. What was measured of the room is in those loads and
// counts with the curve in one sum. It returns the same of none of these.
func (q *problem) weighCurve(all []*hypothesis) float64 {
	c, r := q.e.curve, q.e.room
	if c == nil {
		return 0
	}
	chosen, excess := 0.0, 0.0
	if r != nil {
		chosen, excess = r.chosen, r.excess
	}
	best := bestOf(all)
	anything := pulldown.AnyMachine(1, nil)
	anything = append(anything, pulldown.AnyMachine(0, nil)...)
	for i := range anything {
		anything[i].Weight *= 0.5
	}
	add := func(a, b float64) float64 {
		m := math.Max(a, b)
		return m + math.Log(math.Exp(a-m)+math.Exp(b-m))
	}
	mixed := func(ms []pulldown.Machine) (all, beside float64, prior []pulldown.Machine) {
		in, out := math.Log(1-c.both)+chosen, math.Log(c.both)+excess
		room := add(in, out)
		prior = append(against(ms, c.chosen, math.Exp(in-room)), against(ms, c.excess, math.Exp(out-room))...)
		over := out + c.log(against(ms, c.excess, 1))
		all = add(in+c.log(against(ms, c.chosen, 1)), over)
		return all - room, math.Exp(over - all), prior
	}
	one := func(h *hypothesis) {
		ms := anything
		if score(h) > best-worthCapacity {
			ms = h.of.gives(h, c.says)
		}
		switch {
		case h.load:
			h.machine = against(ms, c.excess, 1)
			h.curve = c.log(h.machine)
			h.loadZ = c.severity(ms)
		case len(h.faults) == 0:
			h.machine = against(ms, c.chosen, 1)
			h.curve = c.log(h.machine)
		default:
			h.curve, h.beside, h.machine = mixed(ms)
		}
		h.marks += h.curve
		h.logZ += h.curve
	}
	for _, h := range all {
		if h.ok {
			one(h)
		}
	}
	none, _, machine := mixed(anything)
	c.none, c.noneMachine = none, machine
	return none
}

// severity is how far the load is too much, in standard normals, 5, 50 and 95 %.
func (c *curve) severity(ms []pulldown.Machine) *[3]float64 {
	w := make([]float64, len(c.excess))
	all := 0.0
	for i, s := range c.excess {
		w[i] = s.Weight * math.Exp(c.log(against(ms, []pulldown.Share{{Weight: 1, Value: s.Value}}, 1)))
		all += w[i]
	}
	var out [3]float64
	s, k := 0.0, 0
	for i, v := range w {
		s += v / all
		for ; k < 3 && s >= [3]float64{0.05, 0.5, 0.95}[k]-1e-12; k++ {
			out[k] = c.z[i]
		}
	}
	return &out
}

// machines is what the readings say the machine may be, the curve not counted: what its forecast starts from.
func (q *problem) machines(all []*hypothesis) (out []pulldown.Machine) {
	c := q.e.curve
	if c == nil {
		return nil
	}
	add := func(ms []pulldown.Machine, weight float64) {
		for _, m := range ms {
			if m.Weight *= weight; m.Weight > 0 {
				out = append(out, m)
			}
		}
	}
	most := 0.0
	for _, h := range all {
		most = math.Max(most, h.posterior*math.Exp(-h.curve))
	}
	most = math.Max(most, q.pNone*math.Exp(-c.none))
	for _, h := range all {
		if w := h.posterior * math.Exp(-h.curve); h.ok && w > 1e-3*most {
			add(h.machine, w)
		}
	}
	add(c.noneMachine, q.pNone*math.Exp(-c.none))
	sum := 0.0
	for _, m := range out {
		sum += m.Weight
	}
	for i := range out {
		out[i].Weight /= sum
	}
	return out
}

// excessBeside is the probability that the load is too much as well, given a fault that is not of the load.
func (q *problem) excessBeside(h *hypothesis) float64 {
	if q.e.curve != nil {
		return h.beside
	}
	return q.e.room.excessBeside(h)
}

// item is how the curve speaks for a hypothesis: where the box would end, by the curve alone and by the machine.
func (c *curve) item(h, healthy, against *hypothesis) Item {
	it := Item{At: PullDown, Measured: float64(c.says.Likeliest())}
	band := func(h *hypothesis) Band {
		e := c.says.End(h.machine)
		return Band{float64(e[0]), float64(e[1]), float64(e[2])}
	}
	it.IfThis = band(h)
	if healthy.ok {
		it.IfHealthy = band(healthy)
		if h != healthy {
			it.NatsAgainstHealthy = h.curve - healthy.curve
		}
	}
	if against != nil && against.ok && against != h {
		it.NatsAgainstRunner = h.curve - against.curve
	}
	return it
}
