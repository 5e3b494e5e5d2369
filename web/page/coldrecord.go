package page

import (
	"io"
	"net/http"
	"path"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/proof/templog"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type coldFileBody struct {
	Name, Sum, Href, Verdict, Layout, Criterion string
	Good                                        bool
	Lines, Notes                                []string
	Rows                                        [][]string
	More                                        string
	Drawn                                       bool
	Scene                                       plot.Scene
	Caption                                     string
	Event, Form                                 string
}

type coldRecordBody struct {
	Base, Form, Keep                     string
	Closed                               bool
	Files                                []coldFileBody
	Rule, Unit, Dates                    form.Choice
	Limit, Tolerance, Logger, Place, Air form.Field
	FileBad                              string
	Errors, Needs                        []string
	Decision                             string
	Next                                 key
	Cautions                             []text.Caution
}

func (s *Pages) ColdRecord(w http.ResponseWriter, r *http.Request) error {
	return s.showColdRecord(w, r, http.StatusOK, "", form.Mistakes{})
}

func (s *Pages) showColdRecord(w http.ResponseWriter, r *http.Request, status int, _ string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Running: true, Cold: true})
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := coldRecordBody{Base: visitPath(v.Visit.ID), Form: s.formID(), Closed: !v.Visit.Closed.IsZero(), Decision: say(templog.FoodDecision)}
	b.Next = key{Href: b.Base + "/write", Label: "Go on: write it down"}
	for i := range v.Cold {
		f, c := v.Cold[i].File, v.Cold[i].Result
		x := coldFileBody{
			Name:  f.Name,
			Sum:   f.SHA256,
			Href:  b.Base + "/cold-record/" + string(f.Event),
			Event: string(f.Event),
			Form:  s.formID(),
		}
		if x.Name == "" {
			x.Name = "Logger's file"
		}
		if err := v.Cold[i].Err; err != nil {
			x.Verdict = form.Message(r, failure(err))
			b.Files = append(b.Files, x)
			continue
		}
		x.Verdict, x.Good, x.Lines, x.Criterion = text.ColdVerdict(
			&c,
			d,
		), verdict.OfRecord(&c).State == verdict.Proven, text.ColdLines(&c, d), text.ColdCriterion(&c, d)
		x.Layout = c.Mapping.Describe()
		if c.Rows > 1 {
			g := figure.ColdData{ID: "record" + units.Fixed(float64(i), 0), Record: &c, Display: d}
			x.Drawn, x.Scene, x.Caption = true, figure.ColdTrace(g), g.Caption()
		}
		n := 0
		for _, e := range c.Excursions {
			if e.Defrost {
				continue
			}
			if n++; n > 12 {
				x.More = "Only the first 12 stand here; the file holds all of them."
				break
			}
			x.Rows = append(x.Rows, text.ColdRow(&c, e, d))
		}
		for _, note := range c.Notes {
			x.Notes = append(x.Notes, say(note.Code))
		}
		for _, code := range c.Needs {
			if i == len(v.Visit.Cold)-1 && !answered(code, f) {
				b.Needs = append(b.Needs, say(code))
			}
		}
		b.Files = append(b.Files, x)
	}
	get := func(name string) string { return r.PostForm.Get(name) }
	mine := status != http.StatusOK
	rule := "cold_holding"
	if freezing(v.Machine) {
		rule = "frozen_quality"
	}
	b.Rule = form.Choice{ID: "f-rule", Name: "rule", Label: "Limit", Value: rule}
	for _, l := range templog.FoodLimits() {
		b.Rule.Options = append(b.Rule.Options, form.Option{Value: l.Key, Label: text.FoodLimit(l, d)})
	}
	b.Rule.Options = append(b.Rule.Options, form.Option{Value: "own", Label: "Another limit, below"})
	b.Unit = form.Choice{
		ID:      "f-unit",
		Name:    "unit",
		Label:   "Unit in the file",
		Options: []form.Option{{Value: "", Label: "As the file says"}, {Value: "C", Label: "°C"}, {Value: "F", Label: "°F"}},
	}
	b.Dates = form.Choice{
		ID:      "f-dates",
		Name:    "dates",
		Label:   "Dates in the file",
		Options: []form.Option{{Value: "", Label: "As they follow on"}, {Value: "dmy", Label: "Day first"}, {Value: "mdy", Label: "Month first"}},
	}
	if mine {
		b.Form = get("form")
		b.Rule.Value, b.Unit.Value, b.Dates.Value = get("rule"), get("unit"), get("dates")
	}
	limit := form.NumberField("limit", "Another limit", "Only with that choice above", d.Temp, "")
	belowZero(&limit, v.Machine, reading.BoxAir, d)
	b.Limit = testInput(r, mine, wrong, limit, "")
	b.Tolerance = testInput(
		r,
		mine,
		wrong,
		form.NumberField("tolerance", "The logger may be off by", "Empty: what the food code asks of a thermometer", d.DiffUnit(), ""),
		"",
	)
	b.Logger = testInput(r, mine, wrong, form.TextField("logger", "Which logger", "Maker's mark, number, last check", ""), "")
	b.Place = testInput(
		r,
		mine,
		wrong,
		form.TextField("place", "Where its sensor hung", "Warmest part, return air, or in which product", ""),
		"",
	)
	b.Air = testInput(r, mine, wrong, form.TextField("air", "Column of the air", "Its heading or number, when the file has several", ""), "")
	wrong.PlaceChoice(r, &b.Rule)
	wrong.PlaceChoice(r, &b.Unit)
	wrong.PlaceChoice(r, &b.Dates)
	if e, ok := wrong["file"]; ok {
		b.FileBad = form.Message(r, e)
		delete(wrong, "file")
	}
	if mine {
		b.Keep = "The file itself must be chosen again."
	}
	b.Errors = wrong.Rest(r)
	p := s.visitPage(v, d, "Cold record", false)
	p.Class, p.Body = "two", b
	s.show(w, r, status, "coldrecord", p)
	return nil
}

