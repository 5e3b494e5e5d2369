package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/leak"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

// leakButton is a button of a find: what it says and the act it sends.
type leakButton struct {
	Label, Act string
	Second     bool
}

type leakFind struct {
	Place, Name, Form, TakeForm, Event, Back string

	Tag     *tag
	Buttons []leakButton
	Kept    *keptBody // its photos and the form for one
}

type leakNext struct {
	Over, Head, Look, How, Chance, Why, Low, Then string
	Place, Method, Form                           string
	Cautions                                      string
}

type leakRow struct {
	Key, Name, Look, Hundred, Seen, Base, Form string // no form once the visit is closed
	Photo                                      string
	Tag                                        *tag
	Bar                                        plot.Scene
	Method                                     form.Choice
}

type leakGuard struct{ Text string }

type leakBody struct {
	Base, Para, Verdict, Over, Sentence, Listed string
	Closed                                      bool
	Errors                                      []string
	First                                       *leakFind // the find that is due
	Guards                                      []leakGuard
	Next                                        *leakNext
	Rows, More                                  []leakRow
	MoreWords                                   string
	Finds                                       []leakFind
	Looked                                      []doneRow
	Size, Smallest                              []string
	SetForm, SetNote                            string
	High, Low                                   form.Field
	Charge, Draught                             form.Choice
}

// leakLanguage is the language of the pages.
const leakLanguage = text.English

