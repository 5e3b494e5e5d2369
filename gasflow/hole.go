package gasflow

import (
	"math"

	"coldwright/num"
)

// Hole is a leak as one round hole: its diameter, m.
type Hole float64

// length of every hole, m. A leak is a crack or a pore that nobody has measured; one length has to do. This one puts
// half of the flow of air from one atmosphere into a vacuum at 3.2e-7 Pa m³/s into molecules that meet no other: the
// geometric middle of the range that the Leakage Testing Handbook of the Jet Propulsion Laboratory gives for the
// transition, 1e-4 to 1e-7 mbar l/s (second-hand). It is of the order of a copper tube's wall, 0.8 mm. Judgement, ours.
const length = 0.437e-3

// contraction of the jet behind a choked hole with an edge neither sharp nor round. Common practice, no source: 0.6 to 1.
const contraction = 0.8

// Ratios of specific heats at room temperature and low pressure: two atoms, 7/5; refrigerant vapours 1.07 to
// 1.25, which moves choked flow by 2.5 % either way. From memory.
const (
	diatomic = 1.4
	vapour   = 1.14
)

// choked is ψ of the choked throughput of an orifice, ψ A p1 √(RT/M).
func (g Gas) choked() float64 {
	k := g.Kappa
	if !(k > 1) {
		k = vapour
	}
	return math.Sqrt(k) * math.Pow(2/(k+1), (k+1)/(2*(k-1)))
}

// law holds what the flow through a hole takes from the way it is driven; what remains is two powers of the diameter.
type law struct {
	squares   float64 // p1² − p2², Pa²
	viscous   float64 // throughput per Pa² by friction, over d⁴
	molecular float64 // throughput per Pa² of molecules that meet no other, over d³
	jet       float64 // Pa² per throughput², times d⁴
	valid     bool
}

func (d Drive) law() law {
	g := d.Gas
	if !(d.Inside > d.Outside) || !(g.Viscosity > 0) || !(g.MolarMass > 0) {
		return law{}
	}
	rt := num.GasConstant * Room / g.MolarMass
	c := contraction * math.Pi / 4 * g.choked() * math.Sqrt(rt)
	return law{
		squares:   d.Inside*d.Inside - d.Outside*d.Outside,
		viscous:   math.Pi / (256 * g.Viscosity * length),
		molecular: math.Sqrt(2*math.Pi*rt) / (6 * length * (d.Inside + d.Outside)),
		jet:       1 / (c * c),
		valid:     true,
	}
}

// throughput at [Room], Pa m³/s, through a hole, and how its logarithm grows with that of the diameter.
func (l law) throughput(diameter float64) (q, slope float64) {
	d3 := diameter * diameter * diameter
	viscous, molecular, jet := l.viscous*d3*diameter, l.molecular*d3, l.jet/(d3*diameter)
	friction := 1 / (viscous + molecular)
	q = 2 * l.squares / (friction + math.Sqrt(friction*friction+4*jet*l.squares)) // so that nothing cancels
	return q, (friction*friction*(4*viscous+3*molecular) + 4*jet*q) / (friction + 2*jet*q)
}

// Flow is what a hole passes.
//
//		p1² − p2² = Q/(v + m) + (Q/c)²            friction along the hole, and the jet at its end;  flow = Q/RT
//		v = π d⁴/(256 η l),  m = d³ √(2πRT/M)/(6 l (p1 + p2)),  c = 0.8 ψ (π d²/4) √(RT/M)
//
//	  - in: how it is driven; pressures in Pa absolute
//	  - out: mol/s; 0 when nothing presses outwards
//	  - assumes: one round hole of the length above; gas at the hole, 20 °C. A small hole passes by friction (Q rises with
//	    p1² − p2²), a large one is choked (Q rises with p1); between them the pressure is spent on both. An orifice whose
//	    flow falls as √(1 − (p2/p1)²) is that of ISO 6358 with a critical ratio of 0
//	  - source: Poiseuille for an ideal gas and Knudsen's molecular conductance of a long tube, added as Knudsen did
//	    (Dushman and Lafferty 1962, ch. 2); choked flow of an ideal gas (Shapiro 1953, ch. 4); loss of pressure by friction
//	    and by speed added up after Forchheimer (1901). From memory
//	  - cost: under 100 ns
func (h Hole) Flow(d Drive) Flow {
	l := d.law()
	if !l.valid || !(h > 0) {
		return 0
	}
	q, _ := l.throughput(float64(h))
	return FromThroughput(q, Room)
}

// HoleOf is the hole that passes a flow.
//
//   - in: mol/s and how it was driven
//   - out: the hole; 0 where nothing flows or nothing presses outwards
//   - assumes: as [Hole.Flow]
//   - source: [Hole.Flow] turned round by Newton's method in the logarithms, where its slope lies between 2 and 4
//   - cost: some 300 ns
func HoleOf(flow Flow, d Drive) Hole {
	l, q := d.law(), flow.Throughput(Room)
	if !l.valid || !(q > 0) || math.IsInf(q, 0) {
		return 0
	}
	x := math.Log(q/(l.viscous*l.squares)) / 4
	for range 50 {
		got, slope := l.throughput(math.Exp(x))
		step := math.Log(q/got) / slope
		x += step
		if math.Abs(step) < 1e-13 {
			break
		}
	}
	return Hole(math.Exp(x))
}
