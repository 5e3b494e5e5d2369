package app

import (
	"context"
	"math"

	"coldwright/air"
	"coldwright/fail"
	"coldwright/machine/boxload"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/units"
)

// RoomView is a cold room against its machine. Load is nil until somebody measured the room; Verdict is nil without a capacity.
type RoomView struct {
	MachineView
	Load     *boxload.Load
	Assumed  []reading.Assumed // what the room's form does not ask
	Capacity boxload.Capacity
	Verdict  *boxload.Verdict
	Err      error
}

// GoodsWater are the shares of water of what is stored: common values, no source.
var GoodsWater = map[string]float64{"meat": 0.75, "fruit": 0.85, "vegetables": 0.9, "drinks": 0.95, "bread": 0.4}

// roomOf is the room as package boxload reckons it, with what it takes that the form does not ask; people by the room's
// temperature, fans all day.
func roomOf(b *record.RoomBody, inside units.Temp, ambient units.Pressure) (r boxload.Room, assumed []reading.Assumed, err error) {
	assume := func(field string, v float64) { assumed = append(assumed, boxload.Assume(field, v)) }
	bad := func(field string, err error) error {
		return fail.Of(fail.Range, field, "air.none_humidity", fail.Args{"why": err})
	}
	in, err := air.FromRH(float64(inside), boxload.RoomRH, float64(ambient))
	if err != nil {
		return r, nil, bad("inside", err)
	}
	assume("room.rh", boxload.RoomRH)
	out, err := air.FromRH(b.OutsideK, b.OutsideRH, float64(ambient))
	if err != nil {
		return r, nil, bad("outside_rh", err)
	}
	beyond := units.Temp(b.OutsideK)
	area, around := b.LengthM*b.WidthM, 2*(b.LengthM+b.WidthM)
	r = boxload.Room{Inside: in, Margin: boxload.Margin, Surfaces: []boxload.Surface{
		{
			Kind:   boxload.Wall,
			Area:   around * b.HeightM,
			U:      b.WallsU,
			Beyond: beyond,
		},
		{Kind: boxload.Ceiling, Area: area, U: b.CeilingU, Beyond: beyond},
	}}
	if b.FloorU != nil {
		r.Surfaces = append(r.Surfaces, boxload.Surface{Kind: boxload.Floor, Area: area, U: *b.FloorU, Beyond: units.Celsius(boxload.GroundC)})
		assume("box.under", boxload.GroundC)
	} else {
		r.Surfaces = append(
			r.Surfaces,
			boxload.Surface{Kind: boxload.Slab, Area: area, U: boxload.SlabU(area, around, 0, 0), Beyond: beyond},
		)
	}
	if b.DoorWidthM > 0 && b.DoorHeightM > 0 {
		d := boxload.Door{
			Width:      b.DoorWidthM,
			Height:     b.DoorHeightM,
			Open:       boxload.OpenShare(0, 0, b.DoorMinutes, 24),
			Beyond:     out,
			Protection: boxload.NoProtection,
		}
		switch b.DoorCurtain {
		case boxload.StripCurtain.String():
			d.Protection = boxload.StripCurtain
		case boxload.AirCurtain.String():
			d.Protection = boxload.AirCurtain
		}
		r.Doors = append(r.Doors, d)
	}
	if b.GoodsKg > 0 && b.GoodsInK != nil {
		r.Goods = append(
			r.Goods,
			boxload.Goods{
				PerDay: b.GoodsKg,
				In:     units.Temp(*b.GoodsInK),
				Food:   boxload.Food{Water: b.GoodsWater, Freezing: units.Celsius(boxload.FreezingC)},
			},
		)
		assume("products[0].freezing", boxload.FreezingC)
	}
	if b.People > 0 && b.PeopleHours > 0 {
		r.Sources = append(r.Sources, boxload.Source{Kind: boxload.People, Count: b.People, Hours: b.PeopleHours})
	}
	if b.LightsW > 0 && b.LightsHours > 0 {
		r.Sources = append(r.Sources, boxload.Source{Kind: boxload.Lights, Power: b.LightsW, Hours: b.LightsHours})
	}
	if b.FansW > 0 {
		r.Sources = append(r.Sources, boxload.Source{Kind: boxload.Fans, Power: b.FansW, Hours: 24})
	}
	kinds := map[string]boxload.DefrostKind{}
	for _, k := range []boxload.DefrostKind{boxload.OffCycle, boxload.Electric, boxload.HotGas} {
		kinds[k.String()] = k
	}
	if k := kinds[b.DefrostKind]; k != boxload.DefrostUnknown && b.DefrostMin > 0 && b.DefrostDaily > 0 {
		r.Defrosts = append(r.Defrosts, boxload.Defrost{Kind: k, Power: b.DefrostW, Minutes: b.DefrostMin, PerDay: b.DefrostDaily})
	}
	assume("coil", inside.C()-boxload.CoilBelowK)
	assume("margin", boxload.Margin)
	if b.CapacityW != nil {
		assume("machine.uncertainty", boxload.CapacityRel)
	}
	if b.MeasuredW != nil {
		assume("machine.measured_uncertainty", boxload.MeasuredRel)
	}
	return r, assumed, nil
}

