package text

import (
	"slices"
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/units"
)

// Remedy is a repair in words.
func Remedy(code string, lang ...Language) string { return saidOr(one(lang).words().Remedies, code) }

// PracticeMachine is the name of a machine of the practice bench.
func PracticeMachine(key string, lang ...Language) string {
	return saidOr(one(lang).words().PracticeMachines, key)
}

// PracticeLevel says what a level hides.
func PracticeLevel(level int) string {
	switch level {
	case practice.LevelClear:
		return "One fault, plain to see"
	case practice.LevelAny:
		return "One fault of any size"
	case practice.LevelTwo:
		return "Two faults at once"
	}
	return "Nothing is certain: one fault, two or none, and an instrument may be wrong"
}

// PracticePlate is what stands on the plate of a machine of the bench.
func PracticePlate(e *practice.Exercise, d units.Display) string {
	m, _ := e.Plate.Resolve()
	parts := []string{m.Refrigerant, LowerFirst(Expansion(m.Expansion.String()))}
	if m.Receiver {
		parts = append(parts, "receiver")
	} else {
		parts = append(parts, "no receiver")
	}
	if m.HeadControl != reading.HeadNone {
		parts = append(
			parts,
			"head control that "+LowerFirst(HeadControl(m.HeadControl.String()))+", set to "+d.FormatTemp(m.HeadSet, 0)+" condensing",
		)
	}
	return strings.Join(parts, ", ") + ". Holds " + d.FormatTemp(
		m.Box,
		0,
	) + ". Full charge " + d.FormatMass(e.Charge) + ". Rated " + units.Fixed(m.RatedAmps, 0) + " A."
}

// PracticeComplaint is what the owner says.
func PracticeComplaint(level int) string {
	out := "It has run " + units.Fixed(practice.RunningMin, 0) + " minutes. The owner "
	if level == practice.LevelTrust {
		return out + "wants it looked at."
	}
	return out + "says that it no longer cools as it did."
}

// RiskShort is what a reading risks, in two or three words; empty for none.
func RiskShort(code string) string {
	switch code {
	case diagnose.RiskOpens:
		return "gauges go on"
	case diagnose.RiskStops:
		return "machine must stand"
	case diagnose.RiskLive:
		return "live parts"
	}
	return ""
}

// PracticeValue is a value at a place: "17.5 psig".
func PracticeValue(at reading.Place, v float64, d units.Display) string {
	return PracticeNumber(at, v, d) + " " + PracticeUnit(at, d)
}

// PracticeNumber is a value at a place without its unit, for a column.
func PracticeNumber(at reading.Place, v float64, d units.Display) string {
	switch at.Kind() {
	case reading.KindPressure:
		return d.PressureNumber(units.Pressure(v), units.Atm)
	case reading.KindTemperature:
		return d.TempNumber(units.Temp(v), 1)
	}
	return units.Fixed(v, 1)
}

// PracticeUnit is the unit of a place: "psig".
func PracticeUnit(at reading.Place, d units.Display) string {
	switch at.Kind() {
	case reading.KindPressure:
		return d.PressureUnit()
	case reading.KindTemperature:
		return d.Temp
	}
	return "A"
}

// PracticeShown is what a reading or a look showed.
func PracticeShown(ev practice.Event, d units.Display) string {
	if ev.Word != "" {
		return SeenAnswer(ev.At, ev.Word)
	}
	var parts []string
	for _, r := range ev.Readings {
		parts = append(parts, PracticeValue(r.At, r.Value, d))
	}
	return strings.Join(parts, " before, ") + map[bool]string{true: " after"}[len(parts) > 1]
}

// PracticeName is what can be read, by its full name; both sides of the drier are one reading.
func PracticeName(at string) string {
	if at == reading.DrierOut.String() {
		return "Both sides of the drier"
	}
	return Label(at)
}

// PracticeSpent is what was spent: "41 minutes, 25 g left in hoses".
func PracticeSpent(minutes, grams float64) string {
	out := units.Fixed(minutes, 0) + " minutes"
	switch {
	case grams >= 1:
		return out + ", " + units.Fixed(grams, 0) + " g left in hoses"
	case grams > 0:
		return out + ", under 1 g left in hoses"
	}
	return out + ", no refrigerant lost"
}

