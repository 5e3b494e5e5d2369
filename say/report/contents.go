package report

import (
	"cmp"
	"slices"
	"strings"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// box is the box air of a phase.
func box(p Phase) (units.Temp, bool) {
	if r, ok := p.Sheet.Find(reading.BoxAir); ok {
		return units.Temp(r.Value), true
	}
	if n := len(p.PullDown); n > 0 {
		return p.PullDown[n-1].Box, true
	}
	return 0, false
}

// cold reports whether the box is proven to hold what it must.
func cold(d Data) bool { return d.Verdict.Proof(verdict.Cold).State == verdict.Proven }

// because is the customer's sentence about the cause, as sure as the verdict is.
func because(d Data) string {
	switch v := d.Verdict; v.Because {
	case verdict.FoundLeak, verdict.CauseIs:
		return text.Fault(v.Cause.String(), d.Lang).Customer
	case verdict.CauseLikely:
		return text.MostLikely(text.Fault(v.Cause.String(), d.Lang).Customer, d.Lang)
	case verdict.CauseUnclear:
		return d.say("not_certain")
	}
	return ""
}

// Headline is what the report says first. Of a visit it needs both ends judged.
func Headline(d Data) string {
	if d.Lang == "" {
		d.Lang = text.English
	}
	out := d.say(string(cmp.Or(d.Verdict.Outcome, verdict.NeedsMoreWork)), text.TheMachine(d.Application, d.Lang))
	if why := because(d); why != "" {
		out += " " + why
	}
	return out
}

func wrong(d Data) []string {
	var out []string
	s := ""
	if d.Complaint != "" {
		s = d.say("reported", text.Stop(d.Complaint)) + " "
	}
	if b, ok := box(d.Before); ok {
		if d.SetPoint != nil {
			s += d.say("box_stood_hold", d.Display.FormatTemp(b, 0), d.Display.FormatTemp(*d.SetPoint, 0)) + " "
		} else {
			s += d.say("box_stood", d.Display.FormatTemp(b, 0)) + " "
		}
	}
	s += because(d)
	for _, l := range d.Leaks {
		s += " " + d.say("leak_found", text.Stop(l.Place))
		if l.How != "" {
			s = strings.TrimSuffix(s, ".") + " (" + strings.TrimSuffix(l.How, ".") + ")."
		}
	}
	if s = strings.TrimSpace(s); s != "" {
		out = append(out, s)
	}
	for _, i := range d.Verdict.Instruments {
		if i.Fault != fault.BoxThermometer {
			continue
		}
		code, diff := "display_high", units.TempDiff(i.Off)
		if diff < 0 {
			code, diff = "display_low", -diff
		}
		out = append(out, d.say(code, d.Display.FormatDiff(diff, 0)))
	}
	if d.Before.Misfit != "" {
		out = append(out, d.Before.Misfit)
	}
	if d.Before.LookAlike != "" {
		out = append(out, d.Before.LookAlike)
	}
	if d.Before.Failed != "" {
		out = append(out, d.say("not_judged", text.Stop(d.Before.Failed)))
	}
	if len(out) == 0 {
		out = append(out, d.say("nothing_read"))
	}
	return out
}

func done(d Data) []string {
	var out []string
	for _, w := range d.Work {
		s := ""
		if w.Code != "" && w.Code != "other" {
			s = text.Work(w.Code, d.Lang)
		}
		if w.Text != "" {
			if s != "" {
				s += ": "
			}
			s += w.Text
		}
		out = append(out, text.Stop(s))
	}
	in, gone := sums(d)
	if gone > 0 {
		out = append(out, d.say("took_out", d.Display.FormatMass(gone)))
	}
	if in > 0 {
		s := d.say("charged", d.Display.FormatMass(in))
		if d.FullCharge != nil {
			s = d.say("charged_plate", d.Display.FormatMass(in), d.Display.FormatMass(*d.FullCharge))
		}
		out = append(out, s)
	}
	if in == 0 {
		for _, t := range d.Tests {
			if t.Key == "charge" {
				out = append(out, d.say("weighed_in"))
			}
		}
	}
	if len(out) == 0 {
		out = append(out, d.say("looked_only"))
	}
	return out
}

func sums(d Data) (in, out units.Mass) {
	for _, m := range d.Moves {
		in, out = in+m.In, out+m.Out
	}
	return in, out
}

// bands counts readings inside their bands.
func bands(p Phase) (in, all int) {
	if p.Posterior == nil {
		return 0, 0
	}
	for _, e := range p.Posterior.Expected {
		if e.Read && e.At != reading.StandingPressure {
			all++
			if e.In {
				in++
			}
		}
	}
	return in, all
}

func proven(d Data) []string {
	var out []string
	was, of := bands(d.Before)
	if in, all := bands(d.After); all > 0 {
		s := d.say("some_stand", count(in), count(all))
		switch in {
		case all:
			s = d.say("all_stand", count(all))
		case 0:
			s = d.say("none_stand", count(all))
		}
		if of > 0 {
			s += d.say("before_it_was", count(was), count(of))
		}
		out = append(out, s+".")
	}
	if n := len(d.After.PullDown); n > 1 {
		a, b := d.After.PullDown[0], d.After.PullDown[n-1]
		code := "box_fell"
		if b.Box > a.Box {
			code = "box_rose"
		}
		s := d.say(code, d.Display.FormatTemp(a.Box, 0), d.Display.FormatTemp(b.Box, 0), units.Fixed(b.Minute-a.Minute, 0))
		if !cold(d) && d.SetPoint != nil {
			s += " " + d.say("not_reached", d.Display.FormatTemp(*d.SetPoint, 0))
		}
		if !cold(d) && d.Coming != "" {
			s += " " + d.Coming + " " + text.Pull(d.Lang, "food")
		}
		out = append(out, s)
	} else if b, ok := box(d.After); ok {
		out = append(out, d.say("box_at_end", d.Display.FormatTemp(b, 0)))
	}
	if d.After.Misfit != "" {
		out = append(out, d.After.Misfit)
	}
	if d.After.LookAlike != "" {
		out = append(out, d.After.LookAlike)
	}
	if d.After.Failed != "" {
		out = append(out, d.say("not_judged_after", text.Stop(d.After.Failed)))
	}
	for _, t := range d.Tests {
		if t.Plain != "" {
			out = append(out, t.Plain)
		}
	}
	if len(out) == 0 {
		if len(d.Work)+len(d.Moves) == 0 && of > 0 {
			return []string{d.say("some_stand", count(was), count(of)) + "."}
		}
		out = append(out, d.say("nothing_is_proven"))
	}
	return out
}

func count(n int) string { return units.Fixed(float64(n), 0) }

// running are the legal clocks with the day they end or why there are none, and the word of caution that goes with them.
func running(d Data) []string {
	var out []string
	for _, c := range d.Clocks {
		out = append(out, d.say("clock_line", c.Name, c.Due, strings.ToLower(c.State[:1])+c.State[1:], c.Rule))
	}
	if d.ClocksFailed != "" {
		out = append(out, d.say("clocks_failed", text.Stop(d.ClocksFailed)))
	}
	if len(out) > 0 {
		out = append(out, text.LawCaution(d.Lang))
	}
	return out
}

func todo(d Data) []string {
	var out []string
	for _, a := range d.Advice {
		if strings.TrimSpace(a) != "" {
			out = append(out, text.Stop(a))
		}
	}
	if s := food(d); s != "" {
		out = append(out, s)
	}
	for _, t := range d.Tests {
		if t.State != verdict.Proven && t.Plain != "" && (t.Key == string(verdict.Tight) || t.Key == string(verdict.Dry)) {
			out = append(out, d.say("left_open"))
			break
		}
	}
	if wrongThermometer(d.Verdict.Before) {
		_, read := d.After.Sheet.Find(reading.BoxDisplay)
		set := slices.ContainsFunc(d.Work, func(w Work) bool { return w.Code == "thermometer_set" })
		if wrongThermometer(d.Verdict.After) || !read && !set {
			out = append(out, d.say("set_thermometer"))
		}
	}
	for _, w := range d.Work {
		if w.Code == "leak_repaired" || w.Code == "joint_brazed" {
			out = append(out, d.say("test_again"))
			break
		}
	}
	if !cold(d) && d.SetPoint != nil && len(d.Work)+len(d.Moves) > 0 {
		out = append(out, d.say("read_again", d.Display.FormatTemp(*d.SetPoint, 0)))
	}
	if len(out) == 0 {
		out = append(out, d.say("nothing_for_now"))
	}
	for _, c := range text.RefrigerantCautions(text.DangerOf(d.Refrigerant, d.Application), d.Lang) {
		out = append(out, c.Text) // for whoever opens it next
	}
	return out
}

// wrongThermometer reports whether the box's own thermometer is proven wrong at an end of the visit.
func wrongThermometer(j *verdict.Judgement) bool {
	return j != nil && slices.ContainsFunc(j.Instruments, func(i verdict.Instrument) bool { return i.Fault == fault.BoxThermometer })
}

// food says what was told and who decides. It stands whenever the box was warmer than it must be.
func food(d Data) string {
	b, ok := box(d.Before)
	limit, code := d.FoodLimit, "above_limit"
	if limit == nil {
		limit, code = d.SetPoint, "above_set"
	}
	if d.Food == "" && (!ok || limit == nil || verdict.Holds(b, *limit)) {
		return ""
	}
	s := ""
	if ok && limit != nil && b > *limit {
		s = d.say(code, d.Display.FormatTemp(*limit, 0)) + " "
	}
	if d.Food != "" {
		s += d.say("food_told", text.Stop(d.Food)) + " "
	}
	return s + d.say("food_decides")
}
