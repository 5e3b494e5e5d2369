package text

// LawEvent is something that happened to a machine that the rules count; an unknown code shows itself.
func LawEvent(code string, l Language) string {
	return saidOr(l.words().LawEvents, code)
}

// LawWord is a class or a use as the rules name it.
func LawWord(code string, l Language) string {
	return saidOr(l.words().LawWords, code)
}
