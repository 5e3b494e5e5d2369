package plant

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/units"
)

// Design describes a healthy machine. Temperatures in K, pressures in Pa where the name says so, else dimensionless.
type Design struct {
	BoxT, AmbientT float64 // design box air and condenser ambient
	TD, Split      float64 // box minus dew at the coil outlet; condensing dew minus ambient
	SHRatio        float64 // superheat over TD: superheat can never exceed TD
	SuctionNTU     float64 // suction-line heat gain
	LiquidCool     float64 // liquid cooled in the unit, share of bubble minus ambient
	Eta            float64 // isentropic efficiency at design, over electric power
	BestRatio      float64 // pressure ratio at which the efficiency is highest
	Fall           float64 // how fast it falls away from there, per square of ln of the ratio
	ShellLoss      float64 // share of the work lost from the shell at design
	Clearance      float64
	ValveMax       float64 // wide open over design opening
	Band           float64 // superheat change for the whole design opening, K
	SuctionDrop    float64 // as saturation temperature, K
	LiquidDrop     float64 // Pa; 70 % before the glass, drier included
	Lift           float64 // m from the unit up to the coil
	LiftKnown      bool
	NTUe, NTUc     float64 // air side
	Gamma          float64 // flash-gas exponent of the valve; of a capillary, factor on how much the liquid flashes
	UV, UD, US     float64 // conductance of superheat, desuperheat and subcool zone over the two-phase zone
	VC, VE, VL     float64 // volumes of condenser, evaporator, liquid line, m³ per kg/s
	VS, VR         float64 // suction line, receiver vapour
	Reserve        float64 // share of the full charge that is receiver reserve
	Expansion      reading.Expansion
	Receiver       bool
	Head           reading.HeadControl
	HeadSet        float64 // condensing dew temperature held, K
	Humidity       float64 // relative humidity of the air at the coil, 0 to 1; 0: the coil counts as dry
	AirDensity     float64 // of the air both coils stand in, over that of the plate's; 0: as there
	Subcool        float64 // K of the liquid leaving a machine without receiver at design; 0: as BackedUp
	BackedUp       float64 // share of the condenser that holds liquid at design in a machine without receiver
	Exchanger      float64 // effectiveness of the liquid–suction exchanger, 0: none
	CrankcaseP     float64 // Pa: above it the crankcase regulator throttles what goes to the compressor; 0: none
	CoilP          float64 // Pa: below it the evaporator regulator closes; 0: none
}

// FromMachine fills a design from a resolved machine. What the plate does not say is what coefficients.json holds,
// block design: judgement, with the reason there.
//
//   - in: the machine
//   - out: a design
//   - source: coefficients.json; freezers and coolers differ in suction-line gain, machines with short lines in volumes
func FromMachine(m reading.Resolved) Design {
	k := &coef.design
	d := Design{
		BoxT:        float64(m.Box),
		AmbientT:    float64(m.Ambient),
		TD:          float64(m.TD),
		Split:       float64(m.Split),
		SHRatio:     math.Min(0.9, math.Max(0.15, float64(m.Superheat)/float64(m.TD))),
		SuctionNTU:  k.suctionNTU,
		LiquidCool:  k.liquidCool,
		Eta:         k.eta,
		BestRatio:   coef.compressor.bestRatio,
		Fall:        coef.compressor.fall,
		ShellLoss:   k.shellLoss,
		Clearance:   k.clearance,
		ValveMax:    k.valveMax,
		Band:        k.band,
		SuctionDrop: k.suctionDrop,
		LiquidDrop:  k.liquidDrop,
		Lift:        k.lift,
		NTUe:        k.ntuEvaporator,
		NTUc:        k.ntuCondenser,
		Gamma:       k.gamma,
		UV:          k.superheat,
		UD:          k.desuperheat,
		US:          k.subcool,
		VC:          k.condenser,
		VE:          k.evaporator,
		VL:          k.liquid,
		VS:          k.suction,
		VR:          k.receiver,
		Reserve:     k.reserve,
		Expansion:   m.Expansion,
		Receiver:    m.Receiver,
		Head:        m.HeadControl,
		HeadSet:     float64(m.HeadSet),
		Exchanger:   m.Exchanger,
		Subcool:     float64(m.Subcooling),
		BackedUp:    coef.condenser.backedUp,
		CrankcaseP:  float64(m.CrankcaseRegulator),
		CoilP:       float64(m.EvaporatorRegulator),
		AirDensity:  float64(m.AmbientPressure / units.Atm),
	}
	switch {
	case m.Application.Frozen():
		d.SuctionNTU = k.suctionNTUFrozen
	case m.Application == reading.AirConditioning:
		d.NTUe, d.Humidity = k.ntuConditioning, k.humidityConditioning
	case m.Application != reading.IceMachine:
		d.Humidity = k.humidity
	}
	if inOnePiece(m.Application) {
		d.Lift, d.VL, d.VS = k.liftClose, k.liquidClose, k.suctionClose
	}
	d.pipe(m)
	switch m.Application {
	case reading.ReachInCooler, reading.ReachInFreezer, reading.PrepTable:
		c := &coef.compressor
		d.Eta, d.ShellLoss, d.Clearance, d.BestRatio, d.Fall = k.etaSmall, k.shellLossSmall, k.clearanceSmall, c.bestRatioSmall, c.fallSmall
	case reading.AirConditioning:
		c := &coef.compressor
		d.Eta, d.ShellLoss, d.Clearance = k.etaConditioning, k.shellLossConditioning, k.clearanceConditioning
		d.BestRatio, d.Fall = c.bestRatioConditioning, c.fallConditioning
	}
	if !d.Receiver {
		d.VR, d.Reserve = 0, 0
	}
	if d.Expansion == reading.ElectronicValve {
		d.ValveMax = k.valveMaxElectronic
	}
	if m.Application == reading.IceMachine {
		d.NTUe = k.ntuIce
	}
	return d
}

