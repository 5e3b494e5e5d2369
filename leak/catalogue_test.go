package leak

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func TestShipped_Sound(t *testing.T) {
	c := catalogue(t)
	// The suggested shares of the house reference add up to one on a machine without open drive and accumulator, and evaporator, box joints and box valve
	// hold about a fifth, as the survey that counted 21 % in display cases.
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
	used := map[string]bool{}
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
	if !used["francis2017"] || !used["block2006"] || !used["en14624"] {
		t.Error("the main sources are not used")
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
		{`"weight": 0.14`, `"wait": 0.14`, "unknown field"},
		{`"key": "flare_low"`, `"key": "flare_high"`, "twice"},
		{`"side": "high"`, `"side": "middle"`, "not a word"},
		{`"threshold": 5,`, `"threshold": -5,`, "above 0"},
		{`"threshold": 5,`, `"threshold": 1e999,`, "cannot unmarshal"},
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
