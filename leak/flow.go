package leak

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

// roomT is the temperature at which gas volumes and viscosities are taken: 20 °C, the reference of leak rates.
const roomT = num.ZeroCelsius + 20

// year is 365.25 days in seconds.
const year = 365.25 * 24 * 3600

// Gas is what flows through a leak.
type Gas struct {
	MolarMass float64 // kg/mol
	Viscosity float64 // Pa s, at low pressure
}

// GasOf returns a refrigerant's vapour at 20 °C and low pressure.
//
//   - in: a refrigerant
//   - out: its molar mass and viscosity; within about 5 % of measurements for the refrigerants of the test
//   - source: Stiel and Thodos (1961), AIChE J. 7:611-615, nonpolar gases, with the blend's own critical point;
//     judgement for polar ones and blends
func GasOf(r *refrigerant.Refrigerant) Gas {
	l := r.Limits()
	return Gas{r.MolarMass(), viscosity(roomT, r.MolarMass(), l.TCrit, l.PCrit)}
}

// NitrogenGas returns dry nitrogen at 20 °C; nitrogen with 5 % hydrogen flows nearly alike.
func (c *Catalogue) NitrogenGas() Gas {
	n := c.Nitrogen
	return Gas{n.MolarMass, viscosity(roomT, n.MolarMass, n.TCrit, n.PCrit)}
}

// viscosity of a gas at low pressure, Pa s; Stiel and Thodos (1961) with their units: g/mol, atm, 1e-4 cP (1e-7 Pa s).
func viscosity(T, molarMass, tCrit, pCrit float64) float64 {
	tr := T / tCrit
	xi := math.Pow(tCrit, 1.0/6) / math.Sqrt(molarMass*units.Kilo) / math.Pow(pCrit/float64(units.Atm), 2.0/3)
	return (4.610*math.Pow(tr, 0.618) - 2.04*math.Exp(-0.449*tr) + 1.94*math.Exp(-4.058*tr) + 0.1) / xi * 1e-7
}

// Throughput turns a loss of mass into the volume of vapour at the leak's mouth times its pressure.
//
//   - in: gramsPerYear; molar mass, kg/mol; T of the vapour, K
//   - out: Pa m³/s
//   - source: ideal gas; a year of 365.25 days
func Throughput(gramsPerYear, molarMass, T float64) float64 {
	return gramsPerYear / units.Kilo / year / molarMass * num.GasConstant * T
}

// Through is what one leak passes at another pressure and with another gas, as a factor on its throughput at running pressure.
//
//	q = a (p² − p_amb²)/η + b (p − p_amb)/√M
//
// The two parts are laid so that at running pressure a leak as large as the transition passes half its gas each way:
// large leaks are viscous, small ones molecular.
//
//   - in: q at running pressure, Pa m³/s; running and present absolute pressure and that of the air, Pa; the gas then
//     and now; transition, Pa m³/s
//   - out: factor ≥ 0; 0 when nothing presses outwards now; 1 when nothing has changed
//   - errors: none; a running pressure less than 20 kPa above the air's counts as that: such a side loses its gas
//     while the machine stands (judgement)
//   - assumes: laminar flow; not choked; vapour at the leak
//   - source: Poiseuille's and Knudsen's laws as in leak-testing handbooks; weights ours, see the catalogue's transition
func Through(q, pRun, pNow, pAmb float64, run, now Gas, transition float64) float64 {
	pRun = math.Max(pRun, pAmb+20*units.Kilo)
	if pNow <= pAmb {
		return 0
	}
	m := transition / (transition + q)
	viscous := (pNow*pNow - pAmb*pAmb) / (pRun*pRun - pAmb*pAmb) * run.Viscosity / now.Viscosity
	molecular := (pNow - pAmb) / (pRun - pAmb) * math.Sqrt(run.MolarMass/now.MolarMass)
	return (1-m)*viscous + m*molecular
}
