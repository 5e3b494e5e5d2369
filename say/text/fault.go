package text

import (
	"math"
	"slices"
	"strings"

	"coldwright/units"
	"coldwright/verdict"
)

// Words are a fault's names and sentences.
type Words struct {
	Name     string // for the mechanic
	Short    string // one sentence: what it is
	Customer string // for the customer, in a sentence that starts with "The"
	Check    string // what to check by hand before acting
	Severity string // what its severity counts
	Noun     string // inside a sentence: "a plugged drier"
	Act      string // what to do once it is certain
}

var faults = map[string]Words{
	"low_charge": {
		"Short of refrigerant",
		"Not enough refrigerant is left to feed the coil.",
		"The machine has lost refrigerant through a leak.",
		"Look for oil marks at joints, flares and rubbed lines, then search with the detector. Find the leak before you add any.",
		"less than it needs to feed the coil",
		"a shortage of refrigerant",
		"Find the leak before you add any.",
	},
	"over_charge": {
		"Too much refrigerant",
		"Liquid stands in the condenser and takes its surface.",
		"The machine holds more refrigerant than it needs, which makes it work too hard.",
		"Compare the record of what was put in with the plate. Recover down to the plate's charge by weight.",
		"of the condenser is flooded",
		"too much refrigerant",
		"Recover down to the plate's charge, by weight.",
	},
	"condenser_air": {
		"Condenser dirty or short of air", "The condenser cannot get rid of its heat.",
		"The part that gives off the heat was dirty or short of air.",
		"Look through the fins with a lamp, check that every fan turns and turns the right way.", "of the air is lost",
		"a dirty condenser", "Clean it and check its fans, then read again.",
	},
	"condenser_recirculation": {
		"Warm air drawn back into the condenser",
		"The condenser breathes its own warm air.",
		"The part that gives off the heat breathes its own warm air.",
		"Measure the air right at the face, then clear of the unit. Look for walls, boxes and covers close by.",
		"above outside air at the face",
		"warm air drawn back into the condenser",
		"Give it clear air, then read again.",
	},
	"coil_air": {
		"Coil iced or short of air", "Too little air passes the coil in the box.",
		"The cooling coil in the box was iced up or short of air.",
		"Look behind the coil for ice and dirt, count the fans that turn, check that defrost ends.", "of the air is lost",
		"a coil short of air", "Clear the ice, check fans and defrost, then read again.",
	},
	"restriction_before_glass": {
		"Liquid line restricted before the glass", "The drier, a strainer or a valve ahead of the glass holds back liquid.",
		"A filter or valve in the machine's piping was blocked.",
		"Feel and clamp both sides of the drier. Check that every service valve is fully open.", "of pressure lost at full flow",
		"a plugged drier", "Open the service valves first, then change the drier.",
	},
	"restriction_after_glass": {
		"Liquid line restricted after the glass",
		"Something between the glass and the expansion valve holds back liquid.",
		"A valve or a kink in the machine's piping held back the flow.",
		"Check the solenoid: coil warm, core lifting, cooler after it than before. Look for a kink or a plugged inlet screen.",
		"of pressure lost at full flow",
		"a restriction after the glass",
		"Check the solenoid and the inlet screen.",
	},
	"valve_underfeeding": {
		"Expansion valve feeding too little",
		"Liquid reaches the valve but too little passes it.",
		"The valve that feeds the cooling coil opened too little.",
		"Warm the bulb in your hand: suction must rise within a minute. If not, check the inlet screen, then the power element. Moisture " +
			"freezes and lets go when warmed.",
		"of the opening is lost",
		"a valve feeding too little",
		"Check the screen and the power element before you turn the stem.",
	},
	"valve_overfeeding": {
		"Expansion valve feeding too much",
		"Liquid comes back through the coil.",
		"The valve that feeds the cooling coil let too much through.",
		"Check that the bulb is tight on a clean pipe, insulated, and at the right place. Feel for a cold compressor body.",
		"more opening than it should have",
		"a valve feeding too much",
		"Check the bulb before you turn the stem.",
	},
	"compressor_valves": {
		"Compressor pumping poorly",
		"Gas leaks back inside the compressor.",
		"The compressor no longer pumps as it should.",
		"Close the suction side and see how far it pulls down, and whether it holds. Not below what the maker allows, and not on every type.",
		"of the flow goes round inside",
		"a compressor pumping poorly",
		"Prove it by hand before you change it.",
	},
	"noncondensables": {
		"Air or nitrogen in the circuit",
		"A gas that does not condense stands in the condenser.",
		"Air had got into the machine's piping.",
		"Let the condenser cool to outside temperature with the machine off: standing pressure must match the refrigerant at that temperature.",
		"of extra head pressure",
		"air in the circuit",
		"Recover, evacuate and charge new by weight.",
	},
	"suction_restriction": {
		"Suction line restricted",
		"Gas cannot get back to the compressor freely.",
		"The pipe back to the compressor was partly blocked.",
		"Compare pressure at the coil outlet with pressure at the compressor. Look at the suction filter, the regulator and for a kink.",
		"between coil and compressor",
		"a restricted suction line",
		"Find the drop: filter, regulator or kink.",
	},
	"head_control_low": {
		"Head-pressure control lets head fall too low", "In the cold the valve gets too little pressure to feed.",
		"The control for cold weather did not hold.",
		"Find out what it is set to hold and compare with head now. Feel the bypass and watch the fans.", "below its setting",
		"head control set too low", "Check its setting against the plate.",
	},
	"head_control_high": {
		"Head-pressure control holds head too high", "The control keeps head up when nothing asks for it.",
		"The control for cold weather held on when it should not.",
		"Feel the bypass: hot means it passes now. Check that all fans run when it is warm.", "above its setting",
		"head control that holds on", "Check its setting against the plate.",
	},
	"excess_load": {
		"More load than the machine can carry",
		"The machine works as built, but too much heat comes in.",
		"The machine works, but more heat gets into the box than it can remove.",
		"Look at the door, the curtain, warm product, defrost heaters that stay on, and people at work inside.",
		"of its capacity comes in on top",
		"more load than it can carry",
		"Look at the door, the product and the defrost before you touch the circuit.",
	},
	"composition_shift": {
		"Blend has shifted by leaking",
		"One part of the blend has leaked more than the rest.",
		"The refrigerant left in the machine is no longer the right mix.",
		"Compare standing pressure with the plate's refrigerant at that temperature. If it does not match, recover all and charge new as liquid.",
		"shift",
		"a blend that has shifted",
		"Find the leak, recover all, charge new as liquid.",
	},
	"wrong_refrigerant": {
		"Wrong or mixed refrigerant",
		"What is in the machine does not behave like the plate says.",
		"The machine holds another refrigerant than its plate says.",
		"Compare standing pressure with temperature, and ask what was put in. Keep it apart: mixed refrigerant goes into its own cylinder.",
		"away from the plate's refrigerant",
		"the wrong refrigerant",
		"Prove it by standing pressure, and keep what you recover apart.",
	},
	"box_thermometer": {
		"Box thermometer reads wrong", "The box's own thermometer does not show the air's temperature.",
		"The thermometer on the box reads wrong.",
		"Put your calibrated probe beside its sensor, or both into ice water.", "off",
		"a box thermometer that reads wrong", "Set or replace it, and tell the customer since when.",
	},
	"suction_gauge": {
		"Suction gauge reads wrong", "The low-side gauge does not show the pressure.",
		"One of our gauges read wrong.",
		"Open the gauge to air: it must read zero. Then compare with a second gauge.", "off",
		"a suction gauge that reads wrong", "Set its zero or take another, then read again.",
	},
	"discharge_gauge": {
		"Head gauge reads wrong", "The high-side gauge does not show the pressure.",
		"One of our gauges read wrong.",
		"Open the gauge to air: it must read zero. Then compare with a second gauge.", "off",
		"a head gauge that reads wrong", "Set its zero or take another, then read again.",
	},
	"healthy": {
		"Nothing wrong", "All readings stand where they should today.",
		"The machine works as it should.",
		"Check once more after the next defrost.", "",
		"nothing wrong", "Keep these readings: they are what is normal for this machine.",
	},
	"none_of_these": {
		"None of these", "No cause on the list explains all readings.",
		"The cause is not found yet.",
		"Read the value that fits worst once more, with another instrument, before you act.", "",
		"something not on the list", "Read the odd value again before you act.",
	},
}

