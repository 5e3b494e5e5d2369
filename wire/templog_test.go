package wire

import (
	"encoding/json"
	"io"
	"strings"
	"testing"

	"coldwright/proof/templog"
)

// Every record says who decides about the food, and an empty list is a list (contract).
func TestTemperatureRecord(t *testing.T) {
	open := func() (io.ReadCloser, error) {
		return io.NopCloser(strings.NewReader("time,box_c\n2026-06-13 12:00,2\n2026-06-13 12:10,8\n2026-06-13 12:20,3\n")), nil
	}
	r, err := templog.Judge(open, templog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(TemperatureRecord(r))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"food_decision":"operator_and_authority"`, `"notes":[]`, `"excursion_count":1`, `"peak_at":"2026-06-13T12:10:00"`,
		`"start":{"after":"2026-06-13T12:00:00","before":"2026-06-13T12:10:00"}`, `"peak_c":8`,
	} {
		if !strings.Contains(string(b), want) {
			t.Errorf("no %s in %s", want, b)
		}
	}
}
