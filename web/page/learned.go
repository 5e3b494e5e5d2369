package page

import (
	"fmt"
	"net/http"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type learnedRow struct {
	Href, Main, Line string
	Take             *take
}

type learnedBody struct {
	Text                      string
	Table, Usual              [][]string
	Teachers                  []learnedRow
	TeachersRest              string
	Confirmed, Healthy        []learnedRow
	ConfirmedAll, HealthyRest string
}

func (s *Pages) Learned(w http.ResponseWriter, r *http.Request) error {
	l, err := s.app.Learned(r.Context(), onPage)
	if err != nil {
		return err
	}
	b := learnedBody{Text: text.Learned(l.Repairs, fault.PriorStrength)}
	percent := func(x float64) string { return units.Fixed(100*x, 1) + " %" }
	for _, c := range l.Rates {
		b.Table = append(b.Table, []string{text.Fault(c.Cause.String()).Name, percent(c.Shipped), fmt.Sprint(c.Repairs), percent(c.Now)})
	}
	one := func(visit, event record.ID, name, words string) learnedRow {
		return learnedRow{
			Href: visitPath(visit) + "/report",
			Main: name,
			Line: words,
			Take: newTake(visitPath(visit)+"/withdraw", "/learned", string(event), s.formID()),
		}
	}
	for _, c := range l.Confirmed {
		b.Confirmed = append(
			b.Confirmed,
			one(c.Visit, c.Event, c.Site+", "+text.LowerFirst(c.Machine), text.Fault(c.Cause.String()).Name+", "+c.At.Format("2 January 2006")),
		)
	}
	for _, h := range l.Healthy {
		b.Healthy = append(
			b.Healthy,
			one(h.Visit, h.Event, h.Site+", "+text.LowerFirst(h.Name), "Its own normal values, "+h.At.Format("2 January 2006")),
		)
	}
	if n := l.Confirmations - len(l.Confirmed); n > 0 {
		b.ConfirmedAll = fmt.Sprintf("And %d earlier ones; each can be taken back on the page of its visit.", n)
	}
	if n := l.HealthyVisits - len(l.Healthy); n > 0 {
		b.HealthyRest = fmt.Sprintf("And %d earlier ones.", n)
	}
	if err := s.taught(r, &b); err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, "learned", &Page{Title: "What was learned", Tab: "machines", Class: "wide-left", Body: b})
	return nil
}

// taught adds what machines have taught about each other, and by which visits.
func (s *Pages) taught(r *http.Request, b *learnedBody) error {
	all, err := s.app.Taught(r.Context(), onPage)
	if err != nil {
		return err
	}
	d := form.Units(r)
	row := func(name string, n int, a reading.Application, l *reading.Learned) []string {
		by := func(t reading.Trait) (now, shipped float64) {
			return diagnose.Middle(a, t, l.Of[t].Shift), diagnose.Middle(a, t, 0)
		}
		cell := func(now, shipped float64) string {
			return d.FormatDiff(units.TempDiff(now), 1) + " (" + d.DiffNumber(units.TempDiff(shipped), 1) + ")"
		}
		td, tdShipped := by(reading.TraitTD)
		split, splitShipped := by(reading.TraitSplit)
		ratio, ratioShipped := by(reading.TraitSuperheat)
		return []string{
			name, fmt.Sprint(n), cell(td, tdShipped), cell(split, splitShipped), cell(ratio*td, ratioShipped*tdShipped),
		}
	}
	for i := range all.Usual {
		x := &all.Usual[i]
		name := text.Application(x.Application.String())
		b.Usual = append(b.Usual, row(name, x.Usual.Machines, x.Application, &x.Usual))
		for k := range x.Sites {
			at := &x.Sites[k]
			b.Usual = append(b.Usual, row(name+", "+at.Name, at.Usual.Here, x.Application, &at.Usual))
		}
	}
	for _, m := range all.Machines {
		line := text.Application(m.Application.String()) + ", " + plural(len(m.Visits), "healthy visit") + ", the last kept on " +
			m.Last.Format("2 January 2006")
		t := newTake(machinePath(m.Machine)+"/aside", "/learned", string(m.Aside), s.formID()).Saying("Set aside")
		if m.Aside != "" {
			line += ". Set aside: it teaches nobody."
			t = newTake(machinePath(m.Machine)+"/aside/back", "/learned", string(m.Aside), s.formID())
		}
		b.Teachers = append(b.Teachers, learnedRow{
			Href: visitPath(m.Visits[0]) + "/report",
			Main: m.SiteName + ", " + text.LowerFirst(m.Name),
			Line: line,
			Take: t,
		})
	}
	if n := all.Total - len(b.Teachers); n > 0 {
		b.TeachersRest = fmt.Sprintf("And %d met before them.", n)
	}
	return nil
}

// SetAside lets a machine no longer teach others what is usual.
func (s *Pages) SetAside(w http.ResponseWriter, r *http.Request) error {
	if err := s.app.SetLessonAside(r.Context(), s.act(r), id(r, "machine")); err != nil {
		return err
	}
	return redirect(w, r, "/learned#teachers")
}

// TakeAsideBack lets it teach again.
func (s *Pages) TakeAsideBack(w http.ResponseWriter, r *http.Request) error {
	if err := s.app.TakeLessonBack(r.Context(), s.act(r), id(r, "machine"), record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, "/learned#teachers")
}
