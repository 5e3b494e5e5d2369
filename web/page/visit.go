package page

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/proof/standing"
	"coldwright/proof/vacuum"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

// step is a step of the visit in the list.
type step struct {
	Href, Title, Hint string
	State             string // done, open, failed, skipped, now; "" is still to come
	Proof             string // that in a word, where a test says it
}

// stepPaths are where the steps lead, under the visit.
var stepPaths = map[string]string{
	"arrive": "#arrive", "look": "#look", "time": "/time?end=before", "connect": "/readings?end=before", "judge": "/judge?end=before",
	"repair": "/work", "tight": "/tight", "dry": "/dry", "charge": "/charge", "cold": "/cold", "write": "/write",
}

// steps marks what is done and what is next. No step is locked.
func steps(v *app.VisitView) []step {
	w := v.Visit
	worked := func(codes ...string) bool {
		return slices.ContainsFunc(w.Work, func(x record.Work) bool { return slices.Contains(codes, x.Code) })
	}
	added := slices.ContainsFunc(w.Moves, func(m record.Move) bool { return m.Direction == "added" })
	pressures := 0
	for _, t := range w.Before.Readings {
		if t.Reading.At.Kind() == reading.KindPressure {
			pressures++
		}
	}
	_, boxRead := app.LastBox(&w.Before)
	repaired := len(w.Work)+len(w.Leaks)+len(w.Moves) > 0 || w.Phase == record.After
	done := map[string]bool{
		"arrive":  w.Complaint != "" || w.Food != "" || boxRead,
		"look":    w.Before.Seen != (reading.Seen{}),
		"time":    w.Before.Pull != nil && len(w.Before.Pull.Points) > 1,
		"connect": pressures > 0 && len(w.Before.Readings) >= 3,
		"judge":   repaired,
		"repair":  len(w.Work)+len(w.Leaks) > 0,
		"tight":   worked("pressure_tested"),
		"dry":     worked("evacuated"),
		"charge":  added || len(w.Scale) > 1,
		"cold":    len(w.After.Readings) >= 2 || w.After.Pull != nil && len(w.After.Pull.Points) > 1,
		"write":   !w.Closed.IsZero(),
	}
	base := visitPath(w.ID)
	var out []step
	last := -1
	for i, t := range text.Steps() {
		x := step{Href: base + stepPaths[t.Key], Title: t.Title, Hint: t.Hint}
		if strings.HasPrefix(stepPaths[t.Key], "#") {
			x.Href = base + stepPaths[t.Key]
		}
		if done[t.Key] {
			x.State, last = "done", i
		}
		switch state, begun := proofOf(v, t.Key); {
		case state == verdict.Proven:
			x.State, x.Proof, last = "done", "proven", i
		case state == verdict.Failed:
			x.State, x.Proof, last = "failed", "failed", i
		case begun:
			x.State, x.Proof, last = "open", "not decided", i
		case !w.Closed.IsZero() && x.State == "":
			x.State, x.Proof = "skipped", "skipped"
		}
		switch t.Key {
		case "connect":
			if n := len(w.Before.Readings); n > 0 {
				x.Hint = plural(n, "reading")
			}
		case "arrive":
			if w.Complaint != "" {
				x.Hint = w.Complaint
			}
		case "write":
			if !w.Closed.IsZero() {
				x.Href = base + "/report"
			}
		}
		out = append(out, x)
	}
	for i := last + 1; i < len(out); i++ {
		if out[i].State == "" {
			out[i].State = "now"
			break
		}
	}
	return out
}

// proofOf is where the proof of a step stands, and whether its test was begun.
func proofOf(v *app.VisitView, step string) (state verdict.State, begun bool) {
	w := v.Visit
	switch verdict.Stage(step) {
	case verdict.Tight:
		begun = w.Hold() != nil && len(w.Hold().Points) > 0
	case verdict.Dry:
		begun = w.Rise() != nil && len(w.Rise().Points) > 0
	}
	if begun {
		state = v.Verdict.Proof(verdict.Stage(step)).State
	}
	return state, begun
}

// current is the step to go on with.
func current(v *app.VisitView) step {
	all := steps(v)
	for _, x := range all {
		if x.State == "now" {
			return x
		}
	}
	return all[len(all)-1]
}

// danger is what the cautions of a machine depend on.
func danger(m *record.Machine) text.Danger {
	a, _ := reading.ParseApplication(m.Application)
	return text.DangerOf(m.Refrigerant, a)
}

