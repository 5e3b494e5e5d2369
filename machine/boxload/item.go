package boxload

import (
	"math"

	"coldwright/air"
	"coldwright/units"
)

// Kind says what a heat item is.
type Kind int

// The kinds, in the order of a report.
const (
	KindUnknown Kind = iota
	Wall
	Ceiling
	Floor
	Slab // bare or insulated slab on the ground
	Glass
	Infiltration
	Frost // freezing of the moisture that comes in
	Product
	Packaging
	Respiration
	People
	Lights
	Fans
	Motors
	Heaters // anti-sweat heaters and the like
	DefrostHeat
)

var kindWords = [...]string{
	"unknown",
	"wall",
	"ceiling",
	"floor",
	"slab",
	"glass",
	"infiltration",
	"frost",
	"product",
	"packaging",
	"respiration",
	"people",
	"lights",
	"fans",
	"motors",
	"heaters",
	"defrost",
}

func (k Kind) String() string { return kindWords[k] }

// MarshalText writes the word.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Kinds lists every kind but unknown.
func Kinds() []Kind {
	var out []Kind
	for k := Wall; k <= DefrostHeat; k++ {
		out = append(out, k)
	}
	return out
}

// DefaultU is the relative standard uncertainty of an item nobody has judged: judgement, no source. A U value ages
// and a door's use is guessed, while lights and fans carry a plate.
func DefaultU(k Kind) float64 {
	switch k {
	case Wall, Ceiling, Floor, Glass:
		return 0.15
	case Slab, Frost:
		return 0.30
	case Infiltration:
		return 0.40
	case Product, Packaging:
		return 0.15
	case Respiration:
		return 0.30
	case People:
		return 0.30
	case DefrostHeat:
		return 0.20
	}
	return 0.10
}

// Item is one part of the load: mean over 24 h and standard uncertainty, W. Of defrost and frost W may be below zero:
// ice that melts cools the room.
type Item struct {
	Kind Kind
	Name string
	W, U float64
}

// Transmission returns the heat through a surface.
//
//		q = U A (T_beyond + ΔT_sun − T_room)
//
//	  - in: u, W/(m² K); area, m²; temperature difference over it, K
//	  - out: W
//	  - source: definition; ASHRAE Refrigeration, load chapter, as quoted in the EnergyPlus Engineering Reference
func Transmission(u, area float64, dT units.TempDiff) float64 { return u * area * float64(dT) }

// SlabU returns the transmittance of a slab on the ground, of its whole area against the mean temperature of what surrounds the room.
//
//	B' = A/(P/2),  d = w + λ (R_si + R_f + R_se);  U = 2λ/(π B' + d) ln(π B'/d + 1) for d < B', else λ/(0.457 B' + d)
//
// A slab that has been cold for a short time takes more: the ground still gives up its heat, at most λ/√(π a t) in series with d/λ.
//
//   - in: area, m²; perimeter, m; insulation resistance of the floor, m² K/W, zero for bare concrete; days the room
//     has been cold, zero for long ago
//   - out: W/(m² K)
//   - assumes: soil of 2.0 W/(m K) and 2 MJ/(m³ K) (ISO 13370, table 1, sand or gravel, from memory), walls 0.1 m
//     thick, R_si 0.17 and R_se 0.04 m² K/W; still ground water
//   - source: ISO 13370, slab on ground, as two public implementations write it (the standard itself was not at
//     hand); the transient: conduction into a half space, Carslaw and Jaeger (1959), §2.5
func SlabU(area, perimeter, insulation, days float64) float64 {
	const soil, heat, wall, films = 2.0, 2e6, 0.1, 0.17 + 0.04
	b := area / (perimeter / 2)
	d := wall + soil*(films+insulation)
	u := soil / (0.457*b + d)
	if d < b {
		u = 2 * soil / (math.Pi*b + d) * math.Log(math.Pi*b/d+1)
	}
	if days > 0 {
		front := math.Sqrt(math.Pi * soil / heat * days * units.SecondsPerDay)
		u = math.Max(u, soil/(front+d))
	}
	return u
}

// Protection is what stands in an open doorway.
type Protection int

// The protections.
const (
	ProtectionUnknown Protection = iota
	NoProtection
	AirCurtain
	StripCurtain
)

var protectionWords = []string{"", "none", "air curtain", "strip curtain"}

// ProtectionWords are the words of the protections by their number, none for the unknown one.
func ProtectionWords() []string { return protectionWords }

func (p Protection) String() string { return protectionWords[p] }

// Effectiveness returns the share of the exchange a protection stops.
//
//   - out: 0 to 1; an unknown protection stops nothing
//   - source: EnergyPlus Engineering Reference, walk-in infiltration: 0, 0.5, 0.9
func (p Protection) Effectiveness() float64 {
	return [...]float64{0, 0, 0.5, 0.9}[p]
}

