package law

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// The form is that of RFC 5545: lines end in CRLF, an all-day event runs to the next day, commas and semicolons are escaped.
func TestWriteCalendar(t *testing.T) {
	var b bytes.Buffer
	err := WriteCalendar(&b, time.Date(2026, 3, 1, 12, 30, 0, 0, time.UTC), []Appointment{
		{UID: "1@x", Day: date("2028-02-29"), Summary: "Repair; verify, then file", Description: "C:\\x\nsecond line", WarnDays: 7},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{
		"BEGIN:VCALENDAR",
		"VERSION:2.0",
		"PRODID:-//coldwright//duties//EN",
		"CALSCALE:GREGORIAN",
		"BEGIN:VEVENT",
		"UID:1@x",
		"DTSTAMP:20260301T123000Z",
		"DTSTART;VALUE=DATE:20280229",
		"DTEND;VALUE=DATE:20280301",
		`SUMMARY:Repair\; verify\, then file`,
		`DESCRIPTION:C:\\x\nsecond line`,
		"TRANSP:TRANSPARENT",
		"BEGIN:VALARM",
		"ACTION:DISPLAY",
		"TRIGGER:-P7D",
		`DESCRIPTION:Repair\; verify\, then file`,
		"END:VALARM",
		"END:VEVENT",
		"END:VCALENDAR",
		"",
	}, "\r\n")
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

// RFC 5545 section 3.1: lines of at most 75 octets, and unfolding gives back what was written; section 3.3.11:
// unescaping gives back the text.
func TestWriteCalendar_FoldsAndEscapes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune("ab ;,\\\nñé°₂漢🌡:\"")), 0, 400, -1).Draw(t, "text")
		var b bytes.Buffer
		if err := WriteCalendar(&b, time.Unix(0, 0), []Appointment{{UID: "u", Day: date("2026-11-25"), Summary: text}}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
			if len(line) > 75 || !utf8.ValidString(line) || strings.ContainsAny(line, "\r\n") {
				t.Fatalf("line of %d octets: %q", len(line), line)
			}
		}
		_, rest, _ := strings.Cut(strings.ReplaceAll(b.String(), "\r\n ", ""), "\r\nSUMMARY:")
		got, _, _ := strings.Cut(rest, "\r\n")
		// One pass, as a reader does it: a backslash takes the next character.
		var plain strings.Builder
		for i := 0; i < len(got); i++ {
			if got[i] == '\\' && i+1 < len(got) {
				i++
				if got[i] == 'n' {
					plain.WriteByte('\n')
					continue
				}
			}
			plain.WriteByte(got[i])
		}
		if plain.String() != text {
			t.Fatalf("got %q, want %q", plain.String(), text)
		}
	})
}

// Control characters have no place in a text value.
func TestEscape_Control(t *testing.T) {
	if got := escape("a\x00b\x07c\r\nd\xff"); got != `abc\nd`+"\uFFFD" {
		t.Errorf("%q", got)
	}
}

func TestCalendar(t *testing.T) {
	say := func(d Duty) (string, string) { return d.Code, d.Article }
	m := Machine{
		Name:         "Rack 1",
		Jurisdiction: US,
		Class:        Commercial,
		Refrigerant:  "R-448A",
		FullCharge:   lb(60),
		Events:       happened("2026-03-01 added 15"),
	}
	at := func(on string) map[string]Appointment {
		r, err := Duties(m, date(on))
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]Appointment{}
		for _, a := range Calendar(r, m.Name, say) {
			if _, twice := out[a.UID]; twice {
				t.Errorf("%s is there twice", a.UID)
			}
			out[a.UID] = a
		}
		return out
	}
	first, second := at("2026-03-02"), at("2026-03-20")
	if len(first) != 3 { // repair, initial verification, inspection; records are no appointment
		t.Errorf("%+v", first)
	}
	for uid, a := range first {
		if second[uid] != a {
			t.Errorf("%s changed its place: %+v, %+v", uid, a, second[uid])
		}
	}
	m.Name = "Rack 2"
	for uid := range at("2026-03-02") {
		if _, same := first[uid]; same {
			t.Errorf("two machines share %s", uid)
		}
	}
}
