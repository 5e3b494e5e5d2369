package page

import (
	"errors"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type evidence struct {
	Name, Shows, Dots string
	Weight            int
}

type suspect struct {
	Name, Hundred, Words, Severity, Check string
	Bar                                   plot.Scene
	For, Against                          []evidence
	Open                                  bool
}

type nextBody struct {
	Over, Title, Sentence, Then, Why, Second, BarsNote, Action, Form, Key string
	Risk, Together                                                        string
	Step                                                                  verdict.StepKind
	Answers                                                               []string
	Bars                                                                  bool
	BarsTable                                                             figure.Table
	Scene                                                                 plot.Scene
	Fields                                                                []form.Field
	Picks                                                                 *form.Choice
	Keys                                                                  []key
}

type judgeBody struct {
	H1, Para, Misfit, LookAlike, LadderNote, Caption, Counts, Explain, Fit, On, Readings, Work string
	Warnings, Infos                                                                            []string
	Judged                                                                                     *verdict.Judgement
	Next                                                                                       *nextBody
	Marks                                                                                      bool
	Ladder                                                                                     plot.Scene
	Table                                                                                      figure.Table
	Cells                                                                                      []cell
	Suspects                                                                                   []suspect
}

func (s *Pages) Judge(w http.ResponseWriter, r *http.Request) error {
	return s.showJudge(w, r, http.StatusOK, untyped, form.Mistakes{})
}

func (s *Pages) showJudge(w http.ResponseWriter, r *http.Request, status int, typed typedText, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{askedEnd(r)}, Running: true})
	if err != nil {
		return err
	}
	phase := phaseOf(r, v.Visit)
	d, base := form.Units(r), visitPath(v.Visit.ID)
	end := v.End(phase)
	b := judgeBody{Readings: base + "/readings?end=" + string(phase), Work: base + "/work"}
	if phase == record.After {
		b.Work = base + "/cold"
	}
	p := s.visitPage(v, d, "Judge", false)
	p.Class = "judge"
	if end.Posterior == nil {
		b.H1, b.Para = text.Headline(nil, d)
		if end.Err != nil {
			var f *fail.Error
			if !errors.As(end.Err, &f) {
				return end.Err
			}
			said := text.Voice{Display: d}.Mistake(f)
			b.H1, b.Para = "These readings cannot be judged.", strings.TrimSpace(said.Sentence()+" "+said.Advice())
		}
		b.Next = &nextBody{
			Over:     "Next",
			Step:     verdict.Read,
			Title:    "Read more",
			Sentence: "Suction, head, box and outside air first.",
			Keys:     []key{{Href: b.Readings, Label: "Go to the readings"}},
		}
		p.Body = b
		p.Kept = s.kept(v, "judge", visitPath(v.Visit.ID)+"/judge")
		s.show(w, r, status, "judge", p)
		return nil
	}
	post, sheet := end.Posterior, end.Sheet
	amb := v.Machine.Plate().AmbientPressure()
	j := end.Judged
	b.Judged = j
	b.H1, b.Para = text.Headline(j, d)
	if l := app.OpenLeakOf(v.Machine, v.Visit); l != nil {
		// A leak that was seen stands before what the readings alone make likely.
		b.H1, b.Para = strings.TrimSuffix(openLeak(l), "."), "By the readings alone: "+text.LowerFirst(text.Stop(b.H1))+" "+b.Para
	}
	b.Misfit = text.Misfit(j, d, amb, text.English)
	b.LookAlike = text.LookAlike(j, text.English)
	for _, f := range post.Warnings {
		line := text.Finding(f, d, amb)
		if f.Severity == reading.Info {
			b.Infos = append(b.Infos, line)
		} else {
			b.Warnings = append(b.Warnings, line)
		}
	}
	b.Warnings = append(b.Warnings, unasked(r, wrong, post)...)
	b.Next = s.next(v, phase, j, sheet, d, status, r, typed, wrong)

	ladder := figure.LadderData{Marks: figure.Marks(post, sheet), Display: d}
	b.Marks = len(ladder.Marks) > 0
	b.Ladder, b.Caption, b.Table = figure.Ladder(ladder), ladder.Caption(), ladder.Table()
	b.LadderNote = ladderNote(sheet, d)
	b.Cells = cells(post, sheet, d)
	b.Suspects = suspects(j, post.Missing, d, amb)
	b.Counts = plural(len(sheet.Readings), "reading")
	if n := looks(sheet); n > 0 {
		b.Counts += ", " + plural(n, "look")
	}
	b.Explain = "Two causes can be present at once, so the figures can add up to more than 100."
	if len(b.Suspects) > 0 {
		b.Explain += " " + text.UpperFirst(
			b.Suspects[0].Hundred,
		) + " in 100 means: of 100 machines that read like this, about that many have it."
	}
	b.Fit = text.Fit(j)
	b.On = text.JudgedOn(j.On, v.Site.Location(), text.English)
	p.Body = b
	p.Kept = s.kept(v, "judge", visitPath(v.Visit.ID)+"/judge")
	s.show(w, r, status, "judge", p)
	return nil
}

