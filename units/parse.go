package units

import (
	"math"
	"strconv"
	"strings"

	"coldwright/fail"
)

// unit is one way to write a quantity: value·scale + offset in SI.
type unit struct {
	names         []string // the first is shown
	scale, offset float64
	gauge         bool
}

var temperatures = []unit{
	{[]string{"°F", "F", "degF", "fahrenheit"}, Fahr, fahrZero * Fahr, false},
	{[]string{"°C", "C", "degC", "celsius"}, 1, ZeroC, false},
	{[]string{"K", "kelvin"}, 1, 0, false},
}

var differences = []unit{
	{[]string{"°F", "F", "Fdiff", "°Fdiff", "F°", "degF"}, Fahr, 0, false},
	{[]string{"K", "Cdiff", "°Cdiff", "C°", "C", "°C", "degC"}, 1, 0, false},
}

var pressures = []unit{
	{[]string{"psig", "psi(g)", "psi g"}, Psi, 0, true},
	{[]string{"psia", "psi(a)", "psi a"}, Psi, 0, false},
	{[]string{"bar(g)", "barg", "bar g"}, Bar, 0, true},
	{[]string{"bar(a)", "bara", "bar a", "bar abs"}, Bar, 0, false},
	{[]string{"kPa(g)", "kPag", "kPa g"}, Kilo, 0, true},
	{[]string{"kPa(a)", "kPa", "kPaa", "kPa a", "kPa abs"}, Kilo, 0, false},
	{[]string{"MPa(g)"}, Kilo * Kilo, 0, true},
	{[]string{"MPa", "MPa(a)"}, Kilo * Kilo, 0, false},
	{[]string{"Pa"}, 1, 0, false},
	{[]string{"inHg(vac)", "inHg vac", "inHgvac"}, -InHg, 0, true},
	{[]string{"inHg(a)", "inHga"}, InHg, 0, false},
	{[]string{"micron", "microns", "µmHg", "µm", "μm"}, Micron, 0, false},
	{[]string{"mmHg", "torr"}, Micron * Kilo, 0, false},
	{[]string{"mbar", "mbar(a)", "hPa"}, 100, 0, false},
}

// bareGauge are units that say neither gauge nor absolute, as they are read off a gauge.
var bareGauge = []unit{
	{[]string{"psi", "lb", "#"}, Psi, 0, true},
	{[]string{"bar"}, Bar, 0, true},
	{[]string{"inHg", "in Hg"}, -InHg, 0, true},
}

var barometers = []unit{
	{[]string{"kPa", "kPa(a)"}, Kilo, 0, false},
	{[]string{"hPa", "mbar"}, 100, 0, false},
	{[]string{"inHg"}, InHg, 0, false},
	{[]string{"psia"}, Psi, 0, false},
	{[]string{"bar(a)"}, Bar, 0, false},
	{[]string{"Pa"}, 1, 0, false},
}

var (
	masses = []unit{
		{[]string{"lb", "lbs"}, Pound, 0, false},
		{[]string{"oz"}, Ounce, 0, false},
		{[]string{"kg"}, 1, 0, false},
		{[]string{"g"}, 1 / Kilo, 0, false},
	}
	lengths   = []unit{{[]string{"m"}, 1, 0, false}, {[]string{"ft", "feet"}, Foot, 0, false}}
	durations = []unit{
		{[]string{"min", "minutes"}, 1, 0, false},
		{[]string{"h", "hours"}, 60, 0, false},
		{[]string{"s"}, 1.0 / 60, 0, false},
	}
	powers   = []unit{{[]string{"kW"}, Kilo, 0, false}, {[]string{"W"}, 1, 0, false}, {[]string{"Btu/h"}, BtuPerH, 0, false}}
	currents = []unit{{[]string{"A", "amps", "amp"}, 1, 0, false}}
	volumes  = []unit{
		{[]string{"L", "l"}, 1 / Kilo, 0, false},
		{[]string{"m3", "m³"}, 1, 0, false},
		{[]string{"ft3", "ft³"}, Foot * Foot * Foot, 0, false},
	}
	energies  = []unit{{[]string{"kJ/kg"}, Kilo, 0, false}, {[]string{"J/kg"}, 1, 0, false}, {[]string{"Btu/lb"}, BtuPerLb, 0, false}}
	entropies = []unit{{[]string{"kJ/(kg K)", "kJ/kgK", "kJ/kg/K"}, Kilo, 0, false}, {[]string{"J/(kg K)", "J/kgK"}, 1, 0, false}}
	densities = []unit{{[]string{"kg/m3", "kg/m³"}, 1, 0, false}, {[]string{"lb/ft3", "lb/ft³"}, Pound / (Foot * Foot * Foot), 0, false}}
	shares    = []unit{{[]string{"%"}, 0.01, 0, false}, {[]string{""}, 1, 0, false}}
)

// normal makes the many ways to type a value comparable.
func normal(text string) string {
	return strings.NewReplacer("−", "-", "–", "-", "\u00a0", " ", "\u202f", " ", "º", "°", "˚", "°").Replace(strings.TrimSpace(text))
}

