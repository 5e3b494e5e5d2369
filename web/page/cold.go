package page

import (
	"net/http"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/machine/fault"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/web/form"
)

type coldBody struct {
	Base, H1, Para, Over, Head, Form, Form2, Caption string
	Keys                                             []key
	Cautions                                         []text.Caution
	CanHealthy, Healthy, Proof                       bool
	Confirm                                          *form.Choice
	Scene                                            plot.Scene
	Table                                            figure.Table
}

func (s *Pages) Cold(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before, record.After}, Running: true})
	if err != nil {
		return err
	}
	d, base := form.Units(r), visitPath(v.Visit.ID)
	b := coldBody{
		Base:     base,
		Form:     s.formID(),
		Form2:    s.formID(),
		Over:     "Next",
		Healthy:  v.Visit.Healthy,
		Cautions: text.Cautions("cold", danger(v.Machine)),
	}
	after := v.Visit.After
	pulled := after.Pull != nil && len(after.Pull.Points) > 1
	open := v.Visit.Closed.IsZero()
	b.H1, b.Para = "Prove the cold", "Pull-down again, then the same temperatures as before. A final reading within a degree or two of "+
		"its band counts as right."
	if v.After.Posterior != nil {
		b.H1, b.Para = text.Headline(v.After.Judged, d)
		b.Para = strings.TrimSpace(b.Para + " " + text.Instruments(v.After.Judged.Instruments, d, text.English))
	}
	logged := key{Href: base + "/cold-record", Label: "Add a logger's record", Second: true}
	pull := key{Href: base + "/time?end=after", Label: "Pull it down again"}
	read := key{Href: base + "/readings?end=after", Label: "Read the circuit again"}
	write := key{Href: base + "/write", Label: "Write it down"}
	switch {
	case !pulled && len(after.Readings) < 2:
		b.Head = "Time the box again, doors shut"
		read.Second, write.Second = true, true
		b.Keys = []key{pull, read, logged, write}
	case len(after.Readings) < 2:
		b.Head = "Read the same places again"
		pull.Second, write.Second = true, true
		b.Keys = []key{read, pull, logged, write}
	default:
		b.Head = "Write it down"
		pull.Second, read.Second = true, true
		b.Keys = []key{write, {Href: base + "/judge?end=after", Label: "See the judgement", Second: true}, read, pull, logged}
	}
	b.CanHealthy = open && !v.Visit.Healthy && (len(after.Readings) >= 2 || len(v.Visit.Before.Readings) >= 2 && len(v.Visit.Work) == 0)
	if open {
		b.Confirm = &form.Choice{ID: "f-fault", Name: "fault", Label: "The cause the repair confirmed", Value: v.Visit.Confirmed}
		if v.Visit.Confirmed == "" {
			b.Confirm.Options = []form.Option{{Value: "", Label: "Choose"}}
		}
		codes := fault.Singles()
		// The first suspects, so that the answer is near the top of the list.
		if j := v.Before.Judged; j != nil {
			var first []fault.Code
			for _, c := range j.Causes() {
				first = append(first, c.Code)
			}
			codes = append(first[:min(3, len(first))], codes...)
		}
		var said []fault.Code
		for _, c := range append(codes, fault.Healthy) {
			if !slices.Contains(said, c) {
				said = append(said, c)
				b.Confirm.Options = append(b.Confirm.Options, form.Option{Value: c.String(), Label: text.Fault(c.String()).Name})
			}
		}
	}
	if v.Before.Posterior != nil && v.After.Posterior != nil {
		f := figure.ProofData{
			Before:  figure.Marks(v.Before.Posterior, v.Before.Sheet),
			After:   figure.Marks(v.After.Posterior, v.After.Sheet),
			Display: d,
		}
		b.Proof, b.Scene, b.Caption, b.Table = true, figure.Proof(f), f.Caption(), f.Table()
	}
	p := s.visitPage(v, d, "Prove the cold", false)
	p.Class, p.Body = "two", b
	p.Kept = s.kept(v, "cold", base+"/cold")
	s.show(w, r, http.StatusOK, "cold", p)
	return nil
}

func (s *Pages) MarkHealthy(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.MarkHealthy(r.Context(), s.act(r), visit); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}

func (s *Pages) Confirm(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.Confirm(r.Context(), s.act(r), visit, r.PostForm.Get("fault")); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}
