package reading

import (
	"math"
	"strconv"
)

// Severity of a finding.
type Severity int

// The severities.
const (
	SeverityUnknown Severity = iota
	Info
	Warn
	Block // no judgement on this reading
)

func (s Severity) String() string { return [...]string{"unknown", "info", "warn", "block"}[s] }

// MarshalText writes the word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Finding is a code with arguments in SI (keys end in their unit); sentences are made elsewhere.
type Finding struct {
	Code     string             `json:"code"`
	Args     map[string]float64 `json:"args,omitempty"`
	At       []string           `json:"at,omitempty"`
	Severity Severity           `json:"severity"`
}

// Finding codes of this package.
const (
	BoxDisagrees     = "box_thermometer_disagrees"
	SuctionAbove     = "suction_above_discharge"
	OutOfRange       = "reading_out_of_range"
	TooEarly         = "running_too_short"
	AfterDefrost     = "defrost_just_over"
	DoorJustUsed     = "door_not_shut"
	AirOffWarmer     = "air_off_coil_warmer_than_box"
	DrierWarmer      = "drier_outlet_warmer"
	FaceCooler       = "condenser_face_cooler_than_ambient"
	ReadTwice        = "read_twice"
	WetBulbAbove     = "wet_bulb_above_box_air"
	CondenserOffCold = "condenser_air_off_colder_than_air_on"
)

// FindingCodes lists the codes this package can return.
func FindingCodes() []string {
	return []string{
		BoxDisagrees,
		SuctionAbove,
		OutOfRange,
		TooEarly,
		AfterDefrost,
		DoorJustUsed,
		AirOffWarmer,
		DrierWarmer,
		FaceCooler,
		ReadTwice,
		WetBulbAbove,
		CondenserOffCold,
	}
}

// Check returns what is implausible without knowing the refrigerant.
//
//   - out: findings; Block where a reading cannot be used
//   - source: definition; limits of 15 min running and 20 min after defrost are common practice, no source
func (s Sheet) Check() []Finding {
	var out []Finding
	add := func(code string, sev Severity, args map[string]float64, at ...Place) {
		f := Finding{Code: code, Args: args, Severity: sev}
		for _, p := range at {
			f.At = append(f.At, p.String())
		}
		out = append(out, f)
	}
	count := map[Place]int{}
	for _, r := range s.Readings {
		count[r.At]++
		if r.At.Check(r.Value) != nil {
			add(OutOfRange, Block, map[string]float64{"value": r.Value}, r.At)
		}
	}
	for _, p := range Places() {
		if count[p] > 1 {
			add(ReadTwice, Info, map[string]float64{"times": float64(count[p])}, p)
		}
	}
	pair := func(a, b Place) (x, y Reading, u float64, ok bool) {
		x, ok1 := s.Find(a)
		y, ok2 := s.Find(b)
		return x, y, math.Hypot(x.Uncertainty(), y.Uncertainty()), ok1 && ok2
	}
	if d, b, _, ok := pair(BoxDisplay, BoxAir); ok {
		// Two instruments in the same air: 2 K is more than a sound pair differs (3 °F air devices, one of them checked).
		if diff := d.Value - b.Value; math.Abs(diff) > 2 {
			add(BoxDisagrees, Warn, map[string]float64{"difference_k": diff, "display_k": d.Value, "probe_k": b.Value}, BoxDisplay, BoxAir)
		}
	}
	if a, b, u, ok := pair(SuctionPressure, DischargePressure); ok && a.Value > b.Value+u {
		add(SuctionAbove, Block, map[string]float64{"suction_pa": a.Value, "discharge_pa": b.Value}, SuctionPressure, DischargePressure)
	}
	if a, b, u, ok := pair(CoilAirOff, BoxAir); ok && a.Value > b.Value+2*u {
		add(AirOffWarmer, Warn, map[string]float64{"difference_k": a.Value - b.Value}, CoilAirOff, BoxAir)
	}
	if a, b, u, ok := pair(BoxWetBulb, BoxAir); ok && a.Value > b.Value+2*u {
		add(WetBulbAbove, Warn, map[string]float64{"difference_k": a.Value - b.Value}, BoxWetBulb, BoxAir)
	}
	if a, b, u, ok := pair(DrierOut, DrierIn); ok && a.Value > b.Value+2*u {
		add(DrierWarmer, Warn, map[string]float64{"difference_k": a.Value - b.Value}, DrierOut, DrierIn)
	}
	if a, b, u, ok := pair(CondenserFaceAir, Ambient); ok && a.Value < b.Value-2*u {
		add(FaceCooler, Warn, map[string]float64{"difference_k": b.Value - a.Value}, CondenserFaceAir, Ambient)
	}
	if a, b, u, ok := pair(CondenserAirOff, Ambient); ok && a.Value < b.Value-2*u {
		add(CondenserOffCold, Warn, map[string]float64{"difference_k": b.Value - a.Value}, CondenserAirOff, Ambient)
	}
	if s.RunningMin != nil && *s.RunningMin < 15 {
		add(TooEarly, Warn, map[string]float64{"running_min": *s.RunningMin})
	}
	if s.SinceDefrostMin != nil && *s.SinceDefrostMin < 20 {
		add(AfterDefrost, Warn, map[string]float64{"since_defrost_min": *s.SinceDefrostMin})
	}
	if s.Seen.Door == DoorOpen {
		add(DoorJustUsed, Warn, nil)
	}
	return out
}

func trimFloat(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
