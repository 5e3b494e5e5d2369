package verdict

import (
	"math"

	"coldwright/verdict/threshold"
)

// Status answers a question: yes, no, or not known.
type Status int

// The statuses.
const (
	Unknown Status = iota
	Yes
	No
)

func (s Status) String() string { return [...]string{"unknown", "yes", "no"}[s] }

// MarshalText writes the word.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Level is how sure something is, in steps.
type Level int

// The levels, most sure first.
const (
	AlmostCertain Level = iota + 1
	Likely
	MoreLikelyThanNot
	AboutEven
	Possible
	Unlikely
	VeryUnlikely
)

var levels = [...]string{
	"unknown", "almost_certain", "likely", "more_likely_than_not", "about_even", "possible", "unlikely", "very_unlikely",
}

func (l Level) String() string { return levels[l] }

// MarshalText writes the word.
func (l Level) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// Levels lists them.
func Levels() []Level {
	return []Level{AlmostCertain, Likely, MoreLikelyThanNot, AboutEven, Possible, Unlikely, VeryUnlikely}
}

// LevelOf is the level of a probability, by the figure in a hundred it is shown as.
func LevelOf(p float64) Level {
	switch shown := math.Round(100*p) / 100; {
	case shown >= threshold.Certain:
		return AlmostCertain
	case shown >= threshold.Likely:
		return Likely
	case shown >= threshold.Leaning:
		return MoreLikelyThanNot
	case shown >= threshold.Even:
		return AboutEven
	case shown >= threshold.Possible:
		return Possible
	case shown >= threshold.Unlikely:
		return Unlikely
	}
	return VeryUnlikely
}

// Figure is a probability as it is shown: a whole number in a hundred, or that it is below or above what a figure may say.
type Figure struct {
	Hundredths     int
	Under1, Over99 bool // under 1 in 100, over 99 in 100
}

// FigureOf is the figure of a probability.
func FigureOf(p float64) Figure {
	return Figure{Hundredths: int(math.Round(100 * p)), Under1: p < threshold.RuledOut, Over99: p > threshold.SureOther}
}

// RuledOut reports whether a cause may be called ruled out.
func RuledOut(p float64) bool { return p < threshold.RuledOut }
