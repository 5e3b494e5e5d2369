package text

import (
	"math"
	"strconv"
	"strings"
	"time"

	"coldwright/charge"
	"coldwright/trial"
	"coldwright/units"
)

// VacuumUnit is the unit of a vacuum: micron beside psig, Pa beside the others.
func VacuumUnit(d units.Display) string {
	if d.PressureUnit() == "psig" {
		return "micron"
	}
	return "Pa"
}

// VacuumNumber is a vacuum as a number in [VacuumUnit].
func VacuumNumber(p units.Pressure, d units.Display) string {
	switch v := float64(p); {
	case VacuumUnit(d) == "micron":
		return units.Fixed(v/units.Micron, 0)
	case v < 100:
		return units.Fixed(v, 1)
	default:
		return units.Fixed(v, 0)
	}
}

// Vacuum is a vacuum with its unit.
func Vacuum(p units.Pressure, d units.Display) string {
	return VacuumNumber(p, d) + " " + VacuumUnit(d)
}

// Span is a length of time for people.
func Span(minutes float64) string {
	switch {
	case minutes < 120:
		return units.Fixed(minutes, 0) + " min"
	case minutes < 48*60:
		return units.Fixed(minutes/60, 1) + " h"
	}
	return units.Fixed(minutes/(24*60), 1) + " days"
}

// pressureStep is the unit of a difference of pressures with its size in Pa and the decimals that are shown.
func pressureStep(d units.Display) (unit string, size float64, decimals int) {
	switch d.PressureUnit() {
	case "bar(g)":
		return "bar", units.Bar, 3
	case "kPa(a)":
		return "kPa", units.Kilo, 1
	}
	return "psi", units.Psi, 2
}

// PressureDiff is a difference of pressures, Pa, with its standard uncertainty.
func PressureDiff(v, u float64, d units.Display) string {
	unit, size, _ := pressureStep(d)
	return units.FormatUncertain(v/size, u/size) + " " + unit
}

