package boxload

import (
	"cmp"
	"math"
	"slices"

	"coldwright/air"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/num"
	"coldwright/units"
)

// Surface is a part of the envelope.
type Surface struct {
	Name   string
	Kind   Kind // Wall, Ceiling, Floor, Slab or Glass
	Area   float64
	U      float64        // W/(m² K)
	Beyond units.Temp     // on its other side
	Sun    units.TempDiff // allowance for the sun on it
	RelU   float64        // relative standard uncertainty; 0 means the default
}

// Goods is a product that comes in every day, or stays.
type Goods struct {
	Name          string
	PerDay        float64 // kg that comes in every day
	In            units.Temp
	Out           units.Temp // the room's temperature where zero
	Food          Food
	Packaging     float64 // kg a day
	PackagingHeat float64 // J/(kg K)
	Stored        float64 // kg that breathes in the room
	Respiration   float64 // W/kg
	RelU          float64
}

// Source is people, lights, fans and other things that give off heat by the hour.
type Source struct {
	Name  string
	Kind  Kind // People, Lights, Fans, Motors or Heaters
	Power float64
	Count float64 // people or pieces; 0 means 1
	Hours float64 // per day
	RelU  float64
}

// Room is a cold room and all that warms it.
type Room struct {
	Inside   air.State
	Surfaces []Surface
	Doors    []Door
	Changes  *Changes // in place of doors
	Goods    []Goods
	Sources  []Source
	Defrosts []Defrost
	CoilT    units.Temp // surface of the coil; zero: [CoilBelowK] below the room
	Margin   float64    // safety share on the sum
	RunHours float64    // hours a day the machine is meant to run; 0: 16 with off-cycle defrost, else 18
}

// Changes is an air-change reckoning.
type Changes struct {
	Volume, PerDay float64
	Beyond         air.State
	RelU           float64
}

// Load is the answer of [Room.Load].
type Load struct {
	Items     []Item
	Sum, U    float64 // W, mean over 24 h, and its standard uncertainty
	Water     float64 // kg a day that comes in with the air
	FrostLeft float64 // kg a day the defrosts do not melt
	StoppedH  float64 // hours a day lost to defrost and drip
	RunHours  float64
	Margin    float64
	Required  float64 // W, capacity that carries the sum with its margin in the run hours
	Findings  []reading.Finding
}

// Finding codes of this package.
const (
	DoorDominates   = "load_door_dominates"
	BareSlabFreezer = "load_bare_slab_under_freezer"
	FrostNotMelted  = "load_frost_not_melted"
	DefrostLong     = "load_defrost_takes_long"
	OffCycleCold    = "load_off_cycle_too_cold"
	FreezingGoods   = "load_freezing_in_storage"
	MapExtrapolated = "load_map_extrapolated"
	WaterOnFloor    = "load_water_on_floor"
)

// FindingCodes lists the codes this package can return.
func FindingCodes() []string {
	return []string{DoorDominates, BareSlabFreezer, FrostNotMelted, DefrostLong, OffCycleCold, FreezingGoods, MapExtrapolated, WaterOnFloor}
}

