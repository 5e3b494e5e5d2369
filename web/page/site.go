package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type siteBody struct {
	Name, Add, Edit string
	Labels          string
	Lines           []string
	Rows            []row
	Books           []nameValue
}

func (s *Pages) Site(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Site(r.Context(), id(r, "site"))
	if err != nil {
		return err
	}
	b := siteBody{Name: v.Site.Name, Add: "/machines/new?site=" + string(v.Site.ID), Edit: "/sites/" + string(v.Site.ID) + "/edit"}
	for _, l := range []string{v.Site.Customer, v.Site.Address, altitude(v.Site.AltitudeM, form.Units(r))} {
		if l != "" {
			b.Lines = append(b.Lines, l)
		}
	}
	if v.Site.KnownLocation() != nil {
		b.Lines = append(b.Lines, "Time zone "+v.Site.Zone)
	} else {
		b.Lines = append(b.Lines, "Time zone not said: times are UTC. Correct the site to say it.")
	}
	rules, err := app.RulesOf(v.Site)
	if err != nil {
		return err
	}
	switch {
	case rules.Known && rules.Guessed:
		b.Lines = append(
			b.Lines,
			"Rules on refrigerant: "+text.Jurisdiction(rules.Jurisdiction, text.English)+", guessed from the time zone",
		)
	case rules.Known:
		b.Lines = append(b.Lines, "Rules on refrigerant: "+text.Jurisdiction(rules.Jurisdiction, text.English))
	case rules.None:
		b.Lines = append(b.Lines, "Rules on refrigerant: none on file")
	}
	for _, m := range v.Machines {
		b.Rows = append(
			b.Rows,
			row{Href: machinePath(m.Machine.ID), Main: m.Machine.Name, Lines: []string{reason(m, form.Units(r), s.app.Now())}, Soft: true},
		)
	}
	if len(b.Rows) > 0 {
		b.Labels = "/labels?site=" + string(v.Site.ID)
	}
	b.Books = books(v.Site, s.app.Now())
	p := &Page{Title: v.Site.Name, Tab: "machines", Body: b}
	p.notRead(v.Site.Unread)
	s.show(w, r, http.StatusOK, "site", p)
	return nil
}

// zoneField asks for the time zone of a site; a device that can says its own.
func zoneField(label, value string) form.Field {
	f := form.TextField("zone", label, "A city of the list, such as Chicago, or CST; empty: times are UTC", value)
	f.Zone = true
	return f
}

// zoneSaid is the zone that a form's words mean.
func zoneSaid(r *http.Request, wrong form.Mistakes) string {
	typed := strings.TrimSpace(r.PostForm.Get("zone"))
	if typed == "" {
		return ""
	}
	z, ok := record.ZoneNamed(typed)
	if !ok {
		wrong["zone"] = fail.Of(fail.BadValue, "zone", "site.zone", fail.Args{"zone": typed})
	}
	return z
}

