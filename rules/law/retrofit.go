package law

import (
	"errors"
	"math"
	"strings"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// Change is one thing that changing the refrigerant would mean. From and To are words or numbers as Code says.
type Change struct {
	Code  string   `json:"code"`
	From  string   `json:"from,omitempty"`
	To    string   `json:"to,omitempty"`
	A     *float64 `json:"from_value,omitempty"`
	B     *float64 `json:"to_value,omitempty"`
	Trust Trust    `json:"trust,omitempty"`
	Where string   `json:"article,omitempty"`
}

// Codes of a change.
const (
	ChangeSafety     = "safety_class"      // another safety group: From, To
	ChangeMildly     = "becomes_a2l"       // mildly flammable: rated parts, ventilation, detectors, charge limits
	ChangeFlammable  = "becomes_flammable" // A2, A3 or B: a machine not built for it must not get it
	ChangeSafetyNone = "safety_unknown"    // no safety group on file
	ChangeGWP        = "gwp"               // A, B in the edition From
	ChangeGlide      = "glide"             // A, B in K at 101.325 kPa
	ChangePressure   = "pressure"          // A, B bubble pressure at 122 °F, Pa: nameplate, relief, controls
	ChangeRuleEnds   = "rule_ends"         // an instrument no longer covers the machine: From names it
	ChangeRuleBegins = "rule_begins"       // an instrument now covers the machine: To names it
	ChangeBan        = "service_ban"       // the new refrigerant is under a ban on servicing
	ChangeMaker      = "maker_must_agree"  // always: compressor, oil, valve, label
)

// ChangeCodes lists every code, for the words.
func ChangeCodes() []string {
	return []string{
		ChangeSafety,
		ChangeMildly,
		ChangeFlammable,
		ChangeSafetyNone,
		ChangeGWP,
		ChangeGlide,
		ChangePressure,
		ChangeRuleEnds,
		ChangeRuleBegins,
		ChangeBan,
		ChangeMaker,
	}
}

// Retrofit returns what giving a machine another refrigerant would mean; it forbids and allows nothing.
//
//   - in: the machine as it is; the designation of the other refrigerant; the day
//   - out: changes as codes, those about safety first; the same refrigerant changes nothing
//   - errors: [*fail.Error] for an unknown designation or a machine that cannot be judged
//   - assumes: the charge stays the same weight
//   - source: safety groups and GWP of package refrigerant with their evidence; glide and pressure from the equation
//     of state; rules from data/*.json
//   - cost: about 40 ms
func Retrofit(m Machine, to string, on ledger.Date) ([]Change, error) {
	load := func(name string) (*refrigerant.Refrigerant, error) {
		r, err := refrigerant.Load(name)
		if err != nil {
			return nil, fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
		}
		return r, nil
	}
	a, err := load(m.Refrigerant)
	if err != nil {
		return nil, err
	}
	b, err := load(to)
	if err != nil {
		return nil, err
	}
	if a.Designation() == b.Designation() {
		return []Change{}, nil
	}
	out := safety(a, b)
	edition := "AR4"
	if m.Jurisdiction == EU {
		edition = "EU 2024/573"
	}
	ga, err := ledger.Potential(a.Designation(), edition)
	if err != nil {
		return nil, err
	}
	gb, err := ledger.Potential(b.Designation(), edition)
	if err != nil {
		return nil, err
	}
	if c := (Change{Code: ChangeGWP, From: edition, Trust: SecondHand}); ga.Known || gb.Known {
		if ga.Known {
			c.A = &ga.GWP
		}
		if gb.Known {
			c.B = &gb.GWP
		}
		out = append(out, c)
	}
	out = append(
		out,
		compareState(ChangeGlide, a, b, (*refrigerant.Refrigerant).GlideAt101, func(x, y float64) bool { return math.Abs(x-y) >= 0.5 })...)
	out = append(out, compareState(ChangePressure, a, b, func(r *refrigerant.Refrigerant) (float64, error) {
		e, err := r.BubbleT(highSide, refrigerant.Options{})
		return e.P, err
	}, func(x, y float64) bool { return math.Abs(x-y) >= 0.02*x })...)
	rules, err := ruleChanges(m, b.Designation(), on)
	if err != nil {
		return nil, err
	}
	return append(append(out, rules...), Change{Code: ChangeMaker}), nil
}

// highSide is the design temperature of an air-cooled high side, 122 °F (from memory of ASHRAE 15).
var highSide = float64(units.Fahrenheit(122))

func safety(a, b *refrigerant.Refrigerant) []Change {
	sa, okA := a.Safety()
	sb, okB := b.Safety()
	trust := FromMemory // no readable copy of the standard stands behind the groups on file
	switch {
	case !okA || !okB:
		return []Change{{Code: ChangeSafetyNone, From: sa.Class, To: sb.Class}}
	case sa.Class == sb.Class:
		return nil
	}
	out := []Change{{Code: ChangeSafety, From: sa.Class, To: sb.Class, Trust: trust}}
	switch {
	case sb.Class == "A2L":
		out = append(out, Change{Code: ChangeMildly, To: sb.Class, Trust: trust})
	case strings.ContainsAny(sb.Class, "23B"):
		out = append(out, Change{Code: ChangeFlammable, To: sb.Class, Trust: trust})
	}
	return out
}

// compareState compares a number of both; one that cannot be computed (above its critical temperature, say) is left out.
func compareState(
	code string,
	a, b *refrigerant.Refrigerant,
	value func(*refrigerant.Refrigerant) (float64, error),
	differs func(x, y float64) bool,
) []Change {
	c := Change{Code: code, Trust: Read}
	x, errA := value(a)
	y, errB := value(b)
	if errA == nil {
		c.A = &x
	}
	if errB == nil {
		c.B = &y
	}
	if errors.Join(errA, errB) == nil && !differs(x, y) {
		return nil
	}
	return []Change{c}
}

// ruleChanges compares which instruments cover the machine, and looks for a ban.
func ruleChanges(m Machine, to string, on ledger.Date) ([]Change, error) {
	if m.Jurisdiction == "" {
		return nil, nil
	}
	m.Events, m.GWP = nil, nil
	before, err := Duties(m, on)
	if err != nil {
		return nil, err
	}
	m.Refrigerant = to
	after, err := Duties(m, on)
	if err != nil {
		return nil, err
	}
	covered := func(r Result) map[string]Duty {
		out := map[string]Duty{}
		for _, d := range r.Duties {
			if d.Code != "scope" {
				out[d.Instrument] = d
			}
		}
		return out
	}
	var out []Change
	x, y := covered(before), covered(after)
	all, err := Instruments(m.Jurisdiction)
	if err != nil {
		return nil, err
	}
	for _, in := range all {
		t := in.Scope[len(in.Scope)-1]
		_, was := x[in.Title]
		_, is := y[in.Title]
		switch {
		case was && !is:
			out = append(out, Change{Code: ChangeRuleEnds, From: in.Title, Trust: t.Trust, Where: t.Article})
		case !was && is:
			out = append(out, Change{Code: ChangeRuleBegins, To: in.Title, Trust: t.Trust, Where: t.Article})
		}
	}
	for _, d := range after.Duties {
		if d.Code == "service_ban" && d.State == Open {
			out = append(out, Change{Code: ChangeBan, To: d.Reason, Trust: d.Trust, Where: d.Article})
		}
	}
	return out, nil
}
