package text_test

import (
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"coldwright/diagnose"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// contractFaults are the fault codes that outside programs rely on.
var contractFaults = []string{
	"low_charge",
	"over_charge",
	"condenser_air",
	"condenser_recirculation",
	"coil_air",
	"restriction_before_glass",
	"restriction_after_glass",
	"valve_underfeeding",
	"valve_overfeeding",
	"compressor_valves",
	"noncondensables",
	"suction_restriction",
	"head_control_low",
	"head_control_high",
	"excess_load",
	"composition_shift",
	"wrong_refrigerant",
	"box_thermometer",
	"suction_gauge",
	"discharge_gauge",
	"defrost_heater_on",
	"healthy",
	"none_of_these",
}

// wellSaid reports what breaks the house rules for words.
func wellSaid(s string) string {
	switch {
	case strings.TrimSpace(s) == "":
		return "empty"
	case strings.Contains(s, "!"):
		return "exclamation mark"
	case regexp.MustCompile(`(^|[ (])-\d`).MatchString(s):
		return "hyphen for a minus sign"
	case strings.Contains(s, "_"):
		return "a code shows through"
	case strings.Contains(s, "NaN"), strings.Contains(s, "%!"):
		return "broken number"
	case regexp.MustCompile(`(?i)\bAI\b|\bsmart\b|confidence`).MatchString(s):
		return "forbidden word"
	case strings.Contains(s, "  "), strings.Contains(s, " ."):
		return "stray space"
	case !utf8.ValidString(s):
		return "not UTF-8"
	}
	return ""
}

func TestFault_EveryContractCodeHasAllWords(t *testing.T) {
	if got := text.FaultCodes(); len(got) != len(contractFaults) {
		t.Errorf("words for %d codes, contract has %d", len(got), len(contractFaults))
	}
	for _, c := range fault.Singles() {
		if !slices.Contains(contractFaults, c.String()) {
			t.Errorf("%s is not in the contract's list", c)
		}
		if text.Fault(c.String()).Severity == "" {
			t.Errorf("%s has no words for its severity", c)
		}
	}
	secret := regexp.MustCompile(`(?i)superheat|subcool|saturat|\bTD\b|suction|discharge pressure`)
	for _, code := range contractFaults {
		w := text.Fault(code)
		if strings.EqualFold(w.Name, strings.ReplaceAll(code, "_", " ")) && w.Check == "" {
			t.Errorf("%s has no words", code)
		}
		for part, s := range map[string]string{
			"name": w.Name, "short": w.Short, "customer": w.Customer, "check": w.Check, "noun": w.Noun,
			"act": w.Act,
		} {
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%s, %s: %s: %q", code, part, bad, s)
			}
		}
		if m := secret.FindString(w.Customer); m != "" {
			t.Errorf("%s tells the customer %q", code, m)
		}
	}
}

func TestFault_Pair(t *testing.T) {
	w := text.Fault("condenser_air+low_charge")
	if want := "Condenser dirty or short of air and short of refrigerant"; w.Name != want {
		t.Errorf("got %q, want %q", w.Name, want)
	}
	if !strings.Contains(w.Act, "leak") || !strings.Contains(w.Act, "Clean") {
		t.Errorf("a pair asks for both acts, got %q", w.Act)
	}
}

