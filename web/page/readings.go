package page

import (
	"net/http"
	"slices"
	"strings"
	"unicode"

	"coldwright/app"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

// entry is one place on the readings form.
type entry struct {
	Key, Label, With string
	Field, U         form.Field
	Had              bool // shown with a value: emptied, it is taken back
	Instrument       form.Choice
	Picks            *form.Choice
}

type readingsBody struct {
	EndWord, OtherEnd, OtherWord, Caption, Parts, Action, Switch, Form, Count string
	Circuit                                                                   plot.Scene
	CircuitTable                                                              figure.Table
	PH                                                                        *phBody
	Cautions                                                                  []text.Caution
	Entries, More                                                             []entry
	OpenMore                                                                  bool
	RunningMin, SinceDefrost                                                  form.Field
	Errors                                                                    []string
}

// phBody is the diagram beside the circuit.
type phBody struct {
	Title, Caption string
	Scene          plot.Scene
	Notes          []string
	Table          figure.Table
}

// diagram draws the cycle; nil while no pressure was read, or where the refrigerant has no chart.
func diagram(v *app.VisitView, p record.Phase, d units.Display) *phBody {
	if v.ChartErr != nil {
		return nil // the readings stand without it, and what is wrong with the refrigerant is said where it is judged
	}
	fig := figure.PHFrom(v.End(p).Sheet, v.End(p).Posterior, v.Chart, d)
	if !fig.Known() {
		return nil
	}
	return &phBody{fig.Section(), fig.Caption(), figure.PH(fig), fig.Notes(), fig.Table()}
}

// firstPlaces are the places asked for at once; the others wait behind "more".
var firstPlaces = []reading.Place{
	reading.SuctionPressure, reading.DischargePressure, reading.BoxAir, reading.Ambient, reading.CoilOutletLine, reading.LiquidLine,
}

func (s *Pages) Readings(w http.ResponseWriter, r *http.Request) error {
	return s.showReadings(w, r, http.StatusOK, untyped, form.Mistakes{})
}

func (s *Pages) showReadings(w http.ResponseWriter, r *http.Request, status int, typed typedText, wrong form.Mistakes) error {
	lines := figure.PHLines(form.Units(r))
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{askedEnd(r)}, Running: true, Chart: &lines})
	if err != nil {
		return err
	}
	phase := phaseOf(r, v.Visit)
	d, base := form.Units(r), visitPath(v.Visit.ID)
	other, otherWord := otherEnd(phase)
	sheet := v.End(phase).Sheet
	fig := figure.CircuitFrom(sheet, v.End(phase).Posterior, d, false)
	b := readingsBody{
		EndWord:      endWords(phase),
		OtherEnd:     base + "/readings?end=" + string(other),
		OtherWord:    otherWord,
		Action:       base + "/readings?end=" + string(phase),
		Switch:       base + "/readings?end=" + string(phase) + "&show",
		Form:         s.formID(),
		Circuit:      figure.Circuit(fig),
		CircuitTable: fig.Table(),
		Caption:      fig.Caption(),
		Parts:        fig.Parts(),
		Count:        plural(len(sheet.Readings), "reading") + " so far",
		Cautions:     text.Cautions("connect", danger(v.Machine)),
	}
	b.PH = diagram(v, phase, d)
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	keep := func(f *form.Field) {
		if t, ok := typed(f.Name); ok {
			f.Value, f.Sign = t, r.PostForm.Get(f.Name+"_sign")
		}
		wrong.Place(r, f)
	}
	onMap := map[string]bool{}
	for _, t := range fig.Tags {
		onMap[t.Key] = true
	}
	for _, at := range reading.Places() {
		words := text.Place(at)
		e := entry{Key: at.String(), Label: words.Label, Field: placeField(v, phase, at, d)}
		if at.Kind() == reading.KindPressure {
			if h := saturation(v, phase, at, d); h != "" {
				e.Field.Hint = h
			}
		}
		have, read := sheet.Find(at)
		e.With = text.LowerFirst(text.Instrument(have.Instrument))
		e.Instrument = form.Choice{ID: "i-" + e.Key, Name: "i_" + e.Key, Label: "Read with", Value: have.Instrument.String()}
		if !read {
			e.Instrument.Value = ""
		}
		e.Instrument.Options = append(e.Instrument.Options, form.Option{Value: "", Label: "Not said"})
		offered := at.Instruments()
		if i := have.Instrument; i != reading.InstrumentUnknown && !slices.Contains(offered, i) {
			offered = append(offered, i) // from elsewhere: it stays as it was said
		}
		for _, i := range offered {
			e.Instrument.Options = append(e.Instrument.Options, form.Option{Value: i.String(), Label: text.Instrument(i)})
		}
		if t, ok := typed(e.Instrument.Name); ok {
			e.Instrument.Value = t
		}
		e.Field.Was = form.CameWith(r, e.Key, *e.Field.Was)
		e.Instrument.Was = form.CameWith(r, e.Instrument.Name, instrument(e.Instrument.Value))
		e.Had = read
		e.U = form.TextField("u_"+e.Key, "Known to within", "Standard uncertainty; empty: that of the instrument", "")
		e.U.Unit, e.U.Number = uncertaintyUnit(at, d), true
		if have.U > 0 {
			e.U.Value = units.Whole(shownU(have.U, at, d))
		}
		e.U.Was = form.CameWith(r, e.U.Name, e.U.Value)
		keep(&e.U)
		keep(&e.Field)
		if slices.Contains(firstPlaces, at) || read || e.Field.Bad != "" {
			b.Entries = append(b.Entries, e)
		} else {
			b.More = append(b.More, e)
		}
	}
	// A place tapped in the drawing must be on the page even while the others are folded away: a link into a closed part opens it.
	if onMap["glass"] {
		p := seenPicks("glass", sheet.Seen)
		p.Was = form.CameWith(r, p.Name, p.Value)
		if t, ok := typed(p.Name); ok {
			p.Value = t
		}
		b.Entries = append(b.Entries, entry{Key: "glass", Label: p.Label, Picks: &p})
	}
	minutes := func(name, label, hint string, have *float64) form.Field {
		f := form.NumberField(name, label, hint, "min", "")
		if have != nil {
			f.Value = units.Whole(units.Fixed(*have, 1))
		}
		f.Was = form.CameWith(r, name, f.Value)
		keep(&f)
		return f
	}
	// What the clock counts is said, not filled in: a number that comes back would stop the clock.
	end, hints := v.Visit.End(phase), [2]string{"Readings settle after about 15", ""}
	running, since := end.Minutes(v.Now)
	for i, m := range []*float64{running, since} {
		if m != nil && (i == 0 && end.RunningMin == nil || i == 1 && end.SinceDefrostMin == nil) {
			hints[i] = "By the clock " + units.Fixed(*m, 0) + "; a number here takes its place"
		}
	}
	b.RunningMin = minutes("running_min", "Running for", hints[0], end.RunningMin)
	b.SinceDefrost = minutes("since_defrost_min", "Since the last defrost", hints[1], end.SinceDefrostMin)
	b.Errors = wrong.Rest(r)
	p := s.visitPage(v, d, "Readings", false)
	p.Class, p.Body = "wide-left", b
	p.Kept = s.kept(v, "connect", visitPath(v.Visit.ID)+"/readings")
	s.show(w, r, status, "readings", p)
	return nil
}

