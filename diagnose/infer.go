package diagnose

import (
	"math"
	"math/rand/v2"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/num"
	"coldwright/refrigerant"
)

const (
	nu        = 5.0 // degrees of freedom of the residuals; see light
	maxParams = plant.NumNuisances + 2
	maxObs    = 24
)

// tails is a t distribution of residuals with the stated standard deviation.
type tails struct{ nu, scale, norm float64 }

func newTails(nu float64) tails {
	a, _ := math.Lgamma((nu + 1) / 2)
	b, _ := math.Lgamma(nu / 2)
	return tails{nu, math.Sqrt((nu - 2) / nu), a - b - 0.5*math.Log(nu*math.Pi)}
}

// A reading far off is explained by the heavy tails of its residual, unless the instrument that took it is under
// suspicion itself: then the lying instrument is a hypothesis with its own rate, and its mass is not given a second
// time.
var (
	heavy = newTails(nu)
	light = newTails(lightNu)
)

const lightNu = 30.0

// tScale makes the heavy tails have the stated standard deviation.
var tScale = heavy.scale

// log is the log density of a residual r with standard deviation sd.
func (t *tails) log(r, sd float64) float64 {
	s := sd * t.scale
	return t.norm - math.Log(s) - (t.nu+1)/2*math.Log1p(r*r/(t.nu*s*s))
}

// logT is the log density of a residual with heavy tails.
func logT(r, sd float64) float64 { return heavy.log(r, sd) }

// prior of the nuisances: z = mean + L·ξ with ξ standard normal; L lower triangular, row-major, in units of each nuisance.
type prior struct {
	mean [plant.NumNuisances]float64
	l    [plant.NumNuisances * plant.NumNuisances]float64
}

// statedShrink narrows TD and split when somebody states them: a stated value is nominal, not measured at today's temperatures. Judgement.
const statedShrink = 0.75

func basePrior(m reading.Resolved, e *evidence) prior {
	var p prior
	for i, n := range plant.Nuisances() {
		sd := n.Sd
		switch i {
		case plant.NBox:
			sd = e.boxU
		case plant.NAmbient:
			sd = e.ambU
		case plant.NTD:
			if m.TDKnown {
				sd *= statedShrink
			}
		case plant.NSplit:
			if m.SplitKnown {
				sd *= statedShrink
			}
		}
		p.l[i*plant.NumNuisances+i] = sd
	}
	return p
}

// problem is the fixed part of one diagnosis.
type problem struct {
	sheet  reading.Sheet
	pNone  float64 // found by weigh
	f      *refrigerant.Fit
	m      reading.Resolved
	design plant.Design
	e      evidence
	p      prior
	cat    *fault.Catalogue
}

// hypothesis is a set of faults under trial.
type hypothesis struct {
	faults []*fault.Fault
	load   bool
	rate   float64
	// the best fit
	ok        bool
	x         [maxParams]float64
	n         int
	logZ      float64
	pred      [maxObs]float64
	jac       [maxObs][maxParams]float64 // d pred / d x
	cov       [maxParams * maxParams]float64
	out       plant.Outputs
	outJ      [maxParams]plant.Outputs
	slopeU    [maxParams][4]float64 // d U / d x, to start solves nearby
	change    plant.Change
	state     plant.Result // of the best fit
	untried   [][maxParams]float64
	end       *point // where the climb ended, while the slopes there are approximate
	posterior float64
	solves    int
	marks     float64 // log probability of marks and load, part of logZ
	refined   bool
	sampled   [2][3]float64 // severities in standard normals, 5, 50, 95 %
}

// place builds design, inputs and change at parameters x.
func (q *problem) place(h *hypothesis, x *[maxParams]float64) (d plant.Design, in plant.Inputs, ch plant.Change) {
	d = q.design
	in = plant.Inputs{BoxT: q.e.boxT, AmbientT: q.e.ambT}
	const N = plant.NumNuisances
	for i := range N {
		z := q.p.mean[i]
		for j := 0; j <= i; j++ {
			if l := q.p.l[i*N+j]; l != 0 {
				z += l * x[j]
			}
		}
		if z != 0 {
			plant.Shift(&d, &in, i, z)
		}
	}
	for k, f := range h.faults {
		s := f.Severity(x[N+k])
		if f.Code == fault.BoxThermometer && q.e.displayOnly {
			in.BoxT -= s // the only thermometer reads s too high
		}
		ch = fault.Apply(ch, f.Code, s)
	}
	return d, in, ch
}

