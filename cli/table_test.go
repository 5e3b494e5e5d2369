package cli_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"coldwright/cli"
)

// rowSource writes rows of saturation temperatures as they are asked for and looks at the memory in use at two of them.
type rowSource struct {
	rows, next int
	rest       []byte
	at         map[int]*uint64
}

func (s *rowSource) Read(p []byte) (int, error) {
	for len(s.rest) == 0 {
		if s.next > s.rows {
			return 0, io.EOF
		}
		if heap := s.at[s.next]; heap != nil {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			*heap = m.HeapAlloc
		}
		if s.next == 0 {
			s.rest = []byte("temperature_c\n")
		} else {
			s.rest = fmt.Appendf(nil, "%.4f\n", -60+120*float64(s.next)/float64(s.rows))
		}
		s.next++
	}
	n := copy(p, s.rest)
	s.rest = s.rest[n:]
	return n, nil
}

// rowSink counts rows and sees that the first column, which rises, stays in order.
type rowSink struct {
	t    *testing.T
	rows int
	last float64
}

func (s *rowSink) Write(p []byte) (int, error) {
	for line := range strings.Lines(string(p)) {
		cell, _, _ := strings.Cut(line, ",")
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			continue // the header
		}
		if s.rows > 0 && !(v > s.last) {
			s.t.Errorf("row %d: %v after %v", s.rows, v, s.last)
		}
		s.rows, s.last = s.rows+1, v
	}
	return len(p), nil
}

// A table is streamed: 80,000 more rows take no more memory.
func TestSatTable_FlatMemory(t *testing.T) {
	var early, late uint64
	src := &rowSource{rows: 100_000, at: map[int]*uint64{15_000: &early, 95_000: &late}}
	sink := &rowSink{t: t}
	var errs bytes.Buffer
	e := env(new(bytes.Buffer), &errs)
	e.Stdin, e.Stdout = src, sink
	if code := cli.Run(context.Background(), []string{"sat", "R-448A", "--table", "-"}, e); code != 0 || errs.Len() > 0 {
		t.Fatalf("exit %d\n%s", code, errs.String())
	}
	if sink.rows != src.rows {
		t.Errorf("%d rows out of %d", sink.rows, src.rows)
	}
	// The cells of a row alone take 34 bytes: keeping them shows as 2.7 MB (tried).
	if grown := int64(late) - int64(early); grown > 1<<19 {
		t.Errorf("%d bytes more after 95,000 rows than after 15,000", grown)
	}
}

// satTable answers a table given as text.
func satTable(t *testing.T, table string, args ...string) []map[string]string {
	t.Helper()
	var out, errs bytes.Buffer
	e := env(&out, &errs)
	e.Stdin = strings.NewReader(table)
	if code := cli.Run(context.Background(), append([]string{"sat"}, args...), e); code != 0 {
		t.Fatalf("%v: exit %d\n%s", args, code, errs.String())
	}
	all, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, rec := range all[1:] {
		m := map[string]string{}
		for i, h := range all[0] {
			m[h] = rec[i]
		}
		rows = append(rows, m)
	}
	return rows
}

// The fit and the equation give the same table, for a blend in both directions and down to where dew is inside the fit and bubble is not.
func TestSatTable_FitAgainstEquation(t *testing.T) {
	tolerance := map[string]float64{
		"dew_c":            1e-3,
		"bubble_c":         1e-3,
		"glide_k":          2e-3,
		"dew_kpa":          0.05,
		"bubble_kpa":       0.05,
		"rho_liquid_kg_m3": 0.02,
		"rho_vapour_kg_m3": 0.01,
		"h_liquid_kj_kg":   2e-3,
		"h_vapour_kj_kg":   2e-3,
	}
	for _, c := range []struct{ name, table string }{
		{"R-448A", "pressure_kpa\n3.2\n5\n20\n100\n400\n1500\n3900\n4300\n"},
		{"R-448A", "temperature_c\n-85\n-60\n-20\n0\n35\n70\n"},
		{"R-744", "temperature_c\n-50\n-10\n20\n30\n"},
	} {
		for _, ref := range []string{"IIR", "ASHRAE"} {
			fit := satTable(t, c.table, c.name, "--table", "-", "--reference", ref)
			exact := satTable(t, c.table, c.name, "--table", "-", "--reference", ref, "--exact")
			used := 0
			for i, e := range exact {
				f := fit[i]
				if f["method"] == "fit" {
					used++
				}
				if e["method"] != "equation" || f["reference"] != e["reference"] {
					t.Errorf("%s %s row %d: method %q, references %q and %q", c.name, ref, i, e["method"], f["reference"], e["reference"])
				}
				for col, tol := range tolerance {
					if e[col] == "" && f[col] == "" {
						continue
					}
					want, err1 := strconv.ParseFloat(e[col], 64)
					got, err2 := strconv.ParseFloat(f[col], 64)
					if err1 != nil || err2 != nil || !(math.Abs(got-want) <= tol) {
						t.Errorf("%s %s row %d, %s: fit %q, equation %q, tolerance %g", c.name, ref, i, col, f[col], e[col], tol)
					}
				}
			}
			if used < len(exact)/2 {
				t.Errorf("%s %s: the fit answered %d rows of %d", c.name, ref, used, len(exact))
			}
		}
	}
	// By definition of the reference states: 200 kJ/kg at 0 °C, and nothing at −40 °C.
	for ref, want := range map[string][2]float64{"IIR": {0, 200}, "ASHRAE": {-40, 0}} {
		row := satTable(t, fmt.Sprintf("temperature_c\n%g\n", want[0]), "R-134a", "--table", "-", "--reference", ref)[0]
		if h, err := strconv.ParseFloat(row["h_liquid_kj_kg"], 64); err != nil || math.Abs(h-want[1]) > 1e-3 || row["method"] != "fit" {
			t.Errorf("%s: %v", ref, row)
		}
	}
}