// uncertaintyUnit is the unit of a difference at a place.
func uncertaintyUnit(at reading.Place, d units.Display) string {
	switch at.Kind() {
	case reading.KindTemperature:
		return d.DiffUnit()
	case reading.KindPressure:
		return strings.TrimSuffix(strings.NewReplacer("(g)", "", "(a)", "").Replace(d.PressureUnit()), "g")
	}
	return unitOf(at, d)
}

// shownU is a stored uncertainty as a number in that unit.
func shownU(u float64, at reading.Place, d units.Display) string {
	switch at.Kind() {
	case reading.KindTemperature:
		return d.DiffNumber(units.TempDiff(u), 1)
	case reading.KindPressure:
		switch d.Pressure {
		case "bar(g)":
			return units.Fixed(u/units.Bar, 3)
		case "kPa(a)":
			return units.Fixed(u/units.Kilo, 1)
		}
		return units.Fixed(u/units.Psi, 1)
	case reading.KindPower:
		return units.Fixed(u/units.Kilo, 2)
	case reading.KindShare:
		return units.Fixed(100*u, 1)
	}
	return units.Fixed(u, 2)
}

// unchanged reports whether a field came back as it was shown: rounding for the eye must not make a new reading. u is
// the uncertainty, empty where the page does not ask it.
func unchanged(v *app.VisitView, p record.Phase, at reading.Place, typed, instrument string, u []string, d units.Display) bool {
	t, ok := readingOf(v.Visit.End(p), at)
	if !ok {
		return false
	}
	was := shown(t.Value, at, d, v.Machine.Plate().AmbientPressure())
	wasU := ""
	if t.U > 0 {
		wasU = units.Whole(shownU(t.U, at, d))
	}
	return strings.ReplaceAll(strings.TrimSpace(typed), "-", "−") == was && (instrument == "" || instrument == t.Instrument.String()) &&
		(len(u) == 0 || strings.TrimSpace(u[0]) == wasU)
}

