package app

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/gasflow"
	"coldwright/leak"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/units"
)

// LeakFind is a find with what may follow.
type LeakFind struct {
	Place string
	Stage leak.Stage
	Acts  []leak.Act
	Event record.ID // the act that brought it here, when it was in this visit
}

// LeakView is a leak search as it stands.
type LeakView struct {
	VisitView
	Catalogue  leak.Catalogue
	Search     *leak.Search
	Traits     leak.Machine
	Conditions leak.Conditions
	Basis      string // where the pressures standing now come from: entered, standing_reading, readings, design
	Losses     []leak.Loss
	Steps      []leak.Step
	Verdict    leak.Verdict
	Finds      []LeakFind // those of this visit and those an earlier one left open
	Second     bool       // a leak is confirmed; the search is for another
}

// leakTools are taken to be at hand; others are looked with when chosen.
var leakTools = []string{"oil", "detector", "bubbles", "trace_gas"}

// opensPlaces says which places a kind of work opens.
var opensPlaces = map[string][]string{
	"drier_replaced": {"drier"}, "valve_replaced": {"flare_low"}, "valve_cleaned": {"flare_low"}, "solenoid_replaced": {"solenoid"},
	"compressor_replaced": {"valve_stem_high", "valve_stem_low"}, "joint_brazed": {"brazed_high", "brazed_low"},
}

// LeakSearch returns the leak search of a visit: where to look next, and how far each find has come.
//
//   - in: the visit
//   - out: the view; the same events always give the same view
//   - errors: fail.NotFound; a refrigerant without data
//   - assumes: pressures as entered, else as read (a standing pressure counts for both sides), else those of the
//     design; losses between fillings since the last repaired leak come from one leak
//   - source: package leak
func (a *App) LeakSearch(ctx context.Context, visit record.ID) (*LeakView, error) {
	view, err := a.Visit(ctx, visit, Parts{Running: true})
	if err != nil {
		return nil, err
	}
	out := &LeakView{VisitView: *view}
	if out.Catalogue, err = leak.Shipped(); err != nil {
		return nil, err
	}
	fit, err := a.Fit(out.Machine.Refrigerant)
	if err != nil {
		return nil, err
	}
	c, m, v := &out.Catalogue, out.Machine, out.Visit
	out.Conditions, out.Basis = leakConditions(m, v, fit)
	out.Losses = losses(m, v)
	out.Traits = traits(m, v, len(out.Losses) > 0)
	var skip []string
	for _, f := range v.Finds {
		out.Finds = append(out.Finds, LeakFind{f.Place, f.Stage, f.Stage.Acts(), f.Last})
	}
	for _, p := range c.Places {
		stage := m.LeakStages[p.Key]
		here := slices.ContainsFunc(v.Finds, func(f record.Find) bool { return f.Place == p.Key })
		if stage.Open() && !here && v.Closed.IsZero() {
			out.Finds = append(out.Finds, LeakFind{p.Key, stage, stage.Acts(), ""})
		}
		if stage.Open() || here && stage == leak.Rechecked {
			skip = append(skip, p.Key)
		}
		if stage == leak.Confirmed || stage == leak.Repaired || stage == leak.StillLeaking || here && stage == leak.Rechecked {
			out.Second = true
		}
	}
	// Once a leak is confirmed the looks so far tell where a second one is not.
	losses, traits := out.Losses, out.Traits
	if out.Second {
		losses, traits.Weighed, traits.Only = nil, false, []string{}
		for _, p := range c.Places {
			if !slices.Contains(skip, p.Key) {
				traits.Only = append(traits.Only, p.Key)
			}
		}
	}
	full := 0.0
	if m.FullChargeG != nil {
		full = float64(*m.FullChargeG)
	}
	gas, err := gasflow.Vapour(fit.Refrigerant(), gasflow.Room)
	if err != nil {
		return nil, err
	}
	s := leak.New(c, traits, gas, c.SizeFrom(full, losses))
	for _, l := range v.Looks {
		set := *v
		set.LeakSet = l.LeakSetBody
		at, _ := leakConditions(m, &set, fit)
		s = s.After(leak.Look{Place: l.Place, Method: l.Method, Saw: leak.Saw(l.Saw), Conditions: at})
	}
	out.Search = s
	out.Steps = s.Next(out.Conditions, leakTools, traits, skip)
	out.Verdict, _ = s.Judge(out.Conditions, leakTools, 0, 0)
	return out, nil
}

