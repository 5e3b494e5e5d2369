package page

import (
	"bytes"
	"net"
	"net/http"
	"net/url"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/report"
	"coldwright/units"
	"coldwright/web/form"
)

type labelsBody struct {
	Head, For, Machine, Site, Address, Back string
	Alone                                   bool // the address opens on this very machine only
	Count                                   string
	Errors                                  []string
	Items                                   []form.Item
}

// base is the server's own address as its codes name it: the one it was started with, else the one this request came to.
func (s *Pages) base(r *http.Request) string {
	if s.o.Base != "" {
		return strings.TrimSuffix(s.o.Base, "/")
	}
	u := url.URL{Scheme: "http", Host: r.Host}
	if r.TLS != nil {
		u.Scheme = "https"
	}
	return u.String()
}

// alone reports whether an address leads to the machine it is opened on, so that a phone would not find the server by it.
func alone(base string) bool {
	u, err := url.Parse(base)
	if err != nil {
		return false
	}
	ip := net.ParseIP(u.Hostname())
	return u.Hostname() == "localhost" || ip != nil && (ip.IsLoopback() || ip.IsUnspecified())
}

// shortID is the part of a machine's id that tells it from others made at the same time.
func shortID(id record.ID) string {
	s := strings.ReplaceAll(string(id), "-", "")
	if len(s) < 8 {
		return s
	}
	return s[len(s)-8:len(s)-4] + "-" + s[len(s)-4:]
}

// labelled is what is to get labels: one machine, or all of a site.
func (s *Pages) labelled(r *http.Request) (app.SiteView, bool, error) {
	if m := record.ID(r.Form.Get("machine")); m != "" {
		v, err := s.app.Machine(r.Context(), m, app.MachineParts{})
		if err != nil {
			return app.SiteView{}, true, err
		}
		return app.SiteView{Site: v.Site, Machines: []app.MachineRow{v.MachineRow}}, true, nil
	}
	v, err := s.app.Site(r.Context(), record.ID(r.Form.Get("site")))
	if err != nil {
		return app.SiteView{}, false, err
	}
	return *v, false, nil
}

func (s *Pages) Labels(w http.ResponseWriter, r *http.Request) error {
	return s.showLabels(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showLabels(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, one, err := s.labelled(r)
	if err != nil {
		return err
	}
	b := labelsBody{
		Head:    "Labels for the machines",
		For:     v.Site.Name,
		Site:    string(v.Site.ID),
		Back:    "/sites/" + string(v.Site.ID),
		Address: s.base(r),
		Count:   plural(len(v.Machines), "label"),
	}
	if one {
		m := v.Machines[0].Machine
		b.Head, b.For, b.Machine, b.Site, b.Back = "Label for the machine", m.Name+", "+v.Site.Name, string(m.ID), "", machinePath(m.ID)
	}
	b.Alone = alone(b.Address)
	get := func(name, otherwise string) string {
		if r.Form.Has(name) {
			return r.Form.Get(name)
		}
		return otherwise
	}
	usual := "a4"
	if form.Units(r).Temp == "°F" {
		usual = "letter"
	}
	paper := form.Choice{
		ID:      "f-paper",
		Name:    "paper",
		Label:   "Paper",
		Value:   get("paper", usual),
		Options: []form.Option{{Value: "a4", Label: "A4"}, {Value: "letter", Label: "Letter"}},
	}
	size := form.Choice{
		ID:      "f-size",
		Name:    "size",
		Label:   "Label",
		Hint:    "How many a sheet holds: " + sizes(),
		Value:   get("size", "medium"),
		Options: []form.Option{{Value: "small", Label: "Small"}, {Value: "medium", Label: "Medium"}, {Value: "large", Label: "Large"}},
	}
	start := form.NumberField("start", "First free label", "Counted along the rows; what was used before stays free", "", get("start", "1"))
	edges := form.Choice{
		ID:      "f-edges",
		Name:    "edges",
		Label:   "Edges",
		Value:   get("edges", "no"),
		Options: []form.Option{{Value: "no", Label: "Sheet of labels"}, {Value: "yes", Label: "Plain paper, to cut"}},
	}
	for _, p := range []*form.Choice{&paper, &size} {
		wrong.PlaceChoice(r, p)
	}
	wrong.Place(r, &start)
	b.Items = []form.Item{{Picks: &paper}, {Picks: &size}, {Field: &start}, {Picks: &edges}}
	b.Errors = wrong.Rest(r)
	s.show(w, r, status, "labels", &Page{Title: b.Head, Tab: "machines", Body: b})
	return nil
}

// sizes says how large the labels of each paper are.
func sizes() string {
	var out []string
	for _, p := range report.LabelPapers() {
		var n []string
		for _, x := range p.Sheets {
			n = append(n, units.Fixed(float64(x.N()), 0))
		}
		out = append(out, strings.Join(n, ", ")+" on "+map[string]string{"a4": "A4", "letter": "Letter"}[p.Key])
	}
	return strings.Join(out, "; ")
}

func (s *Pages) LabelsPDF(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.labelled(r)
	if err != nil {
		return err
	}
	wrong := form.Mistakes{}
	if len(v.Machines) == 0 {
		wrong["site"] = fail.Of(fail.Required, "", "label.no_machine", nil)
	}
	start, err := report.LabelStart(r.Form.Get("start"))
	if err != nil {
		wrong.Add("start", err)
		return s.showLabels(w, r, http.StatusUnprocessableEntity, wrong)
	}
	d := form.Units(r)
	var list []report.Label
	for _, m := range v.Machines {
		l := report.Label{
			Name:  m.Machine.Name,
			Site:  v.Site.Name,
			Lines: []string{m.Machine.Refrigerant},
			ID:    shortID(m.Machine.ID),
			URL:   s.base(r) + machinePath(m.Machine.ID),
		}
		if m.Machine.FullChargeG != nil {
			l.Lines = append(l.Lines, "Full charge "+d.FormatMass(grams(*m.Machine.FullChargeG)))
		}
		list = append(list, l)
	}
	var b bytes.Buffer
	err = report.Labels(
		&b,
		list,
		report.LabelOptions{Paper: r.Form.Get("paper"), Size: r.Form.Get("size"), Start: start, Edges: r.Form.Get("edges") == "yes"},
	)
	if err != nil && !wrong.Take(err) {
		return err
	}
	if len(wrong) > 0 {
		return s.showLabels(w, r, http.StatusUnprocessableEntity, wrong)
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="labels.pdf"`)
	_, _ = w.Write(b.Bytes()) // the other end may have gone
	return nil
}
