package text_test

import (
	"testing"

	"coldwright/record"
	"coldwright/say/text"
)

// Every role and way of signing has its own words in both languages.
func TestSignWords(t *testing.T) {
	seen := map[string]bool{}
	for _, l := range text.Languages() {
		all := []string{text.SignChanged(l), text.SignProgram(l, "1"), text.SignatureOf(l, "A")}
		for _, r := range record.Roles() {
			all = append(all, text.SignRole(l, string(r)))
		}
		for _, how := range []string{record.SignDrawn, record.SignPaper, record.SignTyped} {
			all = append(all, text.SignHow(l, how))
		}
		for i, w := range all {
			if w == "" || seen[w] {
				t.Errorf("%s, %d: %q", l, i, w)
			}
			seen[w] = true
		}
	}
}
