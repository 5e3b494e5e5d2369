package text

import (
	"errors"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/reading"
)

// Unread says that entries cannot be read by this program; nothing when all can.
func Unread(n int, l Language) string {
	switch n {
	case 0:
		return ""
	case 1:
		return Report("unread_one", l)
	}
	return Report("unread_many", l, strconv.Itoa(n))
}

// ReportCodes lists the codes of the report's sentences, sorted.
func ReportCodes() []string { return keysOf(English.words().Report) }

// Report is a sentence, heading or label of the report with its arguments put in. A code without words is shown by its own name.
func Report(code string, l Language, args ...string) string {
	if s, ok := l.words().Report[code]; ok {
		return put(s, args...)
	}
	return plain(code)
}

// TheMachine names a machine by what it is for, with its article at the beginning of a sentence.
func TheMachine(a reading.Application, l Language) string {
	if s, ok := l.words().Machines[a.String()]; ok {
		return s
	}
	return l.words().Machines[reading.Other.String()]
}

// MostLikely puts a cause's sentence for the customer behind "most likely".
func MostLikely(customer string, l Language) string {
	if l != English {
		return Report("most_likely", l, LowerFirst(customer))
	}
	for _, article := range []string{"The ", "One ", "Air ", "A "} {
		if strings.HasPrefix(customer, article) {
			customer = LowerFirst(customer)
			break
		}
	}
	return Report("most_likely", l, customer)
}

// GradeReason says why the data of a refrigerant have their grade; the engine's own words are English.
func GradeReason(reason string, l Language) string {
	for known, words := range l.words().Grades {
		if rest, ok := strings.CutPrefix(reason, known); ok {
			return words + rest
		}
	}
	return reason
}

// Failed says in one line what went wrong.
func Failed(err error, l Language) string {
	var e *fail.Error
	if !errors.As(err, &e) {
		return Report("program_failed", l)
	}
	return Voice{Language: l}.Mistake(err).Says
}

// ReportNumber is the number of the report of a visit, by which a search finds it.
func ReportNumber(visit string) string {
	if len(visit) < 28 {
		return visit
	}
	return visit[:8] + "-" + visit[24:28]
}
