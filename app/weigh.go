package app

import (
	"context"
	"math"
	"strings"

	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/units"
)

// ScaleEntry is a look at the scale as typed.
type ScaleEntry struct{ Cylinder, Gross, Tare, Unit string }

func gramsOf(text, unit string) (int64, error) {
	m, err := units.ParseMass(text, unit)
	return int64(math.Round(float64(m) * units.Kilo)), err
}

// weighings joins looks at the same cylinder, one after the other, to one weighing.
func weighings(list []record.ScaleReading) []charge.Weighing {
	var out []charge.Weighing
	kg := func(g int64) float64 { return float64(g) / units.Kilo }
	for i, r := range list {
		if i == 0 || r.Cylinder != list[i-1].Cylinder {
			out = append(out, charge.Weighing{Cylinder: r.Cylinder, Before: kg(r.GrossG)})
		}
		w := &out[len(out)-1]
		w.Now = kg(r.GrossG)
		if r.TareG > 0 {
			w.Tare = kg(r.TareG)
		}
	}
	return out
}

// AddScale adds a look at the scale: the first one of a cylinder is its weight before, the last one its weight now.
func (a *App) AddScale(ctx context.Context, act Act, visit record.ID, e ScaleEntry) error {
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		wrong := Wrong{}
		b := record.ScaleBody{Cylinder: strings.TrimSpace(e.Cylinder), Text: strings.TrimSpace(e.Gross)}
		var err error
		if b.GrossG, err = gramsOf(e.Gross, e.Unit); err != nil {
			wrong["gross"] = asFail(err).At("gross")
		} else if b.GrossG <= 0 || b.GrossG > 1_000_000 {
			wrong["gross"] = fail.Of(fail.Range, "gross", "scale.gross", fail.Args{"gross": e.Gross})
		}
		if strings.TrimSpace(e.Tare) != "" {
			if b.TareG, err = gramsOf(e.Tare, e.Unit); err != nil {
				wrong["tare"] = asFail(err).At("tare")
			}
		}
		if len(b.Cylinder) > 100 {
			wrong["cylinder"] = fail.Of(fail.Range, "cylinder", "text.longer_100", nil)
		}
		if n := len(v.Scale); n > 0 && wrong["gross"] == nil {
			if last := v.Scale[n-1]; last.Cylinder == b.Cylinder && b.GrossG > last.GrossG+gained {
				wrong["gross"] = fail.Of(fail.BadValue, "gross", "scale.gained", nil)
			}
		}
		if len(wrong) > 0 {
			return wrong
		}
		// What the scale log refuses is refused here, beside the field.
		if _, err := charge.Weigh(
			1,
			0,
			0,
			0,
			weighings(append(v.Scale[:len(v.Scale):len(v.Scale)], record.ScaleReading{ScaleBody: b})),
			0,
			charge.Scale{},
		); err != nil {
			f := asFail(err).In("gross")
			f.Code = fail.BadValue
			return Wrong{"gross": f}
		}
		return add(record.ScaleRead, b)
	})
}

// ChargeEntry is what the charge is reckoned from, as typed. Before: what was in the circuit; empty: nobody knows.
type ChargeEntry struct{ Before, BeforeU, Unit, Coldest, TempUnit string }

// SetCharge says what was in the circuit before, and how cold it gets outside.
func (a *App) SetCharge(ctx context.Context, act Act, visit record.ID, e ChargeEntry) error {
	return a.on(ctx, act, visit, func(_ *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		wrong := Wrong{}
		var b record.ChargeSetBody
		for _, f := range []struct {
			key, text string
			to        func(int64)
		}{{"before", e.Before, func(g int64) { b.InBeforeG = &g }}, {"before_u", e.BeforeU, func(g int64) { b.InBeforeUG = g }}} {
			if strings.TrimSpace(f.text) == "" {
				continue
			}
			g, err := gramsOf(f.text, e.Unit)
			switch {
			case err != nil:
				wrong[f.key] = asFail(err).At(f.key)
			case g < 0 || g > 500_000:
				wrong[f.key] = fail.Of(fail.Range, f.key, "charge.typed", fail.Args{"text": f.text})
			}
			f.to(g)
		}
		if strings.TrimSpace(e.Coldest) != "" {
			t, err := units.ParseTemp(e.Coldest, e.TempUnit)
			switch {
			case err != nil:
				wrong["coldest"] = asFail(err).At("coldest")
			case t < units.Celsius(-50) || t > units.Celsius(60):
				wrong["coldest"] = fail.Of(fail.Range, "coldest", "charge.coldest_typed", fail.Args{"coldest": e.Coldest})
			}
			k := float64(t)
			b.ColdestK = &k
		}
		if len(wrong) > 0 {
			return wrong
		}
		return add(record.ChargeSet, b)
	})
}

