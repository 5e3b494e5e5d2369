package page

import (
	"fmt"
	"net/http"

	"coldwright/app"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type driftBody struct {
	H1, Para, Machine, MachineHref, Search string
	Table                                  figure.Table
	Drawn                                  bool
	Scene                                  plot.Scene
	Caption, Count                         string
	Numbers                                figure.Table
}

// mended reports whether the machine may stand elsewhere after such work: looking, testing, moving refrigerant and advising mend nothing.
func mended(code string) bool {
	switch code {
	case "leak_found",
		"leak_rechecked",
		"leak_inspected",
		"repair_tested",
		"repair_tested_again",
		"pressure_tested",
		"evacuated",
		"refrigerant_recovered",
		"refrigerant_charged",
		"product_moved",
		"advised":
		return false
	}
	return true
}

// trend is the machine from visit to visit for its figure.
func trend(v *app.DriftView, d units.Display) figure.TrendData {
	out := figure.TrendData{Display: d}
	for _, x := range v.Visits {
		one := figure.TrendVisit{
			At: x.Visit.Opened.In(v.Site.Location()), In: grams(x.In), Out: grams(x.Out),
			Before: figure.TrendEndFrom(x.Before, x.Visit.Before.Seen.Glass), After: figure.TrendEndFrom(x.After, x.Visit.After.Seen.Glass),
		}
		for _, w := range x.Visit.Work {
			one.Repaired = one.Repaired || mended(w.Code)
		}
		out.Visits = append(out.Visits, one)
	}
	return out
}

func (s *Pages) Drift(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Drift(r.Context(), id(r, "machine"))
	if err != nil {
		return err
	}
	d := form.Units(r)
	date := func(day float64) string { return app.DateOf(day).In(v.Site.Location()).Format("2 January 2006") }
	share := func(x float64) string { return units.Fixed(100*x, 0) }
	since := "before the first visit on file"
	if len(v.Visits) > 0 && v.Drift.Since.Low > v.Visits[0].Day+1 {
		since = "between " + date(v.Drift.Since.Low) + " and " + date(v.Drift.Since.High)
	} else if len(v.Visits) > 0 {
		since = "before " + date(v.Drift.Since.High)
	}
	rate := fmt.Sprintf("%s to %s %% of its charge a year", share(v.Drift.Rate.Low), share(v.Drift.Rate.High))
	if g := v.Machine.FullChargeG; g != nil {
		rate = fmt.Sprintf(
			"%s to %s a year",
			d.FormatMass(grams(int64(v.Drift.Rate.Low*float64(*g)))),
			d.FormatMass(grams(int64(v.Drift.Rate.High*float64(*g)))),
		)
	}
	missing := fmt.Sprintf(
		"about %s %% of the charge, %s to %s",
		share(v.Drift.Missing.Mid),
		share(v.Drift.Missing.Low),
		share(v.Drift.Missing.High),
	)
	b := driftBody{
		Machine:     v.Machine.Name,
		MachineHref: machinePath(v.Machine.ID),
		Table:       figure.Table{Head: []string{"Visit", "Missing on arrival", "Put in"}},
	}
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
		if total := x.In - x.Out; total > 0 {
			in = d.FormatMass(grams(total))
		}
		b.Table.Rows = append(b.Table.Rows, []string{date(x.Day), says, in})
	}
	if t := trend(v, d); !t.Empty() {
		b.Drawn, b.Scene, b.Caption, b.Numbers = true, figure.Trend(t), t.Caption(), t.Table()
		b.Count = plural(len(v.Visits), "visit")
	}
	s.show(
		w,
		r,
		http.StatusOK,
		"drift",
		&Page{Title: "From visit to visit", Tab: "machines", Plate: plate(v.Site, v.Machine, nil, d), Body: b},
	)
	return nil
}