func TestFindings_EveryCodeHasASentence(t *testing.T) {
	var codes []string
	codes = append(codes, reading.FindingCodes()...)
	codes = append(codes, circuit.FindingCodes()...)
	codes = append(codes, diagnose.WarningCodes()...)
	have := text.FindingCodes()
	args := map[string]float64{
		"difference_k":      -3.2,
		"display_k":         276,
		"probe_k":           279.3,
		"suction_pa":        4e6,
		"discharge_pa":      2e6,
		"value":             1,
		"running_min":       4,
		"since_defrost_min": 3,
		"times":             2,
		"superheat_k":       -4,
		"u_k":               1,
		"pressure_pa":       5e6,
		"min_pa":            2e4,
		"max_pa":            4e6,
		"line_k":            385,
		"ratio":             14.2,
		"readings":          3,
	}
	for _, code := range codes {
		if !slices.Contains(have, code) {
			t.Errorf("no sentence for %s", code)
		}
	}
	for _, code := range have {
		for _, d := range []units.Display{units.US(), units.Metric()} {
			f := reading.Finding{Code: code, Args: args, At: []string{"suction_pressure", "coil_outlet_line"}}
			s := text.Finding(f, d, units.Atm)
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%s: %s: %q", code, bad, s)
			}
			if d.Temp == "°C" && strings.Contains(s, "°F") || d.Temp == "°F" && strings.Contains(s, "°C") {
				t.Errorf("%s in the wrong unit: %q", code, s)
			}
			if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
				t.Errorf("%s is not a sentence: %q", code, s)
			}
		}
	}
	// 4 K is 7.2 °F, shown in whole degrees.
	f := reading.Finding{Code: circuit.NegativeSuperheat, Args: map[string]float64{"superheat_k": -4}}
	if s := text.Finding(f, units.US(), units.Atm); !strings.Contains(s, "7 °F below zero") {
		t.Errorf("got %q", s)
	}
	if s := text.Finding(
		reading.Finding{Code: "brand_new_code", At: []string{"box_air"}},
		units.US(),
		units.Atm,
	); !strings.Contains(s, "Brand new code") {
		t.Errorf("an unknown code must still show: %q", s)
	}
}

// Limits: the house rules for probability words.
func TestProbability(t *testing.T) {
	for _, c := range []struct {
		p             float64
		word, hundred string
	}{
		{1, "almost certain", "over 99"},
		{0.95, "almost certain", "95"},
		{0.9449, "likely", "94"},
		{0.70, "likely", "70"},
		{0.694, "more likely than not", "69"},
		{0.606, "more likely than not", "61"},
		{0.604, "about even", "60"},
		{0.40, "about even", "40"},
		{0.394, "possible", "39"},
		{0.15, "possible", "15"},
		{0.144, "unlikely", "14"},
		{0.05, "unlikely", "5"},
		{0.044, "very unlikely", "4"},
		{0.01, "very unlikely", "1"},
		{0.0099, "very unlikely", "under 1"},
		{0, "very unlikely", "under 1"},
	} {
		if got := text.Probability(c.p); got != c.word {
			t.Errorf("Probability(%v) = %q, want %q", c.p, got, c.word)
		}
		if got := text.Hundred(c.p); got != c.hundred {
			t.Errorf("Hundred(%v) = %q, want %q", c.p, got, c.hundred)
		}
	}
	if verdict.RuledOut(0.011) || !verdict.RuledOut(0.009) {
		t.Error("ruled out is said only under 1 in 100")
	}
}

func TestWhyNext_EveryCode(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range diagnose.WhyCodes() {
		w := text.WhyNext(c)
		if bad := wellSaid(w); bad != "" || seen[w] {
			t.Errorf("%s: %s: %q", c, bad, w)
		}
		seen[w] = true
	}
}

func answer(c fault.Code, p float64) verdict.Answer { return verdict.Answer{Code: c, Probability: p} }

func gap(at string, by units.TempDiff) verdict.Gap { return verdict.Gap{At: at, By: by} }

