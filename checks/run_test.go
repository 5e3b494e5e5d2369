package checks

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// network is one complaint with causes c0, c1 … and checks k0, k1 … that surely show what they find.
func network(p, cost []float64, finds [][]float64) *Network {
	n := new(Network)
	n.Belief.FalseAlarm, n.Belief.Other, n.Belief.Elsewhere, n.Belief.Second = 1e-9, 1e-9, 1e-9, 1e-9
	n.Belief.InCold, n.Belief.Unfit = 1, .1
	n.Call.Minutes = 1e6
	c := Complaint{Code: "x", Trial: 1}
	for i, w := range p {
		code := fmt.Sprint("c", i)
		n.Causes = append(n.Causes, Cause{Code: code})
		c.Causes = append(c.Causes, Link{Cause: code, Weight: w})
	}
	n.Causes = append(n.Causes, Cause{Code: "elsewhere"})
	n.Complaints = []Complaint{c}
	for k := range cost {
		check := Check{Code: fmt.Sprint("k", k), Minutes: cost[k], Power: Either}
		for i, hit := range finds[k] {
			if hit > 0 {
				check.Answers = append(check.Answers, fmt.Sprint("c", i))
				check.Finds = append(check.Finds, Finding{Cause: fmt.Sprint("c", i), Answer: fmt.Sprint("c", i), Hit: hit - 1e-9})
			}
		}
		check.Answers = append(check.Answers, "clear")
		n.Checks = append(n.Checks, check)
	}
	return n
}

// A check that passes lowers its cause by its miss rate and lifts the others: p·miss over 1 − p (1 − miss). With one
// cause at a time and no false alarm that is Bayes.
func TestBelieve_Miss(t *testing.T) {
	n := network([]float64{.5, .3, .2}, []float64{1}, [][]float64{{.8, 0, 0}})
	b := n.Believe(&n.Complaints[0], nil, nil, Place{}).Found(&n.Checks[0], "clear")
	each, _ := b.marginals()
	left := 1 - .5*.8
	for i, want := range []float64{.5 * .2 / left, .3 / left, .2 / left} {
		if math.Abs(each[i]-want) > 1e-6 {
			t.Errorf("cause %d has %.6f, want %.6f", i, each[i], want)
		}
	}
}

// Exact for pairs: the same as summing over every pair of causes by hand, with answers of two checks.
func TestBelieve_PairsByHand(t *testing.T) {
	n := network([]float64{.5, .3, .2}, []float64{1, 1}, [][]float64{{.8, 0, 0}, {0, .9, 0}})
	n.Belief.Second, n.Belief.FalseAlarm, n.Belief.Other, n.Belief.Elsewhere = .2, .1, 1e-12, 1e-12
	b := n.Believe(&n.Complaints[0], nil, nil, Place{}).Found(&n.Checks[0], "c0").Found(&n.Checks[1], "c1")
	each, _ := b.marginals()
	w := []float64{.5, .3, .2}
	show := func(k int, has ...int) float64 { // chance that check k shows its cause
		clear := .9
		for _, i := range has {
			if i == k {
				clear *= (1 - []float64{.8, .9}[k]) / .9
			}
		}
		return 1 - clear
	}
	want, sum := make([]float64, 3), 0.0
	pairs := .5*.3 + .5*.2 + .3*.2
	for i := range w {
		p := .8 * w[i] * show(0, i) * show(1, i)
		want[i] += p
		sum += p
		for j := range i {
			p := .2 * w[i] * w[j] / pairs * show(0, i, j) * show(1, i, j)
			want[i] += p
			want[j] += p
			sum += p
		}
	}
	for i := range want {
		if math.Abs(each[i]-want[i]/sum) > 1e-6 {
			t.Errorf("cause %d has %.6f, by hand %.6f", i, each[i], want[i]/sum)
		}
	}
}

func TestStandard_Whole(t *testing.T) {
	n := Standard()
	if len(n.Complaints) != 23 || len(n.Causes) < 100 || len(n.Checks) < 80 {
		t.Fatalf("%d complaints, %d causes, %d checks", len(n.Complaints), len(n.Causes), len(n.Checks))
	}
	places := map[string]bool{}
	for _, p := range reading.Places() {
		places[p.String()] = true
	}
	for _, c := range n.Causes {
		for _, code := range c.Circuit {
			if _, err := fault.Parse(code); err != nil {
				t.Errorf("%s: the circuit has no cause %s", c.Code, code)
			}
		}
		if !slices.ContainsFunc(n.Checks, func(k Check) bool {
			return slices.ContainsFunc(k.Finds, func(f Finding) bool { return f.Cause == c.Code && f.Hit >= .6 })
		}) {
			t.Errorf("%s: no check finds it", c.Code)
		}
	}
	for _, k := range n.Checks {
		for _, r := range k.Reads {
			if !places[r] && !slices.Contains(reading.SeenKeys(), r) {
				t.Errorf("%s: a sheet has no %s", k.Code, r)
			}
		}
		if k.Power == Off && slices.Contains(k.Opens, "panel") && !slices.Contains(k.Opens, "lockout") {
			t.Errorf("%s: a panel is opened with the power off, but nothing is locked out", k.Code)
		}
		if k.Power != Off && k.Power != Either && slices.Contains(k.Opens, "panel") && !slices.Contains(k.Cautions, "live_work") {
			t.Errorf("%s: live parts without their caution", k.Code)
		}
	}
}

