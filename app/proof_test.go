package app_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/proof/standing"
	"coldwright/proof/vacuum"
	"coldwright/record"
)

func view(t *testing.T, a *app.App, visit record.ID) *app.VisitView {
	t.Helper()
	v, err := a.Visit(ctx, visit, app.Parts{Tests: true, Charge: true, Cold: true, Clocks: true, Pictures: true})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// wrongAt is the code of the failure of a field.
func wrongAt(err error, field string) fail.Code {
	if w, ok := err.(app.Wrong); ok && w[field] != nil {
		return w[field].Code
	}
	return code(err)
}

// A day of standing, colder by 20 °F at its end: the pressure an ideal gas would stand at is p T2/T1 (identity);
// nitrogen at 300 psig differs from it by less than the gauge.
func TestHold(t *testing.T) {
	a, s, c := fresh(t)
	_, _, visit := house(t, a)
	start := app.HoldStart{
		HoldEntry: app.HoldEntry{Pressure: "300", Unit: "psig", Gas: []string{"90", ""}, TempUnit: "°F"},
		Plate:     "350",
		Volumes:   "20 L",
	}
	mustAll(t, a.StartHold(ctx, app.Act{Form: "f1"}, visit, start), a.StartHold(ctx, app.Act{Form: "f1"}, visit, start))
	if n := len(view(t, a, visit).Visit.Holds); n != 1 {
		t.Fatalf("%d tests after a double submit", n)
	}
	n := count(t, s)
	for field, e := range map[string]app.HoldEntry{
		"pressure": {Pressure: "much", Unit: "psig", Gas: []string{"90"}, TempUnit: "°F"},
		"gas_1":    {Pressure: "300", Unit: "psig", Gas: []string{"90", "80"}, TempUnit: "°F"},
		"minute":   {Pressure: "300", Unit: "psig", Gas: []string{"90"}, TempUnit: "°F"},
	} {
		if err := a.AddHold(ctx, app.Act{}, visit, e); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	if count(t, s) != n {
		t.Error("a refused reading wrote something")
	}
	// A minute that has not come is refused, one by a watch that runs a little ahead is not.
	c.t = c.t.Add(30 * time.Minute)
	for minute, refused := range map[float64]bool{33: true, 600: true, 31.5: false} {
		err := a.AddHold(ctx, app.Act{}, visit, app.HoldEntry{
			Minute: &minute, Pressure: "299.9", Unit: "psig", Gas: []string{"90"}, TempUnit: "°F",
		})
		if got := wrongAt(err, "minute"); (got != "") != refused {
			t.Errorf("minute %g after 30: %v", minute, err)
		}
	}
	c.t = c.t.Add(1410 * time.Minute)
	ideal := (300+14.696)*(70+459.67)/(90+459.67) - 14.696
	mustAll(t, a.AddHold(ctx, app.Act{}, visit, app.HoldEntry{Pressure: "288.2", Unit: "psig", Gas: []string{"70"}, TempUnit: "°F"}))
	v := view(t, a, visit)
	h := v.Hold.Result
	if err := v.Hold.Err; err != nil || h.Verdict != standing.NoLeakSeen || h.Span != 1440 || len(h.Leaks) != 1 {
		t.Errorf("%v %v, %g min, %d leaks", err, h.Verdict, h.Span, len(h.Leaks))
	}
	if got := float64(h.Expected)/6894.757 - 14.696; got < ideal-0.6 || got > ideal+0.6 {
		t.Errorf("expected %g psig, an ideal gas %g", got, ideal)
	}
	// Taking the start back takes the readings with it.
	mustAll(t, a.Withdraw(ctx, app.Act{}, visit, v.Visit.Hold().Event))
	if v := view(t, a, visit); v.Visit.Hold() != nil {
		t.Error("a test that was taken back is still there")
	}
	if err := a.StartHold(
		ctx,
		app.Act{},
		visit,
		app.HoldStart{HoldEntry: app.HoldEntry{Pressure: "300", Unit: "psig", Gas: []string{"90"}, TempUnit: "°F"}, Volumes: "12 L, 8 L"},
	); wrongAt(err, "volumes") != fail.BadValue {
		t.Errorf("two volumes, one temperature: %v", err)
	}
}

// 100 micron a minute in a straight line is a leak; what comes first is asked for in the words of the field.
func TestRise(t *testing.T) {
	a, _, c := fresh(t)
	_, _, visit := house(t, a)
	if err := a.AddRise(ctx, app.Act{}, visit, app.RiseEntry{Pressure: "300", Unit: "micron"}); code(err) != fail.Conflict {
		t.Errorf("a reading without a test: %v", err)
	}
	for field, s := range map[string]app.RiseStart{
		"pressure":  {RiseEntry: app.RiseEntry{Pressure: "20 psig", Unit: "micron"}},
		"coldest":   {RiseEntry: app.RiseEntry{Pressure: "300", Unit: "micron"}, Coldest: "900", TempUnit: "°F"},
		"volume":    {RiseEntry: app.RiseEntry{Pressure: "300", Unit: "micron"}, Volume: "big"},
		"criterion": {RiseEntry: app.RiseEntry{Pressure: "300", Unit: "micron"}, Criterion: "mine"},
	} {
		if err := a.StartRise(ctx, app.Act{}, visit, s); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	mustAll(
		t,
		a.StartRise(
			ctx,
			app.Act{},
			visit,
			app.RiseStart{
				RiseEntry: app.RiseEntry{Pressure: "200", Unit: "micron"},
				Coldest:   "60",
				TempUnit:  "°F",
				Volume:    "20",
				Criterion: "ufgs_15182",
			},
		),
	)
	for _, p := range []string{"301", "399", "502", "600", "699", "803", "899", "1001"} {
		c.t = c.t.Add(time.Minute)
		mustAll(t, a.AddRise(ctx, app.Act{}, visit, app.RiseEntry{Pressure: p, Unit: "micron"}))
	}
	v := view(t, a, visit)
	r, curve, err := v.Rise.Result, v.Rise.Curve, v.Rise.Err
	if err != nil || r.Verdict != vacuum.Leak || r.Leak.Value < 80 || r.Leak.Value > 120 || r.Profile.Key != "ufgs_15182" ||
		len(curve) == 0 ||
		len(r.Leaks) != 1 {
		t.Errorf("%v %v, %g micron/min, %s, %d leaks", err, r.Verdict, r.Leak.Value, r.Profile.Key, len(r.Leaks))
	}
}

// What the scale took goes among the refrigerant moved once, whoever taps twice.
func TestScale(t *testing.T) {
	a, s, _ := fresh(t)
	site, machine, visit := house(t, a)
	if v := view(t, a, visit); v.ChargeErr != nil || code(v.Charge.Err) != fail.Required {
		t.Errorf("without a charge on the plate: %v %v", v.ChargeErr, v.Charge.Err)
	}
	g := int64(4300)
	if _, err := a.SaveMachine(
		ctx,
		app.Act{},
		site,
		machine,
		record.MachineBody{Name: "Walk-in cooler", Refrigerant: "R-134a", Application: "walk-in cooler", FullChargeG: &g},
	); err != nil {
		t.Fatal(err)
	}
	charge := func() *app.ChargeView {
		t.Helper()
		v := view(t, a, visit)
		if v.ChargeErr != nil {
			t.Fatal(v.ChargeErr)
		}
		return v.Charge
	}
	kg := func(cylinder, gross, tare string) error {
		return a.AddScale(ctx, app.Act{}, visit, app.ScaleEntry{Cylinder: cylinder, Gross: gross, Tare: tare, Unit: "kg"})
	}
	if c := charge(); c.Progress != nil || c.Answer == nil || c.StartKnown {
		t.Errorf("before the first weighing: %+v", c)
	}
	mustAll(
		t,
		a.SetCharge(ctx, app.Act{}, visit, app.ChargeEntry{Before: "0", Unit: "kg", Coldest: "20", TempUnit: "°F"}),
		kg("C-131", "14", "9"),
		kg("C-131", "12.5", ""),
		kg("C-9", "11", ""),
		kg("C-9", "10.25", ""),
	)
	c := charge()
	if c.Progress == nil || c.Progress.Added < 2.249 || c.Progress.Added > 2.251 || len(c.Log) != 2 || len(c.Open) != 2 || !c.StartKnown {
		t.Fatalf("%+v", c)
	}
	if full := c.Answer.Full; c.Progress.Still < full-2.251 || c.Progress.Still > full-2.249 {
		t.Errorf("still %g of %g", c.Progress.Still, full)
	}
	if err := kg("C-9", "10.5", ""); wrongAt(err, "gross") != fail.BadValue {
		t.Errorf("a cylinder that gained: %v", err)
	}
	if err := a.SetCharge(ctx, app.Act{}, visit, app.ChargeEntry{Before: "some", Unit: "kg"}); wrongAt(err, "before") == "" {
		t.Errorf("no weight: %v", err)
	}
	mustAll(t, a.BookCharge(ctx, app.Act{}, visit))
	n := count(t, s)
	mustAll(t, a.BookCharge(ctx, app.Act{}, visit))
	if count(t, s) != n || len(charge().Open) != 0 {
		t.Error("booked twice")
	}
	sum := int64(0)
	for _, m := range view(t, a, visit).Visit.Moves {
		sum += m.Grams
	}
	if sum != 2250 {
		t.Errorf("%d g among the refrigerant moved", sum)
	}
	mustAll(t, kg("C-9", "10", ""))
	if c := charge(); len(c.Open) != 1 || c.Open[0].Before < 0.249 || c.Open[0].Before > 0.251 {
		t.Errorf("after another weighing: %+v", c.Open)
	}
}

const logged = "time,box_c\n2026-06-13 12:00,2\n2026-06-13 12:10,3\n2026-06-13 12:20,8\n2026-06-13 12:30,9\n2026-06-13 " +
	"12:40,4\n2026-06-13 12:50,3\n"

func TestColdRecord(t *testing.T) {
	a, s, _ := fresh(t)
	_, _, visit := house(t, a)
	n := count(t, s)
	for field, e := range map[string]app.ColdEntry{
		"file":      {Rule: "cold_holding"},
		"limit":     {Data: []byte(logged), TempUnit: "°F"},
		"tolerance": {Data: []byte(logged), Rule: "cold_holding", Tolerance: "40", TempUnit: "°F", DiffUnit: "°F"},
		"rule":      {Data: []byte(logged), Rule: "none"},
	} {
		if err := a.AddCold(ctx, app.Act{}, visit, e); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	if err := a.AddCold(
		ctx,
		app.Act{},
		visit,
		app.ColdEntry{Data: []byte(strings.Repeat(logged, 6000)), Rule: "cold_holding"},
	); wrongAt(err, "file") != fail.Range {
		t.Errorf("a large file: %v", err)
	}
	if err := a.AddCold(
		ctx,
		app.Act{},
		visit,
		app.ColdEntry{Data: []byte("no table"), Rule: "cold_holding"},
	); wrongAt(err, "file") != fail.BadData {
		t.Errorf("no table: %v", err)
	}
	if count(t, s) != n {
		t.Error("a refused file was kept")
	}
	mustAll(t, a.AddCold(ctx, app.Act{}, visit, app.ColdEntry{Name: "box.csv", Data: []byte(logged), Rule: "cold_holding"}))
	v := view(t, a, visit)
	file := &v.Visit.Cold[0]
	if f, b, err := a.ColdFile(ctx, visit, file.Event); err != nil || string(b) != logged || f.Name != "box.csv" {
		t.Errorf("%v: %q", err, b)
	}
	if _, _, err := a.ColdFile(ctx, visit, "nothing"); code(err) != fail.NotFound {
		t.Errorf("no such file: %v", err)
	}
	r, err := v.Cold[0].Result, v.Cold[0].Err
	if err != nil || r.Count != 1 || r.Rows != 6 || r.Rule == nil || r.Rule.Key != "cold_holding" {
		t.Errorf("%v: %d excursions in %d rows", err, r.Count, r.Rows)
	}
	// The event holds the name of the file, not the file.
	events, err := s.MachineEvents(ctx, v.Machine.ID)
	if err != nil || events[len(events)-1].Kind != record.ColdRecorded || len(events[len(events)-1].Body) > 300 {
		t.Errorf("%v: the event is %s", err, events[len(events)-1].Body)
	}
	// One of before the files stood beside the log, packed by gzip(1): its bytes are in the event.
	old := file.ColdBody
	old.File = []byte("\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03\x4b\x4c\x4a\x06\x00\xc2\x41\x24\x35\x03\x00\x00\x00")
	old.SHA256 = record.HashOf([]byte("abc"))
	put := func(id record.ID) {
		t.Helper()
		e := events[len(events)-1]
		e.ID = id
		body, err := json.Marshal(old)
		if err != nil {
			t.Fatal(err)
		}
		e.Body = body
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	const before, other = "019f7a00-0000-7000-8000-000000000001", "019f7a00-0000-7000-8000-000000000002"
	put(before)
	if _, b, err := a.ColdFile(ctx, visit, before); err != nil || string(b) != "abc" {
		t.Errorf("of before: %q %v", b, err)
	}
	old.SHA256 = file.SHA256
	put(other)
	if _, _, err := a.ColdFile(ctx, visit, other); code(err) != fail.BadData {
		t.Errorf("of before, with another sum: %v", err)
	}
	// Its content is gone from the store.
	lost := app.New(&watched{Store: s, blob: app.NoBlob()}, app.Options{Now: time.Now, Rand: rand.NewChaCha8([32]byte{2})})
	if v := view(t, lost, visit); len(v.Cold) != 3 || code(v.Cold[0].Err) != fail.BadData {
		t.Errorf("a lost file: %+v", v.Cold)
	}
}

func TestRoom(t *testing.T) {
	a, s, _ := fresh(t)
	_, machine, _ := house(t, a)
	r, err := a.Room(ctx, machine)
	if err != nil || r.Load != nil || r.Verdict != nil {
		t.Fatalf("%v %+v", err, r)
	}
	n := count(t, s)
	capacity := 2600.0
	b := record.RoomBody{
		LengthM:    3,
		WidthM:     2.4,
		HeightM:    2.4,
		WallsU:     0.23,
		CeilingU:   0.23,
		OutsideK:   300,
		OutsideRH:  0.55,
		DoorWidthM: 0.9,
		FansW:      120,
	}
	if err := a.SaveRoom(
		ctx,
		app.Act{},
		machine,
		b,
	); wrongAt(err, "door_height") != fail.Required ||
		wrongAt(err, "door_minutes") != fail.Required {
		t.Errorf("half a door: %v", err)
	}
	b.DoorHeightM, b.DoorMinutes, b.DoorCurtain, b.CapacityW = 2, 40, "strip curtain", &capacity
	if count(t, s) != n {
		t.Error("a refused room was kept")
	}
	mustAll(t, a.SaveRoom(ctx, app.Act{Form: "f"}, machine, b), a.SaveRoom(ctx, app.Act{Form: "f"}, machine, b))
	if count(t, s) != n+1 {
		t.Error("a double submit is two rooms")
	}
	r, err = a.Room(ctx, machine)
	if err != nil || r.Err != nil || r.Load == nil || r.Verdict == nil {
		t.Fatalf("%v %v", err, r.Err)
	}
	// The walls by hand: U A ΔT = 0.23 · 2(3 + 2.4)2.4 · (300 − box) (definition).
	box := float64(r.Machine.SetPoint())
	if want := 0.23 * 2 * 5.4 * 2.4 * (300 - box); r.Load.Items[0].W < want-0.5 || r.Load.Items[0].W > want+0.5 {
		t.Errorf("walls %g W, want %g", r.Load.Items[0].W, want)
	}
	if r.Verdict.Outcome.String() != "enough" {
		t.Errorf("%v: %g W against %g", r.Verdict.Outcome, r.Load.Sum, r.Capacity.Expected)
	}
}

// The judgement of a visit weighs the room's load against the machine, and follows the room when that is corrected.
func TestJudge_RoomLoad(t *testing.T) {
	a, _, _ := fresh(t)
	_, machine, visit := house(t, a)
	mustAll(t, a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{Entries: four("-2", "85", "17", "235")}))
	judged := func() *app.End {
		v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before}})
		if err != nil || v.Before.Posterior == nil {
			t.Fatalf("%v %v", err, v.Before.Err)
		}
		return &v.Before
	}
	bare := judged()
	b := record.RoomBody{LengthM: 3, WidthM: 2.4, HeightM: 2.4, WallsU: 0.23, CeilingU: 0.23, OutsideK: 300, OutsideRH: 0.55, FansW: 120}
	mustAll(t, a.SaveRoom(ctx, app.Act{Form: "1"}, machine, b))
	if bare.Room != nil || judged().Room != nil {
		t.Error("a load without a capacity")
	}
	share := func(capacity float64, form string) *app.End {
		b.CapacityW = &capacity
		mustAll(t, a.SaveRoom(ctx, app.Act{Form: form}, machine, b))
		e := judged()
		if e.Room == nil {
			t.Fatal("no load")
		}
		return e
	}
	small, large := share(2600, "2"), share(650, "3")
	// A quarter of the capacity is four times the share (definition).
	if x := large.Room.Share / small.Room.Share; x < 3.999 || x > 4.001 {
		t.Errorf("shares %g and %g", small.Room.Share, large.Room.Share)
	}
	if s, n, l := small.Posterior.Marginal(fault.ExcessLoad), bare.Posterior.Marginal(fault.ExcessLoad),
		large.Posterior.Marginal(fault.ExcessLoad); !(s < n && n < l) {
		t.Errorf("too much load: %.3f in a small room, %.3f unknown, %.3f in a large one", s, n, l)
	}
	one := 1.0
	b.CapacityW = &one
	mustAll(t, a.SaveRoom(ctx, app.Act{Form: "4"}, machine, b))
	if e := judged(); e.Room != nil {
		t.Errorf("a mistyped capacity counts: %+v", e.Room)
	}
}

// A liquid line of 1/2 in copper holds 0.430² π/4 in² of liquid over its length (ASTM B280-20: 0.500 in outside,
// 0.035 in wall): 60 ft of it 1.71 L. The table of liquid per length in the tests of package charge, worked out
// elsewhere, has 6.15 lb of R-404A in 100 ft of it at 100 °F: 1.67 kg in 60 ft.
func TestParts(t *testing.T) {
	a, s, _ := fresh(t)
	_, machine, visit := house(t, a)
	n := count(t, s)
	for field, e := range map[string]map[string]app.PartEntry{
		"liquid_size":      {"liquid": {Size: "0.6 in", Length: "60 ft"}},
		"liquid_length":    {"liquid": {Size: "1/2 in"}},
		"suction_size":     {"suction": {Length: "60 ft"}},
		"receiver_volume":  {"receiver": {Volume: "big"}},
		"condenser_volume": {"condenser": {Volume: "8 L", Size: "3/8 in", Length: "200 ft"}},
	} {
		if err := a.SaveParts(ctx, app.Act{}, machine, e); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	if count(t, s) != n {
		t.Error("a refused form wrote something")
	}
	entries := map[string]app.PartEntry{
		"liquid": {
			Size:   "1/2 in",
			Length: "60 ft",
		},
		"evaporator": {Volume: "6 L"},
		"condenser":  {Volume: "8.5 L"},
		"receiver":   {Volume: "14 L"},
		"drier":      {Volume: "0.4 L"},
	}
	mustAll(t, a.SaveParts(ctx, app.Act{Form: "p"}, machine, entries), a.SaveParts(ctx, app.Act{Form: "p"}, machine, entries))
	v, err := a.Parts(ctx, machine)
	if err != nil || v.Err != nil || v.Answer == nil {
		t.Fatal(err, v.Err)
	}
	if q := v.Answer.Parts[0]; math.Abs(q.Part.Volume*1000-1.713) > 0.01 || math.Abs(q.Mass-1.67) > 0.1 {
		t.Errorf("the liquid line has %.3f L and holds %.2f kg", q.Part.Volume*1000, q.Mass)
	}
	if v.Answer.ReceiverLimit <= 0 {
		t.Error("no limit of the receiver")
	}
	w := view(t, a, visit)
	if c := w.Charge; w.ChargeErr != nil || c.Answer == nil || len(c.Answer.Parts) != len(entries) {
		t.Errorf("the visit's charge does not know the parts: %v %v", w.ChargeErr, c.Err)
	}
}

// A 47.7 lb cylinder takes 47.7 lb times 0.955 for R-22: the factor is 0.8 × specific gravity at 25 °C, worked out
// elsewhere (the table of the test of package charge).
func TestCylinderFill(t *testing.T) {
	a, _, _ := fresh(t)
	f, err := a.CylinderFill("R-22", app.CylinderAsked{WaterCapacity: "47.7", Tare: "26 lb", MassUnit: "lb"})
	if lb := f.Limit / 0.45359237; err != nil || math.Abs(lb-0.955*47.7) > 0.1 {
		t.Errorf("%.2f lb, %v", lb, err)
	}
	for field, q := range map[string][3]string{
		"water_capacity": {"", "26", ""}, "tare": {"47.7", "heavy", ""},
		"gross": {"47.7", "26", "12"},
	} {
		asked := app.CylinderAsked{WaterCapacity: q[0], Tare: q[1], Gross: q[2], MassUnit: "lb"}
		if _, err := a.CylinderFill("R-22", asked); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
}
