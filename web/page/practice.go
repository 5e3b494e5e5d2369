package page

import (
	"encoding/hex"
	"hash/fnv"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

// The practice bench keeps nothing here: seed, level, machine and the list of what was read stand in the address, and
// everything follows from them.

type practiceBody struct {
	Levels  form.Choice
	Machine form.Choice
	Seed    form.Field
}

func (s *Pages) Practice(w http.ResponseWriter, r *http.Request) error {
	return s.showPractice(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showPractice(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	q := r.URL.Query()
	b := practiceBody{
		Levels:  form.Choice{Name: "level", Label: "What may be wrong", Value: or(q.Get("level"), strconv.Itoa(practice.LevelClear))},
		Machine: form.Choice{ID: "f-machine", Name: "machine", Label: "Machine", Value: q.Get("machine"), Options: []form.Option{{Value: "", Label: "Draw one"}}},
		Seed: form.NumberField(
			"seed",
			"Number of the exercise",
			"The same number, machine and choice give the same exercise: work it out side by side",
			"",
			or(q.Get("seed"), s.newSeed()),
		),
	}
	for _, l := range practice.Levels() {
		b.Levels.Options = append(b.Levels.Options, form.Option{Value: strconv.Itoa(l), Label: text.PracticeLevel(l)})
	}
	for _, m := range practice.Machines() {
		b.Machine.Options = append(b.Machine.Options, form.Option{Value: m, Label: text.PracticeMachine(m)})
	}
	wrong.Place(&b.Seed)
	wrong.PlaceChoice(&b.Levels)
	wrong.PlaceChoice(&b.Machine)
	s.show(w, r, status, "practice", &Page{Title: "Practice", Class: "two", Body: b})
	return nil
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// newSeed is a number short enough to say across a table.
func (s *Pages) newSeed() string {
	h := fnv.New32a()
	_, _ = h.Write([]byte(s.formID())) // a hash does not fail
	n, _ := strconv.ParseUint(hex.EncodeToString(h.Sum(nil)), 16, 32)
	return strconv.FormatUint(n%100_000, 10)
}

// session builds an exercise and what was read from the address.
func (s *Pages) session(q url.Values) (practice.Session, error) {
	seed, err := strconv.ParseUint(strings.TrimSpace(q.Get("seed")), 10, 64)
	if err != nil {
		return practice.Session{}, fail.New(fail.BadValue, "seed", "is a whole number from 0 up", "such as 7")
	}
	level, err := strconv.Atoi(q.Get("level"))
	if err != nil {
		return practice.Session{}, fail.New(fail.BadValue, "level", "is missing", "choose what may be wrong")
	}
	e, err := practice.New(seed, level, q.Get("machine"), s.app.Fit)
	if err != nil {
		return practice.Session{}, err
	}
	return e.Replay(strings.FieldsFunc(q.Get("did"), func(r rune) bool { return r == ',' }))
}

// benchPath is the address of a session, with one more thing read.
func benchPath(page string, q url.Values, s practice.Session, more string) string {
	v := url.Values{"seed": {q.Get("seed")}, "level": {q.Get("level")}}
	if m := q.Get("machine"); m != "" {
		v.Set("machine", m)
	}
	done := s.Done()
	if more != "" {
		done = append(done, more)
	}
	if len(done) > 0 {
		v.Set("did", strings.Join(done, ","))
	}
	return page + "?" + v.Encode()
}

type benchRow struct{ Href, Name, Value, Risk string }

type benchGroup struct {
	Title string
	Rows  []benchRow
}

type benchBody struct {
	Complaint, Spent          string
	Seed, Level, Machine, Did string
	Done                      []benchRow
	Groups                    []benchGroup
	Cause, Cause2, Fix, Fix2  form.Choice
	Enough                    bool
	Errors                    []string
}

func (s *Pages) Bench(w http.ResponseWriter, r *http.Request) error {
	return s.showBench(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showBench(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	q := r.URL.Query()
	so, err := s.session(q)
	if err != nil {
		if wrong.Take(err) && wrong["at"] == nil {
			return s.showPractice(w, r, http.StatusUnprocessableEntity, wrong)
		}
		return err
	}
	d := form.Units(r)
	b := benchBody{
		Complaint: text.PracticeComplaint(so.Level), Spent: text.PracticeSpent(so.Minutes(), so.Grams()),
		Seed: q.Get("seed"), Level: q.Get("level"), Machine: q.Get("machine"), Did: strings.Join(so.Done(), ","),
		Enough: len(so.Sheet().Readings) >= practice.Enough,
	}
	for _, ev := range so.Events {
		b.Done = append(b.Done, benchRow{Name: text.PracticeName(ev.At), Value: text.PracticeShown(ev, d)})
	}
	groups := []benchGroup{{Title: "Look"}, {Title: "Thermometer, clamp, meter"}, {Title: "Gauges"}}
	for _, o := range so.Offers() {
		if o.Taken {
			continue
		}
		row := benchRow{
			Href:  benchPath("/practice/run", q, so, o.At),
			Name:  text.PracticeName(o.At),
			Value: units.Fixed(o.Minutes, 0) + " min",
			Risk:  text.UpperFirst(text.RiskShort(o.Risk)),
		}
		g := 1
		if p, err := reading.ParsePlace(o.At); err != nil {
			g = 0
		} else if p.Kind() == reading.KindPressure {
			g = 2
		}
		groups[g].Rows = append(groups[g].Rows, row)
	}
	for _, g := range groups {
		if len(g.Rows) > 0 {
			b.Groups = append(b.Groups, g)
		}
	}
	var causes, fixes []form.Option
	for _, c := range so.Candidates() {
		causes = append(causes, form.Option{Value: c.String(), Label: text.Fault(c.String()).Name})
	}
	for _, f := range so.Repairs() {
		fixes = append(fixes, form.Option{Value: f, Label: text.Remedy(f)})
	}
	list := func(name, label, hint, none string, options []form.Option) form.Choice {
		return form.Choice{
			ID:      "f-" + name,
			Name:    name,
			Label:   label,
			Hint:    hint,
			Value:   q.Get(name),
			Options: append([]form.Option{{Value: "", Label: none}}, options...),
		}
	}
	b.Cause, b.Fix = list("cause", "What is wrong", "", "Choose", causes), list("repair", "What to do about it", "", "Choose", fixes)
	if so.Level >= practice.LevelTwo {
		b.Cause2, b.Fix2 = list("cause2", "And also", "", "Nothing else", causes), list("repair2", "And also", "", "Nothing else", fixes)
	}
	wrong.PlaceChoice(&b.Cause)
	wrong.PlaceChoice(&b.Fix)
	b.Errors = wrong.Rest()
	s.show(w, r, status, "bench", &Page{Title: "Practice", Class: "two bench", Plate: benchPlate(so.Exercise, d), Body: b})
	return nil
}

func benchPlate(e *practice.Exercise, d units.Display) []PlateCell {
	m, _ := e.Plate.Resolve()
	device := text.Expansion(m.Expansion.String())
	if m.Receiver {
		device += ", receiver"
	} else {
		device += ", no receiver"
	}
	cells := []PlateCell{
		{Name: "Exercise " + strconv.FormatUint(e.Seed, 10), Value: text.PracticeMachine(e.Key)},
		{Name: "Refrigerant", Value: m.Refrigerant},
		{Name: "Holds", Value: d.FormatTemp(m.Box, 0)},
		{Name: "Full charge", Value: d.FormatMass(e.Charge)},
		{Name: "Feeds by", Value: device},
		{Name: "Rated", Value: units.Fixed(m.RatedAmps, 0) + " A"},
	}
	if m.HeadControl != reading.HeadNone {
		cells = append(
			cells,
			PlateCell{Name: "Head control", Value: text.HeadControl(m.HeadControl.String()) + " below " + d.FormatTemp(m.HeadSet, 0)},
		)
	}
	return cells
}

type pathRow struct{ Name, Value, Minutes, Then, Next string }

type truthBody struct {
	H1, Para, Points, Proof, Pace, Expert string
	Cells                                 []cell
	Truth, Repairs, Lessons               []string
	Marks                                 bool
	Ladder                                plot.Scene
	Caption                               string
	Table                                 figure.Table
	Path, Best                            []pathRow
	Again, Same                           string
}

func (s *Pages) Truth(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	so, err := s.session(q)
	if err != nil {
		return s.showBench(w, r, http.StatusUnprocessableEntity, form.Mistakes{})
	}
	var cause []fault.Code
	var repair []string
	for _, name := range []string{"cause", "cause2"} {
		if v := q.Get(name); v != "" {
			c, _ := fault.Parse(v) // an unknown one is refused below
			cause = append(cause, c)
		}
	}
	for _, name := range []string{"repair", "repair2"} {
		if v := q.Get(name); v != "" {
			repair = append(repair, v)
		}
	}
	res, err := so.Name(r.Context(), cause, repair)
	if err != nil {
		wrong := form.Mistakes{}
		if wrong.Take(err) {
			return s.showBench(w, r, http.StatusUnprocessableEntity, wrong)
		}
		return err
	}
	d := form.Units(r)
	b := truthBody{
		Points: strconv.Itoa(
			res.Points,
		) + " of 100 points",
		Proof:   text.PracticeProof(res),
		Pace:    text.PracticePace(res),
		Expert:  text.PracticeExpert(res),
		Lessons: text.PracticeLessons(res),
		Caption: text.PracticeCaption,
		Same:    benchPath("/practice/run", q, so.Start(), ""),
	}
	b.Again = "/practice/run?" + url.Values{"seed": {s.newSeed()}, "level": {q.Get("level")}, "machine": {q.Get("machine")}}.Encode()
	b.H1, b.Para = text.PracticeHeadline(res)
	for _, p := range []struct {
		name, from string
		got, most  float64
	}{
		{"Cause", "", res.Score.Cause, practice.MaxCause},
		{"Repair", "", res.Score.Repair, practice.MaxRepair},
		{"Proof", "what was read carries the truth", res.Score.Proof, practice.MaxProof},
		{"Minutes", "against the expert's", res.Score.Minutes, practice.MaxMinutes},
	} {
		b.Cells = append(b.Cells, cell{Name: p.name, Value: units.Fixed(p.got, 0), Unit: " of " + units.Fixed(p.most, 0), From: p.from})
	}
	for _, t := range res.Truth {
		b.Truth = append(b.Truth, text.PracticeTruth(t, d))
	}
	for _, m := range res.Remedies {
		b.Repairs = append(b.Repairs, text.Remedy(m)+".")
	}
	ladder := figure.LadderData{Marks: figure.BenchMarks(so.Exercise, res.Ladder), Display: d}
	b.Marks, b.Ladder = len(ladder.Marks) > 0, figure.Ladder(ladder)
	b.Table.Head = []string{"Where", "Read", "Healthy", "It stands at"}
	for _, a := range res.Ladder {
		show := func(v float64) string { return text.PracticeNumber(a.At, v, d) }
		b.Table.Rows = append(
			b.Table.Rows,
			[]string{text.At(a.At.String()) + ", " + text.PracticeUnit(a.At, d), show(a.Read), show(a.Healthy), show(a.Truth)},
		)
	}
	b.Path, b.Best = pathRows(res.Path, d), pathRows(res.Expert, d)
	s.show(w, r, http.StatusOK, "truth", &Page{Title: "The truth", Class: "two", Plate: benchPlate(so.Exercise, d), Body: b})
	return nil
}

func pathRows(steps []practice.Step, d units.Display) []pathRow {
	var out []pathRow
	sum := 0.0
	for _, st := range steps {
		sum += st.Minutes
		row := pathRow{
			Name:    text.PracticeName(st.At),
			Value:   text.PracticeShown(st.Event, d),
			Minutes: units.Fixed(sum, 0),
			Next:    text.PracticeAdvice(st),
		}
		if st.First != "" {
			row.Then = text.Fault(st.First).Name + ", " + text.HundredWord(st.Sure)
		}
		out = append(out, row)
	}
	return out
}
