package charge

import (
	"math"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// What transport law asks of a cylinder of liquefied gas.
const (
	serviceWarm = 55.0 // °C: the pressure there is at most serviceOver times the service pressure: 49 CFR 173.304a(c), read
	serviceOver = 1.25
	testWarm    = 65.0 // °C: the test pressure is at least the pressure there: ADR 4.3.3.2.2, read; of cylinders (P200) from memory
	testLess    = units.Bar
	usualHot    = 130 // °F: what a closed van or the sun makes of a cylinder; common practice, no source
)

// Cylinder is a cylinder to be filled. Zero: not said; gross, not on the scale.
type Cylinder struct {
	WaterCapacity, Tare, Gross float64    // kg
	Hottest                    units.Temp // K, the warmest it may get
	Service, Test              float64    // Pa over the air, as stamped
}

// Fill is what a cylinder may still take.
type Fill struct {
	Limit    float64    // kg of content; 0 where the stamped pressure refuses it
	StopAt   float64    // kg, gross reading at which to stop; the empty cylinder where it is refused
	Room     float64    // kg; negative where it is overfilled, never above 0 where it is refused; NaN never
	Full     units.Temp // where that limit fills it with liquid
	Hottest  units.Temp // as said, or 130 °F; 0 where the refrigerant has no liquid there
	HotSaid  bool       // somebody said how warm it may get, so that the limit keeps to HotLimit
	HotLimit float64    // kg that fill 80 % of it with liquid at the hottest; 0 where it is refused
	HotShare float64    // of it that liquid fills there, with what it holds, or the limit where it is not on the scale
	Weighed  bool       // it is on the scale: Holds is what is in it
	Holds    float64    // kg that HotShare speaks of
	Refused  bool       // stamped with too low a pressure for this refrigerant: nothing may be filled into it
	// What must be stamped on a cylinder for this refrigerant, Pa over the air; 0 above the critical point.
	NeedsService, NeedsTest float64
	Findings                []reading.Finding
}

// Fill checks a cylinder: how much it may hold, and whether it is made for the refrigerant's pressure.
//
//		limit    0.8 WC ρ(25 °C)/ρ_water(25 °C); where the hottest it may get is said, no more than 80 % of liquid there too
//		there    0.8 V ρ_l + 0.2 V ρ_v
//		share    (m − V ρ_v)/(V (ρ_l − ρ_v))
//		pressure p(55 °C) ≤ 5/4 of the service pressure; p(65 °C) − 1 bar ≤ the test pressure
//
//	  - in: r; the cylinder; gross zero where it is not on the scale
//	  - out: limit, room and what it must stand
//	  - errors: as [CylinderLimit]; [*fail.Error] for a temperature no cylinder stands in
//	  - assumes: clean refrigerant at its bubble point; the steel neither stretches nor grows
//	  - source: [CylinderLimit]; 49 CFR 173.304a(c); ADR 4.3.3.2.2
//	  - cost: some 25 saturation points
func (c *Cylinder) Fill(r *refrigerant.Refrigerant) (Fill, error) {
	limit, full, err := CylinderLimit(r, c.WaterCapacity)
	if err != nil {
		return Fill{}, err
	}
	f := Fill{Limit: limit, Full: full, Hottest: c.Hottest, HotSaid: c.Hottest > 0, Weighed: c.Gross > 0}
	if f.Hottest == 0 {
		f.Hottest = units.Fahrenheit(usualHot)
	} else if !(f.Hottest.C() >= 20 && f.Hottest.C() <= 90) {
		return Fill{}, fail.Of(fail.Range, "hottest", "reading.outside", fail.Args{
			"value": f.Hottest, "min": units.Celsius(20), "max": units.Celsius(90),
		})
	}
	add := func(code string, severity reading.Severity, args map[string]float64) {
		f.Findings = append(f.Findings, reading.Finding{Code: code, Severity: severity, Args: args})
	}
	volume := c.WaterCapacity / waterAt25
	hot, err := r.BubbleT(float64(f.Hottest), refrigerant.Options{})
	if err != nil {
		add(CylinderGas, reading.Warn, map[string]float64{"hottest_k": float64(f.Hottest)})
		f.Hottest = 0
	} else {
		f.HotLimit = volume * (CylinderFill*hot.RhoLiquid + (1-CylinderFill)*hot.RhoVapour)
		if c.Hottest > 0 {
			f.Limit = math.Min(f.Limit, f.HotLimit)
		}
	}
	f.Holds = f.Limit
	if f.Weighed {
		f.Holds = math.Max(0, c.Gross-c.Tare)
	}
	if f.Hottest > 0 {
		f.HotShare = math.Max(0, (f.Holds-volume*hot.RhoVapour)/(volume*(hot.RhoLiquid-hot.RhoVapour)))
	}
	over := func(celsius float64) float64 {
		e, err := r.BubbleT(float64(units.Celsius(celsius)), refrigerant.Options{})
		if err != nil {
			return 0
		}
		return e.P - float64(units.Atm)
	}
	f.NeedsService = over(serviceWarm) / serviceOver
	if p := over(testWarm); p > 0 {
		f.NeedsTest = p - testLess
	}
	const air = float64(units.Atm)
	if c.Service > 0 && (f.NeedsService == 0 || c.Service < f.NeedsService) {
		f.Refused = true
		add(CylinderWeak, reading.Block, map[string]float64{"needs_pa": f.NeedsService + air, "stamped_pa": c.Service + air})
	}
	if c.Test > 0 && (f.NeedsTest == 0 || c.Test < f.NeedsTest) {
		f.Refused = true
		add(CylinderTest, reading.Block, map[string]float64{"needs_pa": f.NeedsTest + air, "stamped_pa": c.Test + air})
	}
	f.StopAt, f.Room = c.Tare+f.Limit, f.Limit
	if f.Weighed {
		f.Room = f.StopAt - c.Gross
	}
	switch {
	case f.Weighed && f.Room < 0:
		add(CylinderOver, reading.Block, map[string]float64{"over_kg": -f.Room})
	case f.Weighed && f.Room < 0.1*f.Limit && !f.Refused:
		add(CylinderNear, reading.Warn, map[string]float64{"room_kg": f.Room})
	}
	if f.Refused { // what must not be filled has no room, however little is in it
		f.Limit, f.HotLimit, f.StopAt, f.Room = 0, 0, c.Tare, math.Min(f.Room, 0)
	}
	return f, nil
}
