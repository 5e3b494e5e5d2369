package text

import (
	"math"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// VacuumUnit is the unit of a vacuum: micron beside psig, Pa beside the others.
func VacuumUnit(d units.Display, lang ...Language) string {
	if d.PressureUnit() == "psig" {
		return one(lang).in(phrase{"micron", "micrones"})
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
func Vacuum(p units.Pressure, d units.Display, lang ...Language) string {
	return VacuumNumber(p, d) + " " + VacuumUnit(d, lang...)
}

// Span is a length of time for people.
func Span(minutes float64, lang ...Language) string {
	switch {
	case minutes < 120:
		return units.Fixed(minutes, 0) + " min"
	case minutes < 48*60:
		return units.Fixed(minutes/60, 1) + " h"
	}
	return units.Fixed(minutes/(24*60), 1) + one(lang).in(phrase{" days", " días"})
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

// HoldPlate says that the pressure stood above the lowest plate, by how much and what to do; "" where it did not.
func HoldPlate(h *standing.Result, d units.Display, ambient units.Pressure, lang ...Language) string {
	if h.Plate == nil || fail.CodeOf(h.Plate) != fail.Forbidden {
		return ""
	}
	return Voice{Language: one(lang), Display: d, Ambient: ambient}.Mistake(h.Plate).Beside()
}

// HoldVerdict is the verdict of a standing-pressure test in three words at most.
func HoldVerdict(h *standing.Result, lang ...Language) string {
	l := one(lang)
	switch h.Verdict {
	case standing.TightWithin:
		return l.in(phrase{"Tight within limits", "Hermético dentro de límites"})
	case standing.Leaking:
		return l.in(phrase{"It leaks", "Hay fuga"})
	}
	return l.in(phrase{"Not decided yet", "Aún sin decidir"})
}

// HoldSentence is the sentence under the verdict of a standing-pressure test.
func HoldSentence(h *standing.Result, l Language) string {
	if h.Reason != "" {
		return Trial(h.Reason, l)
	}
	s := Trial(h.Verdict.String(), l)
	if h.Verdict == standing.TightWithin {
		s += phrase{
			" A loss of {1} % of the gas a day is ruled out.",
			" Se descarta una pérdida de {1} % del gas por día.",
		}.put(l, amount(100*h.AskedShare))
		if h.Span < 12*60 {
			s += l.in(
				phrase{
					" A longer hold, best overnight, sees smaller leaks.",
					" Una prueba más larga, mejor de noche, ve fugas más pequeñas.",
				},
			)
		}
	}
	return s
}

// HoldLines are the numbers of a standing-pressure test behind its verdict: what was read, what is gone once
// temperature is taken out, the smallest leak it could have seen.
func HoldLines(h *standing.Result, d units.Display, ambient units.Pressure, lang ...Language) []string {
	l := one(lang)
	if h.N < 2 {
		return []string{phrase{"Read {1} at the start.", "Se leyó {1} al inicio."}.put(l, d.FormatPressure(h.First, ambient))}
	}
	unit, size, dec := pressureStep(d)
	out := []string{
		phrase{
			"From {1} to {2} in {3}. Nothing lost, it would stand at {4} now.",
			"De {1} a {2} en {3}. Sin pérdida estaría ahora en {4}.",
		}.put(
			l,
			d.FormatPressure(h.First, ambient),
			d.FormatPressure(h.Last, ambient),
			Span(h.Span, l),
			d.FormatPressure(h.Expected, ambient),
		),
		phrase{
			"Changed by {1} once temperature is taken out; 9 times in 10 between {2} and {3} {4}.",
			"Descontada la temperatura cambió {1}; 9 de cada 10 veces entre {2} y {3} {4}.",
		}.put(
			l,
			PressureDiff(h.Change.Value, h.Change.U, d),
			units.Fixed(h.Low/size, dec),
			units.Fixed(h.High/size, dec),
			unit,
		),
	}
	seen := phrase{
		"A loss of {1} % of the gas a day would have shown",
		"Se habría visto una pérdida de {1} % del gas por día",
	}.put(l, amount(100*h.SmallestShare))
	for _, x := range h.Leaks {
		seen += phrase{
			": {1} of {2} a year through the same hole",
			": {1} de {2} al año por el mismo agujero",
		}.put(l, leakGrams(x.GramsPerYear, d), x.Refrigerant)
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
func HoldCriterion(h *standing.Result, lang ...Language) string {
	return phrase{
		"Held against a loss of {1} % of the gas a day, nitrogen as a real gas at the temperatures read.",
		"Comparado con una pérdida de {1} % del gas por día, con nitrógeno como gas real a las temperaturas leídas.",
	}.put(one(lang), amount(100*h.AskedShare))
}

// RiseVerdict is the verdict of a rise test in three words at most.
func RiseVerdict(r *vacuum.Result, lang ...Language) string {
	return one(lang).in(riseVerdict(r))
}

func riseVerdict(r *vacuum.Result) phrase {
	switch r.Verdict {
	case vacuum.DryAndTight:
		return phrase{"Dry and tight", "Seco y hermético"}
	case vacuum.Leak:
		return phrase{"It leaks", "Hay fuga"}
	case vacuum.Moisture:
		return phrase{"Not dry", "No está seco"}
	case vacuum.Both:
		return phrase{"Leak and moisture", "Fuga y humedad"}
	case vacuum.CannotProveDry:
		return phrase{"Tight, dryness open", "Hermético, falta probar sequedad"}
	}
	return phrase{"Not decided yet", "Aún sin decidir"}
}

// RiseLines are the numbers of a rise test behind its verdict.
func RiseLines(r *vacuum.Result, d units.Display, lang ...Language) []string {
	l := one(lang)
	unit, size, dec := VacuumUnit(d), 1.0, 0
	if unit == "Pa" {
		size, dec = units.Micron, 1 // parts are in micron
	}
	num := func(v float64, more int) string { return units.Fixed(v*size, dec+more) }
	out := []string{
		phrase{"From {1} to {2} in {3}.", "De {1} a {2} en {3}."}.put(l, Vacuum(r.First, d, l), Vacuum(r.Last, d, l), Span(r.Span, l)),
	}
	said := VacuumUnit(d, l)
	if r.N >= 4 {
		out = append(
			out,
			phrase{
				"Straight part, a leak: {1} {2} a minute, 9 times in 10 between {3} and {4}; at most {5}.",
				"Parte recta, una fuga: {1} {2} por minuto, 9 de cada 10 veces entre {3} y {4}; máximo {5}.",
			}.put(
				l,
				units.FormatUncertain(r.Leak.Value*size, r.Leak.U*size),
				said,
				num(r.Leak.Low, 1),
				num(r.Leak.High, 1),
				num(r.AllowedLeak, 1),
			),
			phrase{
				"Levelling part, moisture, by {1}: {2} {3}, between {4} and {5}; at most {6}.",
				"Parte que se estabiliza, humedad, a los {1}: {2} {3}, entre {4} y {5}; máximo {6}.",
			}.put(
				l,
				Span(r.Horizon, l),
				units.FormatUncertain(r.Moisture.Value*size, r.Moisture.U*size),
				said,
				num(r.Moisture.Low, 0),
				num(r.Moisture.High, 0),
				num(r.AllowedRise, 0),
			),
		)
	}
	if r.DryLimit != nil {
		out = append(out, phrase{
			"Ice or water at the coldest part stands at {1}. Only a reading surely below that proves it dry.",
			"El hielo o el agua en la parte más fría se sostiene en {1}. Solo una lectura claramente por debajo prueba que está seco.",
		}.put(l, Vacuum(*r.DryLimit, d, l)))
	}
	for i, x := range r.Leaks {
		if r.PLeak < threshold.LeakLikely {
			break // of a straight part that is likely none
		}
		out = append(
			out,
			phrase{
				"As a leak of {1} at working pressure about {2} a year, at most {3}.",
				"Como fuga de {1} a presión de trabajo, cerca de {2} al año, máximo {3}.",
			}.put(l, x.Refrigerant, leakGrams(x.GramsPerYear, d), leakGrams(r.LeaksHigh[i].GramsPerYear, d)),
		)
	}
	return out
}

// Criterion is a published evacuation criterion in one line.
func Criterion(p vacuum.Profile, d units.Display, lang ...Language) string {
	l := one(lang)
	v := func(micron float64) string { return Vacuum(units.Pressure(micron*units.Micron), d, l) }
	words := phrase{"stand {1}, at most {2}", "mantener {1}, máximo {2}"}.put(l, Span(p.Hold, l), v(p.Accept))
	if p.Target > 0 {
		words = phrase{"down to {1}, ", "bajar a {1}, "}.put(l, v(p.Target)) + words
	}
	words = UpperFirst(words)
	switch p.Key {
	case "house":
		return words + l.in(phrase{" (house rule, judgement)", " (regla propia, a criterio)"})
	case "common_500":
		return words + l.in(phrase{" (often quoted, no source)", " (citado a menudo, sin fuente)"})
	}
	return words + l.in(phrase{", by ", ", según "}) + p.Source
}

// RiseCriterion is what a rise test was held against.
func RiseCriterion(r *vacuum.Result, d units.Display, lang ...Language) string {
	return one(lang).in(phrase{"Criterion: ", "Criterio: "}) + LowerFirst(Criterion(r.Profile, d, lang...)) + "."
}

// ColdVerdict says first what a logger's record shows against its limit.
func ColdVerdict(r *templog.Record, d units.Display, lang ...Language) string {
	l := one(lang)
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
		return phrase{"Never above {1}.", "Nunca por encima de {1}."}.put(l, limit)
	case n == 0:
		return phrase{"Above {1} only in {2}.", "Por encima de {1} solo en {2}."}.put(l, limit, defrostTimes(defrosts, l))
	case sure == 0:
		return phrase{
			"Above {1} {2}, each within what the logger may be off.",
			"Por encima de {1} {2}, siempre dentro del posible error del registrador.",
		}.put(l, limit, often(n, l))
	}
	return phrase{"Above {1} {2}, {3} in all.", "Por encima de {1} {2}, {3} en total."}.put(l, limit, often(n, l), between(low, high, l))
}

// between is a time that lies between two.
func between(low, high float64, l Language) string {
	if a, b := Span(low, l), Span(high, l); a != b {
		for _, unit := range []string{" min", " h", " days", " días"} {
			if x, ok := strings.CutSuffix(a, unit); ok && strings.HasSuffix(b, unit) {
				a = x
			}
		}
		return a + l.to() + b
	}
	return Span(low, l)
}

func often(n int, l Language) string {
	switch n {
	case 1:
		return l.in(phrase{"once", "una vez"})
	case 2:
		return l.in(phrase{"twice", "dos veces"})
	}
	return units.Fixed(float64(n), 0) + l.in(phrase{" times", " veces"})
}

func defrostTimes(n int, l Language) string {
	if n == 1 {
		return l.in(phrase{"1 defrost", "1 deshielo"})
	}
	return units.Fixed(float64(n), 0) + l.in(phrase{" defrosts", " deshielos"})
}

// ColdLines are the numbers of a logger's record behind its verdict.
func ColdLines(r *templog.Record, d units.Display, lang ...Language) []string {
	l := one(lang)
	out := []string{
		phrase{
			"{1} readings, {2} to {3}, every {4}: {5} to {6}, on average {7}.",
			"{1} lecturas, del {2} al {3}, cada {4}: de {5} a {6}, en promedio {7}.",
		}.put(
			l,
			units.Fixed(float64(r.Rows), 0),
			DayClock(recordTime(r, r.First), l),
			DayClock(recordTime(r, r.Last), l),
			Span(r.Every, l),
			plainTemp(r.Min, d),
			plainTemp(r.Max, d),
			plainTemp(r.Mean, d),
		),
	}
	if x := r.Longest; x != nil {
		out = append(
			out,
			phrase{"Longest: {1}, up to {2}, from between {3} and {4}.", "El más largo: {1}, hasta {2}, desde entre {3} y {4}."}.put(
				l, between(x.Low, x.High, l), plainTemp(x.Peak, d), stampOr(r, x.Start.After, l), stampOr(r, x.Start.Before, l)),
		)
	}
	how := l.in(phrase{"Food above the limit, reckoned from the air: ", "Alimento por encima del límite, calculado a partir del aire: "})
	if r.ProductLogged {
		how = l.in(phrase{"Food above the limit, as logged: ", "Alimento por encima del límite, según el registro: "})
	}
	if math.Round(r.ProductMinutes.High) < 1 {
		out = append(out, how+l.in(phrase{"none.", "nada."}))
	} else {
		out = append(
			out,
			how+phrase{
				"{1}, 9 times in 10 between {2} and {3}.",
				"{1}, 9 de cada 10 veces entre {2} y {3}.",
			}.put(
				l,
				Span(r.ProductMinutes.Mid, l),
				Span(r.ProductMinutes.Low, l),
				Span(r.ProductMinutes.High, l),
			),
		)
	}
	if n := r.Defrosts.Count; n > 0 {
		out = append(
			out,
			phrase{
				"{1} recognised, every {2}, {3} long.",
				"{1} en el registro, cada {2}, de {3}.",
			}.put(l, defrostTimes(n, l), Span(r.Defrosts.Every, l), Span(r.Defrosts.Minutes, l)),
		)
	}
	return out
}

// ColdRow is an excursion as a row: began between, ended between, how long, peak.
func ColdRow(r *templog.Record, e templog.Excursion, d units.Display, lang ...Language) []string {
	l := one(lang)
	end := stampOr(r, e.End.After, l) + l.to() + when(r, e.End.Before, l)
	if e.ToEnd || e.End.Before.IsZero() {
		end = l.in(phrase{"still above at the end", "al final seguía por encima"})
	}
	peak := plainTemp(e.Peak, d)
	if !e.Sure {
		peak += l.in(phrase{", within what the logger may be off", ", dentro del posible error del registrador"})
	}
	return []string{stampOr(r, e.Start.After, l) + l.to() + when(r, e.Start.Before, l), end, between(e.Low, e.High, l), peak}
}

func stampOr(r *templog.Record, t time.Time, l Language) string {
	if t.IsZero() {
		return l.in(phrase{"the beginning", "el comienzo"})
	}
	return when(r, t, l)
}

// recordTime is a moment of a record as its own clock showed it, or in the zone it was read in.
func recordTime(r *templog.Record, t time.Time) time.Time {
	if r.Zone != nil && !r.Floating {
		return t.In(r.Zone)
	}
	return t.UTC()
}

// when is a moment within a record, short; the record's own first and last line say the year.
func when(r *templog.Record, t time.Time, l Language) string {
	if r.Mapping.Minutes {
		return l.in(phrase{"minute ", "minuto "}) + units.Fixed(t.Sub(r.First).Minutes(), 0)
	}
	return shortClock(recordTime(r, t), l)
}

// plainTemp is a temperature to a tenth, without a tenth that says nothing.
func plainTemp(t units.Temp, d units.Display) string {
	return strings.Replace(d.FormatTemp(t, 1), ".0 ", " ", 1)
}

// channels are what a record is read from.
var channels = map[string]phrase{"air": {"air", "aire"}, "product": {"product", "producto"}}

// ColdCriterion is what a record was held against.
func ColdCriterion(r *templog.Record, d units.Display, lang ...Language) string {
	l := one(lang)
	s := l.in(phrase{"Limit ", "Límite "}) + plainTemp(r.Limit, d)
	if r.Rule != nil {
		s += " (" + r.Rule.Source + ", " + r.Rule.Section + ")"
	}
	return s + phrase{
		", logger off by at most {1}, read from the {2}.",
		", error del registrador de {1} como máximo, leído en el {2}.",
	}.put(l, d.FormatDiff(r.Tolerance, 1), l.in(channels[r.Channel]))
}

// FoodLimit is a published limit in one line.
func FoodLimit(x templog.FoodLimit, d units.Display, lang ...Language) string {
	name := map[string]phrase{
		"cold_holding": {"Cold food", "Alimentos fríos"}, "shell_eggs": {"Shell eggs, air", "Huevos con cáscara, aire"},
		"eu_quick_frozen": {"Quick-frozen food", "Ultracongelados"},
		"uk_chilled":      {"Chilled food", "Alimentos refrigerados"}, "frozen_quality": {"Frozen, quality only", "Congelados, solo calidad"},
	}[x.Key].in(one(lang))
	if name == "" {
		name = UpperFirst(plain(x.Key))
	}
	return name + ": " + plainTemp(x.Limit(), d) + " (" + x.Source + ")"
}

// ChargeAdvice says what to do at the scale: the sentence for an advice.
func ChargeAdvice(a charge.Advice, l Language) string { return Sentence(l, a.String()) }

// ChargeLines are the numbers of a charge by the scale.
func ChargeLines(p *charge.Progress, startKnown bool, d units.Display, lang ...Language) []string {
	l := one(lang)
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	out := []string{phrase{"Added so far {1} ± {2}.", "Cargado hasta ahora {1} ± {2}."}.put(l, mass(p.Added), mass(p.AddedU))}
	if !startKnown {
		return out
	}
	if p.Still >= 0 {
		out = append(out, phrase{"Still to add {1} ± {2}.", "Falta cargar {1} ± {2}."}.put(l, mass(p.Still), mass(p.StillU)))
	} else {
		out = append(out, phrase{"Too much by {1} ± {2}.", "Sobran {1} ± {2}."}.put(l, mass(-p.Still), mass(p.StillU)))
	}
	if p.StopAt > 0 {
		out = append(out, phrase{"Close when the scale reads {1}.", "Cierre cuando la báscula marque {1}."}.put(l, mass(p.StopAt)))
	}
	return out
}
