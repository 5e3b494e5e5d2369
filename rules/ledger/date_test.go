package ledger

import (
	"encoding/json"
	"testing"
	"time"
)

func date(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// Calendar facts: 2024 and 2028 are leap years, 2026 and 2100 are not. 25 November 2026 is a Wednesday.
func TestDate(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{date("2026-01-31").AddMonths(1).String(), "2026-02-28"},
		{date("2028-01-31").AddMonths(1).String(), "2028-02-29"},
		{date("2028-02-29").AddYears(1).String(), "2029-02-28"},
		{date("2028-02-29").AddYears(4).String(), "2032-02-29"},
		{date("2026-08-31").AddMonths(6).String(), "2027-02-28"},
		{date("2026-11-30").AddMonths(3).String(), "2027-02-28"},
		{date("2026-12-15").AddMonths(1).String(), "2027-01-15"},
		{date("2026-03-31").AddMonths(-1).String(), "2026-02-28"},
		{date("2026-03-01").AddDays(30).String(), "2026-03-31"},
		{date("2028-02-15").AddDays(30).String(), "2028-03-16"},
		{date("2026-02-15").AddDays(30).String(), "2026-03-17"},
		{date("2026-11-28").LastWorkday().String(), "2026-11-27"}, // a Saturday
		{date("2026-11-29").LastWorkday().String(), "2026-11-27"},
		{date("2026-11-27").LastWorkday().String(), "2026-11-27"},
		{On(time.Date(2026, 1, 1, 3, 0, 0, 0, time.UTC), time.FixedZone("", -6*3600)).String(), "2025-12-31"},
	} {
		if c.got != c.want {
			t.Errorf("got %s, want %s", c.got, c.want)
		}
	}
	if n := date("2028-03-01").Days(date("2028-02-01")); n != 29 {
		t.Errorf("February 2028 has %d days", n)
	}
	for _, bad := range []string{"", "2026-02-29", "2026-13-01", "26-01-01", "2026-1-1", "01/02/2026", "0001-01-01"} {
		if _, err := ParseDate(bad); err == nil {
			t.Errorf("%q was read as a date", bad)
		}
	}
	var v struct {
		A Date `json:"a"`
		B Date `json:"b"`
	}
	if err := json.Unmarshal([]byte(`{"a":"2026-11-25","b":null}`), &v); err != nil || v.A != date("2026-11-25") || !v.B.IsZero() {
		t.Errorf("%+v %v", v, err)
	}
	if b, err := json.Marshal(v); err != nil || string(b) != `{"a":"2026-11-25","b":null}` {
		t.Errorf("%s %v", b, err)
	}
	if json.Unmarshal([]byte(`{"a":20261125}`), &v) == nil {
		t.Error("a number was read as a date")
	}
}
