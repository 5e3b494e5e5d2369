package page

import (
	"errors"
	"math"
	"net/http"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type cell struct {
	Name, Value, Unit, From string
	Tag                     *tag
}

type timeBody struct {
	Running, Closed, Good                                                        bool
	Since, SinceStamp, NowStamp, Clock, Verdict, Sentence, Coming, Food, EndWord string
	Action, Start, Withdraw, Back, Next, Form, Form2, Caption                    string
	Cells                                                                        []cell
	Pad                                                                          []form.Option
	Other, Box, Set, Minute                                                      form.Field
	Errors                                                                       []string
	Room                                                                         string
	Cautions                                                                     []text.Caution
	Points                                                                       []testRow
	Scene                                                                        plot.Scene
	Table, Forecast                                                              figure.Table
	Moments                                                                      momentsBody
}

// momentsBody are the clocks of machine and defrost.
type momentsBody struct {
	Action, Form, NowStamp string
	Rows                   []momentRow
	Buttons                []form.Option
	Ago                    form.Field
	Error                  string
	Open                   bool
}

type momentRow struct{ Words, Since, Clock, Event, Form string }

// moments says what the clocks of machine and defrost show.
func (s *Pages) moments(r *http.Request, v *app.VisitView, phase record.Phase, wrong form.Mistakes) momentsBody {
	end := v.Visit.End(phase)
	b := momentsBody{Action: visitPath(v.Visit.ID) + "/time/mark?end=" + string(phase), Form: s.formID(), NowStamp: stamp(v.Now)}
	b.Ago = form.NumberField("ago", "It was earlier", "How many minutes ago; empty: now", "min", "")
	if e, ok := wrong["ago"]; ok {
		b.Ago.Value, b.Ago.Bad, b.Ago.Focus, b.Open = r.PostForm.Get("ago"), form.Message(r, e), true, true
		b.Form = r.PostForm.Get("form")
		delete(wrong, "ago")
	}
	row := func(words, word string) {
		m := end.Moments[word]
		b.Rows = append(
			b.Rows,
			momentRow{
				words + " " + zoned(m.At, v.Site, "15:04"),
				stamp(m.At),
				clock(v.Now.Sub(m.At)),
				string(m.Event),
				s.formID(),
			},
		)
	}
	_, on := end.Moments[record.SwitchedOn]
	_, began := end.Moments[record.DefrostBegan]
	_, over := end.Moments[record.DefrostEnded]
	if on {
		row("Running since", record.SwitchedOn)
	}
	switch {
	case over:
		row("Defrost over since", record.DefrostEnded)
	case began:
		row("Defrosting since", record.DefrostBegan)
	}
	if !on {
		b.Buttons = append(b.Buttons, form.Option{Value: record.SwitchedOn, Label: "It starts running"})
	}
	if began && !over {
		b.Buttons = append(b.Buttons, form.Option{Value: record.DefrostEnded, Label: "The defrost is over"})
	} else {
		b.Buttons = append(b.Buttons, form.Option{Value: record.DefrostBegan, Label: "A defrost begins"})
		if !over {
			b.Buttons = append(b.Buttons, form.Option{Value: record.DefrostEnded, Label: "A defrost is just over"})
		}
	}
	return b
}

func (s *Pages) Mark(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{})
	if err != nil {
		return err
	}
	phase, wrong := phaseOf(r, v.Visit), form.Mistakes{}
	ago := wrong.Optional("ago", r.PostForm.Get("ago"), "min", units.ParseMinutes)
	if len(wrong) == 0 {
		err := s.app.Time(r.Context(), s.act(r), v.Visit.ID, phase, r.PostForm.Get("what"), ago)
		if err == nil {
			return redirect(w, r, visitPath(v.Visit.ID)+"/time?end="+string(phase)+"#machine")
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.showTime(w, r, http.StatusUnprocessableEntity, wrong)
}

func (s *Pages) Time(w http.ResponseWriter, r *http.Request) error {
	return s.showTime(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showTime(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{askedEnd(r)}})
	if err != nil {
		return err
	}
	phase := phaseOf(r, v.Visit)
	d, base := form.Units(r), visitPath(v.Visit.ID)
	q := "?end=" + string(phase)
	b := timeBody{
		Closed:   !v.Visit.Closed.IsZero(),
		EndWord:  endWords(phase),
		Action:   base + "/time" + q,
		Start:    base + "/time/start" + q,
		Withdraw: base + "/withdraw",
		Back:     base + "/time" + q,
		Next:     base + "/readings" + q,
		Form:     s.formID(),
		Form2:    s.formID(),
		Cautions: text.Cautions("time", danger(v.Machine)),
	}
	if status != http.StatusOK {
		b.Form2 = r.PostForm.Get("form")
	}
	input := func(name, label, hint, value string) form.Field {
		f := form.NumberField(name, label, hint, d.Temp, value)
		belowZero(&f, v.Machine, reading.BoxAir, d)
		f.Was = form.CameWith(r, name, value)
		if r.Method == http.MethodPost && r.PostForm.Has(name) {
			f.Value, f.Sign = r.PostForm.Get(name), r.PostForm.Get(name+"_sign")
		}
		wrong.Place(r, &f)
		return f
	}
	b.Moments = s.moments(r, v, phase, wrong)
	pull := v.Visit.End(phase).Pull
	if pull == nil || len(pull.Points) == 0 {
		value := ""
		if box, ok := app.LastBox(v.Visit.End(phase)); ok {
			value = units.Whole(d.TempNumber(box, 1))
		}
		b.Box = input("box", "Box, entering the coil", "", value)
		b.Set = input("set", "It must hold", "", units.Whole(d.TempNumber(v.Machine.SetPoint(), 1)))
		b.Errors = wrong.Rest(r)
		p := s.visitPage(v, d, "Pull-down", true)
		p.Class, p.Body, p.Clock = "two", b, len(b.Moments.Rows) > 0
		p.Kept = s.kept(v, "time", visitPath(v.Visit.ID)+"/time?end="+string(phase))
		s.show(w, r, status, "time", p)
		return nil
	}
	set := app.SetPointOf(v.Machine, pull)
	last := pull.Points[len(pull.Points)-1]
	b.Running = true
	b.Since = "Running since " + zoned(pull.Started, v.Site, "15:04") + ", doors shut. " + endWords(phase)
	b.SinceStamp, b.NowStamp, b.Clock = stamp(pull.Started), stamp(v.Now), clock(v.Now.Sub(pull.Started))
	b.Cells = []cell{
		{Name: "Box, last read", Value: units.Whole(d.TempNumber(last.Box, 1)), Unit: d.Temp},
		{Name: "To set point", Value: units.Whole(d.DiffNumber(last.Box.Sub(set), 1)), Unit: d.DiffUnit()},
	}
	res := v.End(phase).Pull
	if res != nil {
		b.Verdict = text.PullDownVerdict(res.Verdict.String())
		b.Good = verdict.PullsWell(res)
		b.Sentence = text.PullDown(text.PullFactsFrom(res, set), d)
		b.Coming = text.Coming(v.End(phase).Coming, v.LastPull(phase), d, text.English)
		if len(res.Forecast) > 0 {
			b.Food = text.Pull(text.English, "food")
		}
		if res.N > 1 {
			b.Cells = []cell{b.Cells[0], {Name: "Lately", Value: d.DiffNumber(res.RateLast, 1), Unit: d.DiffUnit() + "/h"}, b.Cells[1]}
		}
	}
	if e := v.End(phase).PullErr; e != nil {
		b.Sentence = e.Error()
	}
	// Six likely values: the last one, and how far it may have fallen since, in half degrees.
	step := 0.5
	n := math.Round(lastNumber(d, last.Box)/step) * step
	for k := -1; k < 5; k++ {
		x := units.Fixed(n-float64(k)*step, 1)
		b.Pad = append(b.Pad, form.Option{Value: x, Label: x})
	}
	b.Other = form.NumberField("other", "Another value", "", d.Temp, "")
	belowZero(&b.Other, v.Machine, reading.BoxAir, d)
	b.Minute = form.NumberField("minute", "Minutes since the start", "Empty: now", "min", "")
	if e, ok := wrong["minute"]; ok {
		b.Minute.Value, b.Minute.Bad, b.Minute.Focus = r.PostForm.Get("minute"), form.Message(r, e), true
		if e.Key == app.Ahead {
			b.Minute.Sure = b.Minute.Value
		}
		b.Other.Value = r.PostForm.Get("other")
		delete(wrong, "minute")
	}
	if e, ok := wrong["box"]; ok {
		wrong["other"] = e.In("other")
		delete(wrong, "box")
	}
	if _, ok := wrong["other"]; ok {
		b.Other.Value, b.Other.Sign = r.PostForm.Get("other"), r.PostForm.Get("other_sign")
		wrong.Place(r, &b.Other)
	}
	b.Room = text.RoomTooMuch(v.End(phase).Room, text.English)
	var shownPoints []figure.PullPoint
	for _, x := range pull.Points {
		shownPoints = append(shownPoints, figure.PullPoint{Minute: x.Minute, Box: x.Box})
		cells := []string{units.Whole(units.Fixed(x.Minute, 1)), d.TempNumber(x.Box, 1)}
		b.Points = append(b.Points, testRow{cells, string(x.Event), s.formID()})
	}
	fig := figure.PullDownFrom(shownPoints, &set, res, d)
	b.Scene, b.Caption, b.Table, b.Forecast = figure.PullDown(fig), fig.Caption(), fig.Table(), figure.Forecast(res, d)
	b.Errors = wrong.Rest(r)
	p := s.visitPage(v, d, "Pull-down", true)
	p.Class, p.Body, p.Clock = "two", b, true
	p.Kept = s.kept(v, "time", visitPath(v.Visit.ID)+"/time?end="+string(phase))
	s.show(w, r, status, "time", p)
	return nil
}

func lastNumber(d units.Display, t units.Temp) float64 {
	if d.Temp == "°C" {
		return t.C()
	}
	return t.F()
}

func (s *Pages) StartPull(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{})
	if err != nil {
		return err
	}
	phase, d, wrong := phaseOf(r, v.Visit), form.Units(r), form.Mistakes{}
	set := v.Machine.SetPoint()
	if t := wrong.OptionalTemp("set", wrong.Signed(r, "set"), d.Temp); t != nil {
		set = units.Temp(*t)
	}
	box := wrong.Signed(r, "box")
	if box == "" {
		wrong["box"] = fail.Of(fail.Required, "box", "pull.box_missing", nil)
	}
	if wrong["box"] == nil {
		wrong.OptionalTemp("box", box, d.Temp)
	}
	if len(wrong) == 0 {
		err := s.app.StartPull(r.Context(), s.act(r), v.Visit.ID, phase, set, box, d.Temp)
		if err == nil {
			return redirect(w, r, visitPath(v.Visit.ID)+"/time?end="+string(phase))
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.showTime(w, r, http.StatusUnprocessableEntity, wrong)
}

func (s *Pages) AddPoint(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{})
	if err != nil {
		return err
	}
	phase, d, wrong := phaseOf(r, v.Visit), form.Units(r), form.Mistakes{}
	value, sure := r.PostForm.Get("box"), false
	if value == "" {
		value = wrong.Signed(r, "other")
		sure = form.Sure(r, "other", value)
	}
	minute := wrong.Optional("minute", r.PostForm.Get("minute"), "min", units.ParseMinutes)
	if len(wrong) > 0 {
		return s.showTime(w, r, http.StatusUnprocessableEntity, wrong)
	}
	err = s.app.AddPull(r.Context(), s.act(r), v.Visit.ID, phase, minute, value, d.Temp, sure,
		form.Sure(r, "minute", r.PostForm.Get("minute")))
	if err == nil {
		return redirect(w, r, visitPath(v.Visit.ID)+"/time?end="+string(phase))
	}
	var f *fail.Error
	if !wrong.Take(err) {
		if !errors.As(err, &f) || f.Code != fail.Conflict {
			return err
		}
		wrong[""] = f
	}
	return s.showTime(w, r, http.StatusUnprocessableEntity, wrong)
}

func (s *Pages) Withdraw(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.Withdraw(r.Context(), s.act(r), visit, record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, local(r.PostForm.Get("back"), visitPath(visit)))
}