// askedEnd is the end of the visit a page is about: named by the address or the form, else where the visit stands.
func askedEnd(r *http.Request) record.Phase {
	switch e := record.Phase(r.Form.Get("end")); e {
	case record.Before, record.After:
		return e
	}
	return app.Current
}

// phaseOf is the end that askedEnd means for a visit.
func phaseOf(r *http.Request, v *record.Visit) record.Phase {
	if e := askedEnd(r); e != app.Current {
		return e
	}
	return v.Phase
}

func endWords(p record.Phase) string {
	if p == record.After {
		return "After the repair."
	}
	return "Before the repair."
}

func otherEnd(p record.Phase) (record.Phase, string) {
	if p == record.After {
		return record.Before, "Show the readings before it"
	}
	return record.After, "Read after the repair instead"
}

// visitPage starts a page of a visit.
func (s *Pages) visitPage(v *app.VisitView, d units.Display, title string, timing bool) *Page {
	p := &Page{
		Title:     title + ", " + text.LowerFirst(v.Machine.Name),
		Tab:       "visit",
		VisitPath: visitPath(v.Visit.ID),
		Plate:     plate(v.Site, v.Machine, v.Visit, d),
	}
	p.notRead(v.Unread)
	if !timing {
		p.Strips = s.strips(v, d)
	}
	return p
}

// strips are the tests that run: what is not decided yet, and a pull-down that was read within three hours and has not
// reached its set point. A closed visit runs nothing.
func (s *Pages) strips(v *app.VisitView, d units.Display) []Strip {
	if !v.Visit.Closed.IsZero() {
		return nil
	}
	var out []Strip
	add := func(path, words string, started, ends time.Time) {
		x := Strip{
			Href: visitPath(v.Visit.ID) + path, Since: stamp(started), Now: stamp(v.Now), Clock: clock(v.Now.Sub(started)),
			Words: words, ends: ends,
		}
		switch {
		case ends.IsZero():
		case !ends.After(v.Now):
			x.Due, x.End = true, "Read it now"
		default:
			x.End = "Till about " + zoned(ends, v.Site, "15:04")
		}
		out = append(out, x)
	}
	after := func(last time.Time, left *float64) time.Time {
		if left == nil {
			return time.Time{}
		}
		return last.Add(time.Duration(*left * float64(time.Minute)))
	}
	if v.RiseRunning() && v.Rise != nil && v.Rise.Err == nil && v.Rise.Result.Verdict == vacuum.Undecided {
		t, r := v.Rise.Test, v.Rise.Result
		ends := after(t.Points[len(t.Points)-1].At, r.MinutesLeft)
		if hold := t.Started.Add(time.Duration(r.Profile.Hold * float64(time.Minute))); ends.IsZero() && hold.After(v.Now) {
			ends = hold // what its criterion asks for
		}
		add("/dry", "Vacuum watched, "+text.Vacuum(r.Last, d), t.Started, ends)
	}
	if v.HoldRunning() && v.Hold != nil && v.Hold.Err == nil && v.Hold.Result.Verdict == standing.Undecided {
		t, r := v.Hold.Test, v.Hold.Result
		add("/tight", "Nitrogen stands, "+d.FormatPressure(r.Last, v.Machine.Plate().AmbientPressure()), t.Started,
			after(t.Points[len(t.Points)-1].At, r.MinutesLeft))
	}
	if pull := v.Visit.End(v.Visit.Phase).Pull; pull != nil && len(pull.Points) > 0 {
		last, set := pull.Points[len(pull.Points)-1], app.SetPointOf(v.Machine, pull)
		if v.Now.Sub(last.At) <= 3*time.Hour && last.Box > set {
			var ends time.Time
			if r := v.End(v.Visit.Phase).Pull; r != nil && r.DecidesAt > 0 {
				ends = pull.Started.Add(time.Duration(r.DecidesAt * float64(time.Minute)))
			}
			words := "Pull-down running, " + units.Whole(d.TempNumber(last.Box, 1)) + " " + d.Temp
			add("/time?end="+string(v.Visit.Phase), words, pull.Started, ends)
		}
	}
	slices.SortStableFunc(out, func(a, b Strip) int {
		switch {
		case a.ends.IsZero() != b.ends.IsZero():
			return map[bool]int{true: 1, false: -1}[a.ends.IsZero()]
		}
		return a.ends.Compare(b.ends)
	})
	return out
}