// Causes joins causes in words: "short of refrigerant and a dirty condenser".
func Causes(list []fault.Code) string {
	var parts []string
	for _, c := range list {
		parts = append(parts, Fault(c.String()).Noun)
	}
	return strings.Join(parts, " and ")
}

// PracticeHeadline says first whether it was right.
func PracticeHeadline(r *practice.Result) (h1, para string) {
	truth := r.Truths()
	half := false
	for _, c := range r.Named {
		for _, t := range truth {
			half = half || c == t
		}
	}
	h1 = UpperFirst(Causes(truth)) + "."
	switch {
	case r.Right && truth[0] == fault.Healthy:
		return "Right: nothing is wrong.", "You left a healthy machine alone."
	case truth[0] == fault.Healthy:
		return "Nothing was wrong.", "You named " + Causes(r.Named) + "."
	case r.Right:
		return "Right: " + Causes(truth) + ".", "You named what was wrong."
	case half && len(r.Named) < len(truth):
		para = "You found " + Causes(r.Named) + ", and stopped before the other."
	case half:
		para = "You named " + Causes(r.Named) + ": one is there, the other is not."
	default:
		para = "You named " + Causes(r.Named) + "."
	}
	return "It was " + LowerFirst(h1), para
}

// PracticeProof says how far what was read carries the truth.
func PracticeProof(r *practice.Result) string {
	return "On what you read, the truth is " + Probability(r.Proof) + ", " + HundredWord(r.Proof) + "."
}

// PracticePace compares the minutes with the expert's.
func PracticePace(r *practice.Result) string {
	more := r.Minutes - r.ExpertMinutes
	out := "You: " + PracticeSpent(r.Minutes, r.Grams) + ". Expert: " + PracticeSpent(r.ExpertMinutes, r.ExpertGrams) + "."
	switch n := units.Fixed(more, 0); {
	case n == "0" || n == "−0":
		return out
	case more > 0:
		return out + " " + n + " minutes more."
	default:
		return out + " " + units.Fixed(-more, 0) + " minutes less."
	}
}

// PracticeExpert says what the expert would have named, and whether that was right.
func PracticeExpert(r *practice.Result) string {
	out := "The expert names " + Causes(r.ExpertNamed)
	last := ""
	if n := len(r.Expert); n > 0 {
		last = r.Expert[n-1].Advice
	}
	switch {
	case r.ExpertRight && last == diagnose.AdviseHands:
		return out + ": right, but only hand and eye can prove it."
	case r.ExpertRight:
		return out + ": right."
	case last == diagnose.AdviseHands:
		out += ": not the truth. Readings cannot tell here, only hand and eye."
	case len(r.Truth) == 2 && slices.ContainsFunc(r.ExpertNamed, func(c fault.Code) bool { return slices.Contains(r.Truths(), c) }):
		return out + ": true as far as it goes. The other shows only after the repair, or by hand and eye."
	default:
		out += ": not the truth. The readings mislead here."
	}
	return out
}

// PracticeAdvice is what the judgement would do after a reading: read something, act, or go by hand and eye.
func PracticeAdvice(s practice.Step) string {
	switch {
	case s.Next != "":
		return PracticeName(s.Next)
	case s.Advice == diagnose.AdviseHands:
		return "Stop: readings cannot tell more"
	case s.Advice == "":
		return ""
	case s.Advice == diagnose.AdviseRead:
		return "Nothing left that tells"
	}
	return "Stop and act"
}

// PracticeCaption explains the ladder of an exercise.
const PracticeCaption = "Left: read. Hatched: this same machine with nothing wrong, read with the same instruments; 9 of 10 readings " +
	"fall inside. Bar: its middle, from which degrees are counted."

// PracticeLessons are the checks by hand that prove what was wrong, one for each.
func PracticeLessons(r *practice.Result) []string {
	var out []string
	for _, c := range r.Truths() {
		out = append(out, Fault(c.String()).Check)
	}
	return out
}

// PracticeTruth is what was wrong and how badly.
func PracticeTruth(t practice.Truth, d units.Display) string {
	v, way := t.Severity, ""
	if t.Fault == fault.BoxThermometer || t.Fault == fault.SuctionGauge || t.Fault == fault.DischargeGauge {
		way = " It reads too high."
		if v < 0 {
			v, way = -v, " It reads too low."
		}
	}
	return Fault(t.Fault.String()).Name + ". " + Severity(t.Fault.String(), v, v, v, t.Unit, d) + way
}
