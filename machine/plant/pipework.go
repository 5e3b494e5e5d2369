package plant

import (
	"math"

	"coldwright/machine/reading"
)

// accumulator is a vessel in the suction line that catches liquid and lets gas on, with the oil and a little liquid
// through a bleed at its bottom.
//
//	pressure  as a piece of suction line in series: Δp = k m²/ρ, losses add
//	heat      as a piece of suction line in the same air: transfer units add
//
// In steady state what enters leaves: the same flow at the same enthalpy, so that liquid that comes for long comes
// through the bleed, and the state at the compressor is that of a longer line. What it changes until then, it takes away
// from a thermometer at the compressor: while liquid stands in it the gas leaves saturated, whatever the coil does.
//
//   - assumes: the liquid it holds is not counted as charge; its time is not in a steady model (see package diagnose)
//   - limits: no loss, no surface: not there
//   - source: balance of mass and energy (definition); numbers in coefficients.json, block accumulator
type accumulator struct{ drop, ntu, volume float64 }

// inSeries puts it into a suction line: K of saturation at design flow, transfer units, m³ per design kg/s.
func (a accumulator) inSeries(d *Design) {
	d.SuctionDrop += a.drop
	d.SuctionNTU += a.ntu
	d.VS += a.volume
}

// pipe fits the lines to what is said of them: their length moves what they lose, what the suction gas takes up and what
// they hold, the lift is a column of liquid.
//
//		loss     (1 − φ) (L/L₀)^n + φ of the usual, φ what is drier and valves (liquid line only)
//		heat     NTU = U π D L/(m c), with the length
//		volume   with the length
//		lift     ρ_l g z, see liquidLine
//
//	  - source: Darcy and Weisbach, Δp = f (L/D) ρ w²/2; n < 1 because long lines are made thicker: coefficients.json, block lines
func (d *Design) pipe(m reading.Resolved) {
	k := &coef.lines
	usual := k.usual
	if inOnePiece(m.Application) {
		usual = k.usualClose
	}
	if m.LineLength > 0 {
		r := m.LineLength / usual
		loss := math.Pow(r, k.thicker)
		d.SuctionDrop *= loss
		d.LiquidDrop *= k.drier + (1-k.drier)*loss
		d.SuctionNTU *= r
		d.VS *= r
		d.VL *= r
	}
	if m.Lift != nil {
		d.Lift, d.LiftKnown = *m.Lift, true
	}
	if m.Accumulator {
		accumulator(coef.accumulator).inSeries(d)
	}
}

// inOnePiece reports whether coil and unit stand in one cabinet.
func inOnePiece(a reading.Application) bool {
	switch a {
	case reading.ReachInCooler, reading.ReachInFreezer, reading.PrepTable, reading.IceMachine, reading.AirConditioning:
		return true
	}
	return false
}

// StatedLines are the standard deviations of what is not known of lines whose length is stated: ln of the loss, ln of the
// suction line's transfer units.
func StatedLines() (drop, gain float64) {
	return coef.spread.suctionDropStated, coef.spread.suctionGainStated
}