func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

func clock(d time.Duration) string {
	if d < 0 {
		d = 0
	}
	m := int(d.Minutes())
	if m >= 600 {
		return units.Fixed(float64(m/60), 0) + " h"
	}
	sec := int(d.Seconds()) % 60
	out := units.Fixed(float64(m), 0) + ":"
	if sec < 10 {
		out += "0"
	}
	return out + units.Fixed(float64(sec), 0)
}

type visitBody struct {
	Machine, Base, Report               string
	Steps                               []step
	Closed                              bool
	Form, Form2                         string
	Errors                              []string
	Complaint, Food, BoxAir, BoxDisplay form.Field
	Looks                               []form.Choice
	Why                                 form.Choice
	ArriveCautions, LookCautions        []text.Caution
	SoFar, Notes                        []string
}

// looked are the things asked before any gauge goes on.
var looked = []string{"door", "coil_fans", "coil_ice", "condenser_fans", "condenser_dirt", "glass", "oil_marks", "frost_on_compressor"}

func (s *Pages) Visit(w http.ResponseWriter, r *http.Request) error {
	return s.showVisit(w, r, http.StatusOK, untyped, form.Mistakes{})
}

func (s *Pages) showVisit(w http.ResponseWriter, r *http.Request, status int, typed typedText, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before}, Tests: true})
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := visitBody{
		Machine:        v.Machine.Name,
		Base:           visitPath(v.Visit.ID),
		Report:         visitPath(v.Visit.ID) + "/report",
		Steps:          steps(v),
		Closed:         !v.Visit.Closed.IsZero(),
		Form:           s.formID(),
		Form2:          s.formID(),
		ArriveCautions: text.Cautions("arrive", danger(v.Machine)),
		LookCautions:   text.Cautions("look", danger(v.Machine)),
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	keep := func(f *form.Field) {
		if t, ok := typed(f.Name); ok {
			f.Value = t
			f.Sign = r.PostForm.Get(f.Name + "_sign")
		}
		wrong.Place(r, f)
	}
	b.Complaint = form.TextField("complaint", "Complaint", "In the customer's words", v.Visit.Complaint)
	b.Food = form.TextField("food", "Food", "What the owner did with it, and when it was last known cold", v.Visit.Food)
	b.Complaint.Was, b.Food.Was = form.CameWith(r, "complaint", v.Visit.Complaint), form.CameWith(r, "food", v.Visit.Food)
	b.Why = whyCame(v.Visit.Reason)
	b.Why.Was = form.CameWith(r, "reason", v.Visit.Reason)
	if t, ok := typed("reason"); ok {
		b.Why.Value = t
	}
	b.BoxAir = placeField(v, record.Before, reading.BoxAir, d)
	b.BoxDisplay = placeField(v, record.Before, reading.BoxDisplay, d)
	for _, f := range []*form.Field{&b.BoxAir, &b.BoxDisplay} {
		f.Was = form.CameWith(r, f.Name, *f.Was)
	}
	for _, f := range []*form.Field{&b.Complaint, &b.Food, &b.BoxAir, &b.BoxDisplay} {
		keep(f)
	}
	m, _ := v.Machine.Plate().Resolve()
	for _, k := range looked {
		if k == "glass" && m.Expansion == reading.Capillary {
			continue
		}
		p := seenPicks(k, v.Visit.Before.Seen)
		p.Was = form.CameWith(r, p.Name, p.Value)
		b.Looks = append(b.Looks, p)
	}
	b.SoFar, b.Notes = soFar(v, d)
	b.Errors = wrong.Rest(r)
	p := s.visitPage(v, d, "Visit", false)
	p.Class, p.Body = "visit3", b
	p.Kept = s.kept(v, "", b.Base)
	p.Kept.Where = "look"
	s.show(w, r, status, "visit", p)
	return nil
}

func seenPicks(key string, have reading.Seen) form.Choice {
	words := text.Seen(key)
	p := form.Choice{ID: "s-" + key, Name: "s_" + key, Label: words.Label, Hint: words.Hint, Value: have.Get(key)}
	known := false
	for _, a := range words.Answers {
		p.Options = append(p.Options, form.Option{Value: a.Value, Label: a.Label})
		known = known || a.Value == p.Value
	}
	if p.Value != "" && !known {
		p.Options = append(p.Options, form.Option{Value: p.Value, Label: p.Value})
	}
	return p
}

