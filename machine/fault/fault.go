package fault

import (
	_ "embed"
	"fmt"
	"math"
	"regexp"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// Code names a fault; its String is the stable code.
type Code int

// The faults.
const (
	Unknown Code = iota
	Healthy
	NoneOfThese
	LowCharge
	OverCharge
	CondenserAir
	CondenserRecirculation
	CoilAir
	RestrictionBeforeGlass
	RestrictionAfterGlass
	ValveUnderfeeding
	ValveOverfeeding
	CompressorValves
	Noncondensables
	SuctionRestriction
	HeadControlLow
	HeadControlHigh
	ExcessLoad
	CompositionShift
	WrongRefrigerant
	BoxThermometer
	SuctionGauge
	DischargeGauge
	DefrostHeater
)

var codes = [...]string{
	"unknown",
	"healthy",
	"none_of_these",
	"low_charge",
	"over_charge",
	"condenser_air",
	"condenser_recirculation",
	"coil_air",
	"restriction_before_glass",
	"restriction_after_glass",
	"valve_underfeeding",
	"valve_overfeeding",
	"compressor_valves",
	"noncondensables",
	"suction_restriction",
	"head_control_low",
	"head_control_high",
	"excess_load",
	"composition_shift",
	"wrong_refrigerant",
	"box_thermometer",
	"suction_gauge",
	"discharge_gauge",
	"defrost_heater_on",
}

func (c Code) String() string {
	if c < 0 || int(c) >= len(codes) {
		return "unknown"
	}
	return codes[c]
}

// MarshalText writes the code.
func (c Code) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads the code.
func (c *Code) UnmarshalText(b []byte) (err error) { *c, err = Parse(string(b)); return err }

// Parse finds a fault by its code.
func Parse(s string) (Code, error) {
	for i, w := range codes {
		if i > 0 && w == s {
			return Code(i), nil
		}
	}
	return Unknown, fmt.Errorf("no fault code %q", s)
}

// Singles lists every single fault of the catalogue in the order of the codes.
func Singles() []Code {
	var out []Code
	for c := LowCharge; int(c) < len(codes); c++ {
		out = append(out, c)
	}
	return out
}

// Transform says in which space the severity is normal.
type Transform int

// The transforms.
const (
	TransformUnknown Transform = iota
	Log
	Logit
	Normal
)

// Fault is a row of the catalogue.
type Fault struct {
	Code          Code      `json:"code"`
	TransformWord string    `json:"transform"`
	Median        float64   `json:"median"`
	Sd            float64   `json:"sd"`
	Unit          string    `json:"unit"`
	BaseRate      float64   `json:"base_rate"`
	RateLow       float64   `json:"rate_low"`
	RateHigh      float64   `json:"rate_high"`
	Basis         string    `json:"basis"`    // of the rate: a publication, or a judgement with its reason
	Evidence      string    `json:"evidence"` // of the rate: published or judgement
	SeverityBasis string    `json:"severity_basis"`
	Check         string    `json:"check"`
	Mimics        []Code    `json:"mimics"`
	Covers        []string  `json:"covers,omitempty"` // parts and settings that act like this fault and have no code of their own
	Remedy        string    `json:"remedy"`
	Transform     Transform `json:"-"`
}

// Severity turns a standard normal z into a severity in the fault's unit.
//
//   - in: z
//   - out: severity; between 0 and 1 for shares
//   - source: definition of the log-normal and logit-normal distribution
func (f *Fault) Severity(z float64) float64 {
	switch f.Transform {
	case Log:
		return f.Median * math.Exp(f.Sd*z)
	case Logit:
		return 1 / (1 + (1-f.Median)/f.Median*math.Exp(-f.Sd*z))
	}
	return f.Median + f.Sd*z
}

// Catalogue is the list with the rates that are not faults.
type Catalogue struct {
	Schema       string  `json:"schema"`
	Faults       []Fault `json:"faults"`
	HealthyRate  float64 `json:"healthy_rate"`
	HealthyLow   float64 `json:"healthy_rate_low"`
	HealthyHigh  float64 `json:"healthy_rate_high"`
	HealthyBasis string  `json:"healthy_basis"`
	NoneRate     float64 `json:"none_rate"`
	NoneBasis    string  `json:"none_basis"`
	Source       []struct {
		Cite     string `json:"cite"`
		Evidence string `json:"evidence"`
	} `json:"source"`
}

//go:embed catalogue.json
var shipped []byte

// Shipped returns the catalogue that comes with the program.
func Shipped() (Catalogue, error) { return ParseCatalogue(shipped) }

// ParseCatalogue reads an edited catalogue strictly.
//
//   - in: JSON of the shipped form
//   - out: the catalogue
//   - errors: unknown keys or codes, rates outside 0 to 1, repeated faults; a basis that is missing, names no year where
//     it is published, or gives no reason where it is judgement
//   - source: definition
func ParseCatalogue(text []byte) (Catalogue, error) {
	var c Catalogue
	if err := strictjson.Decode(text, &c); err != nil {
		return c, fmt.Errorf("fault catalogue: %w", err)
	}
	seen := map[Code]bool{}
	for i := range c.Faults {
		f := &c.Faults[i]
		switch f.TransformWord {
		case "log":
			f.Transform = Log
		case "logit":
			f.Transform = Logit
		case "normal":
			f.Transform = Normal
		default:
			return c, fmt.Errorf("fault catalogue: %s: transform %q; allowed: log, logit, normal", f.Code, f.TransformWord)
		}
		switch {
		case f.Code <= NoneOfThese || seen[f.Code]:
			return c, fmt.Errorf("fault catalogue: row %d: code %s is no single fault or is there twice", i+1, f.Code)
		case !(f.BaseRate > 0 && f.BaseRate < 1) || f.BaseRate < f.RateLow || f.BaseRate > f.RateHigh:
			return c, fmt.Errorf("fault catalogue: %s: base rate %g must lie between rate_low and rate_high, above 0", f.Code, f.BaseRate)
		case !(f.Sd > 0), f.Transform == Log && !(f.Median > 0), f.Transform == Logit && !(f.Median > 0 && f.Median < 1):
			return c, fmt.Errorf(
				"fault catalogue: %s: median %g and sd %g do not fit transform %s",
				f.Code,
				f.Median,
				f.Sd,
				f.TransformWord,
			)
		case f.Basis == "" || f.Check == "" || f.Remedy == "" || f.Unit == "":
			return c, fmt.Errorf("fault catalogue: %s: basis, check, remedy and unit are required", f.Code)
		case f.Evidence != "published" && f.Evidence != "judgement":
			return c, fmt.Errorf("fault catalogue: %s: evidence %q; allowed: published, judgement", f.Code, f.Evidence)
		case f.Evidence == "published" && !year.MatchString(f.Basis):
			return c, fmt.Errorf("fault catalogue: %s: a published basis names its year: %q", f.Code, f.Basis)
		case f.Evidence == "judgement" && !reasoned(f.Basis) || !reasoned(f.SeverityBasis) && !year.MatchString(f.SeverityBasis):
			return c, fmt.Errorf("fault catalogue: %s: a judgement begins with %q and gives its reason", f.Code, judged)
		}
		seen[f.Code] = true
	}
	if !reasoned(c.HealthyBasis) || !reasoned(c.NoneBasis) {
		return c, fmt.Errorf("fault catalogue: healthy_basis and none_basis begin with %q and give their reason", judged)
	}
	for _, r := range []float64{c.HealthyRate, c.NoneRate} {
		if !(r > 0 && r < 1) {
			return c, fmt.Errorf("fault catalogue: rates of healthy and none must lie between 0 and 1")
		}
	}
	return c, nil
}

// judged is how a basis begins that is ours.
const judged = "judgement, ours: "

var year = regexp.MustCompile(`\((19|20)\d\d\b`)

func reasoned(basis string) bool {
	return strings.HasPrefix(basis, judged) && len(basis) > len(judged)+10
}

// Find returns the row of a fault.
func (c *Catalogue) Find(code Code) (*Fault, bool) {
	for i := range c.Faults {
		if c.Faults[i].Code == code {
			return &c.Faults[i], true
		}
	}
	return nil, false
}

// Applies reports whether a machine can have the fault at all.
func (c Code) Applies(m reading.Resolved, glide float64) bool {
	switch c {
	case HeadControlLow, HeadControlHigh:
		return m.HeadControl != reading.HeadNone && m.HeadControl != reading.HeadUnknown
	case CompositionShift:
		return glide > 1
	case DefrostHeater: // coolers thaw with the box's own air
		return m.Application.Frozen()
	case Healthy, NoneOfThese, Unknown:
		return false
	}
	return true
}

// Apply returns the change with a fault of a severity added; severity 0 leaves it equal. Instrument faults and load
// do not change the circuit: see [Code.Circuit].
//
//   - in: a change; a code; severity in the fault's unit
//   - out: the changed change
//   - source: definition; mild and pair faults simply add
func Apply(ch plant.Change, c Code, severity float64) plant.Change {
	switch c {
	case LowCharge:
		ch.LowCharge = math.Min(0.95, ch.LowCharge+severity)
	case OverCharge:
		ch.OverCharge = math.Min(0.9, ch.OverCharge+severity)
	case CondenserAir:
		ch.CondenserAir = math.Min(0.97, ch.CondenserAir+severity)
	case CondenserRecirculation:
		ch.Recirculation += severity
	case CoilAir:
		ch.CoilAir = math.Min(0.97, ch.CoilAir+severity)
	case DefrostHeater:
		ch.CoilHeat += severity
	case RestrictionBeforeGlass:
		ch.RestrictionBefore += severity
	case RestrictionAfterGlass:
		ch.RestrictionAfter += severity
	case ValveUnderfeeding:
		ch.ValveUnder = math.Min(0.97, ch.ValveUnder+severity)
	case ValveOverfeeding:
		ch.ValveOver += severity
	case CompressorValves:
		ch.CompressorLeak = math.Min(0.9, ch.CompressorLeak+severity)
	case Noncondensables:
		ch.Noncondensables += severity
	case SuctionRestriction:
		ch.SuctionRestriction += severity
	case HeadControlLow:
		ch.HeadShift -= severity
	case HeadControlHigh:
		ch.HeadShift += severity
	}
	return ch
}

// ReadsWrong lists the readings that an instrument which is off shifts by its severity: one gauge stands on the low
// side, one on the high side and on the machine at rest. Nil for what is no instrument's fault.
func (c Code) ReadsWrong() []reading.Place {
	switch c {
	case BoxThermometer:
		return []reading.Place{reading.BoxDisplay}
	case SuctionGauge:
		return []reading.Place{reading.SuctionPressure, reading.CoilPressure}
	case DischargeGauge:
		return []reading.Place{reading.DischargePressure, reading.LiquidPressure, reading.StandingPressure}
	}
	return nil
}

// Instrument reports whether the fault is an instrument that is off.
func (c Code) Instrument() bool { return c.ReadsWrong() != nil }

// Circuit reports whether the fault changes the circuit; the others shift what instruments show, or the load.
func (c Code) Circuit() bool {
	switch c {
	case ExcessLoad, CompositionShift, WrongRefrigerant, BoxThermometer, SuctionGauge, DischargeGauge, Healthy, NoneOfThese, Unknown:
		return false
	}
	return true
}

// Inseparable is the cause as circuit readings can tell it: a restriction after the glass and an underfeeding valve are
// one.
func (c Code) Inseparable() Code {
	if c == RestrictionAfterGlass {
		return ValveUnderfeeding
	}
	return c
}
