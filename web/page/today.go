package page

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type todayBody struct {
	Slab       *slab
	Title, Day string
	Rows       []row
	Empty      bool
}

func visitPath(id record.ID) string   { return "/visits/" + string(id) }
func machinePath(id record.ID) string { return "/machines/" + string(id) }

// onToday is how many machines the start page shows at most; judgedInList holds for its open visits too.
const onToday = 30

func (s *Pages) Today(w http.ResponseWriter, r *http.Request) error {
	list, err := s.app.Machines(r.Context(), "", 0, onToday)
	if err != nil {
		return err
	}
	rows := list.Rows
	b := todayBody{Title: "Open visits", Day: s.app.Now().Format("Monday 2 January"), Empty: len(rows) == 0}
	p := &Page{Title: "Today", Tab: "today", Class: "wide-left"}
	short := func(m app.MachineRow, href string) row {
		return row{
			Href:  href,
			Main:  m.Site.Name + ", " + text.LowerFirst(m.Machine.Name),
			Lines: []string{reason(m, form.Units(r), s.app.Now())},
			Small: m.Machine.Refrigerant,
		}
	}
	for _, m := range rows {
		if m.Open == nil {
			continue
		}
		b.Day = s.app.Now().In(m.Site.Location()).Format("Monday 2 January")
		if len(b.Rows) >= judgedInList {
			b.Rows = append(b.Rows, short(m, visitPath(m.Open.ID)))
			continue
		}
		v, err := s.app.Glance(r.Context(), m, false)
		if err != nil {
			return err
		}
		now := current(v)
		if b.Slab == nil {
			b.Slab = &slab{
				Over:   "Open visit, started " + zoned(m.Open.Opened, m.Site, "15:04"),
				Head:   m.Site.Name + ", " + text.LowerFirst(m.Machine.Name),
				Text:   s.finding(v, form.Units(r)),
				Judged: v.End(v.Visit.Phase).Judged,
				Href:   now.Href,
				Key:    "Go on: " + text.LowerFirst(now.Title),
			}
			p.VisitPath, p.Strips = visitPath(m.Open.ID), s.strips(v, form.Units(r))
			continue
		}
		b.Rows = append(b.Rows, row{
			Href: visitPath(m.Open.ID), Main: m.Site.Name + ", " + text.LowerFirst(m.Machine.Name), Lines: []string{s.finding(v, form.Units(r))},
			Small: m.Machine.Refrigerant + " · next: " + text.LowerFirst(now.Title),
		})
	}
	if b.Slab != nil {
		b.Title = "Also open"
	}
	for _, m := range rows {
		if m.Open == nil && m.Reason != "fine" && len(b.Rows) < 6 {
			b.Rows = append(b.Rows, short(m, machinePath(m.Machine.ID)))
		}
	}
	if len(b.Rows) > 0 && b.Slab == nil {
		b.Title = "Worth a look"
	} else if b.Slab != nil {
		b.Title = "Also"
	}
	p.Body = b
	s.show(w, r, http.StatusOK, "today", p)
	return nil
}

// finding is where a visit stands, in a sentence or two.
func (s *Pages) finding(v *app.VisitView, d units.Display) string {
	e := v.End(v.Visit.Phase)
	out := ""
	if box, ok := app.LastBox(v.Visit.End(v.Visit.Phase)); ok {
		out = "Box at " + d.FormatTemp(box, 0) + ", holds " + d.FormatTemp(v.Machine.SetPoint(), 0) + ". "
	}
	if l := openLeak(app.OpenLeakOf(v.Machine, v.Visit)); l != "" {
		out = l + " " + out
	}
	switch {
	case e.Posterior != nil:
		j := e.Judged
		h1, _ := text.Headline(j, d)
		out += h1 + " " + text.Instruments(j.Instruments, d, text.English)
	case out == "" && v.Visit.Complaint != "":
		out = text.UpperFirst(v.Visit.Complaint) + "."
	case out == "":
		out = "Nothing read yet."
	}
	return strings.TrimSpace(out)
}

// reason says why a machine stands where it does in the list.
func reason(m app.MachineRow, d units.Display, now time.Time) string {
	switch m.Reason {
	case "open_visit":
		return "Visit open since " + zoned(m.Open.Opened, m.Site, "2 January, 15:04") + "."
	case "not_healthy":
		if m.Last.Close.Shown != "" {
			return m.Last.Close.Shown
		}
		return "Left without a healthy reading at the last visit."
	case "leak":
		return openLeak(m.Leak)
	case "topped_up":
		return d.FormatMass(units.Mass(float64(m.LostG)/units.Kilo)) + " of refrigerant added within a year."
	case "long_ago":
		return "Not seen for " + fmt.Sprint(int(now.Sub(m.Last.Closed).Hours()/24/30)) + " months."
	case "never_seen":
		return "Never read yet. Bands come from the design only."
	}
	return "Healthy at the last visit."
}

// openLeak says that a leak is to be worked on, "" where none is.
func openLeak(l *app.OpenLeak) string {
	switch {
	case l == nil:
		return ""
	case l.Repaired:
		return "Leak repaired, to be checked again: " + text.LowerFirst(text.LeakPlace(l.Place, text.English)) + "."
	}
	return "Open leak: " + text.LowerFirst(text.LeakPlace(l.Place, text.English)) + "."
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n) + " " + one + "s"
}

func ago(m app.MachineRow, now time.Time) string {
	v := m.Open
	if v == nil {
		v = m.Last
	}
	if v == nil {
		return "never"
	}
	at := v.Opened
	switch days := int(now.Sub(at).Hours() / 24); {
	case days < 1:
		return "today"
	case days < 14:
		return plural(days, "day")
	case days < 90:
		return plural(days/7, "week")
	default:
		return plural(days/30, "month")
	}
}