func code(t *testing.T, s string) fault.Code {
	t.Helper()
	c, err := fault.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestHeadline(t *testing.T) {
	f := units.FahrenheitDiff
	for _, c := range []struct {
		name     string
		j        verdict.Facts
		h1, para string
	}{
		{
			"likely, with a rival",
			verdict.Facts{Readings: 8, Suspects: []verdict.Answer{
				answer(fault.LowCharge, 0.79),
				answer(fault.RestrictionBeforeGlass, 0.16),
				answer(fault.ValveUnderfeeding, 0.09),
			}, Off: []verdict.Gap{gap("suction_pressure", f(-10.8)), gap("discharge_pressure", f(-8.1))}},
			"Likely short of refrigerant. A plugged drier looks almost the same.",
			"Suction stands 11 °F under where this machine should be today. Head is 8 under.",
		},
		{
			"certain",
			verdict.Facts{
				Readings: 10,
				Suspects: []verdict.Answer{answer(fault.LowCharge, 0.96), answer(fault.ValveUnderfeeding, 0.06)},
				Off:      []verdict.Gap{gap("superheat_k", f(14))},
			},
			"Short of refrigerant. Find the leak before you add any.",
			"Superheat stands 14 °F over where this machine should be today.",
		},
		{
			"a pair",
			verdict.Facts{
				Readings: 10,
				Suspects: []verdict.Answer{answer(fault.LowCharge, 0.97), answer(fault.CondenserAir, 0.9)},
				Off:      []verdict.Gap{gap("split_k", f(9))},
			},
			"Short of refrigerant. A dirty condenser is there as well.",
			"Split stands 9 °F over where this machine should be today.",
		},
		{
			"healthy",
			verdict.Facts{Readings: 9, PHealthy: 0.97, Suspects: []verdict.Answer{answer(fault.LowCharge, 0.01)}},
			"Nothing wrong. All stands where it should today.",
			"Every reading stands inside its band at today's box and outside temperature.",
		},
		{
			"none fits",
			verdict.Facts{
				Readings: 9,
				PNone:    0.8,
				Suspects: []verdict.Answer{answer(fault.LowCharge, 0.1)},
				Off:      []verdict.Gap{gap("suction_pressure", f(20))},
			},
			"No single cause explains all readings.",
			"Suction stands 20 °F over where this machine should be today.",
		},
		{
			"two to one is not even",
			verdict.Facts{Readings: 5, Suspects: []verdict.Answer{answer(fault.CoilAir, 0.67), answer(fault.LowCharge, 0.33)}},
			"More likely a coil short of air than a shortage of refrigerant. Not sure yet.",
			"No reading stands outside its band alone; it is how they stand together that speaks.",
		},
		{
			"healthy, with a reading outside",
			verdict.Facts{Readings: 9, PHealthy: 0.97, Off: []verdict.Gap{gap("suction_pressure", f(4))}},
			"Nothing wrong.",
			"Suction stands 4 °F over where this machine should be today.",
		},
		{
			"even",
			verdict.Facts{Readings: 5, Suspects: []verdict.Answer{answer(fault.CoilAir, 0.45), answer(fault.LowCharge, 0.41)}},
			"About even: a coil short of air or a shortage of refrigerant.",
			"No reading stands outside its band alone; it is how they stand together that speaks.",
		},
		{
			"current alone outside its band",
			verdict.Facts{Readings: 5, PHealthy: 0.5, Suspects: []verdict.Answer{answer(fault.LowCharge, 0.2)}, Off: []verdict.Gap{
				{At: "amps", Share: -0.31}, {At: "heater_amps", Share: 0.8},
			}},
			"Nothing clearly wrong.",
			"Amps stands 31 % of full under what this machine should draw today. The defrost heater draws current while the machine cools.",
		},
		{"too little", verdict.Facts{Readings: 1}, "Too little read to judge.", "Read suction and head first, then the box and the outside air."},
	} {
		h1, para := text.Headline(verdict.Form(c.j), units.US())
		if h1 != c.h1 {
			t.Errorf("%s: got %q, want %q", c.name, h1, c.h1)
		}
		if para != c.para {
			t.Errorf("%s: got %q, want %q", c.name, para, c.para)
		}
	}
	// Whatever comes in, something well said comes out.
	for _, p := range []float64{0, 0.02, 0.1, 0.3, 0.5, 0.8, 0.99} {
		for _, q := range []float64{0, 0.1, 0.3, 0.8} {
			for _, a := range contractFaults[:20] {
				h1, para := text.Headline(
					verdict.Form(verdict.Facts{
						Readings: 6,
						PHealthy: 1 - p,
						Suspects: []verdict.Answer{answer(code(t, a), p), answer(fault.LowCharge, q)},
					}),
					units.Metric(),
				)
				if wellSaid(h1) != "" || wellSaid(para) != "" {
					t.Fatalf("%s %v %v: %q / %q", a, p, q, h1, para)
				}
			}
		}
	}
}

func TestPlacesAndSeen_EveryKeyHasWords(t *testing.T) {
	for _, p := range reading.Places() {
		w := text.Place(p)
		for _, s := range []string{w.Name, w.Label, w.Hint, w.For} {
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%v: %s: %q", p, bad, s)
			}
		}
		if w.Minutes < 1 || len([]rune(w.Name)) > 14 {
			t.Errorf("%v: minutes %d, name %q", p, w.Minutes, w.Name)
		}
		n := text.Next(p.String(), []string{"low_charge", "condenser_air"})
		if n.Why == "" || wellSaid(n.Sentence) != "" {
			t.Errorf("%v: no words for it as the next reading: %+v", p, n)
		}
	}
	for _, key := range reading.SeenKeys() {
		w := text.Seen(key)
		if len(w.Answers) < 2 || wellSaid(w.Label) != "" || wellSaid(w.Hint) != "" || wellSaid(w.For) != "" {
			t.Errorf("%s: %+v", key, w)
		}
		for _, a := range w.Answers {
			var s reading.Seen
			if err := s.Set(key, a.Value); err != nil {
				t.Errorf("%s: answer %q is not accepted: %v", key, a.Value, err)
			}
		}
		if n := text.Next(key, nil); n.Why == "" || wellSaid(n.Sentence) != "" {
			t.Errorf("%s: %+v", key, n)
		}
	}
	for _, i := range reading.Instruments() {
		if text.Instrument(i) == "Not said" {
			t.Errorf("no words for %v", i)
		}
	}
	for _, k := range []string{
		circuit.Superheat, circuit.SuctionSuperheat, circuit.Subcooling, circuit.TD, circuit.Split, circuit.CompressionRatio,
		circuit.DischargeSuperheat, circuit.CoilAirDrop, circuit.CondenserAirRise, circuit.DrierDrop,
	} {
		if !slices.Contains(text.DerivedKeys(), k) {
			t.Errorf("no name for %s", k)
		}
	}
	for _, list := range [][]string{reading.ApplicationWords(), reading.ExpansionWords(), reading.HeadControlWords()} {
		for _, w := range list {
			for _, f := range []func(string, ...text.Language) string{text.Application, text.Expansion, text.HeadControl} {
				if wellSaid(f(w)) != "" {
					t.Errorf("%q", w)
				}
			}
		}
	}
}