// Door is a doorway and how it is used.
type Door struct {
	Name          string
	Width, Height float64 // m
	Open          float64 // share of the day it stands open
	Protection    Protection
	Beyond        air.State // the air outside it
	U             float64   // relative standard uncertainty; 0 means the default
}

// OpenShare returns the share of the time a doorway is open.
//
//		D_t = (P θ_p + 60 θ_o)/(3600 θ_d)
//
//	  - in: passages; seconds each; further minutes standing open; over so many hours
//	  - out: share, at most 1
//	  - source: ASHRAE Refrigeration, load chapter, from memory; 15 to 25 s for a door by hand, 5 to 10 s for a fast one (from memory)
func OpenShare(passages, seconds, minutes, hours float64) float64 {
	return math.Min(1, (passages*seconds+60*minutes)/(units.SecondsPerHour*hours))
}

// Exchange is what goes through a doorway.
type Exchange struct {
	Full  float64 // W, through the doorway fully open and unprotected
	W     float64 // W, mean
	Water float64 // kg/s, mean
}

// Exchange returns the heat and water that come through a doorway.
//
//	q = 0.221 A (h_o − h_r) ρ_r √(1 − ρ_o/ρ_r) √(g H) F_m · D_t D_f (1 − E),  F_m = (2/(1 + (ρ_r/ρ_o)^⅓))^1.5
//
// D_f is 0.8 where the temperatures differ by 11 K or more, else 1.1. Where the room's air is not the heavier one, nothing is counted.
//
//   - in: the room's air
//   - out: the exchange
//   - source: Gosney and Olama (1975), as written in the EnergyPlus Engineering Reference, refrigeration walk-in infiltration
func (d Door) Exchange(room air.State) Exchange {
	out := d.Beyond
	if out.Rho >= room.Rho || out.H <= room.H {
		return Exchange{}
	}
	fm := math.Pow(2/(1+math.Cbrt(room.Rho/out.Rho)), 1.5)
	flow := 0.221 * d.Width * d.Height * room.Rho * math.Sqrt(1-out.Rho/room.Rho) * math.Sqrt(gravity*d.Height) * fm // kg/s of air
	df := 1.1
	if out.T-room.T >= 11 {
		df = 0.8
	}
	share := d.Open * df * (1 - d.Protection.Effectiveness())
	e := Exchange{Full: flow * (out.H - room.H)}
	e.W, e.Water = e.Full*share, math.Max(0, flow*(out.W-room.W)*share)
	return e
}

const gravity = 9.80665 // m/s², standard

// AirChange returns the heat and water of a room's air renewed so many times a day, for a room whose doors nobody describes.
//
//   - in: volume, m³; changes per day; the air outside and in the room
//   - out: W and kg/s in Exchange.W and Water
//   - source: definition; mass of the air as it leaves, which reproduces the FAO and USDA figures to 5 %
func AirChange(volume, perDay float64, beyond, room air.State) Exchange {
	flow := volume * perDay / units.SecondsPerDay * room.Rho / (1 + room.W)
	return Exchange{W: flow * (beyond.H - room.H), Water: math.Max(0, flow*(beyond.W-room.W))}
}

// LatentOfIce is the heat of melting ice, J/kg, ASHRAE Fundamentals (2017), from memory; the reference's 144 Btu/lb is 335.
const LatentOfIce = 333.6e3

// Food is what a product is made of, as far as heat is concerned. Zero specific heats and latent heat are worked out from the water.
type Food struct {
	Water    float64    // mass share
	Bound    float64    // water that never freezes, mass share; 0.4 times the protein (Schwartzberg 1976)
	Freezing units.Temp // initial freezing point
	Above    float64    // J/(kg K)
	Below    float64    // J/(kg K)
	Latent   float64    // J/kg, of all its water
}

// Filled returns the food with specific heats and latent heat worked out where they are not given.
//
//		c_above = 837 + 3349 x_w, c_below = 837 + 1256 x_w J/(kg K); L = 333.6 kJ/kg · x_w
//
//	  - out: the food
//	  - source: Siebel (1892), as quoted in ASHRAE Refrigeration, thermal properties of foods, from memory
func (f Food) Filled() Food {
	if f.Above == 0 {
		f.Above = 837 + 3349*f.Water
	}
	if f.Below == 0 {
		f.Below = 837 + 1256*f.Water
	}
	if f.Latent == 0 {
		f.Latent = LatentOfIce * f.Water
	}
	return f
}

