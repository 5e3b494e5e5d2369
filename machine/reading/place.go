package reading

import (
	"fmt"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/units"
)

// Place is where something is measured.
type Place int

// The places.
const (
	PlaceUnknown Place = iota
	SuctionPressure
	CoilPressure
	DischargePressure
	LiquidPressure
	StandingPressure
	BoxAir
	CoilAirOff
	BoxDisplay
	BoxWetBulb
	BoxHumidity // relative, of the air entering the coil
	Ambient
	CondenserFaceAir
	CondenserAirOff
	CoilOutletLine
	SuctionLine
	DischargeLine
	LiquidLine
	DrierIn
	DrierOut
	Amps
	Power
	HeaterAmps // of the defrost heater, while the machine cools
)

// Kind is the sort of quantity read at a place.
type Kind int

// The kinds.
const (
	KindUnknown Kind = iota
	KindPressure
	KindTemperature
	KindCurrent
	KindPower
	KindShare // 0 to 1, written in per cent
)

type placeInfo struct {
	key      string
	kind     Kind
	min, max float64 // SI, sensible
}

// Ranges: the registry of units; lines and air apart. Common practice, no source: a reading outside is a slip of the pen.
var placeTable = [...]placeInfo{
	PlaceUnknown:      {"unknown", KindUnknown, 0, 0},
	SuctionPressure:   {"suction_pressure", KindPressure, 5e3, 6e6},
	CoilPressure:      {"coil_pressure", KindPressure, 5e3, 6e6},
	DischargePressure: {"discharge_pressure", KindPressure, 20e3, 16e6},
	LiquidPressure:    {"liquid_pressure", KindPressure, 20e3, 16e6},
	StandingPressure:  {"standing_pressure", KindPressure, 20e3, 10e6},
	BoxAir:            {"box_air", KindTemperature, 200, 330},
	CoilAirOff:        {"coil_air_off", KindTemperature, 190, 330},
	BoxDisplay:        {"box_display", KindTemperature, 200, 330},
	BoxWetBulb:        {"box_wet_bulb", KindTemperature, 220, 320},
	BoxHumidity:       {"box_humidity", KindShare, 0.02, 1},
	Ambient:           {"ambient", KindTemperature, 220, 335},
	CondenserFaceAir:  {"condenser_face_air", KindTemperature, 220, 345},
	CondenserAirOff:   {"condenser_air_off", KindTemperature, 220, 365},
	CoilOutletLine:    {"coil_outlet_line", KindTemperature, 190, 340},
	SuctionLine:       {"suction_line", KindTemperature, 190, 350},
	DischargeLine:     {"discharge_line", KindTemperature, 240, 450},
	LiquidLine:        {"liquid_line", KindTemperature, 220, 360},
	DrierIn:           {"drier_in", KindTemperature, 220, 360},
	DrierOut:          {"drier_out", KindTemperature, 200, 360},
	Amps:              {"amps", KindCurrent, 0, 2000},
	Power:             {"power", KindPower, 0, 1e6},
	HeaterAmps:        {"heater_amps", KindCurrent, 0, 2000},
}

// Places lists every place in the order of the circuit.
func Places() []Place {
	out := make([]Place, 0, len(placeTable)-1)
	for p := SuctionPressure; int(p) < len(placeTable); p++ {
		out = append(out, p)
	}
	return out
}

func (p Place) String() string {
	if p < 0 || int(p) >= len(placeTable) {
		return "unknown"
	}
	return placeTable[p].key
}

// Kind returns what sort of quantity is read there.
func (p Place) Kind() Kind { return placeTable[p].kind }

// Range returns the sensible values in SI.
func (p Place) Range() (lo, hi float64) { return placeTable[p].min, placeTable[p].max }

// ParsePlace finds a place by its key.
func ParsePlace(key string) (Place, error) {
	for _, p := range Places() {
		if placeTable[p].key == key {
			return p, nil
		}
	}
	return PlaceUnknown, fail.Of(fail.BadValue, "at", "reading.no_place", fail.Args{"text": key, "places": keys(Places())})
}