// ChargeView is a charge as it stands. Progress is nil before the first weighing; its Still, StopAt and Advice hold
// only with an answer and StartKnown.
type ChargeView struct {
	Answer     *charge.Answer
	Err        error // why there is no answer: no charge on the plate, no running state
	Log        []charge.Weighing
	Progress   *charge.Progress
	StartKnown bool
	Outside    units.Temp
	Read       bool              // Outside was read, not taken from the design
	Open       []charge.Weighing // by cylinder what was weighed and does not yet stand among refrigerant in and out
}

// gained is what a cylinder may seem to gain between two looks, grams: a hose that leans on it.
const gained = 50

// booking is an amount smaller than this: grams, half the step of a usual scale.
const booking = 7

// charge reckons the charge of a visit's machine, and where the scale stands.
//
//   - out: the view
//   - errors: a cylinder that gained
//   - assumes: outside air as read in this visit, else that of the design; subcooling and glass as read after the repair
//   - source: package charge
func (a *App) charge(m *record.Machine, w *record.Visit) (*ChargeView, error) {
	plate, _ := m.Plate().Resolve()
	out := &ChargeView{Log: weighings(w.Scale), StartKnown: w.ChargeSet.InBeforeG != nil, Outside: plate.Ambient}
	for _, end := range []*record.End{&w.Before, &w.After} {
		for _, t := range end.Readings {
			if t.Reading.At == reading.Ambient {
				out.Outside, out.Read = units.Temp(t.Value), true
			}
		}
	}
	out.open(w)
	full, fullU, before, beforeU := 0.0, 0.0, 0.0, float64(w.ChargeSet.InBeforeUG)/units.Kilo
	if b := w.ChargeSet.InBeforeG; b != nil {
		before = float64(*b) / units.Kilo
	}
	cm, err := a.chargeMachine(m)
	if err != nil {
		return nil, err
	}
	full = cm.Full
	if cm.Full == 0 && len(cm.Parts) == 0 {
		out.Err = fail.Of(fail.Required, "full_charge", "charge.full_unknown", nil)
	} else {
		seen := charge.Seen{
			Box:     plate.Box,
			Now:     out.Outside,
			Coldest: out.Outside,
			Glass:   w.After.Seen.Glass,
			Running: len(w.After.Readings) > 0,
		}
		if k := w.ChargeSet.ColdestK; k != nil {
			seen.Coldest = min(units.Temp(*k), out.Outside)
		}
		c := circuit.Analyze(m.Sheet(w, record.After), cm.Fit)
		if q, ok := c.Find(circuit.Subcooling); ok {
			seen.Subcooling = &q.Value
		}
		ans, err := cm.Reckon(seen)
		if err != nil {
			out.Err = err
		} else {
			out.Answer, full, fullU = &ans, ans.Full, ans.FullU
		}
	}
	if len(out.Log) > 0 {
		p, err := charge.Weigh(full, fullU, before, beforeU, out.Log, 0, charge.Scale{})
		if err != nil {
			return nil, err
		}
		out.Progress = &p
	}
	return out, nil
}

// open is what the scale took that is not yet among the refrigerant moved, by cylinder.
func (c *ChargeView) open(v *record.Visit) {
	for i, w := range c.Log {
		first := 0
		for k := range c.Log[:i] {
			if c.Log[k].Cylinder == w.Cylinder {
				first = -1 // counted with its first weighing
			}
		}
		if first < 0 {
			continue
		}
		left := 0.0
		for _, x := range c.Log[i:] {
			if x.Cylinder == w.Cylinder {
				left += x.Before - x.Now
			}
		}
		for _, g := range v.Moves {
			if g.Direction == "added" && g.Cylinder == w.Cylinder && !g.Order.Before(v.Scale[0].Order) {
				left -= float64(g.Grams) / units.Kilo
			}
		}
		if left*units.Kilo >= booking {
			c.Open = append(c.Open, charge.Weighing{Cylinder: w.Cylinder, Before: left})
		}
	}
}

// BookCharge enters what the scale took among the refrigerant moved. What stands there already is not entered twice.
func (a *App) BookCharge(ctx context.Context, act Act, visit record.ID) error {
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		c := ChargeView{Log: weighings(v.Scale)}
		c.open(v)
		for _, w := range c.Open {
			g := int64(math.Round(w.Before * units.Kilo))
			if err := add(
				record.GasMoved,
				record.MoveBody{Direction: "added", Grams: g, Cylinder: w.Cylinder, Refrigerant: m.Refrigerant, Text: "scale log"},
			); err != nil {
				return err
			}
		}
		return nil
	})
}