// siteForm shows the form with what was typed or what is stored.
func (s *Pages) siteForm(w http.ResponseWriter, r *http.Request, get func(string) string, wrong form.Mistakes) error {
	unit := lengthUnit(form.Units(r))
	fields := []form.Field{
		form.TextField("name", "Name", "As everyone calls it, such as School kitchen", get("name")),
		form.TextField("customer", "Customer", "", get("customer")),
		form.TextField("address", "Address", "", get("address")),
		form.NumberField("altitude", "Altitude", "Gauges read with the air outside; 0 near the sea", unit, get("altitude")),
		zoneField("Time zone", get("zone")),
	}
	rules := form.Choice{
		ID:      "f-jurisdiction",
		Name:    "jurisdiction",
		Label:   "Whose rules on refrigerant hold",
		Hint:    "Northern Ireland goes by the European Union's",
		Value:   get("jurisdiction"),
		Options: []form.Option{{Value: "", Label: "Guess it from the time zone"}},
	}
	if guess, err := app.RulesOf(record.Site{SiteBody: record.SiteBody{Zone: get("zone")}}); err != nil {
		return err
	} else if guess.Known {
		rules.Options[0].Label += ": " + text.Jurisdiction(guess.Jurisdiction, text.English)
	}
	for _, j := range law.Jurisdictions() {
		rules.Options = append(rules.Options, form.Option{Value: string(j), Label: text.Jurisdiction(j, text.English)})
	}
	rules.Options = append(rules.Options, form.Option{Value: app.NoRules, Label: "None of these"})
	wrong.PlaceChoice(r, &rules)
	g := form.Group{}
	for i := range fields {
		wrong.Place(r, &fields[i])
		g.Items = append(g.Items, form.Item{Field: &fields[i]})
	}
	g.Items = append(g.Items, form.Item{Select: &rules})
	b := formBody{Head: "Add a site", Action: r.URL.Path, Key: "Save the site", Form: s.formID(), Groups: []form.Group{g}}
	if r.PathValue("site") != "" {
		b.Head = "Correct the site"
	}
	status := http.StatusOK
	if r.Method == http.MethodPost {
		status, b.Form = http.StatusUnprocessableEntity, r.PostForm.Get("form")
	}
	b.Errors = wrong.Rest(r)
	s.show(w, r, status, "form", &Page{Title: b.Head, Tab: "machines", Body: b})
	return nil
}

func (s *Pages) NewSite(w http.ResponseWriter, r *http.Request) error {
	stored := map[string]string{"altitude": "0"}
	if i := id(r, "site"); i != "" {
		v, err := s.app.Site(r.Context(), i)
		if err != nil {
			return err
		}
		stored = map[string]string{
			"name":         v.Site.Name,
			"customer":     v.Site.Customer,
			"address":      v.Site.Address,
			"zone":         v.Site.Zone,
			"jurisdiction": v.Site.Jurisdiction,
		}
		if form.Units(r).Temp == "°C" {
			stored["altitude"] = units.Fixed(v.Site.AltitudeM, 0)
		} else {
			stored["altitude"] = units.Fixed(v.Site.AltitudeM/units.Foot, 0)
		}
	}
	return s.siteForm(w, r, func(k string) string { return stored[k] }, form.Mistakes{})
}

func (s *Pages) SaveSite(w http.ResponseWriter, r *http.Request) error {
	f, wrong := r.PostForm, form.Mistakes{}
	unit := "ft"
	if form.Units(r).Temp == "°C" {
		unit = "m"
	}
	b := record.SiteBody{
		Name:         strings.TrimSpace(f.Get("name")),
		Customer:     strings.TrimSpace(f.Get("customer")),
		Address:      strings.TrimSpace(f.Get("address")),
		Jurisdiction: f.Get("jurisdiction"),
	}
	if alt := wrong.Optional("altitude", f.Get("altitude"), unit, units.ParseLength); alt != nil {
		b.AltitudeM = *alt
		if _, err := units.Atmosphere(*alt); err != nil {
			wrong.Add("altitude", err)
		}
	}
	b.Zone = zoneSaid(r, wrong)
	if len(wrong) == 0 {
		site, err := s.app.SaveSite(r.Context(), s.act(r), id(r, "site"), b)
		if err == nil {
			return redirect(w, r, "/sites/"+string(site))
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.siteForm(w, r, f.Get, wrong)
}

// siteByName finds a site by its name or adds it.
func (s *Pages) siteByName(r *http.Request, name, zone string) (record.ID, error) {
	sites, err := s.app.Sites(r.Context())
	if err != nil {
		return "", err
	}
	for _, v := range sites {
		if strings.EqualFold(v.Name, name) {
			return v.ID, nil
		}
	}
	return s.app.SaveSite(r.Context(), app.Act{By: s.act(r).By}, "", record.SiteBody{Name: name, Zone: zone})
}
