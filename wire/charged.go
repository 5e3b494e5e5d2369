package wire

import (
	"coldwright/machine/charge"
	"coldwright/machine/reading"
	"coldwright/units"
)

// ChargePart is a part of the circuit with what it holds.
type ChargePart struct {
	Kind   string  `json:"kind"`
	Name   string  `json:"name,omitempty"`
	Volume float64 `json:"volume_m3"`
	Mass   float64 `json:"mass_kg"`
	U      float64 `json:"u_kg"`
}

// ChargeNeed is what the machine needs at an outside temperature.
type ChargeNeed struct {
	Ambient    float64 `json:"ambient_c"`
	Condensing float64 `json:"condensing_c"`
	Flooded    float64 `json:"flooded_share"`
	Mass       float64 `json:"needed_kg"`
	U          float64 `json:"u_kg"`
	Spare      float64 `json:"spare_at_full_kg"`
	Subcooling float64 `json:"subcooling_k"`
}

// ChargeScale is where the scale stands.
type ChargeScale struct {
	Added      float64  `json:"added_kg"`
	AddedU     float64  `json:"added_u_kg"`
	Still      *float64 `json:"still_to_add_kg"`
	StillU     *float64 `json:"still_to_add_u_kg"`
	StopAt     *float64 `json:"stop_at_kg"`
	InCylinder *float64 `json:"in_cylinder_kg"`
	Advice     *string  `json:"advice"`
	Reason     string   `json:"reason,omitempty"`
}

// ChargeCylinder is how full the cylinder may get.
type ChargeCylinder struct {
	Limit  float64 `json:"limit_kg"`
	StopAt float64 `json:"stop_at_kg"`
	Room   float64 `json:"room_kg"`
	Full   float64 `json:"liquid_full_c"`
	// At the hottest it may get, and what it must be stamped with; nil where the refrigerant has no liquid there.
	Hottest  *float64 `json:"hottest_c"`
	HotLimit *float64 `json:"hot_limit_kg"`
	HotShare *float64 `json:"hot_liquid_share"`
	Service  *float64 `json:"needs_service_kpa"`
	Test     *float64 `json:"needs_test_kpa"`
	// Fill is the same for sentences.
	Fill charge.Fill `json:"-"`
}

// ChargeAnswer is the answer of `charge`.
type ChargeAnswer struct {
	Refrigerant   string            `json:"refrigerant"`
	Basis         string            `json:"basis"`
	Full          float64           `json:"full_kg"`
	FullU         float64           `json:"full_u_kg"`
	ByParts       *float64          `json:"by_parts_kg"`
	ByPartsU      *float64          `json:"by_parts_u_kg"`
	Parts         []ChargePart      `json:"parts"`
	PartsAmbient  *float64          `json:"parts_ambient_c"`
	Now           ChargeNeed        `json:"now"`
	Coldest       ChargeNeed        `json:"coldest"`
	WinterLack    float64           `json:"winter_lack_kg"`
	WinterLackU   float64           `json:"winter_lack_u_kg"`
	Needed        []ChargeNeed      `json:"needed"`
	ReceiverLimit *float64          `json:"receiver_limit_kg"`
	Method        string            `json:"method"`
	Target        *float64          `json:"target_subcooling_k"`
	TargetU       *float64          `json:"target_subcooling_u_k"`
	Scale         *ChargeScale      `json:"scale"`
	Cylinder      *ChargeCylinder   `json:"cylinder"`
	Assumed       []reading.Assumed `json:"assumed"`
	Findings      []reading.Finding `json:"findings"`
}

// ReckonCharge is the answer to a job whose machine has its fit.
//
//   - errors: as [charge.Machine.Reckon], [charge.Weigh] and [charge.Cylinder.Fill]
func ReckonCharge(job *charge.Job) (*ChargeAnswer, error) {
	r := job.Machine.Fit.Refrigerant()
	ans, err := job.Machine.Reckon(job.Seen)
	if err != nil {
		return nil, err
	}
	need := func(n charge.Need) ChargeNeed {
		return ChargeNeed{n.Ambient.C(), n.Condensing.C(), n.Flooded, n.Mass, n.U, ans.Full - n.Mass, n.Subcooling}
	}
	a := &ChargeAnswer{
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
		Parts:       []ChargePart{},
		Needed:      []ChargeNeed{},
	}
	for _, p := range ans.Parts {
		a.Parts = append(a.Parts, ChargePart{p.Part.Kind.String(), p.Part.Name, p.Part.Volume, p.Mass, p.U})
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
		a.Cylinder = cylinder(&f)
		a.Findings = append(f.Findings, a.Findings...)
	}
	return a, nil
}

// cylinder is how full one may get.
func cylinder(f *charge.Fill) *ChargeCylinder {
	out := &ChargeCylinder{Limit: f.Limit, StopAt: f.StopAt, Room: f.Room, Full: f.Full.C(), Fill: *f}
	if f.Hottest > 0 {
		c := f.Hottest.C()
		out.Hottest, out.HotLimit, out.HotShare = &c, &f.HotLimit, &f.HotShare
	}
	if kpa := f.NeedsService / units.Kilo; kpa > 0 {
		out.Service = &kpa
	}
	if kpa := f.NeedsTest / units.Kilo; kpa > 0 {
		out.Test = &kpa
	}
	return out
}

// weigh holds the scale against the full charge.
func (a *ChargeAnswer) weigh(job *charge.Job, ans *charge.Answer) error {
	before := 0.0
	if job.Before != nil {
		before = *job.Before
	}
	p, err := charge.Weigh(ans.Full, ans.FullU, before, job.BeforeU, job.Log, job.Hoses, job.Scale)
	if err != nil {
		return err
	}
	s := &ChargeScale{Added: p.Added, AddedU: p.AddedU}
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