// Room returns the load of a machine's room and how it stands against the machine.
//
//   - in: the machine
//   - out: the view; no load when nobody measured the room
//   - errors: fail.NotFound; what the load or the machine model refuses is in Err
//   - assumes: the capacity stated is that of the design point and moves with box and outside air as that of a sound
//     machine of its plate; ±10 %, a measured one ±15 % (judgement)
//   - source: packages boxload and plant
func (a *App) Room(ctx context.Context, id record.ID) (*RoomView, error) {
	mv, err := a.Machine(ctx, id, MachineParts{})
	if err != nil {
		return nil, err
	}
	out := a.room(mv.Machine)
	out.MachineView = *mv
	return &out, nil
}

// room holds the load of a machine's room against the machine.
func (a *App) room(m *record.Machine) (out RoomView) {
	if m.Room == nil {
		return out
	}
	plate := m.Plate()
	r, assumed, err := roomOf(m.Room, m.SetPoint(), plate.AmbientPressure())
	if err != nil {
		out.Err = err
		return out
	}
	l, err := r.Load()
	if err != nil {
		out.Err = err
		return out
	}
	out.Load, out.Assumed = &l, assumed
	if m.Room.CapacityW == nil {
		return out
	}
	fit, err := a.Fit(m.Refrigerant)
	if err != nil {
		out.Err = err
		return out
	}
	rm, _ := plate.Resolve()
	p, err := plant.New(plant.FromMachine(rm), fit)
	if err != nil {
		out.Err = err
		return out
	}
	today := p.Solve(plant.Inputs{BoxT: float64(m.SetPoint()), AmbientT: m.Room.OutsideK}, plant.Change{}, plant.Options{})
	if !today.Status.OK() || today.Trip != plant.TripNone {
		out.Err = fail.Of(fail.NoAnswer, "capacity", "room.no_state", nil)
		return out
	}
	q := *m.Room.CapacityW * today.Out[plant.Capacity]
	out.Capacity = boxload.Capacity{Expected: q, ExpectedU: boxload.CapacityRel * q}
	if w := m.Room.MeasuredW; w != nil {
		out.Capacity.Measured, out.Capacity.MeasuredU = *w, boxload.MeasuredRel**w
	}
	v, err := l.Judge(out.Capacity)
	if err != nil {
		out.Err = err
		return out
	}
	out.Verdict = &v
	return out
}

// roomLoad is the room's load as a judgement weighs it; nil without a room or its machine's capacity, or where the share says nothing.
func (a *App) roomLoad(m *record.Machine) *reading.RoomLoad {
	r := a.room(m)
	if r.Verdict == nil || !(r.Verdict.DayCapacity > 0) {
		return nil
	}
	l := reading.RoomLoad{Share: math.Max(0, r.Load.Sum/r.Verdict.DayCapacity), U: math.Max(0.02, r.Verdict.ExcessU)}
	if l.Share > 5 || l.U > 5 {
		return nil // a mistyped room or capacity
	}
	return &l
}