// answered reports whether what a record still needs was said with it.
func answered(code string, f *record.ColdFile) bool {
	switch code {
	case templog.NeedDevice:
		return f.Logger != ""
	case templog.NeedPlace:
		return f.Place != ""
	case templog.NeedAccuracy:
		return f.ToleranceK > 0
	}
	return false
}

// upload reads the file of a form. The form may be larger than any other of ours, by the file.
func upload(r *http.Request) (name string, data []byte, err error) {
	if err := r.ParseMultipartForm(maxBody); err != nil {
		return "", nil, fail.Of(fail.Range, "file", "logger.file_cut_off", nil)
	}
	f, head, err := r.FormFile("file")
	if err != nil {
		return "", nil, nil // none was chosen; the use case says so beside the field
	}
	defer func() { _ = f.Close() }() // read only
	b, err := io.ReadAll(io.LimitReader(f, record.ColdFileLimit+1))
	return path.Base(strings.ReplaceAll(head.Filename, "\\", "/")), b, err
}

func (s *Pages) AddColdRecord(w http.ResponseWriter, r *http.Request) error {
	name, data, err := upload(r)
	wrong := form.Mistakes{}
	if err != nil {
		wrong.Add("file", err)
		return s.showColdRecord(w, r, http.StatusUnprocessableEntity, "", wrong)
	}
	f, d := r.PostForm, form.Units(r)
	e := app.ColdEntry{
		Name:      name,
		Data:      data,
		Rule:      f.Get("rule"),
		Limit:     wrong.Signed(r, "limit"),
		TempUnit:  d.Temp,
		DiffUnit:  d.DiffUnit(),
		Unit:      oneWord(f.Get("unit"), "C", "F"),
		Dates:     oneWord(f.Get("dates"), "dmy", "mdy"),
		Tolerance: f.Get("tolerance"),
		Logger:    f.Get("logger"),
		Place:     f.Get("place"),
		Air:       f.Get("air"),
	}
	if e.Rule == "own" {
		e.Rule = ""
	}
	save := func() error { return s.app.AddCold(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/cold-record", "", wrong, save, s.showColdRecord)
}

// oneWord is a word that is allowed, or none.
func oneWord(s string, allowed ...string) string {
	for _, a := range allowed {
		if s == a {
			return s
		}
	}
	return ""
}

// ColdFile gives a kept file back as it came.
func (s *Pages) ColdFile(w http.ResponseWriter, r *http.Request) error {
	f, b, err := s.app.ColdFile(r.Context(), id(r, "visit"), id(r, "event"))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="record-`+f.SHA256[:12]+`.csv"`)
	_, _ = w.Write(b) // the other end may have gone
	return nil
}
