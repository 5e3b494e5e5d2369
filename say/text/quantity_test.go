package text_test

import (
	"slices"
	"strings"
	"testing"

	"coldwright/machine/boxload"
	"coldwright/machine/charge"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
)

func sayCodes() []string {
	return slices.Concat(boxload.FindingCodes(), boxload.OutcomeWords(), charge.FindingCodes(), charge.MethodWords(), charge.AdviceWords())
}

func wordCodes() []string {
	var out []string
	for _, k := range boxload.Kinds() {
		out = append(out, k.String())
	}
	return append(out, charge.KindWords()...)
}

// Every code of a load or charge has words in English and Spanish, no code shows through, and no words are left without a code.
func TestSay_EveryCodeInBothLanguages(t *testing.T) {
	args := map[string]float64{}
	for _, k := range []string{"share", "left_kg_day", "hours", "room_k", "water_kg_day"} {
		args[k] = 0.5
	}
	for _, code := range sayCodes() {
		en := text.Say(text.English, reading.Finding{Code: code, Args: args}, units.US(), units.Atm)
		es := text.Say(text.Spanish, reading.Finding{Code: code, Args: args}, units.Metric(), units.Atm)
		if en == es {
			t.Errorf("%s has no Spanish of its own", code)
		}
		for _, s := range []string{en, es} {
			if bad := wellSaid(s); bad != "" || strings.ContainsAny(s, "{}") {
				t.Errorf("%s: %q: %s", code, s, bad)
			}
		}
	}
	for _, code := range wordCodes() {
		if en, es := text.Word(text.English, code), text.Word(text.Spanish, code); en == es || wellSaid(en) != "" || wellSaid(es) != "" {
			t.Errorf("%s: %q, %q", code, en, es)
		}
	}
	for _, code := range text.SayCodes() {
		if !slices.Contains(sayCodes(), code) {
			t.Errorf("words for %s, which nobody says", code)
		}
	}
	for _, code := range text.WordCodes() {
		if !slices.Contains(wordCodes(), code) {
			t.Errorf("a word for %s, which nobody says", code)
		}
	}
}

func TestParseLanguage(t *testing.T) {
	for s, want := range map[string]text.Language{"": text.English, "en": text.English, "es": text.Spanish} {
		if got, err := text.ParseLanguage(s); err != nil || got != want {
			t.Errorf("%q: %v %v", s, got, err)
		}
	}
	if _, err := text.ParseLanguage("xx"); err == nil {
		t.Error("xx is a language")
	}
	if s := text.Say(
		text.Spanish,
		reading.Finding{Code: reading.TooEarly, Args: map[string]float64{"running_min": 5}},
		units.US(),
		units.Atm,
	); !strings.Contains(s, "5 minutos") {
		t.Errorf("a finding in Spanish: %q", s)
	}
	if text.Word(text.English, "brand_new") != "Brand new" {
		t.Errorf("a code without a word: %q", text.Word(text.English, "brand_new"))
	}
}