// split separates number and unit.
func split(text string) (v float64, rest string, err error) {
	s := normal(text)
	end := 0
	for end < len(s) {
		c := s[end]
		if c >= '0' && c <= '9' || c == '.' || c == ',' || (c == '-' || c == '+') && (end == 0 || s[end-1] == 'e' || s[end-1] == 'E') {
			end++
			continue
		}
		if (c == 'e' || c == 'E') && end > 0 && end+1 < len(s) &&
			(s[end+1] >= '0' && s[end+1] <= '9' || (s[end+1] == '-' || s[end+1] == '+') && end+2 < len(s) && s[end+2] >= '0' && s[end+2] <= '9') {
			end++
			continue
		}
		break
	}
	number := s[:end]
	if strings.Count(number, ",") == 1 && !strings.Contains(number, ".") {
		if i := strings.Index(number, ","); len(number)-i-1 != 3 {
			number = strings.Replace(number, ",", ".", 1)
		}
	}
	v, perr := strconv.ParseFloat(number, 64)
	if perr != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, "", fail.Of(fail.BadValue, "", "units.not_a_number", fail.Args{"text": text})
	}
	return v, strings.TrimSpace(s[end:]), nil
}

func accepted(list []unit) []string {
	var names []string
	for _, u := range list {
		if u.names[0] != "" {
			names = append(names, u.names[0])
		}
	}
	return names
}

func find(list []unit, name string) (unit, bool) {
	key := strings.ReplaceAll(name, " ", "")
	for _, u := range list {
		for _, n := range u.names {
			if n == name || strings.EqualFold(strings.ReplaceAll(n, " ", ""), key) {
				return u, true
			}
		}
	}
	return unit{}, false
}

func parse(text, fallback string, list []unit) (v float64, u unit, err error) {
	v, rest, err := split(text)
	if err != nil {
		return 0, u, err
	}
	if rest == "" {
		rest = fallback
		if _, bare := find(list, ""); rest == "" && !bare {
			return 0, u, fail.Of(fail.BadUnit, "", "units.no_unit", fail.Args{"text": text, "units": accepted(list)})
		}
	}
	u, ok := find(list, rest)
	if f, known := find(list, fallback); !ok && known && f.gauge {
		// In a field that is printed with a gauge unit a bare one is a gauge's too, and inches of mercury are a vacuum.
		if g, bare := find(bareGauge, rest); bare {
			u, ok = g, true
		}
	}
	if !ok {
		switch bare := strings.ToLower(rest); bare {
		case "psi", "bar":
			return 0, u, fail.Of(fail.BadUnit, "", "units.gauge_or_absolute", fail.Args{"text": text, "unit": bare})
		}
		return 0, u, fail.Of(fail.BadUnit, "", "units.other_unit",
			fail.Args{"text": text, "unit": rest, "units": accepted(list)})
	}
	v = v*u.scale + u.offset
	if math.IsInf(v, 0) {
		return 0, u, fail.Of(fail.Range, "", "units.no_such_number", fail.Args{"text": text})
	}
	return v, u, nil
}

// ParseTemp reads a temperature; fallback is the unit printed beside a field, "" where a bare number is an error.
func ParseTemp(text, fallback string) (Temp, error) {
	v, _, err := parse(text, fallback, temperatures)
	if err == nil && !(v > 0 && v < 2000) {
		err = fail.Of(fail.Range, "", "units.absolute_zero", fail.Args{"text": text})
	}
	if err != nil {
		return 0, err
	}
	return Temp(v), nil
}

// ParseTempDiff reads a temperature difference: 7K, 12Fdiff, 12F. Differences convert without offset.
func ParseTempDiff(text, fallback string) (TempDiff, error) {
	v, _, err := parse(text, fallback, differences)
	return TempDiff(v), err
}

// ParsePressure reads a pressure that says whether it is gauge or absolute; bare kPa, MPa and Pa are absolute.
func ParsePressure(text, fallback string) (PressureEntry, error) {
	v, u, err := parse(text, fallback, pressures)
	if err != nil {
		return PressureEntry{}, err
	}
	low := 0.0
	if u.gauge {
		low = -1.1 * float64(Atm) // a deep low, below sea level
	}
	if v < low || v > 5e8 {
		return PressureEntry{}, fail.Of(fail.Range, "", "units.full_vacuum", fail.Args{"text": text})
	}
	return PressureEntry{Pa: v, Gauge: u.gauge, Text: strings.TrimSpace(text)}, nil
}

// ParseBarometer reads an ambient pressure.
func ParseBarometer(text, fallback string) (Pressure, error) {
	v, _, err := parse(text, fallback, barometers)
	if err == nil && !(v >= 30e3 && v <= 110e3) {
		err = fail.Of(fail.Range, "barometer", "units.barometer", fail.Args{"text": text})
	}
	return Pressure(v), err
}

