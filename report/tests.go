package report

import (
	"errors"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/figure"
	"coldwright/text"
	"coldwright/trial"
	"coldwright/units"
)

// tests gathers the tests of a visit that were done; of several of one kind the last one counts. A test with a single look proves nothing and is left out.
func tests(v *app.VisitView, d units.Display, zone *time.Location) []Test {
	var out []Test
	at := func(t time.Time) string { return t.In(zone).Format("2 January, 15:04") }
	say := func(code string) string { return text.Trial(code, text.English) }
	earlier := func(n int) []string {
		switch {
		case n < 2:
			return nil
		case n == 2:
			return []string{"One earlier test of this visit stays in the record."}
		}
		return []string{units.Fixed(float64(n-1), 0) + " earlier tests of this visit stay in the record."}
	}
	ambient := v.Machine.Plate().AmbientPressure()
	if t := v.Visit.Hold(); t != nil && len(t.Points) > 1 {
		x := Test{Key: "tight", Title: "Nitrogen test, " + at(t.Started)}
		h, err := v.Hold(t)
		if err != nil {
			x.Verdict = refused(err)
		} else {
			x.Good, x.Verdict, x.Lines, x.Criterion = text.HoldGood(&h), text.HoldSentence(&h, text.English), text.HoldLines(&h, d, ambient), text.HoldCriterion(&h)
			switch h.Verdict {
			case trial.TightWithin:
				x.Plain = "The circuit held nitrogen under pressure for " + text.Span(h.Span) + " without a loss that such a test can see."
			case trial.HoldUndecided:
				x.Verdict = text.HoldVerdict(&h) + ". " + x.Verdict
			case trial.Leaking:
				x.Plain = "The circuit lost nitrogen in " + text.Span(h.Span) + ": it still leaks."
			}
			if t.PlatePa != nil {
				x.Lines = append(x.Lines, "Lowest test pressure on the plates: "+d.FormatPressure(units.Pressure(*t.PlatePa), ambient)+".")
			}
			if c := h.Cautions[0]; c == trial.AboveNameplate {
				x.Lines = append(x.Lines, say(c))
			}
			f := figure.HoldData{ID: "hold", Hold: &h, Ambient: ambient, Display: d, Compact: true}
			x.Figure = &Figure{"Nitrogen test, temperature taken out", f.Caption(), figure.Hold(f), f.Table()}
		}
		x.Lines = append(x.Lines, earlier(len(v.Visit.Holds))...)
		out = append(out, x)
	}
	if t := v.Visit.Rise(); t != nil && len(t.Points) > 1 {
		x := Test{Key: "dry", Title: "Vacuum rise, " + at(t.Started)}
		r, curve, err := v.Rise(t)
		if err != nil {
			x.Verdict = refused(err)
		} else {
			x.Good, x.Verdict, x.Lines, x.Criterion = text.RiseGood(&r), say(r.Verdict.String()), text.RiseLines(&r, d), text.RiseCriterion(&r, d)
			if r.Reason != "" {
				x.Verdict += " " + say(r.Reason)
			}
			switch r.Verdict {
			case trial.DryAndTight:
				x.Plain = "Emptied to a vacuum, the circuit stood " + text.Span(r.Span) + ": dry and tight."
			case trial.RiseLeak, trial.RiseBoth:
				x.Plain = "Under vacuum the circuit still leaks."
			case trial.RiseMoisture:
				x.Plain = "Under vacuum the circuit still holds moisture."
			case trial.CannotProveDry:
				x.Plain = "Under vacuum the circuit is tight; that it is dry is not proven."
			}
			var pts []trial.RisePoint
			for _, p := range t.Points {
				pts = append(pts, trial.RisePoint{Minute: p.Minute, Pressure: units.Pressure(p.PressurePa)})
			}
			f := figure.RiseData{ID: "rise", Points: pts, Rise: &r, Curve: curve, Display: d, Compact: true}
			x.Figure = &Figure{"Vacuum rise", f.Caption(), figure.RiseCurve(f), f.Table()}
		}
		x.Lines = append(x.Lines, earlier(len(v.Visit.Rises))...)
		out = append(out, x)
	}
	if len(v.Visit.Scale) > 1 {
		x := Test{Key: "charge", Title: "By the scale, " + at(v.Visit.Scale[0].At)}
		c, err := v.Charge()
		if err != nil {
			x.Verdict = refused(err)
		} else {
			known := c.StartKnown && c.Answer != nil
			x.Lines = text.ChargeLines(c.Progress, known, d)
			x.Verdict, x.Lines = x.Lines[0], x.Lines[1:]
			if known {
				x.Lines = append(x.Lines, text.ChargeAdvice(c.Progress.Advice, text.English))
				x.Criterion = "Held against the plate: " + d.FormatMass(units.Mass(c.Answer.Full)) + "."
			}
		}
		out = append(out, x)
	}
	for i := range v.Visit.Cold {
		f := &v.Visit.Cold[i]
		x := Test{Key: "record", Title: "Cold record " + f.Name}
		r, err := v.ColdRecord(f)
		if err != nil {
			x.Verdict = refused(err)
		} else {
			x.Good, x.Verdict, x.Lines, x.Criterion = text.ColdGood(&r), text.ColdVerdict(&r, d), text.ColdLines(&r, d), text.ColdCriterion(&r, d)
			x.Plain = "The logger's record: " + lowerFirst(x.Verdict)
			if r.Rows > 1 {
				g := figure.ColdData{ID: "record" + units.Fixed(float64(i), 0), Record: &r, Display: d, Compact: true}
				x.Figure = &Figure{"Cold record " + f.Name, g.Caption(), figure.ColdTrace(g), figure.Table{}}
			}
			if f.Logger != "" {
				x.Lines = append(x.Lines, "Logger: "+sentence(f.Logger))
			}
			if f.Place != "" {
				x.Lines = append(x.Lines, "Sensor: "+sentence(f.Place))
			}
			x.Lines = append(x.Lines, "File kept with this visit, SHA-256 "+f.SHA256+".", say(trial.FoodDecision))
		}
		out = append(out, x)
	}
	return out
}

func lowerFirst(s string) string {
	if s == "" || s[0] < 'A' || s[0] > 'Z' {
		return s
	}
	return string(s[0]+'a'-'A') + s[1:]
}

// refused says in one line why a test could not be judged.
func refused(err error) string {
	var f *fail.Error
	if errors.As(err, &f) {
		return "Could not be judged: " + sentence(f.Message)
	}
	return "Could not be judged: the program failed."
}
