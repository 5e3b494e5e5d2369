package report

import (
	"strings"

	"coldwright/say/figure"
	"coldwright/say/text"
)

func proof(d Data) *Figure {
	marks := func(p Phase) []figure.Mark {
		if p.Posterior == nil {
			return nil
		}
		return figure.Marks(p.Posterior, p.Sheet, d.Lang)
	}
	before, after := marks(d.Before), marks(d.After)
	switch {
	case len(before) > 0 && len(after) > 0:
		f := figure.ProofData{ID: "proof", Before: before, After: after, Display: d.Display, Compact: true, Lang: d.Lang}
		return &Figure{d.say("proof", figure.TempUnit(d.Display)), f.Caption(), figure.Proof(f), f.Table()}
	case len(before)+len(after) > 0:
		f := figure.LadderData{ID: "ladder", Marks: append(before, after...), Display: d.Display, Compact: true, Lang: d.Lang}
		return &Figure{d.say("what_read", figure.TempUnit(d.Display)), f.Caption(), figure.Ladder(f), f.Table()}
	}
	return nil
}

func pull(d Data) *Figure {
	f := figure.PullDownData{ID: "pull", SetPoint: d.SetPoint, Display: d.Display, Compact: true, Lang: d.Lang}
	f.Points, f.Second = d.Before.PullDown, d.After.PullDown
	if len(f.Points) < 2 {
		f.Points, f.Second = d.After.PullDown, nil
	}
	if len(f.Points) < 2 {
		return nil
	}
	caption := d.say("pull_caption", f.Caption())
	if s := text.Faster(d.Faster, d.Display, d.Lang); s != "" {
		caption += " " + s
	}
	return &Figure{d.say("pull"), caption, figure.PullDown(f), f.Table()}
}

// cycle is the last cycle that was read: after the work, or as found.
func cycle(d Data) *Figure {
	for _, e := range []struct {
		phase Phase
		code  string
	}{{d.After, "cycle_after"}, {d.Before, "cycle_found"}} {
		f := figure.PHFrom(e.phase.Sheet, e.phase.Posterior, d.Chart, d.Display)
		f.ID, f.Compact, f.Lang = "cycle", true, d.Lang
		if f.Known() {
			return &Figure{d.say(e.code), strings.Join(append([]string{f.Caption()}, f.Notes()...), " "), figure.PH(f), f.Table()}
		}
	}
	return nil
}
