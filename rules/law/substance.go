package law

import (
	"slices"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// Substance is what the rules ask of a refrigerant.
type Substance struct {
	Refrigerant string             `json:"refrigerant"`
	Groups      map[string]float64 `json:"groups"` // mass fractions of class_1, class_2, hfc, hfo, other
	Trust       Trust              `json:"trust"`
}

// Has reports whether any of the groups is in it.
func (s Substance) Has(groups ...string) bool {
	return slices.ContainsFunc(groups, func(g string) bool { return s.Groups[g] > 0 })
}

// Substances returns what a refrigerant is made of by the groups of the rules.
//
//   - in: designation as refrigerant.Load accepts it
//   - errors: [*fail.Error] for one that is not on file
//   - source: data/substances.json; composition from [refrigerant.BlendOf]
func Substances(designation string) (Substance, error) {
	var v struct {
		Code   string   `json:"code"`
		Class1 []string `json:"class_1"`
		Class2 []string `json:"class_2"`
		HFC    []string `json:"hfc"`
		HFO    []string `json:"hfo"`
		Other  []string `json:"other"`
		Trust  Trust    `json:"trust"`
		Source []Source `json:"source"`
	}
	if err := read("substances.json", &v); err != nil {
		return Substance{}, err
	}
	s := Substance{Refrigerant: designation, Groups: map[string]float64{}, Trust: v.Trust}
	add := func(name string, share float64) bool {
		for group, list := range map[string][]string{"class_1": v.Class1, "class_2": v.Class2, "hfc": v.HFC, "hfo": v.HFO, "other": v.Other} {
			if slices.Contains(list, name) {
				s.Groups[group] += share
				return true
			}
		}
		return false
	}
	parts, err := refrigerant.BlendOf(designation)
	switch {
	case err != nil:
		return Substance{}, err
	case parts == nil:
		if !add(designation, 1) {
			return Substance{}, fail.Of(fail.NotFound, "refrigerant", "law.no_group", fail.Args{"refrigerant": designation})
		}
	default:
		for _, c := range parts {
			if !add(c.Designation, c.MassFraction) {
				return Substance{}, fail.Of(fail.NotFound, "refrigerant", "law.no_group_part",
					fail.Args{"part": c.Designation, "refrigerant": designation})
			}
		}
	}
	return s, nil
}

// Level is how deep a circuit must be recovered before it is opened or disposed of.
type Level struct {
	Pressure string  // very high, high, medium or low
	InHg     float64 // inches of mercury below 29.9 inHg; 0 is atmospheric pressure
	MmHg     float64 // absolute, for low-pressure appliances; otherwise 0
	Trust    Trust
}

// recoveryLevel returns the level of 40 CFR 82.156 table 1.
//
//   - in: the refrigerant; full charge of the appliance (or of the isolated part); whether the recovery machine was
//     made on or after 15 November 1993
//   - out: the level; the trust of the weaker of table row and pressure class
//   - errors: a refrigerant whose saturation cannot be computed at 104 °F
//   - source: 40 CFR 82.156 table 1, 82.152; liquid saturation pressure from the equation of state
//   - cost: about 6 ms
func recoveryLevel(r *refrigerant.Refrigerant, charge units.Mass, since1993 bool) (Level, error) {
	var v struct {
		Code    string `json:"code"`
		Article string `json:"article"`
		Unit    string `json:"unit"`
		Rows    []struct {
			Pressure string  `json:"pressure"`
			MinLb    float64 `json:"min_lb"`
			BelowLb  float64 `json:"below_lb"`
			Before   float64 `json:"before_1993_11_15"`
			Since    float64 `json:"since_1993_11_15"`
			Absolute bool    `json:"absolute_mmhg"`
			Trust    Trust   `json:"trust"`
			Note     string  `json:"note"`
		} `json:"rows"`
		Small  any `json:"small_appliance"`
		Limits struct {
			VeryHigh      float64 `json:"very high"`
			High          float64 `json:"high"`
			Medium        float64 `json:"medium"`
			TrustVeryHigh Trust   `json:"trust_very_high"`
			Trust         Trust   `json:"trust"`
		} `json:"pressure_limits_psia_at_104f"`
		Source []Source `json:"source"`
	}
	if err := read("recovery.json", &v); err != nil {
		return Level{}, err
	}
	l := Level{Pressure: "very high", Trust: v.Limits.TrustVeryHigh}
	if T := float64(units.Fahrenheit(104)); T < r.Limits().TCrit {
		e, err := r.BubbleT(T, refrigerant.Options{})
		if err != nil {
			return Level{}, fail.Of(fail.NoAnswer, "refrigerant", "why.alone", fail.Args{"why": err})
		}
		switch psia := e.P / units.Psi; {
		case psia > v.Limits.VeryHigh:
		case psia >= v.Limits.High:
			l.Pressure, l.Trust = "high", v.Limits.Trust
		case psia >= v.Limits.Medium:
			l.Pressure, l.Trust = "medium", v.Limits.Trust
		default:
			l.Pressure, l.Trust = "low", v.Limits.Trust
		}
	}
	for _, row := range v.Rows {
		if row.Pressure != l.Pressure || row.MinLb > 0 && !atLeast(charge, row.MinLb) || row.BelowLb > 0 && atLeast(charge, row.BelowLb) {
			continue
		}
		x := row.Before
		if since1993 {
			x = row.Since
		}
		if row.Absolute {
			l.MmHg = x
		} else {
			l.InHg = x
		}
		l.Trust = weaker(l.Trust, row.Trust)
		return l, nil
	}
	return Level{}, fail.Of(fail.Internal, "", "law.no_recovery_level", fail.Args{"pressure": l.Pressure})
}

// potential finds the warming potential that an instrument goes by.
func potential(m *Machine, edition string) (ledger.Factor, error) {
	if m.GWP != nil {
		return ledger.Factor{GWP: *m.GWP, Edition: "as given", Known: true}, nil
	}
	return ledger.Potential(m.Refrigerant, edition)
}
