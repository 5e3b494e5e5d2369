package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"testing"
)

// Whatever the file, the answer is a table with a cell for every column in every row, or one JSON document a line.
func FuzzTable(f *testing.F) {
	for _, s := range []string{
		"pressure_kpa\n1\n", "\ufeffa,pressure_kpa\r\n\"x,y\",1\r\n,\"\"\"\"\n", "pressure_kpa\n1,2\n\"1\n",
		"pressure_kpa,b\n-1\nx\n#\n\n1e400,#\n", "a;pressure_kpa\n", "",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		for _, asJSON := range []bool{false, true} {
			tab, err := openTable("f", bytes.NewReader(in), []string{"pressure_kpa"}, 1)
			if err != nil {
				return
			}
			a := answers{
				json:    asJSON,
				known:   `"refrigerant":"R-1"`,
				unknown: []string{"double"},
				columns: []string{"double", "reason"},
				row: func(b []byte, v []float64) ([]byte, error) {
					switch {
					case v[0] < 0:
						return nil, errors.New("negative, \"so to speak\"\n")
					case asJSON:
						return appendJSON(b, map[string]float64{"double": v[0]})
					}
					return appendNumber(append(b, ','), v[0]), nil
				},
			}
			var out bytes.Buffer
			rows, bad, err := tab.run(&out, a)
			if err != nil {
				return
			}
			seen, failed := 0, 0
			if asJSON {
				for dec := json.NewDecoder(&out); dec.More(); seen++ {
					var doc map[string]any
					if err := dec.Decode(&doc); err != nil {
						t.Fatal(err)
					}
					if doc["reason"] != nil {
						failed++
					}
				}
			} else {
				rd := csv.NewReader(&out)
				all, err := rd.ReadAll() // every row as long as the header
				if err != nil {
					t.Fatalf("%v\n%q", err, in)
				}
				seen = len(all) - 1
				for _, rec := range all[1:] {
					if rec[len(rec)-1] != "" {
						failed++
					}
				}
			}
			if seen != rows || failed != bad {
				t.Errorf("%d rows and %d failed, counted %d and %d\n%q", seen, failed, rows, bad, in)
			}
		}
	})
}
