package page

import (
	"net/http"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
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
			Text: "Started " + zoned(v.Opened, m.Site, "2 January, 15:04") + ".",
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
			Picks: whyCame(""),
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
		m    *float64
	}{{"Lines", m.LineLengthM}, {"Lift to the coil", m.LiftM}} {
		if x.m != nil {
			add(x.name, lengthNumber(d, *x.m)+" "+lengthUnit(d))
		}
	}
	if plate.Accumulator {
		add("Suction line", "accumulator")
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
	if m.LockedAmps != nil {
		add("Locked-rotor current", units.Fixed(*m.LockedAmps, 0)+" A")
	}
	if m.RatedPowerW != nil {
		add("Rated power", kilowatts(*m.RatedPowerW)+" kW")
	}
	add("Maker", m.Maker)
	add("Serial", m.Serial)
	add("Installed", m.Installed)
	add("Altitude", altitude(site.AltitudeM, d))
	add("Note", m.Note)
	if len(assumed) > 0 {
		add("Assumed", strings.Join(text.AssumedList(assumed, d), ", "))
	}
	return out
}

func altitude(m float64, d units.Display) string {
	if d.Temp == "°F" {
		return units.Fixed(m/units.Foot, 0) + " ft, gauges corrected"
	}
	return units.Fixed(m, 0) + " m, gauges corrected"
}

// zoned is a moment on the clock of its site, with the zone's name behind it.
func zoned(t time.Time, site record.Site, layout string) string {
	at := t.In(site.Location())
	return at.Format(layout) + " " + text.ZoneMark(at)
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
		out = append(out, PlateCell{Name: "Visit", Value: zoned(v.Opened, site, "2 January, 15:04"), Desk: true})
	}
	return out
}

// whyCame asks why somebody came: one tap, and none leaves it unsaid.
func whyCame(said string) form.Choice {
	return form.Choice{
		ID: "s-reason", Name: "reason", Label: "Why did you come?", Value: said,
		Hint: "A sound machine is seldom met on a complaint and mostly on a visit that was due: the odds start from there.",
		Options: []form.Option{
			{Value: "", Label: "Not said"},
			{Value: reading.Complaint.String(), Label: "A complaint"},
			{Value: reading.Planned.String(), Label: "It was due"},
		},
	}
}

func (s *Pages) OpenVisit(w http.ResponseWriter, r *http.Request) error {
	visit, err := s.app.BeginVisit(r.Context(), s.act(r), id(r, "machine"),
		record.OpenBody{Complaint: r.PostForm.Get("complaint"), Reason: r.PostForm.Get("reason")})
	if err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit))
}

// Visits leads to the open visits: which of them is meant, the list on the first page lets a person say.
func (s *Pages) Visits(w http.ResponseWriter, r *http.Request) error { return redirect(w, r, "/") }