// ParseMass reads a mass, also "9 lb 8 oz".
func ParseMass(text, fallback string) (Mass, error) {
	s := normal(text)
	if i := poundAt(s); i > 0 {
		tail := strings.TrimSpace(strings.TrimLeft(s[i+2:], "sS "))
		if tail != "" {
			a, err := ParseMass(s[:i+2], "")
			if err != nil {
				return 0, err
			}
			b, err := ParseMass(tail, "oz")
			if err != nil {
				return 0, err
			}
			return a + b, nil
		}
	}
	v, _, err := parse(text, fallback, masses)
	if err == nil && (v < 0 || v > 1e6) {
		err = fail.Of(fail.Range, "", "units.not_negative", fail.Args{"text": text})
	}
	return Mass(v), err
}

// poundAt finds "lb" in either case; lowering the whole text could change its length.
func poundAt(s string) int {
	for i := 0; i+1 < len(s); i++ {
		if (s[i] == 'l' || s[i] == 'L') && (s[i+1] == 'b' || s[i+1] == 'B') {
			return i
		}
	}
	return -1
}

// ParseLength reads a length or altitude in metres.
func ParseLength(text, fallback string) (float64, error) {
	v, _, err := parse(text, fallback, lengths)
	return v, err
}

// ParseStamped reads a pressure as it is stamped on a cylinder, Pa over the air outside: gauge pressures only.
func ParseStamped(text, fallback string) (float64, error) {
	e, err := ParsePressure(text, fallback)
	if err == nil && !e.Gauge {
		err = fail.Of(fail.BadUnit, "", "regulator.absolute", fail.Args{"text": text})
	}
	return e.Pa, err
}

// digits reports whether s is one or two of them, as on a clock.
func digits(s string) bool {
	return (len(s) == 1 || len(s) == 2) && strings.Trim(s, "0123456789") == ""
}

// ParseMinutes reads a duration in minutes; a negative one is refused.
func ParseMinutes(text, fallback string) (float64, error) {
	if hours, minutes, ok := strings.Cut(normal(text), ":"); ok && digits(hours) && digits(minutes) {
		return 0, fail.Of(fail.BadValue, "", "units.clock_time", fail.Args{"text": text}) // a time of day, or hours and minutes
	}
	v, _, err := parse(text, fallback, durations)
	if err == nil && v < 0 {
		err = fail.Of(fail.Range, "", "units.not_negative", fail.Args{"text": text})
	}
	return v, err
}

// ParsePower reads watts.
func ParsePower(text, fallback string) (float64, error) { return positive(text, fallback, powers) }

// PowerUnit is the unit a power was typed in, the one beside the field where none was, and how many watts one of it is.
func PowerUnit(text, fallback string) (name string, watts float64) {
	_, u, err := parse(text, fallback, powers)
	if err != nil {
		return "W", 1
	}
	return u.names[0], u.scale
}

// ParseCurrent reads amperes.
func ParseCurrent(text, fallback string) (float64, error) { return positive(text, fallback, currents) }

// ParseVolume reads cubic metres.
func ParseVolume(text, fallback string) (float64, error) { return positive(text, fallback, volumes) }

// ParseDensity reads kg/m³.
func ParseDensity(text, fallback string) (float64, error) { return positive(text, fallback, densities) }

// ParseEnthalpy reads J/kg.
func ParseEnthalpy(text, fallback string) (float64, error) {
	v, _, err := parse(text, fallback, energies)
	return v, err
}

// ParseEntropy reads J/(kg K).
func ParseEntropy(text, fallback string) (float64, error) {
	v, _, err := parse(text, fallback, entropies)
	return v, err
}

func positive(text, fallback string, list []unit) (float64, error) {
	v, _, err := parse(text, fallback, list)
	if err == nil && v < 0 {
		err = fail.Of(fail.Range, "", "units.not_negative", fail.Args{"text": text})
	}
	return v, err
}

// ParseFraction reads a share from 0 to 1, also written as "50 %".
func ParseFraction(text string) (float64, error) { return ParseShare(text, "") }

// ParseShare is [ParseFraction] beside a field that prints its unit: fallback "%" reads a bare number as per cent.
func ParseShare(text, fallback string) (float64, error) {
	v, _, err := parse(text, fallback, shares)
	if err == nil && !(v >= 0 && v <= 1) {
		err = fail.Of(fail.Range, "", "units.fraction", fail.Args{"text": text})
	}
	return v, err
}

// UnmarshalText reads a temperature with its unit.
func (t *Temp) UnmarshalText(b []byte) (err error) { *t, err = ParseTemp(string(b), ""); return err }

// MarshalText writes °C at full precision.
func (t Temp) MarshalText() ([]byte, error) { return []byte(full(t.C()) + " °C"), nil }

// UnmarshalText reads a difference with its unit.
func (d *TempDiff) UnmarshalText(b []byte) (err error) {
	*d, err = ParseTempDiff(string(b), "")
	return err
}

// MarshalText writes K at full precision.
func (d TempDiff) MarshalText() ([]byte, error) { return []byte(full(float64(d)) + " K"), nil }

func full(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