// predict turns outputs into observations, with the biases of lying instruments.
func (q *problem) predict(h *hypothesis, x *[maxParams]float64, in plant.Inputs, out *plant.Outputs, pred *[maxObs]float64) {
	var suction, head, display, both float64
	for k, f := range h.faults {
		s := f.Severity(x[plant.NumNuisances+k])
		switch f.Code {
		case fault.SuctionGauge:
			suction += s
		case fault.DischargeGauge:
			head += s
		case fault.BoxThermometer:
			display += s
		case fault.CompositionShift, fault.WrongRefrigerant:
			both += s
		}
	}
	for i := range q.e.obs {
		o := &q.e.obs[i]
		v := out[o.out]
		switch {
		case o.fromBox:
			v = in.BoxT + display
		case o.drierLevel:
			v = out[plant.LiquidLineT] - out[plant.DrierDrop]
		case o.drop: // the gauge's own error is in both
			v = (q.f.DewT(out[plant.CoilDew]+both) - q.f.DewT(out[plant.SuctionDew]+both)) / o.slope
		}
		if o.slope > 0 && !o.drop {
			v += both
			switch o.bias {
			case biasSuction:
				v += suction / o.slope
			case biasHead:
				v += head / o.slope
			}
		}
		pred[i] = v + o.offset
	}
}

// logSeenAt is the log probability of things seen that depends on the state.
func (q *problem) logSeenAt(ch *plant.Change, out *plant.Outputs) float64 {
	s := 0.0
	if g := q.e.seen.Glass; g != reading.GlassUnknown {
		s += math.Log(pGlass(g, out[plant.GlassQuality]))
	}
	s += math.Log(pDirt(q.e.seen.CondenserDirt, ch.CondenserAir)) + math.Log(pIce(q.e.seen.CoilIce, ch.CoilAir))
	s += math.Log(
		math.Max(1e-12, pFans(q.e.seen.CondenserFans, ch.CondenserAir)),
	) + math.Log(
		math.Max(1e-12, pFans(q.e.seen.CoilFans, ch.CoilAir)),
	)
	return s
}

// point is one evaluated place in parameter space.
type point struct {
	x    [maxParams]float64
	in   plant.Inputs
	ch   plant.Change
	p    plant.Plant
	r    plant.Result
	pred [maxObs]float64
	obj  float64 // −log likelihood·prior without constants of the prior
	seen float64
}

// tolerance of the solves: a few thousandths of a kelvin, against readings good to some tenths.
const tolerance = 1e-5

func (q *problem) at(h *hypothesis, x *[maxParams]float64, near *plant.Result) (point, bool) {
	t := point{x: *x}
	d, in, ch := q.place(h, x)
	p, err := plant.Lazy(d, q.f)
	if err != nil {
		return t, false
	}
	t.p, t.in, t.ch = p, in, ch
	h.solves++
	t.r = t.p.Solve(in, ch, plant.Options{Near: near, Quick: near != nil, Tolerance: tolerance})
	if !t.r.Status.OK() || t.r.Trip != plant.TripNone {
		return t, false
	}
	q.predict(h, x, in, &t.r.Out, &t.pred)
	for i := range q.e.obs {
		o := &q.e.obs[i]
		t.obj -= o.tails.log(o.y-t.pred[i], o.sigma())
	}
	for i := range h.n {
		t.obj += 0.5 * x[i] * x[i]
	}
	t.seen = q.logSeenAt(&t.ch, &t.r.Out)
	t.obj -= t.seen
	return t, !math.IsNaN(t.obj)
}

// ahead is where the solution at x may be, by the slopes from a solved place: a start for a solve.
func (h *hypothesis) ahead(base *plant.Result, from, x *[maxParams]float64) *plant.Result {
	r := *base
	for k, most := range [4]float64{10, 0.5, 10, 0.15} {
		d := 0.0
		for j := range h.n {
			d += h.slopeU[j][k] * (x[j] - from[j])
		}
		r.U[k] += math.Max(-most, math.Min(most, d))
	}
	return &r
}

