package gasflow

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant"
)

// Room is the temperature at which leak rates are told and viscosities are taken: 20 °C, K.
const Room = num.ZeroCelsius + 20

// year is 365.25 days in seconds.
const year = 365.25 * 86400

// Gas is what flows through a leak.
type Gas struct {
	MolarMass float64 // kg/mol
	Viscosity float64 // Pa s, at low pressure
	Kappa     float64 // ratio of specific heats at low pressure; 0: that of a refrigerant's vapour
}

// Critical is what the viscosity of a gas is computed from.
type Critical struct {
	T           float64 // critical temperature, K
	MolarVolume float64 // critical molar volume, m³/mol
	Acentric    float64 // Pitzer's acentric factor
	MolarMass   float64 // kg/mol
}

// Viscosity of a gas at low pressure, from its critical point.
//
//		η = 40.785 (1 − 0.2756 ω) √(M T) / (Vc^⅔ Ω(1.2593 T/Tc)),  η in µP, M in g/mol, Vc in cm³/mol
//
//	  - in: T, K; the critical point
//	  - out: Pa s; 0 where an input is not above zero
//	  - assumes: not polar (the terms in dipole moment and association are left out); far from the critical density.
//	    Against published values at 20 °C: nitrogen, air, carbon dioxide, R-134a and hydrocarbons within 2 %, R-125 and
//	    blends within 4 %, ammonia, which is polar, 8 % low
//	  - source: Chung et al. (1988), Ind. Eng. Chem. Res. 27:671-679, with Ω of Neufeld et al. (1972); coefficients from
//	    memory, checked against the published values
func Viscosity(T float64, c Critical) float64 {
	if !(T > 0 && c.T > 0 && c.MolarVolume > 0 && c.MolarMass > 0) {
		return 0
	}
	s := 1.2593 * T / c.T
	collision := 1.16145*math.Pow(s, -0.14874) + 0.52487*math.Exp(-0.77320*s) + 2.16178*math.Exp(-2.43787*s)
	return 40.785e-7 * (1 - 0.2756*c.Acentric) * math.Sqrt(c.MolarMass*1000*T) / (math.Pow(c.MolarVolume*1e6, 2.0/3) * collision)
}

// nitrogen: Span et al. (2000), J. Phys. Chem. Ref. Data 29:1361-1433. Dry air: critical point of Lemmon et al. (2000),
// J. Phys. Chem. Ref. Data 29:331-385; molar mass of the US Standard Atmosphere 1976.
var (
	nitrogen = Critical{126.192, 1 / 11183.9, 0.0372, 28.01348e-3}
	dryAir   = Critical{132.5306, 1 / 11830.8, 0.0335, 28.9644e-3}
)

// Nitrogen at a temperature; with 5 % hydrogen in it, it flows nearly alike.
//
//   - in: T, K
//   - out: the gas
//   - source: critical point of Span et al. (2000)
func Nitrogen(T float64) Gas { return Gas{nitrogen.MolarMass, Viscosity(T, nitrogen), diatomic} }

// Air is dry air at a temperature.
//
//   - in: T, K
//   - out: the gas
//   - source: critical point of Lemmon et al. (2000)
func Air(T float64) Gas { return Gas{dryAir.MolarMass, Viscosity(T, dryAir), diatomic} }

// Vapour is a refrigerant's vapour at a temperature and low pressure.
//
//   - in: a refrigerant; T, K
//   - out: the gas
//   - errors: those of its bubble point at 0.7 of the critical temperature, where the acentric factor is defined
//   - assumes: a blend is one substance with the blend's own critical point; a fluid that is solid at 0.7 of its
//     critical temperature is carried on along a line of ln p against 1/T (judgement)
//   - source: Pitzer's definition of the acentric factor; as [Viscosity]
//   - cost: one bubble point
func Vapour(r *refrigerant.Refrigerant, T float64) (Gas, error) {
	l, M := r.Limits(), r.MolarMass()
	at := math.Max(0.7*l.TCrit, 1.001*l.TMin)
	e, err := r.BubbleT(at, refrigerant.Options{})
	if err != nil {
		return Gas{}, err
	}
	omega := -math.Log10(e.P/l.PCrit)*(1/0.7-1)/(l.TCrit/at-1) - 1
	return Gas{MolarMass: M, Viscosity: Viscosity(T, Critical{l.TCrit, M / l.RhoCrit, omega, M})}, nil
}

// Flow is a leak, mol/s.
type Flow float64

// PerYear is the flow of a loss in grams a year.
//
//   - in: grams a year; molar mass, kg/mol
//   - out: mol/s
//   - source: definition; a year of 365.25 days
func PerYear(grams, molarMass float64) Flow { return Flow(grams / 1000 / year / molarMass) }

// FromThroughput is the flow of a throughput, pressure times volume a second at a temperature.
//
//   - in: Pa m³/s; T, K
//   - out: mol/s
//   - source: ideal gas
func FromThroughput(q, T float64) Flow { return Flow(q / (num.GasConstant * T)) }

// GramsPerYear returns the loss in grams a year.
//
//   - in: molar mass, kg/mol
//   - out: g/year
//   - source: definition; a year of 365.25 days
func (f Flow) GramsPerYear(molarMass float64) float64 { return float64(f) * molarMass * 1000 * year }

// Throughput returns pressure times volume a second.
//
//   - in: T at which the volume is taken, K
//   - out: Pa m³/s
//   - source: ideal gas
func (f Flow) Throughput(T float64) float64 { return float64(f) * num.GasConstant * T }

// StandardCC returns cubic centimetres a second at 0 °C and 101.325 kPa.
//
//   - out: std cm³/s
//   - source: definition, ideal gas
func (f Flow) StandardCC() float64 {
	return f.Throughput(num.ZeroCelsius) / num.StandardAtmosphere * 1e6
}

// Drive is a gas with the pressures between which it flows, Pa absolute.
type Drive struct {
	Gas             Gas
	Inside, Outside float64
}

// Ratio is what a leak passes now over what it passed then, in moles, were its flow all viscous, all molecular, or a
// mixture of the two: the bounds of what [Hole.Flow] says, whatever the hole's length.
//
//		q = a (p1² − p2²)/η + b (p1 − p2)/√M
//
//	  - in: how it was driven then and is now; molecular, the share of the then flow that was molecular, 0 to 1
//	  - out: factor ≥ 0; 1 when nothing has changed; 0 when nothing presses outwards now, or did then
//	  - assumes: one hole; laminar, not choked; gas at the hole, at the same temperature both times
//	  - source: Poiseuille's law for an ideal gas and Knudsen's formula, Dushman and Lafferty (1962), ch. 2
func Ratio(then, now Drive, molecular float64) float64 {
	if !(now.Inside > now.Outside && then.Inside > then.Outside) {
		return 0
	}
	viscous := (now.Inside*now.Inside - now.Outside*now.Outside) / (then.Inside*then.Inside - then.Outside*then.Outside) *
		then.Gas.Viscosity / now.Gas.Viscosity
	free := (now.Inside - now.Outside) / (then.Inside - then.Outside) * math.Sqrt(then.Gas.MolarMass/now.Gas.MolarMass)
	return (1-molecular)*viscous + molecular*free
}
