package num

import (
	"fmt"
	"math"
)

// Dimension says in what a quantity is measured, so that whoever shows it can choose the unit.
type Dimension int

// The dimensions, with the SI unit in which an error carries them.
const (
	Dimensionless Dimension = iota
	Temperature             // K
	Pressure                // Pa, absolute
	Density                 // kg/m³
	Enthalpy                // J/kg
	Entropy                 // J/(kg K)
	Volume                  // m³
	Mass                    // kg
)

// Unit returns the SI unit, "" for a plain number.
func (d Dimension) Unit() string {
	units := [...]string{"", "K", "Pa (absolute)", "kg/m³", "J/kg", "J/(kg K)", "m³", "kg"}
	if d < 0 || int(d) >= len(units) {
		return ""
	}
	return units[d]
}

// RangeError says that a value lies outside the range in which a model holds. Value, Min and Max are in the SI unit of
// the dimension and finite, so that an error can be written as JSON; an end that is not known is ±math.MaxFloat64.
type RangeError struct {
	Subject         string // of what: a refrigerant's designation, "water"
	Quantity        string // which quantity: "temperature"
	Dimension       Dimension
	Value, Min, Max float64
	Reason          string // why the range ends there
}

// OutOfRangeError returns the error for a value; what is not a finite number becomes the largest one of its sign.
func OutOfRangeError(subject, quantity string, d Dimension, value, lo, hi float64, reason string) *RangeError {
	return &RangeError{subject, quantity, d, finite(value), finite(lo), finite(hi), reason}
}

func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return math.Copysign(math.MaxFloat64, v)
	}
	return v
}

func (e *RangeError) Error() string {
	return e.In(e.Dimension.Unit(), func(v float64) float64 { return v })
}

// In is the error with its numbers in another unit.
func (e *RangeError) In(unit string, turn func(si float64) float64) string {
	s := e.Subject + ": " + e.Quantity
	if unit != "" {
		s += " in " + unit
	}
	s += fmt.Sprintf(" %.6g", turn(e.Value))
	if e.Min == -math.MaxFloat64 && e.Max == math.MaxFloat64 {
		return s + ": " + e.Reason
	}
	s += fmt.Sprintf(" is outside %.6g to %.6g", turn(e.Min), turn(e.Max))
	if e.Reason != "" {
		s += " (" + e.Reason + ")"
	}
	return s
}
