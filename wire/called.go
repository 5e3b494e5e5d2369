package wire

import (
	"math"

	"coldwright/checks"
	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// most is how far the readings move a cause of the circuit against a sound one. Judgement, ours: e⁸ is three thousand to
// one; beyond that a wrong model of the machine is likelier than such odds.
const most = 8

// CircuitOdds turns a judgement of readings into how many times as likely they are under each cause of the circuit as
// under a sound one, and names what of the sheet they rest on.
func CircuitOdds(p *diagnose.Posterior, s *reading.Sheet, cat *fault.Catalogue) (checks.Odds, map[string]bool) {
	odds := checks.Odds{}
	sound := math.Max(p.PHealthy, 1e-12) / cat.HealthyRate
	for _, m := range p.Marginals {
		f, ok := cat.Find(m.Fault)
		if !ok {
			continue
		}
		ln := math.Log(math.Max(m.Probability, 1e-12) / f.BaseRate / sound)
		odds[m.Fault.String()] = math.Exp(math.Max(-most, math.Min(most, ln)))
	}
	read := map[string]bool{}
	for _, r := range p.Used {
		read[r.String()] = true
	}
	for _, key := range reading.SeenKeys() {
		if s.Seen.Get(key) != "" {
			read[key] = true
		}
	}
	return odds, read
}

type jsonSuspect struct {
	Cause       string `json:"cause"`
	Group       string `json:"group"`
	Probability num64  `json:"probability"`
}

// CallAnswer is the answer to a call; why and the cautions are said by the edge.
func CallAnswer(a *checks.Answer, why func(checks.Next) string, caution func(code string) string) any {
	type (
		meaning struct {
			Answer      string `json:"answer"`
			Probability num64  `json:"probability"`
			Cause       string `json:"then_first"`
			Then        num64  `json:"then_probability"`
		}
		next struct {
			Check   string    `json:"check,omitempty"`
			Repair  string    `json:"repair,omitempty"`
			Minutes num64     `json:"minutes"`
			Power   string    `json:"power,omitempty"`
			Opens   []string  `json:"opens"`
			Mind    []string  `json:"cautions"`
			Why     string    `json:"why"`
			Answers []meaning `json:"answers"`
			ToProof num64     `json:"minutes_to_proof"`
		}
		until struct {
			Check  string `json:"check"`
			Answer string `json:"answer"`
		}
		forbidden struct {
			Check string `json:"check"`
			Until until  `json:"until"`
		}
		planned struct {
			Check string `json:"check"`
			Try   bool   `json:"then_try"`
		}
		told struct {
			Code string `json:"code"`
			Text string `json:"text"`
		}
	)
	out := struct {
		Ranked    []jsonSuspect `json:"ranked"`
		Other     num64         `json:"p_other"`
		Proven    *string       `json:"proven"`
		Next      []next        `json:"next"`
		Plan      []planned     `json:"plan"`
		Forbidden []forbidden   `json:"forbidden"`
		Cautions  []told        `json:"cautions"`
		Twice     []string      `json:"not_counted"`
		ToProof   num64         `json:"minutes_to_proof"`
		Call      bool          `json:"call_for_help"`
	}{
		Ranked: []jsonSuspect{}, Other: num64(a.Other), Next: []next{}, Plan: []planned{}, Forbidden: []forbidden{}, Cautions: []told{},
		Twice: []string{}, ToProof: num64(a.ToProof), Call: a.Call,
	}
	if a.Proven != "" {
		out.Proven = &a.Proven
	}
	for _, s := range a.Ranked {
		out.Ranked = append(out.Ranked, jsonSuspect{s.Cause, s.Group, num64(s.Probability)})
	}
	for _, x := range a.Next {
		n := next{
			Repair: x.Repair, Minutes: num64(x.Minutes), Opens: []string{}, Mind: []string{}, Why: why(x), Answers: []meaning{},
			ToProof: num64(x.ToProof),
		}
		if x.Check != nil {
			n.Check, n.Power, n.Opens = x.Check.Code, string(x.Check.Power), append(n.Opens, x.Opens...)
			n.Mind = append(n.Mind, x.Check.Cautions...)
		}
		for _, m := range x.Answers {
			n.Answers = append(n.Answers, meaning{m.Answer, num64(m.Probability), m.Leads.Cause, num64(m.Leads.Probability)})
		}
		out.Next = append(out.Next, n)
	}
	for _, p := range a.Plan {
		out.Plan = append(out.Plan, planned{p.Check, p.Try})
	}
	for _, f := range a.Forbidden {
		out.Forbidden = append(out.Forbidden, forbidden{f.Check, until{f.Until.Check, f.Until.Answer}})
	}
	for _, code := range a.Cautions {
		out.Cautions = append(out.Cautions, told{code, caution(code)})
	}
	out.Twice = append(out.Twice, a.Twice...)
	return out
}

// ChecksList is every complaint with its causes, and every check with its answers.
func ChecksList() any {
	type (
		complaint struct {
			Code   string   `json:"code"`
			Kind   string   `json:"kind"`
			Causes []string `json:"causes"`
		}
		cause struct {
			Code    string   `json:"code"`
			Group   string   `json:"group"`
			Circuit []string `json:"circuit"`
		}
		check struct {
			Code    string   `json:"code"`
			Minutes num64    `json:"minutes"`
			Power   string   `json:"power"`
			Opens   []string `json:"opens"`
			Answers []string `json:"answers"`
			Unit    string   `json:"unit,omitempty"`
			Finds   []string `json:"finds"`
		}
	)
	n := checks.Standard()
	var out struct {
		Complaints []complaint `json:"complaints"`
		Causes     []cause     `json:"causes"`
		Checks     []check     `json:"checks"`
	}
	for _, c := range n.Complaints {
		x := complaint{Code: c.Code, Kind: string(c.Kind)}
		for _, l := range c.Causes {
			x.Causes = append(x.Causes, l.Cause)
		}
		out.Complaints = append(out.Complaints, x)
	}
	for _, c := range n.Causes {
		out.Causes = append(out.Causes, cause{c.Code, c.Group, append([]string{}, c.Circuit...)})
	}
	for i := range n.Checks {
		k := &n.Checks[i]
		x := check{Code: k.Code, Minutes: num64(k.Minutes), Power: string(k.Power), Opens: append([]string{}, k.Opens...), Answers: k.Answers}
		if k.Number != nil {
			x.Unit = k.Number.Unit
		}
		for _, f := range k.Finds {
			x.Finds = append(x.Finds, f.Cause)
		}
		out.Checks = append(out.Checks, x)
	}
	return out
}