// Nuisance is a design value or input that floats: value · transform of a standard normal.
type Nuisance struct {
	Key string
	Sd  float64
}

// The nuisances, in order.
const (
	NBox = iota
	NAmbient
	NTD
	NSplit
	NSHRatio
	NSuctionNTU
	NLiquidCool
	NEta
	NValveMax
	NSuctionDrop
	NGamma
	NNTUe
	NNTUc
	NHeadSet
	NHumidity
	NumNuisances
)

// Nuisances lists them with their standard deviations: K for temperatures, in the transformed space for the rest.
// They decide how certain a diagnosis may be; each with its reason in coefficients.json, block spread.
func Nuisances() [NumNuisances]Nuisance {
	k := &coef.spread
	return [NumNuisances]Nuisance{
		{"box", k.box},
		{"ambient", k.ambient},
		{"td", k.td},
		{"split", k.split},
		{"superheat_ratio", k.superheatRatio},
		{"suction_gain", k.suctionGain},
		{"liquid_cooling", k.liquidCooling},
		{"efficiency", k.efficiency},
		{"valve_reserve", k.valveReserve},
		{"suction_drop", k.suctionDrop},
		{"flash_exponent", k.flashExponent},
		{"coil_ntu", k.coilNTU},
		{"condenser_ntu", k.condenserNTU},
		{"head_set", k.headSet},
		{"humidity", k.humidity},
	}
}

// Shift moves nuisance n by dz·sd in its own space; box, ambient and humidity move the inputs.
func Shift(d *Design, in *Inputs, n int, delta float64) {
	logit := func(x, by float64) float64 { return 1 / (1 + (1-x)/x*math.Exp(-by)) }
	switch n {
	case NBox:
		in.BoxT += delta
	case NAmbient:
		in.AmbientT += delta
	case NTD:
		d.TD = math.Max(1, d.TD+delta)
	case NSplit:
		d.Split = math.Max(2, d.Split+delta)
	case NSHRatio:
		d.SHRatio = logit(d.SHRatio, delta)
	case NSuctionNTU:
		d.SuctionNTU *= math.Exp(delta)
		if d.Exchanger > 0 { // how warm the suction gas gets is one thing not known
			d.Exchanger = logit(d.Exchanger, delta)
		}
	case NLiquidCool:
		d.LiquidCool = math.Min(0.9, d.LiquidCool*math.Exp(delta))
	case NEta:
		d.Eta = math.Max(0.3, d.Eta+delta)
	case NValveMax:
		if d.Expansion == reading.Capillary { // it has no reserve, but nobody knows how much liquid its charge keeps ahead of it
			const most = 0.4 // of the condenser
			d.BackedUp = math.Min(most, d.BackedUp*math.Exp(delta))
			d.Subcool *= math.Exp(delta)
			return
		}
		d.ValveMax = 1.03 + (d.ValveMax-1.03)*math.Exp(delta)
	case NSuctionDrop:
		// Lines run together: who has a long one has two, and they climb higher.
		d.SuctionDrop *= math.Exp(delta)
		d.LiquidDrop *= math.Exp((1 - coef.lines.drier) * delta)
		if !d.LiftKnown {
			d.Lift *= math.Exp(delta)
		}
		// What a regulator is set to is known to a few per cent; more loss goes with it.
		d.CrankcaseP *= math.Exp(-coef.spread.regulatorSetting * delta)
		d.CoilP *= math.Exp(coef.spread.regulatorSetting * delta)
	case NGamma:
		d.Gamma = math.Max(0.2, d.Gamma+delta)
	case NNTUe:
		d.NTUe *= math.Exp(delta)
	case NNTUc:
		d.NTUc *= math.Exp(delta)
	case NHeadSet:
		d.HeadSet += delta
	case NHumidity: // of the air today; what the coil was chosen for stays
		if d.Humidity > 0 {
			if in.Humidity == 0 {
				in.Humidity = d.Humidity
			}
			in.Humidity = logit(in.Humidity, delta)
		}
	}
}

// Change is what is wrong; the zero value is a healthy machine. Units in the comments.
type Change struct {
	LowCharge          float64 // share missing below the just-empty receiver, or below the design charge without one
	OverCharge         float64 // flooded condenser share with a receiver; charge share without
	CondenserAir       float64 // lost air share
	Recirculation      float64 // K above ambient
	CoilAir            float64 // lost air share
	CoilHeat           float64 // given to the coil's air by heaters in it, share of the design capacity
	RestrictionBefore  float64 // Pa at design flow, before the glass
	RestrictionAfter   float64 // Pa at design flow, after the glass
	ValveUnder         float64 // lost opening
	ValveOver          float64 // excess opening
	CompressorLeak     float64 // recirculated share
	Noncondensables    float64 // Pa partial pressure
	SuctionRestriction float64 // K of saturation at design flow
	HeadShift          float64 // K from the set temperature
}

// Inputs are what the machine stands in.
type Inputs struct {
	BoxT, AmbientT float64 // K
	Humidity       float64 // relative, of the air at the coil, 0 to 1; 0: as at design

	coil moistAir // made from the others where it is needed
}
