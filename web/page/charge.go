package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/machine/charge"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type chargeBody struct {
	Base, Verdict, Sentence, Missing, MissingHref string
	Good, Closed                                  bool
	Cells                                         []cell
	Lines, Basis                                  []string
	Cautions                                      []text.Caution
	Rules                                         []string // when to stop, and what else counts
	Over, Head                                    string
	Gross, Cylinder, Tare                         form.Field
	Before, BeforeU, Coldest                      form.Field
	ScaleErrors, SetErrors                        []string
	Form, Form2, Form3                            string
	Log                                           []testRow
	Open                                          []string // weighed, not yet among refrigerant in and out
	PartsHref                                     string
	Fill                                          fillBody
	Next                                          key
}

func (s *Pages) Charge(w http.ResponseWriter, r *http.Request) error {
	return s.showCharge(w, r, http.StatusOK, "", form.Mistakes{})
}

func (s *Pages) showCharge(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Running: true, Charge: true})
	if err == nil {
		err = v.ChargeErr
	}
	if err != nil {
		return err
	}
	c := v.Charge
	d := form.Units(r)
	b := chargeBody{
		Base:     visitPath(v.Visit.ID),
		Closed:   !v.Visit.Closed.IsZero(),
		Form:     s.formID(),
		Form2:    s.formID(),
		Form3:    s.formID(),
		Cautions: text.Cautions("charge", danger(v.Machine)),
		Verdict:  "Not begun",
		Sentence: "Weigh the cylinder before its valve opens.",
		Over:     "By weight",
		Head:     "Weigh the cylinder first",
	}
	b.PartsHref = machinePath(v.Machine.ID) + "/parts"
	b.Fill = s.cylinderFill(v.Machine.Refrigerant, 0, r, d)
	b.Fill.Action = b.Base + "/charge#fill"
	b.Next = key{Href: b.Base + "/cold", Label: "Go on: prove the cold"}
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	p := c.Progress
	switch {
	case c.Answer == nil && v.Machine.FullChargeG == nil && len(v.Machine.Parts) == 0:
		b.Missing, b.MissingHref = "The plate's charge is not known here, so nothing says how much is still to add.", machinePath(
			v.Machine.ID,
		)+"/edit"
	case c.Answer == nil:
		b.Missing = form.Message(r, failure(c.Err))
	}
	if p != nil {
		b.Over, b.Head = "While it flows", "What does the scale read now?"
		b.Verdict, b.Sentence = "Weighing", text.Say(text.English, reading.Finding{Code: charge.StartUnknown}, d, units.Atm)
		known := c.StartKnown && c.Answer != nil
		if c.Answer == nil {
			b.Sentence = b.Missing
		}
		b.Cells = []cell{{Name: "Added so far", Value: mass(p.Added)}}
		if known {
			b.Verdict, b.Sentence = chargeVerdict(p.Advice), text.ChargeAdvice(p.Advice, text.English)
			b.Good = verdict.OfCharge(p, known).State != verdict.Failed
			if p.Still >= 0 {
				b.Cells = append([]cell{{Name: "Still to add", Value: mass(p.Still), From: "± " + mass(p.StillU)}}, b.Cells...)
			} else {
				b.Cells = append([]cell{{Name: "Too much by", Value: mass(-p.Still), From: "± " + mass(p.StillU)}}, b.Cells...)
			}
			if p.StopAt > 0 {
				if p.Advice == charge.KeepAdding {
					b.Sentence = "Close the valve when the scale reads " + mass(p.StopAt) + "."
				}
				b.Cells = append(b.Cells, cell{Name: "Close at", Value: mass(p.StopAt), From: "on the scale"})
			}
			if p.RunsOut {
				b.Rules = append(
					b.Rules,
					text.Say(
						text.English,
						reading.Finding{Code: charge.RunsOut, Args: map[string]float64{"in_kg": p.InCylinder, "still_kg": p.Still}},
						d,
						units.Atm,
					),
				)
			}
		}
	}
	if a := c.Answer; a != nil {
		full := "Full charge by the plate: " + mass(a.Full) + "."
		if a.Basis == "parts" {
			full = "Full charge by its parts: " + mass(a.Full) + " ± " + mass(a.FullU) + "."
		}
		b.Basis = append(b.Basis, full)
		if n := a.ByParts; n != nil {
			b.Basis = append(b.Basis, "Its parts make it "+mass(n.Mass)+" ± "+mass(n.U)+".")
		}
		if a.ReceiverLimit > 0 {
			b.Basis = append(b.Basis, "The receiver takes at most "+mass(a.ReceiverLimit)+", everything pumped down into it.")
		}
		from := "by the design, not read today"
		if c.Read {
			from = "as read today"
		}
		b.Basis = append(b.Basis, "Outside "+d.FormatTemp(c.Outside, 0)+", "+from+".")
		if a.WinterLack > 0 {
			b.Basis = append(
				b.Basis,
				"On the coldest day "+mass(a.WinterLack)+" ± "+mass(a.WinterLackU)+" more than for a clear glass now.",
			)
		}
		b.Rules = append(b.Rules, text.Sentence(text.English, a.Method.String()))
		for _, f := range a.Findings {
			b.Rules = append(b.Rules, text.Say(text.English, f, d, units.Atm))
		}
	}
	for i, x := range v.Visit.Scale {
		words := d.FormatMass(grams(x.GrossG))
		if x.Cylinder != "" {
			words += ", cylinder " + x.Cylinder
		}
		if i > 0 && v.Visit.Scale[i-1].Cylinder == x.Cylinder {
			words += ": " + d.FormatMass(grams(v.Visit.Scale[i-1].GrossG-x.GrossG)) + " out of it"
		}
		b.Log = append(b.Log, testRow{[]string{x.At.In(v.Site.Location()).Format("15:04"), words}, string(x.Event), s.formID()})
	}
	for _, x := range c.Open {
		words := mass(x.Before)
		if x.Cylinder != "" {
			words += ", cylinder " + x.Cylinder
		}
		b.Open = append(b.Open, words)
	}
	scale, set := part == "scale", part == "set"
	last, unit := "", massUnit(d)
	if n := len(v.Visit.Scale); n > 0 {
		last = v.Visit.Scale[n-1].Cylinder
	}
	b.Gross = testInput(
		r,
		scale,
		wrong,
		form.NumberField("gross", "Cylinder on the scale", "With its content: 38 lb 4 oz, or 17.35 kg", unit, ""),
		"",
	)
	b.Cylinder = testInput(
		r,
		scale,
		wrong,
		form.TextField("cylinder", "Cylinder", "Its number; another number starts another cylinder", ""),
		last,
	)
	b.Tare = testInput(
		r,
		scale,
		wrong,
		form.NumberField("tare", "Empty weight", "Stamped on the collar behind TW; once is enough", unit, ""),
		"",
	)
	before, beforeU, coldest := "", "", ""
	if g := v.Visit.ChargeSet.InBeforeG; g != nil {
		before = plainMass(*g, d)
	}
	if g := v.Visit.ChargeSet.InBeforeUG; g > 0 {
		beforeU = plainMass(g, d)
	}
	if k := v.Visit.ChargeSet.ColdestK; k != nil {
		coldest = units.Whole(d.TempNumber(units.Temp(*k), 0))
	}
	b.Before = testInput(
		r,
		set,
		wrong,
		form.NumberField("before", "In the circuit before", "0 after recovery and evacuation; empty: nobody knows", unit, ""),
		before,
	)
	b.BeforeU = testInput(r, set, wrong, form.NumberField("before_u", "Give or take", "How sure that is", unit, ""), beforeU)
	out := form.NumberField("coldest", "Coldest day outside", "With head-pressure control by flooding, winter wants more", d.Temp, "")
	out.Signed = true
	b.Coldest = testInput(r, set, wrong, out, coldest)
	if set {
		b.SetErrors = wrong.Rest(r)
	} else {
		b.ScaleErrors = wrong.Rest(r)
	}
	pg := s.visitPage(v, d, "Charge", false)
	pg.Class, pg.Body = "two", b
	pg.Kept = s.kept(v, "charge", b.Base+"/charge")
	s.show(w, r, status, "charge", pg)
	return nil
}

