package page

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type meBody struct {
	Saved bool
	Back  string
	Picks []form.Choice
	By    form.Field
}

func (s *Pages) Me(w http.ResponseWriter, r *http.Request) error {
	p := form.ReadProfile(r)
	b := meBody{Saved: r.URL.Query().Has("saved"), Back: "/me?saved"}
	list := func(name, label, hint, value string) {
		q := form.Choice{Name: name, Label: label, Hint: hint, Value: value}
		for _, c := range form.Choices[name] {
			o := form.Option{Value: c, Label: c}
			switch c {
			case "device":
				o.Label = "As device"
			case "light", "dark", "sun":
				o.Label = text.UpperFirst(c)
			}
			if name == "lang" {
				o.Label = text.Report("language_name", text.Language(c))
			}
			q.Options = append(q.Options, o)
		}
		b.Picks = append(b.Picks, q)
	}
	list("temp", "Temperature", "", p.Temp)
	list("pressure", "Pressure", "", p.Pressure)
	list("mass", "Weight", "", p.Mass)
	list("lang", "Language of reports", "", p.Lang)
	list("paper", "Paper of reports", "", p.Paper)
	list("look", "Look", "Sun: black on white, thicker lines, larger type", p.Look)
	b.By = form.TextField("by", "Your name or van", "Stands beside what you enter", p.By)
	s.show(w, r, http.StatusOK, "me", &Page{Title: "How you like it", Tab: "me", Body: b})
	return nil
}

func (s *Pages) SaveMe(w http.ResponseWriter, r *http.Request) error {
	v := r.PostForm
	if v.Get("keep") != "" {
		// A page's own switch sends only some of it; the rest stays.
		old := form.ReadProfile(r)
		for name, value := range map[string]string{
			"temp": old.Temp, "pressure": old.Pressure, "mass": old.Mass, "look": old.Look,
			"by": old.By, "lang": old.Lang, "paper": old.Paper,
		} {
			if !v.Has(name) {
				v.Set(name, value)
			}
		}
	}
	form.ProfileFrom(v).Write(w)
	return redirect(w, r, local(v.Get("back"), "/me?saved"))
}

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
	for _, m := range rows {
		if m.Open == nil {
			continue
		}
		b.Day = s.app.Now().In(m.Site.Location()).Format("Monday 2 January")
		if len(b.Rows) >= judgedInList {
			b.Rows = append(
				b.Rows,
				row{
					Href:  visitPath(m.Open.ID),
					Main:  m.Site.Name + ", " + text.LowerFirst(m.Machine.Name),
					Lines: []string{reason(m, form.Units(r), s.app.Now())},
					Small: m.Machine.Refrigerant,
				},
			)
			continue
		}
		v, err := s.app.Glance(r.Context(), m, false)
		if err != nil {
			return err
		}
		now := current(v)
		if b.Slab == nil {
			b.Slab = &slab{
				Over: "Open visit, started " + m.Open.Opened.In(m.Site.Location()).
					Format("15:04"),
				Head:   m.Site.Name + ", " + text.LowerFirst(m.Machine.Name),
				Text:   s.finding(v, form.Units(r)),
				Judged: v.End(v.Visit.Phase).Judged,
				Href:   now.Href,
				Key:    "Go on: " + text.LowerFirst(now.Title),
			}
			p.VisitPath, p.Strip = visitPath(m.Open.ID), s.strip(v, form.Units(r))
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
			b.Rows = append(
				b.Rows,
				row{
					Href:  machinePath(m.Machine.ID),
					Main:  m.Site.Name + ", " + text.LowerFirst(m.Machine.Name),
					Lines: []string{reason(m, form.Units(r), s.app.Now())},
					Small: m.Machine.Refrigerant,
				},
			)
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
		return "Visit open since " + m.Open.Opened.In(m.Site.Location()).Format("2 January, 15:04") + "."
	case "not_healthy":
		if m.Last.Close.Shown != "" {
			return m.Last.Close.Shown
		}
		return "Left without a healthy reading at the last visit."
	case "topped_up":
		return d.FormatMass(units.Mass(float64(m.LostG)/units.Kilo)) + " of refrigerant added within a year."
	case "long_ago":
		return "Not seen for " + fmt.Sprint(int(now.Sub(m.Last.Closed).Hours()/24/30)) + " months."
	case "never_seen":
		return "Never read yet. Bands come from the design only."
	}
	return "Healthy at the last visit."
}

type fleetRow struct {
	Href, Machine, Site       string
	Gap                       plot.Scene
	Tag                       tag
	What, Changed, Next, Last string
	Judged                    *verdict.Judgement
}

type fleetGroup struct {
	Name, Count string
	Rows        []fleetRow
}

type machinesBody struct {
	Count, Query string
	Groups       []fleetGroup
	Pager        pages
}

var groupNames = []struct {
	name    string
	reasons []string
}{
	{"Someone today", []string{"open_visit"}},
	{"This week", []string{"not_healthy"}},
	{"At the next visit", []string{"topped_up", "never_seen", "long_ago"}},
	{"Fine", []string{"fine"}},
}

