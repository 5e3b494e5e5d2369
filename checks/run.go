package checks

import (
	"cmp"
	"slices"

	"coldwright/verdict/threshold"
)

// Burns is the caution of a refrigerant that burns, or may.
const Burns = "flammable"

// Cannot is the answer of a check that cannot be done here: it tells nothing and is not asked for again.
const Cannot = "cannot"

// Found is an answer to a check.
type Found struct {
	Check  string
	Answer string
}

// Case is a call: what is complained of, what was looked at, and what readings say.
type Case struct {
	Complaint string
	Found     []Found
	Odds      Odds            // of the circuit's causes by the readings; nil: no readings
	Repaired  []string        // causes put right, the machine tried after it, and no cure
	Read      map[string]bool // readings and things seen that Odds rest on already
	Flammable bool            // the refrigerant burns, or nobody knows that it does not
	Place     Place
	Freezer   bool // the box is kept below freezing: what only a cooler does is not asked
	Learned   Learned
}

// Suspect is a cause and how probable it is.
type Suspect struct {
	Cause       string
	Group       string
	Probability float64
}

// Meaning is one answer of a check: how probable it is, and what would lead after it.
type Meaning struct {
	Answer      string
	Probability float64
	Leads       Suspect
}

// Next is a check worth doing now, or, where Check is nil, a repair: put the cause right and try the machine. Minutes are
// its own with what has to be opened first; ToProof is the expected time from here to a proven cause if it is done first.
type Next struct {
	Check   *Check
	Repair  string
	Minutes float64
	Opens   []string // what has to be opened for it first
	Answers []Meaning
	ToProof float64
}

// Forbidden is a check that must not be done before another has given an answer.
type Forbidden struct {
	Check string
	Until Before
}

// Planned is a step of the plan if every check comes out sound: the check, and whether to try the machine after it.
type Planned struct {
	Check string
	Try   bool
}

// Answer is what is known and what to do.
type Answer struct {
	Ranked    []Suspect // most probable first
	Other     float64   // something that is not in the network
	Proven    string    // the cause that counts as proven, or nothing
	Next      []Next    // the best first
	Plan      []Planned
	Forbidden []Forbidden
	Cautions  []string // of the next checks; each once
	Twice     []string // checks not counted, as the readings hold the same look
	ToProof   float64  // expected minutes to a proven cause
	Call      bool     // to call for help now costs less than to go on alone
}

// What must stand before something may be done: clear air where the refrigerant burns, and good insulation before a
// machine is started whose breaker tripped or of which a part was found down to ground.
var (
	air    = Before{Check: "detector_first", Answer: "clear"}
	ground = Before{Check: "insulation", Answer: "clear"}
)

const (
	listed  = 3    // how many next checks an answer names
	tried   = 8    // of how many candidates what follows is looked at
	twoDeep = 4    // of how many two steps are looked at
	worth   = 5e-3 // probability from which a cause's checks are candidates
)

// Run judges a call.
//
//   - in: a case whose codes are the network's
//   - out: causes with their probabilities (with two at once they may add up to more than one), the checks that bring the
//     proof soonest, what is forbidden until when
//   - errors: [*UnknownError] for a complaint, check or answer that the network does not have
//   - assumes: an answer depends on the causes alone, not on other answers
//   - source: expected minutes to a proven cause; each candidate with everything after it in the order of [Steps.Order],
//     the best of them with two checks ahead (a rollout, Bertsekas, Tsitsiklis and Wu 1997, from memory)
//   - cost: about a millisecond
func (n *Network) Run(c Case) (Answer, error) {
	cp, ok := n.Complaint(c.Complaint)
	if !ok {
		return Answer{}, &UnknownError{Kind: "complaint", Given: c.Complaint}
	}
	s := state{
		n: n, b: n.Believe(cp, c.Odds, c.Learned, c.Place), of: cp, opened: make([]bool, len(n.Openings)), burns: c.Flammable,
		phases: c.Place.Phases,
	}
	s.done = map[string]string{}
	var out Answer
	s.freezer = c.Freezer
	for i, f := range c.Found {
		k := n.check(f.Check)
		if k == nil {
			return Answer{}, &UnknownError{Kind: "check", Given: f.Check}
		}
		if f.Answer != Cannot && !slices.Contains(k.Answers, f.Answer) {
			return Answer{}, &UnknownError{Kind: "answer", Check: f.Check, Given: f.Answer, Allowed: k.Answers}
		}
		if before, ok := s.done[f.Check]; ok && k.shows(before, c.Repaired) {
			s.done[f.Check] = f.Answer // looked at again after the repair: it opens the way, and is no evidence against the repair
			continue
		}
		// Looked at twice without a repair between: the last word stands, and the same look again is no new evidence.
		if slices.ContainsFunc(c.Found[i+1:], func(g Found) bool { return g.Check == f.Check }) && !k.shows(f.Answer, c.Repaired) {
			continue
		}
		switch {
		case f.Answer == Cannot:
			s.done[f.Check] = ""
		case slices.ContainsFunc(k.Reads, func(r string) bool { return c.Read[r] }):
			out.Twice = append(out.Twice, f.Check)
			s.done[f.Check] = f.Answer
		default:
			s = s.after(k, f.Answer)
		}
	}
	for _, code := range c.Repaired {
		if _, ok := n.Cause(code); !ok {
			return Answer{}, &UnknownError{Kind: "cause", Given: code}
		}
		s.b = s.b.NotCured(code)
		s.repaired = append(s.repaired, code)
	}
	for i := range n.Checks { // what readings hold already is not asked for
		k := &n.Checks[i]
		if _, ok := s.done[k.Code]; !ok && slices.ContainsFunc(k.Reads, func(r string) bool { return c.Read[r] }) {
			s.done[k.Code] = ""
		}
	}
	each, other := s.b.marginals()
	for i, p := range each {
		if i < s.b.own || p >= threshold.RuledOut {
			out.Ranked = append(out.Ranked, s.suspect(i, p))
		}
	}
	slices.SortStableFunc(out.Ranked, func(x, y Suspect) int { return cmp.Compare(y.Probability, x.Probability) })
	out.Other = other
	if lead := out.Ranked[0]; lead.Probability >= threshold.Certain {
		out.Proven = lead.Cause
	}
	out.Forbidden = s.forbidden()
	if out.Proven == "" {
		s.plan(&out)
	}
	for _, x := range out.Next {
		if x.Check == nil {
			continue
		}
		for _, code := range x.Check.Cautions {
			if !slices.Contains(out.Cautions, code) {
				out.Cautions = append(out.Cautions, code)
			}
		}
	}
	if c.Flammable && len(out.Next) > 0 {
		out.Cautions = append([]string{Burns}, slices.DeleteFunc(out.Cautions, func(code string) bool { return code == Burns })...)
	}
	return out, nil
}

