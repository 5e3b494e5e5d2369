package page

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/proof/standing"
	"coldwright/proof/vacuum"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

// testBody is a test against the clock: standing pressure or vacuum rise.
type testBody struct {
	H1, Para, Base, Back                     string
	Running, Ticking, Closed, Good           bool
	Since, SinceStamp, NowStamp, Clock       string
	Verdict, Sentence, Left                  string
	Cells                                    []cell
	Lines, Findings                          []string
	Criterion                                string
	Cautions                                 []text.Caution
	Rules                                    []string // what else holds at this step, closed until wanted
	StartOver, StartHead, StartKey, StartAct string
	Start, Extra                             []form.Item
	ExtraName                                string
	AddOver, AddAct                          string
	Add                                      []form.Field
	Minute                                   form.Field
	StartErrors, AddErrors                   []string
	Form, Form2, TakeForm, Event             string
	Drawn                                    bool
	Scene                                    plot.Scene
	Caption                                  string
	Head                                     []string
	Points                                   []testRow
	Earlier                                  string
	Next                                     key
}

// say is a sentence of a test for its page.
func say(code string) string { return text.Trial(code, text.English) }

// testInput is a number of one of a page's forms: what was typed when that form was refused, else what is proposed.
func testInput(r *http.Request, mine bool, wrong form.Mistakes, f form.Field, proposed string) form.Field {
	f.Value = proposed
	if f.Signed {
		f.Was = form.CameWith(r, f.Name, proposed)
	}
	if mine && r.PostForm.Has(f.Name) {
		f.Value, f.Sign = r.PostForm.Get(f.Name), r.PostForm.Get(f.Name+"_sign")
		wrong.Place(r, &f)
	}
	return f
}

func (s *Pages) newTest(v *app.VisitView, path string) testBody {
	base := visitPath(v.Visit.ID)
	return testBody{
		Base: base, Back: base + path, StartAct: base + path + "/start", AddAct: base + path, Closed: !v.Visit.Closed.IsZero(),
		Form: s.formID(), Form2: s.formID(), TakeForm: s.formID(),
	}
}

// begun says when a test was started and read last.
func (b *testBody) begun(v *app.VisitView, started, last time.Time, n int) {
	z := v.Site.Location()
	day := func(t time.Time) string {
		if t.In(z).Format("2006-01-02") == started.In(z).Format("2006-01-02") {
			return t.In(z).Format("15:04")
		}
		return t.In(z).Format("2 January, 15:04")
	}
	b.Running = true
	b.Since = "Started " + day(started) + ", read " + times(n) + ", last at " + day(last) + " " + text.ZoneMark(last.In(z)) + "."
	b.SinceStamp, b.NowStamp, b.Clock = stamp(started), stamp(v.Now), clock(v.Now.Sub(started))
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return units.Fixed(float64(n), 0) + " times"
}

func earlier(n int) string {
	if n < 2 {
		return ""
	}
	return plural(n-1, "earlier test") + " of this visit stays in the record."
}

func (s *Pages) Tight(w http.ResponseWriter, r *http.Request) error {
	return s.showTight(w, r, http.StatusOK, "", form.Mistakes{})
}

