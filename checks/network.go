package checks

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"sync"

	"coldwright/internal/strictjson"
)

// Kind is what the machine does when somebody complains: the first question of a visit.
type Kind string

// The kinds.
const (
	Runs   Kind = "runs"   // all the time
	Short  Kind = "short"  // starts and stops too often
	Stands Kind = "stands" // something does not turn
	Trips  Kind = "trips"
	Ice    Kind = "ice"
	Water  Kind = "water" // water or ice where none should be
	Other  Kind = "other"
)

// Power is what a check needs of the supply.
type Power string

// The needs.
const (
	On     Power = "on"
	Off    Power = "off"
	Either Power = "either" // as found
	Both   Power = "both"   // measured live, then isolated
)

// State is something a machine does that a check needs.
type State string

// The states.
const (
	Tripped    State = "tripped"    // a breaker has tripped
	Supply     State = "supply"     // the breaker holds
	Fans       State = "fans"       // control and fans have power
	Tries      State = "tries"      // the compressor tries to start
	Compressor State = "compressor" // the compressor runs for minutes
)

// Link is a cause of a complaint and how often it is the one.
type Link struct {
	Cause    string  `json:"cause"`
	Weight   float64 `json:"weight"`   // of one, over the causes of the complaint
	Evidence string  `json:"evidence"` // for the link; the weight is judgement
	Basis    string  `json:"basis"`
}

// Complaint is what somebody says of the machine.
type Complaint struct {
	Code   string  `json:"code"`
	Kind   Kind    `json:"kind"`
	Weight float64 `json:"weight"`        // how often calls begin with it
	Trial  float64 `json:"trial_minutes"` // to see whether a repair was the right one
	Can    []State `json:"can,omitempty"` // what the machine still does
	Causes []Link  `json:"causes"`
}

// Cause is what can be wrong. Circuit are the causes of package machine/fault that are the same thing.
type Cause struct {
	Code    string   `json:"code"`
	Group   string   `json:"group"`
	Circuit []string `json:"circuit,omitempty"`
	Cold    bool     `json:"cold,omitempty"`   // it takes cold air outside
	Phases  int      `json:"phases,omitempty"` // of machines with one phase, or with three, only
}

// Finding is what a check shows under a cause: its answer in the share Hit of all cases.
type Finding struct {
	Cause  string  `json:"cause"`
	Answer string  `json:"answer"`
	Hit    float64 `json:"hit"`
}

// Band is a range of a measured number and the answer it stands for. Below is not in it; the last band has none.
type Band struct {
	Below  *float64 `json:"below,omitempty"`
	Answer string   `json:"answer"`
}

// Number says that a check is measured: its unit, and which answer a value is.
type Number struct {
	Unit  string `json:"unit"`
	Bands []Band `json:"bands"`
}

// Before names the answer of another check without which this one is forbidden.
type Before struct {
	Check  string `json:"check"`
	Answer string `json:"answer"`
}

// Check is one thing to look at or to measure. Its last answer is the one of a sound machine.
type Check struct {
	Code     string    `json:"code"`
	Minutes  float64   `json:"minutes"` // without opening anything
	Power    Power     `json:"power"`
	Needs    State     `json:"needs,omitempty"`
	Cooler   bool      `json:"cooler,omitempty"` // of boxes above freezing only
	Phases   int       `json:"phases,omitempty"` // of machines with three only
	Opens    []string  `json:"opens,omitempty"`
	Cautions []string  `json:"cautions,omitempty"`
	Answers  []string  `json:"answers"`
	Finds    []Finding `json:"finds"`
	Number   *Number   `json:"number,omitempty"`
	After    *Before   `json:"after,omitempty"`
	Reads    []string  `json:"reads,omitempty"` // what of a sheet is the same look
}

// Opening is done once for all the checks behind it: locked out, a panel off, gauges on.
type Opening struct {
	Code    string  `json:"code"`
	Minutes float64 `json:"minutes"`
}

// Network is everything the checks rest on.
type Network struct {
	About      string      `json:"about"`
	Evidence   string      `json:"evidence"`
	Complaints []Complaint `json:"complaints"`
	Causes     []Cause     `json:"causes"`
	Checks     []Check     `json:"checks"`
	Openings   []Opening   `json:"openings"`
	Call       struct {
		Minutes float64 `json:"minutes"`
		Basis   string  `json:"basis"`
	} `json:"call"`
	Belief struct {
		FalseAlarm float64 `json:"false_alarm"` // share of answers other than the sound one without a cause for it
		Other      float64 `json:"other"`       // share of calls whose cause is not in the network
		Elsewhere  float64 `json:"elsewhere"`   // … whose cause is one that other complaints list
		Second     float64 `json:"second"`      // … with two causes at once
		InCold     float64 `json:"in_cold"`     // how many times as often causes that take cold are met in it
		Unfit      float64 `json:"unfit"`       // … in warm air, or those of another supply: a plate misread, a thermometer in the sun
		Basis      string  `json:"basis"`
	} `json:"belief"`
}

//go:embed network.json
var shipped []byte

var standard = sync.OnceValue(func() *Network {
	n := new(Network)
	strictjson.Data(shipped, n)
	if err := n.valid(); err != nil {
		panic("embedded data: network.json: " + err.Error())
	}
	return n
})

// Standard returns the network that is part of the program. It is shared: do not change it.
func Standard() *Network { return standard() }

