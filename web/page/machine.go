package page

import (
	"fmt"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type nameValue struct{ Name, Value string }

type machineBody struct {
	Slab                                *slab
	Name, Finding, Edit, Site, SiteHref string
	Drift                               string
	Load, Parts, Label                  string
	Visits                              []row
	Plate                               []nameValue
	Moves                               *figure.Table
	Clocks                              *clocksBody
	Law                                 *lawPart
}

func (s *Pages) Machine(w http.ResponseWriter, r *http.Request) error {
	return s.showMachine(w, r, http.StatusOK, "", form.Mistakes{})
}

// showMachine shows the page; part says which of its forms for the law was refused.
func (s *Pages) showMachine(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	m, err := s.app.Machine(r.Context(), id(r, "machine"), app.MachineParts{Clocks: true, Retrofit: r.URL.Query().Get("to")})
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := machineBody{
		Name:     m.Machine.Name,
		Finding:  reason(m.MachineRow, d, m.Now),
		Edit:     machinePath(m.Machine.ID) + "/edit",
		Load:     machinePath(m.Machine.ID) + "/load",
		Parts:    machinePath(m.Machine.ID) + "/parts",
		Label:    "/labels?machine=" + string(m.Machine.ID),
		Site:     m.Site.Name,
		SiteHref: "/sites/" + string(m.Site.ID),
	}
	p := &Page{Title: m.Machine.Name, Tab: "machines", Class: "wide-left", Plate: plate(m.Site, m.Machine, nil, d)}
	p.notRead(m.Unread)
	if v := m.Open; v != nil {
		b.Slab = &slab{
			Over: "Next",
			Head: "Go on with the open visit",
			Text: "Started " + v.Opened.In(m.Site.Location()).Format("2 January, 15:04") + ".",
			Href: visitPath(v.ID),
			Key:  "Open visit",
		}
		p.VisitPath = visitPath(v.ID)
	} else {
		f := form.TextField("complaint", "What is the complaint?", "Leave empty for a check", "")
		b.Slab = &slab{
			Over:  "Next",
			Head:  "Start a visit",
			Post:  machinePath(m.Machine.ID) + "/open",
			Form:  s.formID(),
			Field: f,
			Key:   "Start a visit",
		}
	}
	moves := figure.Table{Head: []string{"Date", "In", "Out", "Cylinder"}}
	for i := len(m.Machine.Visits) - 1; i >= 0; i-- {
		v := m.Machine.Visits[i]
		date := v.Opened.In(m.Site.Location()).Format("2 January 2006")
		line := row{Href: visitPath(v.ID), Main: date}
		switch {
		case v.Closed.IsZero():
			line.Main += ", open"
		default:
			line.Href += "/report"
		}
		switch {
		case v.Healthy:
			line.Tag = &tag{"in", "healthy"}
		case !v.Closed.IsZero():
			line.Tag = &tag{"unknown", "not proven"}
		}
		switch {
		case v.Close.Shown != "":
			line.Lines = append(line.Lines, v.Close.Shown)
		case v.Complaint != "":
			line.Lines = append(line.Lines, text.UpperFirst(v.Complaint))
		}
		if v.Confirmed != "" {
			line.Lines = append(line.Lines, "It was: "+text.LowerFirst(text.Fault(v.Confirmed).Name)+".")
		}
		b.Visits = append(b.Visits, line)
		for _, g := range v.Moves {
			in, out := d.FormatMass(grams(g.Grams)), ""
			if g.Direction != "added" {
				in, out = "", in
			}
			moves.Rows = append(moves.Rows, []string{g.At.In(m.Site.Location()).Format("2 Jan 2006"), in, out, g.Cylinder})
		}
	}
	if len(moves.Rows) > 0 {
		b.Moves = &moves
	}
	if len(m.Machine.Visits) > 0 {
		b.Drift = machinePath(m.Machine.ID) + "/drift"
	}
	b.Plate = plateRows(m.Machine, m.Site, d)
	b.Clocks = clocksOf(m.Machine.ID, m.Clocks)
	if b.Law, err = s.lawPartOf(r, m, part, wrong); err != nil {
		return err
	}
	p.Body, p.Kept = b, s.plateKept(m, machinePath(m.Machine.ID))
	s.show(w, r, status, "machine", p)
	return nil
}

func grams(g int64) units.Mass { return units.Mass(float64(g) / units.Kilo) }

// plateRows is what the plate says; what is assumed is marked so.
func plateRows(m *record.Machine, site record.Site, d units.Display) []nameValue {
	var out []nameValue
	add := func(name, value string) {
		if value != "" {
			out = append(out, nameValue{name, value})
		}
	}
	gas := m.Refrigerant
	if r, err := refrigerant.Load(m.Refrigerant); err == nil {
		if c, ok := r.Safety(); ok {
			gas += ", safety class " + c.Class
		}
	}
	add("Refrigerant", gas)
	add("Holds", d.FormatTemp(m.SetPoint(), 0))
	add("Cools", text.Application(m.Application))
	plate, assumed := m.Plate().Resolve()
	add("Valve", text.Expansion(plate.Expansion.String()))
	if plate.Receiver {
		add("Receiver", "yes")
	} else {
		add("Receiver", "none")
	}
	add("Head control", text.HeadControl(plate.HeadControl.String()))
	if plate.Exchanger > 0 {
		add("Liquid to suction", "exchanger")
	}
	for _, x := range []struct {
		name string
		p    units.Pressure
	}{{"Crankcase regulator", plate.CrankcaseRegulator}, {"Evaporator regulator", plate.EvaporatorRegulator}} {
		if x.p > 0 {
			add(x.name, d.FormatPressure(x.p, plate.AmbientPressure))
		}
	}
	add("Design", "TD "+d.FormatDiff(plate.TD, 0)+", split "+d.FormatDiff(plate.Split, 0))
	if m.FullChargeG != nil {
		add("Full charge", d.FormatMass(grams(*m.FullChargeG)))
	}
	if m.RatedAmps != nil {
		add("Rated current", units.Fixed(*m.RatedAmps, 1)+" A")
	}
	add("Maker", m.Maker)
	add("Serial", m.Serial)
	add("Installed", m.Installed)
	add("Altitude", altitude(site.AltitudeM, d))
	add("Note", m.Note)
	var words []string
	for _, a := range assumed {
		words = append(words, text.Assumed(a, d))
	}
	if len(words) > 0 {
		add("Assumed", strings.Join(words, ", "))
	}
	return out
}

func altitude(m float64, d units.Display) string {
	if d.Temp == "°F" {
		return units.Fixed(m/units.Foot, 0) + " ft, gauges corrected"
	}
	return units.Fixed(m, 0) + " m, gauges corrected"
}

// plate is the title block: which machine, what it holds.
func plate(site record.Site, m *record.Machine, v *record.Visit, d units.Display) []PlateCell {
	out := []PlateCell{
		{Name: site.Name, Value: m.Name, Href: machinePath(m.ID)},
		{Name: "Refrigerant", Value: m.Refrigerant},
		{Name: "Holds", Value: d.FormatTemp(m.SetPoint(), 0)},
	}
	third := PlateCell{Name: "Outside now", Value: "not read"}
	if v == nil {
		third = PlateCell{Name: "Cools", Value: text.Application(m.Application)}
	} else {
		for _, t := range v.End(v.Phase).Readings {
			if t.Reading.At == reading.Ambient {
				third.Value = d.FormatTemp(units.Temp(t.Value), 0)
			}
		}
	}
	out = append(out, third)
	if m.FullChargeG != nil {
		out = append(out, PlateCell{Name: "Full charge", Value: d.FormatMass(grams(*m.FullChargeG)), Desk: true})
	}
	if v != nil {
		out = append(out, PlateCell{Name: "Visit", Value: v.Opened.In(site.Location()).Format("2 January, 15:04"), Desk: true})
	}
	return out
}

func (s *Pages) OpenVisit(w http.ResponseWriter, r *http.Request) error {
	visit, err := s.app.OpenVisit(r.Context(), s.act(r), id(r, "machine"), r.PostForm.Get("complaint"))
	if err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit))
}

