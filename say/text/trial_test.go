package text_test

import (
	"slices"
	"strings"
	"testing"

	"coldwright/say/text"
	"coldwright/trial"
)

func TestTrial_EveryCodeInBothLanguages(t *testing.T) {
	have := text.TrialCodes()
	for _, code := range trial.Codes() {
		if !slices.Contains(have, code) {
			t.Errorf("no words for %s", code)
		}
	}
	for _, code := range have {
		if !slices.Contains(trial.Codes(), code) {
			t.Errorf("words for %s, which no test answers with", code)
		}
		en, es := text.Trial(code, text.English), text.Trial(code, text.Spanish)
		for _, s := range []string{en, es} {
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%s: %s: %q", code, bad, s)
			}
			if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
				t.Errorf("%s is not a sentence: %q", code, s)
			}
		}
		if en == es {
			t.Errorf("%s is not translated", code)
		}
		if strings.Count(es, "?") != strings.Count(es, "¿") {
			t.Errorf("%s: question without its opening mark: %q", code, es)
		}
	}
	if got := text.Trial("brand_new_code", text.English); got != "Brand new code." {
		t.Errorf("%q", got)
	}
}
