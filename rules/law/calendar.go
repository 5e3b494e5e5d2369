package law

import (
	"fmt"
	"hash/fnv"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"coldwright/rules/ledger"
)

// Appointment is an all-day entry of a calendar.
type Appointment struct {
	UID                  string // unique and lasting, so that a second import replaces the first
	Day                  ledger.Date
	Summary, Description string
	WarnDays             int // a reminder so many days before; 0: none
}

// WriteCalendar writes appointments as iCalendar: CRLF, text escaped, lines of at most 75 octets.
//
//   - in: stamp, when the calendar is made; appointments, each with a day
//   - out: one VCALENDAR object, text/calendar in UTF-8
//   - errors: those of w
//   - source: RFC 5545 sections 3.1 (folding), 3.3.11 (escaping), 3.4, 3.6.1, 3.6.6
func WriteCalendar(w io.Writer, stamp time.Time, all []Appointment) error {
	var b strings.Builder
	line := func(s string) { fold(&b, s) }
	line("BEGIN:VCALENDAR")
	line("VERSION:2.0")
	line("PRODID:-//coldwright//duties//EN")
	line("CALSCALE:GREGORIAN")
	for _, a := range all {
		line("BEGIN:VEVENT")
		line("UID:" + escape(a.UID))
		line("DTSTAMP:" + stamp.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE:" + strings.ReplaceAll(a.Day.String(), "-", ""))
		line("DTEND;VALUE=DATE:" + strings.ReplaceAll(a.Day.AddDays(1).String(), "-", ""))
		line("SUMMARY:" + escape(a.Summary))
		if a.Description != "" {
			line("DESCRIPTION:" + escape(a.Description))
		}
		line("TRANSP:TRANSPARENT")
		if a.WarnDays > 0 {
			line("BEGIN:VALARM")
			line("ACTION:DISPLAY")
			line(fmt.Sprintf("TRIGGER:-P%dD", a.WarnDays))
			line("DESCRIPTION:" + escape(a.Summary))
			line("END:VALARM")
		}
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

var escaper = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`)

// escape makes a text value; control characters other than line breaks have no place in one.
func escape(s string) string {
	return escaper.Replace(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\r' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD")))
}

// fold breaks a line after at most 75 octets, never inside a character; the rest follows after a space.
func fold(b *strings.Builder, s string) {
	room := 75
	for len(s) > room {
		cut := room
		for !utf8.RuneStart(s[cut]) {
			cut--
		}
		b.WriteString(s[:cut] + "\r\n ")
		s, room = s[cut:], 74 // the space counts
	}
	b.WriteString(s + "\r\n")
}

// Calendar returns an appointment for every open or overdue duty that has a day, records to be kept left out.
//
//   - in: an answer; machine names it among all machines; say gives the summary and description of a duty in the reader's language
//   - out: appointments whose UID stays the same while machine, duty and start stay the same
//   - source: definition
func Calendar(r Result, machine string, say func(Duty) (summary, description string)) []Appointment {
	var out []Appointment
	h := fnv.New64a()
	_, _ = io.WriteString(h, machine) // a hash never fails
	for _, d := range r.Duties {
		if d.Due.IsZero() || d.State != Open && d.State != Overdue || d.Reason == ReasonKeep {
			continue
		}
		s, text := say(d)
		out = append(
			out,
			Appointment{
				UID:         fmt.Sprintf("%s-%s-%016x@coldwright", d.Code, d.Starts, h.Sum64()),
				Day:         d.Due,
				Summary:     s,
				Description: text,
				WarnDays:    7,
			},
		)
	}
	return out
}
