package text

import (
	"math"
	"slices"
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/units"
)

// speaker gives the arguments of a finding in the words of a display.
type speaker struct {
	f       reading.Finding
	d       units.Display
	ambient units.Pressure
}

// diff is a difference without sign, in whole degrees.
func (s speaker) diff(key string) string {
	return s.d.FormatDiff(units.TempDiff(math.Abs(s.f.Args[key])), 0)
}

func (s speaker) temp(key string) string { return s.d.FormatTemp(units.Temp(s.f.Args[key]), 0) }

func (s speaker) pressure(key string) string {
	return s.d.FormatPressure(units.Pressure(s.f.Args[key]), s.ambient)
}

func (s speaker) number(key string, decimals int) string {
	return units.Fixed(s.f.Args[key], decimals)
}

// place is the name of the n-th place of the finding.
func (s speaker) place(n int) string {
	if n >= len(s.f.At) {
		return "This reading"
	}
	return Label(s.f.At[n])
}

var findings = map[string]func(s speaker) string{
	reading.BoxDisagrees: func(s speaker) string {
		way := "high"
		if s.f.Args["difference_k"] < 0 {
			way = "low"
		}
		return "The box's own thermometer reads " + s.diff("difference_k") + " " + way + ": it shows " + s.temp("display_k") +
			", your probe " + s.temp(
			"probe_k",
		) + ". The calibrated one wins; the judgement leaves the other out. Tell the customer."
	},
	reading.SuctionAbove: func(s speaker) string {
		return "Suction " + s.pressure("suction_pa") + " is above head " + s.pressure("discharge_pa") +
			". Are the hoses swapped, or is the machine off?"
	},
	reading.OutOfRange: func(s speaker) string {
		return s.place(0) + " is outside what this place can show. Check the unit and the digits."
	},
	reading.TooEarly: func(s speaker) string {
		return "Running " + s.number("running_min", 0) + " minutes. Readings settle after about 15. Read again before you act."
	},
	reading.AfterDefrost: func(s speaker) string {
		return "Defrost ended " + s.number(
			"since_defrost_min",
			0,
		) + " minutes ago. The coil is still wet and warm. Read again after 20 minutes."
	},
	reading.DoorJustUsed: func(s speaker) string {
		return "The door stood open. Every reading in the box counts for less: shut it and read again after a quarter of an hour."
	},
	reading.AirOffWarmer: func(s speaker) string {
		return "Air leaving the coil is " + s.diff(
			"difference_k",
		) + " warmer than the air entering it. Are the probes swapped, is defrost on, or is the machine off?"
	},
	reading.DrierWarmer: func(s speaker) string {
		return "The drier's outlet reads " + s.diff(
			"difference_k",
		) + " warmer than its inlet. That cannot be. Swap the clamps and read again."
	},
	reading.FaceCooler: func(s speaker) string {
		return "Air at the condenser's face is " + s.diff("difference_k") + " colder than the outside air. Is the outside probe in the sun?"
	},
	reading.ReadTwice: func(s speaker) string {
		return s.place(0) + " was read " + s.number("times", 0) + " times. The last one counts."
	},
	reading.CondenserOffCold: func(s speaker) string {
		return "Air leaving the condenser is " + s.diff(
			"difference_k",
		) + " colder than the air entering it. Are the probes swapped, or do the fans turn backwards?"
	},
	circuit.NegativeSuperheat: func(s speaker) string {
		return "Superheat comes out " + s.diff(
			"superheat_k",
		) + " below zero. The line cannot be colder than what boils in it: check the clamp and the gauge. If both are right, liquid is " +
			"coming back."
	},
	circuit.SuperheatAboveTD: func(s speaker) string {
		return "The coil outlet reads as warm as the box air. The coil is starved, or the clamp sits in warm air."
	},
	circuit.OutletWarmerThanBox: func(s speaker) string {
		return "The coil outlet reads " + s.diff(
			"difference_k",
		) + " warmer than the box air. The coil cannot do that. Insulate the clamp, or move it nearer to the coil."
	},
	circuit.LiquidTooHot: func(s speaker) string {
		return "The liquid line reads " + s.diff("difference_k") + " hotter than the head allows. Check the clamp, or the unit."
	},
	circuit.DischargeTooCold: func(s speaker) string {
		return "The discharge line reads " + s.diff(
			"difference_k",
		) + " colder than the head allows. Check the clamp, or liquid reaches the compressor."
	},
	circuit.LineTooCold: func(s speaker) string {
		return s.place(0) + " reads " + s.diff("difference_k") + " colder than " + LowerFirst(s.place(1)) + " allows. Check both instruments."
	},
	circuit.SuctionVacuum: func(s speaker) string {
		return "Suction is below the air outside, at " + s.pressure("pressure_pa") + ". A leak on the low side would draw in air."
	},
	circuit.PressureOutside: func(s speaker) string {
		return "No temperature for " + LowerFirst(s.place(0)) + ": " + s.pressure("pressure_pa") +
			" is outside what this refrigerant is known for (" + s.pressure("min_pa") + " to " + s.pressure(
			"max_pa",
		) + "). It counts as the end of that range, or beyond. Check the gauge, then the refrigerant on the plate."
	},
	circuit.DischargeHot: func(s speaker) string {
		return "The discharge line reads " + s.temp("line_k") + ". That hot, oil breaks down. Find the cause before you leave it running."
	},
	circuit.RatioHigh: func(s speaker) string {
		return "Head stands " + s.number(
			"ratio",
			1,
		) + " times suction, both absolute. The compressor runs hot and moves little. Look at the condenser and at suction."
	},
	diagnose.NoneFits: func(speaker) string {
		return "No single cause explains all readings. Read the odd one again before you act."
	},
	diagnose.FewReadings: func(speaker) string {
		return "Few readings. The judgement rests on little; the next reading tells most."
	},
	diagnose.WouldTrip: func(speaker) string {
		return "A healthy machine of this design would have switched itself off by now, so it cannot be compared. Check the design values on " +
			"the plate."
	},
	diagnose.NoAmbient: func(speaker) string {
		return "The air entering the condenser is not read. Head is compared with the design's, and bands are wider."
	},
	diagnose.NoBox: func(speaker) string {
		return "The box air is not read. Suction is compared with the design's, and bands are wider."
	},
	diagnose.NotCompared: func(s speaker) string {
		if slices.Contains(s.f.At, reading.Power.String()) {
			return "The compressor's power did not count: no healthy visit on file has it to compare with. It is kept for the next one."
		}
		return "The compressor's current did not count: the plate's rated current is not given."
	},
	diagnose.HeadAtCutOut: func(s speaker) string {
		return "Head reads " + s.pressure("pressure_pa") + "; from about " + s.pressure("limit_pa") +
			" the high-pressure switch usually stops a machine like this. Stop it. The plate and the maker's instructions say the limit of this " +
			"one. Never bridge the switch, and do not loosen anything under this pressure."
	},
	diagnose.CondenserFansStopped: func(s speaker) string {
		return "Of the condenser's fans " + units.Fixed(100*s.f.Args["share"], 0) +
			" % stand still. Lock the machine out before a hand goes near a blade: a fan may start by itself."
	},
	diagnose.CoilFansStopped: func(s speaker) string {
		return "Of the coil's fans " + units.Fixed(100*s.f.Args["share"], 0) +
			" % stand still. Is it defrosting, or is a door switch open? Lock the machine out before a hand goes near a blade."
	},
	diagnose.CondenserDirtHeavy: func(speaker) string {
		return "The condenser is heavily dirty. Readings taken now are those of a dirty machine: clean it, then read again."
	},
	diagnose.CoilIceHeavy: func(speaker) string {
		return "The coil is heavily iced. Readings taken now are those of an iced coil: thaw it with water or warm air, never with tools, then " +
			"read again, and find why it iced."
	},
	diagnose.GradeLow: func(speaker) string {
		return "Data for this refrigerant are approximate. Temperatures from pressures may be off by a degree or two."
	},
}

// FindingCodes lists every code that has a sentence, sorted.
func FindingCodes() []string { return keysOf(findings) }

// Finding is the sentence for a finding. A code without a sentence is shown by its own name, so that nothing is hidden.
func Finding(f reading.Finding, d units.Display, ambient units.Pressure) string {
	if say, ok := findings[f.Code]; ok {
		return say(speaker{f, d, ambient})
	}
	out := plain(f.Code)
	if len(f.At) > 0 {
		var at []string
		for _, a := range f.At {
			at = append(at, LowerFirst(Label(a)))
		}
		out += ": " + strings.Join(at, ", ")
	}
	return out + "."
}
