package text

import (
	"fmt"
	"math"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

// riskWords are what taking a reading costs besides time.
var riskWords = map[string]string{
	diagnose.RiskOpens: "Gauges go on for it: hoses lose a little refrigerant. Wear gloves and glasses.",
	diagnose.RiskStops: "The machine must stand until it is even. Lock it out, and watch the food.",
	diagnose.RiskLive:  "Live parts are near: only with the training and the gear for it.",
}

// Risk is the sentence for a risk code, empty for none.
func Risk(code string) string { return riskWords[code] }

// Advice says in one sentence why to act, or to use hands and eyes; empty where a reading comes next.
func Advice(s verdict.Step) string {
	switch s.Kind {
	case verdict.Act, verdict.Stop, verdict.Prove:
		if s.Also != nil && s.Also.At != "" {
			return "No reading left would change what to do first."
		}
		return "No reading left would change what to do."
	case verdict.Hands:
		if s.Rule == verdict.NothingLeft {
			return "No reading left would tell more. Hands and eyes can: see what to check under each."
		}
		return "Readings cannot tell the first two apart. Hands and eyes can: see what to check under each."
	}
	return ""
}

// proofs are the checks that prove an instrument wrong.
var proofs = map[fault.Code]phrase{
	fault.BoxThermometer: {
		"The box thermometer may be lying. Before you act on it, put your calibrated probe beside its sensor, or both into ice water.",
		"El termómetro de la cámara puede estar mintiendo. Antes de actuar, ponga su sonda calibrada junto al sensor, o ambos en agua con hielo.",
	},
	fault.SuctionGauge: {
		"The suction gauge may be lying. Before you act on it, open it to air: it must read zero. Then read suction again with a second gauge.",
		"El manómetro de baja puede estar mintiendo. Antes de actuar, ábralo al aire: debe marcar cero. Luego lea otra vez la baja con un " +
			"segundo manómetro.",
	},
	fault.DischargeGauge: {
		"The head gauge may be lying. Before you act on it, open it to air: it must read zero. Then read head again with a second gauge.",
		"El manómetro de alta puede estar mintiendo. Antes de actuar, ábralo al aire: debe marcar cero. Luego lea otra vez la alta con un " +
			"segundo manómetro.",
	},
}

// Proof says which second reading proves the instrument that a judgement doubts; empty for none.
func Proof(s verdict.Step, l Language) string { return proofs[s.Instrument].in(l) }

// Also names the second cause to check for after acting on the first, with what decides it; empty for none.
func Also(a verdict.Step, l Language) string {
	if a.Also == nil {
		return ""
	}
	w, p := Fault(a.Also.Fault.String(), l), HundredWord(a.Also.Probability, l)
	if a.Also.At == "" {
		return phrase{
			"Then check for a second cause, {1} ({2}), by hand and eye. {3}",
			"Después compruebe, con manos y ojos, si hay una segunda causa: {1} ({2}). {3}",
		}.put(l, w.Noun, p, w.Check)
	}
	return phrase{
		"Then check for a second cause, {1} ({2}). What decides it: {3}.",
		"Después compruebe si hay una segunda causa: {1} ({2}). La decide esta lectura: {3}.",
	}.put(l, w.Noun, p, LowerFirst(Label(a.Also.At, l)))
}

// RoomTooMuch says that the room is more than a sound machine carries, in steps of 5 %; empty where it is not, or nobody measured it.
func RoomTooMuch(r *reading.RoomLoad, l Language) string {
	if r == nil || r.Share < threshold.RoomTooMuch {
		return ""
	}
	above := fmt.Sprintf("%.0f", 5*math.Round(20*(r.Share-1)))
	if r.Share-1 < r.U {
		return phrase{
			"The box may be too much for the machine: about {1} % above what a sound one carries, and not surely so.",
			"La cámara puede ser demasiado para la máquina: cerca de {1} % más de lo que carga una sana, y no es seguro.",
		}.put(l, above)
	}
	return phrase{
		"The box is too much for the machine: about {1} % above what a sound one carries.",
		"La cámara es demasiado para la máquina: cerca de {1} % más de lo que carga una sana.",
	}.put(l, above)
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
