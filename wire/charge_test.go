package wire

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/machine/charge"
	"coldwright/units"
)

const goodCharge = `{
 "machine": {"refrigerant": "R-404A", "application": "walk-in freezer", "head_control": "flooding"},
 "nameplate": "9 lb 8 oz",
 "at": {"ambient": "84 F", "coldest": "0 F", "box": "5 F"},
 "parts": [{"kind": "liquid line", "size": "1/2 in", "length": "60 ft"}, {"kind": "condenser", "volume": "6 L"},
  {"kind": "evaporator", "inside": "10 mm", "length": "60 m"}],
 "seen": {"glass": "bubbling", "subcooling": "3 K", "running": true},
 "in_before": "2 lb", "in_before_u": "4 oz",
 "log": [{"cylinder": "C-1", "before": "30 lb", "now": "27 lb", "tare": "14 lb"}],
 "scale": {"step": "5 g"},
 "cylinder": {"water_capacity": "47.7 lb", "tare": "26 lb", "gross": "60 lb"}
}`

func TestReadCharge_Good(t *testing.T) {
	j, err := ReadCharge([]byte(goodCharge))
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Machine.Parts) != 3 || math.Abs(j.Machine.Full-9.5*units.Pound) > 1e-12 || math.Abs(*j.Before-2*units.Pound) > 1e-12 ||
		!j.Machine.Plate.Receiver ||
		len(j.Log) != 1 ||
		j.Scale.Step != 0.005 {
		t.Errorf("%+v", j)
	}
	testkit.Near(t, "liquid line", j.Machine.Parts[0].Volume, math.Pi/4*math.Pow(0.430*0.0254, 2)*60*0.3048, 1e-12, "ASTM B280 bore")
	j.Machine.Fit = testkit.Fit(t, j.Machine.Plate.Refrigerant)
	if _, err := j.Machine.Reckon(j.Seen); err != nil {
		t.Error(err)
	}
	f, err := j.Cylinder.Fill(j.Machine.Fit.Refrigerant())
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "room", f.Room/units.Pound, 26+40.0-60, 0.1, "80 % rule example: 40.0 lb in 47.7 lb of water")
	j.Cylinder.Gross = 70 * units.Pound
	if f, err = j.Cylinder.Fill(j.Machine.Fit.Refrigerant()); err != nil || len(f.Findings) != 1 || f.Findings[0].Code != charge.CylinderOver {
		t.Errorf("overfilled: %+v %v", f, err)
	}
	j.Cylinder.Gross = 64 * units.Pound
	if f, err = j.Cylinder.Fill(j.Machine.Fit.Refrigerant()); err != nil || len(f.Findings) != 1 || f.Findings[0].Code != charge.CylinderNear {
		t.Errorf("nearly full: %+v %v", f, err)
	}
}

func TestReadCharge_NamesWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ old, new, field, says string }{
		{`"9 lb 8 oz"`, `"9"`, "line 3, nameplate", "units.no_unit"},
		{`"9 lb 8 oz"`, `"0 lb"`, "line 3, nameplate", "charge.nameplate"},
		{`"ambient": "84 F", `, ``, "line 4, at.ambient", "charge.ambient_missing"},
		{`"84 F"`, `"284 F"`, "line 4, at.ambient", "units.within"},
		{`"1/2 in"`, `"0.6 in"`, "line 5, parts[0].size", "charge.no_tube"},
		{`, "length": "60 ft"`, ``, "line 5, parts[0].length", "charge.length_missing"},
		{`"condenser"`, `"condensr"`, "line 5, parts[1].kind", "word.unknown"},
		{`"volume": "6 L"`, `"volume": "6 L", "size": "1/2 in"`, "line 5, parts[1].volume", "charge.size_twice"},
		{`, "volume": "6 L"`, ``, "line 5, parts[1].volume", "charge.size_missing"},
		{`"bubbling"`, `"milky"`, "line 7, seen.glass", "word.unknown"},
		{`"subcooling": "3 K"`, `"subcooling": 3`, "line 7, seen.subcooling", "json.text_wanted"},
		{`"flooding"`, `"flood"`, "line 2, machine.head_control", "reading.no_answer"},
		{`"application"`, `"aplication"`, "line 2, machine.aplication", "json.no_key"},
		{`"now": "27 lb", `, ``, "line 9, log[0].now", "charge.gross_missing"},
		{`"gross": "60 lb"`, `"gross": "20 lb"`, "line 11, cylinder.gross", "charge.gross_below_tare"},
		{`"tare": "26 lb", `, ``, "line 11, cylinder.tare", "charge.tare_missing"},
		{`"scale"`, `"scales"`, "line 10, scales", "json.no_key"},
	} {
		bad := strings.Replace(goodCharge, c.old, c.new, 1)
		if bad == goodCharge {
			t.Fatalf("%q is not in the example", c.old)
		}
		_, err := ReadCharge([]byte(bad))
		var e *fail.Error
		if !errors.As(err, &e) || noColumn.ReplaceAllString(e.Field, "") != c.field || e.Key != c.says {
			t.Errorf("%s: %v, want %q and %s", c.new, err, c.field, c.says)
		}
	}
	for _, text := range []string{
		`{}`, `{"machine": {"refrigerant": "R-404A"}}`,
		`{"machine": {"refrigerant": "R-404A"}, "at": {"ambient": "80 F"}}`, `{"machine": 3}`,
	} {
		if _, err := ReadCharge([]byte(text)); fail.CodeOf(err) == fail.Internal {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func FuzzReadCharge(f *testing.F) {
	// Short seeds: long ones keep a short run busy with shrinking.
	for _, s := range []string{
		`{"machine":{"refrigerant":"R-22"},"nameplate":"9 lb","at":{"ambient":"8 F"}}`,
		`{"machine":{},"at":{},"parts":[{"kind":"drier","volume":"1 L"}]}`,
		`{"machine":{},"at":{},"parts":[{"kind":"condenser","size":"1/2 in","length":"6 ft"}]}`,
		`{"log":[{"before":"9 kg","now":"8 kg","tare":"1 oz"}],"hoses":"2 oz"}`,
		`{"cylinder":{"water_capacity":"47 lb","tare":"26 lb","gross":"3 kg"}}`, `{"seen":{"glass":"clear","subcooling":"3 K"}}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		j, err := ReadCharge(text)
		if err != nil {
			if fail.CodeOf(err) == fail.Internal {
				t.Fatalf("an error without code: %v", err)
			}
			return
		}
		for _, p := range j.Machine.Parts {
			if !(p.Volume >= 0 && p.Volume <= 20) {
				t.Fatalf("%+v", p)
			}
		}
		if p, err := charge.Weigh(j.Machine.Full, 0, 0, 0, j.Log, j.Hoses, j.Scale); err == nil && !(p.StillU >= 0 && p.Still == p.Still) {
			t.Fatalf("%+v", p)
		}
	})
}

// noColumn takes the column out of a place; lines and keys are told here.
var noColumn = regexp.MustCompile(`, column \d+`)
