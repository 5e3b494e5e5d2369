package text

import (
	"math"
	"strings"

	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/units"
)

// PullFacts are the numbers of a pull-down that its sentence needs.
type PullFacts struct {
	Verdict        string // too_short, reached, falling, slow, stalled, warming
	Minutes        float64
	Box            units.Temp // last reading
	SetPoint       units.Temp
	RatePerHour    units.TempDiff // per hour, negative is falling
	PReaches6h     float64
	Soon, Mid      float64 // minutes to the set point, low and middle; NaN when not known
	HaveProjection bool
}

// PullFactsFrom takes the sentence's numbers from a pull-down.
func PullFactsFrom(r *pulldown.Result, set units.Temp) PullFacts {
	f := PullFacts{
		Verdict: r.Verdict.String(), Minutes: r.Span, Box: r.Last, SetPoint: set, RatePerHour: r.RateLast,
		PReaches6h: r.PReaches6h, Soon: math.NaN(), Mid: math.NaN(),
	}
	if t := r.ToSetPoint; t != nil {
		f.Soon, f.Mid, f.HaveProjection = t.Low, t.Mid, true
	}
	return f
}

// PullDownVerdict is the verdict in three words at most.
func PullDownVerdict(code string) string {
	switch code {
	case "reached":
		return "Set point reached"
	case "falling":
		return "Falling well"
	case "slow":
		return "Falling too slowly"
	case "stalled":
		return "Stopped falling"
	case "warming":
		return "Getting warmer"
	case "too_short":
		return "Too early yet"
	}
	return "Not judged"
}

// PullDown is the sentence under the verdict.
func PullDown(p PullFacts, d units.Display) string {
	set := d.FormatTemp(p.SetPoint, 0)
	chance := HundredWord(p.PReaches6h) + " within 6 hours."
	switch p.Verdict {
	case "reached":
		return "At " + set + " after " + units.Fixed(p.Minutes, 0) + " minutes."
	case "falling", "slow":
		out := ""
		if p.HaveProjection && !math.IsNaN(p.Mid) && p.Mid < 600 {
			out = "At " + set + " in about " + units.Fixed(p.Mid, 0) + " more minutes"
			if !math.IsNaN(p.Soon) && math.Round(p.Soon) < math.Round(p.Mid) {
				out += "; " + units.Fixed(p.Soon, 0) + " at the soonest"
			}
			out += ". "
		}
		return out + UpperFirst(chance)
	case "stalled":
		return "Will not reach " + set + " like this: flat at " + d.FormatTemp(
			p.Box,
			0,
		) + ". " + UpperFirst(chance) + " Start the suspects."
	case "warming":
		return "Rises " + d.FormatDiff(
			units.TempDiff(math.Abs(float64(p.RatePerHour))),
			1,
		) + " an hour. Is the machine running, the door shut, defrost over?"
	case "too_short":
		return units.Fixed(p.Minutes, 0) + " minutes cannot show it yet. Keep reading every few minutes, doors shut."
	}
	return ""
}

// Step is a step of a visit.
type Step struct{ Key, Title, Hint string }

// Steps lists the eleven steps of a visit in the order in which they happen.
func Steps() []Step {
	return []Step{
		{"arrive", "Arrive", "What is the complaint, what must it hold, is the food safe"},
		{"look", "Look", "Before any gauge goes on"},
		{"time", "Time it", "Pull-down, doors shut"},
		{"connect", "Connect", "Pressures and temperatures"},
		{"judge", "Judge", "Suspects, next reading"},
		{"repair", "Find and repair", "Likely places first"},
		{"tight", "Prove it tight", "Nitrogen stands, temperature taken out"},
		{"dry", "Prove it dry", "Vacuum, then watch it rise"},
		{"charge", "Charge", "By weight where it is known"},
		{"cold", "Prove the cold", "Pull-down and readings again"},
		{"write", "Write it down", "For the customer and for next time"},
	}
}

var work = map[string]string{
	"condenser_cleaned":     "Condenser cleaned",
	"condenser_cleared":     "Condenser given clear air",
	"coil_defrosted":        "Coil cleared of ice",
	"coil_cleaned":          "Coil cleaned",
	"fan_repaired":          "Fan repaired or replaced",
	"defrost_set":           "Defrost set",
	"door_repaired":         "Door or gasket repaired",
	"leak_found":            "Leak found",
	"leak_repaired":         "Leak repaired",
	"leak_rechecked":        "Leak repair re-checked, tight",
	"repair_tested":         "Repair tested, first test passed",
	"repair_tested_again":   "Repair tested again while running, passed",
	"leak_inspected":        "Leak inspection of all parts",
	"joint_brazed":          "Joint brazed, nitrogen flowing",
	"drier_replaced":        "New filter-drier fitted",
	"valve_set":             "Expansion valve set",
	"valve_cleaned":         "Expansion valve screen cleaned",
	"valve_replaced":        "Expansion valve replaced",
	"solenoid_replaced":     "Solenoid valve replaced",
	"bulb_fixed":            "Valve bulb fixed and insulated",
	"compressor_replaced":   "Compressor replaced",
	"head_control_set":      "Head-pressure control set",
	"pressure_tested":       "Pressure tested with dry nitrogen",
	"evacuated":             "Evacuated",
	"refrigerant_recovered": "Refrigerant recovered",
	"refrigerant_charged":   "Charged",
	"thermometer_set":       "Box thermometer set or replaced",
	"control_set":           "Control set",
	"electrical_repaired":   "Electrical part repaired",
	"product_moved":         "Product moved",
	"advised":               "Advised the customer",
	"other":                 "Other work",
}

