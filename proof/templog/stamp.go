package templog

import (
	"strings"
	"time"

	"coldwright/fail"
)

// stamp is a date and time as a logger writes it. a and b are the two numbers whose order may be day first or month
// first; named and ISO dates have no such doubt.
type stamp struct {
	year, month, day int
	a, b             int // of an ambiguous form, else 0
	seconds          int // of the day; −1: no time of day
	offset           int // seconds east; only with hasOffset
	hasDate, hasTime bool
	hasOffset        bool
}

// DateOrder is how a file writes day and month.
type DateOrder int

// The orders. Free means that no date of the file is in doubt: year first, or a month by name.
const (
	OrderUnknown DateOrder = iota
	OrderFree
	DayFirst
	MonthFirst
)

func (o DateOrder) String() string { return [...]string{"unknown", "free", "dmy", "mdy"}[o] }

// MarshalText writes the word.
func (o DateOrder) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads the word.
func (o *DateOrder) UnmarshalText(b []byte) error {
	for k := OrderUnknown; k <= MonthFirst; k++ {
		if k.String() == string(b) {
			*o = k
			return nil
		}
	}
	return fail.Of(fail.Usage, "dates", "logger.dates", fail.Args{"text": string(b)})
}

// months by their first three letters, English and Spanish.
var months = map[string]int{
	"jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "oct": 10, "nov": 11, "dec": 12,
	"ene": 1, "abr": 4, "ago": 8, "dic": 12,
}

