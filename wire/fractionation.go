package wire

import (
	"errors"

	"coldwright/refrigerant"
	"coldwright/units"
)

// Share is a component of a blend.
type Share struct {
	Designation string  `json:"designation"`
	Mass        float64 `json:"mass_fraction"`
}

func shares(parts []refrigerant.Part) []Share {
	var out []Share
	for _, p := range parts {
		out = append(out, Share{p.Designation, p.MassFraction})
	}
	return out
}

// ShiftStep is the vessel at one moment. Event is leak, last_liquid (the leak goes on with vapour of one composition) or recharge.
type ShiftStep struct {
	Event        string   `json:"event"`
	Cycle        int      `json:"cycle"`
	Removed      float64  `json:"removed_fraction"`
	Mass         float64  `json:"mass_kg"`
	Pressure     float64  `json:"pressure_kpa"`
	LiquidVolume float64  `json:"liquid_volume_fraction"`
	Composition  []Share  `json:"composition"`
	Liquid       []Share  `json:"liquid"`
	Vapour       []Share  `json:"vapour"`
	Dew          *float64 `json:"dew_c"`
	Bubble       *float64 `json:"bubble_c"`
	DewError     *float64 `json:"dew_error_k"`
	BubbleError  *float64 `json:"bubble_error_k"`
	DewKpa       *float64 `json:"dew_kpa"`
	BubbleKpa    *float64 `json:"bubble_kpa"`
	Glide        *float64 `json:"glide_k_at_101kpa"`
	Reason       string   `json:"reason,omitempty"`
}

// ShiftAnswer is the answer of `fractionate`.
type ShiftAnswer struct {
	Refrigerant  string      `json:"refrigerant"`
	Grade        string      `json:"grade"`
	Phase        string      `json:"phase"`
	TemperatureC float64     `json:"temperature_c"`
	Charge       float64     `json:"charge_kg"`
	Volume       float64     `json:"volume_m3"`
	CardKpa      float64     `json:"card_pressure_kpa"`
	CardDew      float64     `json:"card_dew_c"`
	CardBubble   float64     `json:"card_bubble_c"`
	Steps        []ShiftStep `json:"steps"`
}

// NewShiftStep is the vessel at a step of a leak, beside what the card of the nominal blend says at pressure p; say puts
// a failure in words.
func NewShiftStep(
	nominal *refrigerant.Refrigerant,
	l refrigerant.Leak,
	p float64,
	s refrigerant.LeakStep,
	event string,
	cycle int,
	say func(error) string,
) ShiftStep {
	out := ShiftStep{
		Event: event, Cycle: cycle, Removed: s.Removed, Mass: s.Mass, Pressure: s.P / units.Kilo, LiquidVolume: s.LiquidVolume,
		Composition: shares(s.Left.Composition()), Liquid: shares(s.Liquid), Vapour: shares(s.Vapour),
	}
	ptr := func(v float64) *float64 { return &v }
	note := func(err error) {
		if out.Reason == "" {
			out.Reason = say(err)
		}
	}
	o := refrigerant.Options{}
	if d, b, err := nominal.CardError(s.Left, p); err != nil {
		note(err)
	} else {
		dew, err1 := s.Left.DewP(p, o)
		bubble, err2 := s.Left.BubbleP(p, o)
		if err := errors.Join(err1, err2); err != nil {
			note(err)
		} else {
			out.Dew, out.Bubble, out.DewError, out.BubbleError = ptr(units.Temp(dew.T).C()), ptr(units.Temp(bubble.T).C()), ptr(d), ptr(b)
		}
	}
	if e, err := s.Left.DewT(l.T, o); err != nil {
		note(err)
	} else {
		out.DewKpa = ptr(e.P / units.Kilo)
	}
	if e, err := s.Left.BubbleT(l.T, o); err != nil {
		note(err)
	} else {
		out.BubbleKpa = ptr(e.P / units.Kilo)
	}
	if g, err := s.Left.GlideAt101(); err != nil {
		note(err)
	} else {
		out.Glide = ptr(g)
	}
	return out
}
