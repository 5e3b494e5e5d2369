package page

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

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
		wrong.PlaceChoice(r, &p)
		return p
	}
	in := func(f form.Field) form.Item { wrong.Place(r, &f); return form.Item{Field: &f} }
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
		wrong.PlaceChoice(r, &p)
		first.Items = append(
			first.Items,
			sel(p),
			in(form.TextField("new_site", "Name of the new site", "Only when it is not in the list", get("new_site"))),
			in(zoneField("Time zone of the new site", get("zone"))),
		)
	}
	gases := form.Choice{ID: "f-refrigerant", Name: "refrigerant", Label: "Refrigerant", Hint: "As the plate says", Value: get("refrigerant")}
	gases.Options = append(gases.Options, form.Option{Value: "", Label: "Choose"})
	for _, g := range refrigerant.InOrder() {
		gases.Options = append(gases.Options, form.Option{Value: g, Label: text.Refrigerant(g)})
	}
	wrong.PlaceChoice(r, &gases)
	set := form.NumberField("set_point", "Must hold", "Say below zero, or type the minus", d.Temp, get("set_point"))
	set.Signed, set.Sign, set.Was = true, r.PostForm.Get("set_point_sign"), form.CameWith(r, "set_point", get("set_point"))
	wrong.Place(r, &set)
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
		in(form.NumberField("line_length", "Length of the lines", "From the unit to the coil, one way", lengthUnit(d), get("line_length"))),
		in(form.NumberField("lift", "Lift to the coil", "Up from the unit; below zero if the coil is lower", lengthUnit(d), get("lift"))),
		one(
			form.Choice{
				Name:    "accumulator",
				Label:   "Accumulator in the suction line",
				Value:   get("accumulator"),
				Options: []form.Option{{Value: "", Label: "Not known"}, {Value: "yes", Label: "Yes"}, {Value: "no", Label: "None"}},
			},
		),
		in(form.NumberField("full_charge", "Full charge", "9 lb 8 oz, or 4.3 kg", massUnit(d), get("full_charge"))),
		in(form.NumberField("rated_amps", "Rated current of the compressor", "RLA, if the plate says", "A", get("rated_amps"))),
		in(form.NumberField("locked_amps", "Locked-rotor current", "LRA; used where no rated current is given", "A", get("locked_amps"))),
		in(form.NumberField("rated_power", "Rated power of the compressor", "By the plate; or type 1800 W", "kW", get("rated_power"))),
	}}
	papers := form.Group{Title: "Papers", Items: []form.Item{
		in(form.TextField("maker", "Maker", "", get("maker"))), in(form.TextField("serial", "Serial number", "", get("serial"))),
		in(form.TextField("installed", "Installed", "Year or date", get("installed"))),
	}}
	note := form.TextField("note", "Note", "", get("note"))
	papers.Items = append(papers.Items, form.Item{Area: &note})
	b.Groups = []form.Group{first, design, papers}
	b.Errors = wrong.Rest(r)
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
		return 0, fail.Of(fail.BadUnit, "", "regulator.absolute", fail.Args{"text": text})
	}
	if !(e.Pa > -0.8*float64(units.Atm) && e.Pa < 20*units.Bar) {
		return 0, fail.Of(fail.Range, "", "regulator.setting", fail.Args{"text": text})
	}
	return e.Pa, nil
}

// lengthUnit is the unit of a length for who reads temperatures like this.
func lengthUnit(d units.Display) string {
	if d.Temp == "°C" {
		return "m"
	}
	return "ft"
}

// lengthNumber is a length in that unit.
func lengthNumber(d units.Display, m float64) string {
	if lengthUnit(d) == "m" {
		return units.Whole(units.Fixed(m, 1))
	}
	return units.Whole(units.Fixed(m/units.Foot, 1))
}

// lengthWithin reads a length, m, between two ends.
func lengthWithin(lo, hi float64) func(text, fallback string) (float64, error) {
	return func(text, fallback string) (float64, error) {
		v, err := units.ParseLength(text, fallback)
		if err == nil && !(v >= lo && v <= hi) {
			err = fail.Of(fail.Range, "", "reading.outside", fail.Args{"value": v, "min": lo, "max": hi})
		}
		return v, err
	}
}

