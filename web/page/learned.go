package page

import (
	"fmt"
	"net/http"

	"coldwright/machine/fault"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
)

type learnedRow struct {
	Href, Main, Line string
	Take             *take
}

type learnedBody struct {
	Text                      string
	Table                     [][]string
	Confirmed, Healthy        []learnedRow
	ConfirmedAll, HealthyRest string
}

func (s *Pages) Learned(w http.ResponseWriter, r *http.Request) error {
	l, err := s.app.Learned(r.Context(), onPage)
	if err != nil {
		return err
	}
	b := learnedBody{Text: text.Learned(l.Repairs, fault.PriorStrength)}
	percent := func(x float64) string { return units.Fixed(100*x, 1) + " %" }
	for _, c := range l.Rates {
		b.Table = append(b.Table, []string{text.Fault(c.Cause.String()).Name, percent(c.Shipped), fmt.Sprint(c.Repairs), percent(c.Now)})
	}
	one := func(visit, event record.ID, name, words string) learnedRow {
		return learnedRow{
			Href: visitPath(visit) + "/report",
			Main: name,
			Line: words,
			Take: newTake(visitPath(visit)+"/withdraw", "/learned", string(event), s.formID()),
		}
	}
	for _, c := range l.Confirmed {
		b.Confirmed = append(
			b.Confirmed,
			one(c.Visit, c.Event, c.Site+", "+text.LowerFirst(c.Machine), text.Fault(c.Cause.String()).Name+", "+c.At.Format("2 January 2006")),
		)
	}
	for _, h := range l.Healthy {
		b.Healthy = append(
			b.Healthy,
			one(h.Visit, h.Event, h.Site+", "+text.LowerFirst(h.Name), "Its own normal values, "+h.At.Format("2 January 2006")),
		)
	}
	if n := l.Confirmations - len(l.Confirmed); n > 0 {
		b.ConfirmedAll = fmt.Sprintf("And %d earlier ones; each can be taken back on the page of its visit.", n)
	}
	if n := l.HealthyVisits - len(l.Healthy); n > 0 {
		b.HealthyRest = fmt.Sprintf("And %d earlier ones.", n)
	}
	s.show(w, r, http.StatusOK, "learned", &Page{Title: "What was learned", Tab: "machines", Class: "wide-left", Body: b})
	return nil
}
