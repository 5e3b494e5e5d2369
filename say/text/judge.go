package text

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Suspect is one cause with its marginal probability.
type Suspect struct {
	Code     string
	Marginal float64
}

// Gap is how far something stands from where it should be; over is positive.
type Gap struct {
	At string // key of a place or derived quantity
	By units.TempDiff
}

// Judged is a judgement as far as its headline needs it. Suspects come most likely first; Off lists what is outside
// its band, farthest first.
type Judged struct {
	Suspects        []Suspect
	PHealthy, PNone float64
	Off             []Gap
	Readings        int
}

// JudgedFrom takes what the headline needs from a judgement: marginals, and everything outside its band, farthest
// first, suction and head before the lines and the air, since they are what people look at.
func JudgedFrom(p *diagnose.Posterior) Judged {
	j := Judged{PHealthy: p.PHealthy, PNone: p.PNone, Readings: 2}
	for _, m := range p.Marginals {
		j.Suspects = append(j.Suspects, Suspect{m.Fault.String(), m.Probability})
	}
	var gauges, rest []Gap
	for _, e := range p.Expected {
		if !e.Read || e.In || e.At.Kind() == reading.KindCurrent || e.At.Kind() == reading.KindPower {
			continue
		}
		g := Gap{e.At.String(), units.TempDiff(e.Off)}
		if e.At == reading.SuctionPressure || e.At == reading.DischargePressure {
			gauges = append(gauges, g)
		} else {
			rest = append(rest, g)
		}
	}
	far := func(a, b Gap) int { return cmp.Compare(math.Abs(float64(b.By)), math.Abs(float64(a.By))) }
	slices.SortStableFunc(gauges, far)
	slices.SortStableFunc(rest, far)
	j.Off = append(gauges, rest...)
	return j
}

// WhyNext is the sentence for why a reading comes next.
func WhyNext(code string) string {
	switch code {
	case diagnose.WhySeparates:
		return "It separates the first two suspects."
	case diagnose.WhyConfirms:
		return "It confirms or clears the first suspect."
	}
	return "It tells more than any other reading now."
}

// NextFrom returns the words for a reading a judgement asks for.
func NextFrom(n diagnose.Next) NextWords {
	var between []string
	for _, s := range n.Shows {
		if len(between) < 2 && s.Name != fault.Healthy.String() {
			between = append(between, s.Name)
		}
	}
	out := Next(n.At, between)
	out.Minutes = int(math.Round(n.Minutes))
	if n.Why != diagnose.WhySeparates || len(between) < 2 {
		out.Sentence = WhyNext(n.Why)
	}
	return out
}

// SeverityFrom is a severity of a judgement in words.
func SeverityFrom(s diagnose.Severity, d units.Display) string {
	return Severity(s.Fault.String(), s.Low, s.Mid, s.High, s.Unit, d)
}

// Headline says the finding first, in one or two short sentences, and the reason in a paragraph.
func Headline(j Judged, d units.Display) (h1, para string) {
	return headline(j), reason(j, d)
}

func headline(j Judged) string {
	var first, second Suspect
	for _, s := range j.Suspects {
		if s.Code == "healthy" || s.Code == "none_of_these" {
			continue
		}
		switch {
		case s.Marginal > first.Marginal:
			first, second = s, first
		case s.Marginal > second.Marginal:
			second = s
		}
	}
	switch {
	case j.Readings < 2:
		return "Too little read to judge."
	case j.PNone >= 0.4 && j.PNone >= first.Marginal && j.PNone >= j.PHealthy:
		return "No single cause explains all readings."
	case j.PHealthy >= first.Marginal:
		switch Probability(j.PHealthy) {
		case "almost certain":
			return "Nothing wrong. All stands where it should today."
		case "likely":
			return "Likely nothing wrong."
		case "about even":
			if first.Marginal >= 0.15 {
				return "About even: nothing wrong, or " + Fault(first.Code).Noun + "."
			}
			return "Nothing clearly wrong."
		}
		return "Not clear yet. One more reading is needed."
	}
	name := Fault(first.Code).Name
	switch Probability(first.Marginal) {
	case "almost certain":
		if Probability(second.Marginal) == "almost certain" || Probability(second.Marginal) == "likely" {
			return name + ". " + UpperFirst(Fault(second.Code).Noun) + " is there as well."
		}
		return name + ". " + Fault(first.Code).Act
	case "likely":
		out := "Likely " + LowerFirst(name) + "."
		switch Probability(second.Marginal) {
		case "almost certain", "likely":
			return out + " " + UpperFirst(Fault(second.Code).Noun) + " is likely there as well."
		case "about even", "possible":
			return out + " " + UpperFirst(Fault(second.Code).Noun) + " looks almost the same."
		}
		return out
	case "about even":
		if second.Marginal >= 0.15 {
			return "About even: " + Fault(first.Code).Noun + " or " + Fault(second.Code).Noun + "."
		}
		if j.PHealthy >= 0.15 {
			return "About even: " + Fault(first.Code).Noun + ", or nothing wrong."
		}
		return "Perhaps " + LowerFirst(name) + ". Not sure yet."
	}
	if second.Marginal >= 0.05 {
		return "Not clear yet. First suspects: " + Fault(first.Code).Noun + " and " + Fault(second.Code).Noun + "."
	}
	return "Not clear yet. One more reading is needed."
}