// showTight shows the page; part says which of its forms was refused.
func (s *Pages) showTight(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Tests: true})
	if err != nil {
		return err
	}
	d, amb := form.Units(r), v.Machine.Plate().AmbientPressure()
	b := s.newTest(v, "/tight")
	b.H1, b.Para = "Prove it tight", "Dry nitrogen stands in the circuit. A colder day lowers it too, so the gas temperature is read with it."
	b.Next = key{Href: b.Base + "/dry", Label: "Go on: prove it dry"}
	b.Cautions = text.Cautions("tight", danger(v.Machine))
	for _, c := range []string{
		standing.UseRegulator, standing.UseRelief, standing.LowestNameplate, standing.StandClear, standing.NitrogenAir,
	} {
		b.Rules = append(b.Rules, say(c))
	}
	press, temp := d.PressureUnit(), d.Temp
	var t *record.Hold
	if v.Hold != nil {
		t = v.Hold.Test
	}
	if t != nil && len(t.Points) > 0 {
		s.standing(&b, v, d, amb)
	}
	start := part == "start"
	plate := ""
	if t != nil && t.PlatePa != nil {
		plate = units.Whole(d.PressureNumber(units.Pressure(*t.PlatePa), amb))
	}
	one := func(f form.Field, proposed string) form.Item {
		f.ID += "-start"
		f = testInput(r, start, wrong, f, proposed)
		return form.Item{Field: &f}
	}
	b.StartOver, b.StartHead, b.StartKey = "Pressure on and settled, cylinder shut", "Start with what stands in it now", "Start the clock"
	b.Start = []form.Item{
		one(
			form.NumberField(
				"plate",
				"Lowest test pressure on the plates",
				"Of all parts under pressure; the low side is often the lower one",
				press,
				"",
			),
			plate,
		),
		one(form.NumberField("pressure", "Pressure now", "", press, ""), ""),
		one(form.NumberField("gas_1", "Gas temperature", "A probe on the pipe, insulated, left in its place", temp, ""), ""),
	}
	b.ExtraName = "More parts, or the inner volume"
	b.Extra = []form.Item{
		one(
			form.NumberField("gas_2", "Temperature of a second part", "Such as the coil, when it stands warmer or colder", temp, ""),
			"",
		),
		one(form.NumberField("gas_3", "Temperature of a third part", "", temp, ""), ""),
		one(
			form.TextField(
				"volumes",
				"Inner volumes",
				"In the order of the temperatures: 12 L; 8 L. With them a leak is told in weight a year",
				"",
			),
			"",
		),
	}
	if t != nil && len(t.Points) > 0 {
		last := t.Points[len(t.Points)-1]
		b.AddOver = "Read gauge and thermometer again"
		b.Add = append(b.Add, testInput(r, part == "add", wrong, form.NumberField("pressure", "Pressure now", "", press, ""), ""))
		for i := range last.GasK {
			label := "Gas temperature"
			if len(last.GasK) > 1 {
				label = fmt.Sprintf("Gas temperature, part %d", i+1)
			}
			b.Add = append(b.Add, testInput(r, part == "add", wrong, form.NumberField(fmt.Sprintf("gas_%d", i+1), label, "", temp, ""), ""))
		}
		b.Minute = testInput(r, part == "add", wrong, form.NumberField("minute", "Minutes since the start", "Empty: now", "min", ""), "")
		b.StartHead, b.StartKey = "Start another test", "Start again"
	}
	return s.showTest(w, r, status, part, wrong, v, d, &b, "Prove it tight", "tight")
}

// showTest finishes the page of a test.
func (s *Pages) showTest(
	w http.ResponseWriter,
	r *http.Request,
	status int,
	part string,
	wrong form.Mistakes,
	v *app.VisitView,
	d units.Display,
	b *testBody,
	title, step string,
) error {
	if part == "start" {
		b.StartErrors = wrong.Rest(r)
		b.Form2 = r.PostForm.Get("form")
	} else {
		b.AddErrors = wrong.Rest(r)
	}
	if status != http.StatusOK && part == "add" {
		b.Form = r.PostForm.Get("form")
	}
	p := s.visitPage(v, d, title, b.Ticking) // one clock is enough
	p.Class, p.Body, p.Clock = "two", b, b.Ticking
	p.Kept = s.kept(v, step, visitPath(v.Visit.ID)+"/"+step)
	s.show(w, r, status, "proof", p)
	return nil
}

// unsaid is a sentence without the verdict it begins with, since that stands above it.
func unsaid(sentence, verdict string) string {
	for _, sep := range []string{". ", ": "} {
		if rest, ok := strings.CutPrefix(sentence, verdict+sep); ok {
			return text.UpperFirst(rest)
		}
	}
	return sentence
}

