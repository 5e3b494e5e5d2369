package standing

import (
	"encoding/json"

	"coldwright/units"
)

// MarshalJSON writes the answer with the stable keys of the contract.
func (h Result) MarshalJSON() ([]byte, error) {
	type leak struct {
		Viscous   float64 `json:"viscous_g_per_year_per_litre"`
		Molecular float64 `json:"molecular_g_per_year_per_litre"`
		Working   float64 `json:"working_kpa"`
	}
	out := struct {
		Verdict      string             `json:"verdict"`
		Reason       string             `json:"reason,omitempty"`
		Points       int                `json:"points"`
		Span         float64            `json:"span_min"`
		First        float64            `json:"first_kpa"`
		Last         float64            `json:"last_kpa"`
		Expected     float64            `json:"expected_last_kpa"`
		Change       *Uncertain         `json:"corrected_change_kpa"`
		Interval     *[2]float64        `json:"corrected_change_90_kpa"`
		FlatRule     float64            `json:"flat_rule_change_kpa"`
		Z            float64            `json:"real_gas_factor"`
		Share        *float64           `json:"smallest_leak_seen_share_per_day"`
		Asked        float64            `json:"asked_share_per_day"`
		StdCC        *float64           `json:"smallest_leak_seen_std_cc_per_s"`
		Grams        map[string]float64 `json:"smallest_leak_seen_g_per_year"`
		PerLitre     map[string]float64 `json:"smallest_leak_seen_g_per_year_per_litre"`
		Leaks        map[string]leak    `json:"smallest_leak_assumptions,omitempty"`
		NoLeakReason string             `json:"smallest_leak_reason,omitempty"`
		Left         *float64           `json:"time_left_min"`
		Cautions     []string           `json:"cautions"`
		Findings     []string           `json:"findings"`
	}{
		Verdict:      h.Verdict.String(),
		Reason:       h.Reason,
		Points:       h.N,
		Span:         h.Span,
		First:        kpa(h.First),
		Last:         kpa(h.Last),
		Expected:     kpa(h.Expected),
		FlatRule:     h.FlatRule / units.Kilo,
		Z:            h.Z,
		Asked:        h.AskedShare,
		StdCC:        h.SmallestStdCC,
		NoLeakReason: h.NoLeakReason,
		Left:         h.MinutesLeft,
		Cautions:     append([]string{}, h.Cautions...),
		Findings:     append([]string{}, h.Findings...),
	}
	if h.N > 1 {
		out.Change = &Uncertain{h.Change.Value / units.Kilo, h.Change.U / units.Kilo}
		out.Interval = &[2]float64{h.Low / units.Kilo, h.High / units.Kilo}
		out.Share = &h.SmallestShare
	}
	if len(h.Leaks) > 0 {
		out.Grams = map[string]float64{}
	}
	for _, l := range h.Leaks {
		out.Grams[l.Refrigerant] = l.GramsPerYear
	}
	if len(h.PerLitre) > 0 {
		out.PerLitre, out.Leaks = map[string]float64{}, map[string]leak{}
	}
	for _, l := range h.PerLitre {
		out.PerLitre[l.Refrigerant] = l.GramsPerYear
		out.Leaks[l.Refrigerant] = leak{l.GramsPerYear, l.Molecular, kpa(l.Working)}
	}
	return json.Marshal(out)
}

func kpa(p units.Pressure) float64 { return float64(p) / units.Kilo }
