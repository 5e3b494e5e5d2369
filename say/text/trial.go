package text

// TrialCodes lists the codes that have words, sorted.
func TrialCodes() []string { return keysOf(English.words().Trials) }

// Trial is the sentence for a code of the standing-pressure test, the rise test or the cold record. A code without
// words is shown by its own name.
func Trial(code string, l Language) string {
	if s, ok := l.words().Trials[code]; ok {
		return s
	}
	return plain(code) + "."
}
