package charge

import (
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Shares of volume a vessel may be filled with liquid.
const (
	CylinderFill = 0.80 // of a cylinder's water capacity by weight at 25 °C: AHRI Guideline K, from memory
	ReceiverFill = 0.80 // of a receiver's volume at 90 °F with everything pumped down: from memory; one maker prints 90 %
	receiverWarm = 90.0 // °F
	waterAt25    = 997.05
)

// CylinderLimit returns the heaviest content of a cylinder, and the temperature at which that content fills it with liquid.
//
//		m = 0.8 · WC · ρ(25 °C)/ρ_water(25 °C)
//
//	  - in: r; water capacity, kg of water, as stamped on the collar
//	  - out: kg; K, where liquid alone fills the cylinder (the end of the range where that is not reached)
//	  - errors: [*fail.Error] for no capacity; what the refrigerant refuses, such as one above its critical point at 25 °C
//	  - assumes: clean refrigerant; oil is lighter and swells, so a recovery cylinder with oil in it wants less
//	  - source: AHRI Guideline K form, from memory; density of water 997.05 kg/m³ at 25 °C, IAPWS
//	  - cost: about 20 saturation points
func CylinderLimit(r *refrigerant.Refrigerant, waterCapacity float64) (limit float64, full units.Temp, err error) {
	if !(waterCapacity > 0 && waterCapacity < 1e4) {
		return 0, 0, fail.Of(fail.Range, "water_capacity", "charge.water_capacity",
			fail.Args{"mass": units.Mass(waterCapacity)})
	}
	o := refrigerant.Options{}
	ref := units.Celsius(25)
	e, err := r.BubbleT(float64(ref), o)
	if err != nil {
		return 0, 0, err
	}
	limit = CylinderFill * waterCapacity * e.RhoLiquid / waterAt25
	rho := CylinderFill * e.RhoLiquid
	hi := r.Limits().TCrit - 0.5
	f := func(T float64) float64 {
		e, err := r.BubbleT(T, o)
		if err != nil {
			return math.NaN()
		}
		return e.RhoLiquid - rho
	}
	if f(hi) > 0 {
		return limit, units.Temp(hi), nil
	}
	T, _, err := num.Brent(f, float64(ref), hi, 1e-4)
	return limit, units.Temp(T), err
}

// ReceiverLimit returns the most a receiver may take when everything is pumped down into it.
//
//   - in: r; the receiver's volume, m³
//   - out: kg at 80 % liquid and 90 °F, vapour above it included
//   - errors: what the refrigerant refuses
//   - source: 80 % at 90 °F, from memory
func ReceiverLimit(r *refrigerant.Refrigerant, volume float64) (float64, error) {
	e, err := r.BubbleT(float64(units.Fahrenheit(receiverWarm)), refrigerant.Options{})
	if err != nil {
		return 0, err
	}
	return volume * (ReceiverFill*e.RhoLiquid + (1-ReceiverFill)*e.RhoVapour), nil
}

// Weighing is one cylinder on the scale: gross before, and gross now.
type Weighing struct {
	Cylinder    string
	Before, Now float64 // kg
	Tare        float64 // kg; 0 where nobody read it
}

// Scale is what a weighing is worth. The zero value is the usual one: 0.5 oz or 0.1 %, from memory of makers' sheets.
type Scale struct {
	Step     float64 // kg
	Relative float64
}

// u is the standard uncertainty of one reading.
func (s Scale) u(reading float64) float64 {
	step, rel := s.Step, s.Relative
	if step == 0 {
		step = 0.5 * units.Ounce
	}
	if rel == 0 {
		rel = 0.001
	}
	return math.Max(step, rel*reading) / math.Sqrt(3)
}

// Advice says what to do now.
type Advice int

// The advice, each a code.
const (
	AdviceUnknown Advice = iota
	KeepAdding
	SlowDown
	StopReached
	TooMuch
)

var adviceWords = []string{"unknown", "keep_adding", "slow_down", "stop_reached", "too_much"}

func (a Advice) String() string { return adviceWords[a] }

// MarshalText writes the word.
func (a Advice) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// AdviceWords lists every advice but unknown.
func AdviceWords() []string { return adviceWords[1:] }

// Progress is where charging stands.
type Progress struct {
	Added, AddedU float64 // kg, through the hoses
	Still, StillU float64 // kg; negative: too much is in
	StopAt        float64 // kg, gross reading of the last cylinder at which to close; 0 where it runs out first
	InCylinder    float64 // kg left in the last cylinder; 0 where its tare is not read
	RunsOut       bool
	Advice        Advice
}

// Weigh returns what has gone in and what is still to add.
//
//   - in: target and what was in before, kg, each with its standard uncertainty; the weighings in order, the last one
//     on the scale now; what the hoses keep, kg
//   - out: the progress
//   - errors: [*fail.Error] for a cylinder that gained, or one lighter than its tare
//   - assumes: readings of one scale independent; a factor of uncertainty on either side of the target counts as reached
//   - source: definition
func Weigh(target, targetU, before, beforeU float64, list []Weighing, hoses float64, s Scale) (Progress, error) {
	var p Progress
	v := 0.0
	for i, w := range list {
		at := fmt.Sprintf("log[%d]", i)
		switch {
		case !(w.Before > 0 && w.Now >= 0):
			return p, fail.Of(fail.Range, at, "charge.weightless", nil)
		case w.Now > w.Before+2*s.u(w.Before):
			return p, fail.Of(fail.Range, at+".now", "charge.gained",
				fail.Args{"now": units.Mass(w.Now), "before": units.Mass(w.Before)})
		case w.Tare > 0 && w.Now < w.Tare-2*s.u(w.Now):
			return p, fail.Of(fail.Range, at+".now", "charge.below_tare",
				fail.Args{"now": units.Mass(w.Now), "tare": units.Mass(w.Tare)})
		}
		p.Added += w.Before - w.Now
		ub, un := s.u(w.Before), s.u(w.Now)
		v += ub*ub + un*un
	}
	if len(list) > 0 {
		p.Added -= hoses
		v += hoses * hoses / 3
	}
	p.AddedU = math.Sqrt(v)
	p.Still = target - before - p.Added
	p.StillU = math.Sqrt(v + targetU*targetU + beforeU*beforeU)
	if n := len(list); n > 0 {
		last := list[n-1]
		if last.Tare > 0 {
			p.InCylinder = math.Max(0, last.Now-last.Tare)
			p.RunsOut = p.InCylinder < p.Still
		}
		if p.Still > 0 && !p.RunsOut {
			p.StopAt = math.Max(0, last.Now-p.Still)
		}
	}
	weighU := math.Max(p.AddedU, 1e-3)
	switch {
	case p.Still < -2*math.Max(p.StillU, weighU):
		p.Advice = TooMuch
	case p.Still <= weighU:
		p.Advice = StopReached
	case p.Still < 0.1*target || p.Still < 5*weighU:
		p.Advice = SlowDown
	default:
		p.Advice = KeepAdding
	}
	return p, nil
}
