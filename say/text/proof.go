package text

import (
	"math"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/proof/size"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// VacuumUnit is the unit of a vacuum: micron beside psig, Pa beside the others.
func VacuumUnit(d units.Display, lang ...Language) string {
	if d.PressureUnit() == "psig" {
		return one(lang).say("vacuum_unit")
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
	return units.Fixed(minutes/(24*60), 1) + one(lang).say("span")
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
		return l.say("hold_verdict.tight_within_limits")
	case standing.NoLeakSeen:
		return l.say("hold_verdict.no_leak_seen")
	case standing.Leaking:
		return l.say("hold_verdict.it_leaks")
	}
	return l.say("hold_verdict.not_decided_yet")
}

// HoldSentence is the sentence under the verdict of a standing-pressure test, with what it could not have seen.
func HoldSentence(h *standing.Result, d units.Display, l Language) string {
	if h.Reason != "" {
		return Trial(h.Reason, l)
	}
	s := Trial(h.Verdict.String(), l)
	if h.Verdict == standing.TightWithin || h.Verdict == standing.NoLeakSeen {
		s += " " + l.say("hold_sentence.ruled_out", amountUp(100*math.Max(h.AskedShare, h.SmallestShare))) +
			unseen(h.Verdict == standing.TightWithin, h.Unseen, h.TightBelow, d, l)
		if h.Span < 12*60 {
			s += l.say("hold_sentence.longer")
		}
	}
	return s
}

// unseen is what a test that excludes a leak could not have seen, and why tight is said or not.
func unseen(tight bool, grams, below *float64, d units.Display, l Language) string {
	switch {
	case grams == nil:
		return " " + l.say("unseen.no_volume")
	case below == nil:
		return " " + l.say("unseen.no_charge", leakUp(*grams, d))
	case tight:
		return " " + l.say("unseen.tight", leakUp(*grams, d), leakGrams(*below, d))
	}
	return " " + l.say("unseen.matters", leakUp(*grams, d), leakGrams(*below, d))
}

// HoldLines are the numbers of a standing-pressure test behind its verdict: what was read, what is gone once
// temperature is taken out, the smallest leak it could have seen.
func HoldLines(h *standing.Result, d units.Display, ambient units.Pressure, lang ...Language) []string {
	l := one(lang)
	if h.N < 2 {
		return []string{l.say("hold_lines.read_once", d.FormatPressure(h.First, ambient))}
	}
	unit, size, dec := pressureStep(d)
	out := []string{
		l.say("hold_lines.from_to",
			d.FormatPressure(h.First, ambient),
			d.FormatPressure(h.Last, ambient),
			Span(h.Span, l),
			d.FormatPressure(h.Expected, ambient),
		),
		l.say("hold_lines.changed",
			PressureDiff(h.Change.Value, h.Change.U, d),
			units.Fixed(h.Low/size, dec),
			units.Fixed(h.High/size, dec),
			unit,
		),
	}
	seen := l.say("hold_lines.smallest", amountUp(100*h.SmallestShare))
	for _, x := range h.Leaks {
		seen += l.say("hold_lines.year", leakUp(x.GramsPerYear, d), x.Refrigerant)
	}
	return append(out, seen+".")
}

// amountUp is a number to two digits, never less than it is: of what a test can just see, rounding down would claim more.
func amountUp(v float64) string {
	if !(v > 0) || math.IsInf(v, 0) {
		return amount(v)
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	return amount(step * math.Ceil(v/step*(1-1e-9)))
}

// AtMost is a number to two digits, rounded up, for what a test can just see.
func AtMost(v float64) string { return amountUp(v) }

// leakUp is a loss in a year, rounded up.
func leakUp(g float64, d units.Display) string {
	if d.Mass == "kg" {
		return amountUp(g) + " g"
	}
	if oz := g / (units.Ounce * units.Kilo); oz < 16 {
		return amountUp(oz) + " oz"
	}
	return amountUp(g/(units.Pound*units.Kilo)) + " lb"
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
	return one(lang).say("hold_criterion", amount(100*h.AskedShare))
}

// RiseVerdict is the verdict of a rise test in three words at most.
func RiseVerdict(r *vacuum.Result, lang ...Language) string {
	l := one(lang)
	switch r.Verdict {
	case vacuum.DryAndTight:
		return l.say("rise_verdict.dry_and_tight")
	case vacuum.DryNoLeakSeen:
		return l.say("rise_verdict.dry_no_leak_seen")
	case vacuum.Leak:
		return l.say("rise_verdict.it_leaks")
	case vacuum.Moisture:
		return l.say("rise_verdict.not_dry")
	case vacuum.Both:
		return l.say("rise_verdict.leak_and_moisture")
	case vacuum.CannotProveDry:
		return l.say("rise_verdict.dryness_open")
	}
	if riseMet(r) {
		return l.say("rise_verdict.met")
	}
	return l.say("rise_verdict.not_decided_yet")
}

// riseMet reports whether the criterion chosen is met while the curve cannot exclude what a stricter eye would ask.
func riseMet(r *vacuum.Result) bool {
	return r.Verdict == vacuum.Undecided && r.Reason == vacuum.LineOrLevelling &&
		float64(r.Last) <= r.Profile.Accept*units.Micron*(1+1e-9) && r.Span >= r.Profile.Hold-1e-9
}

// RiseSentence is the sentence under the verdict of a rise test: the criterion first where it is met, then what follows,
// then what the test could not have seen.
func RiseSentence(r *vacuum.Result, d units.Display, l Language) string {
	s := Trial(r.Verdict.String(), l)
	accept := units.Pressure(r.Profile.Accept * units.Micron)
	if r.Verdict == vacuum.Undecided {
		if riseMet(r) {
			return l.say("rise_sentence.met", VacuumNumber(r.Last, d), Vacuum(accept, d, l), Span(r.Span, l)) + " " + Trial(r.Reason, l)
		}
		return Trial(r.Reason, l)
	}
	if r.Reason != "" {
		s += " " + Trial(r.Reason, l)
	}
	switch r.Verdict {
	case vacuum.DryAndTight, vacuum.DryNoLeakSeen, vacuum.CannotProveDry:
		s = l.say("rise_sentence.met", VacuumNumber(r.Last, d), Vacuum(accept, d, l), Span(r.Span, l)) + " " + s +
			unseen(size.Tight(r.Unseen, r.TightBelow), r.Unseen, r.TightBelow, d, l)
	}
	return s
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
		l.say("rise_lines.from_to", Vacuum(r.First, d, l), Vacuum(r.Last, d, l), Span(r.Span, l)),
	}
	said := VacuumUnit(d, l)
	if r.N >= 4 {
		out = append(
			out,
			l.say("rise_lines.straight",
				units.FormatUncertain(r.Leak.Value*size, r.Leak.U*size),
				said,
				num(r.Leak.Low, 1),
				num(r.Leak.High, 1),
				num(r.AllowedLeak, 1),
			),
			l.say("rise_lines.levelling",
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
		out = append(out, l.say("rise_lines.ice", Vacuum(*r.DryLimit, d, l)))
	}
	for i, x := range r.Leaks {
		if r.PLeak < threshold.LeakLikely {
			break // of a straight part that is likely none
		}
		out = append(
			out,
			l.say("rise_lines.year", x.Refrigerant, leakGrams(x.GramsPerYear, d), leakGrams(r.LeaksHigh[i].GramsPerYear, d)),
		)
	}
	return out
}

// Criterion is a published evacuation criterion in one line.
func Criterion(p vacuum.Profile, d units.Display, lang ...Language) string {
	l := one(lang)
	v := func(micron float64) string { return Vacuum(units.Pressure(micron*units.Micron), d, l) }
	words := l.say("criterion.stand", Span(p.Hold, l), v(p.Accept))
	if p.Target > 0 {
		words = l.say("criterion.down_to", v(p.Target)) + words
	}
	words = UpperFirst(words)
	switch p.Key {
	case "house":
		return words + l.say("criterion.house")
	case "common_500":
		return words + l.say("criterion.no_source")
	}
	return words + l.say("criterion.by") + p.Source
}

// RiseCriterion is what a rise test was held against.
func RiseCriterion(r *vacuum.Result, d units.Display, lang ...Language) string {
	return one(lang).say("rise_criterion") + LowerFirst(Criterion(r.Profile, d, lang...)) + "."
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
		return l.say("cold_verdict.never_above", limit)
	case n == 0:
		return l.say("cold_verdict.only_defrosts", limit, defrostTimes(defrosts, l))
	case sure == 0:
		return l.say("cold_verdict.within_error", limit, often(n, l))
	}
	return l.say("cold_verdict.above", limit, often(n, l), between(low, high, l))
}

// between is a time that lies between two.
func between(low, high float64, l Language) string {
	if a, b := Span(low, l), Span(high, l); a != b {
		for _, unit := range []string{" min", " h", l.say("span")} {
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
		return l.say("often.once")
	case 2:
		return l.say("often.twice")
	}
	return units.Fixed(float64(n), 0) + l.say("often.many")
}

func defrostTimes(n int, l Language) string {
	if n == 1 {
		return l.say("defrost_times.one")
	}
	return units.Fixed(float64(n), 0) + l.say("defrost_times.many")
}

// ColdLines are the numbers of a logger's record behind its verdict.
func ColdLines(r *templog.Record, d units.Display, lang ...Language) []string {
	l := one(lang)
	out := []string{
		l.say("cold_lines.readings",
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
			l.say(
				"cold_lines.longest",
				between(x.Low, x.High, l),
				plainTemp(x.Peak, d),
				stampOr(r, x.Start.After, l),
				stampOr(r, x.Start.Before, l),
			),
		)
	}
	how := l.say("cold_lines.food_reckoned")
	if r.ProductLogged {
		how = l.say("cold_lines.food_logged")
	}
	if math.Round(r.ProductMinutes.High) < 1 {
		out = append(out, how+l.say("cold_lines.no_food"))
	} else {
		out = append(
			out,
			how+l.say("cold_lines.food_minutes",
				Span(r.ProductMinutes.Mid, l),
				Span(r.ProductMinutes.Low, l),
				Span(r.ProductMinutes.High, l),
			),
		)
	}
	if n := r.Defrosts.Count; n > 0 {
		out = append(
			out,
			l.say("cold_lines.defrosts", defrostTimes(n, l), Span(r.Defrosts.Every, l), Span(r.Defrosts.Minutes, l)),
		)
	}
	return out
}

// ColdRow is an excursion as a row: began between, ended between, how long, peak.
func ColdRow(r *templog.Record, e templog.Excursion, d units.Display, lang ...Language) []string {
	l := one(lang)
	end := stampOr(r, e.End.After, l) + l.to() + when(r, e.End.Before, l)
	if e.ToEnd || e.End.Before.IsZero() {
		end = l.say("cold_row.still_above")
	}
	peak := plainTemp(e.Peak, d)
	if !e.Sure {
		peak += l.say("cold_row.within_error")
	}
	return []string{stampOr(r, e.Start.After, l) + l.to() + when(r, e.Start.Before, l), end, between(e.Low, e.High, l), peak}
}

func stampOr(r *templog.Record, t time.Time, l Language) string {
	if t.IsZero() {
		return l.say("stamp_or")
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
		return l.say("when") + units.Fixed(t.Sub(r.First).Minutes(), 0)
	}
	return shortClock(recordTime(r, t), l)
}

// plainTemp is a temperature to a tenth, without a tenth that says nothing.
func plainTemp(t units.Temp, d units.Display) string {
	return strings.Replace(d.FormatTemp(t, 1), ".0 ", " ", 1)
}

// ColdCriterion is what a record was held against.
func ColdCriterion(r *templog.Record, d units.Display, lang ...Language) string {
	l := one(lang)
	s := l.say("cold_criterion.limit") + plainTemp(r.Limit, d)
	if r.Rule != nil {
		s += " (" + r.Rule.Source + ", " + r.Rule.Section + ")"
	}
	return s + l.say("cold_criterion.logger", d.FormatDiff(r.Tolerance, 1), Channel(r.Channel, l))
}

// FoodLimit is a published limit in one line.
func FoodLimit(x templog.FoodLimit, d units.Display, lang ...Language) string {
	name := one(lang).words().FoodLimits[x.Key]
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
	out := []string{l.say("charge_lines.added_so_far", mass(p.Added), mass(p.AddedU))}
	if !startKnown {
		return out
	}
	if p.Still >= 0 {
		out = append(out, l.say("charge_lines.still_to_add", mass(p.Still), mass(p.StillU)))
	} else {
		out = append(out, l.say("charge_lines.too_much_by", mass(-p.Still), mass(p.StillU)))
	}
	if p.StopAt > 0 {
		out = append(out, l.say("charge_lines.close_at", mass(p.StopAt)))
	}
	return out
}
