package leak

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func TestShipped_Sound(t *testing.T) {
	c := catalogue(t)
	// The shares add up to one on a machine without open drive and accumulator (definition), and evaporator, box joints
	// and box valve hold about a fifth, as the survey that counted 21 % in display cases.
	sum, box := 0.0, 0.0
	for _, p := range c.Places {
		if p.Needs == "open_drive" || p.Needs == "accumulator" {
			continue
		}
		sum += p.Weight
		if p.Area == "box" {
			box += p.Weight
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("weights add up to %g", sum)
	}
	if math.Abs(box-0.21) > 0.05 {
		t.Errorf("%.2f in the box, survey 0.21", box)
	}
	// Every source stands behind something.
	used := map[string]bool{}
	for _, list := range [][]string{
		c.NotListed.Sources, c.NoLeak.Sources, c.Size.Sources, c.Evidence.Sources,
	} {
		for _, s := range list {
			used[s] = true
		}
	}
	for _, p := range c.Places {
		for _, s := range p.Sources {
			used[s] = true
		}
	}
	for _, m := range c.Methods {
		for _, s := range m.Sources {
			used[s] = true
		}
	}
	for _, g := range c.Safeguards {
		for _, s := range g.Sources {
			used[s] = true
		}
	}
	for _, s := range c.Sources {
		if !used[s.Key] {
			t.Errorf("nothing rests on %s", s.Key)
		}
	}
	if got := strings.Join(c.SafeguardsAt("recover", true, false), " "); got != "recover_to_level verify_zero purge_before_cut" {
		t.Errorf("recovering a flammable: %s", got)
	}
	if got := strings.Join(c.SafeguardsAt("braze", false, true), " "); got != "open_path nitrogen_flow fire_watch panel_watch" {
		t.Errorf("brazing near panels: %s", got)
	}
}

func TestParseCatalogue_Refused(t *testing.T) {
	for _, c := range []struct{ old, new, says string }{
		{`"weight": 0.14`, `"weight": 14`, "out of range"},
		{`"weight": 0.14`, `"wait": 0.14`, "json.no_key"},
		{`"key": "flare_low"`, `"key": "flare_high"`, "twice"},
		{`"side": "high"`, `"side": "middle"`, "not a word"},
		{`"threshold": 5,`, `"threshold": -5,`, "above 0"},
		{`"threshold": 5,`, `"threshold": 1e999,`, "json.other_kind"},
		{`"evidence": "abstract"`, `"evidence": "hearsay"`, "evidence"},
		{`"key": "jpl"`, `"key": "jplx"`, "not listed"},
		{`"step": "braze"`, `"step": "dance"`, "not a word"},
		{`"bound": 0.25`, `"bound": 2`, "out of range"},
		{`"charge": [
        "refrigerant"
      ]`, `"charge": ["oxygen"]`, "not a word"},
	} {
		text := bytes.Replace(shipped, []byte(c.old), []byte(c.new), 1)
		if bytes.Equal(text, shipped) {
			t.Fatalf("%q is not in the file", c.old)
		}
		if _, err := ParseCatalogue(text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.new, err, c.says)
		}
	}
}

// Whatever is in the file, reading it ends with a catalogue that can be searched with or an error.
func FuzzParseCatalogue(f *testing.F) {
	f.Add(shipped)
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := ParseCatalogue(text)
		if err != nil {
			return
		}
		s := New(&c, Machine{Receiver: true, Earlier: map[string]int{c.Places[0].Key: 1}}, r404a, c.SizeFrom(4000, nil))
		for _, x := range s.Next(running(), nil, Machine{}, nil) {
			if math.IsNaN(x.Chance) || x.Chance < 0 || x.Chance > 1 {
				t.Errorf("%s: chance %g", x.Place.Key, x.Chance)
			}
		}
	})
}
