package page

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"coldwright/app"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

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
	{"This week", []string{"leak", "not_healthy"}},
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
func (s *Pages) worst(
	r *http.Request,
	m app.MachineRow,
	ready bool,
	d units.Display,
) (off units.TempDiff, known bool, what string, j *verdict.Judgement) {
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
	headline, _ := text.Headline(j, d)
	what, _, _ = strings.Cut(headline, ". ")
	if l := openLeak(app.OpenLeakOf(v.Machine, v.Visit)); l != "" {
		what = l + " " + what
	}
	if wrong := text.Instruments(j.Instruments, d, text.English); wrong != "" {
		what = strings.TrimSuffix(what, ".") + ". " + wrong
	}
	return off, true, strings.TrimSuffix(what, "."), j
}

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
	case "leak":
		if m.Leak.Repaired {
			return "Check the repair again"
		}
		return "Repair the leak"
	case "topped_up":
		return "Search for the leak"
	case "never_seen", "long_ago":
		return "Read it once"
	}
	return "Nothing due"
}