// fillBody is how full a recovery cylinder may get: asked and answered without a trace.
type fillBody struct {
	Action           string
	Hidden           string // number of the cylinder, where the page is about one
	Fields           []form.Field
	Errors           []string
	Answer, Findings []string
	Asked            bool
}

// cylinderFill answers what was asked of a cylinder; held is what the book has in it, kg, for one that is not on the scale.
func (s *Pages) cylinderFill(refrigerant string, held float64, r *http.Request, d units.Display) fillBody {
	q, unit, wrong := r.URL.Query(), massUnit(d), form.Mistakes{}
	get := func(k string) string { return strings.TrimSpace(q.Get(k)) }
	b := fillBody{Asked: q.Has("water_capacity")}
	if b.Asked {
		asked := app.CylinderAsked{
			WaterCapacity: get("water_capacity"), Tare: get("tare"), Gross: get("gross"),
			Hottest: get("hottest"), Service: get("service_pressure"), Test: get("test_pressure"),
			MassUnit: unit, TempUnit: d.Temp, PressureUnit: gaugeUnit(d), Held: held,
		}
		f, err := s.app.CylinderFill(refrigerant, asked)
		switch {
		case err == nil:
			b.Answer = text.CylinderFill(&f, d, text.English)
			for _, x := range f.Findings {
				b.Findings = append(b.Findings, text.Say(text.English, x, d, units.Atm))
			}
		case !wrong.Take(err):
			b.Errors = append(b.Errors, form.Message(r, failure(err)))
		}
	}
	gross := "Empty: not weighed"
	if held > 0 {
		gross = "Empty: what the book has in it counts"
	}
	for _, f := range []form.Field{
		form.NumberField("water_capacity", "Water capacity", "Stamped behind WC", unit, q.Get("water_capacity")),
		form.NumberField("tare", "Empty weight", "Stamped behind TW", unit, q.Get("tare")),
		form.NumberField("gross", "On the scale now", gross, unit, q.Get("gross")),
		form.NumberField("hottest", "Warmest it may get", "Van, sun; empty: by the usual rule, at 77 °F", d.Temp, q.Get("hottest")),
		form.NumberField("service_pressure", "Service pressure", "The number behind DOT 4BA, 4BW …", gaugeUnit(d), q.Get("service_pressure")),
		form.NumberField("test_pressure", "Test pressure", "Behind PH, in bar, on cylinders by ADR", "bar(g)", q.Get("test_pressure")),
	} {
		f.ID = "fill-" + f.Name
		wrong.Place(r, &f)
		b.Fields = append(b.Fields, f)
	}
	return b
}

