package record

import (
	_ "embed"
	"strings"
	"sync"
	"time"
)

//go:embed zones.txt
var zoneList string

// ZoneNames lists the time zones to choose from.
//
//   - source: IANA time zone database, zone.tab
var ZoneNames = sync.OnceValue(func() []string {
	var out []string
	for line := range strings.Lines(zoneList) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			out = append(out, line)
		}
	}
	return out
})

// zoneWords are what people call a zone where no city is in it. Judgement, ours: the abbreviation's usual reader is the
// one of North America or Europe; the name that was taken is shown, so that who means another one can say so.
var zoneWords = map[string]string{
	"eastern": "America/New_York", "et": "America/New_York", "est": "America/New_York", "edt": "America/New_York",
	"central": "America/Chicago", "ct": "America/Chicago", "cst": "America/Chicago", "cdt": "America/Chicago",
	"mountain": "America/Denver", "mt": "America/Denver", "mst": "America/Denver", "mdt": "America/Denver",
	"pacific": "America/Los_Angeles", "pt": "America/Los_Angeles", "pst": "America/Los_Angeles", "pdt": "America/Los_Angeles",
	"alaska": "America/Anchorage", "akst": "America/Anchorage", "akdt": "America/Anchorage",
	"hawaii": "Pacific/Honolulu", "hst": "Pacific/Honolulu", "arizona": "America/Phoenix",
	"gmt": "Europe/London", "bst": "Europe/London", "uk": "Europe/London",
	"cet": "Europe/Berlin", "cest": "Europe/Berlin", "mez": "Europe/Berlin", "mesz": "Europe/Berlin",
	"utc": "UTC", "z": "UTC",
}

// ZoneNamed finds the time zone that somebody means: by its name in any case, its city, or what people call it.
//
//   - in: such as America/Chicago, chicago, Mexico City, CST, central time
//   - out: the name in the database of zones; false when nobody can say which one is meant
func ZoneNamed(text string) (string, bool) {
	plain := func(s string) string { return strings.ToLower(strings.ReplaceAll(strings.TrimSpace(s), "_", " ")) }
	want := plain(text)
	short := strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(want, " time"), " standard"))
	if z, ok := zoneWords[short]; ok {
		return z, true
	}
	city := ""
	for _, z := range ZoneNames() {
		name := plain(z)
		switch {
		case name == want:
			return z, true
		case name[strings.LastIndexByte(name, '/')+1:] == want:
			if city != "" {
				return "", false
			}
			city = z
		}
	}
	if city != "" {
		return city, true
	}
	// Older names are not in the list.
	if name := strings.TrimSpace(text); name != "" && name != "Local" {
		if _, err := time.LoadLocation(name); err == nil {
			return name, true
		}
	}
	return "", false
}