// amount is a number to two digits.
func amount(v float64) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64)
	if err != nil {
		r = v
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// HoldGood reports whether a standing-pressure test needs no person.
func HoldGood(h *trial.Hold) bool { return h.Verdict == trial.TightWithin }

// HoldVerdict is the verdict of a standing-pressure test in three words at most.
func HoldVerdict(h *trial.Hold) string {
	switch h.Verdict {
	case trial.TightWithin:
		return "Tight within limits"
	case trial.Leaking:
		return "It leaks"
	}
	return "Not decided yet"
}

// HoldSentence is the sentence under the verdict of a standing-pressure test.
func HoldSentence(h *trial.Hold, l Language) string {
	if h.Reason != "" {
		return Trial(h.Reason, l)
	}
	s := Trial(h.Verdict.String(), l)
	if h.Verdict == trial.TightWithin && l == English {
		s += " A loss of " + amount(100*h.AskedShare) + " % of the gas a day is ruled out."
		if h.Span < 12*60 {
			s += " A longer hold, best overnight, sees smaller leaks."
		}
	}
	return s
}

// HoldLines are the numbers of a standing-pressure test behind its verdict: what was read, what is gone once temperature is taken out, the smallest leak
// it could have seen.
func HoldLines(h *trial.Hold, d units.Display, ambient units.Pressure) []string {
	if h.N < 2 {
		return []string{"Read " + d.FormatPressure(h.First, ambient) + " at the start."}
	}
	unit, size, dec := pressureStep(d)
	out := []string{
		"From " + d.FormatPressure(h.First, ambient) + " to " + d.FormatPressure(h.Last, ambient) + " in " + Span(h.Span) + ". Nothing lost, it would stand at " + d.FormatPressure(h.Expected, ambient) + " now.",
		"Changed by " + PressureDiff(h.Change.Value, h.Change.U, d) + " once temperature is taken out; 9 times in 10 between " + units.Fixed(h.Low/size, dec) + " and " + units.Fixed(h.High/size, dec) + " " + unit + ".",
	}
	seen := "A loss of " + amount(100*h.SmallestShare) + " % of the gas a day would have shown"
	for _, l := range h.Leaks {
		seen += ": " + leakGrams(l.GramsPerYear, d) + " of " + l.Refrigerant + " a year through the same hole"
	}
	return append(out, seen+".")
}

// leakGrams is a loss in a year.
func leakGrams(g float64, d units.Display) string {
	if d.Mass == "kg" {
		return amount(g) + " g"
	}
	if oz := g / (units.Ounce * units.Kilo); oz < 16 {
		return amount(oz) + " oz"
	}
	return amount(g/(units.Pound*units.Kilo)) + " lb"
}

// HoldCriterion is what a standing-pressure test was held against.
func HoldCriterion(h *trial.Hold) string {
	return "Held against a loss of " + amount(100*h.AskedShare) + " % of the gas a day, nitrogen as a real gas at the temperatures read."
}

// RiseGood reports whether a rise test needs no person.
func RiseGood(r *trial.Rise) bool { return r.Verdict == trial.DryAndTight }

// RiseVerdict is the verdict of a rise test in three words at most.
func RiseVerdict(r *trial.Rise) string {
	switch r.Verdict {
	case trial.DryAndTight:
		return "Dry and tight"
	case trial.RiseLeak:
		return "It leaks"
	case trial.RiseMoisture:
		return "Not dry"
	case trial.RiseBoth:
		return "Leak and moisture"
	case trial.CannotProveDry:
		return "Tight, dryness open"
	}
	return "Not decided yet"
}

// RiseLines are the numbers of a rise test behind its verdict.
func RiseLines(r *trial.Rise, d units.Display) []string {
	unit, size, dec := VacuumUnit(d), 1.0, 0
	if unit == "Pa" {
		size, dec = units.Micron, 1 // parts are in micron
	}
	num := func(v float64, more int) string { return units.Fixed(v*size, dec+more) }
	out := []string{"From " + Vacuum(r.First, d) + " to " + Vacuum(r.Last, d) + " in " + Span(r.Span) + "."}
	if r.N >= 4 {
		out = append(
			out,
			"Straight part, a leak: "+units.FormatUncertain(r.Leak.Value*size, r.Leak.U*size)+" "+unit+" a minute, 9 times in 10 between "+num(r.Leak.Low, 1)+" and "+num(r.Leak.High, 1)+"; at most "+num(r.AllowedLeak, 1)+".",
			"Levelling part, moisture, by "+Span(r.Horizon)+": "+units.FormatUncertain(r.Moisture.Value*size, r.Moisture.U*size)+" "+unit+", between "+num(r.Moisture.Low, 0)+" and "+num(r.Moisture.High, 0)+"; at most "+num(r.AllowedRise, 0)+".",
		)
	}
	if r.DryLimit != nil {
		out = append(out, "Ice or water at the coldest part stands at "+Vacuum(*r.DryLimit, d)+". Only a reading surely below that proves it dry.")
	}
	for i, l := range r.Leaks {
		if r.PLeak < 0.5 {
			break // of a straight part that is likely none
		}
		out = append(out, "As a leak of "+l.Refrigerant+" at working pressure about "+leakGrams(l.GramsPerYear, d)+" a year, at most "+leakGrams(r.LeaksHigh[i].GramsPerYear, d)+".")
	}
	return out
}

// Criterion is a published evacuation criterion in one line.
func Criterion(p trial.Profile, d units.Display) string {
	v := func(micron float64) string { return Vacuum(units.Pressure(micron*units.Micron), d) }
	words := "stand " + Span(p.Hold) + ", at most " + v(p.Accept)
	if p.Target > 0 {
		words = "down to " + v(p.Target) + ", " + words
	}
	words = upperFirst(words)
	switch p.Key {
	case "house":
		return words + " (house rule, judgement)"
	case "common_500":
		return words + " (often quoted, no source)"
	}
	return words + ", by " + p.Source
}

// RiseCriterion is what a rise test was held against.
func RiseCriterion(r *trial.Rise, d units.Display) string {
	return "Criterion: " + lowerFirst(Criterion(r.Profile, d)) + "."
}

// ColdGood reports whether a record shows nothing above its limit beside defrosts.
func ColdGood(r *trial.ColdRecord) bool {
	for _, e := range r.Excursions {
		if !e.Defrost && e.Sure {
			return false
		}
	}
	return true
}

// ColdVerdict says first what a logger's record shows against its limit.
func ColdVerdict(r *trial.ColdRecord, d units.Display) string {
	n, defrosts, sure := 0, 0, 0
	low, high := 0.0, 0.0
	for _, e := range r.Excursions {
		switch {
		case e.Defrost:
			defrosts++
		default:
			n++
			low, high = low+e.Low, high+e.High
			if e.Sure {
				sure++
			}
		}
	}
	limit := plainTemp(r.Limit, d)
	switch {
	case n == 0 && defrosts == 0:
		return "Never above " + limit + "."
	case n == 0:
		return "Above " + limit + " only in " + times(defrosts, "defrost") + "."
	case sure == 0:
		return "Above " + limit + " " + often(n) + ", each within what the logger may be off."
	}
	return "Above " + limit + " " + often(n) + ", " + between(low, high) + " in all."
}

// between is a time that lies between two.
func between(low, high float64) string {
	if a, b := Span(low), Span(high); a != b {
		for _, unit := range []string{" min", " h", " days"} {
			if x, ok := strings.CutSuffix(a, unit); ok && strings.HasSuffix(b, unit) {
				a = x
			}
		}
		return a + " to " + b
	}
	return Span(low)
}

func often(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return units.Fixed(float64(n), 0) + " times"
}

func times(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return units.Fixed(float64(n), 0) + " " + what + "s"
}

// ColdLines are the numbers of a logger's record behind its verdict.
func ColdLines(r *trial.ColdRecord, d units.Display) []string {
	out := []string{
		units.Fixed(float64(r.Rows), 0) + " readings, " + recordTime(r, r.First, "2 January 2006, 15:04") + " to " + recordTime(r, r.Last, "2 January 2006, 15:04") + ", every " + Span(r.Every) + ": " + plainTemp(r.Min, d) + " to " + plainTemp(r.Max, d) + ", on average " + plainTemp(r.Mean, d) + ".",
	}
	if l := r.Longest; l != nil {
		out = append(out, "Longest: "+between(l.Low, l.High)+", up to "+plainTemp(l.Peak, d)+", from between "+stampOr(r, l.Start.After)+" and "+stampOr(r, l.Start.Before)+".")
	}
	how := "Food above the limit, reckoned from the air: "
	if r.ProductLogged {
		how = "Food above the limit, as logged: "
	}
	if math.Round(r.ProductMinutes.High) < 1 {
		out = append(out, how+"none.")
	} else {
		out = append(out, how+Span(r.ProductMinutes.Mid)+", 9 times in 10 between "+Span(r.ProductMinutes.Low)+" and "+Span(r.ProductMinutes.High)+".")
	}
	if n := r.Defrosts.Count; n > 0 {
		out = append(out, times(n, "defrost")+" recognised, every "+Span(r.Defrosts.Every)+", "+Span(r.Defrosts.Minutes)+" long.")
	}
	return out
}

// ColdRow is an excursion as a row: began between, ended between, how long, peak.
func ColdRow(r *trial.ColdRecord, e trial.Excursion, d units.Display) []string {
	end := stampOr(r, e.End.After) + " to " + when(r, e.End.Before)
	if e.ToEnd || e.End.Before.IsZero() {
		end = "still above at the end"
	}
	peak := plainTemp(e.Peak, d)
	if !e.Sure {
		peak += ", within what the logger may be off"
	}
	return []string{stampOr(r, e.Start.After) + " to " + when(r, e.Start.Before), end, between(e.Low, e.High), peak}
}

func stampOr(r *trial.ColdRecord, t time.Time) string {
	if t.IsZero() {
		return "the beginning"
	}
	return when(r, t)
}

// recordTime is a moment of a record as its own clock showed it, or in the zone it was read in.
func recordTime(r *trial.ColdRecord, t time.Time, layout string) string {
	if r.Zone != nil && !r.Floating {
		return t.In(r.Zone).Format(layout)
	}
	return t.UTC().Format(layout)
}

// when is a moment within a record, short; the record's own first and last line say the year.
func when(r *trial.ColdRecord, t time.Time) string {
	if r.Mapping.Minutes {
		return "minute " + units.Fixed(t.Sub(r.First).Minutes(), 0)
	}
	return recordTime(r, t, "2 Jan 15:04")
}

// plainTemp is a temperature to a tenth, without a tenth that says nothing.
func plainTemp(t units.Temp, d units.Display) string {
	return strings.Replace(d.FormatTemp(t, 1), ".0 ", " ", 1)
}

// ColdCriterion is what a record was held against.
func ColdCriterion(r *trial.ColdRecord, d units.Display) string {
	s := "Limit " + plainTemp(r.Limit, d)
	if r.Rule != nil {
		s += " (" + r.Rule.Source + ", " + r.Rule.Section + ")"
	}
	return s + ", logger off by at most " + d.FormatDiff(r.Tolerance, 1) + ", read from the " + r.Channel + "."
}

// FoodLimit is a published limit in one line.
func FoodLimit(l trial.FoodLimit, d units.Display) string {
	name := map[string]string{
		"cold_holding": "Cold food", "shell_eggs": "Shell eggs, air", "eu_quick_frozen": "Quick-frozen food", "uk_chilled": "Chilled food", "frozen_quality": "Frozen, quality only",
	}[l.Key]
	if name == "" {
		name = upperFirst(plain(l.Key))
	}
	return name + ": " + plainTemp(l.Limit(), d) + " (" + l.Source + ")"
}

// ChargeAdvice says what to do at the scale: the sentence for an advice.
func ChargeAdvice(a charge.Advice, l Language) string { return Sentence(l, a.String()) }

// ChargeLines are the numbers of a charge by the scale.
func ChargeLines(p *charge.Progress, startKnown bool, d units.Display) []string {
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	out := []string{"Added so far " + mass(p.Added) + " ± " + mass(p.AddedU) + "."}
	if !startKnown {
		return out
	}
	if p.Still >= 0 {
		out = append(out, "Still to add "+mass(p.Still)+" ± "+mass(p.StillU)+".")
	} else {
		out = append(out, "Too much by "+mass(-p.Still)+" ± "+mass(p.StillU)+".")
	}
	if p.StopAt > 0 {
		out = append(out, "Close when the scale reads "+mass(p.StopAt)+".")
	}
	return out
}