// UpperFirst begins with a capital.
func UpperFirst(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[0])) + string(r[1:])
}

func reason(j Judged, d units.Display) string {
	var off []string
	for _, g := range j.Off {
		by, way := g.By, "over"
		if by < 0 {
			by, way = -by, "under"
		}
		n := d.DiffNumber(by, 0)
		if n == "0" {
			continue
		}
		name, _, _ := strings.Cut(At(g.At), ", ")
		switch len(off) {
		case 0:
			off = append(off, name+" stands "+n+" "+d.DiffUnit()+" "+way+" where this machine should be today.")
		case 1, 2:
			off = append(off, name+" is "+n+" "+way+".")
		}
	}
	switch {
	case j.Readings < 2:
		return "Read suction and head first, then the box and the outside air."
	case len(off) > 0:
		return strings.Join(off, " ")
	case j.PHealthy >= 0.7:
		return "Every reading stands inside its band at today's box and outside temperature."
	}
	return "No reading stands outside its band alone; it is how they stand together that speaks."
}

// NextWords are the words for the reading to take next.
type NextWords struct {
	Title    string // "Clamp both sides of the drier"
	Sentence string // what it decides
	Why      string // why that is so
	Minutes  int
}

type next struct{ title, why string }

var nexts = map[string]next{
	"suction_pressure":   {"Read suction", "Without it nothing says how cold the coil boils."},
	"coil_pressure":      {"Read suction at the coil too", "A drop between coil and compressor shows only when both ends are read."},
	"discharge_pressure": {"Read head", "Without it nothing says how the condenser does."},
	"liquid_pressure":    {"Read pressure after the drier", "Liquid forced through something plugged loses pressure there."},
	"standing_pressure": {
		"Stop it and read standing pressure",
		"At rest, pressure and temperature belong together for each refrigerant. If they do not match, something else is inside.",
	},
	"box_air": {"Read the air entering the coil", "Every other reading is counted from it."},
	"coil_air_off": {
		"Read the air leaving the coil",
		"Little air through the coil leaves it colder; little refrigerant leaves it warmer.",
	},
	"box_display": {"Read the box's own thermometer", "It costs nothing and shows if people were misled."},
	"ambient":     {"Read the air entering the condenser", "Head is counted from it."},
	"condenser_face_air": {
		"Read the air right at the condenser",
		"If it is warmer than the air farther out, the unit breathes its own heat.",
	},
	"condenser_air_off": {"Read the air leaving the condenser", "Little air comes out hot; enough air comes out warm."},
	"coil_outlet_line":  {"Clamp the coil outlet", "How warm the gas leaves the coil shows how much of the coil is fed."},
	"suction_line": {
		"Clamp the suction line at the compressor",
		"Cold there means liquid comes back; warm means the coil is starved.",
	},
	"discharge_line": {"Clamp the discharge line", "A compressor that leaks inside runs hot; one that gets liquid runs cool."},
	"liquid_line": {
		"Clamp the liquid line",
		"How far the liquid is below its boiling point shows how much of it stands in the condenser.",
	},
	"drier_in": {
		"Clamp both sides of the drier",
		"Liquid forced through a plugged drier loses pressure, boils a little and comes out colder. Short of refrigerant, it comes out " +
			"nearly as warm as it went in.",
	},
	"drier_out": {
		"Clamp both sides of the drier",
		"Liquid forced through a plugged drier loses pressure, boils a little and comes out colder. Short of refrigerant, it comes out " +
			"nearly as warm as it went in.",
	},
	"amps":                {"Read the compressor's current", "A compressor that moves little draws little."},
	"power":               {"Read the compressor's power", "A compressor that moves little draws little."},
	"glass":               {"Look at the sight glass", "Bubbles mean that what reaches the valve is not all liquid."},
	"condenser_dirt":      {"Look through the condenser", "Dirt in the fins takes its air and raises head."},
	"coil_ice":            {"Look behind the coil", "Ice hides on the side you do not see, and takes the coil's air."},
	"coil_fans":           {"Count the coil fans", "A stopped fan looks like ice from the gauges."},
	"condenser_fans":      {"Count the condenser fans", "A stopped fan looks like dirt from the gauges."},
	"receiver_level":      {"Find the receiver's level", "An empty receiver means the reserve is gone."},
	"oil_marks":           {"Look for oil marks", "Oil goes out where refrigerant goes out."},
	"frost_on_compressor": {"Look for frost on the compressor", "Frost on the body means liquid comes back."},
	"door":                {"Watch the door", "Keep it shut for a quarter of an hour before you read."},
	"bypass_frost":        {"Feel the bypass", "It shows whether the head control passes anything now."},
}

// Next returns the words for the reading to take next. between are the codes of the suspects it separates, most likely first.
func Next(at string, between []string) NextWords {
	n, ok := nexts[at]
	if !ok {
		n = next{"Read " + LowerFirst(Label(at)), ""}
	}
	out := NextWords{Title: n.title, Why: n.why, Minutes: Minutes(at), Sentence: "It tells more than any other reading now."}
	if len(between) >= 2 {
		out.Sentence = "It tells " + Fault(between[0]).Noun + " from " + Fault(between[1]).Noun + "."
	}
	return out
}

// Minutes is what a reading or a look costs in time; common practice, no source.
func Minutes(at string) int {
	for p, w := range places {
		if p.String() == at {
			return w.Minutes
		}
	}
	return seen[at].Minutes
}
