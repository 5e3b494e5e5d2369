package text_test

import (
	"strings"
	"testing"

	"coldwright/leak"
	"coldwright/say/text"
)

// Every code of the leak catalogue and of the package has words of its own in both languages.
func TestLeak_EveryCode(t *testing.T) {
	c, err := leak.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	both := func(what, code string, say func(text.Language) string) {
		t.Helper()
		en, es := say(text.English), say(text.Spanish)
		for _, s := range []string{en, es} {
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%s %s: %s: %q", what, code, bad, s)
			}
		}
		if en == es || en == code || en == strings.ReplaceAll(code, "_", " ") {
			t.Errorf("%s %s has no words: %q, %q", what, code, en, es)
		}
	}
	for _, p := range c.Places {
		both("place", p.Key, func(l text.Language) string { return text.LeakPlace(p.Key, l) })
		both("look", p.Key, func(l text.Language) string { return text.LeakLook(p.Key, l) })
	}
	for _, m := range c.Methods {
		both("method", m.Key, func(l text.Language) string { return text.LeakMethod(m.Key, l) })
		for _, code := range m.Cautions {
			both("caution", code, func(l text.Language) string { return text.LeakCaution(code, l) })
		}
	}
	for _, s := range c.Safeguards {
		both("safeguard", s.Code, func(l text.Language) string { return text.LeakSafeguard(s.Code, l) })
	}
	for _, code := range leak.WhyCodes() {
		both("why", code, func(l text.Language) string { return text.LeakWhy(code, l) })
	}
	for _, v := range leak.Verdicts() {
		both("verdict", string(v), func(l text.Language) string { return text.LeakVerdict(v, l) })
	}
	for _, s := range leak.Stages() {
		both("stage", string(s), func(l text.Language) string { return text.LeakStage(s, l) })
	}
	for _, a := range leak.Acts() {
		both("act", "act_"+string(a), func(l text.Language) string { return text.LeakAct(a, l) })
	}
	for _, g := range []leak.Charge{leak.Refrigerant, leak.Nitrogen, leak.Trace} {
		both("charge", "charge_"+string(g), func(l text.Language) string { return text.LeakCharge(string(g), l) })
	}
	if got := text.LeakPlace("liquid line at the wall clamp", text.Spanish); got != "liquid line at the wall clamp" {
		t.Errorf("a person's own words became %q", got)
	}
	if got := text.LeakWhy("brand_new", text.English); !strings.Contains(strings.ToLower(got), "brand new") {
		t.Errorf("an unknown code must still show: %q", got)
	}
}