// soFar is what is known before the gauges: contradictions first, then what was seen.
func soFar(v *app.VisitView, d units.Display) (out, notes []string) {
	amb := v.Machine.Plate().AmbientPressure()
	sheet := v.Before.Sheet
	for _, f := range sheet.Check() {
		out = append(out, text.Finding(f, d, amb))
	}
	if box, ok := app.LastBox(&v.Visit.Before); ok {
		set := v.Machine.SetPoint()
		if !verdict.Holds(box, set) {
			out = append(out, "The box is "+d.FormatDiff(box.Sub(set), 0)+" warmer than it must be.")
		} else {
			out = append(out, "The box holds what it must.")
		}
	}
	seen := 0
	for _, k := range reading.SeenKeys() {
		w := sheet.Seen.Get(k)
		if w == "" {
			continue
		}
		seen++
		switch {
		case k == "glass" && w == "bubbling":
			out = append(
				out,
				"Bubbling glass points at the liquid supply: too little refrigerant, or something in the way before the glass.",
			)
		case k == "glass" && w == "empty":
			out = append(out, "An empty glass: no liquid gets as far as there.")
		case (k == "coil_ice" || k == "condenser_dirt") && w == "heavy":
			out = append(out, text.Seen(k).For+" Clear it before you trust the gauges.")
		case (k == "coil_fans" || k == "condenser_fans") && w != "1":
			out = append(out, text.Seen(k).For)
		case w == "seen":
			out = append(out, text.Seen(k).For)
		}
	}
	if seen > 0 && len(sheet.Readings) < 3 {
		notes = append(notes, "One sign is not a finding. The gauges come next.")
	}
	if v.Visit.Food != "" {
		notes = append(notes, "Food: "+v.Visit.Food)
	}
	return out, notes
}

// freezing reports whether below zero is usual for an application, so that a choice stands beside the number.
func freezing(m *record.Machine) bool {
	a, _ := reading.ParseApplication(m.Application)
	return a.Frozen()
}

// placeField is the input of a place with what is stored, shown in the units of the person.
func placeField(v *app.VisitView, p record.Phase, at reading.Place, d units.Display) form.Field {
	words := text.Place(at)
	f := form.NumberField(at.String(), words.Label, words.Hint, unitOf(at, d), "")
	for _, t := range v.Visit.End(p).Readings {
		if t.Reading.At == at {
			f.Value = shown(t.Value, at, d, v.Machine.Plate().AmbientPressure())
		}
	}
	was := f.Value
	f.Was = &was
	belowZero(&f, v.Machine, at, d)
	if f.Signed && f.Value != "" {
		f.Hint = "Kept: " + aboveBelow(f.Value, d) + ". " + f.Hint
	}
	return f
}

// belowZero offers the sign of a temperature where a phone's keys for numbers have no minus and below zero may be read,
// and asks for it where that is as usual as above: a forgotten minus would be another machine.
func belowZero(f *form.Field, m *record.Machine, at reading.Place, d units.Display) {
	cold := at == reading.BoxAir || at == reading.BoxDisplay || at == reading.CoilAirOff || at == reading.CoilOutletLine
	switch {
	case cold && freezing(m):
		f.Signed, f.AsksSign = true, true
	case d.Temp == "°C" && (cold || at == reading.SuctionLine || at == reading.Ambient):
		f.Signed = true
	}
}

// aboveBelow says a shown temperature with its sign in words.
func aboveBelow(shown string, d units.Display) string {
	switch n := strings.TrimPrefix(shown, "−"); {
	case n == "0":
		return "0 " + d.Temp
	case n != shown:
		return n + " " + d.Temp + " below zero"
	}
	return shown + " " + d.Temp + " above zero"
}

func unitOf(at reading.Place, d units.Display) string {
	switch at.Kind() {
	case reading.KindPressure:
		return d.PressureUnit()
	case reading.KindTemperature:
		return d.Temp
	case reading.KindCurrent:
		return "A"
	case reading.KindShare:
		return "%"
	}
	return "kW"
}

// shown is a stored value as a number in the units of the person.
func shown(v float64, at reading.Place, d units.Display, amb units.Pressure) string {
	switch at.Kind() {
	case reading.KindPressure:
		return units.Whole(d.PressureNumber(units.Pressure(v), amb))
	case reading.KindTemperature:
		return units.Whole(d.TempNumber(units.Temp(v), 1))
	case reading.KindCurrent:
		return units.Whole(units.Fixed(v, 1))
	case reading.KindShare:
		return units.Whole(units.Fixed(100*v, 1))
	}
	return units.Fixed(v/units.Kilo, 2)
}