func keys[T fmt.Stringer](list []T) string {
	var s []string
	for _, v := range list {
		s = append(s, v.String())
	}
	return strings.Join(s, ", ")
}

// Parse reads the value at this place as a person writes it; ambient turns gauge into absolute. fallback is the unit
// printed beside a field.
func (p Place) Parse(text, fallback string, ambient units.Pressure) (float64, error) {
	var v float64
	var err error
	switch p.Kind() {
	case KindPressure:
		var e units.PressureEntry
		if e, err = units.ParsePressure(text, fallback); err == nil {
			v = float64(e.Absolute(ambient))
		}
	case KindTemperature:
		var t units.Temp
		t, err = units.ParseTemp(text, fallback)
		v = float64(t)
	case KindCurrent:
		v, err = units.ParseCurrent(text, fallback)
	case KindPower:
		v, err = units.ParsePower(text, fallback)
	case KindShare:
		v, err = units.ParseShare(text, fallback)
	default:
		err = fail.Of(fail.BadValue, "", "reading.no_such_place", nil)
	}
	if err != nil {
		return 0, err
	}
	if lo, hi := p.Range(); p.Kind() == KindPower && !(v >= lo && v <= hi) { // said back in the unit it was typed in
		unit, watts := units.PowerUnit(text, fallback)
		return 0, p.outside(v/watts, lo/watts, hi/watts, " "+unit)
	}
	if err := p.Check(v); err != nil {
		return 0, err
	}
	return v, nil
}

// Check refuses a value, SI, outside [Place.Range].
func (p Place) Check(v float64) error {
	lo, hi := p.Range()
	if v >= lo && v <= hi {
		return nil
	}
	switch p.Kind() {
	case KindPressure: // absolute and in both units: the air outside is not known here
		return fail.Of(fail.Range, p.String(), "reading.pressure_outside", fail.Args{
			"value": v / units.Kilo, "min": lo / units.Kilo, "max": hi / units.Kilo,
			"psi": v / units.Psi, "min_psi": lo / units.Psi, "max_psi": hi / units.Psi,
		})
	case KindTemperature:
		return fail.Of(fail.Range, p.String(), "reading.outside", fail.Args{"value": units.Temp(v), "min": units.Temp(lo), "max": units.Temp(hi)})
	}
	switch p.Kind() {
	case KindShare:
		return p.outside(100*v, 100*lo, 100*hi, " %")
	case KindCurrent:
		return p.outside(v, lo, hi, " A")
	case KindPower:
		return p.outside(v, lo, hi, " W")
	}
	return p.outside(v, lo, hi, "")
}

// outside is the failure of a value outside its place, all three numbers with their unit.
func (p Place) outside(v, lo, hi float64, unit string) error {
	show := func(x float64) string {
		if short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64); err == nil { // no digits of arithmetic
			x = short
		}
		return strings.Replace(strconv.FormatFloat(x, 'f', -1, 64), "-", "−", 1) + unit
	}
	return fail.Of(fail.Range, p.String(), "reading.outside", fail.Args{"value": show(v), "min": show(lo), "max": show(hi)})
}

// ParseU reads an uncertainty at this place: a difference, never a temperature ("1 F" is one Fahrenheit degree).
func (p Place) ParseU(text, fallback string) (float64, error) {
	var u float64
	switch p.Kind() {
	case KindTemperature:
		d, err := units.ParseTempDiff(text, fallback)
		if err != nil {
			return 0, err
		}
		u = float64(d)
	case KindPressure:
		// A pressure difference has no gauge or absolute: psi and bar are enough here.
		t := strings.TrimSpace(text)
		for _, s := range []string{"psi", "bar"} {
			if strings.HasSuffix(t, s) {
				t += "(a)"
			}
		}
		t = strings.NewReplacer("psig", "psia", "(g)", "(a)").Replace(t)
		e, err := units.ParsePressure(t, strings.NewReplacer("psig", "psia", "(g)", "(a)").Replace(fallback))
		if err != nil {
			return 0, err
		}
		u = e.Pa
	case KindShare:
		var err error
		if u, err = units.ParseShare(text, fallback); err != nil {
			return 0, err
		}
	default:
		v, err := p.Parse(text, fallback, units.Atm)
		if err != nil {
			return 0, err
		}
		u = v
	}
	if lo, hi := p.Range(); !(u > 0 && u < hi-lo) {
		return 0, fail.Of(fail.Range, "", "reading.uncertainty", fail.Args{"text": text})
	}
	return u, nil
}

