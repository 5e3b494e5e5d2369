package keep

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"coldwright/app"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/units"
)

// Demo fills an empty store with an example of our own: four sites, seven machines, a year of visits, one visit in
// progress. All of it is invented; readings come from the machine model with scatter added, so that they hang
// together.
//
//   - errors: the store fails; a store that holds sites already is left as it is
//   - source: invented
func Demo(ctx context.Context, a *app.App) error {
	if ids, err := a.Store().Sites(ctx); err != nil || len(ids) > 0 {
		return err
	}
	now := a.Now().Truncate(time.Minute)
	d := &demo{ctx: ctx, clock: now, rng: rand.New(rand.NewPCG(11, 26))}
	var seed [32]byte
	copy(seed[:], "coldwright demo, invented data")
	d.App = app.New(
		a.Store(),
		app.Options{Now: func() time.Time { return d.clock }, Rand: rand.NewChaCha8(seed), Version: a.Version(), Device: "demo"},
	)
	return d.fill(now)
}

type demo struct {
	*app.App
	ctx   context.Context
	clock time.Time
	rng   *rand.Rand
	err   error
}

func (d *demo) do(err error) {
	if d.err == nil {
		d.err = err
	}
}

func (d *demo) act() app.Act { return app.Act{By: "R. Lind"} }

func (d *demo) site(name, customer, address, zone string, altitude float64) record.ID {
	id, err := d.SaveSite(
		d.ctx,
		d.act(),
		"",
		record.SiteBody{Name: name, Customer: customer, Address: address, AltitudeM: altitude, Zone: zone},
	)
	d.do(err)
	return id
}

func kelvin(f float64) *float64 {
	k := float64(units.Fahrenheit(f))
	return &k
}

func grams(lb float64) *int64 {
	g := int64(math.Round(lb * units.Pound * units.Kilo))
	return &g
}

func (d *demo) machine(site record.ID, b record.MachineBody) record.ID {
	id, err := d.SaveMachine(d.ctx, d.act(), site, "", b)
	d.do(err)
	return id
}

// read simulates a machine and saves what a mechanic would write down.
func (d *demo) read(
	visit record.ID,
	phase record.Phase,
	boxF, ambientF float64,
	ch plant.Change,
	places []reading.Place,
	seen map[string]string,
) {
	if d.err != nil {
		return
	}
	v, err := d.Visit(d.ctx, visit, app.Parts{})
	if err != nil {
		d.do(err)
		return
	}
	m := v.Machine
	plate := m.Plate()
	amb := plate.AmbientPressure()
	rm, _ := plate.Resolve()
	fit, err := d.Fit(m.Refrigerant)
	if err != nil {
		d.do(err)
		return
	}
	p, err := plant.New(plant.FromMachine(rm), fit)
	if err != nil {
		d.do(err)
		return
	}
	r := p.Solve(plant.Inputs{BoxT: float64(units.Fahrenheit(boxF)), AmbientT: float64(units.Fahrenheit(ambientF))}, ch, plant.Options{})
	if !r.Status.OK() || r.Trip != plant.TripNone {
		d.do(fmt.Errorf("demo: %s does not run at %g and %g °F: %v", m.Name, boxF, ambientF, r.Trip))
		return
	}
	o := app.Observed{Seen: seen, SetRunning: true}
	run := 45.0
	o.RunningMin = &run
	temp := func(at reading.Place, k float64) {
		f := units.Temp(k).F() + 0.5*d.rng.NormFloat64()
		o.Entries = append(o.Entries, app.Entry{Place: at, Text: units.Fixed(f, 0), Unit: "°F"})
	}
	gauge := func(at reading.Place, dew float64) {
		g := float64(units.Pressure(fit.DewT(dew)).Gauge(amb)) / units.Psi
		o.Entries = append(
			o.Entries,
			app.Entry{Place: at, Text: units.Fixed(g+0.4*d.rng.NormFloat64(), 0), Unit: "psig", Instrument: reading.DigitalGauge.String()},
		)
	}
	for _, at := range places {
		switch at {
		case reading.BoxAir:
			o.Entries = append(o.Entries, app.Entry{Place: at, Text: units.Fixed(boxF, 0), Unit: "°F"})
		case reading.BoxDisplay:
			o.Entries = append(o.Entries, app.Entry{Place: at, Text: units.Fixed(boxF-5, 0), Unit: "°F"})
		case reading.Ambient:
			o.Entries = append(o.Entries, app.Entry{Place: at, Text: units.Fixed(ambientF, 0), Unit: "°F"})
		case reading.SuctionPressure:
			gauge(at, r.Out[plant.SuctionDew])
		case reading.DischargePressure:
			gauge(at, r.Out[plant.DischargeDew])
		case reading.CoilOutletLine:
			temp(at, r.Out[plant.CoilOutletT])
		case reading.SuctionLine:
			temp(at, r.Out[plant.SuctionLineT])
		case reading.LiquidLine:
			temp(at, r.Out[plant.LiquidLineT])
		case reading.DischargeLine:
			temp(at, r.Out[plant.DischargeLineT])
		case reading.CoilAirOff:
			temp(at, r.Out[plant.AirOffT])
		case reading.CondenserAirOff:
			temp(at, r.Out[plant.CondenserOffT])
		}
	}
	d.do(d.SaveReadings(d.ctx, d.act(), visit, phase, o))
}

