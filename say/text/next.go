package text

import (
	"fmt"
	"math"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

// Risk is the sentence for a risk code, empty for none.
func Risk(code string, lang ...Language) string { return one(lang).words().Risks[code] }

// Advice says in one sentence why to act, or to use hands and eyes; empty where a reading comes next.
func Advice(s verdict.Step) string {
	switch s.Kind {
	case verdict.Act, verdict.Stop, verdict.Prove:
		switch s.Rule {
		case verdict.StopFirst:
			return "Nothing more is read on it running until head comes down."
		case verdict.FaultSeen:
			return "It was seen: put it right, then read again."
		}
		if s.Also != nil && s.Also.At != "" {
			return "No reading left would change what to do first."
		}
		return "No reading left would change what to do."
	case verdict.Hands:
		if s.Rule == verdict.StopFirst {
			return "Nothing more is read on it running until head comes down. Look at the condenser, its fans and its valves."
		}
		if s.Rule == verdict.NothingLeft {
			return "No reading left would tell more. Hands and eyes can: see what to check under each."
		}
		return "Readings cannot tell the first two apart. Hands and eyes can: see what to check under each."
	}
	return ""
}

// Proof says which second reading proves the instrument that a judgement doubts; empty for none.
func Proof(s verdict.Step, l Language) string {
	return l.words().InstrumentProofs[s.Instrument.String()]
}

// Also names the second cause to check for after acting on the first, with what decides it; empty for none.
func Also(a verdict.Step, l Language) string {
	if a.Also == nil {
		return ""
	}
	w, p := Fault(a.Also.Fault.String(), l), HundredWord(a.Also.Probability, l)
	if a.Also.At == "" {
		return l.say("also.by_hand", w.Noun, p, w.Check)
	}
	return l.say("also.by_reading", w.Noun, p, LowerFirst(Label(a.Also.At, l)))
}

// LookAlike says that no reading tells the first two causes apart, and how to do it by hand; empty where one does.
func LookAlike(j *verdict.Judgement, l Language) string {
	if j == nil || j.LookAlike == nil {
		return ""
	}
	a, b := Fault(j.LookAlike.A.String(), l), Fault(j.LookAlike.B.String(), l)
	return l.say("look_alike", UpperFirst(a.Noun), b.Noun, a.Check, b.Check)
}

// RoomTooMuch says that the room is more than a sound machine carries, in steps of 5 %; empty where it is not, or nobody measured it.
func RoomTooMuch(r *reading.RoomLoad, l Language) string {
	if r == nil || r.Share < threshold.RoomTooMuch {
		return ""
	}
	above := fmt.Sprintf("%.0f", 5*math.Round(20*(r.Share-1)))
	if r.Share-1 < r.U {
		return l.say("room_too_much.may_be", above)
	}
	return l.say("room_too_much.sure", above)
}

// Answers says what each answer of a reading would mean, the likeliest first answer named with how sure it would then
// be: at most four lines.
func Answers(n diagnose.Next, d units.Display, ambient units.Pressure) []string {
	at, err := reading.ParsePlace(n.At)
	show := func(v float64) string {
		switch {
		case at == reading.DrierOut:
			return d.FormatDiff(units.TempDiff(v), 1) + " drop"
		case at.Kind() == reading.KindPressure:
			return d.FormatPressure(units.Pressure(v), ambient)
		case at.Kind() == reading.KindCurrent:
			return units.Fixed(v, 1) + " A"
		case at.Kind() == reading.KindPower:
			return units.Fixed(v/units.Kilo, 2) + " kW"
		case at.Kind() == reading.KindShare:
			return units.Fixed(100*v, 0) + " %"
		}
		return d.FormatTemp(units.Temp(v), 0)
	}
	var out []string
	for i, a := range n.Answers {
		then := fmt.Sprintf("%s, %s", LowerFirst(Fault(a.First).Name), HundredWord(a.Sure))
		switch {
		case a.Word != "":
			out = append(out, SeenAnswer(n.At, a.Word)+": "+then+".")
		case err != nil:
		case len(n.Answers) == 1:
			out = append(out, "Whatever it shows: "+then+".")
		case i == 0:
			out = append(out, "Below "+show(a.High)+": "+then+".")
		case i == len(n.Answers)-1:
			out = append(out, "Above "+show(a.Low)+": "+then+".")
		default:
			out = append(out, show(a.Low)+" to "+show(a.High)+": "+then+".")
		}
		if len(out) == 4 {
			break
		}
	}
	return out
}

// Together says that two readings tell more together.
func Together(p *diagnose.NextPair) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf("Worth taking together: %s and %s. One without the other tells little.", LowerFirst(At(p.A)), LowerFirst(At(p.B)))
}

// MissingShare says how much refrigerant is missing, were the machine short.
func MissingShare(m *diagnose.Missing) string {
	if m == nil || m.Probability < threshold.SeverityFrom {
		return ""
	}
	pc := func(v float64) string { return fmt.Sprintf("%.0f", 100*math.Round(20*v)/20) }
	if m.Reserve > 0 {
		return fmt.Sprintf(
			"If it is short, about %s %% of the full charge is missing, somewhere from %s to %s %%: what the receiver held in reserve is gone "+
				"first.",
			pc(m.Mid),
			pc(m.Low),
			pc(m.High),
		)
	}
	return fmt.Sprintf(
		"If it is short, about %s %% of the full charge is missing, somewhere from %s to %s %%.",
		pc(m.Mid),
		pc(m.Low),
		pc(m.High),
	)
}