// Visits leads to the open visit, or says that there is none.
func (s *Pages) Visits(w http.ResponseWriter, r *http.Request) error {
	list, err := s.app.Machines(r.Context(), "", 0, 1)
	if err != nil {
		return err
	}
	for _, m := range list.Rows {
		if m.Open != nil {
			return redirect(w, r, visitPath(m.Open.ID))
		}
	}
	return redirect(w, r, "/machines")
}

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
			row{Href: machinePath(m.Machine.ID), Main: m.Machine.Name, Lines: []string{reason(m, form.Units(r), s.app.Now())}},
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

// siteForm shows the form with what was typed or what is stored.
func (s *Pages) siteForm(w http.ResponseWriter, r *http.Request, get func(string) string, wrong form.Mistakes) error {
	unit := "ft"
	if form.Units(r).Temp == "°C" {
		unit = "m"
	}
	fields := []form.Field{
		form.TextField("name", "Name", "As everyone calls it, such as School kitchen", get("name")),
		form.TextField("customer", "Customer", "", get("customer")),
		form.TextField("address", "Address", "", get("address")),
		form.NumberField("altitude", "Altitude", "Gauges read with the air outside; 0 near the sea", unit, get("altitude")),
		form.TextField("zone", "Time zone", "Such as Europe/Berlin; empty shows UTC", get("zone")),
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
	wrong.PlaceChoice(&rules)
	g := form.Group{}
	for i := range fields {
		wrong.Place(&fields[i])
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
	b.Errors = wrong.Rest()
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
		Zone:         strings.TrimSpace(f.Get("zone")),
		Jurisdiction: f.Get("jurisdiction"),
	}
	if alt := wrong.Optional("altitude", f.Get("altitude"), unit, units.ParseLength); alt != nil {
		b.AltitudeM = *alt
		if _, err := units.Atmosphere(*alt); err != nil {
			wrong.Add("altitude", err)
		}
	}
	if b.Zone != "" && b.KnownLocation() == nil {
		wrong["zone"] = fail.New(fail.BadValue, "zone", fmt.Sprintf("no time zone %q", b.Zone), "write it as Region/City")
	}
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

// machineForm shows the plate's form.
func (s *Pages) machineForm(w http.ResponseWriter, r *http.Request, get func(string) string, wrong form.Mistakes) error {
	sites, err := s.app.Sites(r.Context())
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := formBody{
		Head:   "Add a machine",
		Text:   "Refrigerant and what it must hold are enough to start. The rest makes the bands narrower.",
		Action: r.URL.Path,
		Key:    "Save the machine",
		Form:   s.formID(),
	}
	editing := r.PathValue("machine") != ""
	if editing {
		b.Head = "Correct the plate"
	}
	status := http.StatusOK
	if r.Method == http.MethodPost {
		status, b.Form = http.StatusUnprocessableEntity, r.PostForm.Get("form")
	}
	words := func(name, label, hint string, list []string, say func(string, ...text.Language) string, none string) form.Choice {
		p := form.Choice{ID: "f-" + name, Name: name, Label: label, Hint: hint, Value: get(name)}
		if none != "" {
			p.Options = append(p.Options, form.Option{Value: "", Label: none})
		}
		for _, w := range list {
			p.Options = append(p.Options, form.Option{Value: w, Label: say(w)})
		}
		wrong.PlaceChoice(&p)
		return p
	}
	in := func(f form.Field) form.Item { wrong.Place(&f); return form.Item{Field: &f} }
	one := func(p form.Choice) form.Item { return form.Item{Picks: &p} }
	sel := func(p form.Choice) form.Item { return form.Item{Select: &p} }
	var first form.Group
	if !editing {
		p := form.Choice{ID: "f-site", Name: "site", Label: "Site", Value: get("site"), Hint: "Or write the name of a new one below"}
		if len(sites) == 0 {
			p.Hint = "Write the name of the site below"
		}
		p.Options = append(p.Options, form.Option{Value: "", Label: "A new site"})
		for _, v := range sites {
			p.Options = append(p.Options, form.Option{Value: string(v.ID), Label: v.Name})
		}
		wrong.PlaceChoice(&p)
		first.Items = append(
			first.Items,
			sel(p),
			in(form.TextField("new_site", "Name of the new site", "Only when it is not in the list", get("new_site"))),
		)
	}
	gases := form.Choice{ID: "f-refrigerant", Name: "refrigerant", Label: "Refrigerant", Hint: "As the plate says", Value: get("refrigerant")}
	gases.Options = append(gases.Options, form.Option{Value: "", Label: "Choose"})
	for _, g := range refrigerant.Designations() {
		gases.Options = append(gases.Options, form.Option{Value: g, Label: g})
	}
	wrong.PlaceChoice(&gases)
	set := form.NumberField("set_point", "Must hold", "", d.Temp, strings.TrimPrefix(get("set_point"), "−"))
	set.Signed, set.Below = true, strings.HasPrefix(get("set_point"), "−") || strings.HasPrefix(get("set_point"), "-") ||
		get("set_point_sign") == "minus"
	set.Value = strings.TrimPrefix(set.Value, "-")
	apps := words("application", "What it cools", "", reading.ApplicationWords(), text.Application, "Choose")
	first.Items = append(
		first.Items,
		in(form.TextField("name", "Name of the machine", "Such as Walk-in freezer 1", get("name"))),
		sel(gases),
		sel(apps),
		in(set),
	)
	receiver := form.Choice{
		Name:    "receiver",
		Label:   "Liquid receiver",
		Value:   get("receiver"),
		Options: []form.Option{{Value: "", Label: "Not known"}, {Value: "yes", Label: "Yes"}, {Value: "no", Label: "None"}},
	}
	design := form.Group{Title: "How it is built", Items: []form.Item{
		sel(words("expansion", "Valve", "", reading.ExpansionWords(), text.Expansion, "Not known")),
		one(receiver),
		sel(words("head_control", "Head control for the cold", "", reading.HeadControlWords(), text.HeadControl, "Not known")),
		in(form.NumberField("td", "Design TD", "Box less suction saturation, as designed", d.DiffUnit(), get("td"))),
		in(form.NumberField("split", "Design split", "Head saturation less outside air", d.DiffUnit(), get("split"))),
		in(form.NumberField("subcooling", "Design subcooling", "Only without a receiver, if the plate says", d.DiffUnit(), get("subcooling"))),
		one(
			form.Choice{
				Name:    "exchanger",
				Label:   "Heat exchanger between liquid and suction line",
				Value:   get("exchanger"),
				Options: []form.Option{{Value: "", Label: "Not known"}, {Value: "yes", Label: "Yes"}, {Value: "no", Label: "None"}},
			},
		),
		in(
			form.NumberField(
				"crankcase",
				"Crankcase regulator set to",
				"Most pressure it lets into the compressor; empty if there is none",
				gaugeUnit(d),
				get("crankcase"),
			),
		),
		in(
			form.NumberField(
				"evaporator",
				"Evaporator regulator set to",
				"Least pressure it leaves in the coil; empty if there is none",
				gaugeUnit(d),
				get("evaporator"),
			),
		),
		in(form.NumberField("full_charge", "Full charge", "9 lb 8 oz, or 4.3 kg", massUnit(d), get("full_charge"))),
		in(form.NumberField("rated_amps", "Rated current of the compressor", "", "A", get("rated_amps"))),
	}}
	papers := form.Group{Title: "Papers", Items: []form.Item{
		in(form.TextField("maker", "Maker", "", get("maker"))), in(form.TextField("serial", "Serial number", "", get("serial"))),
		in(form.TextField("installed", "Installed", "Year or date", get("installed"))),
	}}
	note := form.TextField("note", "Note", "", get("note"))
	papers.Items = append(papers.Items, form.Item{Area: &note})
	b.Groups = []form.Group{first, design, papers}
	b.Errors = wrong.Rest()
	p := &Page{Title: b.Head, Tab: "machines", Body: b}
	if editing {
		m, err := s.app.Machine(r.Context(), id(r, "machine"), app.MachineParts{})
		if err != nil {
			return err
		}
		p.Kept = s.plateKept(m, r.URL.Path) // to type from
	}
	s.show(w, r, status, "form", p)
	return nil
}

// usualExchanger is the effectiveness of an exchanger that is fitted and of which no more is known. Common practice, no source.
var usualExchanger = 0.4

// gaugeUnit is the unit of a gauge: those who read absolute pressures set a regulator in bar.
func gaugeUnit(d units.Display) string {
	if d.Pressure == "kPa(a)" {
		return "bar(g)"
	}
	return d.PressureUnit()
}

// gaugePressure reads what a gauge shows, Pa over the air outside.
func gaugePressure(text, fallback string) (float64, error) {
	e, err := units.ParsePressure(text, fallback)
	if err != nil {
		return 0, err
	}
	if !e.Gauge {
		return 0, fail.New(fail.BadUnit, "", fmt.Sprintf("%q is absolute", text), "write what a gauge shows, such as 30 psig")
	}
	if !(e.Pa > -0.8*float64(units.Atm) && e.Pa < 20*units.Bar) {
		return 0, fail.New(
			fail.Range,
			"",
			fmt.Sprintf("%q is no setting of a regulator", text),
			"allowed: a vacuum of 0.8 atmospheres to 20 bar(g)",
		)
	}
	return e.Pa, nil
}

func massUnit(d units.Display) string {
	if d.Mass == "kg" {
		return "kg"
	}
	return "lb"
}

func (s *Pages) NewMachine(w http.ResponseWriter, r *http.Request) error {
	stored := map[string]string{"site": r.URL.Query().Get("site")}
	if i := id(r, "machine"); i != "" {
		v, err := s.app.Machine(r.Context(), i, app.MachineParts{})
		if err != nil {
			return err
		}
		d, m := form.Units(r), v.Machine
		stored = map[string]string{
			"name":         m.Name,
			"refrigerant":  m.Refrigerant,
			"application":  m.Application,
			"expansion":    m.Expansion,
			"head_control": m.HeadControl,
			"maker":        m.Maker,
			"serial":       m.Serial,
			"installed":    m.Installed,
			"note":         m.Note,
		}
		if m.SetPointK != nil {
			stored["set_point"] = tidy(d.TempNumber(units.Temp(*m.SetPointK), 1))
		}
		if m.Receiver != nil {
			stored["receiver"] = map[bool]string{true: "yes", false: "no"}[*m.Receiver]
		}
		if m.DesignTDK != nil {
			stored["td"] = tidy(d.DiffNumber(units.TempDiff(*m.DesignTDK), 1))
		}
		if m.DesignSplitK != nil {
			stored["split"] = tidy(d.DiffNumber(units.TempDiff(*m.DesignSplitK), 1))
		}
		if m.FullChargeG != nil {
			stored["full_charge"] = strings.TrimSuffix(d.FormatMass(grams(*m.FullChargeG)), " kg")
		}
		if m.DesignSubcoolK != nil {
			stored["subcooling"] = tidy(d.DiffNumber(units.TempDiff(*m.DesignSubcoolK), 1))
		}
		if m.Exchanger != nil {
			stored["exchanger"] = map[bool]string{true: "yes", false: "no"}[*m.Exchanger > 0]
		}
		for key, v := range map[string]*float64{"crankcase": m.CrankcaseGaugePa, "evaporator": m.EvaporatorGaugePa} {
			if v != nil {
				stored[key] = tidy(units.Display{Pressure: gaugeUnit(d)}.PressureNumber(units.Atm+units.Pressure(*v), units.Atm))
			}
		}
		if m.RatedAmps != nil {
			stored["rated_amps"] = tidy(units.Fixed(*m.RatedAmps, 1))
		}
	}
	return s.machineForm(w, r, func(k string) string { return stored[k] }, form.Mistakes{})
}

func tidy(s string) string { return strings.TrimSuffix(s, ".0") }

func (s *Pages) SaveMachine(w http.ResponseWriter, r *http.Request) error {
	f, wrong, d := r.PostForm, form.Mistakes{}, form.Units(r)
	get := func(k string) string { return strings.TrimSpace(f.Get(k)) }
	b := record.MachineBody{
		Name: get(
			"name",
		),
		Refrigerant: get("refrigerant"),
		Application: get("application"),
		Expansion:   get("expansion"),
		HeadControl: get("head_control"),
		Maker:       get("maker"),
		Serial:      get("serial"),
		Installed:   get("installed"),
		Note:        get("note"),
		SetPointK: wrong.OptionalTemp(
			"set_point",
			form.Signed(r, "set_point"),
			d.Temp,
		),
		DesignTDK: wrong.OptionalDiff("td", get("td"), d.DiffUnit()),
		DesignSplitK: wrong.OptionalDiff(
			"split",
			get("split"),
			d.DiffUnit(),
		),
		RatedAmps: wrong.Optional("rated_amps", get("rated_amps"), "A", units.ParseCurrent),
	}
	b.DesignSubcoolK = wrong.OptionalDiff("subcooling", get("subcooling"), d.DiffUnit())
	b.CrankcaseGaugePa = wrong.Optional("crankcase", get("crankcase"), gaugeUnit(d), gaugePressure)
	b.EvaporatorGaugePa = wrong.Optional("evaporator", get("evaporator"), gaugeUnit(d), gaugePressure)
	if v := get("full_charge"); v != "" {
		m, err := units.ParseMass(v, massUnit(d))
		if err != nil {
			wrong.Add("full_charge", err)
		}
		g := int64(float64(m)*units.Kilo + 0.5)
		b.FullChargeG = &g
	}
	switch get("receiver") {
	case "yes", "no":
		yes := get("receiver") == "yes"
		b.Receiver = &yes
	}
	switch get("exchanger") {
	case "yes":
		b.Exchanger = &usualExchanger
	case "no":
		none := 0.0
		b.Exchanger = &none
	}
	if b.Refrigerant == "" {
		wrong["refrigerant"] = fail.New(fail.Required, "refrigerant", "is missing", "it is on the plate")
	}
	if b.Name == "" {
		wrong["name"] = fail.New(fail.Required, "name", "is missing", "such as Walk-in freezer 1")
	}
	machine, site := id(r, "machine"), record.ID(get("site"))
	if machine != "" {
		v, err := s.app.Machine(r.Context(), machine, app.MachineParts{})
		if err != nil {
			return err
		}
		site = v.Machine.Site
		// What this form does not ask stays as it is.
		old := v.Machine.MachineBody
		if get("exchanger") == "yes" && old.Exchanger != nil && *old.Exchanger > 0 {
			b.Exchanger = old.Exchanger
		}
		b.DesignBoxK, b.DesignAmbK, b.HeadSetK = old.DesignBoxK, old.DesignAmbK, old.HeadSetK
	} else if site == "" && get("new_site") == "" {
		wrong["new_site"] = fail.New(fail.Required, "new_site", "is missing", "choose a site or name a new one")
	}
	if len(wrong) == 0 {
		act := s.act(r)
		if site == "" {
			var err error
			// The site gets an id of its own; the machine keeps the form's, so that sending twice makes one of each.
			if site, err = s.siteByName(r, get("new_site")); err != nil {
				return err
			}
		}
		made, err := s.app.SaveMachine(r.Context(), act, site, machine, b)
		if err == nil {
			return redirect(w, r, machinePath(made))
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.machineForm(w, r, f.Get, wrong)
}

// siteByName finds a site by its name or adds it.
func (s *Pages) siteByName(r *http.Request, name string) (record.ID, error) {
	sites, err := s.app.Sites(r.Context())
	if err != nil {
		return "", err
	}
	for _, v := range sites {
		if strings.EqualFold(v.Name, name) {
			return v.ID, nil
		}
	}
	return s.app.SaveSite(r.Context(), app.Act{By: s.act(r).By}, "", record.SiteBody{Name: name})
}