func (d *demo) pull(visit record.ID, phase record.Phase, set float64, minuteBoxF ...float64) {
	d.do(d.StartPull(d.ctx, d.act(), visit, phase, units.Fahrenheit(set), units.Fixed(minuteBoxF[1], 0), "°F"))
	for i := 2; i < len(minuteBoxF); i += 2 {
		m := minuteBoxF[i]
		d.do(d.AddPull(d.ctx, d.act(), visit, phase, &m, units.Fixed(minuteBoxF[i+1], 0), "°F", true, true))
	}
}

// call is a finished visit, days ago.
type call struct {
	days               int
	complaint          string
	box, ambient       float64
	fault              plant.Change
	seen               map[string]string
	work               []record.WorkBody
	added, recovered   string
	leak               record.LeakBody
	confirmed          string
	boxAfter, ambAfter float64
	cylinder           string
	advice             string
	photo              func() ([]byte, error)
	caption            string
}

var (
	four  = []reading.Place{reading.BoxAir, reading.Ambient, reading.SuctionPressure, reading.DischargePressure}
	eight = append(
		append([]reading.Place{}, four...),
		reading.CoilOutletLine,
		reading.LiquidLine,
		reading.DischargeLine,
		reading.CoilAirOff,
	)
	allClear = map[string]string{"glass": "clear", "condenser_dirt": "none", "coil_ice": "none"}
)

func (d *demo) call(machine record.ID, now time.Time, c call) {
	if d.err != nil {
		return
	}
	d.clock = now.AddDate(0, 0, -c.days).Truncate(24 * time.Hour).Add(13*time.Hour + time.Duration(d.rng.IntN(240))*time.Minute)
	visit, err := d.OpenVisit(d.ctx, d.act(), machine, c.complaint)
	if err != nil {
		d.do(err)
		return
	}
	step := func(minutes int) { d.clock = d.clock.Add(time.Duration(minutes) * time.Minute) }
	step(12)
	places := eight
	if c.fault == (plant.Change{}) {
		places = four
	}
	d.read(visit, record.Before, c.box, c.ambient, c.fault, places, c.seen)
	if c.photo != nil {
		file, err := c.photo()
		d.do(err)
		d.do(d.AddPhoto(d.ctx, d.act(), visit, record.Where{Step: "look"}, c.caption, file))
	}
	for _, w := range c.work {
		step(25)
		d.do(d.AddWork(d.ctx, d.act(), visit, w))
	}
	if c.leak.Place != "" {
		d.do(d.AddLeak(d.ctx, d.act(), visit, c.leak))
	}
	if c.recovered != "" {
		step(20)
		d.do(d.MoveGas(d.ctx, d.act(), visit, "recovered", c.recovered, "", c.cylinder, ""))
	}
	if c.added != "" {
		step(20)
		d.do(d.MoveGas(d.ctx, d.act(), visit, "added", c.added, "", c.cylinder, ""))
	}
	if c.confirmed != "" {
		d.do(d.Confirm(d.ctx, d.act(), visit, c.confirmed))
	}
	if len(c.work) > 0 {
		step(30)
		d.do(d.SetPhase(d.ctx, d.act(), visit, record.After))
		d.read(visit, record.After, c.boxAfter, c.ambAfter, plant.Change{}, eight, map[string]string{"glass": "clear"})
	}
	d.do(d.MarkHealthy(d.ctx, d.act(), visit))
	step(10)
	d.do(d.CloseVisit(d.ctx, d.act(), visit, record.CloseBody{Mechanic: "R. Lind", Customer: "Kitchen lead", Advice: c.advice}))
}

