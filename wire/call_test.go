package wire

import (
	"errors"
	"strings"
	"testing"

	"coldwright/fail"
)

// What can be read of a call: codes, numbers with their unit, and what is refused, each naming its place.
func TestReadCall(t *testing.T) {
	c, sheet, err := ReadCall([]byte(`{"complaint": "hums_and_trips", "phases": 1, "found": [
		{"check": "start_volts", "answer": "83 %"}, {"check": "windings", "answer": "0.4 Mohm"}, {"check": "drier_drop", "answer": "3 °F"},
		{"check": "count_starts", "answer": "14 /h"}, {"check": "heater_amps_cooling", "answer": "6 A"},
		{"check": "wait_and_retry", "answer": "cannot"}]}`))
	if err != nil || sheet != nil || c.Place.Phases != 1 {
		t.Fatal(c, sheet, err)
	}
	var got []string
	for _, f := range c.Found {
		got = append(got, f.Answer)
	}
	if strings.Join(got, " ") != "found bad found found found cannot" {
		t.Errorf("answers are %v", got)
	}
	for text, field := range map[string]string{
		`{"complaint": "moon"}`:               "complaint",
		`{"complaint": "noisy", "phases": 2}`: "phases",
		`{"complaint": "noisy", "found": [{"check": "moon", "answer": "clear"}]}`:                      "found[0].check",
		`{"complaint": "noisy", "found": [{"check": "hand_on_parts", "answer": "moon"}]}`:              "found[0].answer",
		`{"complaint": "noisy", "found": [{"check": "start_volts", "answer": 93}]}`:                    "found[0].answer",
		`{"complaint": "noisy", "found": [{"check": "start_volts", "answer": "1000 %"}]}`:              "found[0].answer",
		`{"complaint": "noisy", "found": [{"check": "start_volts", "answer": "-3 %"}]}`:                "found[0].answer",
		`{"complaint": "noisy", "repaired": ["moon"]}`:                                                 "repaired[0]",
		`{"complaint": "noisy", "confirmed": {"moon": 1}}`:                                             "confirmed.moon",
		`{"complaint": "noisy", "confirmed": {"loose_part": -1}}`:                                      "confirmed.loose_part",
		`{"complaint": "noisy", "readings": [{"at": "ambient", "value": "10 F"}]}`:                     "machine",
		`{"complaint": "noisy", "machine": {"refrigerant": ""}, "readings": [], "seen": {"glass": 1}}`: "machine.refrigerant",
	} {
		_, _, err := ReadCall([]byte(text))
		var e *fail.Error
		if !errors.As(err, &e) || !strings.Contains(e.Field, field) {
			t.Errorf("%s: %v, want %s", text, err, field)
		}
	}
}

func FuzzReadCall(f *testing.F) {
	f.Add([]byte(`{"complaint": "noisy", "found": [{"check": "hand_on_parts", "answer": "found"}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		if c, _, err := ReadCall(text); err == nil && c.Complaint == "" {
			t.Error("a call without a complaint is taken")
		}
	})
}
