package text

import (
	"slices"

	"coldwright/checks"
)

type checkWords struct {
	Do      string            `json:"do"`
	Answers map[string]string `json:"answers"`
}

// Complaint names what a machine does.
func Complaint(code string, l Language) string { return saidOr(l.words().Complaints, code) }

// CheckCause names what is wrong with a machine that stands, trips, ices up or is wet.
func CheckCause(code string, l Language) string { return saidOr(l.words().CheckCauses, code) }

// CheckCaution is the caution of a check.
func CheckCaution(code string, l Language) string { return saidOr(l.words().CheckCautions, code) }

// CheckDo says what to look at or to measure.
func CheckDo(code string, l Language) string {
	if w, ok := l.words().Checks[code]; ok {
		return w.Do
	}
	return plain(code)
}

// CheckAnswer says what was found.
func CheckAnswer(check, answer string, l Language) string {
	if w, ok := l.words().Checks[check]; ok {
		return saidOr(w.Answers, answer)
	}
	return plain(answer)
}

// CheckLine is a line about checks with its arguments put in.
func CheckLine(l Language, code string, args ...string) string {
	return put(saidOr(l.words().CheckWords, code), args...)
}

// CheckWhy says what a check would tell: what it would mean if it shows something, and if it does not.
func CheckWhy(x checks.Next, l Language) string {
	if x.Check == nil {
		return CheckLine(l, "why.repair", CheckCause(x.Repair, l))
	}
	switch {
	case slices.Contains(x.Check.Cautions, checks.Burns):
		return CheckLine(l, "why.air")
	case slices.Contains(x.Check.Cautions, "reset"):
		return CheckLine(l, "why.ground")
	}
	sound := x.Answers[len(x.Answers)-1]
	shows := x.Answers[0]
	for _, m := range x.Answers[:len(x.Answers)-1] {
		if m.Probability > shows.Probability {
			shows = m
		}
	}
	if shows.Leads.Cause == sound.Leads.Cause {
		return CheckLine(l, "why.one", CheckCause(shows.Leads.Cause, l), Hundred(shows.Leads.Probability, l), Hundred(sound.Leads.Probability, l))
	}
	return CheckLine(l, "why.two", CheckCause(shows.Leads.Cause, l), Hundred(shows.Leads.Probability, l), CheckCause(sound.Leads.Cause, l))
}
