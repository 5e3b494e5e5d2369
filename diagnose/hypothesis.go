package diagnose

import (
	"errors"
	"math"

	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
)

const (
	nu        = 5.0 // degrees of freedom of the residuals; see heavy and light
	maxParams = plant.NumNuisances + 2
	maxObs    = 24
)

// problem is the fixed part of one diagnosis.
type problem struct {
	sheet  reading.Sheet
	pNone  float64 // found by weigh
	f      *refrigerant.Fit
	m      reading.Resolved
	design plant.Design
	e      evidence
	p      prior
	of     *hidden // the machine, at its design point
	scale  scale
	cat    *fault.Catalogue
	now    []pulldown.Machine // found by weigh
	// Of several machines this may be:
	weight float64 // share of those like this one
	unsaid string  // the field that differs from what was resolved first
	unsure []unknown
}

func setUp(s reading.Sheet, m reading.Resolved, f *refrigerant.Fit, cat *fault.Catalogue) (*problem, error) {
	// Too early after a start or a defrost nothing is steady: the model is trusted less.
	inflate := 1.0
	if s.RunningMin != nil && *s.RunningMin < 15 {
		inflate += (15 - *s.RunningMin) / 5
	}
	if s.SinceDefrostMin != nil && *s.SinceDefrostMin < 20 {
		inflate = math.Max(inflate, 1+(20-*s.SinceDefrostMin)/8)
	}
	// So does a door: the box is not in balance with its coil. Judgement.
	switch s.Seen.Door {
	case reading.DoorUsed:
		inflate = math.Max(inflate, 1.3)
	case reading.DoorOpen:
		inflate = math.Max(inflate, 2)
	}
	q := &problem{sheet: s, f: f, m: m, design: plant.FromMachine(m), cat: cat, weight: 1}
	q.e = observe(s, m, f, inflate)
	if len(q.e.obs) > maxObs {
		q.e.obs = q.e.obs[:maxObs]
	}
	if x, ok := cat.Find(fault.ExcessLoad); ok && s.RoomLoad != nil {
		total := 0.0
		for i := range cat.Faults {
			total += cat.Faults[i].BaseRate
		}
		q.e.room = weighRoom(*s.RoomLoad, x, (1-q.healthyRate()-cat.NoneRate)*x.BaseRate/total)
	}
	q.p = basePrior(s.Machine, m, &q.e)
	q.p.takes(s.Learned, s.Machine, m)
	q.of = newHidden(&q.p, inadequacies[m.Application])
	q.today(&q.p)
	if err := plant.Condenses(q.design, f, q.e.ambT); err != nil {
		return nil, err
	}
	p, err := plant.New(q.design, f)
	if err != nil {
		var said *fail.Error
		if errors.As(err, &said) {
			return nil, said // it keeps its hint
		}
		return nil, fail.Of(fail.Range, "machine", "machine.no_design", fail.Args{"why": err})
	}
	q.e.readPlate(m, p.Performance())
	return q, nil
}

// hypothesis is a set of faults under trial.
type hypothesis struct {
	faults []*fault.Fault
	of     *problem // on which machine
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
	marks     float64 // log probability of marks, load and pull-down, part of logZ
	curve     float64 // that of the pull-down alone
	beside    float64 // probability of too much load beside this, where a pull-down counts
	loadZ     *[3]float64
	machine   []pulldown.Machine // what its machine gives against what; only where a pull-down counts
	refined   bool
	sampled   [2][3]float64 // severities in standard normals, 5, 50, 95 %
}

func score(h *hypothesis) float64 {
	if !h.ok {
		return math.Inf(-1)
	}
	return h.logZ + math.Log(h.rate)
}

func name(h *hypothesis) string {
	if len(h.faults) == 0 {
		return "healthy"
	}
	r := Hypothesis{}
	for _, f := range h.faults {
		r.Faults = append(r.Faults, f.Code)
	}
	if len(r.Faults) == 2 && r.Faults[1].String() < r.Faults[0].String() {
		r.Faults[0], r.Faults[1] = r.Faults[1], r.Faults[0]
	}
	return r.Name()
}

// machineAt builds design, inputs and change at parameters x.
func (q *problem) machineAt(h *hypothesis, x *[maxParams]float64) (d plant.Design, in plant.Inputs, ch plant.Change) {
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
			shift(&d, &in, i, z)
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
	var off [numShared]float64 // what the observations so far say of each shared error
	for i := range q.e.obs {
		o := &q.e.obs[i]
		v := out[o.out]
		switch {
		case o.heater:
			v = heaterShows(h)
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
		if c := o.common; c.of != sharesNone {
			pred[i] += c.load * off[c.of]
			off[c.of] += o.says(pred[i])
		}
	}
}

// noneOfThese is the log weight of the broad hypothesis: the healthy prediction with residual scales wider by 8 K (0.3 in amps).
func (q *problem) noneOfThese(healthy *hypothesis, cat *fault.Catalogue) float64 {
	base := hypothesis{n: plant.NumNuisances}
	var zero [maxParams]float64
	t, ok := q.evaluate(&base, &zero, nil)
	if !ok {
		if !healthy.ok {
			// No healthy state at all: a flat density over 60 K.
			return math.Log(cat.NoneRate) - float64(len(q.e.obs))*math.Log(60)
		}
		t.pred = healthy.pred
	}
	s := math.Log(cat.NoneRate)
	for i := range q.e.obs {
		o := &q.e.obs[i]
		wide := 8.0
		if o.full > 0 {
			wide = 0.3
		}
		if o.out == plant.DrierDrop || o.drop {
			wide = 4
		}
		if o.fromBox || o.heater { // nothing else sets two thermometers in one air apart, or puts current into a heater
			s += o.tails.log(o.y-t.pred[i], o.sigma())
			continue
		}
		far := *o
		far.tails = &heavy
		s += far.log(t.pred[i], math.Hypot(o.sigma(), wide))
	}
	s += q.e.logBroad(q.m.Receiver) + q.e.room.unknown()
	if q.e.curve != nil {
		s += q.e.curve.none
	}
	return s
}
