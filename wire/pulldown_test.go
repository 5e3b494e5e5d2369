package wire

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"coldwright/proof/pulldown"
)

func TestReadPullDown(t *testing.T) {
	p, err := ReadPullDown(strings.NewReader("minute,box_f\n0,7\n10,4\n"))
	if err != nil || len(p) != 2 || math.Abs(p[1].Box.F()-4) > 1e-9 {
		t.Fatal(p, err)
	}
	p, err = ReadPullDown(strings.NewReader("time,box_c,product_c\n2026-06-01T08:00:00Z,-10,-12\n2026-06-01T08:30:00Z,-12,\n"))
	if err != nil || p[1].Minute != 30 || p[0].Product == nil || p[1].Product != nil {
		t.Fatal(p, err)
	}
	for text, says := range map[string]string{
		"": "header", "minute,box\n": "table.no_column", "minute,box_f,box_c\n": "table.exactly_one",
		"minute,box_f\n0,x\n":   "line 2, column box_f",
		"minute,box_f\n0,900\n": "line 2, column box",
		"minute,box_f\n0\n":     "line 2", "time,box_f\nnoon,3\n": "line 2, column time", "minute,box_f\n,3\n": "line 2, column minute",
	} {
		if _, err := ReadPullDown(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

func FuzzReadPullDown(f *testing.F) {
	f.Add("minute,box_f\n0,7\n10,4\n20,3\n")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ReadPullDown(strings.NewReader(s))
		if err != nil || len(p) > 20 {
			return
		}
		r, err := pulldown.Judge(p, pulldown.Options{SetPoint: 260})
		if err == nil {
			if _, err := json.Marshal(PullDown(r, nil)); err != nil {
				t.Error(err)
			}
		}
	})
}

// Times of day without a date count from the first row on, across midnight; out of order they are refused, as no reader
// could tell them from the next day.
func TestReadPullDown_TimesOfDay(t *testing.T) {
	p, err := ReadPullDown(strings.NewReader("time,box_f\n23:50,9\n23:58:30,5\n00:16,1\n"))
	if err != nil || len(p) != 3 || p[0].Minute != 0 || p[1].Minute != 8.5 || p[2].Minute != 26 {
		t.Errorf("%+v, %v", p, err)
	}
	for _, bad := range []string{
		"time,box_f\n11:20,9\n11:10,5\n", "time,box_f\n11:20,9\n2026-06-01T11:30:00Z,5\n", "time,box_f\n2026-06-01T11:30:00Z,9\n11:40,5\n",
		"time,box_f\n25:10,9\n",
	} {
		if _, err := ReadPullDown(strings.NewReader(bad)); err == nil {
			t.Errorf("taken: %q", bad)
		}
	}
}
