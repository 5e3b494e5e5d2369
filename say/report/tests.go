package report

import (
	"time"

	"coldwright/app"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// tests gathers the tests of a visit that were done; of several of one kind the last one counts. A test with a single
// look proves nothing and is left out.
func tests(v *app.VisitView, d units.Display, zone *time.Location, l text.Language) []Test {
	var out []Test
	at := func(t time.Time) string { return text.DayMonthClock(t.In(zone), l) }
	word := func(code string, args ...string) string { return text.Report(code, l, args...) }
	say := func(code string) string { return text.Trial(code, l) }
	earlier := func(n int) []string {
		switch {
		case n < 2:
			return nil
		case n == 2:
			return []string{word("one_earlier")}
		}
		return []string{word("some_earlier", units.Fixed(float64(n-1), 0))}
	}
	ambient := v.Machine.Plate().AmbientPressure()
	if v.Hold != nil && len(v.Hold.Test.Points) > 1 {
		t, h := v.Hold.Test, v.Hold.Result
		x := Test{Key: "tight", Title: word("test_tight", at(t.Started))}
		if v.Hold.Err != nil {
			x.Verdict = refused(v.Hold.Err, l)
		} else {
			x.State = verdict.OfStanding(&h).State
			x.Verdict, x.Lines, x.Criterion = text.HoldSentence(&h, d, l), text.HoldLines(&h, d, ambient, l), text.HoldCriterion(&h, l)
			switch h.Verdict {
			case standing.TightWithin, standing.NoLeakSeen:
				x.Plain = word("held_nitrogen", text.Span(h.Span, l))
			case standing.Undecided:
				x.Verdict = text.HoldVerdict(&h, l) + ". " + x.Verdict
			case standing.Leaking:
				x.Plain = word("lost_nitrogen", text.Span(h.Span, l))
			}
			if t.PlatePa != nil {
				x.Lines = append(x.Lines, word("lowest_plate", d.FormatPressure(units.Pressure(*t.PlatePa), ambient)))
			}
			if above := text.HoldPlate(&h, d, ambient, l); above != "" {
				x.Lines = append(x.Lines, above)
			}
			f := figure.HoldData{ID: "hold", Hold: &h, Ambient: ambient, Display: d, Compact: true, Lang: l}
			x.Figure = &Figure{word("nitrogen_figure"), f.Caption(), figure.Hold(f), f.Table()}
		}
		x.Lines = append(x.Lines, earlier(len(v.Visit.Holds))...)
		for _, above := range app.HeldAbovePlate(v.Visit) {
			said := text.Voice{Language: l, Display: d, Ambient: ambient}.Mistake(above)
			x.Lines = append(x.Lines, word("earlier_test", said.Beside()))
		}
		out = append(out, x)
	}
	if v.Rise != nil && len(v.Rise.Test.Points) > 1 {
		t, r := v.Rise.Test, v.Rise.Result
		x := Test{Key: "dry", Title: word("test_dry", at(t.Started))}
		if v.Rise.Err != nil {
			x.Verdict = refused(v.Rise.Err, l)
		} else {
			x.State = verdict.OfVacuum(&r).State
			x.Verdict, x.Lines, x.Criterion = text.RiseSentence(&r, d, l), text.RiseLines(
				&r,
				d,
				l,
			), text.RiseCriterion(&r, d, l)
			if r.Verdict == vacuum.Undecided {
				x.Verdict = text.RiseVerdict(&r, l) + ". " + x.Verdict
			}
			switch r.Verdict {
			case vacuum.DryAndTight:
				x.Plain = word("stood_dry", text.Span(r.Span, l))
			case vacuum.DryNoLeakSeen:
				x.Plain = word("stood_dry_no_leak", text.Span(r.Span, l))
			case vacuum.Leak, vacuum.Both:
				x.Plain = word("vacuum_leaks")
			case vacuum.Moisture:
				x.Plain = word("vacuum_moist")
			case vacuum.CannotProveDry:
				x.Plain = word("vacuum_dry_open")
			}
			f := figure.RiseData{ID: "rise", Points: v.Rise.Points, Rise: &r, Curve: v.Rise.Curve, Display: d, Compact: true, Lang: l}
			x.Figure = &Figure{word("vacuum_figure"), f.Caption(), figure.RiseCurve(f), f.Table()}
		}
		x.Lines = append(x.Lines, earlier(len(v.Visit.Rises))...)
		out = append(out, x)
	}
	if c := v.Charge; len(v.Visit.Scale) > 1 && (c != nil || v.ChargeErr != nil) {
		x := Test{Key: "charge", Title: word("test_charge", at(v.Visit.Scale[0].At))}
		if v.ChargeErr != nil {
			x.Verdict = refused(v.ChargeErr, l)
		} else {
			known := c.StartKnown && c.Answer != nil
			x.State = verdict.OfCharge(c.Progress, known).State
			x.Lines = text.ChargeLines(c.Progress, known, d, l)
			x.Verdict, x.Lines = x.Lines[0], x.Lines[1:]
			if known {
				x.Lines = append(x.Lines, text.ChargeAdvice(c.Progress.Advice, l))
				x.Criterion = word("held_to_plate", d.FormatMass(units.Mass(c.Answer.Full)))
			}
		}
		out = append(out, x)
	}
	for i := range v.Cold {
		f, r := v.Cold[i].File, v.Cold[i].Result
		x := Test{Key: "record", Title: word("test_record", f.Name)}
		if v.Cold[i].Err != nil {
			x.Verdict = refused(v.Cold[i].Err, l)
		} else {
			x.State = verdict.OfRecord(&r).State
			x.Verdict, x.Lines, x.Criterion = text.ColdVerdict(&r, d, l), text.ColdLines(&r, d, l), text.ColdCriterion(&r, d, l)
			x.Plain = word("logger_says", text.LowerFirst(x.Verdict))
			if r.Rows > 1 {
				g := figure.ColdData{ID: "record" + units.Fixed(float64(i), 0), Record: &r, Display: d, Compact: true, Lang: l}
				x.Figure = &Figure{word("test_record", f.Name), g.Caption(), figure.ColdTrace(g), figure.Table{}}
			}
			if f.Logger != "" {
				x.Lines = append(x.Lines, word("logger", text.Stop(f.Logger)))
			}
			if f.Place != "" {
				x.Lines = append(x.Lines, word("sensor", text.Stop(f.Place)))
			}
			x.Lines = append(x.Lines, word("file_kept", f.SHA256), say(templog.FoodDecision))
		}
		out = append(out, x)
	}
	return out
}

// refused says in one line why a test could not be judged.
func refused(err error, l text.Language) string {
	return text.Report("test_not_judged", l, text.Stop(text.Failed(err, l)))
}
