package units

import (
	"math"
	"strconv"
	"strings"
)

// Display is what a person chose to see.
type Display struct {
	Temp     string // "°F" or "°C"
	Pressure string // "psig", "bar(g)" or "kPa(a)"
	Mass     string // "lb oz" or "kg"
}

// US returns °F, psig, lb oz.
func US() Display { return Display{"°F", "psig", "lb oz"} }

// Metric returns °C, bar(g), kg.
func Metric() Display { return Display{"°C", "bar(g)", "kg"} }

// Fixed prints v with a number of decimals and a true minus sign; minus zero is zero.
func Fixed(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// TempNumber prints a temperature without unit.
func (d Display) TempNumber(t Temp, decimals int) string {
	if d.Temp == "°C" {
		return Fixed(t.C(), decimals)
	}
	return Fixed(t.F(), decimals)
}

// FormatTemp prints a temperature with its unit.
func (d Display) FormatTemp(t Temp, decimals int) string {
	return d.TempNumber(t, decimals) + " " + d.tempUnit()
}

func (d Display) tempUnit() string {
	if d.Temp == "°C" {
		return "°C"
	}
	return "°F"
}

// DiffUnit is the unit of differences: °F or K.
func (d Display) DiffUnit() string {
	if d.Temp == "°C" {
		return "K"
	}
	return "°F"
}

// DiffNumber prints a difference without unit.
func (d Display) DiffNumber(x TempDiff, decimals int) string {
	if d.Temp == "°C" {
		return Fixed(float64(x), decimals)
	}
	return Fixed(x.F(), decimals)
}

// FormatDiff prints a difference with its unit.
func (d Display) FormatDiff(x TempDiff, decimals int) string {
	return d.DiffNumber(x, decimals) + " " + d.DiffUnit()
}

// PressureNumber prints a pressure without unit.
func (d Display) PressureNumber(p, ambient Pressure) string {
	switch d.Pressure {
	case "bar(g)":
		return Fixed(float64(p.Gauge(ambient))/Bar, 2)
	case "kPa(a)":
		return Fixed(float64(p)/Kilo, 0)
	}
	return Fixed(float64(p.Gauge(ambient))/Psi, 1)
}

// PressureUnit is the unit, marked gauge or absolute.
func (d Display) PressureUnit() string {
	switch d.Pressure {
	case "bar(g)", "kPa(a)":
		return d.Pressure
	}
	return "psig"
}

// FormatPressure prints a pressure with its unit.
func (d Display) FormatPressure(p, ambient Pressure) string {
	return d.PressureNumber(p, ambient) + " " + d.PressureUnit()
}

// EnthalpyUnit is the unit of enthalpies: Btu/lb beside °F, else kJ/kg.
func (d Display) EnthalpyUnit() string {
	if d.Temp == "°C" {
		return "kJ/kg"
	}
	return "Btu/lb"
}

// EnthalpyNumber prints an enthalpy, J/kg, without unit.
func (d Display) EnthalpyNumber(h float64, decimals int) string {
	if d.Temp == "°C" {
		return Fixed(h/Kilo, decimals)
	}
	return Fixed(h/BtuPerLb, decimals)
}

// FormatMass prints a mass.
func (d Display) FormatMass(m Mass) string {
	if d.Mass == "kg" {
		return Fixed(float64(m), 2) + " kg"
	}
	if m < 0 {
		return "−" + d.FormatMass(-m)
	}
	oz := math.Round(float64(m) / Ounce)
	lb := math.Trunc(oz / 16)
	switch rest := oz - 16*lb; {
	case lb == 0:
		return Fixed(rest, 0) + " oz"
	case rest == 0:
		return Fixed(lb, 0) + " lb"
	default:
		return Fixed(lb, 0) + " lb " + Fixed(rest, 0) + " oz"
	}
}

// Decimals returns how many decimals an uncertainty justifies: its first digit is the last one shown.
func Decimals(u float64) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return 2
	}
	n := -int(math.Floor(math.Log10(u)))
	return max(0, min(6, n))
}

// FormatUncertain prints value ± u with the digits u justifies.
func FormatUncertain(value, u float64) string {
	n := Decimals(u)
	return Fixed(value, n) + " ± " + Fixed(u, n)
}

// Whole drops the tenth of a printed number that has none: "5.0" is "5".
func Whole(number string) string { return strings.TrimSuffix(number, ".0") }