// linearise fills the Jacobian of the predictions and outputs at a point, from parameter first on.
func (q *problem) linearise(h *hypothesis, t *point, first int) bool {
	const step = 1e-3
	var near [maxParams]plant.Problem
	var steps [maxParams]float64
	var plus [maxParams]plant.Inputs
	for j := first; j < h.n; j++ {
		x := t.x
		x[j] += step
		near[j].D, near[j].In, near[j].Ch = q.place(h, &x)
		plus[j] = near[j].In
		steps[j] = step
	}
	if !t.p.Derivative(t.in, t.ch, &t.r, near[first:h.n], steps[first:h.n], h.outJ[first:h.n], h.slopeU[first:h.n]) {
		return false
	}
	for j := first; j < h.n; j++ {
		x := t.x
		x[j] += step
		out := t.r.Out
		for o := range out {
			out[o] += step * h.outJ[j][o]
		}
		var pred [maxObs]float64
		q.predict(h, &x, plus[j], &out, &pred)
		for i := range q.e.obs {
			h.jac[i][j] = (pred[i] - t.pred[i]) / step
		}
	}
	return true
}

// normal builds gradient and Gauss–Newton Hessian of the objective at a linearised point; with fisher set, the
// Hessian that Laplace's method uses.
func (q *problem) normal(h *hypothesis, t *point, g *[maxParams]float64, a []float64, fisher bool) {
	n := h.n
	clear(a[:n*n])
	for j := range n {
		g[j] = t.x[j]
		a[j*n+j] = 1
	}
	for i := range q.e.obs {
		o := &q.e.obs[i]
		nu, s := o.tails.nu, o.sigma()*o.tails.scale
		r := o.y - t.pred[i]
		w := (nu + 1) / (nu*s*s + r*r)
		curve := w
		if fisher {
			// The peak of a t is sharper than its mass: the expected information describes the volume better.
			curve = math.Min(w, (nu+1)/((nu+3)*s*s))
		}
		for j := range n {
			if h.jac[i][j] == 0 {
				continue
			}
			g[j] -= w * r * h.jac[i][j]
			for k := 0; k <= j; k++ {
				a[j*n+k] += curve * h.jac[i][j] * h.jac[i][k]
			}
		}
	}
	// Things seen: slope of their log probability along each parameter, squared as curvature (Fisher weight of one answer).
	if s := q.e.seen; s.Glass != reading.GlassUnknown || s.CondenserDirt != 0 || s.CoilIce != 0 || s.CoilFans != nil ||
		s.CondenserFans != nil {
		const step = 1e-3
		var d [maxParams]float64
		for j := range n {
			ch := t.ch
			if j >= plant.NumNuisances { // only severities change it
				x := t.x
				x[j] += step
				_, _, ch = q.place(h, &x)
			}
			out := t.r.Out
			out[plant.GlassQuality] += step * h.outJ[j][plant.GlassQuality]
			d[j] = (q.logSeenAt(&ch, &out) - t.seen) / step
			g[j] -= d[j]
		}
		p := math.Exp(t.seen)
		w := math.Min(1, (1-math.Min(p, 0.999))*2)
		// The observed information of a logistic answer is at most its squared slope where the answer is unlikely, little where it is likely.
		for j := range n {
			for k := 0; k <= j; k++ {
				a[j*n+k] += w * 0.5 * d[j] * d[k]
			}
		}
	}
	for j := range n {
		for k := range j {
			a[k*n+j] = a[j*n+k]
		}
	}
}

// secant updates the slopes by what a step from t to u taught (Broyden), and reports whether the old ones had
// foretold the step well enough to be trusted so.
func (q *problem) secant(h *hypothesis, t, u *point) bool {
	var d [maxParams]float64
	size := 0.0
	for j := range h.n {
		d[j] = u.x[j] - t.x[j]
		size += d[j] * d[j]
	}
	if size == 0 {
		return false
	}
	miss, move := 0.0, 0.0
	for i := range q.e.obs {
		y := u.pred[i] - t.pred[i]
		told := 0.0
		for j := range h.n {
			told += h.jac[i][j] * d[j]
		}
		s := q.e.obs[i].sigma()
		miss += (y - told) * (y - told) / (s * s)
		move += y * y / (s * s)
		for j := range h.n {
			h.jac[i][j] += (y - told) * d[j] / size
		}
	}
	g := u.r.Out[plant.GlassQuality] - t.r.Out[plant.GlassQuality]
	for j := range h.n {
		g -= h.outJ[j][plant.GlassQuality] * d[j]
	}
	for j := range h.n {
		h.outJ[j][plant.GlassQuality] += g * d[j] / size
	}
	return miss < 0.04*move+1e-4
}

