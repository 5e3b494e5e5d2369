package app

import (
	"context"
	"errors"
	"slices"

	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/record"
	"coldwright/units"
)

// PartSlot is a place for a part of the circuit in the form: what it is, and how it may be described.
type PartSlot struct {
	Key          string
	Kind         charge.Kind
	Tube, Vessel bool // by a tube's size and length; by its volume
}

// PartSlots lists the places. Lines come in up to two sizes.
func PartSlots() []PartSlot {
	return []PartSlot{
		{"liquid", charge.LiquidLine, true, false},
		{"liquid2", charge.LiquidLine, true, false},
		{"suction", charge.SuctionLine, true, false},
		{"suction2", charge.SuctionLine, true, false},
		{"discharge", charge.DischargeLine, true, false},
		{"evaporator", charge.Evaporator, true, true},
		{"condenser", charge.Condenser, true, true},
		{"receiver", charge.Receiver, false, true},
		{"drier", charge.Drier, false, true},
		{"accumulator", charge.Accumulator, false, true},
	}
}

// PartEntry is one part as typed, with units.
type PartEntry struct{ Size, Length, Volume string }

// SaveParts keeps the parts of a machine's circuit, by slot; what is left empty is not there.
//
//   - errors: [Wrong] by slot and field, such as liquid_size
func (a *App) SaveParts(ctx context.Context, act Act, machine record.ID, entries map[string]PartEntry) error {
	wrong := Wrong{}
	b := record.PartsBody{Parts: []record.PartBody{}}
	for _, s := range PartSlots() {
		e := entries[s.Key]
		if e == (PartEntry{}) {
			continue
		}
		p, err := charge.Described{Kind: s.Kind.String(), Size: e.Size, Length: e.Length, Volume: e.Volume}.Part()
		if err != nil {
			f := asFail(err)
			field := s.Key + "_" + f.Field
			if !s.Vessel && f.Field == "volume" {
				field = s.Key + "_size"
			}
			wrong[field] = f.At(field)
			continue
		}
		b.Parts = append(
			b.Parts,
			record.PartBody{Slot: s.Key, Kind: s.Kind.String(), Size: e.Size, Length: e.Length, Volume: e.Volume, VolumeM3: p.Volume},
		)
	}
	if len(wrong) > 0 {
		return wrong
	}
	return a.onMachine(ctx, act, machine, func(d *decision) error { return d.add(record.PartsSaved, b) })
}

// chargeMachine is the machine as package charge reckons it.
func (a *App) chargeMachine(m *record.Machine) (charge.Machine, error) {
	fit, err := a.Fit(m.Refrigerant)
	if err != nil {
		return charge.Machine{}, err
	}
	plate, _ := m.Plate().Resolve()
	out := charge.Machine{Fit: fit, Plate: plate}
	if g := m.FullChargeG; g != nil {
		out.Full = float64(*g) / units.Kilo
	}
	for _, p := range m.Parts {
		out.Parts = append(out.Parts, charge.Part{Kind: charge.Kind(slices.Index(charge.KindWords(), p.Kind) + 1), Volume: p.VolumeM3})
	}
	return out, nil
}

// PartsView is what the parts of a machine hold, and what it takes. Answer is nil until there is something to reckon
// from; Err says why there is none.
type PartsView struct {
	MachineView
	Answer *charge.Answer
	Err    error
}

// Parts reckons a machine's charge by its parts, at its design point.
//
//   - errors: fail.NotFound; what the reckoning refuses is in Err
//   - source: package charge
func (a *App) Parts(ctx context.Context, id record.ID) (*PartsView, error) {
	mv, err := a.Machine(ctx, id, MachineParts{})
	if err != nil {
		return nil, err
	}
	out := &PartsView{MachineView: *mv}
	if len(mv.Machine.Parts) == 0 {
		return out, nil
	}
	cm, err := a.chargeMachine(mv.Machine)
	if err != nil {
		return nil, err
	}
	ans, err := cm.Reckon(charge.Seen{Box: cm.Plate.Box, Now: cm.Plate.Ambient, Coldest: cm.Plate.Ambient})
	if err != nil {
		out.Err = err
	} else {
		out.Answer = &ans
	}
	return out, nil
}

// CylinderAsked is what was typed of a cylinder, and the units printed beside the fields.
type CylinderAsked struct {
	WaterCapacity, Tare, Gross, Hottest, Service, Test string
	MassUnit, TempUnit, PressureUnit                   string
	Held                                               float64 // kg by the book, for one that is not on the scale
}

// CylinderFill says how full a cylinder may get with a refrigerant.
//
//   - in: the designation; what was typed, of which water capacity and empty weight are needed
//   - errors: [Wrong] by field
//   - source: [charge.Cylinder.Fill]
func (a *App) CylinderFill(designation string, q CylinderAsked) (charge.Fill, error) {
	wrong := Wrong{}
	var c charge.Cylinder
	for _, f := range []struct {
		field, text string
		to          *float64
		need        bool
	}{{"water_capacity", q.WaterCapacity, &c.WaterCapacity, true}, {"tare", q.Tare, &c.Tare, true}, {"gross", q.Gross, &c.Gross, false}} {
		if f.text == "" {
			if f.need {
				wrong[f.field] = fail.Of(fail.Required, f.field, "cylinder.stamped", nil)
			}
			continue
		}
		g, err := gramsOf(f.text, q.MassUnit)
		switch {
		case err != nil:
			wrong[f.field] = asFail(err).At(f.field)
		case g <= 0 || g > 2_000_000:
			wrong[f.field] = fail.Of(fail.Range, f.field, "cylinder.weight", nil)
		}
		*f.to = float64(g) / units.Kilo
	}
	if wrong["gross"] == nil && wrong["tare"] == nil && c.Gross > 0 && c.Gross < 0.98*c.Tare {
		wrong["gross"] = fail.Of(fail.BadValue, "gross", "cylinder.below_tare_short", nil)
	}
	if q.Hottest != "" {
		t, err := units.ParseTemp(q.Hottest, q.TempUnit)
		if err != nil {
			wrong["hottest"] = asFail(err).At("hottest")
		}
		c.Hottest = t
	}
	for _, f := range []struct {
		field, text, unit string
		to                *float64
	}{{"service_pressure", q.Service, q.PressureUnit, &c.Service}, {"test_pressure", q.Test, "bar(g)", &c.Test}} {
		if f.text == "" {
			continue
		}
		v, err := units.ParseStamped(f.text, f.unit)
		if err != nil {
			wrong[f.field] = asFail(err).At(f.field)
		}
		*f.to = v
	}
	if len(wrong) > 0 {
		return charge.Fill{}, wrong
	}
	if c.Gross == 0 && q.Held > 0 {
		c.Gross = c.Tare + q.Held
	}
	fit, err := a.Fit(designation)
	if err != nil {
		return charge.Fill{}, err
	}
	out, err := c.Fill(fit.Refrigerant())
	if e := (*fail.Error)(nil); errors.As(err, &e) && e.Field == "hottest" {
		return out, Wrong{"hottest": e}
	}
	return out, err
}