// unasked are mistakes about fields the next box does not show.
func unasked(r *http.Request, m form.Mistakes, post *diagnose.Posterior) []string {
	if len(m) == 0 {
		return nil
	}
	asked := map[string]bool{}
	if len(post.Next) > 0 {
		asked[post.Next[0].At] = true
		switch post.Next[0].At {
		case reading.DrierOut.String():
			asked[reading.DrierIn.String()] = true
		case reading.BoxWetBulb.String():
			asked[reading.BoxHumidity.String()] = true
		}
	}
	rest := form.Mistakes{}
	for k, e := range m {
		if !asked[k] {
			rest[k] = e
		}
	}
	return rest.Rest(r)
}

func looks(s reading.Sheet) int {
	n := 0
	for _, k := range reading.SeenKeys() {
		if s.Seen.Get(k) != "" {
			n++
		}
	}
	return n
}

func ladderNote(s reading.Sheet, d units.Display) string {
	out := d.Temp
	for _, g := range []struct {
		at   reading.Place
		word string
	}{{reading.BoxAir, "box "}, {reading.Ambient, "outside "}} {
		if r, ok := s.Find(g.at); ok {
			sep := ", "
			if out == d.Temp {
				sep = " · "
			}
			out += sep + g.word + units.Whole(d.TempNumber(units.Temp(r.Value), 1))
		}
	}
	return out
}