func TestNetwork_Refuses(t *testing.T) {
	for what, spoil := range map[string]func(*Network){
		"weights add up":    func(n *Network) { n.Complaints[0].Causes[0].Weight += .1 },
		"there is no cause": func(n *Network) { n.Complaints[0].Causes[0].Cause = "moon" },
		"stands twice":      func(n *Network) { n.Checks[1].Code = n.Checks[0].Code },
		"no opening":        func(n *Network) { n.Checks[0].Opens = []string{"moon"} },
		"what it shows":     func(n *Network) { n.Checks[0].Finds[0].Hit = 1 },
		"ends wrongly":      func(n *Network) { n.Checks[0].Number.Bands = n.Checks[0].Number.Bands[:1] },
		"with the answer": func(n *Network) {
			n.Checks = slices.DeleteFunc(n.Checks, func(c Check) bool { return c.Code == "detector_first" })
		},
		"before it":          func(n *Network) { n.Checks[0].After = &Before{"moon", "clear"} },
		"allowed: more than": func(n *Network) { n.Belief.Other = 0 },
	} {
		n := fresh()
		spoil(n)
		if err := n.valid(); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// fresh is a copy of the shipped network that a test may change.
func fresh() *Network {
	s := *Standard()
	n := &s
	n.Complaints = slices.Clone(n.Complaints)
	for i := range n.Complaints {
		n.Complaints[i].Causes = slices.Clone(n.Complaints[i].Causes)
	}
	n.Checks = slices.Clone(n.Checks)
	for i := range n.Checks {
		n.Checks[i].Finds = slices.Clone(n.Checks[i].Finds)
		if n.Checks[i].Number != nil {
			x := *n.Checks[i].Number
			x.Bands = slices.Clone(x.Bands)
			n.Checks[i].Number = &x
		}
	}
	return n
}

func TestRun_Unknown(t *testing.T) {
	for _, c := range []Case{
		{Complaint: "moon"},
		{Complaint: "noisy", Found: []Found{{"moon", "clear"}}},
		{Complaint: "noisy", Found: []Found{{"hand_on_parts", "moon"}}},
	} {
		var u *UnknownError
		if _, err := Standard().Run(c); !errors.As(err, &u) || u.Given != "moon" {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// A tripped breaker stays off until the insulation was tested: never offered before, forbidden and said so, whatever else
// was found.
func TestRun_BreakerStaysOff(t *testing.T) {
	n := Standard()
	a, err := n.Run(Case{Complaint: "breaker_trips"})
	if err != nil {
		t.Fatal(err)
	}
	want := Forbidden{"reset_breaker", Before{"insulation", "clear"}}
	if !slices.Contains(a.Forbidden, want) {
		t.Errorf("forbidden are %v, want %v among them", a.Forbidden, want)
	}
	a, err = n.Run(Case{Complaint: "breaker_trips", Found: []Found{{"insulation", "clear"}}})
	if err != nil {
		t.Fatal(err)
	}
	if slices.Contains(a.Forbidden, want) {
		t.Error("still forbidden after the insulation was good")
	}
}

// A detector that answered stops everything that can spark, starts or switches, repairs with their trial as well, until it
// finds the air clear.
func TestRun_GasInTheAir(t *testing.T) {
	n := Standard()
	for i := range n.Complaints {
		c := Case{Complaint: n.Complaints[i].Code, Flammable: true, Found: []Found{
			{"detector_first", "found"}, {"start_capacitor_test", "found"}, {"look_through_condenser", "found"},
		}}
		a, err := n.Run(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Next {
			if x.Check == nil || !quiet(x.Check) {
				t.Errorf("%s: with gas in the air %+v is offered", c.Complaint, x)
			}
		}
		for _, p := range a.Plan {
			if !quiet(n.check(p.Check)) || p.Try {
				t.Errorf("%s: with gas in the air %+v is planned", c.Complaint, p)
			}
		}
	}
}

// No start, and no trial of a repair, while a breaker has tripped and the insulation was not tested, or a part was found
// down to ground; after the repair the insulation is tested again, first, and the earlier answer stays evidence.
func TestRun_GroundFirst(t *testing.T) {
	n := Standard()
	starting := func(c Case) {
		t.Helper()
		a, err := n.Run(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Next {
			if x.Check == nil || starts(x.Check) || x.Check.Code == "reset_breaker" {
				t.Errorf("%+v: %+v is offered", c, x)
			}
		}
		for _, p := range a.Plan {
			if p.Try || starts(n.check(p.Check)) || p.Check == "reset_breaker" {
				t.Errorf("%+v: %+v is planned", c, p)
			}
		}
	}
	starting(Case{Complaint: "breaker_trips", Found: []Found{{"start_relay_test", "found"}}})
	starting(Case{Complaint: "breaker_trips", Found: []Found{{"start_relay_test", "found"}, {"reset_breaker", "on_start"}}})
	starting(Case{Complaint: "hums_and_trips", Found: []Found{{"insulation", "compressor"}}})
	starting(Case{Complaint: "hums_and_trips", Found: []Found{{"windings", "bad"}}})

	c := Case{Complaint: "breaker_trips", Found: []Found{{"insulation", "heater"}}, Repaired: []string{"heater_grounded"}}
	starting(c)
	a, err := n.Run(c)
	if err != nil || len(a.Next) == 0 || a.Next[0].Check == nil || a.Next[0].Check.Code != "insulation" {
		t.Fatalf("after the repair: %+v, %v", a.Next, err)
	}
	c.Found = append(c.Found, Found{"insulation", "clear"})
	again, err := n.Run(c)
	if err != nil {
		t.Fatal(err)
	}
	if again.Ranked[0] != a.Ranked[0] || again.Ranked[0].Cause != "heater_grounded" {
		t.Errorf("good insulation after the repair speaks against what was repaired: %v, before %v", again.Ranked[0], a.Ranked[0])
	}
	if slices.ContainsFunc(again.Forbidden, func(f Forbidden) bool { return f.Check == "reset_breaker" }) {
		t.Error("the breaker stays off though the insulation is good")
	}
}

// Where a machine stands moves what is thought: low head and a cut-in that is not reached take cold air, a start capacitor
// one phase, a lost phase three.
func TestRun_Place(t *testing.T) {
	n := Standard()
	p := func(complaint, cause string, at Place) float64 {
		a, err := n.Run(Case{Complaint: complaint, Place: at})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Next {
			if x.Check != nil && x.Check.Phases == 3 && at.Phases == 1 {
				t.Errorf("one phase, and %s is offered", x.Check.Code)
			}
		}
		i := slices.IndexFunc(a.Ranked, func(s Suspect) bool { return s.Cause == cause })
		return a.Ranked[i].Probability
	}
	low := func(at Place) float64 { return p("short_cycle_low_pressure", "cold_low_head", at) }
	plain, cold, warm := low(Place{}), low(Place{Outside: 261}), low(Place{Outside: 300})
	if !(cold > 2.5*plain && warm < plain/4) {
		t.Errorf("low head in the cold %.3f, nothing said %.3f, in warm air %.3f", cold, plain, warm)
	}
	hums := func(cause string, phases int) float64 { return p("hums_and_trips", cause, Place{Phases: phases}) }
	if one, three := hums("start_capacitor", 1), hums("start_capacitor", 3); three > one/4 {
		t.Errorf("a start capacitor with one phase %.3f, with three %.3f", one, three)
	}
	if one, three := hums("phase_lost", 1), hums("phase_lost", 3); one > three/4 {
		t.Errorf("a lost phase with one phase %.3f, with three %.3f", one, three)
	}
}

// The first check is the first of the plan; none is named that moves nothing, and a freezer is not asked what coolers do.
func TestRun_PlanBeginsWithNext(t *testing.T) {
	n := Standard()
	for i := range n.Complaints {
		c := Case{Complaint: n.Complaints[i].Code, Freezer: true}
		a, err := n.Run(c)
		if err != nil {
			t.Fatal(err)
		}
		if len(a.Plan) == 0 || a.Next[0].Check == nil || a.Plan[0].Check != a.Next[0].Check.Code {
			t.Errorf("%s: next is %+v, the plan begins with %+v", c.Complaint, a.Next[0], a.Plan)
		}
		for _, p := range a.Plan {
			if n.check(p.Check).Cooler {
				t.Errorf("%s: a freezer is asked for %s", c.Complaint, p.Check)
			}
		}
	}
}

// Where the refrigerant burns, or nobody knows, nothing that can spark is offered before a detector found the air clear.
func TestRun_Flammable(t *testing.T) {
	n := Standard()
	for i := range n.Complaints {
		code := n.Complaints[i].Code
		a, err := n.Run(Case{Complaint: code, Flammable: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Next {
			if x.Check == nil || !quiet(x.Check) {
				t.Errorf("%s: %s is offered before the air was proven clear", code, x.Check.Code)
			}
		}
		if len(a.Next) > 0 && a.Cautions[0] != "flammable" {
			t.Errorf("%s: cautions are %v", code, a.Cautions)
		}
	}
}

// Evidence counts once: a look that the sheet already holds is not counted again, nor asked for.
func TestRun_CountsOnce(t *testing.T) {
	n := Standard()
	c := Case{Complaint: "short_cycle_low_pressure", Odds: Odds{"coil_air": 30}, Read: map[string]bool{"coil_ice": true}}
	without, err := n.Run(c)
	if err != nil {
		t.Fatal(err)
	}
	c.Found = []Found{{"look_at_coil", "blocked"}}
	with, err := n.Run(c)
	if err != nil {
		t.Fatal(err)
	}
	if with.Ranked[0] != without.Ranked[0] || !slices.Equal(with.Twice, []string{"look_at_coil"}) {
		t.Errorf("counted again: %v against %v, left out %v", with.Ranked[0], without.Ranked[0], with.Twice)
	}
	for _, x := range without.Next {
		if x.Check != nil && x.Check.Code == "look_at_coil" {
			t.Error("asked for what the sheet says")
		}
	}
	if without.Ranked[0].Cause != "coil_air" {
		t.Errorf("readings that are 30 times as likely with an iced coil put %s first", without.Ranked[0].Cause)
	}
	// The same look twice is one look.
	d := Case{Complaint: "noisy", Found: []Found{{"hand_on_parts", "found"}}}
	once, _ := n.Run(d)
	d.Found = append(d.Found, d.Found[0])
	twice, err := n.Run(d)
	if err != nil || math.Abs(once.Ranked[0].Probability-twice.Ranked[0].Probability) > 1e-12 {
		t.Errorf("a look twice: %v, %v (%v)", once.Ranked[0], twice.Ranked[0], err)
	}
}

// What cannot be checked tells nothing, and is not asked for again.
func TestRun_Cannot(t *testing.T) {
	n := Standard()
	before, _ := n.Run(Case{Complaint: "noisy"})
	code := before.Next[0].Check.Code
	after, err := n.Run(Case{Complaint: "noisy", Found: []Found{{code, Cannot}}})
	if err != nil || !slices.Equal(after.Ranked, before.Ranked) {
		t.Errorf("%v, %v: %v", before.Ranked[0], after.Ranked[0], err)
	}
	for _, x := range after.Next {
		if x.Check != nil && x.Check.Code == code {
			t.Errorf("%s is asked for again", code)
		}
	}
}

// A repair that was no cure does not acquit its cause: it may be there and not alone.
func TestRun_NotCured(t *testing.T) {
	n := Standard()
	found := []Found{{"look_through_condenser", "found"}}
	p := func(repaired ...string) float64 {
		a, err := n.Run(Case{Complaint: "short_cycle_high_pressure", Found: found, Repaired: repaired})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(a.Ranked, func(s Suspect) bool { return s.Cause == "condenser_dirty" })
		return a.Ranked[i].Probability
	}
	if before, after := p(), p("condenser_dirty"); !(after < .8*before && after > .3) {
		t.Errorf("a dirty condenser cleaned in vain goes from %v to %v", before, after)
	}
}

// Confirmed repairs move the weights as a Dirichlet prior of 20, and taking one back moves them back.
func TestRun_Learns(t *testing.T) {
	n := Standard()
	p := func(l Learned) float64 {
		a, err := n.Run(Case{Complaint: "hums_and_trips", Learned: l})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(a.Ranked, func(s Suspect) bool { return s.Cause == "seized" })
		return a.Ranked[i].Probability
	}
	before, after := p(nil), p(Learned{"seized": 20})
	if after < 4*before {
		t.Errorf("twenty stuck compressors move %v to %v", before, after)
	}
	if again := p(Learned{}); again != before {
		t.Errorf("taken back: %v, before %v", again, before)
	}
}

// A next check takes less than 20 ms.
func TestRun_Fast(t *testing.T) {
	n := Standard()
	start := time.Now()
	for i := range n.Complaints {
		if _, err := n.Run(Case{Complaint: n.Complaints[i].Code}); err != nil {
			t.Fatal(err)
		}
	}
	each := time.Since(start) / time.Duration(len(n.Complaints))
	t.Logf("%v a call", each)
}