// observed reads the places, answers and minutes of a form.
func observed(r *http.Request, v *app.VisitView, p record.Phase, d units.Display, wrong form.Mistakes) app.Observed {
	var o app.Observed
	for _, at := range reading.Places() {
		name := at.String()
		typed, with, u := wrong.Signed(r, name), instrument(r.PostForm.Get("i_"+name)), strings.TrimSpace(r.PostForm.Get("u_"+name))
		switch {
		case form.Untouched(r, name, typed) && form.Untouched(r, "i_"+name, r.PostForm.Get("i_"+name)) && form.Untouched(r, "u_"+name, u):
		case strings.TrimSpace(typed) == "":
			// Emptied by hand. A field that was empty when the page was made says nothing: another tab may have filled it.
			if slices.Contains(r.PostForm["had"], name) {
				o.Entries = append(o.Entries, app.Entry{Place: at, Clear: true})
			}
		case !unchanged(v, p, at, typed, with, r.PostForm["u_"+name], d):
			o.Entries = append(
				o.Entries,
				app.Entry{
					Place: at, Text: typed, Unit: unitOf(at, d), Instrument: with, U: u, UUnit: uncertaintyUnit(at, d),
					Sure: form.Sure(r, name, typed),
				},
			)
		}
	}
	o.Seen = seenOf(r, reading.SeenKeys())
	end := v.Visit.End(p)
	o.RunningMin, o.SinceDefrostMin = end.RunningMin, end.SinceDefrostMin
	for name, to := range map[string]**float64{"running_min": &o.RunningMin, "since_defrost_min": &o.SinceDefrostMin} {
		if typed := r.PostForm.Get(name); !form.Untouched(r, name, typed) {
			o.SetRunning = true
			*to = wrong.Optional(name, typed, "min", units.ParseMinutes)
		}
	}
	return o
}

func instrument(word string) string {
	if word == reading.InstrumentUnknown.String() {
		return ""
	}
	return word
}

func (s *Pages) SaveReadings(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{})
	if err != nil {
		return err
	}
	phase, wrong := phaseOf(r, v.Visit), form.Mistakes{}
	if r.URL.Query().Has("show") {
		return s.switchUnits(w, r, v, phase)
	}
	o := observed(r, v, phase, form.Units(r), wrong)
	// Fields that could not be read here are said together with those the application refuses.
	err = nil
	if len(wrong) == 0 {
		err = s.app.SaveReadings(r.Context(), s.act(r), v.Visit.ID, phase, o)
	}
	if err == nil && len(wrong) == 0 {
		return redirect(w, r, visitPath(v.Visit.ID)+"/judge?end="+string(phase))
	}
	if err != nil && !wrong.Take(err) {
		return err
	}
	return s.showReadings(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
}

// switchUnits shows the form in other units without saving. What was typed stays, with the unit it was typed in.
func (s *Pages) switchUnits(w http.ResponseWriter, r *http.Request, v *app.VisitView, phase record.Phase) error {
	old := form.Units(r)
	p := form.ReadProfile(r)
	p.Temp, p.Pressure = form.OneOf("temp", r.PostForm.Get("temp")), form.OneOf("pressure", r.PostForm.Get("pressure"))
	p.Write(w)
	kept := map[string]string{}
	for _, at := range reading.Places() {
		name := at.String()
		typed := form.Mistakes{}.Signed(r, name)
		t, read := readingOf(v.Visit.End(phase), at)
		if typed == "" || read && strings.ReplaceAll(typed, "-", "−") == shown(t.Value, at, old, v.Machine.Plate().AmbientPressure()) {
			continue
		}
		if !strings.ContainsFunc(typed, unicode.IsLetter) && !strings.Contains(typed, "°") {
			typed += " " + unitOf(at, old)
		}
		kept[name] = typed
	}
	for name := range r.PostForm {
		if strings.HasPrefix(name, "i_") || strings.HasPrefix(name, "s_") || strings.HasSuffix(name, "_min") {
			kept[name] = r.PostForm.Get(name)
		}
		if strings.HasSuffix(name, "_sign") || strings.HasPrefix(name, "was_") {
			r.PostForm.Del(name)
		}
	}
	r.PostForm.Set("shown", strings.Join([]string{p.Temp, p.Pressure, old.Mass}, "|"))
	return s.showReadings(w, r, http.StatusOK, func(name string) (string, bool) { t, ok := kept[name]; return t, ok }, form.Mistakes{})
}

// SaveOne saves what the judge page asks: one reading, or both sides of the drier, or one look.
func (s *Pages) SaveOne(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{})
	if err != nil {
		return err
	}
	phase, wrong := phaseOf(r, v.Visit), form.Mistakes{}
	o := observed(r, v, phase, form.Units(r), wrong)
	if len(wrong) == 0 {
		err = s.app.SaveReadings(r.Context(), s.act(r), v.Visit.ID, phase, o)
		if err == nil {
			return redirect(w, r, visitPath(v.Visit.ID)+"/judge?end="+string(phase))
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.showJudge(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
}

// readingOf is one stored reading of an end.
func readingOf(e *record.End, at reading.Place) (record.Taken, bool) {
	for _, t := range e.Readings {
		if t.Reading.At == at {
			return t, true
		}
	}
	return record.Taken{}, false
}