// UnknownError is a code that the network does not have.
type UnknownError struct {
	Kind, Check, Given string
	Allowed            []string
}

// Error names the code.
func (e *UnknownError) Error() string {
	return "checks: unknown " + e.Kind + " " + e.Given + " " + e.Check
}

// state is a call in the middle: what is thought, what was answered, what stands open.
type state struct {
	n        *Network
	b        *Belief
	done     map[string]string
	opened   []bool
	burns    bool
	of       *Complaint
	repaired []string
	freezer  bool
	phases   int
}

// shows reports whether an answer speaks for one of the causes.
func (c *Check) shows(answer string, causes []string) bool {
	return slices.ContainsFunc(c.Finds, func(f Finding) bool { return f.Answer == answer && slices.Contains(causes, f.Cause) })
}

func (s *state) suspect(i int, p float64) Suspect {
	c, _ := s.n.Cause(s.b.codes[i])
	return Suspect{Cause: c.Code, Group: c.Group, Probability: p}
}

// after is the state once a check gave an answer.
func (s *state) after(c *Check, answer string) state {
	out := *s
	out.b = s.b.Found(c, answer)
	out.done = map[string]string{c.Code: answer}
	for k, v := range s.done {
		if _, ok := out.done[k]; !ok {
			out.done[k] = v
		}
	}
	out.opened = slices.Clone(s.opened)
	for _, o := range s.opens(c) {
		out.opened[o] = true
	}
	return out
}

func (s *state) opens(c *Check) []int {
	var out []int
	for i, o := range s.n.Openings {
		if slices.Contains(c.Opens, o.Code) {
			out = append(out, i)
		}
	}
	return out
}

// until is what must have been answered before a check may be done; nil: it may be done.
func (s *state) until(c *Check) *Before {
	if c.Code == air.Check || c.Code == ground.Check && s.airClear() {
		return nil
	}
	switch {
	case !s.airClear() && !quiet(c):
		return &air
	case !s.sound() && starts(c):
		return &ground
	case c.After != nil && s.done[c.After.Check] != c.After.Answer:
		return c.After
	}
	return nil
}

// noTrial is what must have been answered before the machine may be started to see whether a repair was one.
func (s *state) noTrial() *Before {
	switch {
	case !s.airClear():
		return &air
	case !s.sound():
		return &ground
	}
	return nil
}

func (s *state) airClear() bool { return !s.burns || s.done[air.Check] == air.Answer }

// sound reports whether nothing speaks against starting: no tripped breaker, and no part found down to ground, since the
// insulation was last found good.
func (s *state) sound() bool {
	switch got := s.done[ground.Check]; {
	case got == ground.Answer:
		return true
	case got != "":
		return false
	}
	return s.done["windings"] != "bad" && !slices.Contains(s.of.Can, Tripped)
}

// quiet reports whether a check can make no spark: nothing is opened, switched or measured live.
func quiet(c *Check) bool { return c.Power == Either && len(c.Opens) == 0 }

// starts reports whether a check needs the compressor to be started.
func starts(c *Check) bool { return c.Needs == Tries || c.Needs == Compressor }

// about reports whether a check is a matter of this call: the machine does what it needs, and it can find a cause that is
// worth looking for.
func (s *state) about(c *Check, each []float64) bool {
	if c.Needs != "" && !slices.Contains(s.of.Can, c.Needs) || c.Code == air.Check || c.Cooler && s.freezer ||
		c.Phases != 0 && s.phases != 0 && c.Phases != s.phases {
		return false
	}
	return slices.ContainsFunc(c.Finds, func(f Finding) bool { return each[s.b.index[f.Cause]] >= worth })
}

func (s *state) forbidden() []Forbidden {
	each, _ := s.b.marginals()
	var out []Forbidden
	for i := range s.n.Checks {
		c := &s.n.Checks[i]
		if _, ok := s.done[c.Code]; ok || !s.about(c, each) {
			continue
		}
		if u := s.until(c); u != nil {
			out = append(out, Forbidden{Check: c.Code, Until: *u})
		}
	}
	return out
}