// FaultCodes lists every code that has words, sorted.
func FaultCodes() []string {
	var out []string
	for c := range faults {
		out = append(out, c)
	}
	slices.Sort(out)
	return out
}

// Fault returns the words of a fault, or of a pair written a+b, in English unless a language is given. An unknown
// code keeps itself as its name.
func Fault(code string, lang ...Language) Words {
	l := one(lang)
	if w, ok := lexicons[l].faults[code]; ok {
		return w
	}
	if w, ok := faults[code]; ok {
		return w
	}
	parts := strings.Split(code, "+")
	if len(parts) == 1 {
		name := plain(code)
		return Words{Name: name, Noun: LowerFirst(name)}
	}
	var out Words
	for i, p := range parts {
		w := Fault(p, l)
		if i == 0 {
			out = w
			out.Severity = ""
			continue
		}
		out.Name += and(l, w.Name) + LowerFirst(w.Name)
		out.Short = strings.TrimSpace(out.Short + " " + w.Short)
		out.Customer = strings.TrimSpace(out.Customer + " " + w.Customer)
		out.Check = strings.TrimSpace(out.Check + " " + w.Check)
		out.Noun += and(l, w.Noun) + w.Noun
		out.Act = strings.TrimSpace(out.Act + " " + w.Act)
	}
	return out
}