// cylinders are bought, weighed and sent away.
func (d *demo) cylinders(now time.Time) {
	for _, c := range []struct {
		days int
		e    app.CylinderEntry
	}{
		{380, app.CylinderEntry{
			Kind: record.CylinderBought, Cylinder: "404-17", Refrigerant: "R-404A", How: "bought", With: "Trade counter",
			Receipt: "demo-2231", Mass: "24 lb",
		}},
		{380, app.CylinderEntry{
			Kind: record.CylinderBought, Cylinder: "448-03", Refrigerant: "R-448A", How: "bought", With: "Trade counter",
			Receipt: "demo-2231", Mass: "25 lb",
		}},
		{380, app.CylinderEntry{Kind: record.CylinderBought, Cylinder: "REC-1", Refrigerant: "R-404A", How: "had", Mass: "17 lb"}},
		{190, app.CylinderEntry{Kind: record.CylinderWeighed, Cylinder: "404-17", Mass: "31 lb 10 oz", Tare: "10 lb"}},
		{150, app.CylinderEntry{
			Kind: record.CylinderSent, Cylinder: "REC-1", How: "reclaimer", With: "Reclaim yard", Receipt: "demo-88",
			Mass: "17 lb",
		}},
		{90, app.CylinderEntry{
			Kind: record.CylinderBought, Cylinder: "404-21", Refrigerant: "R-404A", How: "bought", With: "Trade counter",
			Receipt: "demo-2507", Mass: "24 lb",
		}},
	} {
		d.clock = now.AddDate(0, 0, -c.days).Truncate(24 * time.Hour).Add(12 * time.Hour)
		d.do(d.SaveCylinder(d.ctx, d.act(), c.e))
	}
}

