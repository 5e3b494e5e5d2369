package charge

import (
	"math"

	"coldwright/fail"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Machine is the machine to be charged.
type Machine struct {
	Fit   *refrigerant.Fit
	Plate reading.Resolved // refrigerant, expansion, receiver, head control and design point
	Parts []Part
	Full  float64 // kg on the plate; 0 where there is none
	Seal  float64 // liquid share of the receiver that keeps its outlet covered; 0: 0.15, judgement
}

// Need is what the circuit wants at one outside temperature to run with a clear glass.
type Need struct {
	Ambient    units.Temp
	Condensing units.Temp // dew
	Flooded    float64    // share of the condenser
	Mass, U    float64    // kg
	Subcooling float64    // K, at the unit's outlet
}

func (m *Machine) plant() (plant.Plant, error) {
	d := plant.FromMachine(m.Plate)
	if d.Receiver {
		d.Reserve = 0.9 // no want of refrigerant here: the question is how much it takes
	}
	p, err := plant.New(d, m.Fit)
	if err != nil {
		return p, fail.Of(fail.NoAnswer, "machine", "machine.cannot_be_built", fail.Args{"why": err})
	}
	return p, nil
}

// StateAt returns where the sound machine runs, from the plant model.
//
//   - in: box and ambient temperature
//   - out: the state and the model's outputs
//   - errors: [*fail.Error] when it would trip or finds no state
//   - source: [plant.Plant.Solve]
//   - cost: one solve, about 0.1 ms
func (m *Machine) StateAt(box, ambient units.Temp) (State, plant.Outputs, error) {
	p, err := m.plant()
	if err != nil {
		return State{}, plant.Outputs{}, err
	}
	r := p.Solve(plant.Inputs{BoxT: float64(box), AmbientT: float64(ambient)}, plant.Change{}, plant.Options{})
	if !r.Status.OK() || r.Trip != plant.TripNone {
		return State{}, plant.Outputs{}, fail.Of(fail.NoAnswer, "", "charge.no_state",
			fail.Args{"ambient": ambient, "box": box, "trip": r.Trip})
	}
	t := func(o plant.Output) units.Temp { return units.Temp(r.Out[o]) }
	return State{
		ambient,
		t(plant.CoilDew),
		t(plant.DischargeDew),
		t(plant.LiquidLineT),
		t(plant.SuctionLineT),
		t(plant.DischargeLineT),
		r.Out[plant.Flooded],
	}, r.Out, nil
}

func (m *Machine) seal() float64 {
	if m.Seal > 0 {
		return m.Seal
	}
	return 0.15
}

// Contents returns what every part holds at an outside temperature, the receiver just sealed.
//
//   - in: box and ambient temperature
//   - out: parts in their order
//   - errors: as [Machine.StateAt] and [State.Densities]
//   - assumes: see [State.Densities]
//   - source: sum over the parts
func (m *Machine) Contents(box, ambient units.Temp) ([]Content, error) {
	s, _, err := m.StateAt(box, ambient)
	if err != nil {
		return nil, err
	}
	d, err := s.Densities(m.Fit.Refrigerant())
	if err != nil {
		return nil, err
	}
	var out []Content
	for _, p := range m.Parts {
		out = append(out, p.Holds(d, s.Flooded, m.seal()))
	}
	return out, nil
}

// reserve is the share of a plate charge that is spare in the receiver, with its uncertainty. Judgement, ours: a third
// covers what coil and condenser hold more or less over a year; receivers are sold in steps of a third or so.
const reserve, reserveU = 0.35, 0.10

// Need returns what the circuit wants at an outside temperature: from its parts, or without those from the plate and the model's ratio.
//
//   - in: box and ambient temperature
//   - out: the need; by the plate of a machine with receiver u is 15 % (the reserve is judgement), of one without the plate itself
//   - errors: as [Machine.Contents]; [*fail.Error] where there are neither parts nor a plate
//   - source: [Machine.Contents], or [plant.ChargeShare]
func (m *Machine) Need(box, ambient units.Temp) (Need, error) {
	s, o, err := m.StateAt(box, ambient)
	if err != nil {
		return Need{}, err
	}
	n := Need{
		Ambient:    ambient,
		Condensing: s.Condensing,
		Flooded:    s.Flooded,
		Subcooling: m.Fit.BubbleP(m.Fit.DewT(float64(s.Condensing))) - float64(s.Liquid),
	}
	switch {
	case len(m.Parts) > 0:
		list, err := m.Contents(box, ambient)
		if err != nil {
			return Need{}, err
		}
		n.Mass, n.U = sum(list)
		n.U = math.Hypot(n.U, m.floodedU(s, list))
	case m.Full > 0 && m.Plate.Receiver:
		n.Mass = m.Full * (1 - reserve) * o[plant.ChargeShare]
		n.U = n.Mass * reserveU / (1 - reserve)
	case m.Full > 0:
		n.Mass, n.U = m.Full, plateU*m.Full
	default:
		return Need{}, fail.Of(fail.Required, "parts", "charge.nothing_known", nil)
	}
	return n, nil
}

// floodedU is what the doubt in the flooded share makes of the charge: the model against the area rule with the
// design's split, at least 0.05 (judgement). A condenser's content moves by about itself per unit of share.
func (m *Machine) floodedU(s State, list []Content) float64 {
	if m.Plate.HeadControl != reading.Flooding || s.Flooded == 0 {
		return 0
	}
	u := 0.0
	for i, c := range list {
		if m.Parts[i].Kind == Condenser {
			u += c.Mass
		}
	}
	return u * max(0.05, math.Abs(s.Flooded-FloodedShare(s.Condensing, s.Ambient, m.Plate.Split)))
}

// plateU is the relative standard uncertainty of a plate charge: judgement.
const plateU = 0.02

func sum(list []Content) (mass, u float64) {
	v := 0.0
	for _, c := range list {
		mass += c.Mass
		v += c.U * c.U
	}
	return mass, math.Sqrt(v)
}

// Method is how a machine is charged when it is not by weight alone.
type Method int

// The methods.
const (
	MethodUnknown Method = iota
	ByGlass              // receiver: until the glass clears, then what winter wants on top
	BySubcooling         // no receiver, expansion valve
	ByWeight             // orifice and capillary: nothing but the scale
)

var methodWords = []string{"unknown", "by_glass", "by_subcooling", "by_weight"}

func (m Method) String() string { return methodWords[m] }

// MarshalText writes the word.
func (m Method) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// MethodWords lists the methods.
func MethodWords() []string { return methodWords[1:] }

// Method returns how this machine shows that it is full.
//
//   - out: the method
//   - source: common practice, no source: a receiver hides the charge behind a clear glass, without one it backs up
//     in the condenser and shows as subcooling
func (m *Machine) Method() Method {
	switch {
	case m.Plate.Expansion == reading.Orifice || m.Plate.Expansion == reading.Capillary:
		return ByWeight
	case m.Plate.Receiver:
		return ByGlass
	}
	return BySubcooling
}

// Seen is what the machine shows today.
type Seen struct {
	Glass             reading.Glass
	Subcooling        *float64 // K, as read at the unit
	TargetSubcooling  *float64 // K, the maker's
	ReceiverLevel     *float64 // liquid share of the receiver
	Running           bool
	IntoSuction       bool
	Box, Now, Coldest units.Temp
}

// Answer is what there is to say about the charge.
type Answer struct {
	Basis           string // plate or parts
	Full, FullU     float64
	Parts           []Content // in the state that takes most; nil without parts
	PartsAt         units.Temp
	ByParts         *Need // what the parts make of it where the plate decides
	Now, Coldest    Need
	WinterLack      float64 // kg that a glass just clear now will lack on the coldest day
	WinterLackU     float64
	Curve           []Need
	ReceiverLimit   float64 // kg, pumped down; 0 without a receiver of known volume
	Method          Method
	Target, TargetU float64 // K of subcooling, for BySubcooling
	Findings        []reading.Finding
}

// Finding codes of this package.
const (
	AsLiquid           = "charge_as_liquid"
	MeterSuction       = "charge_meter_into_suction"
	Gloves             = "charge_gloves"
	ScaleFree          = "charge_scale_free"
	ClassUnknown       = "charge_class_unknown"
	Toxic              = "charge_toxic"
	Flammable          = "charge_flammable"
	HighPressureCO2    = "charge_carbon_dioxide"
	ClearNotFull       = "charge_clear_glass_is_not_full"
	WinterLacks        = "charge_winter_lacks"
	PlateShortWinter   = "charge_plate_short_in_winter"
	ReceiverOverfull   = "charge_receiver_too_small"
	PlateDiffers       = "charge_plate_and_parts_differ"
	CylinderOver       = "charge_cylinder_overfilled"
	CylinderNear       = "charge_cylinder_nearly_full"
	CylinderWeak       = "charge_cylinder_service_pressure"
	CylinderTest       = "charge_cylinder_test_pressure"
	CylinderGas        = "charge_cylinder_no_liquid"
	BubblesNotCharge   = "charge_bubbles_are_not_the_charge"
	GlassSaysAdd       = "charge_glass_says_add"
	SubcoolingSaysAdd  = "charge_subcooling_says_add"
	SubcoolingSaysStop = "charge_subcooling_says_stop"
	SubcoolingTooMuch  = "charge_subcooling_too_much"
	LevelStop          = "charge_receiver_level_stop"
	WeightOnly         = "charge_weight_only"
	NeverBeyond        = "charge_never_beyond"
	LetSettle          = "charge_let_settle"
	HeadWatch          = "charge_watch_head"
	RunsOut            = "charge_cylinder_runs_out"
	StartUnknown       = "charge_start_unknown"
	NoColdState        = "charge_no_running_state_in_the_cold"
)

// FindingCodes lists the codes this package can return.
func FindingCodes() []string {
	return []string{
		AsLiquid,
		MeterSuction,
		Gloves,
		ScaleFree,
		ClassUnknown,
		Toxic,
		Flammable,
		HighPressureCO2,
		ClearNotFull,
		WinterLacks,
		PlateShortWinter,
		ReceiverOverfull,
		PlateDiffers,
		CylinderOver,
		CylinderNear,
		CylinderWeak,
		CylinderTest,
		CylinderGas,
		BubblesNotCharge,
		GlassSaysAdd,
		SubcoolingSaysAdd,
		SubcoolingSaysStop,
		SubcoolingTooMuch,
		LevelStop,
		WeightOnly,
		NeverBeyond,
		LetSettle,
		HeadWatch,
		RunsOut,
		StartUnknown,
		NoColdState,
	}
}

// subcoolingBand is how far from its target subcooling counts as right, K: 8 to 10 °F in a maker's manual, ±1.5 K around the middle.
const subcoolingBand = 1.5

// Reckon answers.
//
//   - in: what is seen; Box, Now and Coldest set, Coldest not above Now
//   - out: the answer, with cautions first and stop rules last
//   - errors: as [Machine.Need]
//   - assumes: a full charge is the largest need between the coldest day and the design's, the receiver just sealed;
//     the plate wins where there is one
//   - source: definition; flooding by package plant; limits in limit.go
//   - cost: about 14 solves and as many densities, 50 ms for a blend
func (m *Machine) Reckon(seen Seen) (Answer, error) {
	var a Answer
	find := func(code string, sev reading.Severity, args map[string]float64) {
		a.Findings = append(a.Findings, reading.Finding{Code: code, Severity: sev, Args: args})
	}
	if !(seen.Coldest <= seen.Now) {
		return a, fail.Of(fail.Range, "coldest", "charge.coldest_warmer",
			fail.Args{"coldest": seen.Coldest, "now": seen.Now})
	}
	m.cautions(&seen, find)
	var err error
	if a.Now, err = m.Need(seen.Box, seen.Now); err != nil {
		return a, err
	}
	if a.Coldest, err = m.Need(seen.Box, seen.Coldest); err != nil {
		// A machine that cannot run on the coldest day has no winter charge: it wants head control first.
		a.Coldest = a.Now
		find(NoColdState, reading.Warn, map[string]float64{"ambient_k": float64(seen.Coldest)})
	}
	most := a.Now
	hot := max(m.Plate.Ambient, seen.Now)
	const steps = 6
	for i := range steps + 1 {
		T := seen.Coldest + units.Temp(i)/steps*(hot-seen.Coldest)
		n, err := m.Need(seen.Box, T)
		if err != nil {
			continue // a state the model does not find is left out of the curve
		}
		a.Curve = append(a.Curve, n)
		if n.Mass > most.Mass {
			most = n
		}
	}
	a.Method = m.Method()
	if len(m.Parts) > 0 {
		if a.Parts, err = m.Contents(seen.Box, most.Ambient); err != nil {
			return a, err
		}
		a.PartsAt = most.Ambient
	}
	a.Basis, a.Full, a.FullU = "parts", most.Mass, most.U
	if m.Full > 0 {
		a.Basis, a.Full, a.FullU = "plate", m.Full, plateU*m.Full
		if len(m.Parts) > 0 {
			a.ByParts = &most
			if u := math.Hypot(most.U, a.FullU); math.Abs(most.Mass-m.Full) > 2*u {
				find(PlateDiffers, reading.Warn, map[string]float64{"plate_kg": m.Full, "parts_kg": most.Mass})
			}
			if m.Plate.HeadControl == reading.Flooding && a.Coldest.Mass > m.Full+a.Coldest.U {
				find(
					PlateShortWinter,
					reading.Warn,
					map[string]float64{"need_kg": a.Coldest.Mass, "plate_kg": m.Full, "ambient_k": float64(seen.Coldest)},
				)
			}
		}
	}
	m.receiver(&a, find)
	m.winter(&a, &seen, find)
	m.stop(&a, &seen, find)
	return a, nil
}

// cautions names what can hurt, before anything else.
func (m *Machine) cautions(seen *Seen, find func(string, reading.Severity, map[string]float64)) {
	r := m.Fit.Refrigerant()
	find(Gloves, reading.Warn, nil)
	// Where no class is on file the danger is not known, and that counts as danger.
	s, known := r.Safety()
	if !known {
		find(ClassUnknown, reading.Warn, nil)
	}
	if s.Poisons() {
		find(Toxic, reading.Warn, nil)
	}
	if s.Burns() {
		find(Flammable, reading.Warn, nil)
	}
	if r.Designation() == "R-744" {
		find(HighPressureCO2, reading.Warn, nil)
	}
	if r.Kind() == refrigerant.Zeotrope {
		glide, err := r.GlideAt101()
		if err != nil {
			glide = 0
		}
		find(AsLiquid, reading.Warn, map[string]float64{"glide_k": glide})
	}
	if seen.IntoSuction || r.Kind() == refrigerant.Zeotrope && seen.Running {
		find(MeterSuction, reading.Warn, nil)
	}
	find(ScaleFree, reading.Info, nil)
}

// receiver compares the full charge with what the receiver takes when all is pumped down.
func (m *Machine) receiver(a *Answer, find func(string, reading.Severity, map[string]float64)) {
	volume := 0.0
	for _, p := range m.Parts {
		if p.Kind == Receiver {
			volume += p.Volume
		}
	}
	if volume == 0 {
		return
	}
	limit, err := ReceiverLimit(m.Fit.Refrigerant(), volume)
	if err != nil {
		return // above its critical point at 90 °F nothing stands as liquid in a receiver
	}
	a.ReceiverLimit = limit
	if a.Full > limit {
		find(ReceiverOverfull, reading.Warn, map[string]float64{"limit_kg": limit, "full_kg": a.Full})
	}
}

// winter says what a glass that is just clear now will lack.
func (m *Machine) winter(a *Answer, seen *Seen, find func(string, reading.Severity, map[string]float64)) {
	if !m.Plate.Receiver {
		return
	}
	a.WinterLack = math.Max(0, a.Coldest.Mass-a.Now.Mass)
	// The rest of the circuit is common to both; what differs is the condenser.
	a.WinterLackU = 0.15 * a.WinterLack
	if len(m.Parts) == 0 {
		a.WinterLackU = a.WinterLack * reserveU / (1 - reserve)
	}
	if m.Plate.HeadControl == reading.Flooding {
		find(ClearNotFull, reading.Warn, nil)
		if a.WinterLack > 0 {
			find(
				WinterLacks,
				reading.Warn,
				map[string]float64{
					"lack_kg":   a.WinterLack,
					"u_kg":      a.WinterLackU,
					"ambient_k": float64(seen.Coldest),
					"now_k":     float64(seen.Now),
				},
			)
		}
	}
}

// stop gives the target and the rules of when to stop.
func (m *Machine) stop(a *Answer, seen *Seen, find func(string, reading.Severity, map[string]float64)) {
	if seen.ReceiverLevel != nil && *seen.ReceiverLevel >= ReceiverFill {
		find(LevelStop, reading.Warn, map[string]float64{"level": *seen.ReceiverLevel})
	}
	bubbling := seen.Glass == reading.Bubbling || seen.Glass == reading.Empty
	switch a.Method {
	case ByWeight:
		find(WeightOnly, reading.Info, nil)
	case ByGlass:
		// With a receiver liquid leaves nearly saturated; much subcooling under bubbles means the pressure is lost on the way.
		if bubbling {
			if seen.Subcooling != nil && *seen.Subcooling > a.Now.Subcooling+4 {
				find(BubblesNotCharge, reading.Warn, map[string]float64{"subcooling_k": *seen.Subcooling})
			} else {
				find(GlassSaysAdd, reading.Info, nil)
			}
		}
	case BySubcooling:
		a.Target, a.TargetU = a.Now.Subcooling, subcoolingBand
		if seen.TargetSubcooling != nil {
			a.Target = *seen.TargetSubcooling
		}
		if seen.Subcooling == nil {
			break
		}
		args := map[string]float64{"subcooling_k": *seen.Subcooling, "target_k": a.Target}
		switch off := *seen.Subcooling - a.Target; {
		case bubbling && off > -subcoolingBand:
			find(BubblesNotCharge, reading.Warn, args)
		case off < -subcoolingBand:
			find(SubcoolingSaysAdd, reading.Info, args)
		case off > 2*subcoolingBand:
			find(SubcoolingTooMuch, reading.Warn, args)
		default:
			find(SubcoolingSaysStop, reading.Info, args)
		}
	}
	find(NeverBeyond, reading.Info, map[string]float64{"full_kg": a.Full})
	if a.Method != ByWeight {
		find(LetSettle, reading.Info, nil)
	}
	find(HeadWatch, reading.Info, map[string]float64{"condensing_k": float64(a.Now.Condensing)})
}
