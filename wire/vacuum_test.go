package wire

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"coldwright/proof/vacuum"
)

// Micron and Pa are the same pressure: 1 micron is 0.1333224 Pa (definition of the torr).
func TestReadVacuum(t *testing.T) {
	x, err := ReadVacuum(strings.NewReader("minute,micron\n0,100\n1,200\n"))
	if err != nil {
		t.Fatal(err)
	}
	y, err := ReadVacuum(strings.NewReader("minute,pa\n0,13.33224\n1,26.66448\n"))
	if err != nil || math.Abs(float64(x[1].Pressure-y[1].Pressure)) > 1e-9 {
		t.Error(x, y, err)
	}
}

func TestReadVacuum_Refused(t *testing.T) {
	for text, says := range map[string]string{
		"": "header", "minute,torr\n": "table.no_column", "minute,micron,pa\n": "table.exactly_one", "micron\n": "table.exactly_one",
		"minute,micron\n0,x\n":  "line 2, column micron",
		"minute,micron\n0,-3\n": "vacuum.typed", "minute,micron\n0,\n": "test.empty_gauge", "minute,micron\n0,5,5\n": "line 2",
		"minute,micron\n1e9,5\n": "table.minutes", "minute,minute,micron\n": "twice",
		"minute,micron\n0,\"5\n": "quotation",
	} {
		if _, err := ReadVacuum(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

func FuzzReadVacuum(f *testing.F) {
	f.Add("minute,micron\n0,200\n5,230\n10,250\n15,262\n20,270\n")
	f.Add("time,pa\n2026-06-01T08:00:00Z,20\n2026-06-01T08:10:00Z,25\n2026-06-01T08:20:00Z,30\n2026-06-01T08:30:00Z,36\n")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ReadVacuum(strings.NewReader(s))
		if err != nil || len(p) > 20 {
			return
		}
		r, err := vacuum.Judge(p, vacuum.Options{Coldest: 280, Volume: 0.02})
		if err != nil {
			return
		}
		if _, err := json.Marshal(Vacuum(r)); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	})
}