func (d *demo) fill(now time.Time) error {
	d.clock = now.AddDate(-1, 0, -20)
	yes, no := true, false
	school := d.site("Marsh Lane School", "Marsh Lane School", "Kitchen, ground floor", "America/Chicago", 180)
	market := d.site("Northgate Market", "Northgate Market", "Back of shop", "America/Chicago", 190)
	clinic := d.site("Harbour Clinic", "Harbour Clinic", "Store room 2", "America/New_York", 10)
	inn := d.site("Hillside Inn", "Hillside Inn", "Cellar and terrace", "America/Denver", 1600)
	amps := 9.2
	freezer := d.machine(school, record.MachineBody{
		Name:        "Walk-in freezer",
		Refrigerant: "R-404A",
		Application: "walk-in freezer",
		Expansion:   "valve",
		Receiver:    &yes,
		HeadControl: "none",
		SetPointK:   kelvin(-5),
		FullChargeG: grams(14),
		RatedAmps:   &amps,
		Installed:   "2014",
		Serial:      "demo-0141",
	})
	cooler := d.machine(school, record.MachineBody{
		Name:        "Walk-in cooler",
		Refrigerant: "R-134a",
		Application: "walk-in cooler",
		Expansion:   "valve",
		Receiver:    &yes,
		HeadControl: "none",
		SetPointK:   kelvin(36),
		FullChargeG: grams(9.5),
		Installed:   "2014",
		Serial:      "demo-0142",
	})
	cases := d.machine(market, record.MachineBody{
		Name: "Dairy case", Refrigerant: "R-448A", Application: "display case", Expansion: "valve", Receiver: &yes, HeadControl: "none",
		SetPointK: kelvin(36), FullChargeG: grams(22), Installed: "2019", Serial: "demo-0207",
	})
	meat := d.machine(market, record.MachineBody{
		Name: "Meat cooler", Refrigerant: "R-449A", Application: "walk-in cooler", Expansion: "valve", Receiver: &yes, HeadControl: "none",
		SetPointK: kelvin(34), FullChargeG: grams(12), Installed: "2020", Serial: "demo-0208",
	})
	reach := d.machine(clinic, record.MachineBody{
		Name:        "Medicine refrigerator",
		Refrigerant: "R-290",
		Application: "reach-in cooler",
		Expansion:   "capillary",
		Receiver:    &no,
		HeadControl: "none",
		SetPointK:   kelvin(39),
		FullChargeG: grams(0.33),
		Installed:   "2023",
		Serial:      "demo-0311",
	})
	innFreezer := d.machine(inn, record.MachineBody{
		Name:        "Walk-in freezer",
		Refrigerant: "R-404A",
		Application: "walk-in freezer",
		Expansion:   "valve",
		Receiver:    &yes,
		HeadControl: "none",
		SetPointK:   kelvin(-5),
		FullChargeG: grams(16),
		Installed:   "2011",
		Serial:      "demo-0422",
	})
	d.machine(inn, record.MachineBody{
		Name:        "Bar cooler",
		Refrigerant: "R-513A",
		Application: "walk-in cooler",
		Expansion:   "valve",
		Receiver:    &yes,
		HeadControl: "none",
		SetPointK:   kelvin(38),
		FullChargeG: grams(6),
		Installed:   "2024",
		Serial:      "demo-0423",
	})

	d.call(freezer, now, call{days: 350, complaint: "Yearly check", box: -4, ambient: 66, seen: allClear})
	d.call(freezer, now, call{
		days:      231,
		complaint: "Ice cream soft",
		box:       4,
		ambient:   71,
		fault:     plant.Change{LowCharge: 0.18},
		seen:      map[string]string{"glass": "bubbling", "condenser_dirt": "none", "coil_ice": "none", "oil_marks": "none"},
		work: []record.WorkBody{
			{Code: "pressure_tested"},
			{Code: "evacuated"},
			{Code: "refrigerant_charged"},
		},
		added:     "2 lb 4 oz",
		cylinder:  "404-17",
		confirmed: "low_charge",
		boxAfter:  -2,
		ambAfter:  72,
		advice:    "No leak was found at the unit. Please call when the box is above 0 °F again; the coil will then be searched.",
	})
	d.call(freezer, now, call{days: 118, complaint: "Summer check", box: -3, ambient: 84, seen: allClear})
	d.call(cooler, now, call{days: 349, complaint: "Yearly check", box: 37, ambient: 66, seen: allClear})
	d.call(cooler, now, call{
		days:      96,
		complaint: "Milk at 43",
		box:       43,
		ambient:   88,
		fault:     plant.Change{CondenserAir: 0.5},
		seen:      map[string]string{"glass": "clear", "condenser_dirt": "heavy", "coil_ice": "none"},
		work: []record.WorkBody{
			{Code: "condenser_cleaned", Text: "kitchen grease, both faces"},
		},
		confirmed: "condenser_air",
		boxAfter:  38,
		ambAfter:  87,
		advice:    "Clean the condenser every three months.",
		photo:     dirtPicture,
		caption:   "Condenser before it was cleaned (drawn)",
	})
	d.call(cases, now, call{days: 300, complaint: "After installation of new doors", box: 36, ambient: 70, seen: allClear})
	d.call(cases, now, call{
		days:      41,
		complaint: "Case warm at the left end",
		box:       44,
		ambient:   72,
		fault:     plant.Change{CoilAir: 0.55},
		seen:      map[string]string{"glass": "clear", "condenser_dirt": "none", "coil_ice": "heavy"},
		work: []record.WorkBody{
			{Code: "coil_defrosted"},
			{Code: "fan_repaired", Text: "second fan from the left"},
			{Code: "defrost_set"},
		},
		confirmed: "coil_air",
		boxAfter:  37,
		ambAfter:  72,
	})
	// Topped up against the clock: enough was lost for the rules to ask for a repair within days.
	d.call(cases, now, call{
		days:      12,
		complaint: "Dairy at 42",
		box:       42,
		ambient:   71,
		fault:     plant.Change{LowCharge: 0.3},
		seen:      map[string]string{"glass": "bubbling", "condenser_dirt": "none", "coil_ice": "none"},
		work: []record.WorkBody{
			{Code: "refrigerant_charged"},
		},
		added:    "5 lb 12 oz",
		cylinder: "448-03",
		leak:     record.LeakBody{Place: "evaporator_bends", How: "bubbles"},
		boxAfter: 36,
		ambAfter: 71,
		advice:   "A bend of the coil leaks. It is to be brazed with the case empty: agree on a night before the day the law gives.",
	})
	d.call(meat, now, call{days: 210, complaint: "Yearly check", box: 35, ambient: 74, seen: allClear})
	d.call(
		reach,
		now,
		call{
			days:      160,
			complaint: "Check of the record",
			box:       39,
			ambient:   72,
			seen:      map[string]string{"condenser_dirt": "some", "coil_ice": "none"},
		},
	)
	d.call(innFreezer, now, call{days: 280, complaint: "Yearly check", box: -4, ambient: 58, seen: allClear})
	d.call(innFreezer, now, call{
		days:      64,
		complaint: "Frost on the boxes, not cold",
		box:       5,
		ambient:   70,
		fault:     plant.Change{RestrictionBefore: 3.2e5},
		seen: map[string]string{
			"glass":          "bubbling",
			"condenser_dirt": "some",
			"coil_ice":       "none",
		},
		work: []record.WorkBody{
			{Code: "refrigerant_recovered"},
			{Code: "drier_replaced"},
			{Code: "pressure_tested"},
			{Code: "evacuated"},
			{Code: "refrigerant_charged"},
		},
		recovered: "9 lb 2 oz",
		added:     "9 lb 8 oz",
		cylinder:  "404-21",
		confirmed: "restriction_before_glass",
		boxAfter:  -1,
		ambAfter:  69,
	})

	// The visit in progress: the school's freezer again, short of refrigerant, gauges on, the next reading due.
	if d.err != nil {
		return d.err
	}
	d.clock = now.Add(-58 * time.Minute)
	visit, err := d.OpenVisit(d.ctx, d.act(), freezer, "Box will not go below 2 °F, product soft at the door")
	if err != nil {
		return err
	}
	d.clock = now.Add(-55 * time.Minute)
	d.do(
		d.Arrive(
			d.ctx,
			d.act(),
			visit,
			record.ArriveBody{
				Complaint: "Box will not go below 2 °F, product soft at the door",
				Food:      "Ice cream moved to the cooler's freezer chest by the kitchen",
			},
		),
	)
	d.do(
		d.SaveReadings(
			d.ctx,
			d.act(),
			visit,
			record.Before,
			app.Observed{Seen: map[string]string{"glass": "bubbling", "condenser_dirt": "none", "coil_ice": "none"}},
		),
	)
	d.pictures(freezer, visit)
	d.clock = now.Add(-46 * time.Minute)
	d.pull(visit, record.Before, -5, 0, 7, 10, 4, 20, 3, 27, 2)
	d.cylinders(now)
	d.clock = now.Add(-9 * time.Minute)
	d.read(
		visit,
		record.Before,
		3,
		73,
		plant.Change{LowCharge: 0.27},
		append([]reading.Place{reading.BoxDisplay}, four...),
		map[string]string{"glass": "bubbling"},
	)
	return d.err
}