// next is the slab: the reading that tells most per minute, or what to do when no reading tells much.
func (s *Pages) next(
	v *app.VisitView,
	phase record.Phase,
	j *verdict.Judgement,
	sheet reading.Sheet,
	d units.Display,
	status int,
	r *http.Request,
	typed func(string) (string, bool),
	wrong form.Mistakes,
) *nextBody {
	base := visitPath(v.Visit.ID)
	step := j.Next
	if !v.Visit.Closed.IsZero() {
		return nil
	}
	if step.Kind != verdict.Read {
		n := &nextBody{
			Over:     "Next",
			Step:     step.Kind,
			Title:    "Find and repair",
			Sentence: "No reading left would change this by much.",
			Together: strings.TrimSpace(text.Advice(step) + " " + text.Proof(step, text.English)),
			Keys: []key{
				{Href: base + "/work", Label: "Go on to the repair"},
				{Href: base + "/readings?end=" + string(phase), Label: "One more reading", Second: true},
			},
		}
		if step.Cause != fault.Unknown {
			w := text.Fault(step.Cause.String())
			n.Title, n.Sentence, n.Then = text.Act(step, text.English), w.Check, text.Also(step, text.English)
		}
		switch {
		case step.Kind == verdict.Stop:
			n.Title, n.Sentence = "Prove the cold and write it down", "Nothing stands out. Watch the box reach its set point."
			n.Keys[0] = key{Href: base + "/cold", Label: "Prove the cold"}
		case phase == record.After:
			n.Keys[0] = key{Href: base + "/work", Label: "Back to the repair"}
		}
		return n
	}
	x := *step.Reading
	words := text.NextFrom(x)
	n := &nextBody{
		Over: "Next reading, " + plural(words.Minutes, "minute"), Title: words.Title, Sentence: words.Sentence, Why: words.Why,
		Step: step.Kind, Action: base + "/judge?end=" + string(phase), Form: s.formID(), Key: x.At,
	}
	if status != http.StatusOK {
		n.Form = r.PostForm.Get("form")
	}
	data := figure.NextFrom(x, d, v.Machine.Plate().AmbientPressure())
	data.Shows = data.Shows[:min(3, len(data.Shows))]
	n.Bars, n.Scene, n.BarsTable = len(data.Shows) > 0, figure.NextBars(data), data.Table()
	switch {
	case data.Answer != "":
		n.BarsNote = "How often each would show: " + text.LowerFirst(text.SeenAnswer(x.At, data.Answer)) + "."
	case data.Difference:
		n.BarsNote = "Drop from inlet to outlet."
	}
	if at, err := reading.ParsePlace(x.At); err == nil {
		places := []reading.Place{at}
		switch at {
		case reading.DrierOut:
			places = []reading.Place{reading.DrierIn, reading.DrierOut}
		case reading.BoxWetBulb: // either will do
			places = []reading.Place{reading.BoxWetBulb, reading.BoxHumidity}
		}
		for _, q := range places {
			f := placeField(v, phase, q, d)
			f.Was = form.CameWith(r, f.Name, *f.Was)
			if q == reading.DrierIn {
				f.Label = "Before it"
				if liquid, ok := sheet.Find(reading.LiquidLine); ok && f.Value == "" {
					f.Value = shown(liquid.Value, q, d, 0)
				}
			} else if q == reading.DrierOut {
				f.Label = "After it"
			}
			if len(places) > 1 {
				f.Hint = ""
			}
			if t, ok := typed(f.Name); ok {
				f.Value, f.Sign = t, r.PostForm.Get(f.Name+"_sign")
			}
			wrong.Place(r, &f)
			n.Fields = append(n.Fields, f)
		}
	} else {
		p := seenPicks(x.At, sheet.Seen)
		n.Picks = &p
	}
	n.Risk, n.Together = text.Risk(x.Risk), strings.TrimSpace(text.Together(step.Together)+" "+text.Proof(step, text.English))
	n.Answers = text.Answers(x, d, v.Machine.Plate().AmbientPressure())
	if step.Second != nil {
		n.Second = "Second best: " + text.LowerFirst(text.NextFrom(*step.Second).Title) + "."
		if step.FarLess {
			n.Second += " It tells far less here."
		}
	}
	return n
}

// cells are the four distances people ask for, with the two readings each comes from.
func cells(post *diagnose.Posterior, sheet reading.Sheet, d units.Display) []cell {
	expect := map[reading.Place]*diagnose.Expectation{}
	for i := range post.Expected {
		expect[post.Expected[i].At] = &post.Expected[i]
	}
	value := func(at reading.Place, bubble bool) string {
		r, ok := sheet.Find(at)
		if !ok {
			return ""
		}
		if at.Kind() == reading.KindPressure {
			sat, ok := post.Analysis.At(at)
			if !ok {
				return ""
			}
			T := sat.Dew
			if bubble {
				T = sat.Bubble
			}
			return text.LowerFirst(strings.TrimSuffix(text.Saturated(at), ", sat.")) + " " + units.Whole(d.TempNumber(units.Temp(T), 1))
		}
		return text.LowerFirst(text.Place(at).Name) + " " + units.Whole(d.TempNumber(units.Temp(r.Value), 1))
	}
	var out []cell
	for _, q := range []struct {
		key       string
		plus      reading.Place
		minus     reading.Place
		plusDew   bool
		withBands bool
	}{
		{circuit.Superheat, reading.CoilOutletLine, reading.SuctionPressure, false, true},
		{circuit.TD, reading.BoxAir, reading.SuctionPressure, false, true},
		{circuit.Split, reading.DischargePressure, reading.Ambient, true, true},
		{circuit.Subcooling, reading.DischargePressure, reading.LiquidLine, true, false},
	} {
		x, ok := post.Analysis.Find(q.key)
		if !ok {
			continue
		}
		c := cell{Name: text.Derived(q.key), Value: d.DiffNumber(units.TempDiff(x.Value), 1), Unit: d.DiffUnit()}
		a, b := value(from(x, q.plus), x.End == "bubble"), value(from(x, q.minus), x.End == "bubble")
		if a != "" && b != "" {
			c.From = a + " − " + b
		}
		if x.End == "bubble" {
			c.From += ", from bubble"
		}
		// TD and split move only with the one saturation that is judged: their distance is that reading's.
		var e *diagnose.Expectation
		sign := 1.0
		switch q.key {
		case circuit.TD:
			e, sign = expect[reading.SuctionPressure], -1
		case circuit.Split:
			e = expect[reading.DischargePressure]
		}
		if e != nil && e.Read {
			off := units.TempDiff(sign * e.Off)
			if e.In {
				off = 0
			}
			t := tagOf(off, d)
			c.Tag = &t
		}
		out = append(out, c)
	}
	return out
}