// Instrument is what a value was read with.
type Instrument int

// The instruments.
const (
	InstrumentUnknown Instrument = iota
	DialGauge
	DigitalGauge
	Clamp     // clamp thermistor, insulated
	BareClamp // bead or clamp without insulation
	AirProbe
	BoxThermometer
	ClampMeter
	ByHand // felt or estimated
)

var instrumentKeys = [...]string{
	"unknown",
	"dial gauge",
	"digital gauge",
	"clamp",
	"bare clamp",
	"air probe",
	"box thermometer",
	"clamp meter",
	"by hand",
}

func (i Instrument) String() string { return instrumentKeys[i] }

// Instruments lists the instruments.
func Instruments() []Instrument {
	return []Instrument{DialGauge, DigitalGauge, Clamp, BareClamp, AirProbe, BoxThermometer, ClampMeter, ByHand}
}

// Instruments lists what this place can be read with.
func (p Place) Instruments() []Instrument {
	switch p.Kind() {
	case KindPressure:
		return []Instrument{DialGauge, DigitalGauge, ByHand}
	case KindCurrent, KindPower:
		return []Instrument{ClampMeter}
	case KindShare:
		return []Instrument{AirProbe}
	}
	switch p {
	case BoxDisplay:
		return []Instrument{BoxThermometer}
	case BoxAir, CoilAirOff, BoxWetBulb, Ambient, CondenserFaceAir, CondenserAirOff:
		return []Instrument{AirProbe, BoxThermometer, ByHand}
	}
	return []Instrument{Clamp, BareClamp, ByHand}
}

// ParseInstrument finds an instrument by its word.
func ParseInstrument(s string) (Instrument, error) {
	for _, i := range Instruments() {
		if i.String() == s {
			return i, nil
		}
	}
	if s == "" {
		return InstrumentUnknown, nil
	}
	return InstrumentUnknown, fail.Of(fail.BadValue, "instrument", "reading.no_instrument",
		fail.Args{"text": s, "instruments": keys(Instruments())})
}

// U returns the default standard uncertainty of the instrument at a place, SI.
//
//   - in: the place
//   - out: Pa, K, A (relative currents are handled by the caller) or W
//   - source: grade B dial gauges of 134.7 and 500 psi span, digital gauges, clamps and air devices by their usual
//     tolerance over √3; judgement
func (i Instrument) U(p Place) float64 {
	high := p == DischargePressure || p == LiquidPressure || p == StandingPressure
	switch p.Kind() {
	case KindPressure:
		switch {
		case i == DialGauge && high:
			return 5.8 * units.Psi
		case i == DialGauge:
			return 1.6 * units.Psi
		case i == ByHand && high:
			return 12 * units.Psi
		case i == ByHand:
			return 4 * units.Psi
		case i == InstrumentUnknown && high:
			return 4.2 * units.Psi // as often a digital gauge as a dial: the root of the mean of their squares
		case i == InstrumentUnknown:
			return 1.2 * units.Psi
		case high:
			return 1.5 * units.Psi
		}
		return 0.6 * units.Psi
	case KindTemperature:
		switch i {
		case BareClamp:
			return 2
		case ByHand:
			return 4
		case BoxThermometer:
			return 1.7 // 3 °F of the food code's air devices as a tolerance, without calibration
		case Clamp, AirProbe:
			return 1
		}
		switch p {
		case BoxAir:
			return 0.6
		case Ambient:
			return 1.1
		case BoxDisplay:
			return 1.7
		case DischargeLine:
			return 1.5
		}
		return 0.8
	case KindShare: // hygrometers are sold with ± 3 to 5 % as a tolerance; wicks and elements age. Judgement.
		if i == ByHand {
			return 0.15
		}
		return 0.04
	}
	return 0.03 // share of the reading: current and power
}
