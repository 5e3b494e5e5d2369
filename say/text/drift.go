package text

import (
	"fmt"

	"coldwright/diagnose"
	"coldwright/verdict/threshold"
)

// DriftWords say whether a machine has been losing refrigerant between its visits. since is the range of days in
// words, rate and missing are bands in words.
func DriftWords(d diagnose.Drift, known, hidden bool, since, rate, missing string) (head, para string) {
	hides := ""
	if hidden {
		hides = " A receiver hides what it loses of its reserve: note its level at every visit."
	}
	switch {
	case !known:
		return "Too few visits to tell.", "Two visits with readings say whether it loses refrigerant between them." + hides
	case d.Leaking >= threshold.LeakLikely:
		return "It has been losing refrigerant.", fmt.Sprintf(
			"%s that it has a slow leak. If so, it began %s and loses %s. Missing now: %s.",
			UpperFirst(HundredWord(d.Leaking)),
			since,
			rate,
			missing,
		)
	case d.Leaking >= threshold.Possible:
		return "It may be losing a little.", fmt.Sprintf(
			"%s that it has a slow leak: the visits cannot tell yet.%s",
			UpperFirst(HundredWord(d.Leaking)),
			hides,
		)
	}
	return "No sign of a slow leak.", fmt.Sprintf("%s that it has one.%s", UpperFirst(HundredWord(d.Leaking)), hides)
}