// parseStamp reads a date, a time or both; false when the text is anything else.
func parseStamp(s string) (st stamp, ok bool) {
	st.seconds = -1
	i, n := 0, len(s)
	space := func() {
		for i < n && (s[i] == ' ' || s[i] == '\t') {
			i++
		}
	}
	number := func() (v, digits int) {
		for i < n && s[i] >= '0' && s[i] <= '9' && digits < 9 {
			v = 10*v + int(s[i]-'0')
			i++
			digits++
		}
		return v, digits
	}
	word := func() string {
		from := i
		for i < n && (s[i] >= 'a' && s[i] <= 'z' || s[i] >= 'A' && s[i] <= 'Z') {
			i++
		}
		return strings.ToLower(s[from:i])
	}
	space()
	// The date: three numbers, or two and a month's name, with one of - / . or blanks between.
	start := i
	v1, d1 := number()
	named := 0
	if d1 == 0 {
		w := word()
		if len(w) >= 3 {
			named = months[w[:3]]
		}
		if named == 0 {
			return st, false
		}
	}
	if i < n &&
		(s[i] == ':' || d1 > 0 && d1 <= 2 && i+1 < n && (s[i] == ' ') && (s[i+1]|32 == 'a' || s[i+1]|32 == 'p') && i+2 < n && s[i+2]|32 == 'm') {
		i = start // a time without a date
	} else {
		sep := func() bool {
			space()
			got := false
			if i < n && (s[i] == '-' || s[i] == '/' || s[i] == '.' || s[i] == ',') {
				i++
				got = true
			}
			space()
			return got || i > 0 && (s[i-1] == ' ')
		}
		if !sep() {
			return st, false
		}
		v2, d2 := number()
		byName := named
		if d2 == 0 {
			w := word()
			if named != 0 || len(w) < 3 || months[w[:3]] == 0 {
				return st, false
			}
			byName = months[w[:3]]
		}
		if !sep() {
			return st, false
		}
		v3, d3 := number()
		if d3 == 0 {
			return st, false
		}
		full := func(y, digits int) int {
			if digits <= 2 {
				return 2000 + y
			}
			return y
		}
		switch {
		case named != 0: // Jun 3, 2026
			st.year, st.month, st.day = full(v3, d3), named, v2
		case byName != 0 && d1 == 4: // 2026-Jun-03
			st.year, st.month, st.day = v1, byName, v3
		case byName != 0: // 3 Jun 2026
			st.year, st.month, st.day = full(v3, d3), byName, v1
		case d1 == 4:
			st.year, st.month, st.day = v1, v2, v3
		case d1 <= 2 && d2 <= 2 && (d3 == 4 || d3 == 2):
			st.year, st.a, st.b = full(v3, d3), v1, v2
		default:
			return st, false
		}
		if st.year < 1970 || st.year > 2199 ||
			st.a == 0 && st.b == 0 && (st.month < 1 || st.month > 12 || st.day < 1 || noSuchDay(st.year, st.month, st.day)) {
			return st, false
		}
		if st.a != 0 || st.b != 0 {
			if st.a < 1 || st.b < 1 || st.a > 31 || st.b > 31 || st.a > 12 && st.b > 12 {
				return st, false
			}
		}
		st.hasDate = true
		if i < n && (s[i] == 'T' || s[i] == 't' || s[i] == ',') {
			i++
		}
		space()
		if i == n {
			return st, true
		}
	}
	// The time of day.
	h, dh := number()
	if dh == 0 || dh > 2 {
		return st, false
	}
	m, sec := 0, 0
	if i < n && s[i] == ':' {
		i++
		var d int
		if m, d = number(); d != 2 {
			return st, false
		}
		if i < n && s[i] == ':' {
			i++
			if sec, d = number(); d != 2 {
				return st, false
			}
			if i+1 < n && (s[i] == '.' || s[i] == ',') && s[i+1] >= '0' && s[i+1] <= '9' {
				i++
				number() // fractions of a second are dropped
			}
		}
	}
	space()
	if i < n && (s[i]|32 == 'a' || s[i]|32 == 'p') {
		half := s[i] | 32
		j := i + 1
		if j < n && s[j] == '.' {
			j++
		}
		if j < n && s[j]|32 == 'm' && h >= 1 && h <= 12 {
			i = j + 1
			if i < n && s[i] == '.' {
				i++
			}
			h %= 12
			if half == 'p' {
				h += 12
			}
		}
		space()
	}
	if h > 23 || m > 59 || sec > 60 {
		return st, false
	}
	st.seconds, st.hasTime = h*3600+m*60+min(sec, 59), true
	// The offset from UTC.
	switch {
	case i == n:
		return st, true
	case s[i] == 'Z' || s[i] == 'z' || strings.EqualFold(s[i:], "UTC") || strings.EqualFold(s[i:], "GMT"):
		if s[i]|32 == 'z' {
			i++
		} else {
			i = n
		}
		st.hasOffset = true
	case s[i] == '+' || s[i] == '-':
		neg := s[i] == '-'
		i++
		oh, d := number()
		om := 0
		if d == 4 {
			oh, om = oh/100, oh%100
		} else if d == 2 && i < n && s[i] == ':' {
			i++
			om, _ = number()
		} else if d != 2 {
			return st, false
		}
		if oh > 15 || om > 59 {
			return st, false
		}
		st.offset, st.hasOffset = oh*3600+om*60, true
		if neg {
			st.offset = -st.offset
		}
	}
	space()
	return st, i == n
}

// noSuchDay reports a day that the month does not have; the calendar is asked from the 29th on only.
func noSuchDay(year, month, day int) bool {
	return day > 28 && time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Day() != day
}

// wall is the time on the wall as seconds since 1970 without regard to offsets; false when there is no such day.
func (st *stamp) wall(o DateOrder) (int64, bool) {
	month, day := st.month, st.day
	if st.a != 0 {
		day, month = st.a, st.b
		if o == MonthFirst {
			day, month = st.b, st.a
		}
	}
	if month < 1 || month > 12 || day < 1 || noSuchDay(st.year, month, day) {
		return 0, false
	}
	midnight := time.Date(st.year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	return midnight.Unix() + int64(max(st.seconds, 0)), true
}

// instants are the moments at which clocks of a place show a time: none when they skip it, two when they show it twice.
func instants(wall int64, zone *time.Location) []int64 {
	var out []int64
	for _, probe := range []int64{wall - 86400, wall + 86400} {
		_, off := time.Unix(probe, 0).In(zone).Zone()
		t := wall - int64(off)
		if _, now := time.Unix(t, 0).In(zone).Zone(); now == off && (len(out) == 0 || out[0] != t) {
			out = append(out, t)
		}
	}
	if len(out) == 2 && out[0] > out[1] {
		out[0], out[1] = out[1], out[0]
	}
	return out
}