// leakConditions is what stands in the machine, and while it runs.
func leakConditions(m *record.Machine, v *record.Visit, fit *refrigerant.Fit) (leak.Conditions, string) {
	rm, _ := m.Plate().Resolve()
	c := leak.Conditions{
		Ambient: rm.AmbientPressure,
		Charge:  leak.Charge(v.LeakSet.Charge),
		Draught: v.LeakSet.Draught,
		RunHigh: units.Pressure(fit.BubbleT(float64(rm.Ambient.Add(rm.Split)))),
		RunLow:  units.Pressure(fit.DewT(float64(rm.Box.Add(-rm.TD)))),
	}
	basis := "design"
	c.High, c.Low = c.RunHigh, c.RunLow
	for _, end := range []*record.End{&v.Before, &v.After} {
		for _, t := range end.Readings {
			switch t.Reading.At {
			case reading.DischargePressure:
				c.RunHigh, c.High, basis = units.Pressure(t.Value), units.Pressure(t.Value), "readings"
			case reading.SuctionPressure:
				c.RunLow, c.Low, basis = units.Pressure(t.Value), units.Pressure(t.Value), "readings"
			}
		}
	}
	for _, end := range []*record.End{&v.Before, &v.After} {
		for _, t := range end.Readings {
			if t.Reading.At == reading.StandingPressure {
				c.High, c.Low, basis = units.Pressure(t.Value), units.Pressure(t.Value), "standing_reading"
			}
		}
	}
	if p := v.LeakSet.HighPa; p != nil {
		c.High, basis = units.Pressure(*p), "entered"
	}
	if p := v.LeakSet.LowPa; p != nil {
		c.Low, basis = units.Pressure(*p), "entered"
	}
	return c, basis
}

// traits is what decides where a machine leaks.
func traits(m *record.Machine, v *record.Visit, weighed bool) leak.Machine {
	rm, _ := m.Plate().Resolve()
	out := leak.Machine{Receiver: rm.Receiver, Weighed: weighed, Earlier: map[string]int{}}
	switch rm.Application {
	case reading.ReachInCooler, reading.ReachInFreezer, reading.PrepTable, reading.IceMachine:
		out.SelfContained = true
	}
	out.Solenoid = !out.SelfContained && (rm.Expansion == reading.Valve || rm.Expansion == reading.ElectronicValve)
	if rm.Expansion == reading.Capillary {
		// Brazed shut in the factory round a capillary tube. Common practice, no source.
		out.Without = []string{"flare_high", "flare_low", "valve_stem_high", "valve_stem_low", "sight_glass", "receiver_relief"}
	}
	if len(m.Installed) >= 4 {
		if y, err := strconv.Atoi(m.Installed[:4]); err == nil && y > 1900 && y <= v.Opened.Year() {
			out.AgeYears = float64(v.Opened.Year() - y)
		}
	}
	for _, old := range m.Visits {
		if old.ID == v.ID {
			break
		}
		for _, f := range old.Finds {
			if f.Confirmed {
				out.Earlier[f.Place]++
			}
		}
		if v.Opened.Sub(old.Opened) < 366*24*time.Hour {
			for _, w := range old.Work {
				out.WorkedOn = append(out.WorkedOn, opensPlaces[w.Code]...)
			}
		}
	}
	return out
}

