package cli

import (
	"fmt"
	"io"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/machine/charge"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type chargeCmd struct {
	File string `arg:"" help:"Machine, parts and scale in JSON; - is standard input." placeholder:"FILE.json"`
	answered
}

type chargePart struct {
	Kind   string  `json:"kind"`
	Name   string  `json:"name,omitempty"`
	Volume float64 `json:"volume_m3"`
	Mass   float64 `json:"mass_kg"`
	U      float64 `json:"u_kg"`
}

type chargeNeed struct {
	Ambient    float64 `json:"ambient_c"`
	Condensing float64 `json:"condensing_c"`
	Flooded    float64 `json:"flooded_share"`
	Mass       float64 `json:"needed_kg"`
	U          float64 `json:"u_kg"`
	Spare      float64 `json:"spare_at_full_kg"`
	Subcooling float64 `json:"subcooling_k"`
}

type chargeScale struct {
	Added      float64  `json:"added_kg"`
	AddedU     float64  `json:"added_u_kg"`
	Still      *float64 `json:"still_to_add_kg"`
	StillU     *float64 `json:"still_to_add_u_kg"`
	StopAt     *float64 `json:"stop_at_kg"`
	InCylinder *float64 `json:"in_cylinder_kg"`
	Advice     *string  `json:"advice"`
	Reason     string   `json:"reason,omitempty"`
}

type chargeCylinder struct {
	Limit  float64 `json:"limit_kg"`
	StopAt float64 `json:"stop_at_kg"`
	Room   float64 `json:"room_kg"`
	Full   float64 `json:"liquid_full_c"`
}

type chargeAnswer struct {
	Refrigerant   string            `json:"refrigerant"`
	Basis         string            `json:"basis"`
	Full          float64           `json:"full_kg"`
	FullU         float64           `json:"full_u_kg"`
	ByParts       *float64          `json:"by_parts_kg"`
	ByPartsU      *float64          `json:"by_parts_u_kg"`
	Parts         []chargePart      `json:"parts"`
	PartsAmbient  *float64          `json:"parts_ambient_c"`
	Now           chargeNeed        `json:"now"`
	Coldest       chargeNeed        `json:"coldest"`
	WinterLack    float64           `json:"winter_lack_kg"`
	WinterLackU   float64           `json:"winter_lack_u_kg"`
	Needed        []chargeNeed      `json:"needed"`
	ReceiverLimit *float64          `json:"receiver_limit_kg"`
	Method        string            `json:"method"`
	Target        *float64          `json:"target_subcooling_k"`
	TargetU       *float64          `json:"target_subcooling_u_k"`
	Scale         *chargeScale      `json:"scale"`
	Cylinder      *chargeCylinder   `json:"cylinder"`
	Assumed       []reading.Assumed `json:"assumed"`
	Findings      []reading.Finding `json:"findings"`
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
	a, err := reckonCharge(&job)
	if err != nil {
		return at2(c.File, strictjson.Locate(b, physics(err)))
	}
	return c.end(env, a, lang)
}

func reckonCharge(job *charge.Job) (*chargeAnswer, error) {
	r := job.Machine.Fit.Refrigerant()
	ans, err := job.Machine.Reckon(job.Seen)
	if err != nil {
		return nil, err
	}
	need := func(n charge.Need) chargeNeed {
		return chargeNeed{n.Ambient.C(), n.Condensing.C(), n.Flooded, n.Mass, n.U, ans.Full - n.Mass, n.Subcooling}
	}
	a := &chargeAnswer{
		Refrigerant: r.Designation(),
		Basis:       ans.Basis,
		Full:        ans.Full,
		FullU:       ans.FullU,
		Now:         need(ans.Now),
		Coldest:     need(ans.Coldest),
		WinterLack:  ans.WinterLack,
		WinterLackU: ans.WinterLackU,
		Method:      ans.Method.String(),
		Assumed:     append([]reading.Assumed{}, job.Assumed...),
		Findings:    ans.Findings,
		Parts:       []chargePart{},
		Needed:      []chargeNeed{},
	}
	for _, p := range ans.Parts {
		a.Parts = append(a.Parts, chargePart{p.Part.Kind.String(), p.Part.Name, p.Part.Volume, p.Mass, p.U})
	}
	if len(ans.Parts) > 0 {
		v := ans.PartsAt.C()
		a.PartsAmbient = &v
	}
	if n := ans.ByParts; n != nil {
		a.ByParts, a.ByPartsU = &n.Mass, &n.U
	}
	for _, n := range ans.Curve {
		a.Needed = append(a.Needed, need(n))
	}
	if ans.ReceiverLimit > 0 {
		a.ReceiverLimit = &ans.ReceiverLimit
	}
	if ans.Method == charge.BySubcooling {
		a.Target, a.TargetU = &ans.Target, &ans.TargetU
	}
	if job.Before != nil || len(job.Log) > 0 {
		if err := a.weigh(job, &ans); err != nil {
			return nil, err
		}
	}
	if job.Cylinder != nil {
		f, err := job.Cylinder.Fill(r)
		if err != nil {
			return nil, err
		}
		a.Cylinder = &chargeCylinder{f.Limit, f.StopAt, f.Room, f.Full.C()}
		a.Findings = append(f.Findings, a.Findings...)
	}
	return a, nil
}

// weigh holds the scale against the full charge.
func (a *chargeAnswer) weigh(job *charge.Job, ans *charge.Answer) error {
	before := 0.0
	if job.Before != nil {
		before = *job.Before
	}
	p, err := charge.Weigh(ans.Full, ans.FullU, before, job.BeforeU, job.Log, job.Hoses, job.Scale)
	if err != nil {
		return err
	}
	s := &chargeScale{Added: p.Added, AddedU: p.AddedU}
	a.Scale = s
	if job.Before == nil {
		s.Reason = "in_before is not given: nobody knows what was in the circuit"
		a.Findings = append(a.Findings, reading.Finding{Code: charge.StartUnknown, Severity: reading.Warn})
		return nil
	}
	word := p.Advice.String()
	s.Still, s.StillU, s.Advice = &p.Still, &p.StillU, &word
	if p.StopAt > 0 {
		s.StopAt = &p.StopAt
	}
	if p.InCylinder > 0 {
		s.InCylinder = &p.InCylinder
	}
	if p.RunsOut {
		a.Findings = append(
			a.Findings,
			reading.Finding{
				Code:     charge.RunsOut,
				Severity: reading.Warn,
				Args:     map[string]float64{"in_kg": p.InCylinder, "still_kg": p.Still},
			},
		)
	}
	return nil
}

func (a *chargeAnswer) print(w io.Writer, lang text.Language, d units.Display) error {
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
		line("%s", wrap(h("cylinder", mass(c.Limit), mass(c.StopAt)), "", 80))
	}
	line("\n%s", h("noticed"))
	for _, f := range a.Findings {
		line("%s", wrap(text.Say(lang, f, d, units.Atm), "  ", 80))
	}
	line("\n%s", h("u"))
	_, err := io.WriteString(w, b.String())
	return err
}
