package text

import (
	"fmt"
	"math"
	"strings"

	"coldwright/refrigerant"
	"coldwright/units"
)

// Composition is what a blend is made of, in percent of mass; empty for one substance.
func Composition(r *refrigerant.Refrigerant) string {
	parts := r.Composition()
	if len(parts) < 2 {
		return ""
	}
	var out []string
	for _, p := range parts {
		out = append(out, fmt.Sprintf("%s %s\u00a0%%", p.Designation, strings.TrimSuffix(units.Fixed(100*p.MassFraction, 1), ".0")))
	}
	return strings.Join(out, ", ")
}

// RefrigerantsFound heads a list of refrigerants.
func RefrigerantsFound(n int, query string) string {
	if query == "" {
		return fmt.Sprintf("%d on file", n)
	}
	return fmt.Sprintf("%d with “%s” in the name", n, query)
}

// RefrigerantNamed is the designation that a common name of any language means, such as propane; anything else comes back as it is.
func RefrigerantNamed(name string) string {
	want := strings.ToLower(strings.TrimSpace(name))
	for _, l := range Languages() {
		for designation, names := range l.words().RefrigerantNames {
			for n := range strings.SplitSeq(names, ",") {
				if strings.ToLower(strings.TrimSpace(n)) == want {
					return designation
				}
			}
		}
	}
	return name
}

// RefrigerantName is what people call a designation, such as propane for R-290; "" where they say the designation.
func RefrigerantName(designation string, lang ...Language) string {
	return one(lang).words().RefrigerantNames[designation]
}

// Refrigerant is a designation with what people call it.
func Refrigerant(designation string, lang ...Language) string {
	if n := RefrigerantName(designation, lang...); n != "" {
		return designation + ", " + n
	}
	return designation
}

// RefrigerantFacts are the lines of what is on file: name and value.
func RefrigerantFacts(r *refrigerant.Refrigerant, d units.Display) [][2]string {
	out := [][2]string{}
	if n := RefrigerantName(r.Designation()); n != "" {
		out = append(out, [2]string{"Called", UpperFirst(n)})
	}
	if c := Composition(r); c != "" {
		out = append(out, [2]string{"Made of", c})
	}
	safety := "None on file: take it as flammable and toxic until its cylinder or the maker says otherwise"
	if c, ok := r.Safety(); ok {
		safety = c.Class + ", " + c.Edition + ", " + c.Evidence
	}
	out = append(out, [2]string{"Safety class", safety})
	var warming []string
	for _, g := range r.GWP() {
		warming = append(warming, units.Fixed(g.Value, decimalsOfGWP(g.Value))+" ("+g.Edition+")")
	}
	if len(warming) > 0 {
		out = append(out, [2]string{"Warming potential, 100 years", strings.Join(warming, ", ")})
	}
	if glide, err := r.GlideAt101(); err == nil && glide > 0.05 {
		out = append(out, [2]string{"Glide at atmospheric pressure", d.FormatDiff(units.TempDiff(glide), 1)})
	}
	l := r.Limits()
	critical := d.FormatTemp(units.Temp(l.TCrit), 0) + ", " + d.FormatPressure(units.Pressure(l.PCrit), units.Atm)
	out = append(out, [2]string{"Critical point", critical})
	grade, reason := r.Grade()
	return append(out, [2]string{"How well it is known", grade + ": " + reason})
}

func decimalsOfGWP(v float64) int {
	if v < 10 {
		return 1
	}
	return 0
}

// PressureMeans says what a pressure means as temperatures: of a blend that glides both ends, and which is for what.
func PressureMeans(p units.Pressure, bubble, dew units.Temp, glides bool, d units.Display) []string {
	read := d.FormatPressure(p, units.Atm)
	if !glides {
		return []string{fmt.Sprintf("%s is %s.", read, d.FormatTemp(dew, 1))}
	}
	return []string{
		fmt.Sprintf("%s is %s at the dew point: for superheat and TD.", read, d.FormatTemp(dew, 1)),
		fmt.Sprintf("It is %s at the bubble point: for subcooling.", d.FormatTemp(bubble, 1)),
		fmt.Sprintf("The glide is %s.", d.FormatDiff(units.TempDiff(math.Abs(float64(dew-bubble))), 1)),
	}
}

// CardHeads are the heads of a card's columns.
func CardHeads(glides bool, d units.Display) []string {
	if glides {
		return []string{d.Temp, "Bubble, " + d.PressureUnit(), "Dew, " + d.PressureUnit()}
	}
	return []string{d.Temp, d.PressureUnit()}
}
