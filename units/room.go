package units

import (
	"strconv"
	"strings"

	"coldwright/fail"
)

// Inch is the international inch in m, exact. Source: NIST SP 811, appendix B.8.
const Inch = Foot / 12

// Conversion constants of heat transfer, SI per unit. Source: NIST SP 811, appendix B.8; the thermochemical calorie,
// as FAO and USDA texts use it.
const (
	USTransmittance  = 5.678263 // W/(m² K) per Btu/(h ft² °F); the same factor turns an insulation's R in ft² °F h/Btu into 1/U
	Calorie          = 4.184    // J
	Horsepower       = 745.6999 // W, mechanical
	SecondsPerDay    = 86400.0
	SecondsPerHour   = 3600.0
	btuPerPoundFahr  = 4186.8 // J/(kg K) per Btu/(lb °F), exact by the definition of the International Table Btu
	kcalPerTonPerDay = Calorie * Kilo / SecondsPerDay
)

var (
	sizes = []unit{
		{[]string{"m"}, 1, 0, false},
		{[]string{"cm"}, 0.01, 0, false},
		{[]string{"mm"}, 1 / Kilo, 0, false},
		{[]string{"ft", "feet"}, Foot, 0, false},
		{[]string{"in", "inch", "inches", `"`}, Inch, 0, false},
	}
	areas          = []unit{{[]string{"m2", "m²"}, 1, 0, false}, {[]string{"ft2", "ft²", "sq ft"}, Foot * Foot, 0, false}}
	transmittances = []unit{
		{[]string{"W/m2K", "W/(m2 K)", "W/(m² K)", "W/m²K"}, 1, 0, false},
		{[]string{"Btu/h ft2 F", "Btu/(h ft2 F)", "Btu/(h ft² °F)"}, USTransmittance, 0, false},
	}
	specificHeats = []unit{
		{[]string{"kJ/kgK", "kJ/(kg K)"}, Kilo, 0, false},
		{[]string{"J/kgK", "J/(kg K)"}, 1, 0, false},
		{[]string{"Btu/lbF", "Btu/(lb F)", "Btu/(lb °F)"}, btuPerPoundFahr, 0, false},
	}
	heatRates = []unit{
		{[]string{"W/t"}, 1 / Tonne, 0, false},
		{[]string{"W/kg"}, 1, 0, false},
		{[]string{"mW/kg"}, 1 / Kilo, 0, false},
		{[]string{"kcal/t day"}, kcalPerTonPerDay / Tonne, 0, false},
	}
)

// ParseSize reads the dimension of a thing in metres: 3.6 m, 40 mm, 12 ft, and inches as tube sizes are written: 7/8
// in, 1 3/8 in, 1-3/8 in.
func ParseSize(text, fallback string) (float64, error) {
	v, err := positive(wholeInches(text), fallback, sizes)
	return v, err
}

// wholeInches turns "1-3/8 in" into "1.375 in"; what holds no fraction comes back as it is.
func wholeInches(text string) string {
	s := normal(text)
	slash := strings.IndexByte(s, '/')
	if slash < 1 {
		return text
	}
	end := slash + 1
	for end < len(s) && s[end] >= '0' && s[end] <= '9' {
		end++
	}
	den, err := strconv.Atoi(s[slash+1 : end])
	if err != nil || den == 0 {
		return text
	}
	parts := strings.FieldsFunc(s[:slash], func(r rune) bool { return r == '-' || r == ' ' })
	v := 0.0
	switch len(parts) {
	case 1, 2:
		for i, p := range parts {
			n, err := strconv.Atoi(p)
			if err != nil {
				return text
			}
			if i == len(parts)-1 {
				v += float64(n) / float64(den)
			} else {
				v += float64(n)
			}
		}
	default:
		return text
	}
	return full(v) + " " + strings.TrimSpace(s[end:])
}

// ParseArea reads square metres.
func ParseArea(text, fallback string) (float64, error) { return positive(text, fallback, areas) }

// ParseTransmittance reads a U value in W/(m² K), or the R of insulation as it is sold: "R-25" in ft² °F h/Btu.
func ParseTransmittance(text, fallback string) (float64, error) {
	s := normal(text)
	if len(s) > 1 && (s[0] == 'R' || s[0] == 'r') {
		r, err := strconv.ParseFloat(strings.TrimLeft(s[1:], "- "), 64)
		if err == nil && r > 0 {
			return USTransmittance / r, nil
		}
		return 0, fail.Of(fail.BadValue, "", "units.insulation", fail.Args{"text": text})
	}
	return positive(text, fallback, transmittances)
}

// ParseSpecificHeat reads J/(kg K).
func ParseSpecificHeat(text, fallback string) (float64, error) {
	return positive(text, fallback, specificHeats)
}

// ParseHeatRate reads the heat a product gives off by itself, W/kg.
func ParseHeatRate(text, fallback string) (float64, error) {
	return positive(text, fallback, heatRates)
}
