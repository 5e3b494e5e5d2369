package text

import "coldwright/proof/vacuum"

// Terminal is a line of the terminal's text with its arguments put in. A code without words is shown by its own name.
func Terminal(l Language, code string, args ...string) string {
	if s, ok := l.words().Terminal[code]; ok {
		return put(s, args...)
	}
	return plain(code)
}

// Channel is what a cold record is read from, inside a sentence.
func Channel(code string, l Language) string { return saidOr(l.words().Channels, code) }

// ProfileName is what a criterion is called; one that has no words is called by its key.
func ProfileName(p vacuum.Profile, l Language) string {
	if s, ok := l.words().Terminal["profile."+p.Key]; ok {
		return s
	}
	return p.Key
}

// ProfileSource is where a criterion comes from: a citation as it stands, or that there is none.
func ProfileSource(p vacuum.Profile, l Language) string {
	if s, ok := l.words().Terminal["source."+p.Key]; ok {
		return s
	}
	return p.Source
}
