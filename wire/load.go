package wire

import (
	"coldwright/machine/boxload"
	"coldwright/machine/reading"
	"coldwright/units"
)

// LoadItem is one thing that warms a room.
type LoadItem struct {
	Kind  string  `json:"kind"`
	Name  string  `json:"name,omitempty"`
	W     float64 `json:"heat_w"`
	U     float64 `json:"u_w"`
	Share float64 `json:"share"`
}

// LoadMachine is what the machine carries of it.
type LoadMachine struct {
	Source       string   `json:"source"`
	Expected     float64  `json:"expected_w"`
	ExpectedU    float64  `json:"expected_u_w"`
	Measured     *float64 `json:"measured_w"`
	MeasuredU    *float64 `json:"measured_u_w"`
	Power        *float64 `json:"compressor_power_w"`
	MassFlow     *float64 `json:"mass_flow_kg_s"`
	Extrapolated bool     `json:"extrapolated"`
	Hours        float64  `json:"hours_needed_per_day"`
	Available    float64  `json:"hours_available_per_day"`
	PBox         float64  `json:"p_box_too_much"`
	PShort       float64  `json:"p_short"`
	PWeak        *float64 `json:"p_machine_weak"`
}

// LoadExcess is how much the room is too much for a sound machine.
type LoadExcess struct {
	Share float64 `json:"share"`
	U     float64 `json:"u"`
	Unit  string  `json:"unit"`
}

// LoadAnswer is the answer of `load`.
type LoadAnswer struct {
	Room      float64           `json:"room_c"`
	Items     []LoadItem        `json:"items"`
	Sum       float64           `json:"load_w"`
	U         float64           `json:"load_u_w"`
	Margin    float64           `json:"margin"`
	RunHours  float64           `json:"run_hours_per_day"`
	Required  float64           `json:"required_w"`
	Water     float64           `json:"water_kg_per_day"`
	FrostLeft float64           `json:"frost_left_kg_per_day"`
	Stopped   float64           `json:"defrost_h_per_day"`
	Doubt     *LoadItem         `json:"most_doubtful"`
	Machine   *LoadMachine      `json:"machine"`
	Verdict   *string           `json:"verdict"`
	Excess    *LoadExcess       `json:"excess_load"`
	Assumed   []reading.Assumed `json:"assumed"`
	Findings  []reading.Finding `json:"findings"`
	Reason    string            `json:"reason,omitempty"`
}

// NewLoad is the answer before a machine is held against it.
func NewLoad(job *boxload.Job, l *boxload.Load) *LoadAnswer {
	a := &LoadAnswer{
		Room:      units.Temp(job.Room.Inside.T).C(),
		Sum:       l.Sum,
		U:         l.U,
		Margin:    l.Margin,
		RunHours:  l.RunHours,
		Required:  l.Required,
		Water:     l.Water,
		FrostLeft: l.FrostLeft,
		Stopped:   l.StoppedH,
		Assumed:   append([]reading.Assumed{}, job.Assumed...),
		Findings:  append([]reading.Finding{}, l.Findings...),
		Reason:    "no machine is given, so there is no verdict",
	}
	item := func(it boxload.Item) LoadItem {
		out := LoadItem{Kind: it.Kind.String(), Name: it.Name, W: it.W, U: it.U}
		if l.Sum > 0 {
			out.Share = it.W / l.Sum
		}
		return out
	}
	for _, it := range l.Items {
		a.Items = append(a.Items, item(it))
	}
	if d, share := l.Doubt(); share > 0 {
		it := item(d)
		a.Doubt = &it
	}
	return a
}

// Judge adds the verdict on a machine. source says where its capacity comes from: stated, map or plate; p is what else
// a map says, nil without one.
func (a *LoadAnswer) Judge(source string, c *boxload.Capacity, p *boxload.Performance, v *boxload.Verdict) {
	m := &LoadMachine{
		Source: source, Expected: c.Expected, ExpectedU: c.ExpectedU, Extrapolated: c.Extrapolated,
		Hours: v.HoursNeeded, Available: v.HoursAvailable, PBox: v.PBoxTooMuch, PShort: v.PShort, PWeak: v.PMachineWeak,
	}
	if p != nil {
		m.Power, m.MassFlow = &p.Power, &p.MassFlow
	}
	if c.Measured > 0 {
		m.Measured, m.MeasuredU = &c.Measured, &c.MeasuredU
	}
	word := v.Outcome.String()
	a.Machine, a.Verdict, a.Reason = m, &word, ""
	a.Excess = &LoadExcess{v.ExcessShare, v.ExcessU, "share of what a sound machine carries"}
	if c.Extrapolated {
		a.Findings = append(a.Findings, reading.Finding{Code: boxload.MapExtrapolated, Severity: reading.Warn})
	}
}