func TestCautions(t *testing.T) {
	codes := func(step string, d text.Danger) string {
		var out []string
		for _, c := range text.Cautions(step, d) {
			out = append(out, c.Code)
			if bad := wellSaid(c.Text); bad != "" {
				t.Errorf("%s: %s: %q", c.Code, bad, c.Text)
			}
			if n := strings.Count(c.Text, ". ") + 1; n > 4 {
				t.Errorf("%s has %d sentences", c.Code, n)
			}
		}
		return strings.Join(out, " ")
	}
	for _, c := range []struct {
		step string
		d    text.Danger
		want string
	}{
		{"connect", text.Danger{Refrigerant: "R-448A", Safety: "A1"}, "gauges"},
		{"connect", text.Danger{Refrigerant: "R-290", Safety: "A3"}, "flammable gauges"},
		{"repair", text.Danger{Refrigerant: "R-454C", Safety: "A2L"}, "flammable open braze air"},
		{"connect", text.Danger{Refrigerant: "R-744", Safety: "A1"}, "carbon_dioxide gauges"},
		{"look", text.Danger{Safety: "A1", Application: reading.WalkInFreezer}, "electrical shut_in"},
		{"look", text.Danger{Safety: "A1", Application: reading.PrepTable}, "electrical"},
		{"tight", text.Danger{Safety: "A1"}, "nitrogen"},
		{"dry", text.Danger{Safety: "A1"}, "evacuate"},
		{"arrive", text.Danger{}, "food"},
		{"judge", text.Danger{Safety: "A3"}, ""},
	} {
		if got := codes(c.step, c.d); got != c.want {
			t.Errorf("%s, %+v: got %q, want %q", c.step, c.d, got, c.want)
		}
	}
	for _, s := range text.Steps() {
		if !slices.Contains(text.CautionSteps(), s.Key) {
			t.Errorf("step %s is not known to the cautions", s.Key)
		}
	}
	if len(text.Steps()) != 11 {
		t.Errorf("a visit has eleven steps, got %d", len(text.Steps()))
	}
}

