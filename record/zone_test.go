package record

import (
	"testing"
	"time"
)

// What people type for a time zone is understood, or refused: never another zone's clock.
func TestZoneNamed(t *testing.T) {
	for text, want := range map[string]string{
		"Chicago": "America/Chicago", "CST": "America/Chicago", "america/chicago": "America/Chicago", " Central Time ": "America/Chicago",
		"America/Chicago": "America/Chicago", "new york": "America/New_York", "Mexico City": "America/Mexico_City", "EST": "America/New_York",
		"Europe/Berlin": "Europe/Berlin", "berlin": "Europe/Berlin", "MEZ": "Europe/Berlin", "UTC": "UTC", "US/Central": "US/Central",
		"Asia/Calcutta": "Asia/Calcutta",
	} {
		if got, ok := ZoneNamed(text); got != want || !ok {
			t.Errorf("%q: %q %v, want %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "here", "Local", "America", "IST", "../etc/passwd"} {
		if got, ok := ZoneNamed(text); ok {
			t.Errorf("%q: %q", text, got)
		}
	}
	if len(ZoneNames()) < 400 {
		t.Fatalf("%d zones", len(ZoneNames()))
	}
	for _, z := range ZoneNames() {
		if _, err := time.LoadLocation(z); err != nil {
			t.Errorf("%s: %v", z, err)
		}
	}
	for word, z := range zoneWords {
		if _, err := time.LoadLocation(z); err != nil {
			t.Errorf("%s: %v", word, err)
		}
	}
}
