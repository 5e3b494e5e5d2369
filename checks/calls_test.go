package checks

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"coldwright/verdict/threshold"
)

// call is one simulated call: what is wrong, and what a check shows then, by a network that is not the one that judges.
type call struct {
	truth *Network
	cause string
	rng   *rand.Rand
}

func (c *call) answer(code string) string {
	k := c.truth.check(code)
	b := Belief{n: c.truth, codes: []string{c.cause}}
	row := b.row(k, 0)
	u := c.rng.Float64()
	for _, a := range k.Answers {
		if u -= row(a); u < 0 {
			return a
		}
	}
	return k.sound()
}

// other draws a network around the shipped one: weights of each complaint by a factor of about two either way, miss rates
// and false alarms by a factor of about two.
func other(rng *rand.Rand) *Network {
	n := fresh()
	factor := func() float64 { return math.Exp(.7 * rng.NormFloat64()) }
	for i := range n.Complaints {
		sum := 0.0
		for j := range n.Complaints[i].Causes {
			l := &n.Complaints[i].Causes[j]
			l.Weight *= factor()
			sum += l.Weight
		}
		for j := range n.Complaints[i].Causes {
			n.Complaints[i].Causes[j].Weight /= sum
		}
	}
	n.Belief.FalseAlarm *= factor()
	for i := range n.Checks {
		for j := range n.Checks[i].Finds {
			f := &n.Checks[i].Finds[j]
			f.Hit = 1 - math.Min(.9, (1-f.Hit)*factor())
		}
	}
	return n
}

// rule picks the next check or repair of a call that is not yet proven; both empty: it calls for help.
type rule func(s *state, a *Answer) (check, repair string)

// likeliest looks at the most probable cause first, by the check that shows it best; a cause that was shown is put right.
func likeliest(s *state, _ *Answer) (string, string) {
	return pick(s, func(p, _ float64) float64 { return p })
}

// cheapest does what takes least.
func cheapest(s *state, _ *Answer) (string, string) {
	return pick(s, func(_, minutes float64) float64 { return -minutes })
}

func pick(s *state, value func(p, minutes float64) float64) (check, repair string) {
	each, _ := s.b.marginals()
	if list := s.shown(each); len(list) > 0 {
		return "", s.b.codes[slices.MaxFunc(list, func(i, j int) int { return cmp.Compare(each[i], each[j]) })]
	}
	best := math.Inf(-1)
	for _, c := range s.candidates() {
		p := 0.0
		for _, f := range c.Finds {
			p = math.Max(p, each[s.b.index[f.Cause]]*f.Hit)
		}
		if v := value(p, s.minutes(c)); v > best {
			best, check = v, c.Code
		}
	}
	return check, ""
}

// ours is what the program would do.
func ours(_ *state, a *Answer) (string, string) {
	if a.Call || len(a.Next) == 0 {
		return "", ""
	}
	if a.Next[0].Check == nil {
		return "", a.Next[0].Repair
	}
	return a.Next[0].Check.Code, ""
}

// play runs one call to its proof, a cure or a call for help, and returns the minutes; right reports whether what was
// called proven was so.
func play(t *testing.T, n *Network, cp *Complaint, c *call, next rule) (minutes float64, right bool) {
	var found []Found
	var repaired []string
	opened := map[string]bool{}
	for range 60 {
		a, err := n.Run(Case{Complaint: cp.Code, Found: found, Repaired: repaired})
		if err != nil {
			t.Fatal(err)
		}
		if a.Proven != "" {
			return minutes, a.Proven == c.cause
		}
		s := state{n: n, b: n.Believe(cp, nil, nil, Place{}), done: map[string]string{}, opened: make([]bool, len(n.Openings)), of: cp}
		for _, f := range found {
			s = s.after(n.check(f.Check), f.Answer)
		}
		for _, code := range repaired {
			s = s.notCured(s.b.index[code])
		}
		check, repair := next(&s, &a)
		switch {
		case repair != "":
			minutes += repairMinutes + cp.Trial
			if repair == c.cause && c.rng.Float64() > inVain {
				return minutes, true
			}
			repaired = append(repaired, repair)
			continue
		case check == "" || minutes > 600:
			return minutes + n.Call.Minutes, true
		}
		k := n.check(check)
		if s.until(k) != nil {
			t.Errorf("%s: %s was offered while it is forbidden", cp.Code, check)
		}
		minutes += k.Minutes
		for _, o := range k.Opens {
			if !opened[o] {
				minutes += n.Openings[slices.IndexFunc(n.Openings, func(x Opening) bool { return x.Code == o })].Minutes
				opened[o] = true
			}
		}
		found = append(found, Found{check, c.answer(check)})
	}
	return minutes + n.Call.Minutes, true
}

// Calls drawn from networks around the shipped one: what the program offers reaches a proven cause sooner than the
// likeliest or the cheapest check first, what it calls proven is so, and nothing forbidden is ever offered.
func TestRun_CallsFromOtherNetworks(t *testing.T) {
	n := Standard()
	const calls = 8
	sum := map[string]float64{}
	proven, right := 0, 0
	for i := range n.Complaints {
		cp := &n.Complaints[i]
		of := map[string]float64{}
		for k := range calls {
			for name, next := range map[string]rule{"ours": ours, "likeliest first": likeliest, "cheapest first": cheapest} {
				rng := rand.New(rand.NewPCG(uint64(k), uint64(i)))
				truth := other(rng)
				tc, _ := truth.Complaint(cp.Code)
				u := rng.Float64()
				c := &call{truth: truth, cause: tc.Causes[0].Cause, rng: rng}
				for _, l := range tc.Causes {
					if u -= l.Weight; u < 0 {
						c.cause = l.Cause
						break
					}
				}
				m, ok := play(t, n, cp, c, next)
				of[name] += m / calls
				if name == "ours" {
					proven++
					if ok {
						right++
					}
				}
			}
		}
		t.Logf("%-32s %5.1f, likeliest first %5.1f, cheapest first %5.1f", cp.Code, of["ours"], of["likeliest first"], of["cheapest first"])
		for k, v := range of {
			sum[k] += v * cp.Weight
		}
	}
	t.Logf("weighed by how often: ours %.1f, likeliest first %.1f, cheapest first %.1f min; %d of %d proven rightly",
		sum["ours"], sum["likeliest first"], sum["cheapest first"], right, proven)
	if sum["ours"] > sum["likeliest first"] || sum["ours"] > sum["cheapest first"] {
		t.Errorf("no sooner: %v", sum)
	}
	if float64(right) < threshold.Likely*float64(proven) {
		t.Errorf("proven rightly %d of %d", right, proven)
	}
}