// judgedInList is how many machines are judged for the first page of a list: each costs a fraction of a second the
// first time. The others, and further pages, show judgements that were made before.
const judgedInList = 12

// inList is how many machines a page of the list holds.
const inList = 50

func (s *Pages) Machines(w http.ResponseWriter, r *http.Request) error {
	d := form.Units(r)
	b := machinesBody{Query: strings.TrimSpace(r.URL.Query().Get("q"))}
	from := offset(r)
	list, err := s.app.Machines(r.Context(), b.Query, from, inList)
	if err != nil {
		return err
	}
	rows := list.Rows
	b.Count = plural(list.Total, "machine")
	if len(rows) < list.Total && len(rows) > 0 {
		b.Count = fmt.Sprintf("%d to %d of ", from+1, from+len(rows)) + b.Count
	}
	b.Pager = pager("/machines", b.Query, from, inList, from+len(rows) < list.Total)
	judged := 0
	for _, g := range groupNames {
		group := fleetGroup{Name: g.name}
		for i, m := range rows {
			if !slices.Contains(g.reasons, m.Reason) {
				continue
			}
			f := fleetRow{
				Href: machinePath(m.Machine.ID), Machine: m.Machine.Name, Site: m.Site.Name, Tag: tag{"unknown", "not known"},
				What: "Not judged", Changed: reason(m, d, s.app.Now()), Next: nextStep(m), Last: ago(m, s.app.Now()),
			}
			off, known := units.TempDiff(0), false
			v := m.Last
			if m.Open != nil {
				v = m.Open
				f.Href = visitPath(v.ID)
			}
			if v != nil {
				off, known, f.What, f.Judged = s.worst(r, m, judged >= judgedInList || b.Query != "" || from > 0, d)
				judged++
			}
			if known {
				f.Tag = tagOf(off, d)
			}
			f.Gap = figure.Worst(fmt.Sprintf("gap%d", i), off, known, d)
			group.Rows = append(group.Rows, f)
		}
		if len(group.Rows) > 0 {
			if len(rows) == list.Total { // a part of a list cannot say how many there are of a kind
				group.Count = plural(len(group.Rows), "machine")
			}
			b.Groups = append(b.Groups, group)
		}
	}
	s.show(w, r, http.StatusOK, "machines", &Page{Title: "Machines", Tab: "machines", Body: b})
	return nil
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n) + " " + one + "s"
}

// pages are the ways to the part of a list before this one and after it; empty where there is none.
type pages struct{ Before, After string }

// offset is where a part of a list begins.
func offset(r *http.Request) int {
	n, err := strconv.Atoi(r.URL.Query().Get("from"))
	if err != nil || n < 0 || n > 1e7 {
		return 0
	}
	return n
}

func pager(path, query string, from, size int, more bool) pages {
	at := func(n int) string {
		q := url.Values{}
		if query != "" {
			q.Set("q", query)
		}
		if n > 0 {
			q.Set("from", strconv.Itoa(n))
		}
		if len(q) == 0 {
			return path
		}
		return path + "?" + q.Encode()
	}
	var p pages
	if from > 0 {
		p.Before = at(max(from-size, 0))
	}
	if more {
		p.After = at(from + size)
	}
	return p
}

// worst is the largest distance of a reading from the middle of its band, and what it may be. ready: only when it was judged before.
func (s *Pages) worst(r *http.Request, m app.MachineRow, ready bool, d units.Display) (off units.TempDiff, known bool, what string, j *verdict.Judgement) {
	v, err := s.app.Glance(r.Context(), m, ready)
	if err != nil || v == nil {
		return 0, false, "Not judged", nil
	}
	h := m.Open
	if h == nil {
		h = m.Last
	}
	j = v.End(h.Phase).Judged
	if j == nil {
		return 0, false, "Not judged", nil
	}
	for _, g := range j.Off {
		if g.By*g.By > off*off {
			off = g.By
		}
	}
	what, _, _ = strings.Cut(first(text.Headline(j, d)), ". ")
	if wrong := text.Instruments(j.Instruments, d, text.English); wrong != "" {
		what = strings.TrimSuffix(what, ".") + ". " + wrong
	}
	return off, true, strings.TrimSuffix(what, "."), j
}

func first(a, _ string) string { return a }

func tagOf(off units.TempDiff, d units.Display) tag {
	n := d.DiffNumber(off, 0)
	switch {
	case n == "0":
		return tag{"in", "in band"}
	case off < 0:
		return tag{"under", strings.TrimPrefix(n, "−") + " under"}
	}
	return tag{"over", n + " over"}
}

func nextStep(m app.MachineRow) string {
	switch m.Reason {
	case "open_visit":
		return "Finish the visit"
	case "not_healthy":
		return "Prove it healthy"
	case "topped_up":
		return "Search for the leak"
	case "never_seen", "long_ago":
		return "Read it once"
	}
	return "Nothing due"
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
