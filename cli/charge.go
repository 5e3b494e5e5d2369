package cli

import (
	"fmt"
	"io"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type chargeCmd struct {
	File string `arg:"" help:"Machine, parts and scale in JSON; - is standard input." placeholder:"FILE.json"`
	answered
}

// Run reckons the charge.
func (c *chargeCmd) Run(env *Env) error {
	lang, b, err := c.begin(env, c.File)
	if err != nil {
		return err
	}
	job, err := wire.ReadCharge(b)
	if err != nil {
		return at2(c.File, err)
	}
	if job.Machine.Fit, err = fits()(job.Machine.Plate.Refrigerant); err != nil {
		return at2(c.File, strictjson.Locate(b, at("machine.refrigerant", err)))
	}
	a, err := wire.ReckonCharge(&job)
	if err != nil {
		return at2(c.File, strictjson.Locate(b, physics(err)))
	}
	return c.end(env, a, func(w io.Writer, d units.Display) error { return printCharge(w, a, lang, d) })
}

func printCharge(w io.Writer, a *wire.ChargeAnswer, lang text.Language, d units.Display) error {
	h := func(key string, args ...string) string { return text.Terminal(lang, "charge."+key, args...) }
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	percent := func(v float64) string { return units.Fixed(100*v, 0) + " %" }
	cells := func(first string, rest ...string) {
		s := "  " + pad(first, 28)
		for _, c := range rest {
			s += strings.Repeat(" ", max(1, 16-len([]rune(c)))) + c
		}
		line("%s", s)
	}
	head := h("parts", mass(a.Full), mass(a.FullU))
	if a.Basis == "plate" {
		head = h("plate", mass(a.Full))
	}
	line("%s: %s", a.Refrigerant, head)
	if a.ByParts != nil {
		line("%s", h("byparts", mass(*a.ByParts), mass(*a.ByPartsU)))
	}
	if s := a.Scale; s != nil {
		line("")
		line("%s", h("added", mass(s.Added), mass(s.AddedU)))
		if s.Still != nil {
			line("%s", h("still", mass(*s.Still), mass(*s.StillU)))
			if s.StopAt != nil {
				line("%s", h("stop", mass(*s.StopAt)))
			}
			line("%s", text.Sentence(lang, *s.Advice))
		}
	}
	if len(a.Parts) > 0 {
		line("\n%s\n", h("contents", d.FormatTemp(units.Celsius(*a.PartsAmbient), 0)))
		cells(h("part"), h("volume"), h("mass"), "± u")
		for _, p := range a.Parts {
			name := text.Word(lang, p.Kind)
			if p.Name != "" {
				name += ": " + p.Name
			}
			cells(name, units.Fixed(p.Volume*units.Kilo, 2), mass(p.Mass), mass(p.U))
		}
	}
	if a.WinterLack > 0 {
		line("\n%s\n", h("curve"))
		cells(h("outside"), h("flooded"), h("needed"), h("spare"))
		for _, n := range a.Needed {
			cells(d.FormatTemp(units.Celsius(n.Ambient), 0), percent(n.Flooded), mass(n.Mass), mass(n.Spare))
		}
	}
	line("")
	if a.ReceiverLimit != nil {
		line("%s", h("receiver", mass(*a.ReceiverLimit), d.FormatTemp(units.Fahrenheit(90), 0)))
	}
	line("%s", wrap(text.Sentence(lang, a.Method), "", 80))
	if a.Target != nil {
		line("%s", h("target", d.FormatDiff(units.TempDiff(*a.Target), 0), d.FormatDiff(units.TempDiff(*a.TargetU), 0)))
	}
	if c := a.Cylinder; c != nil {
		for _, s := range text.CylinderFill(&c.Fill, d, lang) {
			line("%s", wrap(s, "", 80))
		}
	}
	line("\n%s", h("noticed"))
	for _, f := range a.Findings {
		line("%s", wrap(text.Say(lang, f, d, units.Atm), "  ", 80))
	}
	line("\n%s", h("u"))
	_, err := io.WriteString(w, b.String())
	return err
}
