package text_test

import (
	"slices"
	"strings"
	"testing"

	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/text"
)

func TestTrial_EveryCodeInBothLanguages(t *testing.T) {
	have := text.TrialCodes()
	codes := slices.Concat(standing.Codes(), vacuum.Codes(), templog.Codes())
	for _, code := range codes {
		if !slices.Contains(have, code) {
			t.Errorf("no words for %s", code)
		}
	}
	for _, code := range have {
		if !slices.Contains(codes, code) {
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