// plainMass is a mass as a field takes it again.
func plainMass(g int64, d units.Display) string {
	if g == 0 {
		return "0"
	}
	return d.FormatMass(grams(g))
}

func chargeVerdict(a charge.Advice) string {
	switch a {
	case charge.KeepAdding:
		return "Keep adding"
	case charge.SlowDown:
		return "Nearly there"
	case charge.StopReached:
		return "Stop: charge is in"
	case charge.TooMuch:
		return "Too much is in"
	}
	return "Weighing"
}

func (s *Pages) AddScale(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	e := app.ScaleEntry{Cylinder: f.Get("cylinder"), Gross: f.Get("gross"), Tare: f.Get("tare"), Unit: massUnit(form.Units(r))}
	save := func() error { return s.app.AddScale(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/charge", "scale", form.Mistakes{}, save, s.showCharge)
}

func (s *Pages) SetCharge(w http.ResponseWriter, r *http.Request) error {
	f, d, wrong := r.PostForm, form.Units(r), form.Mistakes{}
	e := app.ChargeEntry{
		Before:   f.Get("before"),
		BeforeU:  f.Get("before_u"),
		Unit:     massUnit(d),
		Coldest:  wrong.Signed(r, "coldest"),
		TempUnit: d.Temp,
	}
	save := func() error { return s.app.SetCharge(r.Context(), s.act(r), id(r, "visit"), e) }
	return s.tested(w, r, "/charge", "set", wrong, save, s.showCharge)
}

func (s *Pages) BookCharge(w http.ResponseWriter, r *http.Request) error {
	save := func() error { return s.app.BookCharge(r.Context(), s.act(r), id(r, "visit")) }
	return s.tested(w, r, "/charge", "", form.Mistakes{}, save, s.showCharge)
}
