package web

import (
	"fmt"
	"net/http"

	"coldwright/app"
	"coldwright/figure"
	"coldwright/text"
	"coldwright/units"
)

type driftBody struct {
	H1, Para, Machine, MachineHref, Search string
	Table                                  figure.Table
}

func (s *server) drift(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Drift(r.Context(), id(r, "machine"))
	if err != nil {
		return err
	}
	d := display(r)
	date := func(day float64) string { return app.DateOf(day).In(zone(v.Site)).Format("2 January 2006") }
	share := func(x float64) string { return units.Fixed(100*x, 0) }
	since := "before the first visit on file"
	if len(v.Visits) > 0 && v.Drift.Since.Low > v.Visits[0].Day+1 {
		since = "between " + date(v.Drift.Since.Low) + " and " + date(v.Drift.Since.High)
	} else if len(v.Visits) > 0 {
		since = "before " + date(v.Drift.Since.High)
	}
	rate := fmt.Sprintf("%s to %s %% of its charge a year", share(v.Drift.Rate.Low), share(v.Drift.Rate.High))
	if g := v.Machine.FullChargeG; g != nil {
		rate = fmt.Sprintf("%s to %s a year", d.FormatMass(grams(int64(v.Drift.Rate.Low*float64(*g)))), d.FormatMass(grams(int64(v.Drift.Rate.High*float64(*g)))))
	}
	missing := fmt.Sprintf("about %s %% of the charge, %s to %s", share(v.Drift.Missing.Mid), share(v.Drift.Missing.Low), share(v.Drift.Missing.High))
	b := driftBody{Machine: v.Machine.Name, MachineHref: machinePath(v.Machine.ID), Table: figure.Table{Head: []string{"Visit", "Missing on arrival", "Put in"}}}
	b.H1, b.Para = text.DriftWords(v.Drift, v.Known, v.Hidden, since, rate, missing)
	for _, x := range v.Visits {
		says := "not read"
		switch {
		case x.Sd <= 0:
		case x.AtMost:
			says = "at most " + share(x.Missing) + " %"
		default:
			says = share(x.Missing) + " % ± " + share(x.Sd)
		}
		in := "–"
		total := int64(0)
		for _, g := range x.Visit.Moves {
			if g.Direction == "added" {
				total += g.Grams
			} else {
				total -= g.Grams
			}
		}
		if total > 0 {
			in = d.FormatMass(grams(total))
		}
		b.Table.Rows = append(b.Table.Rows, []string{date(x.Day), says, in})
	}
	s.page(w, r, http.StatusOK, "drift", &page{Title: "Slow leak", Tab: "machines", Plate: plate(v.Site, v.Machine, nil, d), Body: b})
	return nil
}
