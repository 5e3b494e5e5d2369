package practice

import (
	"context"
	"math"
	"slices"

	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Enough is how many readings a judgement needs; a cause named on fewer is a guess and is not taken.
const Enough = 2

// LeaveIt is the repair of a machine with nothing wrong; the others are the catalogue's remedies.
const LeaveIt = "leave_it"

// opening is what comes first on any machine: is the box's own thermometer right, and where the machine stands today.
var opening = []reading.Place{reading.BoxAir, reading.BoxDisplay, reading.Ambient}

// expertSteps is where even an expert stops.
const expertSteps = 16

// Step is one reading of a path and what the judgement made of it.
type Step struct {
	Event
	First  string  `json:"first,omitempty"`  // the cause most likely after it, empty before there is enough to judge
	Sure   float64 `json:"sure,omitempty"`   // and its probability
	Next   string  `json:"next,omitempty"`   // what the judgement would read after it, empty when it would stop
	Advice string  `json:"advice,omitempty"` // code of package diagnose
}

// Score is points out of 100: 50 for the cause, 20 for the repair, 15 for how far the readings carry it, 15 for the
// minutes against the expert's. Judgement.
type Score struct {
	Cause   float64 `json:"cause"`
	Repair  float64 `json:"repair"`
	Proof   float64 `json:"proof"`
	Minutes float64 `json:"minutes"`
}

// The most of each part.
const (
	MaxCause   = 50.0
	MaxRepair  = 20.0
	MaxProof   = 15.0
	MaxMinutes = 15.0
)

// Total is the sum of the parts.
func (s Score) Total() float64 { return s.Cause + s.Repair + s.Proof + s.Minutes }

// Against is one reading beside what the same place shows on this machine healthy and as it stands, both without noise. SI.
type Against struct {
	At      reading.Place
	Read    float64
	U       float64
	Healthy float64
	Truth   float64 // without a lying instrument's lie
}

// Result is the end of an exercise.
type Result struct {
	Named         []fault.Code `json:"named"`
	Repair        []string     `json:"repair"`
	Truth         []Truth      `json:"truth"`
	Remedies      []string     `json:"remedies"`
	Right         bool         `json:"right"`
	Score         Score        `json:"score"`
	Points        int          `json:"points"`
	Minutes       float64      `json:"minutes"`
	Grams         float64      `json:"grams"`
	Proof         float64      `json:"proof"` // probability the judgement gives the truth on what was read
	Path          []Step       `json:"path"`
	Expert        []Step       `json:"expert"`
	ExpertNamed   []fault.Code `json:"expert_named"`
	ExpertRight   bool         `json:"expert_right"`
	ExpertMinutes float64      `json:"expert_minutes"`
	ExpertGrams   float64      `json:"expert_grams"`
	Ladder        []Against    `json:"-"` // a document has it in SI, see package wire
}

// Truths are the codes of what is wrong, healthy where nothing is.
func (r *Result) Truths() []fault.Code { return codes(r.Truth) }

func codes(truths []Truth) []fault.Code {
	if len(truths) == 0 {
		return []fault.Code{fault.Healthy}
	}
	var out []fault.Code
	for _, t := range truths {
		out = append(out, t.Fault)
	}
	return out
}

// Remedy is the catalogue's repair of a cause.
func (e *Exercise) Remedy(c fault.Code) string {
	if row, ok := e.catalogue.Find(c); ok {
		return row.Remedy
	}
	return LeaveIt
}

// Repairs lists the repairs one can name: those of the candidates, each once.
func (e *Exercise) Repairs() []string {
	var out []string
	for _, c := range e.Candidates() {
		if r := e.Remedy(c); !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}

// Name ends the exercise with a cause (one or two, or healthy alone) and its repairs.
//
//   - in: causes among the candidates; repairs among Repairs, none allowed
//   - out: what is wrong, the score, one's own path and the expert's
//   - errors: [*fail.Error]: too little read, no cause, more than two, one that this machine cannot have
//   - source: definition; the expert is package diagnose's own next reading
//   - cost: a judgement (about 60 ms) per reading, own and expert's
func (s Session) Name(ctx context.Context, cause []fault.Code, repair []string) (*Result, error) {
	can := s.Candidates()
	switch {
	case len(s.Sheet().Readings) < Enough:
		return nil, fail.Of(fail.Required, "cause", "practice.read_first", nil)
	case len(cause) == 0:
		return nil, fail.Of(fail.Required, "cause", "practice.cause_missing", nil)
	case len(cause) > 2:
		return nil, fail.Of(fail.BadValue, "cause", "practice.too_many_causes", nil)
	}
	cause, repair = distinct(cause), distinct(repair)
	for _, c := range cause {
		if !slices.Contains(can, c) || c == fault.Healthy && len(cause) > 1 {
			return nil, fail.Of(fail.BadValue, "cause", "practice.cause", fail.Args{"cause": c})
		}
	}
	for _, r := range repair {
		if !slices.Contains(s.Repairs(), r) {
			return nil, fail.Of(fail.BadValue, "repair", "practice.repair", fail.Args{"repair": r, "repairs": s.Repairs()})
		}
	}
	out := &Result{Named: cause, Repair: repair, Truth: s.truths, Minutes: s.Minutes(), Grams: s.Grams()}
	for _, c := range out.Truths() {
		if r := s.Remedy(c); !slices.Contains(out.Remedies, r) {
			out.Remedies = append(out.Remedies, r)
		}
	}
	var err error
	var last *diagnose.Posterior
	if out.Path, last, err = s.path(ctx); err != nil {
		return nil, err
	}
	if last != nil {
		out.Proof = probability(last, out.Truths())
	}
	x, post, err := s.Exercise.expert(ctx)
	if err != nil {
		return nil, err
	}
	out.Expert, out.ExpertMinutes, out.ExpertGrams = x.steps, x.session.Minutes(), x.session.Grams()
	out.ExpertNamed = said(post)
	out.ExpertRight = overlap(out.ExpertNamed, out.Truths()) == 1
	out.Right = overlap(cause, out.Truths()) == 1
	out.Score = Points(overlap(cause, out.Truths()), overlap(repair, out.Remedies), out.Proof, out.Minutes, out.ExpertMinutes)
	out.Points = int(math.Round(out.Score.Total()))
	out.Ladder = s.against()
	return out, nil
}

// Points turns shares into the score. More right, more proven and fewer minutes never give less.
//
//   - in: share of the cause and of the repair that is right, 0 to 1; probability of the truth on what was read; minutes, own and expert's
//   - out: the points
//   - source: judgement
func Points(cause, repair, proof, minutes, expert float64) Score {
	quick := 1.0
	if minutes > expert {
		quick = expert / minutes
	}
	// Quick is worth something only as far as it is right.
	return Score{Cause: MaxCause * cause, Repair: MaxRepair * repair, Proof: MaxProof * proof, Minutes: MaxMinutes * cause * quick}
}

// overlap is what two lists share over what they hold together: 1 when they are the same.
func overlap[T comparable](a, b []T) float64 {
	both := 0
	for _, x := range a {
		if slices.Contains(b, x) {
			both++
		}
	}
	if n := len(a) + len(b) - both; n > 0 {
		return float64(both) / float64(n)
	}
	return 1
}

func distinct[T comparable](list []T) []T {
	out := []T{}
	for _, x := range list {
		if !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	return out
}

// judge runs the tool's own judgement; nil while there is too little to judge.
func (s Session) judge(ctx context.Context) (*diagnose.Posterior, error) {
	sheet := s.Sheet()
	if len(sheet.Readings) < Enough {
		return nil, nil
	}
	p, err := diagnose.Run(ctx, diagnose.Evidence{Sheet: sheet, Fit: s.fit}, diagnose.Options{})
	if err != nil {
		return nil, err
	}
	return &p, nil
}

// next is what the judgement would read now on this machine: its best pair one after the other, or its best single;
// empty when it advises to stop.
func (s Session) next(p *diagnose.Posterior) []string {
	for _, at := range opening {
		if !s.Taken(at.String()) {
			return []string{at.String()}
		}
	}
	if p == nil || p.Advice.Code != diagnose.AdviseRead {
		return nil
	}
	free := func(at string) bool { return slices.Contains(s.Keys(), at) && !s.Taken(at) }
	if t := p.Together; t != nil && free(t.A) && free(t.B) {
		return []string{t.A, t.B}
	}
	for _, n := range p.Next {
		if free(n.At) {
			return []string{n.At}
		}
	}
	return nil
}

func (s Session) step(ev Event, p *diagnose.Posterior) Step {
	st := Step{Event: ev}
	if n := s.next(p); len(n) > 0 {
		st.Next = n[0]
	}
	if p != nil {
		st.Advice = p.Advice.Code
		st.First, st.Sure = first(p)
	}
	return st
}

// first is the cause most likely of all, alone or with another, and its probability.
func first(p *diagnose.Posterior) (string, float64) {
	name, sure := fault.Healthy.String(), p.PHealthy
	if len(p.Marginals) > 0 && p.Marginals[0].Probability > sure {
		name, sure = p.Marginals[0].Fault.String(), p.Marginals[0].Probability
	}
	if p.PNone > sure {
		name, sure = fault.NoneOfThese.String(), p.PNone
	}
	return name, sure
}

func (s Session) path(ctx context.Context) (steps []Step, last *diagnose.Posterior, err error) {
	so := s.Start()
	for _, ev := range s.Events {
		if so, err = so.Take(ev.At); err != nil {
			return nil, nil, err
		}
		if last, err = so.judge(ctx); err != nil {
			return nil, nil, err
		}
		steps = append(steps, so.step(ev, last))
	}
	return steps, last, nil
}

type expertPath struct {
	session Session
	steps   []Step
}

// expert reads what the judgement asks for until it advises to stop.
func (e *Exercise) expert(ctx context.Context) (x expertPath, p *diagnose.Posterior, err error) {
	x.session = e.Start()
	for len(x.steps) < expertSteps {
		todo := x.session.next(p)
		if len(todo) == 0 {
			break
		}
		for _, at := range todo {
			if x.session, err = x.session.Take(at); err != nil {
				return x, nil, err
			}
			if p, err = x.session.judge(ctx); err != nil {
				return x, nil, err
			}
			if n := len(x.steps); n > 0 {
				x.steps[n-1].Next = at // of a pair the second, whatever the first showed
			}
			x.steps = append(x.steps, x.session.step(x.session.Events[len(x.session.Events)-1], p))
		}
	}
	return x, p, nil
}

// said is what a judgement would name: the most likely, and a second that is at least about even. What no reading
// tells from a valve that feeds too little is called by that name.
func said(p *diagnose.Posterior) []fault.Code {
	if p == nil {
		return nil
	}
	name, _ := first(p)
	c, err := fault.Parse(name)
	if err != nil {
		return nil
	}
	out := []fault.Code{c.Inseparable()}
	if c == fault.Healthy || c == fault.NoneOfThese {
		return out
	}
	for _, m := range p.Marginals {
		if m.Probability >= threshold.Even && !slices.Contains(out, m.Fault.Inseparable()) && len(out) < 2 {
			out = append(out, m.Fault.Inseparable())
		}
	}
	return out
}

// probability is that of all truths being there: the least of their marginals.
func probability(p *diagnose.Posterior, truths []fault.Code) float64 {
	least := 1.0
	for _, c := range truths {
		q := p.Marginal(c)
		switch c {
		case fault.Healthy:
			q = p.PHealthy
		case fault.ValveUnderfeeding:
			q = math.Min(1, q+p.Marginal(fault.RestrictionAfterGlass))
		}
		least = math.Min(least, q)
	}
	return least
}

// against puts every reading beside the healthy machine and the machine as it stands.
func (s Session) against() []Against {
	var out []Against
	for _, ev := range s.Events {
		for _, r := range ev.Readings {
			a := Against{At: r.At, Read: r.Value, U: r.Uncertainty()}
			a.Healthy, _ = diagnose.Shown(r.At, s.in, &s.healthy, *s.Plate.RatedAmps, s.fit)
			a.Truth, _ = diagnose.Shown(r.At, s.in, &s.state, *s.Plate.RatedAmps, s.fit)
			out = append(out, a)
		}
	}
	return out
}

// Dew is the saturation temperature (dew) of a pressure of this machine's refrigerant.
func (e *Exercise) Dew(pressure float64) units.Temp { return units.Temp(e.fit.DewP(pressure)) }