func (s *Pages) LeakSearch(w http.ResponseWriter, r *http.Request) error {
	return s.showLeak(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showLeak(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.LeakSearch(r.Context(), id(r, "visit"))
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := leakBody{Base: visitPath(v.Visit.ID), Closed: !v.Visit.Closed.IsZero(), SetForm: s.formID()}
	b.Para = "Likely places first, most chance for each minute. What finds nothing still counts: it moves the leak elsewhere."
	for _, f := range v.Finds {
		x := s.leakFind(f, b.Base, b.Closed)
		x.Kept = s.kept(&v.VisitView, "search", b.Base+"/search")
		x.Kept.Where, x.Kept.Back = whereKey(record.Where{Step: "search", Place: f.Place}), b.Base+"/search#finds"
		x.Kept.Photos = nil
		for _, p := range v.Visit.Photos {
			if p.Step == "search" && p.Place == f.Place {
				x.Kept.Photos = append(x.Kept.Photos, s.photoItem(&v.VisitView, p, x.Kept.Back))
			}
		}
		b.Finds = append(b.Finds, x)
	}
	for i, f := range v.Finds {
		if f.Stage.Open() && !b.Closed {
			b.First = &b.Finds[i]
			b.Over, b.Sentence, b.Guards = due(v, f.Stage)
			break
		}
	}
	if !b.Closed {
		b.Next = s.leakNext(v)
	}
	if v.Verdict != leak.Go && !b.Closed {
		b.Verdict = text.LeakVerdict(v.Verdict, leakLanguage)
	}
	found := map[string]leak.Stage{}
	for _, f := range v.Finds {
		found[f.Place] = f.Stage
	}
	methods := []form.Option{}
	for _, m := range v.Catalogue.Methods {
		if !m.Whole && m.Usable(v.Conditions) {
			methods = append(methods, form.Option{Value: m.Key, Label: text.LeakMethod(m.Key, leakLanguage)})
		}
	}
	suggested := map[string]string{}
	for _, x := range v.Steps {
		suggested[x.Place.Key] = x.Method.Key
	}
	for _, x := range v.Search.Shares() {
		k := x.Place.Key
		row := leakRow{
			Key:     k,
			Name:    text.LeakPlace(k, leakLanguage),
			Look:    text.LeakLook(k, leakLanguage),
			Hundred: text.Hundred(x.P),
			Bar:     figure.SuspectBar(x.P),
			Base:    b.Base,
			Form:    s.formID(),
			Method:  form.Choice{ID: "m-" + k, Name: "method", Label: "Looked with", Value: suggested[k], Options: methods},
		}
		row.Photo = photoPath(b.Base, record.Where{Step: "search", Place: k})
		if b.Closed {
			row.Form = ""
		}
		switch {
		case x.Looks == 1:
			row.Seen = "Looked at once. "
		case x.Looks > 1:
			row.Seen = "Looked at " + plural(x.Looks, "time") + ". "
		}
		if st, ok := found[k]; ok {
			row.Tag = stageTag(st)
		}
		b.Rows = append(b.Rows, row)
	}
	if n := 6; len(b.Rows) > n {
		b.Rows, b.More = b.Rows[:n], b.Rows[n:]
		b.MoreWords = plural(len(b.More), "more place")
	}
	for _, l := range v.Visit.Looks {
		saw := "nothing"
		if l.Saw == string(leak.Signal) {
			saw = "something showed"
		}
		row := doneRow{
			Words: text.LeakPlace(l.Place, leakLanguage) + ", " + text.LowerFirst(text.LeakMethod(l.Method, leakLanguage)) + ": " + saw,
			Event: string(l.Event),
			Form:  s.formID(),
		}
		if b.Closed {
			row.Event = ""
		}
		b.Looked = append(b.Looked, row)
	}
	b.Listed = "Somewhere else: " + text.HundredWord(v.Search.NotListed()) + ". No leak at all: " + text.HundredWord(v.Search.None()) + "."
	if v.Second {
		b.Listed = "One leak is confirmed; the chances are those of a second one. " + b.Listed
	}
	b.Size, b.Smallest = leakSize(v, d)
	high, low := "", ""
	if p := v.Visit.LeakSet.HighPa; p != nil {
		high = units.Whole(d.PressureNumber(units.Pressure(*p), v.Conditions.Ambient))
	}
	if p := v.Visit.LeakSet.LowPa; p != nil {
		low = units.Whole(d.PressureNumber(units.Pressure(*p), v.Conditions.Ambient))
	}
	charge, draught := v.Visit.LeakSet.Charge, ""
	if charge == "" {
		charge = string(leak.Refrigerant)
	}
	if v.Visit.LeakSet.Draught {
		draught = "1"
	}
	if status != http.StatusOK {
		high, low, charge, draught = r.PostForm.Get("high"), r.PostForm.Get("low"), r.PostForm.Get("charge"), r.PostForm.Get("draught")
	}
	b.High = form.NumberField("high", "High side now", "", d.PressureUnit(), high)
	b.Low = form.NumberField("low", "Low side now", "", d.PressureUnit(), low)
	b.Charge = form.Choice{ID: "f-charge", Name: "charge", Label: "What stands in it", Value: charge}
	for _, g := range []leak.Charge{leak.Refrigerant, leak.Nitrogen, leak.Trace} {
		b.Charge.Options = append(b.Charge.Options, form.Option{Value: string(g), Label: text.LeakCharge(string(g), leakLanguage)})
	}
	b.Draught = form.Choice{
		Name:    "draught",
		Label:   "Air",
		Value:   draught,
		Options: []form.Option{{Value: "", Label: "Still"}, {Value: "1", Label: "Fans or wind"}},
	}
	b.SetNote = map[string]string{
		"entered": "As you entered it.", "standing_reading": "Taken from the standing pressure read.",
		"readings": "Taken from the running pressures read. If it stands still now, enter what the gauges show.",
		"design":   "Nothing read yet: taken from the design. Enter what the gauges show.",
	}[v.Basis] + " High side " + d.FormatPressure(v.Conditions.High, v.Conditions.Ambient) + ", low side " +
		d.FormatPressure(v.Conditions.Low, v.Conditions.Ambient) + "."
	wrong.Place(r, &b.High)
	wrong.Place(r, &b.Low)
	wrong.PlaceChoice(r, &b.Charge)
	b.Errors = wrong.Rest(r)
	p := s.visitPage(&v.VisitView, d, "Leak search", false)
	p.Class, p.Body = "two", b
	p.Kept = s.kept(&v.VisitView, "search", b.Base+"/search")
	s.show(w, r, status, "leak", p)
	return nil
}

func stageTag(st leak.Stage) *tag {
	words := text.LeakStage(st, leakLanguage)
	switch st {
	case leak.Rechecked:
		return &tag{"in", words}
	case leak.NotConfirmed:
		return &tag{"unknown", words}
	}
	return &tag{"over", words}
}

func (s *Pages) leakFind(f app.LeakFind, base string, closed bool) leakFind {
	out := leakFind{
		Place:    f.Place,
		Name:     text.LeakPlace(f.Place, leakLanguage),
		Tag:      stageTag(f.Stage),
		Form:     s.formID(),
		TakeForm: s.formID(),
		Event:    string(f.Event),
		Back:     base + "/search",
	}
	if closed {
		out.Event = ""
		return out
	}
	for i, a := range f.Acts {
		if a == leak.ActFound {
			continue // by looking again
		}
		out.Buttons = append(out.Buttons, leakButton{text.LeakAct(a, leakLanguage), string(a), i > 0})
	}
	return out
}

// due is what to do about a find, with the safeguards at it.
func due(v *app.LeakView, st leak.Stage) (over, sentence string, guards []leakGuard) {
	d := danger(v.Machine)
	at := func(title, step string) {
		// Two to a caution: more is not read with gloves on.
		for i, code := range v.Catalogue.SafeguardsAt(step, d.Flammable(), d.WalkIn()) {
			words := text.LeakSafeguard(code, leakLanguage)
			switch {
			case i == 0:
				guards = append(guards, leakGuard{title + ": " + text.LowerFirst(words)})
			case i%2 == 0:
				guards = append(guards, leakGuard{words})
			default:
				guards[len(guards)-1].Text += " " + words
			}
		}
	}
	switch st {
	case leak.Found:
		return "Make sure", "Bubbles on the very spot. Small leaks need ten minutes.", nil
	case leak.Confirmed, leak.StillLeaking:
		at("First", "before")
		at("Before you open it", "recover")
		at("At the flame", "braze")
		at("Before you close it", "close")
		return "Repair", "Photograph it, then repair it safely.", guards
	}
	at("With nitrogen", "test")
	return "Re-check", "Go over the repair before anything else, the far side too.", guards
}

// leakNext is the place to look at next.
func (s *Pages) leakNext(v *app.LeakView) *leakNext {
	if len(v.Steps) == 0 {
		return nil
	}
	x := v.Steps[0]
	n := &leakNext{
		Over:   "Look next",
		Head:   text.LeakPlace(x.Place.Key, leakLanguage),
		Look:   text.LeakLook(x.Place.Key, leakLanguage),
		How:    text.LeakMethod(x.Method.Key, leakLanguage),
		Chance: text.HundredWord(x.Chance) + " that it shows here, about " + minutes(x.Minutes) + ".",
		Why:    text.LeakWhy(x.Why, leakLanguage),
		Place:  x.Place.Key,
		Method: x.Method.Key,
		Form:   s.formID(),
	}
	var then []string
	for _, y := range v.Steps[1:] {
		if y.Method.Key == x.Method.Key && y.Place.Area == x.Place.Area && len(then) < 3 {
			then = append(then, text.LowerFirst(text.LeakPlace(y.Place.Key, leakLanguage)))
		}
	}
	if len(then) > 0 {
		n.Then = "Then, on the same walk: " + strings.Join(then, "; ") + "."
	}
	if v.Second {
		n.Over = "Look next, for a second leak"
	}
	if x.LowPressure {
		n.Low = "The detector asks for " + units.Whole(
			units.Fixed(x.Method.MinGaugePa/units.Kilo, 0),
		) + " kPa (" + units.Fixed(
			x.Method.MinGaugePa/units.Psi,
			0,
		) + " psi) over the air's pressure. Less stands here, so finding nothing tells little."
	}
	var words []string
	for _, code := range x.Method.Cautions {
		if code == "ignition_free" && !danger(v.Machine).Flammable() {
			continue
		}
		words = append(words, text.LeakCaution(code, leakLanguage))
	}
	n.Cautions = strings.Join(words, " ")
	return n
}

func minutes(m float64) string {
	if m < 1.5 {
		return "1 minute"
	}
	return units.Fixed(m, 0) + " minutes"
}

// leakSize says how large the leak may be and how small a one can be seen now.
func leakSize(v *app.LeakView, d units.Display) (size, smallest []string) {
	mass := func(g float64) string { return leakMass(g, d) }
	z := v.Search.Size()
	words := "Most likely " + mass(z.Quantile(0.05)) + " to " + mass(z.Quantile(0.95)) + " a year while it runs"
	switch {
	case v.Second:
		words += ", if there is a second one."
	case len(v.Losses) > 0:
		words += ", by what was added from visit to visit."
	default:
		words += ". No charge history yet: a wide guess."
	}
	size = append(size, words)
	for _, key := range []string{"detector", "trace_gas", "bubbles"} {
		m, ok := v.Catalogue.Method(key)
		if !ok || !m.Usable(v.Conditions) {
			continue
		}
		line := text.LeakMethod(key, leakLanguage) + ": "
		for i, side := range []leak.Side{leak.High, leak.Low} {
			g, ok := v.Search.Smallest(m, side, v.Conditions)
			switch {
			case !ok:
				line += "nothing"
			default:
				line += mass(g) + " a year"
			}
			line += map[int]string{0: " on the high side, ", 1: " on the low side."}[i]
		}
		smallest = append(smallest, line)
	}
	return size, smallest
}

// leakMass is a small mass to two digits in the units of the person.
func leakMass(g float64, d units.Display) string {
	value, unit := g, " g"
	switch kg := g / units.Kilo; {
	case d.Mass == "kg" && kg >= 1:
		value, unit = kg, " kg"
	case d.Mass != "kg" && kg < units.Pound:
		value, unit = kg/units.Ounce, " oz"
	case d.Mass != "kg":
		value, unit = kg/units.Pound, " lb"
	}
	switch {
	case value < 0.1:
		return "under 0.1" + unit
	case value < 9.95:
		return units.Fixed(value, 1) + unit
	}
	return units.Fixed(value, 0) + unit
}

// searched answers a save on the page.
func (s *Pages) searched(w http.ResponseWriter, r *http.Request, err error, to string) error {
	if err == nil {
		return redirect(w, r, visitPath(id(r, "visit"))+"/search"+to)
	}
	wrong := form.Mistakes{}
	if !wrong.Take(err) {
		return err
	}
	return s.showLeak(w, r, http.StatusUnprocessableEntity, wrong)
}

func (s *Pages) MarkLook(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	return s.searched(w, r, s.app.MarkLook(r.Context(), s.act(r), id(r, "visit"), f.Get("place"), f.Get("method"), f.Get("saw")), "")
}

func (s *Pages) MarkLeak(w http.ResponseWriter, r *http.Request) error {
	return s.searched(w, r, s.app.MarkLeak(r.Context(), s.act(r), id(r, "visit"), r.PostForm.Get("place"), r.PostForm.Get("act")), "")
}

func (s *Pages) SetLeak(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	return s.searched(
		w,
		r,
		s.app.SetLeak(
			r.Context(),
			s.act(r),
			id(r, "visit"),
			f.Get("high"),
			f.Get("low"),
			form.Units(r).PressureUnit(),
			f.Get("charge"),
			f.Get("draught") != "",
		),
		"#set",
	)
}