// What spreadsheets put into a file: byte order mark, CRLF, no last line end. The answer has line feeds.
func TestSatTable_Dialects(t *testing.T) {
	plain := satTable(t, "pressure_kpa\n101.325\n", "R-134a", "--table", "-")
	for _, text := range []string{
		"\ufeffpressure_kpa\r\n101.325\r\n", "pressure_kpa\n101.325", "\ufeff\"pressure_kpa\"\n\"101.325\"\n",
		"# a\npressure_kpa\n\n101.325\n",
	} {
		if got := satTable(
			t,
			text,
			"R-134a",
			"--table",
			"-",
		); len(got) != 1 || got[0]["dew_c"] != plain[0]["dew_c"] ||
			got[0]["reason"] != "" {
			t.Errorf("%q: %v", text, got)
		}
	}
	// A quote out of place spoils its own row.
	got := satTable(t, "pressure_kpa\n101.325\n1\"0\n101.325\n", "R-134a", "--table", "-")
	if len(got) != 3 || !strings.HasPrefix(got[1]["reason"], "line 3: ") || got[2]["dew_c"] != plain[0]["dew_c"] {
		t.Errorf("%v", got)
	}
}

// A row's JSON document is that of one question, in a line.
func TestStateTable_JSONAsOne(t *testing.T) {
	run := func(stdin string, args ...string) []byte {
		var out, errs bytes.Buffer
		e := env(&out, &errs)
		e.Stdin = strings.NewReader(stdin)
		if code := cli.Run(context.Background(), args, e); code != 0 {
			t.Fatalf("%v: exit %d\n%s", args, code, errs.String())
		}
		return out.Bytes()
	}
	for _, c := range []struct{ pair, table, one string }{
		{"p t", "pressure_kpa,temperature_c\n800,40\n", "--p 800kPa(a) --t 40C"},
		{"p h", "enthalpy_kj_kg,pressure_kpa\n300,800\n", "--p 800kPa(a) --h 300kJ/kg"},
		{"p s", "pressure_kpa,entropy_kj_kg_k\n800,1.75\n", "--p 800kPa(a) --s 1.75kJ/kgK"},
		{"p x", "vapour_mass_fraction,pressure_kpa\n0.25,800\n", "--p 800kPa(a) --x 0.25"},
		{"p d", "pressure_kpa,density_kg_m3\n800,35\n", "--p 800kPa(a) --d 35kg/m3"},
		{"t x", "temperature_c,vapour_mass_fraction\n20,0.25\n", "--t 20C --x 0.25"},
		{"t d", "density_kg_m3,temperature_c\n10,20\n", "--t 20C --d 10kg/m3"},
	} {
		for _, name := range []string{"R-134a", "R-407C"} {
			row := run(c.table, "state", name, "--table", "-", "--json")
			var one bytes.Buffer
			if err := json.Compact(&one, run("", append([]string{"state", name, "--json"}, strings.Fields(c.one)...)...)); err != nil {
				t.Fatal(err)
			}
			if got, want := strings.TrimSpace(string(row)), strings.TrimSpace(one.String()); got != want {
				t.Errorf("%s %s:\n got %s\nwant %s", name, c.pair, got, want)
			}
		}
	}
}

// A row without answer has the keys of one with, null where nothing is known, and the reason.
func TestTable_JSONKeys(t *testing.T) {
	for _, c := range []struct{ command, table string }{
		{"sat", "pressure_kpa\n800\n99999\n"}, {"sat", "temperature_c\n0\ncold\n"}, {"state", "pressure_kpa,enthalpy_kj_kg\n800,420\n800,9000\n"},
	} {
		var out, errs bytes.Buffer
		e := env(&out, &errs)
		e.Stdin = strings.NewReader(c.table)
		if code := cli.Run(context.Background(), []string{c.command, "R-407C", "--table", "-", "--json"}, e); code != 0 {
			t.Fatalf("exit %d\n%s", code, errs.String())
		}
		var docs []map[string]any
		for line := range strings.Lines(out.String()) {
			var m map[string]any
			if err := json.Unmarshal([]byte(line), &m); err != nil {
				t.Fatal(err)
			}
			docs = append(docs, m)
		}
		if len(docs) != 2 {
			t.Fatalf("%s: %d documents", c.command, len(docs))
		}
		for k := range docs[0] {
			if _, there := docs[1][k]; !there {
				t.Errorf("%s: a row without answer has no key %q", c.command, k)
			}
		}
		for k, v := range docs[1] {
			if _, there := docs[0][k]; !there && k != "reason" || k == "reason" && v == nil {
				t.Errorf("%s: only a row without answer has %q: %v", c.command, k, v)
			}
		}
	}
}