// Load reckons the room.
//
//   - in: the room; areas, powers and masses zero or more
//   - out: items in the order of the room, their sum, and what a machine must carry
//   - errors: [*fail.Error] where nothing is given or an item is no number
//   - assumes: items independent; run hours of 16 (off-cycle) and 18 (electric, hot gas) are common practice, no source; FAO uses 18
//   - source: structure of ASHRAE Refrigeration, load chapter, as documented in the EnergyPlus Engineering Reference;
//     the items name their own
func (r *Room) Load() (Load, error) {
	var l Load
	room := units.Temp(r.Inside.T)
	add := func(k Kind, name string, w, rel float64) {
		if rel == 0 {
			rel = DefaultU(k)
		}
		l.Items = append(l.Items, Item{k, name, w, math.Abs(w) * rel})
	}
	find := func(code string, sev reading.Severity, args map[string]float64) {
		l.Findings = append(l.Findings, reading.Finding{Code: code, Severity: sev, Args: args})
	}
	slab := false
	for _, s := range r.Surfaces {
		add(s.Kind, s.Name, Transmission(s.U, s.Area, s.Beyond.Sub(room)+s.Sun), s.RelU)
		slab = slab || s.Kind == Slab
	}
	doors, water := 0.0, 0.0
	for _, d := range r.Doors {
		e := d.Exchange(r.Inside)
		add(Infiltration, d.Name, e.W, d.U)
		doors, water = doors+e.W, water+e.Water
	}
	if c := r.Changes; c != nil {
		e := AirChange(c.Volume, c.PerDay, c.Beyond, r.Inside)
		add(Infiltration, "", e.W, c.RelU)
		doors, water = doors+e.W, water+e.Water
	}
	l.Water = water * units.SecondsPerDay
	coil := r.CoilT
	if coil == 0 {
		coil = room - CoilBelowK
	}
	freezes := coil.C() < 0
	if freezes && water > 0 {
		add(Frost, "", water*LatentOfIce, 0)
	}
	product := 0.0
	for _, g := range r.Goods {
		out := g.Out
		if out == 0 {
			out = room
		}
		if g.PerDay > 0 {
			w := g.PerDay * g.Food.HeatOut(g.In, out) / units.SecondsPerDay
			product += w
			add(Product, g.Name, w, g.RelU)
		}
		if g.Packaging > 0 {
			add(Packaging, g.Name, g.Packaging*g.PackagingHeat*float64(g.In-out)/units.SecondsPerDay, g.RelU)
		}
		if g.Stored > 0 && g.Respiration > 0 {
			add(Respiration, g.Name, g.Stored*g.Respiration, g.RelU)
		}
	}
	for _, s := range r.Sources {
		w := s.Power
		if s.Kind == People && w == 0 {
			w = PersonHeat(room)
		}
		add(s.Kind, s.Name, w*cmp.Or(s.Count, 1)*s.Hours/24, s.RelU)
	}
	l.RunHours = 18
	for i, d := range r.Defrosts {
		if freezes {
			d.FrostFrom = water / float64(len(r.Defrosts))
		}
		w, left := d.Heat()
		add(DefrostHeat, "", w, d.U)
		l.FrostLeft += left
		l.StoppedH = math.Min(24, math.Max(l.StoppedH, d.Stopped()))
		if i == 0 && d.Kind == OffCycle {
			l.RunHours = 16
		}
		if d.Kind == OffCycle && room < units.Fahrenheit(35) {
			find(OffCycleCold, reading.Warn, map[string]float64{"room_k": r.Inside.T})
		}
	}
	if r.RunHours > 0 {
		l.RunHours = r.RunHours
	}
	v := 0.0
	for _, it := range l.Items {
		l.Sum += it.W
		v += it.U * it.U
	}
	l.U, l.Margin = math.Sqrt(v), r.Margin
	if len(l.Items) == 0 {
		return Load{}, fail.Of(fail.Required, "surfaces", "boxload.no_load", nil)
	}
	if math.IsNaN(l.Sum) || math.IsInf(l.Sum, 0) {
		return Load{}, fail.Of(fail.NoAnswer, "", "boxload.no_number", nil)
	}
	l.Required = math.Max(0, l.Sum) * (1 + l.Margin) * 24 / l.RunHours
	if doors > 0.35*l.Sum {
		find(DoorDominates, reading.Info, map[string]float64{"share": doors / l.Sum})
	}
	if slab && room.C() < 0 {
		find(BareSlabFreezer, reading.Warn, nil)
	}
	if l.FrostLeft > 0.05 {
		find(FrostNotMelted, reading.Warn, map[string]float64{"left_kg_day": l.FrostLeft})
	}
	if l.StoppedH > 24-l.RunHours {
		find(DefrostLong, reading.Warn, map[string]float64{"hours": l.StoppedH})
	}
	if room.C() < 0 && product > 0.3*l.Sum {
		find(FreezingGoods, reading.Info, map[string]float64{"share": product / l.Sum})
	}
	if l.Water > 0 && room.C() < 0 && doors > 0 {
		find(WaterOnFloor, reading.Info, map[string]float64{"water_kg_day": l.Water})
	}
	return l, nil
}

// Doubt returns the item whose uncertainty matters most, and its share of the variance.
func (l *Load) Doubt() (Item, float64) {
	if len(l.Items) == 0 || l.U == 0 {
		return Item{}, 0
	}
	it := slices.MaxFunc(l.Items, func(a, b Item) int { return cmp.Compare(a.U, b.U) })
	return it, it.U * it.U / (l.U * l.U)
}