// and joins two names; Spanish says e before the sound i.
func and(l Language, next string) string {
	if l == Spanish && strings.HasPrefix(strings.ToLower(next), "i") {
		return " e "
	}
	return l.in(phrase{" and ", " y "})
}

// LowerFirst begins without a capital.
func LowerFirst(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToLower(string(r[0])) + string(r[1:])
}

// Probability is the word for a probability, see [verdict.LevelOf].
func Probability(p float64, lang ...Language) string { return Level(verdict.LevelOf(p), lang...) }

var levelWords = map[verdict.Level]phrase{
	verdict.AlmostCertain:     {"almost certain", "casi seguro"},
	verdict.Likely:            {"likely", "probable"},
	verdict.MoreLikelyThanNot: {"more likely than not", "más probable que no"},
	verdict.AboutEven:         {"about even", "mitad y mitad"},
	verdict.Possible:          {"possible", "posible"},
	verdict.Unlikely:          {"unlikely", "poco probable"},
	verdict.VeryUnlikely:      {"very unlikely", "muy poco probable"},
}

// Level is the word for how sure something is.
func Level(v verdict.Level, lang ...Language) string { return one(lang).in(levelWords[v]) }

// Hundred is the figure before "in 100": "79", "under 1", "over 99".
func Hundred(p float64, lang ...Language) string {
	switch f := verdict.FigureOf(p); {
	case math.IsNaN(p):
		return "–"
	case f.Under1:
		return one(lang).in(phrase{"under 1", "menos de 1"})
	case f.Over99:
		return one(lang).in(phrase{"over 99", "más de 99"})
	default:
		return units.Fixed(float64(f.Hundredths), 0)
	}
}

// HundredWord is "79 in 100".
func HundredWord(p float64, lang ...Language) string {
	return Hundred(p, lang...) + one(lang).in(phrase{" in 100", " de 100"})
}

// Severity is a severity in words: "about 19 % (11 to 32) of the charge is missing". unit is "share", "K", "Pa" or
// "bar"; values are SI (bar as bar).
func Severity(code string, low, mid, high float64, unit string, d units.Display, lang ...Language) string {
	l := one(lang)
	w := Fault(code, l).Severity
	if w == "" || math.IsNaN(mid) {
		return ""
	}
	num, suffix := "", ""
	span := func(f func(float64) string) {
		a, b := f(low), f(high)
		num = f(mid)
		if a != b {
			num += suffix + " (" + a + l.to() + b + ")"
			return
		}
		num += suffix
	}
	switch unit {
	case "share", "":
		suffix = " %"
		span(func(v float64) string { return units.Fixed(100*v, 0) })
	case "K":
		suffix = " " + d.DiffUnit()
		span(func(v float64) string { return d.DiffNumber(units.TempDiff(v), 0) })
	case "bar", "Pa", "psi":
		pa := func(v float64) float64 {
			switch unit {
			case "bar":
				return v * units.Bar
			case "psi":
				return v * units.Psi
			}
			return v
		}
		u, per, n := "psi", float64(units.Psi), 0
		switch d.Pressure {
		case "bar(g)":
			u, per, n = "bar", units.Bar, 1
		case "kPa(a)":
			u, per, n = "kPa", units.Kilo, 0
		}
		suffix = " " + u
		span(func(v float64) string { return units.Fixed(pa(v)/per, n) })
	default:
		return ""
	}
	return l.in(phrase{"About ", "Cerca de "}) + num + " " + w + "."
}