// standing fills in a standing-pressure test that was begun.
func (s *Pages) standing(b *testBody, v *app.VisitView, d units.Display, amb units.Pressure) {
	t, h := v.Hold.Test, v.Hold.Result
	last := t.Points[len(t.Points)-1]
	b.begun(v, t.Started, last.At, len(t.Points))
	b.Event, b.Earlier = string(t.Event), earlier(len(v.Visit.Holds))
	for _, above := range app.HeldAbovePlate(v.Visit) {
		said := text.Voice{Display: d, Ambient: amb}.Mistake(above)
		b.Earlier += " " + text.Report("earlier_test", text.English, said.Beside())
	}
	b.Head = []string{"Minute", "Pressure, " + d.PressureUnit(), "Gas, " + d.Temp}
	for _, p := range t.Points {
		var gas []string
		for _, g := range p.GasK {
			gas = append(gas, d.TempNumber(units.Temp(g), 1))
		}
		b.Points = append(
			b.Points,
			testRow{
				[]string{units.Whole(units.Fixed(p.Minute, 1)), d.PressureNumber(units.Pressure(p.PressurePa), amb), strings.Join(gas, ", ")},
				string(p.Event),
				s.formID(),
			},
		)
	}
	if err := v.Hold.Err; err != nil {
		b.Verdict, b.Sentence = "Not judged", text.Voice{Display: d, Ambient: amb}.Mistake(failure(err)).Beside()
		return
	}
	b.Verdict, b.Good, b.Sentence = text.HoldVerdict(&h), verdict.OfStanding(&h).State == verdict.Proven, unsaid(
		text.HoldSentence(&h, d, text.English),
		text.HoldVerdict(&h),
	)
	b.Ticking = !b.Closed && h.Verdict == standing.Undecided
	if h.MinutesLeft != nil {
		b.Left = "About " + text.Span(*h.MinutesLeft) + " more decides it, if it goes on like this."
	}
	b.Lines, b.Criterion = text.HoldLines(&h, d, amb), text.HoldCriterion(&h)
	for _, c := range h.Findings {
		b.Findings = append(b.Findings, say(c))
	}
	if h.NoLeakReason != "" && h.NoLeakReason != standing.OneReading {
		b.Findings = append(b.Findings, say(h.NoLeakReason))
	}
	switch first := h.Cautions[0]; first {
	case standing.AboveNameplate:
		b.Cautions = append([]text.Caution{{Code: first, Text: text.HoldPlate(&h, d, amb)}}, b.Cautions...)
	case standing.NameplateAsked:
		b.Cautions = append([]text.Caution{{Code: first, Text: say(first)}}, b.Cautions...)
	}
	b.Cells = []cell{
		{Name: "Pressure, last read", Value: d.PressureNumber(h.Last, amb), Unit: d.PressureUnit()},
		{Name: "Gas", Value: units.Whole(d.TempNumber(units.Temp(last.GasK[0]), 1)), Unit: d.Temp},
	}
	if h.N > 1 {
		b.Cells = append(b.Cells, cell{Name: "If nothing were lost", Value: d.PressureNumber(h.Expected, amb), Unit: d.PressureUnit()})
		f := figure.HoldData{Hold: &h, Ambient: amb, Display: d}
		b.Drawn, b.Scene, b.Caption = true, figure.Hold(f), f.Caption()
	}
}

// failure is the failure of a judgement for its page.
func failure(err error) *fail.Error {
	var f *fail.Error
	if errors.As(err, &f) {
		return f
	}
	return fail.Of(fail.NoAnswer, "", "program.no_answer", nil)
}

// holdEntry reads the fields of a standing-pressure test.
func (s *Pages) holdEntry(r *http.Request, wrong form.Mistakes) app.HoldEntry {
	f, d := r.PostForm, form.Units(r)
	e := app.HoldEntry{
		Pressure: f.Get("pressure"),
		Unit:     d.PressureUnit(),
		TempUnit: d.Temp,
		Minute:   wrong.Optional("minute", f.Get("minute"), "min", units.ParseMinutes),
	}
	for _, name := range []string{"gas_1", "gas_2", "gas_3"} {
		e.Gas = append(e.Gas, f.Get(name))
	}
	return e
}