// Capacity is what a machine gives in the state of today, W, with standard uncertainties.
type Capacity struct {
	Expected, ExpectedU float64 // of a sound machine
	Measured, MeasuredU float64 // as measured; zero where nobody did
	Extrapolated        bool    // beyond the limits of its map
}

// Outcome is what load and capacity say of each other.
type Outcome int

// The outcomes.
const (
	OutcomeUnknown Outcome = iota
	Enough
	BoxTooMuch
	MachineTooWeak
	Both
	Short // too little, and it cannot be said whose fault it is
	Undecided
)

var outcomeWords = []string{"unknown", "enough", "box_too_much", "machine_too_weak", "both", "short", "undecided"}

func (o Outcome) String() string { return outcomeWords[o] }

// MarshalText writes the word.
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// OutcomeWords lists every outcome but unknown.
func OutcomeWords() []string { return outcomeWords[1:] }

// Verdict holds a load against a capacity. ExcessShare is the load beyond what a sound machine carries around the
// clock, as a share of that: the severity of the fault excess_load.
type Verdict struct {
	Outcome                Outcome
	HoursNeeded            float64 // of running a day, with what the machine gives
	HoursAvailable         float64
	PBoxTooMuch            float64  // the load is more than a sound machine carries
	PShort                 float64  // the load is more than this machine carries
	PMachineWeak           *float64 // the machine gives less than a sound one; nil where nobody measured
	ExcessShare, ExcessU   float64
	ExpectedW, ExpectedU   float64
	MeasuredW, MeasuredU   float64
	DayCapacity, DayExcess float64 // W over 24 h: what a sound machine carries, and load less that
}

// Judge compares.
//
//   - in: the capacity, Expected > 0
//   - out: the verdict; sure means a probability beyond 0.9
//   - errors: [*fail.Error] when there is no capacity
//   - assumes: normal errors; capacity counts for the hours left beside defrost
//   - source: definition
func (l *Load) Judge(c Capacity) (Verdict, error) {
	available := 24 - l.StoppedH
	if !(c.Expected > 0 && c.ExpectedU >= 0 && c.Measured >= 0 && c.MeasuredU >= 0) ||
		math.IsInf(c.Expected+c.ExpectedU+c.Measured+c.MeasuredU, 0) {
		return Verdict{}, fail.Of(fail.Required, "machine", "boxload.no_capacity", nil)
	}
	if available <= 0 {
		return Verdict{}, fail.Of(fail.Range, "defrosts", "boxload.defrost_all_day", nil)
	}
	share := available / 24
	v := Verdict{HoursAvailable: available, ExpectedW: c.Expected, ExpectedU: c.ExpectedU, MeasuredW: c.Measured, MeasuredU: c.MeasuredU}
	above := func(mean, u float64) float64 { return num.NormalCDF(mean / math.Max(u, 1e-9)) }
	v.DayCapacity = c.Expected * share
	v.DayExcess = l.Sum - v.DayCapacity
	v.PBoxTooMuch = above(v.DayExcess, math.Hypot(l.U, c.ExpectedU*share))
	ratio := l.Sum / v.DayCapacity
	v.ExcessShare = math.Max(0, ratio-1)
	v.ExcessU = math.Hypot(l.U/v.DayCapacity, ratio*c.ExpectedU/c.Expected)
	gives, u := c.Expected, c.ExpectedU
	if c.Measured > 0 {
		gives, u = c.Measured, c.MeasuredU
		p := above(c.Expected-c.Measured, math.Hypot(c.ExpectedU, c.MeasuredU))
		v.PMachineWeak = &p
	}
	v.PShort = above(l.Sum-gives*share, math.Hypot(l.U, u*share))
	v.HoursNeeded = math.Max(0, l.Sum) * 24 / gives
	const sure = 0.9
	weak := v.PMachineWeak != nil && *v.PMachineWeak > sure
	switch {
	case v.PShort < 1-sure:
		v.Outcome = Enough
	case v.PShort <= sure:
		v.Outcome = Undecided
	case v.PBoxTooMuch > sure && weak:
		v.Outcome = Both
	case v.PBoxTooMuch > sure:
		v.Outcome = BoxTooMuch
	case v.PBoxTooMuch < 1-sure || weak:
		v.Outcome = MachineTooWeak
	default:
		v.Outcome = Short
	}
	return v, nil
}
