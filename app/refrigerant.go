package app

import (
	"math"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Saturation is one line of a refrigerant's card: where its liquid begins to boil and its vapour to condense.
type Saturation struct {
	T           units.Temp
	Bubble, Dew units.Pressure
}

// RefrigerantCard is what is on file about a refrigerant, and its saturation at the temperatures asked for.
type RefrigerantCard struct {
	Refrigerant *refrigerant.Refrigerant
	// Glides says that bubble and dew lie apart by more than a hundredth of the pressure somewhere on the card.
	Glides bool
	Rows   []Saturation
}

// RefrigerantCard returns the card of a refrigerant at temperatures; those outside its fit are left out.
//
//   - in: a designation; temperatures
//   - errors: not on file
//   - cost: some milliseconds the first time, when its fit is made, then microseconds
func (a *App) RefrigerantCard(designation string, at []units.Temp) (RefrigerantCard, error) {
	fit, err := a.fitOf(designation)
	if err != nil {
		return RefrigerantCard{}, err
	}
	c := RefrigerantCard{Refrigerant: fit.Refrigerant()}
	lo, hi := fit.TRange()
	for _, t := range at {
		if float64(t) < lo || float64(t) > hi {
			continue
		}
		s := Saturation{t, units.Pressure(fit.BubbleT(float64(t))), units.Pressure(fit.DewT(float64(t)))}
		c.Glides = c.Glides || math.Abs(float64(s.Bubble-s.Dew)) > 0.01*float64(s.Dew)
		c.Rows = append(c.Rows, s)
	}
	return c, nil
}

// Saturated is what a pressure means as temperatures.
type Saturated struct {
	Pressure    units.Pressure
	Bubble, Dew units.Temp
}

// SaturatedAt returns the bubble and dew temperature at a pressure.
//
//   - in: a designation; an absolute pressure
//   - errors: not on file; a pressure outside what its fit covers, with the range
func (a *App) SaturatedAt(designation string, p units.Pressure) (Saturated, error) {
	fit, err := a.fitOf(designation)
	if err != nil {
		return Saturated{}, err
	}
	if !fit.InRange(float64(p)) {
		cold, _ := fit.TRange()
		_, high := fit.PRange()
		return Saturated{}, fail.Of(fail.Range, "pressure", "app.pressure_outside_card", fail.Args{
			"refrigerant": fit.Designation(), "low": units.Pressure(fit.BubbleT(cold)), "high": units.Pressure(high),
		})
	}
	return Saturated{p, units.Temp(fit.BubbleP(float64(p))), units.Temp(fit.DewP(float64(p)))}, nil
}

// fitOf is the fit of a designation; one that is not on file is not found, and leaves no trace.
func (a *App) fitOf(designation string) (*refrigerant.Fit, error) {
	r, err := refrigerant.Load(designation)
	if err != nil {
		return nil, fail.Of(fail.NotFound, "refrigerant", "app.refrigerant_not_on_file", fail.Args{"given": designation})
	}
	return a.Fit(r.Designation())
}