// climb looks for the most probable parameters from a start. With like, a hypothesis fitted nearby or nil, its slopes
// along what both share serve for the first step, and on as long as they foretell where the steps lead; the evidence
// is then approximate until finish.
func (q *problem) climb(h *hypothesis, start [maxParams]float64, like *hypothesis) bool {
	warm := like.from()
	t, ok := q.at(h, &start, warm)
	for shrink := 0; !ok && shrink < 4; shrink++ {
		// The start may trip the machine: come closer to healthy.
		for k := range h.faults {
			start[plant.NumNuisances+k] -= 0.7
		}
		t, ok = q.at(h, &start, warm)
	}
	return ok && q.climbFrom(h, &t, like)
}

func (q *problem) climbFrom(h *hypothesis, t *point, like *hypothesis) bool {
	if like != nil {
		n := min(like.n, len(h.faults)-1+plant.NumNuisances) // the last severity is the climber's own
		for i := range q.e.obs {
			copy(h.jac[i][:n], like.jac[i][:n])
		}
		copy(h.outJ[:n], like.outJ[:n])
		copy(h.slopeU[:n], like.slopeU[:n])
		if !q.linearise(h, t, n) {
			return false
		}
	}
	stale, ok := q.walk(h, t, like != nil)
	if !ok || !q.laplace(h, t) {
		return false
	}
	h.end = nil
	if stale {
		h.end = t
		if like == nil {
			return q.finish(h)
		}
	}
	return true
}

// from is where a solve nearby may start.
func (h *hypothesis) from() *plant.Result {
	if h == nil {
		return nil
	}
	return &h.state
}

// finish takes exact slopes at the end of a climb, goes on where they lead on, and gives the evidence.
func (q *problem) finish(h *hypothesis) bool {
	t := h.end
	if t == nil {
		return h.ok
	}
	h.end, h.ok = nil, false
	if !q.linearise(h, t, 0) {
		return false
	}
	if q.gain(h, t) > worthGain {
		stale, ok := q.walk(h, t, true)
		if !ok || stale && !q.linearise(h, t, 0) {
			return false
		}
	}
	return q.laplace(h, t)
}

// gain is what the slopes at t promise of the best step from there, nats.
func (q *problem) gain(h *hypothesis, t *point) float64 {
	var a [maxParams * maxParams]float64
	var g, dx [maxParams]float64
	q.normal(h, t, &g, a[:], false)
	if !num.Cholesky(h.n, a[:h.n*h.n]) {
		return 0
	}
	dx = g
	num.CholeskySolve(h.n, a[:h.n*h.n], dx[:h.n])
	s := 0.0
	for j := range h.n {
		s += 0.5 * g[j] * dx[j]
	}
	return s
}

// worthGain is the gain in nats below which a step moves no probability.
const worthGain = 0.03

// walk moves t to the most probable parameters; known says that slopes are there, good enough for a step. stale:
// those at the end are approximate.
func (q *problem) walk(h *hypothesis, t *point, known bool) (stale, ok bool) {
	n := h.n
	var a, l [maxParams * maxParams]float64
	var g, dx [maxParams]float64
	lambda := 0.0
	// about: the slopes at t are known from elsewhere or from the step that led there.
	stale, about := true, known
	for range 20 {
		if !about {
			if !q.linearise(h, t, 0) {
				return true, false
			}
		}
		stale = about
		q.normal(h, t, &g, a[:], false)
		moved, improved, size := false, false, 0.0
		for range 6 {
			copy(l[:n*n], a[:n*n])
			for j := range n {
				l[j*n+j] += lambda
			}
			if !num.Cholesky(n, l[:n*n]) {
				lambda = math.Max(1, 4*lambda)
				continue
			}
			for j := range n {
				dx[j] = -g[j]
			}
			num.CholeskySolve(n, l[:n*n], dx[:n])
			size = 0
			for j := range n {
				size = math.Max(size, math.Abs(dx[j]))
			}
			scale := 1.0
			if size > 1.5 {
				scale = 1.5 / size
			}
			x := t.x
			for j := range n {
				x[j] += scale * dx[j]
			}
			u, ok := q.at(h, &x, h.ahead(&t.r, &t.x, &x))
			if ok && u.obj < t.obj {
				gain := t.obj - u.obj
				about = q.secant(h, t, &u)
				*t, stale, moved = u, true, true
				improved = gain > worthGain
				lambda /= 4
				if lambda < 1e-3 {
					lambda = 0
				}
				break
			}
			if about {
				break // approximate slopes are not worth a search
			}
			lambda = math.Max(0.3, 4*lambda)
		}
		if about && !moved {
			about = false
			continue
		}
		if !improved || size < 0.03 {
			break
		}
	}
	return stale, true
}

