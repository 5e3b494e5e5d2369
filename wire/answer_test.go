package wire

import (
	"bytes"
	"context"
	"encoding/json"
	"testing"

	"coldwright/diagnose"
	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/verdict"
)

type bandOf struct{ Low, Mid, High *float64 }

type answerDoc struct {
	Ranked []struct {
		Fault    string
		Evidence []struct {
			At, Unit  string
			Measured  any
			IfHealthy *bandOf `json:"expected_if_healthy"`
			IfThis    *bandOf `json:"expected_if_this"`
		}
	}
	Advice struct{ Also struct{ Fault string } }
}

// answered reads back what is written.
func answered(t *testing.T, p *diagnose.Posterior, j *verdict.Judgement) (doc answerDoc, text []byte) {
	t.Helper()
	text, err := json.Marshal(Answer(p, j))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	return doc, text
}

// What nobody knows is null, never a number that stands for it: the display beside a probe,
// for which no healthy band is reckoned, and the ends of the one probability of a thing seen. Definition.
func TestAnswer_UnknownIsNull(t *testing.T) {
	s, err := ReadSheet([]byte(`{"machine": {"refrigerant": "R-404A", "application": "walk-in freezer", "receiver": true},
		"readings": [{"at": "box_air", "value": "3 F"}, {"at": "box_display", "value": "2 F"}, {"at": "ambient", "value": "73 F"},
		{"at": "suction_pressure", "value": "12 psig"}, {"at": "discharge_pressure", "value": "203 psig"}], "seen": {"glass": "bubbling"}}`))
	if err != nil {
		t.Fatal(err)
	}
	f := testkit.Fit(t, "R-404A")
	p, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: s, Fit: f}, diagnose.Options{NoPairs: true})
	if err != nil {
		t.Fatal(err)
	}
	doc, text := answered(t, &p, verdict.Of(&p, s))
	if bytes.Contains(text, []byte("-273.15")) {
		t.Error("a temperature of 0 K stands for one that nobody knows")
	}
	seen := map[string]int{}
	for _, r := range doc.Ranked {
		for _, e := range r.Evidence {
			seen[e.At]++
			h, this := e.IfHealthy, e.IfThis
			if h == nil || this == nil {
				t.Fatalf("%s, %s: a band is missing", r.Fault, e.At)
			}
			switch e.At {
			case "box_display":
				if h.Low != nil || h.Mid != nil || h.High != nil || this.Low == nil || this.Mid == nil || this.High == nil {
					t.Errorf("%s, %s: if healthy %+v, if this %+v", r.Fault, e.At, *h, *this)
				}
			case "glass":
				if h.Low != nil || h.High != nil || this.Low != nil || this.High != nil || h.Mid == nil || this.Mid == nil ||
					!(*this.Mid > 0 && *this.Mid <= 1) || e.Measured != "bubbling" || e.Unit != "probability" {
					t.Errorf("%s, %s: if healthy %+v, if this %+v", r.Fault, e.At, *h, *this)
				}
			default:
				if h.Low == nil || h.Mid == nil || h.High == nil || !(*h.Low < *h.Mid && *h.Mid < *h.High) {
					t.Errorf("%s, %s: if healthy %+v", r.Fault, e.At, *h)
				}
			}
		}
	}
	for _, at := range []string{"box_display", "glass", "suction_pressure", "discharge_pressure"} {
		if seen[at] == 0 {
			t.Errorf("%s is no evidence", at)
		}
	}
	var keys map[string]any
	if err := json.Unmarshal(text, &keys); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{
		"ranked", "p_healthy", "p_none_of_these", "lack_of_fit", "next_readings", "derived", "expected_if_healthy",
		"assumed", "warnings", "seed", "verdict",
	} {
		if _, ok := keys[key]; !ok {
			t.Errorf("%q is missing", key)
		}
	}
}

// A measured load of the room is a share, and a second cause stands in the advice.
func TestAnswer_RoomLoadAndAlso(t *testing.T) {
	load := diagnose.Item{At: diagnose.RoomLoad, Measured: 1.35, IfHealthy: diagnose.Band{Low: 0.8, Mid: 1, High: 1.2}}
	p := diagnose.Posterior{
		Ranked: []diagnose.Hypothesis{{Faults: []fault.Code{fault.ExcessLoad}, Evidence: []diagnose.Item{load}}},
		Advice: diagnose.Advice{Also: &diagnose.Also{Fault: fault.LowCharge, Probability: 0.3}},
	}
	doc, text := answered(t, &p, &verdict.Judgement{})
	if !bytes.Contains(text, []byte(`"at":"room_load","unit":"share","measured":1.35,"expected_if_healthy":{"low":0.8,"mid":1,"high":1.2}`)) {
		t.Errorf("%s", text)
	}
	if doc.Advice.Also.Fault != "low_charge" {
		t.Errorf("also %q", doc.Advice.Also.Fault)
	}
}
