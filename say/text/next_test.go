package text

import (
	"strings"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
)

func TestNextWords(t *testing.T) {
	for _, c := range diagnose.RiskCodes() {
		if Risk(c) == "" {
			t.Errorf("no words for the risk %s", c)
		}
	}
	for _, k := range verdict.StepKinds() {
		if (Advice(verdict.Step{Kind: k}) == "") != (k == verdict.Read) {
			t.Errorf("step %s: %q", k, Advice(verdict.Step{Kind: k}))
		}
	}
	got := Answers(diagnose.Next{At: "discharge_line", Answers: []diagnose.Answer{
		{
			Low:         300,
			High:        350,
			First:       "low_charge",
			Sure:        0.7,
			Probability: 0.5,
		},
		{Low: 350, High: 400, First: "compressor_valves", Sure: 0.8, Probability: 0.5},
	}}, units.Metric(), 101325)
	if len(got) != 2 || !strings.HasPrefix(got[0], "Below 77 °C: ") || !strings.HasSuffix(got[0], "70 in 100.") ||
		!strings.HasPrefix(got[1], "Above 77 °C: ") {
		t.Errorf("%q", got)
	}
	got = Answers(
		diagnose.Next{At: "glass", Answers: []diagnose.Answer{{Word: "bubbling", First: "low_charge", Sure: 0.95, Probability: 0.5}}},
		units.US(),
		101325,
	)
	if len(got) != 1 || !strings.Contains(got[0], "95 in 100") {
		t.Errorf("%q", got)
	}
	if s := MissingShare(
		&diagnose.Missing{Low: 0.3, Mid: 0.44, High: 0.6, Reserve: 0.35, Probability: 0.8},
	); !strings.Contains(s, "about 45 %") || !strings.Contains(s, "30 to 60 %") ||
		!strings.Contains(s, "reserve") {
		t.Error(s)
	}
	if MissingShare(&diagnose.Missing{Mid: 0.5, Probability: 0.01}) != "" || MissingShare(nil) != "" || Together(nil) != "" {
		t.Error("words for what is not there")
	}
}

// Every instrument that can lie has its proof in both languages; where none is doubted nothing is said.
func TestProof(t *testing.T) {
	for _, c := range []fault.Code{fault.BoxThermometer, fault.SuctionGauge, fault.DischargeGauge} {
		a := verdict.Step{Instrument: c}
		en, es := Proof(a, English), Proof(a, Spanish)
		if en == "" || es == "" || en == es {
			t.Errorf("%s: %q, %q", c, en, es)
		}
	}
	if s := Proof(verdict.Step{}, English) + Proof(verdict.Step{}, Spanish); s != "" {
		t.Error(s)
	}
}

// A second cause is named with its figure and with what decides it, or with what hands and eyes check; in both
// languages, and no place is left unfilled.
func TestAlso(t *testing.T) {
	for _, at := range []string{"", "coil_outlet_line", "coil_ice"} {
		a := verdict.Step{Kind: verdict.Act, Also: &diagnose.Also{Fault: fault.CoilAir, Probability: 0.31, At: at}}
		for l, want := range map[Language][2]string{
			English: {"a coil short of air", "31 in 100"},
			Spanish: {Fault("coil_air", Spanish).Noun, "31 de 100"},
		} {
			s := Also(a, l)
			what := Fault("coil_air", l).Check
			if at != "" {
				what = LowerFirst(Label(at, l))
			}
			if !strings.Contains(s, want[0]) || !strings.Contains(s, want[1]) || !strings.Contains(s, what) ||
				strings.ContainsAny(s, "{}") {
				t.Errorf("%s, %q: %s", l, at, s)
			}
		}
		if s := Advice(a); (at == "") != (s == "No reading left would change what to do.") {
			t.Errorf("%q: %s", at, s)
		}
	}
	if s := Also(verdict.Step{}, English); s != "" {
		t.Error(s)
	}
}

// A room above what the machine carries is said in both languages, more carefully where the measurement is not sure; a smaller one is not.
func TestRoomTooMuch(t *testing.T) {
	for _, l := range Languages() {
		sure, unsure := RoomTooMuch(&reading.RoomLoad{Share: 1.32, U: 0.1}, l), RoomTooMuch(&reading.RoomLoad{Share: 1.08, U: 0.2}, l)
		if !strings.Contains(sure, " 30 %") || !strings.Contains(unsure, " 10 %") || sure == unsure {
			t.Errorf("%s: %q, %q", l, sure, unsure)
		}
		if s := RoomTooMuch(nil, l) + RoomTooMuch(&reading.RoomLoad{Share: 1.02, U: 0.01}, l); s != "" {
			t.Error(s)
		}
	}
}