// Ice returns the share of the mass that is ice.
//
//		x_ice = (x_w − x_b)(1 − t_f/t), t in °C
//
//	  - in: T, K
//	  - out: mass share, zero above the freezing point
//	  - source: Raoult's law for dilute solutions as Schwartzberg (1976) writes it; ASHRAE Refrigeration, thermal properties of
//	    foods, Eq. (3), from memory
func (f Food) Ice(T units.Temp) float64 {
	if T >= f.Freezing || T.C() >= 0 {
		return 0
	}
	return math.Max(0, f.Water-f.Bound) * (1 - f.Freezing.C()/T.C())
}

// HeatOut returns the heat a product gives up from one temperature to another, the freezing of its water with it;
// what stays unfrozen keeps its latent heat.
//
//		q = c_above (t1 − t_f) + L x_ice(t2)/x_w + c_below (t_f − t2)
//
//	  - in: from and to, K
//	  - out: J/kg; negative where the product is warmed
//	  - source: ASHRAE Refrigeration, load chapter, from memory; unfrozen share by [Food.Ice]
func (f Food) HeatOut(from, to units.Temp) float64 {
	f = f.Filled()
	h := func(T units.Temp) float64 {
		if T >= f.Freezing {
			return f.Above * float64(T-f.Freezing)
		}
		frozen := 0.0
		if f.Water > 0 {
			frozen = f.Ice(T) / f.Water
		}
		return f.Below*float64(T-f.Freezing) - f.Latent*frozen
	}
	return h(from) - h(to)
}

// RespirationHeat returns the heat of living produce from the carbon dioxide it breathes out.
//
//   - in: rate, mg CO2 per kg and hour
//   - out: W/kg
//   - source: USDA Agriculture Handbook 66: 61 kcal per tonne and day for each mg per kg and hour. The text prints
//     "kJ" once and "kcal" once; kcal is right, since burning sugar gives 10.7 J per mg, 61.4 kcal per tonne and day
func RespirationHeat(rate float64) float64 {
	const kcal = 61.0
	return rate * kcal * units.Calorie * units.Kilo / units.SecondsPerDay / units.Tonne
}

// PersonHeat returns what a person gives off in the cold.
//
//		q = 272 − 6 t
//
//	  - in: the room's temperature
//	  - out: W
//	  - source: ASHRAE Refrigeration, load chapter, from memory; FAO gives 440 W at −30 °C (452 here), USDA 278 W at −1 °C (278 here)
func PersonHeat(room units.Temp) float64 { return math.Max(0, 272-6*room.C()) }

// DefrostKind is how a coil is cleared.
type DefrostKind int

// The kinds of defrost.
const (
	DefrostUnknown DefrostKind = iota
	OffCycle
	Electric
	HotGas
)

var defrostWords = []string{"", "off-cycle", "electric", "hot gas"}

// DefrostWords are the words of the kinds of defrost by their number, none for the unknown one.
func DefrostWords() []string { return defrostWords }

func (d DefrostKind) String() string { return defrostWords[d] }

// Defrost is how and how often a coil is cleared.
type Defrost struct {
	Kind      DefrostKind
	Power     float64 // W while on; zero for off-cycle
	Minutes   float64 // each, at most
	PerDay    float64
	ByTemp    bool    // ended by a thermostat on the coil rather than by the clock
	DripMin   float64 // minutes the machine still stands after each
	U         float64 // relative standard uncertainty; 0 means the default
	FrostFrom float64 // kg/s of water that settles on the coil
}

// iceShare is the part of the defrost's heat that goes into the ice when it ends by temperature. Source: Baxter and
// Mei (2002), as quoted in the EnergyPlus Engineering Reference: 70 % for electric, 30 % for hot fluid.
func (d Defrost) iceShare() float64 {
	if d.Kind == HotGas {
		return 0.30
	}
	return 0.70
}

// Heat returns what defrosting leaves in the room over 24 h: the heat put in less what went out as melt water.
//
//   - out: W, below zero for an off-cycle defrost, whose ice cools the room; kg of frost per day left unmelted
//   - source: EnergyPlus Engineering Reference, refrigeration defrost: by the clock power times time less the melt,
//     by temperature 70 or 30 % of the heat in the ice
func (d Defrost) Heat() (w, left float64) {
	frost := d.FrostFrom * units.SecondsPerDay
	put := d.Power * 60 * d.Minutes * d.PerDay // J per day
	if d.Kind == OffCycle {
		return -frost * LatentOfIce / units.SecondsPerDay, 0
	}
	melted := math.Min(frost, d.iceShare()*put/LatentOfIce)
	if d.ByTemp {
		put = math.Min(put, melted*LatentOfIce/d.iceShare())
	}
	return (put - melted*LatentOfIce) / units.SecondsPerDay, frost - melted
}

// Stopped returns the hours a day the machine cannot cool because of defrosting.
func (d Defrost) Stopped() float64 { return math.Min(24, d.PerDay*(d.Minutes+d.DripMin)/60) }