// kilowatts is a power, W, as the plate's field takes it: to the watt.
func kilowatts(w float64) string { return strconv.FormatFloat(math.Round(w)/units.Kilo, 'f', -1, 64) }

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
			stored["set_point"] = units.Whole(d.TempNumber(units.Temp(*m.SetPointK), 1))
		}
		if m.Receiver != nil {
			stored["receiver"] = map[bool]string{true: "yes", false: "no"}[*m.Receiver]
		}
		if m.DesignTDK != nil {
			stored["td"] = units.Whole(d.DiffNumber(units.TempDiff(*m.DesignTDK), 1))
		}
		if m.DesignSplitK != nil {
			stored["split"] = units.Whole(d.DiffNumber(units.TempDiff(*m.DesignSplitK), 1))
		}
		if m.FullChargeG != nil {
			stored["full_charge"] = strings.TrimSuffix(d.FormatMass(grams(*m.FullChargeG)), " kg")
		}
		if m.DesignSubcoolK != nil {
			stored["subcooling"] = units.Whole(d.DiffNumber(units.TempDiff(*m.DesignSubcoolK), 1))
		}
		if m.Accumulator != nil {
			stored["accumulator"] = map[bool]string{true: "yes", false: "no"}[*m.Accumulator]
		}
		for key, v := range map[string]*float64{"line_length": m.LineLengthM, "lift": m.LiftM} {
			if v != nil {
				stored[key] = lengthNumber(d, *v)
			}
		}
		if m.Exchanger != nil {
			stored["exchanger"] = map[bool]string{true: "yes", false: "no"}[*m.Exchanger > 0]
		}
		for key, v := range map[string]*float64{"crankcase": m.CrankcaseGaugePa, "evaporator": m.EvaporatorGaugePa} {
			if v != nil {
				stored[key] = units.Whole(units.Display{Pressure: gaugeUnit(d)}.PressureNumber(units.Atm+units.Pressure(*v), units.Atm))
			}
		}
		for key, v := range map[string]*float64{"rated_amps": m.RatedAmps, "locked_amps": m.LockedAmps} {
			if v != nil {
				stored[key] = units.Whole(units.Fixed(*v, 1))
			}
		}
		if w := m.RatedPowerW; w != nil {
			stored["rated_power"] = kilowatts(*w)
		}
	}
	return s.machineForm(w, r, func(k string) string { return stored[k] }, form.Mistakes{})
}

func (s *Pages) SaveMachine(w http.ResponseWriter, r *http.Request) error {
	f, wrong, d := r.PostForm, form.Mistakes{}, form.Units(r)
	get := func(k string) string { return strings.TrimSpace(f.Get(k)) }
	if a, err := reading.ParseApplication(get("application")); err == nil && a.Frozen() {
		f.Add("asks_sign", "set_point")
	}
	b := record.MachineBody{
		Name:         get("name"),
		Refrigerant:  get("refrigerant"),
		Application:  get("application"),
		Expansion:    get("expansion"),
		HeadControl:  get("head_control"),
		Maker:        get("maker"),
		Serial:       get("serial"),
		Installed:    get("installed"),
		Note:         get("note"),
		SetPointK:    wrong.OptionalTemp("set_point", wrong.Signed(r, "set_point"), d.Temp),
		DesignTDK:    wrong.OptionalDiff("td", get("td"), d.DiffUnit()),
		DesignSplitK: wrong.OptionalDiff("split", get("split"), d.DiffUnit()),
		RatedAmps:    wrong.Optional("rated_amps", get("rated_amps"), "A", units.ParseCurrent),
		LockedAmps:   wrong.Optional("locked_amps", get("locked_amps"), "A", units.ParseCurrent),
		RatedPowerW:  wrong.Optional("rated_power", get("rated_power"), "kW", units.ParsePower),
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
	b.LineLengthM = wrong.Optional("line_length", get("line_length"), lengthUnit(d), lengthWithin(reading.ShortestLine, reading.LongestLine))
	b.LiftM = wrong.Optional("lift", get("lift"), lengthUnit(d), lengthWithin(-reading.MostLift, reading.MostLift))
	switch get("accumulator") {
	case "yes", "no":
		yes := get("accumulator") == "yes"
		b.Accumulator = &yes
	}
	switch get("exchanger") {
	case "yes":
		b.Exchanger = &usualExchanger
	case "no":
		none := 0.0
		b.Exchanger = &none
	}
	if b.Refrigerant == "" {
		wrong["refrigerant"] = fail.Of(fail.Required, "refrigerant", "machine.refrigerant_needed", nil)
	}
	if b.Name == "" {
		wrong["name"] = fail.Of(fail.Required, "name", "machine.name_missing", nil)
	}
	machine, site, zone := id(r, "machine"), record.ID(get("site")), ""
	if site == "" && machine == "" {
		zone = zoneSaid(r, wrong)
	}
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
		wrong["new_site"] = fail.Of(fail.Required, "new_site", "site.missing", nil)
	}
	if len(wrong) == 0 {
		act := s.act(r)
		if site == "" {
			var err error
			// The site gets an id of its own; the machine keeps the form's, so that sending twice makes one of each.
			if site, err = s.siteByName(r, get("new_site"), zone); err != nil {
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