// typedFrom gives back what was typed into a form.
func typedFrom(r *http.Request) func(string) (string, bool) {
	return func(name string) (string, bool) { return r.PostForm.Get(name), r.PostForm.Has(name) }
}

func (s *Pages) Arrive(w http.ResponseWriter, r *http.Request) error {
	visit, d := id(r, "visit"), form.Units(r)
	v, err := s.app.Visit(r.Context(), visit, app.Parts{})
	if err != nil {
		return err
	}
	o, wrong := app.Observed{}, form.Mistakes{}
	for _, at := range []reading.Place{reading.BoxAir, reading.BoxDisplay} {
		name := at.String()
		if typed := wrong.Signed(r, name); !form.Untouched(r, name, typed) && !unchanged(v, record.Before, at, typed, "", nil, d) {
			o.Entries = append(o.Entries, app.Entry{Place: at, Text: typed, Unit: d.Temp, Sure: form.Sure(r, name, typed)})
		}
	}
	if len(wrong) > 0 {
		return s.showVisit(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
	}
	// The readings first: if they are refused, nothing of the form is kept.
	act := s.act(r)
	if err := s.app.SaveReadings(r.Context(), app.Act{By: act.By, Form: part(act.Form, "readings")}, visit, record.Before, o); err != nil {
		if !wrong.Take(err) {
			return err
		}
		return s.showVisit(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
	}
	b := record.ArriveBody{Complaint: v.Visit.Complaint, Food: v.Visit.Food}
	for name, to := range map[string]*string{"complaint": &b.Complaint, "food": &b.Food} {
		if typed := strings.TrimSpace(r.PostForm.Get(name)); !form.Untouched(r, name, typed) {
			*to = typed
		}
	}
	if len(b.Complaint)+len(b.Food) > 4000 {
		wrong["food"] = fail.Of(fail.Range, "food", "text.longer_4000", nil)
		return s.showVisit(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
	}
	if why := r.PostForm.Get("reason"); r.PostForm.Has("reason") && why != v.Visit.Reason && !form.Untouched(r, "reason", why) {
		b.Reason = &why
	}
	if b.Complaint != v.Visit.Complaint || b.Food != v.Visit.Food || b.Reason != nil {
		if err := s.app.Arrive(r.Context(), act, visit, b); err != nil {
			return err
		}
	}
	return redirect(w, r, visitPath(visit)+"#look")
}

// part names one of several saves of a form, so that each is kept once.
func part(form, name string) string {
	if form == "" {
		return ""
	}
	return form + "." + name
}

// seenOf reads the answers of a form about things seen; questions that were not answered stay as they are.
func seenOf(r *http.Request, keys []string) map[string]string {
	out := map[string]string{}
	for _, k := range keys {
		if v := r.PostForm.Get("s_" + k); v != "" && !form.Untouched(r, "s_"+k, v) {
			out[k] = v
		}
	}
	return out
}

func (s *Pages) Look(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	wrong := form.Mistakes{}
	if err := s.app.SaveReadings(r.Context(), s.act(r), visit, record.Before, app.Observed{Seen: seenOf(r, looked)}); err != nil {
		if !wrong.Take(err) {
			return err
		}
		return s.showVisit(w, r, http.StatusUnprocessableEntity, typedFrom(r), wrong)
	}
	if r.PostForm.Get("skip") != "" {
		return redirect(w, r, visitPath(visit)+"/readings?end=before")
	}
	return redirect(w, r, visitPath(visit)+"/time?end=before")
}

// saturation is the derived hint beside a pressure field.
func saturation(v *app.VisitView, p record.Phase, at reading.Place, d units.Display) string {
	a := v.End(p).Circuit
	if a == nil {
		return ""
	}
	sat, ok := a.At(at)
	if !ok {
		return ""
	}
	dew, bubble := d.FormatTemp(units.Temp(sat.Dew), 1), d.FormatTemp(units.Temp(sat.Bubble), 1)
	if dew == bubble {
		return "= " + dew + " saturated, " + v.Machine.Refrigerant
	}
	return "= " + dew + " dew, " + bubble + " bubble, " + v.Machine.Refrigerant
}