// The comparison of two pull-downs is said with its interval in every language, and not as a fact where it is none.
func TestFaster(t *testing.T) {
	c := pulldown.Comparison{Faster: pulldown.Interval{Low: 1.4, Mid: 2.1, High: 3}, From: units.Fahrenheit(5), To: units.Fahrenheit(2)}
	open := c
	open.Faster.Low = 0.8
	for l, want := range map[text.Language]string{
		text.English: "falls 2.1 times as fast as before it, 1.4 to 3.0, at the same temperatures (5 °F to 2 °F)",
		text.Spanish: "baja 2.1 veces tan rápido como antes, de 1.4 a 3.0, a las mismas temperaturas (de 5 °F a 2 °F)",
	} {
		if s := text.Faster(&c, units.US(), l); !strings.Contains(s, want) {
			t.Errorf("%v: %q", l, s)
		}
		if s := text.Faster(&open, units.US(), l); strings.Contains(s, want) || !strings.Contains(s, "0.8") {
			t.Errorf("%v, not sure: %q", l, s)
		}
	}
	if s := text.Faster(nil, units.US(), text.English); s != "" {
		t.Errorf("without another pull-down: %q", s)
	}
}

func TestPullDown(t *testing.T) {
	for _, v := range []string{"too_short", "reached", "falling", "undecided", "slow", "stalled", "warming"} {
		w := text.PullDownVerdict(v)
		if n := len(strings.Fields(w)); n > 3 || w == "Not judged" {
			t.Errorf("%s: %q", v, w)
		}
		s := text.PullDown(
			text.PullFacts{
				Verdict:        v,
				Minutes:        24,
				Box:            units.Fahrenheit(37.5),
				SetPoint:       units.Fahrenheit(36),
				RatePerHour:    units.FahrenheitDiff(-6.7),
				PReaches6h:     0.98,
				Soon:           8,
				Mid:            45,
				DecidesAt:      39,
				HaveProjection: true,
			},
			units.US(),
		)
		if bad := wellSaid(s); bad != "" {
			t.Errorf("%s: %s: %q", v, bad, s)
		}
		if v == "falling" && s != "At 36 °F in about 45 more minutes; 8 at the soonest. 98 in 100 within 6 hours." {
			t.Errorf("%q", s)
		}
	}
}

// When a box will be cold is said on the clock of its place, with the day where it is another one, or in minutes.
func TestComing(t *testing.T) {
	c := verdict.Coming{SetPoint: units.Fahrenheit(36), Minutes: pulldown.Interval{Low: 20, Mid: 45, High: 200}}
	last := time.Date(2026, 7, 1, 15, 10, 0, 0, time.UTC)
	tomorrow := text.DayMonthClock(last.Add(680*time.Minute), text.English)
	for _, x := range []struct {
		l    text.Language
		last time.Time
		late bool
		want string
	}{
		{text.English, last, false, "Readings in band; box not yet cold; will be at 36 °F by 15:55 (between 15:30 and 18:30)."},
		{text.Spanish, last, false, "estará a 36 °F hacia las 15:55 (entre 15:30 y 18:30)."},
		{text.French, last, false, "elle sera à 36 °F vers 15:55 (entre 15:30 et 18:30)."},
		{text.English, last, true, "by 15:55 (15:30 at the soonest; how late it may be these readings cannot show)."},
		{text.English, time.Time{}, false, "in about 45 more minutes (between 20 and 200)."},
		{text.English, last.Add(8 * time.Hour), false, "by 23:55 (between 23:30 and " + tomorrow + ")."},
	} {
		c.Late = x.late
		if got := text.Coming(&c, x.last, units.US(), x.l); !strings.HasSuffix(got, x.want) {
			t.Errorf("%s: %q, want %q", x.l, got, x.want)
		}
	}
	if got := text.Coming(nil, last, units.US(), text.English); got != "" {
		t.Errorf("nothing known: %q", got)
	}
}

func TestSeverity(t *testing.T) {
	for _, c := range []struct {
		code           string
		low, mid, high float64
		unit           string
		d              units.Display
		want           string
	}{
		{"low_charge", 0.11, 0.19, 0.32, "share", units.US(), "About 19 % (11 to 32) less than it needs to feed the coil."},
		{"condenser_recirculation", 2, 5, 8, "K", units.US(), "About 9 °F (4 to 14) above outside air at the face."},
		{"condenser_recirculation", 2, 5, 8, "K", units.Metric(), "About 5 K (2 to 8) above outside air at the face."},
		{"noncondensables", 0.5, 1, 1.5, "bar", units.US(), "About 15 psi (7 to 22) of extra head pressure."},
		{"healthy", 0, 0, 0, "", units.US(), ""},
	} {
		if got := text.Severity(c.code, c.low, c.mid, c.high, c.unit, c.d); got != c.want {
			t.Errorf("%s: got %q, want %q", c.code, got, c.want)
		}
	}
}

