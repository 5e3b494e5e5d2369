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
)

// Unit returns the SI unit, "" for a plain number.
func (d Dimension) Unit() string {
	units := [...]string{"", "K", "Pa", "kg/m³", "J/kg", "J/(kg K)", "m³"}
	if d < 0 || int(d) >= len(units) {
		return ""
	}
	return units[d]
}

// RangeError says that a value lies outside the range in which a model holds. Value, Min and Max are in the SI unit of
// the dimension and always finite numbers, so that an error can be written as JSON.
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
	unit := e.Dimension.Unit()
	if unit != "" {
		unit = " " + unit
	}
	s := fmt.Sprintf("%s: %s %.6g%s is outside %.6g to %.6g%s", e.Subject, e.Quantity, e.Value, unit, e.Min, e.Max, unit)
	if e.Reason != "" {
		s += " (" + e.Reason + ")"
	}
	return s
}
