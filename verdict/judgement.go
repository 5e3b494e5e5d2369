package verdict

import (
	"cmp"
	"math"
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Kind is what a judgement comes to.
type Kind string

// The kinds.
const (
	TooLittle    Kind = "too_little_read"
	DoesNotFit   Kind = "does_not_fit"  // none of these is the first answer
	NothingWrong Kind = "nothing_wrong" // almost certainly or likely
	Sure         Kind = "sure"          // one cause, acted on
	Probable     Kind = "likely"
	Even         Kind = "about_even" // First and Second within threshold.EvenRatio
	Leaning      Kind = "leaning"    // First about as probable as not, and clearly ahead
	Unclear      Kind = "unclear"
)

// Kinds lists them.
func Kinds() []Kind {
	return []Kind{TooLittle, DoesNotFit, NothingWrong, Sure, Probable, Even, Leaning, Unclear}
}

// Answer is a cause, [fault.Healthy] included, with its probability: alone or with another.
type Answer struct {
	Code        fault.Code
	Probability float64
}

// Level is how sure the answer is.
func (a Answer) Level() Level { return LevelOf(a.Probability) }

// Cause is what is wrong and how surely. First is what Kind speaks of; Second is the answer after it where it is
// probable enough to be named, else Unknown. Both says that Second is there as well.
type Cause struct {
	Kind          Kind
	First, Second Answer
	Both          bool
}

// Gap is how far something read stands from where a healthy machine would have it; over is positive.
type Gap struct {
	At      string // key of a place or derived quantity
	By      units.TempDiff
	Share   float64 // of a current or a power, which By does not hold: of full
	AtLeast bool    // By is the least it can be
}

// Suspect is a cause as it is shown.
type Suspect struct {
	Answer
	RuledOut bool
	// Severity is nil where nothing is said of how bad it is.
	Severity *diagnose.Severity
	// Pro and Con are the readings that speak for it and against it, the strongest first as the judgement has them:
	// against a healthy machine, for the healthy machine against the runner-up.
	Pro, Con []Evidence
}

// Judgement is the verdict on one set of running readings.
type Judgement struct {
	Cause Cause
	// Suspects are what is shown: causes most likely first, nothing wrong among them, none of these where it matters.
	Suspects []Suspect
	// PHealthy is the probability of nothing wrong with the machine, whatever its proven instruments do.
	PHealthy, PNone float64
	Healthy         Status
	HealthyRule     HealthyRule
	Instruments     []Instrument // proven wrong, and taken out of the evidence
	Fit             Fit
	// Misfit is which reading cannot belong where nothing fits; nil otherwise.
	Misfit *diagnose.Misfit
	// LookAlike are the first two causes where only hand and eye tell them apart; nil otherwise.
	LookAlike *diagnose.LookAlike
	Next      Step
	Off       []Gap   // what stands outside its band, gauges first, farthest first
	Sights    []Sight // certain by themselves, said before all else
	Readings  int
	On        Basis // empty where bare figures were judged
}

// HealthyRule names why a machine counts as healthy, or not, or why nobody knows.
type HealthyRule string

// The rules.
const (
	HealthyLikely   HealthyRule = "nothing_wrong_is_likely"
	HealthyNot      HealthyRule = "a_cause_is_likely"
	HealthyNoFit    HealthyRule = "no_cause_fits"
	HealthyOpen     HealthyRule = "not_clear_yet"
	HealthyUnread   HealthyRule = "too_little_read"
	HealthyUnjudged HealthyRule = "not_judged"
	HealthySeen     HealthyRule = "a_fault_was_seen"
)

// Facts are what a judgement is formed from, apart from the evidence under each suspect.
type Facts struct {
	Suspects        []Answer // causes, nothing wrong not among them
	PHealthy, PNone float64
	LackOfFit       float64
	Off             []Gap
	Readings        int
	Instruments     []Instrument
}

// Of judges a posterior and the sheet it was computed from; nil without a posterior.
//
//   - in: the posterior; its sheet
//   - out: the verdict
//   - assumes: an instrument proven wrong says nothing about the machine, so every hypothesis counts for the machine
//     without it
func Of(p *diagnose.Posterior, s reading.Sheet) *Judgement {
	if p == nil {
		return nil
	}
	wrong := instruments(s)
	f := Facts{
		PHealthy: p.PHealthy, PNone: p.PNone, LackOfFit: p.LackOfFit,
		Off: gaps(p, wrong), Readings: len(s.Readings), Instruments: wrong,
	}
	for _, m := range p.Marginals {
		if !proven(wrong, m.Fault) {
			f.Suspects = append(f.Suspects, Answer{m.Fault, m.Probability})
		}
	}
	for i := range p.Ranked {
		if h := &p.Ranked[i]; len(h.Faults) == 1 && proven(wrong, h.Faults[0]) {
			f.PHealthy += h.Probability
		}
	}
	j := Form(f)
	if j.Sights = sights(p); len(j.Sights) > 0 && j.Cause.Kind != TooLittle {
		j.Healthy, j.HealthyRule = No, HealthySeen
	}
	if j.Cause.Kind == DoesNotFit {
		j.Misfit = p.Misfit
	}
	if x := p.Advice.LookAlike; x != nil && slices.Contains([]Kind{Sure, Probable, Even, Leaning, Unclear}, j.Cause.Kind) {
		j.LookAlike = x
	}
	j.On = basis(p, s, wrong)
	j.suspects(p)
	j.Next = next(p, j)
	return j
}

// Form is the verdict on bare figures: without evidence, severities and a next step.
func Form(f Facts) *Judgement {
	j := &Judgement{PHealthy: f.PHealthy, PNone: f.PNone, Off: f.Off, Readings: f.Readings, Instruments: f.Instruments}
	suspects := slices.Clone(f.Suspects)
	slices.SortStableFunc(suspects, func(a, b Answer) int { return cmp.Compare(b.Probability, a.Probability) })
	healthy := Answer{fault.Healthy, f.PHealthy}
	j.Fit = fit(f, suspects)
	j.Cause = cause(f, suspects, healthy, j.Fit)
	switch j.Cause.Kind {
	case TooLittle:
		j.Healthy, j.HealthyRule = Unknown, HealthyUnread
	case DoesNotFit:
		j.Healthy, j.HealthyRule = No, HealthyNoFit
	case NothingWrong:
		j.Healthy, j.HealthyRule = Yes, HealthyLikely
	case Sure, Probable:
		j.Healthy, j.HealthyRule = No, HealthyNot
	default:
		j.Healthy, j.HealthyRule = Unknown, HealthyOpen
	}
	for _, a := range suspects {
		j.Suspects = append(j.Suspects, Suspect{Answer: a, RuledOut: RuledOut(a.Probability)})
	}
	return j
}

func cause(f Facts, suspects []Answer, healthy Answer, fit Fit) Cause {
	var first, second Answer
	for i, a := range suspects {
		switch i {
		case 0:
			first = a
		case 1:
			second = a
		}
	}
	switch {
	case f.Readings < threshold.EnoughToJudge:
		return Cause{Kind: TooLittle}
	case fit.Rule == NoneIsFirst:
		return Cause{Kind: DoesNotFit}
	case healthy.Probability >= first.Probability:
		c := Cause{First: healthy}
		if first.Probability >= threshold.Possible {
			c.Second = first
		}
		switch healthy.Level() {
		case AlmostCertain, Likely:
			c.Kind, c.Second = NothingWrong, Answer{}
		case MoreLikelyThanNot, AboutEven:
			c.Kind = Leaning
			if even(healthy, first) {
				c.Kind = Even
			}
		default:
			c.Kind = Unclear
		}
		return c
	}
	c := Cause{First: first}
	switch first.Level() {
	case AlmostCertain, Likely:
		c.Kind = Probable
		if first.Level() == AlmostCertain {
			c.Kind = Sure
		}
		// Causes that can be there together may both be likely. Beside a likely one, what is possible looks almost the same.
		if second.Probability >= threshold.Likely {
			c.Second, c.Both = second, true
		} else if c.Kind == Probable && second.Probability >= threshold.Possible {
			c.Second = second
		}
	case MoreLikelyThanNot, AboutEven:
		if healthy.Probability > second.Probability {
			second = healthy
		}
		if second.Probability >= threshold.Possible {
			c.Second = second
		}
		c.Kind = Leaning
		if even(first, second) {
			c.Kind = Even
		}
	default:
		c.Kind = Unclear
		if second.Probability >= threshold.Unlikely {
			c.Second = second
		}
	}
	return c
}

// even reports whether the second of two answers is about as probable as the first.
func even(first, second Answer) bool {
	return second.Probability > 0 && first.Probability <= threshold.EvenRatio*second.Probability
}

// gaps lists everything read that stands outside its band, farthest first, suction and head before the lines and the
// air, since they are what people look at. What a proven instrument shows is not among them.
func gaps(p *diagnose.Posterior, wrong []Instrument) []Gap {
	var gauges, rest []Gap
	for _, e := range p.Expected {
		if !e.Read || e.In || takenOut(wrong, e.At.String()) {
			continue
		}
		g := Gap{At: e.At.String(), By: units.TempDiff(e.Off), AtLeast: e.AtLeast}
		if k := e.At.Kind(); k == reading.KindCurrent || k == reading.KindPower {
			g.By, g.Share = 0, e.Off
		}
		if e.At == reading.SuctionPressure || e.At == reading.DischargePressure {
			gauges = append(gauges, g)
		} else {
			rest = append(rest, g)
		}
	}
	far := func(a, b Gap) int { return cmp.Compare(math.Abs(float64(b.By)), math.Abs(float64(a.By))) }
	slices.SortStableFunc(gauges, far)
	slices.SortStableFunc(rest, far)
	return append(gauges, rest...)
}

// suspects picks what is shown and puts the evidence under it.
func (j *Judgement) suspects(p *diagnose.Posterior) {
	all := j.Suspects
	j.Suspects = nil
	add := func(a Answer) {
		x := Suspect{Answer: a, RuledOut: RuledOut(a.Probability)}
		if h := hypothesis(p, a.Code); h != nil {
			x.Pro, x.Con = weigh(p, h, j.Instruments)
			for i, s := range h.Severity {
				if s.Fault == a.Code && a.Probability >= threshold.SeverityFrom {
					x.Severity = &h.Severity[i]
				}
			}
		}
		j.Suspects = append(j.Suspects, x)
	}
	healthy, said := Answer{fault.Healthy, j.PHealthy}, false
	for _, x := range all {
		if !said && healthy.Probability > x.Probability {
			said = true
			add(healthy)
		}
		if x.RuledOut && len(j.Suspects) >= threshold.RuledOutShown || len(j.Suspects) >= threshold.SuspectsShown {
			break
		}
		add(x.Answer)
	}
	if !said {
		add(healthy)
	}
	if j.PNone >= threshold.NoneShownFrom {
		add(Answer{fault.NoneOfThese, j.PNone})
	}
}

// hypothesis is the cause alone, else the most probable one it is part of.
func hypothesis(p *diagnose.Posterior, c fault.Code) *diagnose.Hypothesis {
	var with *diagnose.Hypothesis
	for i := range p.Ranked {
		h := &p.Ranked[i]
		if len(h.Faults) == 1 && h.Faults[0] == c {
			return h
		}
		if with == nil && slices.Contains(h.Faults, c) {
			with = h
		}
	}
	return with
}

// Causes are the suspects that are something wrong with the machine, most likely first.
func (j *Judgement) Causes() []Suspect {
	return slices.DeleteFunc(slices.Clone(j.Suspects), func(s Suspect) bool {
		return s.Code == fault.Healthy || s.Code == fault.NoneOfThese
	})
}

// Leading is the likeliest cause when it is ahead of nothing wrong and some cause fits; ok is false otherwise.
func (j *Judgement) Leading() (a Suspect, ok bool) {
	if j == nil || j.Cause.Kind == TooLittle || j.Cause.Kind == DoesNotFit {
		return a, false
	}
	list := j.Causes()
	if len(list) == 0 || list[0].Probability <= j.PHealthy {
		return a, false
	}
	return list[0], true
}