// SaveRoom keeps what warms a machine's room.
func (a *App) SaveRoom(ctx context.Context, act Act, machine record.ID, b record.RoomBody) error {
	wrong := Wrong{}
	within := func(v, lo, hi float64, outside *fail.Error) {
		if !(v >= lo && v <= hi) {
			wrong[outside.Field] = outside
		}
	}
	for _, f := range []struct {
		field string
		v     float64
	}{{"length", b.LengthM}, {"width", b.WidthM}, {"height", b.HeightM}} {
		within(f.v, 0.3, 100, fail.Of(fail.Range, f.field, "room.size", nil))
	}
	within(b.WallsU, 0.02, 6, fail.Of(fail.Range, "walls", "room.insulation", nil))
	within(b.CeilingU, 0.02, 6, fail.Of(fail.Range, "ceiling", "room.insulation", nil))
	if b.FloorU != nil {
		within(*b.FloorU, 0.02, 6, fail.Of(fail.Range, "floor", "room.floor", nil))
	}
	within(units.Temp(b.OutsideK).C(), -40, 60, fail.Of(fail.Range, "outside", "room.temperature", nil))
	within(b.OutsideRH, 0.01, 1, fail.Of(fail.Range, "outside_rh", "room.humidity", nil))
	within(b.DoorMinutes, 0, 1440, fail.Of(fail.Range, "door_minutes", "room.minutes_daily", nil))
	within(b.PeopleHours, 0, 24, fail.Of(fail.Range, "people_hours", "room.hours_daily", nil))
	within(b.LightsHours, 0, 24, fail.Of(fail.Range, "lights_hours", "room.hours_daily", nil))
	within(b.DefrostMin, 0, 600, fail.Of(fail.Range, "defrost_minutes", "room.defrost_minutes", nil))
	within(b.DefrostDaily, 0, 48, fail.Of(fail.Range, "defrost_daily", "room.defrosts_daily", nil))
	need := func(isMissing bool, missing *fail.Error) {
		if isMissing && wrong[missing.Field] == nil {
			wrong[missing.Field] = missing
		}
	}
	need(b.DoorWidthM > 0 && b.DoorHeightM == 0, fail.Of(fail.Required, "door_height", "room.door_height_missing", nil))
	need(b.DoorWidthM > 0 && b.DoorMinutes == 0, fail.Of(fail.Required, "door_minutes", "room.door_minutes_missing", nil))
	need(b.GoodsKg > 0 && b.GoodsInK == nil, fail.Of(fail.Required, "goods_in", "room.goods_in_missing", nil))
	need(b.GoodsKg > 0 && b.GoodsWater == 0, fail.Of(fail.Required, "goods_kind", "room.goods_kind_missing", nil))
	need(b.People > 0 && b.PeopleHours == 0, fail.Of(fail.Required, "people_hours", "room.people_hours_missing", nil))
	need(b.LightsW > 0 && b.LightsHours == 0, fail.Of(fail.Required, "lights_hours", "room.lights_hours_missing", nil))
	need(b.DefrostKind != "" && b.DefrostMin == 0, fail.Of(fail.Required, "defrost_minutes", "room.defrost_minutes_missing", nil))
	need(b.DefrostKind != "" && b.DefrostDaily == 0, fail.Of(fail.Required, "defrost_daily", "room.defrosts_missing", nil))
	need((b.DefrostKind == boxload.Electric.String() || b.DefrostKind == boxload.HotGas.String()) && b.DefrostW == 0,
		fail.Of(fail.Required, "defrost_power", "room.heaters_missing", nil),
	)
	if len(wrong) > 0 {
		return wrong
	}
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		r, _, err := roomOf(&b, d.machine.SetPoint(), d.machine.Plate().AmbientPressure())
		if err == nil {
			_, err = r.Load()
		}
		if err != nil {
			return err
		}
		return d.add(record.RoomSaved, b)
	})
}
