package text

import (
	"strings"
	"time"
)

// month is the name of a month.
func month(m time.Month, l Language) string { return l.words().Months[m-1] }

// Day is a day with its year: "16 June 2026", "16 de junio de 2026".
func Day(t time.Time, l Language) string {
	return l.say("day", t.Format("2"), month(t.Month(), l), t.Format("2006"))
}

// DayClock is a day with its year and the time of day.
func DayClock(t time.Time, l Language) string { return Day(t, l) + ", " + t.Format("15:04") }

// ZoneMark is what stands behind a time so that nobody takes it for another clock's: "CDT", "UTC", "UTC−03".
func ZoneMark(t time.Time) string {
	mark := t.Format("MST")
	if mark[0] == '+' || mark[0] == '-' {
		return "UTC" + strings.Replace(mark, "-", "−", 1)
	}
	return mark
}

// DayMonthClock is a day without its year and the time of day: "16 June, 07:40".
func DayMonthClock(t time.Time, l Language) string {
	return l.say("day_month_clock", t.Format("2"), month(t.Month(), l), t.Format("15:04"))
}

// shortClock is a moment as short as it can be: "16 Jun 07:40", "16 jun 07:40".
func shortClock(t time.Time, l Language) string {
	return t.Format("2 ") + l.words().MonthsShort[t.Month()-1] + t.Format(" 15:04")
}