// laplace gives the evidence from the slopes at t.
func (q *problem) laplace(h *hypothesis, t *point) bool {
	n := h.n
	var a, l [maxParams * maxParams]float64
	var g [maxParams]float64
	q.normal(h, t, &g, a[:], true)
	copy(l[:n*n], a[:n*n])
	if !num.Cholesky(n, l[:n*n]) {
		return false
	}
	logDet := 0.0
	for j := range n {
		logDet += 2 * math.Log(l[j*n+j])
	}
	for j := range n {
		var col [maxParams]float64
		col[j] = 1
		num.CholeskySolve(n, l[:n*n], col[:n])
		for k := range n {
			h.cov[k*n+j] = col[k]
		}
	}
	h.ok, h.x, h.pred, h.out, h.change, h.state = true, t.x, t.pred, t.r.Out, t.ch, t.r
	circuitFault := false
	for _, f := range h.faults {
		circuitFault = circuitFault || f.Code.Circuit()
	}
	h.marks = logMarks(&q.e, &t.ch, wetSuction(&h.out), q.m.Receiver, h.load, circuitFault) + q.e.room.log(h)
	h.logZ = -t.obj - 0.5*logDet + h.marks
	return true
}

// fit climbs from the start that explains the readings best, and from the next one where that leads nowhere.
func (q *problem) fit(h *hypothesis, starts [][maxParams]float64, like *hypothesis) {
	warm := like.from()
	order := make([]int, len(starts))
	value := make([]float64, len(starts))
	var best point
	for i := range starts {
		order[i] = i
		if len(starts) > 1 {
			value[i] = math.Inf(1)
			if t, ok := q.at(h, &starts[i], warm); ok {
				value[i] = t.obj
				if best.obj == 0 || t.obj < best.obj {
					best = t
				}
			}
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return value[order[a]] < value[order[b]] })
	for k, i := range order {
		ok := false
		if k == 0 && best.obj != 0 {
			ok = q.climbFrom(h, &best, like)
		} else {
			ok = q.climb(h, starts[i], like)
		}
		if ok {
			h.untried = nil
			for _, j := range order[k+1:] {
				h.untried = append(h.untried, starts[j])
			}
			return
		}
	}
}

// again climbs from the starts left over and keeps the better end.
func (q *problem) again(h *hypothesis) {
	for _, s := range h.untried {
		c := *h
		if q.climb(&c, s, h) && c.logZ > h.logZ-3 && q.finish(&c) && c.logZ > h.logZ {
			*h = c
		} else {
			h.solves = c.solves
		}
	}
	h.untried = nil
}