// losses are the refrigerant that went missing from one filling to the next, since the last leak was repaired.
func losses(m *record.Machine, v *record.Visit) []leak.Loss {
	var out []leak.Loss
	var last time.Time
	until := slices.IndexFunc(m.Visits, func(w *record.Visit) bool { return w.ID == v.ID })
	for _, w := range m.Visits[:until+1] { // later visits say nothing about this one
		if w.ID != v.ID && slices.ContainsFunc(w.Work, func(x record.Work) bool { return x.Code == "leak_repaired" }) {
			out = nil // what went before was another leak
		}
		net, added := int64(0), time.Time{}
		for _, g := range w.Moves {
			if g.Direction == "added" {
				net, added = net+g.Grams, g.At
			} else {
				net -= g.Grams
			}
		}
		if added.IsZero() {
			continue
		}
		repaired := w.ID != v.ID && slices.ContainsFunc(w.Work, func(x record.Work) bool { return x.Code == "leak_repaired" })
		if days := added.Sub(last).Hours() / 24; !last.IsZero() && days >= 1 && !repaired {
			out = append(out, leak.Loss{Grams: float64(net), Days: days})
		}
		last = added
	}
	return out
}

// SetLeak says what stands in the machine during the search. Empty pressures: as read.
func (a *App) SetLeak(ctx context.Context, act Act, visit record.ID, high, low, unit, charge string, draught bool) error {
	switch leak.Charge(charge) {
	case leak.Refrigerant, leak.Nitrogen, leak.Trace:
	default:
		return fail.Of(fail.BadValue, "charge", "leak.filling", fail.Args{"charge": charge})
	}
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		b := record.LeakSetBody{Charge: charge, Draught: draught}
		wrong := Wrong{}
		amb := m.Plate().AmbientPressure()
		for _, f := range []struct {
			key, text string
			to        **float64
		}{{"high", high, &b.HighPa}, {"low", low, &b.LowPa}} {
			if strings.TrimSpace(f.text) == "" {
				if charge != string(leak.Refrigerant) {
					wrong[f.key] = fail.Of(fail.Required, f.key, "leak.pressure_missing", nil)
				}
				continue
			}
			p, err := reading.StandingPressure.Parse(f.text, unit, amb)
			if err != nil {
				wrong[f.key] = asFail(err)
				continue
			}
			*f.to = &p
		}
		if len(wrong) > 0 {
			return wrong
		}
		return add(record.LeakSet, b)
	})
}

// MarkLook records that a place was looked at. A signal is a find, to be confirmed by bubbles.
func (a *App) MarkLook(ctx context.Context, act Act, visit record.ID, place, method, saw string) error {
	c, err := leak.Shipped()
	if err != nil {
		return err
	}
	if _, ok := c.Place(place); !ok {
		return fail.Of(fail.BadValue, "place", "leak.place", fail.Args{"place": place})
	}
	mt, ok := c.Method(method)
	if !ok || mt.Whole {
		return fail.Of(fail.BadValue, "method", "leak.method", fail.Args{"method": method})
	}
	if saw != string(leak.Nothing) && saw != string(leak.Signal) {
		return fail.Of(fail.BadValue, "saw", "leak.saw", fail.Args{"saw": saw})
	}
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if !mt.Usable(leak.Conditions{Charge: leak.Charge(v.LeakSet.Charge)}) {
			return fail.Of(fail.BadValue, "method", "leak.method_blind", nil)
		}
		if err := add(record.LeakLooked, record.LookBody{Place: place, Method: method, Saw: saw, LeakSetBody: v.LeakSet}); err != nil {
			return err
		}
		was := m.LeakStages[place]
		if now, err := was.Next(leak.ActFound); saw == string(leak.Signal) && err == nil && now != was {
			return add(record.LeakStep, record.StepBody{Place: place, Act: string(leak.ActFound)})
		}
		return nil
	})
}

// MarkLeak moves a find a stage further; bubbles or none are a look as well.
func (a *App) MarkLeak(ctx context.Context, act Act, visit record.ID, place, step string) error {
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		was := m.LeakStages[place]
		now, err := was.Next(leak.Act(step))
		if err != nil {
			return fail.Of(fail.Conflict, "step", "leak.step", nil)
		}
		if now == was {
			return nil
		}
		saw := map[leak.Act]leak.Saw{leak.ActBubbles: leak.Signal, leak.ActNoBubbles: leak.Nothing}[leak.Act(step)]
		if saw != "" {
			if err := add(
				record.LeakLooked,
				record.LookBody{Place: place, Method: "bubbles", Saw: string(saw), LeakSetBody: v.LeakSet},
			); err != nil {
				return err
			}
		}
		return add(record.LeakStep, record.StepBody{Place: place, Act: step})
	})
}