// tested answers a save of a test: back to its page, or the same page with what was refused.
func (s *Pages) tested(
	w http.ResponseWriter,
	r *http.Request,
	path, part string,
	wrong form.Mistakes,
	save func() error,
	show func(http.ResponseWriter, *http.Request, int, string, form.Mistakes) error,
) error {
	if len(wrong) == 0 {
		err := save()
		if err == nil {
			return redirect(w, r, visitPath(id(r, "visit"))+path)
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return show(w, r, http.StatusUnprocessableEntity, part, wrong)
}

func (s *Pages) StartTight(w http.ResponseWriter, r *http.Request) error {
	wrong := form.Mistakes{}
	e := app.HoldStart{HoldEntry: s.holdEntry(r, wrong), Plate: r.PostForm.Get("plate"), Volumes: r.PostForm.Get("volumes")}
	save := func() error { return s.app.StartHold(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/tight", "start", wrong, save, s.showTight)
}

func (s *Pages) AddTight(w http.ResponseWriter, r *http.Request) error {
	wrong := form.Mistakes{}
	e := s.holdEntry(r, wrong)
	save := func() error { return s.app.AddHold(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/tight", "add", wrong, save, s.showTight)
}

func (s *Pages) Dry(w http.ResponseWriter, r *http.Request) error {
	return s.showDry(w, r, http.StatusOK, "", form.Mistakes{})
}

func (s *Pages) showDry(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Tests: true})
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := s.newTest(v, "/dry")
	b.H1, b.Para = "Prove it dry", "Shut the pump off and watch the vacuum: a leak climbs on and on, moisture levels off."
	b.Next = key{Href: b.Base + "/charge", Label: "Go on: charge"}
	b.Cautions = text.Cautions("dry", danger(v.Machine))
	var t *record.Rise
	if v.Rise != nil {
		t = v.Rise.Test
	}
	coldest, volume, criterion := "", "", ""
	if t != nil {
		criterion = t.Criterion
		if t.ColdestK != nil {
			coldest = units.Whole(d.TempNumber(units.Temp(*t.ColdestK), 1))
		}
		if t.VolumeM3 != nil {
			volume = units.Whole(units.Fixed(*t.VolumeM3*units.Kilo, 1)) + " L"
		}
		if len(t.Points) > 0 {
			s.rising(&b, v, d)
		}
	}
	start, unit := part == "start", text.VacuumUnit(d)
	one := func(f form.Field, proposed string) form.Item {
		f.ID += "-start"
		f = testInput(r, start, wrong, f, proposed)
		return form.Item{Field: &f}
	}
	cold := form.NumberField(
		"coldest",
		"Temperature of the coldest part",
		"The coil in a cold box: ice there holds the vacuum up. Without it dryness is not proven",
		d.Temp,
		"",
	)
	belowZero(&cold, v.Machine, reading.CoilOutletLine, d)
	rules := form.Choice{
		ID:      "f-criterion",
		Name:    "criterion",
		Label:   "Criterion",
		Value:   criterion,
		Options: []form.Option{{Value: "", Label: text.Criterion(vacuum.DefaultProfile(), d)}},
	}
	for _, p := range vacuum.Profiles() {
		rules.Options = append(rules.Options, form.Option{Value: p.Key, Label: text.Criterion(p, d)})
	}
	if start {
		rules.Value = r.PostForm.Get("criterion")
		wrong.PlaceChoice(r, &rules)
	}
	b.StartOver, b.StartHead, b.StartKey = "At the moment the pump is shut off", "Start with what the vacuum gauge shows", "Start the clock"
	b.Start = []form.Item{
		one(form.NumberField("pressure", "Vacuum now", "At the far end, not at the pump", unit, ""), ""),
		one(cold, coldest),
		{Select: &rules},
	}
	b.ExtraName = "Inner volume"
	b.Extra = []form.Item{
		one(
			form.TextField("volume", "Inner volume under vacuum", "Such as 20 L or 0.7 ft3. With it a leak is told in weight a year", ""),
			volume,
		),
	}
	if b.Running {
		b.AddOver = "Read the vacuum gauge again, every minute or two"
		b.Add = []form.Field{testInput(r, part == "add", wrong, form.NumberField("pressure", "Vacuum now", "", unit, ""), "")}
		b.Minute = testInput(r, part == "add", wrong, form.NumberField("minute", "Minutes since the start", "Empty: now", "min", ""), "")
		b.StartHead, b.StartKey = "Start another test", "Start again"
	}
	return s.showTest(w, r, status, part, wrong, v, d, &b, "Prove it dry", "dry")
}

// rising fills in a rise test that was begun.
func (s *Pages) rising(b *testBody, v *app.VisitView, d units.Display) {
	t, x := v.Rise.Test, v.Rise.Result
	b.begun(v, t.Started, t.Points[len(t.Points)-1].At, len(t.Points))
	b.Event, b.Earlier = string(t.Event), earlier(len(v.Visit.Rises))
	b.Head = []string{"Minute", "Vacuum, " + text.VacuumUnit(d)}
	for _, p := range t.Points {
		b.Points = append(
			b.Points,
			testRow{
				[]string{units.Whole(units.Fixed(p.Minute, 1)), text.VacuumNumber(units.Pressure(p.PressurePa), d)},
				string(p.Event),
				s.formID(),
			},
		)
	}
	if err := v.Rise.Err; err != nil {
		b.Verdict, b.Sentence = "Not judged", text.Voice{Display: d}.Mistake(failure(err)).Beside()
		return
	}
	b.Verdict, b.Good, b.Sentence = text.RiseVerdict(&x), verdict.OfVacuum(&x).State == verdict.Proven, unsaid(
		text.RiseSentence(&x, d, text.English),
		text.RiseVerdict(&x),
	)
	b.Ticking = !b.Closed && x.Verdict == vacuum.Undecided
	if x.MinutesLeft != nil {
		b.Left = "About " + text.Span(*x.MinutesLeft) + " more decides it, if it goes on like this."
	}
	b.Lines, b.Criterion = text.RiseLines(&x, d), text.RiseCriterion(&x, d)
	for _, c := range x.Findings {
		b.Findings = append(b.Findings, say(c))
	}
	b.Cells = []cell{
		{Name: "Vacuum, last read", Value: text.VacuumNumber(x.Last, d), Unit: text.VacuumUnit(d)},
		{Name: "Risen by", Value: text.VacuumNumber(x.Last-x.First, d), Unit: text.VacuumUnit(d)},
	}
	if x.DryLimit != nil {
		b.Cells = append(b.Cells, cell{Name: "Water stands at", Value: text.VacuumNumber(*x.DryLimit, d), Unit: text.VacuumUnit(d)})
	}
	if x.N > 1 {
		f := figure.RiseData{Points: v.Rise.Points, Rise: &x, Curve: v.Rise.Curve, Display: d}
		b.Drawn, b.Scene, b.Caption = true, figure.RiseCurve(f), f.Caption()
	}
}

func (s *Pages) StartDry(w http.ResponseWriter, r *http.Request) error {
	f, d, wrong := r.PostForm, form.Units(r), form.Mistakes{}
	e := app.RiseStart{
		RiseEntry: app.RiseEntry{Pressure: f.Get("pressure"), Unit: text.VacuumUnit(d)},
		Coldest:   wrong.Signed(r, "coldest"),
		TempUnit:  d.Temp,
		Volume:    f.Get("volume"),
		Criterion: f.Get("criterion"),
	}
	save := func() error { return s.app.StartRise(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/dry", "start", wrong, save, s.showDry)
}

func (s *Pages) AddDry(w http.ResponseWriter, r *http.Request) error {
	f, wrong := r.PostForm, form.Mistakes{}
	e := app.RiseEntry{
		Pressure: f.Get("pressure"),
		Unit:     text.VacuumUnit(form.Units(r)),
		Minute:   wrong.Optional("minute", f.Get("minute"), "min", units.ParseMinutes),
	}
	return s.tested(w, r, "/dry", "add", wrong, func() error { return s.app.AddRise(r.Context(), s.act(r), id(r, "visit"), e) }, s.showDry)
}