func TestAssumed_EveryField(t *testing.T) {
	_, as := reading.Machine{Refrigerant: "R-134a", HeadControl: reading.Flooding}.Resolve()
	if len(as) < 8 {
		t.Fatalf("only %d values assumed for a bare machine", len(as))
	}
	for _, a := range as {
		for _, d := range []units.Display{units.US(), units.Metric()} {
			if s := text.Assumed(a, d); wellSaid(s) != "" || strings.Contains(s, ".") {
				t.Errorf("%s: %q", a.Field, s)
			}
		}
	}
	if got := text.Assumed(reading.Assumed{Field: "design.td", Value: 5.0, Unit: "K"}, units.US()); got != "TD 9 °F" {
		t.Errorf("5 K is 9 °F, got %q", got)
	}
}

// Every language of the diagram has every word, and its notes name what is missing.
func TestDiagram_Whole(t *testing.T) {
	for _, lang := range text.Languages() {
		w := text.Diagram(lang)
		v := reflect.ValueOf(w)
		for i := range v.NumField() {
			if f := v.Field(i); f.Kind() == reflect.String && f.String() == "" {
				t.Errorf("%s lacks %s", lang, v.Type().Field(i).Name)
			}
		}
		for _, c := range circuit.Corners() {
			if w.Corner(c) == "" {
				t.Errorf("%s has no word for %v", lang, c)
			}
		}
		var c circuit.Cycle
		for _, p := range []reading.Place{
			reading.SuctionPressure, reading.CoilPressure, reading.DischargePressure, reading.LiquidPressure,
			reading.CoilOutletLine, reading.SuctionLine, reading.DischargeLine, reading.LiquidLine,
		} {
			for _, why := range []circuit.GapReason{circuit.NotRead, circuit.OutsideData, circuit.WrongSide} {
				c.Gaps = append(c.Gaps, circuit.Gap{At: circuit.CoilIn, Why: why, Need: p})
			}
		}
		for _, at := range circuit.Corners() {
			c.States = append(c.States, circuit.State{At: at, Saturated: true})
		}
		notes := w.Notes(c)
		if len(notes) != 1+16+5 {
			t.Errorf("%s: %d notes", lang, len(notes))
		}
		for _, n := range notes {
			if strings.HasPrefix(n, ":") || strings.Contains(n, "%") || strings.Contains(n, ", ,") || !strings.HasSuffix(n, ".") {
				t.Errorf("%s: %q", lang, n)
			}
		}
	}
	// One sentence for one missing reading, though it takes two corners away.
	got := text.Diagram("").
		Notes(circuit.Cycle{Gaps: []circuit.Gap{
			{At: circuit.LiquidOut, Why: circuit.NotRead, Need: reading.LiquidLine},
			{At: circuit.CoilIn, Why: circuit.NotRead, Need: reading.LiquidLine},
		}})
	if len(got) != 1 || got[0] != "Not read, so its part is left out: liquid line." {
		t.Errorf("%q", got)
	}
}

// TestSaidFirst_EverySight: each certain thing has its sentence, in every language its own, and stands before all else.
func TestSaidFirst_EverySight(t *testing.T) {
	for _, code := range diagnose.SightCodes() {
		j := verdict.Form(verdict.Facts{PHealthy: 0.9, Readings: 4})
		j.Sights = []verdict.Sight{{Code: code}}
		said := map[string]bool{}
		for _, l := range text.Languages() {
			s := text.SaidFirst(j, l)
			if bad := wellSaid(s); bad != "" || said[s] {
				t.Errorf("%s in %s: %s: %q", code, l, bad, s)
			}
			said[s] = true
		}
		if h1, para := text.Headline(j, units.US()); h1 != text.SaidFirst(j, text.English) || !strings.HasPrefix(para, "By the readings: ") {
			t.Errorf("%s: headline %q, %q", code, h1, para)
		}
	}
}