// valid reports the first thing of a network that does not hold together.
func (n *Network) valid() error {
	share := func(what string, x float64) error {
		if !(x > 0 && x < 1) {
			return fmt.Errorf("%s is %v, allowed: more than 0 and less than 1", what, x)
		}
		return nil
	}
	for what, x := range map[string]float64{
		"false_alarm": n.Belief.FalseAlarm, "other": n.Belief.Other, "elsewhere": n.Belief.Elsewhere, "second": n.Belief.Second,
		"unfit": n.Belief.Unfit,
	} {
		if err := share(what, x); err != nil {
			return err
		}
	}
	if n.Belief.InCold < 1 {
		return fmt.Errorf("in_cold is %v, allowed: 1 or more", n.Belief.InCold)
	}
	seen := map[string]bool{}
	once := func(code string) error {
		if code == "" || seen[code] {
			return fmt.Errorf("the code %q is missing or stands twice", code)
		}
		seen[code] = true
		return nil
	}
	causes := map[string]bool{}
	for _, c := range n.Causes {
		if err := once("cause " + c.Code); err != nil {
			return err
		}
		causes[c.Code] = true
	}
	kinds := []Kind{Runs, Short, Stands, Trips, Ice, Water, Other}
	for _, c := range n.Complaints {
		if err := once("complaint " + c.Code); err != nil {
			return err
		}
		sum := 0.0
		for _, l := range c.Causes {
			if !causes[l.Cause] {
				return fmt.Errorf("complaint %s: there is no cause %q", c.Code, l.Cause)
			}
			if err := share("weight of "+l.Cause, l.Weight); err != nil {
				return fmt.Errorf("complaint %s: %w", c.Code, err)
			}
			sum += l.Weight
		}
		if math.Abs(sum-1) > 1e-9 || !slices.Contains(kinds, c.Kind) || c.Trial <= 0 || c.Weight <= 0 {
			return fmt.Errorf("complaint %s: weights add up to %v, kind %q, trial %v", c.Code, sum, c.Kind, c.Trial)
		}
	}
	openings := map[string]bool{}
	for _, o := range n.Openings {
		openings[o.Code] = o.Minutes > 0
	}
	for i := range n.Checks {
		c := &n.Checks[i]
		if err := once("check " + c.Code); err != nil {
			return err
		}
		if err := c.valid(causes, openings); err != nil {
			return fmt.Errorf("check %s: %w", c.Code, err)
		}
		if c.After != nil {
			b := n.check(c.After.Check)
			if b == nil || b.After != nil || !slices.Contains(b.Answers, c.After.Answer) {
				return fmt.Errorf("check %s: nothing can be done before it as %s says", c.Code, c.After.Check)
			}
		}
	}
	for _, b := range []Before{air, ground} { // what the program itself waits for
		if c := n.check(b.Check); c == nil || !slices.Contains(c.Answers, b.Answer) {
			return fmt.Errorf("there is no check %s with the answer %s", b.Check, b.Answer)
		}
	}
	return nil
}

func (c *Check) valid(causes, openings map[string]bool) error {
	if c.Needs != "" && !slices.Contains([]State{Tripped, Supply, Fans, Tries, Compressor}, c.Needs) {
		return fmt.Errorf("it needs %q", c.Needs)
	}
	if len(c.Answers) < 2 || c.Minutes <= 0 || !slices.Contains([]Power{On, Off, Either, Both}, c.Power) {
		return fmt.Errorf("%d answers, %v minutes, power %q", len(c.Answers), c.Minutes, c.Power)
	}
	for _, o := range c.Opens {
		if !openings[o] {
			return fmt.Errorf("there is no opening %q", o)
		}
	}
	found := map[string]bool{}
	for _, f := range c.Finds {
		if !causes[f.Cause] || found[f.Cause] || !slices.Contains(c.Answers, f.Answer) || !(f.Hit > 0 && f.Hit < 1) {
			return fmt.Errorf("what it shows under %q: %q in %v", f.Cause, f.Answer, f.Hit)
		}
		found[f.Cause] = true
	}
	if c.Number == nil {
		return nil
	}
	last := math.Inf(-1)
	for i, b := range c.Number.Bands {
		if (b.Below == nil) != (i == len(c.Number.Bands)-1) || !slices.Contains(c.Answers, b.Answer) {
			return fmt.Errorf("band %d ends wrongly or answers %q", i+1, b.Answer)
		}
		if b.Below != nil {
			if *b.Below <= last {
				return fmt.Errorf("band %d ends before the one before it", i+1)
			}
			last = *b.Below
		}
	}
	return nil
}

// sound is the answer of a machine that has none of the causes the check can find.
func (c *Check) sound() string { return c.Answers[len(c.Answers)-1] }

// Of is the answer a measured number stands for; false where the check is not measured.
func (c *Check) Of(x float64) (string, bool) {
	if c.Number == nil || math.IsNaN(x) {
		return "", false
	}
	for _, b := range c.Number.Bands {
		if b.Below == nil || x < *b.Below {
			return b.Answer, true
		}
	}
	return "", false
}

// check is the one with the code, or nil.
func (n *Network) check(code string) *Check {
	if i := slices.IndexFunc(n.Checks, func(c Check) bool { return c.Code == code }); i >= 0 {
		return &n.Checks[i]
	}
	return nil
}

// Check returns a check by its code.
func (n *Network) Check(code string) (*Check, bool) {
	c := n.check(code)
	return c, c != nil
}

// Cause returns a cause by its code.
func (n *Network) Cause(code string) (Cause, bool) {
	if i := slices.IndexFunc(n.Causes, func(c Cause) bool { return c.Code == code }); i >= 0 {
		return n.Causes[i], true
	}
	return Cause{}, false
}

// Complaint returns a complaint by its code.
func (n *Network) Complaint(code string) (*Complaint, bool) {
	if i := slices.IndexFunc(n.Complaints, func(c Complaint) bool { return c.Code == code }); i >= 0 {
		return &n.Complaints[i], true
	}
	return nil, false
}