// WorkCodes lists the kinds of work that have words, sorted.
func WorkCodes() []string { return keysOf(work) }

// Work is the words for a kind of work.
func Work(code string, lang ...Language) string {
	return labelledIn(lexicons[one(lang)].work, work, code)
}

// Caution is a reminder that stands at the step where the danger is.
type Caution struct{ Code, Text string }

// Danger is what cautions depend on: the refrigerant's designation and safety class ("A1", "A2L", "A3", "B2L"; ""
// when not known) and the application.
type Danger struct {
	Refrigerant, Safety string
	Application         reading.Application
}

// Flammable reports whether the refrigerant burns.
func (d Danger) Flammable() bool {
	return strings.Contains(d.Safety, "2") || strings.Contains(d.Safety, "3")
}

// WalkIn reports whether one walks into the box; its panels are foam.
func (d Danger) WalkIn() bool {
	return d.Application == reading.WalkInCooler || d.Application == reading.WalkInFreezer
}

// Sentences are ours; what they say is common to the trade's published guides. Where a number stands, its origin is beside it.
var cautions = map[string]string{
	"electrical": "Lock out and tag out before you reach past a guard or open a box; heaters and controls may have a second feed. " +
		"Capacitors hold charge. Measure that it is dead.",
	"shut_in": "Check that the door opens from inside before it shuts behind you. Tell someone you are in there.",
	"air": "Refrigerant and nitrogen push the air out of a small room or box without warning. Ventilate before you go in, and do " +
		"not work alone in a leak.",
	"gauges": "Goggles and gloves: liquid refrigerant freezes skin and eyes. Hoses rated for this refrigerant, opened slowly. Each " +
		"hook-up loses some: look first.",
	"open": "Recover first, then open the circuit to air; never vent it. Check that no part still holds pressure. Licensed people " +
		"only; local codes and the maker's instructions win.",
	"braze": "Never braze or cut a line that holds pressure or refrigerant: at the flame it turns into poisonous acid gas. Nitrogen " +
		"flowing through an open end, extinguisher at hand, fire watch after. Foam in panels smoulders where you cannot see it.",
	"nitrogen": "Dry nitrogen only, through a regulator and a relief; never oxygen or air, which explode with oil. Never above the test " +
		"pressure on the plate, and the low side is often the lower one. Stand clear while it rises.",
	"evacuate": "Never run or megger a hermetic compressor under vacuum: its terminals arc. Break the vacuum with nitrogen, not with air.",
	// Cylinder limit of 80 % by volume of liquid: common rule of the trade, from memory.
	"charge": "Gloves and goggles. By weight, from a cylinder whose label you have read; blends leave it as liquid only. Never fill a " +
		"cylinder above 80 % liquid.",
	"food": "Keep the door shut and note when the food was last known cold. Whether it can be served is for its owner and the food " +
		"authority, not for us.",
	"start": "Clear of belts, fans and the discharge line before you switch on. Take your lock off last.",
}

const flammable = "flammable"

func (d Danger) flammableText() string {
	if strings.HasSuffix(d.Safety, "3") {
		return d.Refrigerant + " burns and explodes. No flame, spark or ordinary vacuum pump; tools rated for it, air moving, detector on " +
			"before you open. Flush with nitrogen before any cut, and do not braze until the detector is quiet. " +
			"The appliance's standard and the maker's instructions win."
	}
	return d.Refrigerant + " can burn. No flame or spark near it, tools rated for it, air moving, detector on. Flush with nitrogen before " +
		"any cut. The appliance's standard and the maker's instructions win."
}

const carbonDioxide = "R-744 stands at very high pressure, and liquid shut in between two valves bursts the pipe as it warms. Hoses " +
	"and gauges rated for it only. Vented as liquid it turns to dry ice and plugs; breathed, it poisons long before the air runs out."

var stepCautions = map[string][]string{
	"arrive":     {"food"},
	"look":       {"electrical", "shut_in"},
	"time":       {"shut_in"},
	"connect":    {"gauges"},
	"judge":      {},
	"repair":     {"open", "braze", "air"},
	"tight":      {"nitrogen"},
	"dry":        {"evacuate"},
	"charge":     {"charge"},
	"cold":       {"start", "shut_in"},
	"write":      {},
	"gauges":     {"gauges"},
	"electrical": {"electrical"},
	"open":       {"open"},
	"braze":      {"braze"},
	"nitrogen":   {"nitrogen"},
	"evacuate":   {"evacuate"},
}

// CautionSteps lists the steps and acts that Cautions knows, sorted.
func CautionSteps() []string { return keysOf(stepCautions) }

// Cautions returns the reminders at a step of a visit, or at one act: gauges, electrical, open, braze, nitrogen, evacuate, charge.
func Cautions(step string, d Danger) []Caution {
	var out []Caution
	opensCircuit := false
	for _, c := range stepCautions[step] {
		if c == "shut_in" && !d.WalkIn() && d.Application != reading.ApplicationUnknown {
			continue
		}
		switch c {
		case "gauges", "open", "braze", "evacuate", "charge":
			opensCircuit = true
		}
		out = append(out, Caution{c, cautions[c]})
	}
	if opensCircuit && d.Flammable() {
		out = append([]Caution{{flammable, d.flammableText()}}, out...)
	}
	if opensCircuit && d.Refrigerant == "R-744" {
		out = append([]Caution{{"carbon_dioxide", carbonDioxide}}, out...)
	}
	return out
}
