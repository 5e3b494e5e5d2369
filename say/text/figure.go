package text

// FigureCodes lists the codes of the words in drawings, sorted.
func FigureCodes() []string { return keysOf(English.words().Figures) }

// Figure is a word or sentence in or beside a drawing with its arguments put in. A code without words is shown by its own name.
func Figure(code string, l Language, args ...string) string {
	if s, ok := l.words().Figures[code]; ok {
		return put(s, args...)
	}
	return plain(code)
}
