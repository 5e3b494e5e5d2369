package page

import (
	"net/http"
	"net/url"
	"strconv"

	"coldwright/machine/fault"
	"coldwright/practice"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

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
		Points:  strconv.Itoa(res.Points) + " of 100 points",
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
