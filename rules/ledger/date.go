package ledger

import (
	"time"

	"coldwright/fail"
)

// Date is a calendar day without a zone. The zero Date is no day.
type Date struct{ t time.Time }

// On returns the day of an instant as the clock in zone shows it; a nil zone is UTC.
func On(t time.Time, zone *time.Location) Date {
	if zone == nil {
		zone = time.UTC
	}
	y, m, d := t.In(zone).Date()
	return Day(y, m, d)
}

// Day returns a day by year, month and day of the month.
func Day(year int, month time.Month, day int) Date {
	return Date{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// ParseDate reads 2026-11-25.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1900 {
		return Date{}, fail.Of(fail.BadValue, "", "date.typed", fail.Args{"text": s})
	}
	return Date{t}, nil
}

// Start is the first instant of the day in UTC.
func (d Date) Start() time.Time { return d.t }

// IsZero reports that there is no day.
func (d Date) IsZero() bool { return d.t.IsZero() }

// Before and After compare days.
func (d Date) Before(e Date) bool { return d.t.Before(e.t) }

// After reports that d is later than e.
func (d Date) After(e Date) bool { return d.t.After(e.t) }

// Compare returns −1, 0 or 1.
func (d Date) Compare(e Date) int { return d.t.Compare(e.t) }

// AddDays counts calendar days: the day itself is not counted, so that 30 days from 1 March is 31 March.
func (d Date) AddDays(n int) Date { return Date{d.t.AddDate(0, 0, n)} }

// AddMonths keeps the day of the month; a month that lacks it ends on its last day (31 January plus one month is 28 or 29 February).
func (d Date) AddMonths(n int) Date {
	y, m, day := d.t.Date()
	last := time.Date(y, m+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	return Date{time.Date(y, m+time.Month(n), min(day, last), 0, 0, 0, 0, time.UTC)}
}

// AddYears is twelve months each: 29 February leads to 28 February.
func (d Date) AddYears(n int) Date { return d.AddMonths(12 * n) }

// Days returns the number of days from e to d.
func (d Date) Days(e Date) int { return int(d.t.Sub(e.t) / (24 * time.Hour)) }

// Year returns the calendar year.
func (d Date) Year() int { return d.t.Year() }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.t.Weekday() }

// LastWorkday returns d, or the Friday before it when d is a Saturday or Sunday. Public holidays are not known here.
func (d Date) LastWorkday() Date {
	switch d.Weekday() {
	case time.Saturday:
		return d.AddDays(-1)
	case time.Sunday:
		return d.AddDays(-2)
	}
	return d
}

func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.t.Format(time.DateOnly)
}

// Format prints the day by a layout of package time.
func (d Date) Format(layout string) string { return d.t.Format(layout) }

// MarshalJSON writes "2026-11-25", or null for no day.
func (d Date) MarshalJSON() ([]byte, error) {
	if d.IsZero() {
		return []byte("null"), nil
	}
	return []byte(`"` + d.String() + `"`), nil
}

// UnmarshalJSON reads "2026-11-25" or null.
func (d *Date) UnmarshalJSON(b []byte) (err error) {
	if string(b) == "null" {
		*d = Date{}
		return nil
	}
	if len(b) < 2 || b[0] != '"' {
		return fail.Of(fail.BadValue, "", "date.json", fail.Args{"text": string(b)})
	}
	*d, err = ParseDate(string(b[1 : len(b)-1]))
	return err
}
