package report

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
)

// Needs are the parts of a visit that a report is made from, and with pictures those of its PDF.
func Needs(d units.Display, pictures bool) app.Parts {
	lines := figure.PHLines(d)
	return app.Parts{
		Judge:    []record.Phase{record.Before, record.After},
		Tests:    true,
		Charge:   true,
		Cold:     true,
		Clocks:   true,
		Chart:    &lines,
		Pictures: pictures,
	}
}

// FromVisit gathers what a report says from a visit with the parts it [Needs]; what is not there is left out. zone is where the site is.
//
//   - in: the view; what the reader chose to see; the zone of the site; the language of its words, English when none is given
//   - out: the data of the report
//   - source: definition
func FromVisit(v *app.VisitView, d units.Display, zone *time.Location, lang ...text.Language) Data {
	l := text.English
	if len(lang) > 0 && lang[0] != "" {
		l = lang[0]
	}
	m, visit := v.Machine, v.Visit
	plate := m.Plate()
	local := func(t time.Time) time.Time {
		if t.IsZero() {
			return t
		}
		return t.In(zone)
	}
	out := Data{
		Number:      text.ReportNumber(string(visit.ID)),
		Site:        v.Site.Name,
		Customer:    cmp.Or(visit.Close.Customer, v.Site.Customer),
		Address:     v.Site.Address,
		Machine:     m.Name,
		Application: plate.Application,
		Mechanic:    visit.Close.Mechanic,
		Opened:      local(visit.Opened),
		Closed:      local(visit.Closed),
		Refrigerant: m.Refrigerant,
		Complaint:   visit.Complaint,
		Food:        visit.Food,
		Lang:        l,
		Display:     d,
		AltitudeM:   v.Site.AltitudeM,
		Version:     v.Version,
		Editions:    []string{text.Report("shipped_rates", l)},
		PriorSource: text.Report("rates_source", l),
	}
	if out.Mechanic == "" {
		out.Mechanic = visit.By
	}
	set := m.SetPoint()
	out.SetPoint = &set
	if m.FullChargeG != nil {
		kg := units.Mass(float64(*m.FullChargeG) / units.Kilo)
		out.FullCharge = &kg
	}
	for _, w := range visit.Work {
		out.Work = append(out.Work, Work{w.Code, text.LeakPlace(w.Text, l)})
	}
	for _, g := range visit.Moves {
		mv := Move{Cylinder: g.Cylinder}
		kg := units.Mass(float64(g.Grams) / units.Kilo)
		if g.Direction == "added" {
			mv.In = kg
		} else {
			mv.Out = kg
		}
		out.Moves = append(out.Moves, mv)
	}
	for _, x := range visit.Leaks {
		out.Leaks = append(out.Leaks, Leak{text.LeakPlace(x.Place, l), text.LowerFirst(text.LeakMethod(x.How, l))})
	}
	for s := range strings.SplitSeq(visit.Close.Advice, "\n") {
		if s = strings.TrimSpace(s); s != "" {
			out.Advice = append(out.Advice, s)
		}
	}
	for role, to := range map[record.Role]*Signed{record.Customer: &out.CustomerSigned, record.Mechanic: &out.MechanicSigned} {
		if x := visit.Signed(role); x != nil {
			*to = signedBy(v, *x, local(x.At), l)
		}
	}
	if r, err := refrigerant.Load(m.Refrigerant); err == nil {
		out.Grade, out.GradeReason = r.Grade()
		for _, g := range r.GWP() {
			if g.Edition == "AR4" {
				out.GWP, out.GWPEdition = g.Value, g.Edition
			}
		}
	}
	out.Chart = v.Chart // without one the report stands; that the refrigerant has no data is said where it is judged
	for _, n := range visit.Notes {
		if n.Private {
			continue
		}
		out.Notes = append(out.Notes, Note{text.Where(n.Step, n.Place, l), n.Text, local(n.At)})
	}
	for _, p := range visit.Photos {
		out.Photos = append(
			out.Photos,
			Photo{text.Where(p.Step, p.Place, l), p.Caption, p.Hash, local(p.At), p.Width, p.Height, v.Pictures[p.Hash]},
		)
	}
	out.Verdict = v.Verdict
	out.Clocks, out.Unread = clocks(v, l), v.Unread
	if v.ClocksErr != nil {
		out.ClocksFailed = text.Failed(v.ClocksErr, l)
	}
	out.Tests = tests(v, d, zone, l)
	out.Before = phase(v, record.Before, local, d, l)
	out.After = phase(v, record.After, local, d, l)
	if p := v.After.Pull; p != nil {
		out.Faster = p.Against
	}
	out.Coming = text.Coming(v.After.Coming, v.LastPull(record.After), d, l)
	return out
}

// clocks are the legal clocks that run; what holds at all times, is met or does not apply is left to the machine's page.
func clocks(v *app.VisitView, l text.Language) []Clock {
	c := v.Clocks
	if c == nil || !c.Known {
		return nil // whose rules hold is said on the machine's page
	}
	var out []Clock
	for _, d := range c.Duties {
		if d.State == law.Met || d.State == law.NotApplicable || d.Due.IsZero() || d.Reason == law.ReasonKeep ||
			d.Reason == law.ReasonAlways {
			continue
		}
		out = append(out, Clock{
			Name: text.Duty(d.Code, l).Name, State: text.DutyState(d.State, l), Due: text.Day(d.Due.Start(), l),
			Rule: d.Article + ". " + text.Trust(d.Trust, l),
		})
	}
	return out
}

// signedBy says who signed and what has become of the report since.
func signedBy(v *app.VisitView, x record.Signature, at time.Time, l text.Language) Signed {
	out := Signed{Name: x.Name, At: at, Changed: !slices.Contains(v.Contents, x.Content)}
	if x.How == record.SignDrawn {
		s := figure.Signature(x)
		out.Drawing = &s
	} else {
		out.Notes = append(out.Notes, text.SignHow(l, x.How))
	}
	if x.Program != v.Version {
		out.Notes = append(out.Notes, text.SignProgram(l, x.Program))
	}
	return out
}

func phase(v *app.VisitView, p record.Phase, local func(time.Time) time.Time, d units.Display, l text.Language) Phase {
	end, judged := v.Visit.End(p), v.End(p)
	out := Phase{At: local(end.LastAt), Sheet: judged.Sheet, Posterior: judged.Posterior}
	if judged.Judged != nil {
		out.JudgedOn = text.JudgedOn(judged.Judged.On, v.Site.Location(), l)
		out.Misfit = text.Misfit(judged.Judged, d, v.Machine.Plate().AmbientPressure(), l)
		out.LookAlike = text.LookAlike(judged.Judged, l)
	}
	if judged.Err != nil {
		out.Failed = text.Failed(judged.Err, l)
	}
	if end.Pull != nil {
		for _, q := range end.Pull.Points {
			out.PullDown = append(out.PullDown, figure.PullPoint{Minute: q.Minute, Box: q.Box})
		}
	}
	return out
}