// refine replaces Laplace's evidence and severity by importance sampling from three t distributions with 6 degrees of
// freedom around the best fit: one of its covariance, two wider in the severities and shifted towards mild and
// towards severe: a valve that floods the coil shows no more however far it stands open, and the severity is open
// upwards. It is needed where the posterior has a kink: a shortage close to the just-empty receiver, a restriction
// before the valve gives in. The draws are seeded by the faults, so the same sheet always gives the same answer.
//
// Source: design paper 5.4 and 7.3; Owen and Zhou (2000), J. Am. Stat. Assoc. 95:135-143 (defensive mixture).
func (q *problem) refine(h *hypothesis, draws int) {
	n := h.n
	const dof = 6.0
	seed := uint64(17)
	for _, f := range h.faults {
		seed = seed*131 + uint64(f.Code)
	}
	rng := rand.New(rand.NewPCG(seed, 4))
	type proposal struct {
		mean   [maxParams]float64
		l      [maxParams * maxParams]float64
		logDet float64
	}
	var ps [3]proposal
	for k := range ps {
		p := &ps[k]
		p.mean = h.x
		for i := range n * n {
			p.l[i] = 1.15 * h.cov[i]
		}
		if k > 0 {
			for j := range h.faults {
				i := plant.NumNuisances + j
				p.mean[i] += [3]float64{1: -0.8, 2: 0.8}[k]
				p.l[i*n+i] += 0.7
			}
		}
		if !num.Cholesky(n, p.l[:n*n]) {
			return
		}
		for i := range n {
			p.logDet += math.Log(p.l[i*n+i])
			for j := i + 1; j < n; j++ {
				p.l[i*n+j] = 0
			}
		}
	}
	a, _ := math.Lgamma((dof + float64(n)) / 2)
	b, _ := math.Lgamma(dof / 2)
	norm := a - b - 0.5*float64(n)*math.Log(dof*math.Pi)
	logDensity := func(p *proposal, x *[maxParams]float64) float64 {
		var y [maxParams]float64
		s := 0.0
		for i := range n {
			v := x[i] - p.mean[i]
			for j := range i {
				v -= p.l[i*n+j] * y[j]
			}
			y[i] = v / p.l[i*n+i]
			s += y[i] * y[i]
		}
		return norm - p.logDet - (dof+float64(n))/2*math.Log1p(s/dof)
	}
	type draw struct{ w, z0, z1 float64 }
	all := make([]draw, 0, draws)
	best := math.Inf(-1)
	for k := range draws {
		p := &ps[[5]int{1, 2, 0, 0, 0}[k%5]]
		g := 0.0
		for range int(dof) {
			v := rng.NormFloat64()
			g += v * v
		}
		scale := math.Sqrt(dof / g)
		var u, x [maxParams]float64
		for i := range n {
			u[i] = rng.NormFloat64() * scale
			x[i] = p.mean[i]
			for j := 0; j <= i; j++ {
				x[i] += p.l[i*n+j] * u[j]
			}
		}
		t, ok := q.at(h, &x, h.ahead(&h.state, &h.x, &x))
		if !ok {
			continue
		}
		d0, d1, d2 := logDensity(&ps[0], &x), logDensity(&ps[1], &x), logDensity(&ps[2], &x)
		m := math.Max(d0, math.Max(d1, d2))
		w := -t.obj - 0.5*float64(n)*math.Log(2*math.Pi) - m - math.Log(0.6*math.Exp(d0-m)+0.2*math.Exp(d1-m)+0.2*math.Exp(d2-m))
		all = append(all, draw{w, x[plant.NumNuisances], x[min(plant.NumNuisances+1, maxParams-1)]})
		best = math.Max(best, w)
	}
	if len(all) < draws/4 {
		return // most draws trip the machine: Laplace stands
	}
	sum, sq := 0.0, 0.0
	for i := range all {
		all[i].w = math.Exp(all[i].w - best)
		sum += all[i].w
		sq += all[i].w * all[i].w
	}
	if sum*sum/sq < 15 {
		return // one draw rules: no better than Laplace
	}
	// A hundred draws repeat to about 0.15 nat: a smaller difference is noise, and Laplace stands.
	if z := best + math.Log(sum/float64(draws)) + h.marks; math.Abs(z-h.logZ) > 0.3 {
		h.logZ = z
	}
	for j := range h.faults {
		z := func(d draw) float64 {
			if j == 1 {
				return d.z1
			}
			return d.z0
		}
		sort.Slice(all, func(a, b int) bool { return z(all[a]) < z(all[b]) })
		// Few draws count: the i-th of n stands at i/(n+1), by their weights, so that what lies beyond the last one is not forgotten.
		// Source: Hyndman and Fan (1996), Am. Stat. 50:361-365, definition 6.
		n := sum * sum / sq
		s, k := 0.0, 0
		last, from := 0.0, z(all[0])
		for _, d := range all {
			at := ((s+0.5*d.w)/sum*n + 0.5) / (n + 1)
			s += d.w
			for k < 3 && at >= [3]float64{0.05, 0.5, 0.95}[k] {
				h.sampled[j][k] = from + (z(d)-from)*([3]float64{0.05, 0.5, 0.95}[k]-last)/(at-last)
				k++
			}
			last, from = at, z(d)
		}
		for ; k < 3; k++ {
			h.sampled[j][k] = z(all[len(all)-1])
		}
	}
	h.refined = true
}

// variance of a linear function with gradient v (over the parameters) under the posterior covariance.
func (h *hypothesis) variance(v *[maxParams]float64) float64 {
	s := 0.0
	for j := range h.n {
		for k := range h.n {
			s += v[j] * h.cov[j*h.n+k] * v[k]
		}
	}
	return math.Max(s, 0)
}
