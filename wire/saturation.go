package wire

import (
	"coldwright/refrigerant"
	"coldwright/units"
)

// SaturationAnswer is the answer of `sat`.
type SaturationAnswer struct {
	Refrigerant  string   `json:"refrigerant"`
	PressureKpa  *float64 `json:"pressure_kpa,omitempty"`
	DewC         *float64 `json:"dew_c,omitempty"`
	BubbleC      *float64 `json:"bubble_c,omitempty"`
	GlideK       *float64 `json:"glide_k,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	DewKpa       *float64 `json:"dew_kpa,omitempty"`
	BubbleKpa    *float64 `json:"bubble_kpa,omitempty"`
	RhoLiquid    float64  `json:"rho_liquid_kg_m3"`
	RhoVapour    float64  `json:"rho_vapour_kg_m3"`
	HLiquid      float64  `json:"h_liquid_kj_kg"`
	HVapour      float64  `json:"h_vapour_kj_kg"`
	Method       string   `json:"method"`
	Reference    string   `json:"reference"`
	Grade        string   `json:"grade"`
}

// Saturation is both saturation points at a pressure (Pa) or, ByT, at a temperature (K). Liquid is that of the bubble
// point, vapour that of the dew point: bulk composition. SI.
type Saturation struct {
	Value                                  float64
	ByT                                    bool
	Dew, Bubble                            float64 // K at a pressure, Pa at a temperature
	RhoLiquid, RhoVapour, HLiquid, HVapour float64
	Method                                 string
}

// Answer is the document of the saturation of a refrigerant.
func (s Saturation) Answer(r *refrigerant.Refrigerant, o refrigerant.Options) SaturationAnswer {
	a := SaturationAnswer{
		Refrigerant: r.Designation(),
		RhoLiquid:   s.RhoLiquid,
		RhoVapour:   s.RhoVapour,
		HLiquid:     s.HLiquid / units.Kilo,
		HVapour:     s.HVapour / units.Kilo,
		Method:      s.Method,
		Reference:   r.ReferenceUsed(o).String(),
	}
	a.Grade, _ = r.Grade()
	ptr := func(v float64) *float64 { return &v }
	if s.ByT {
		a.TemperatureC, a.DewKpa, a.BubbleKpa = ptr(units.Temp(s.Value).C()), ptr(s.Dew/units.Kilo), ptr(s.Bubble/units.Kilo)
	} else {
		a.PressureKpa, a.DewC, a.BubbleC, a.GlideK = ptr(s.Value/units.Kilo), ptr(units.Temp(s.Dew).C()), ptr(units.Temp(s.Bubble).C()),
			ptr(s.Dew-s.Bubble)
	}
	return a
}