// from is the place a derived quantity took its pressure from, which is not always the usual one.
func from(x circuit.Quantity, usual reading.Place) reading.Place {
	if usual.Kind() == reading.KindPressure {
		for _, at := range x.From {
			if at.Kind() == reading.KindPressure {
				return at
			}
		}
	}
	return usual
}

// suspects are the causes as the verdict lists them, with their evidence in words.
func suspects(j *verdict.Judgement, missing *diagnose.Missing, d units.Display, amb units.Pressure) []suspect {
	var out []suspect
	for _, s := range j.Suspects {
		w := text.Fault(s.Code.String())
		x := suspect{
			Name:    w.Name,
			Hundred: text.Hundred(s.Probability),
			Words:   text.UpperFirst(text.Level(s.Level())) + ".",
			Check:   w.Check,
			Bar:     figure.SuspectBar(s.Probability),
			Open:    len(out) == 0,
			For:     spoken(s.Pro, d, amb),
			Against: spoken(s.Con, d, amb),
		}
		if s.RuledOut {
			x.Words = "Ruled out."
		}
		if s.Severity != nil {
			x.Severity = text.SeverityFrom(*s.Severity, d)
			if s.Code == fault.LowCharge {
				x.Severity = strings.TrimSpace(x.Severity + " " + text.MissingShare(missing))
			}
		}
		out = append(out, x)
	}
	return out
}

// spoken is evidence in words.
func spoken(list []verdict.Evidence, d units.Display, amb units.Pressure) []evidence {
	var out []evidence
	for _, it := range list {
		e := evidence{Name: text.At(it.At), Weight: int(it.Strength), Dots: strings.Repeat("●", int(it.Strength))}
		at, err := reading.ParsePlace(it.At)
		if it.At == diagnose.RoomLoad {
			pc := func(v float64) string { return units.Fixed(100*v, 0) + " %" }
			e.Name += " " + pc(it.Measured) + " of what it carries"
			e.Shows = pc(it.IfThis.Low) + " to " + pc(it.IfThis.High)
		} else if it.At == diagnose.PullDown {
			t := func(v float64) string { return d.FormatTemp(units.Temp(v), 0) }
			e.Name += " " + t(it.Measured)
			e.Shows = t(it.IfThis.Low) + " to " + t(it.IfThis.High)
		} else if err != nil {
			e.Name += " " + text.LowerFirst(text.SeenAnswer(it.At, it.Word))
			e.Shows = "so in " + text.HundredWord(it.IfThis.Mid)
		} else {
			e.Name += " " + shown(it.Measured, at, d, amb)
			lo, hi := whole(it.IfThis.Low, -outward, at, d, amb), whole(it.IfThis.High, outward, at, d, amb)
			e.Shows = lo + " to " + hi + " " + unitOf(at, d)
			if lo == hi {
				e.Shows = lo + " " + unitOf(at, d)
			}
		}
		out = append(out, e)
	}
	return out
}

// outward is by how much of a whole unit the ends of an interval are moved apart before they are rounded, so that what
// stands inside the interval stands inside the one that is shown.
const outward = 0.499

// whole is a predicted value, moved by a share of it, in the whole units findings are given in.
func whole(v, by float64, at reading.Place, d units.Display, amb units.Pressure) string {
	switch at.Kind() {
	case reading.KindTemperature:
		if d.Temp == "°F" {
			by *= units.Fahr
		}
		return d.TempNumber(units.Temp(v+by), 0)
	case reading.KindPressure:
		if d.Pressure == "psig" {
			return units.Fixed(float64(units.Pressure(v).Gauge(amb))/units.Psi+by, 0)
		}
		return d.PressureNumber(units.Pressure(v), amb)
	}
	return shown(v, at, d, amb)
}
