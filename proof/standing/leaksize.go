package standing

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

// yearSeconds is a year of 365.25 days.
const yearSeconds = 365.25 * 86400

// standardVolume is the molar volume at 0 °C and 101.325 kPa, m³/mol.
const standardVolume = num.GasConstant * num.ZeroCelsius / num.StandardAtmosphere

// StdCC turns a loss in grams a year of a gas into standard cubic centimetres a second (0 °C, 101.325 kPa).
//
//   - in: grams per year; molar mass, kg/mol
//   - out: std cc/s
//   - source: definition, ideal gas at the standard state
func StdCC(gramsPerYear, molarMass float64) float64 {
	return gramsPerYear / 1000 / molarMass / yearSeconds * standardVolume * 1e6
}

// BubbleSeconds returns the time one bubble takes to form at a leak.
//
//   - in: std cc/s; bubble diameter, m
//   - out: seconds
//   - source: definition, volume of a sphere
func BubbleSeconds(stdCC, diameter float64) float64 {
	return math.Pi / 6 * diameter * diameter * diameter * 1e6 / stdCC
}

// gas is what the conversion of a leak from one gas to another needs.
type Gas struct {
	M, mu float64 // kg/mol; Pa s at the temperature of the conversion
}

// viscosity of a dilute gas from its critical point.
//
//   - in: T, K; critical temperature, K; critical molar volume, m³/mol; acentric factor; molar mass, kg/mol
//   - out: Pa s
//   - assumes: not polar, not near the critical density; within about 5 % of published values for nitrogen and R-134a
//   - source: Chung et al. (1988), Ind. Eng. Chem. Res. 27:671-679, with the collision integral of Neufeld et al.
//     (1972); coefficients from memory, checked against published viscosities in the test
func viscosity(T, tCrit, vCrit, omega, M float64) float64 {
	s := 1.2593 * T / tCrit
	collision := 1.16145*math.Pow(s, -0.14874) + 0.52487*math.Exp(-0.77320*s) + 2.16178*math.Exp(-2.43787*s)
	return 40.785e-7 * (1 - 0.2756*omega) * math.Sqrt(M*1000*T) / (math.Pow(vCrit*1e6, 2.0/3) * collision)
}

// Air is air at 20 °C, molar mass and viscosity at 20 °C: US Standard Atmosphere 1976, M and Sutherland's formula.
var Air = Gas{28.9644e-3, 18.1e-6}

// gasOf reads a refrigerant's vapour at T.
func gasOf(r *refrigerant.Refrigerant, T float64) (Gas, error) {
	l := r.Limits()
	M := r.MolarMass()
	// The acentric factor is defined at 0.7 of the critical temperature; a fluid that is solid there is carried along
	// a line of ln p against 1/T.
	at := math.Max(0.7*l.TCrit, 1.001*l.TMin)
	e, err := r.BubbleT(at, refrigerant.Options{})
	if err != nil {
		return Gas{}, err
	}
	omega := -math.Log10(e.P/l.PCrit)*(1/0.7-1)/(l.TCrit/at-1) - 1
	return Gas{M, viscosity(T, l.TCrit, M/l.RhoCrit, omega, M)}, nil
}

// Regime is how a gas passes a leak.
type Regime int

// The regimes. Leaks that a standing test can see are viscous; the molecular figure is the other limit.
const (
	RegimeUnknown Regime = iota
	Viscous
	Molecular
)

func (r Regime) String() string { return [...]string{"unknown", "viscous", "molecular"}[r] }

// convert turns a molar flow of gas a from a1 to a2 through a hole into the molar flow of gas b from b1 to b2 through the same hole.
//
//   - in: mol/s of a; gases; pressures, Pa absolute, upstream above downstream
//   - out: mol/s of b
//   - assumes: one hole, the same temperature; viscous: laminar compressible flow, molar flow ∝ (p1² − p2²)/μ; molecular: ∝ (p1 − p2)/√M
//   - source: Poiseuille's law for an ideal gas and Knudsen's formula, as in any vacuum textbook
func convert(flow float64, a Gas, a1, a2 float64, b Gas, b1, b2 float64, how Regime) float64 {
	if how == Molecular {
		return flow * math.Sqrt(a.M/b.M) * (b1 - b2) / (a1 - a2)
	}
	return flow * a.mu / b.mu * (b1*b1 - b2*b2) / (a1*a1 - a2*a2)
}

// LeakSize is a leak in the ways a mechanic meets it.
type LeakSize struct {
	Refrigerant  string         // designation
	Working      units.Pressure // absolute, at which the refrigerant stands at the hole
	GramsPerYear float64        // viscous
	Molecular    float64        // g/year, if the hole passed gas molecule by molecule
}

// comparison is the vapour temperature of the conversion and the saturation at which the refrigerant is taken to stand: 40 °C (104 °F), the
// condensing side on a warm day; judgement. A refrigerant with a lower critical point is taken 5 K under it.
const comparisonC = 40

// SizeOf expresses a molar flow of a test gas as a refrigerant's leak through the same hole.
func SizeOf(r *refrigerant.Refrigerant, working units.Pressure, flow float64, test Gas, p1, p2, outside float64) (LeakSize, error) {
	T := math.Min(float64(units.Celsius(comparisonC)), r.Limits().TCrit-5)
	if working <= 0 {
		e, err := r.DewT(T, refrigerant.Options{})
		if err != nil {
			return LeakSize{}, err
		}
		working = units.Pressure(e.P)
	}
	g, err := gasOf(r, float64(units.Celsius(20)))
	if err != nil {
		return LeakSize{}, err
	}
	year := func(how Regime) float64 {
		return convert(flow, test, p1, p2, g, float64(working), outside, how) * g.M * 1000 * yearSeconds
	}
	return LeakSize{r.Designation(), working, year(Viscous), year(Molecular)}, nil
}
