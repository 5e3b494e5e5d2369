package wire

import (
	"cmp"
	"io"
	"slices"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/proof/vacuum"
	"coldwright/units"
)

// ReadVacuum reads a table with the columns minute (or time, RFC 3339) and micron or pa.
//
//   - in: CSV with dot decimals
//   - out: the points
//   - errors: [*fail.Error] naming line and column
//   - source: definition
func ReadVacuum(r io.Reader) ([]vacuum.Point, error) {
	const columns = "minute or time; micron or pa (both absolute)"
	t, err := table.Open(r, func(h string) bool { return slices.Contains([]string{"minute", "time", "micron", "pa"}, h) }, columns)
	if err != nil {
		return nil, err
	}
	if err := cmp.Or(t.OneOf("minute", "time"), t.OneOf("micron", "pa")); err != nil {
		return nil, err
	}
	name, scale := "micron", units.Micron
	if t.Has("pa") {
		name, scale = "pa", 1
	}
	var out []vacuum.Point
	for {
		ok, err := t.Next(len(out))
		if err != nil {
			return nil, err
		}
		if !ok {
			return out, nil
		}
		var p vacuum.Point
		if p.Minute, err = t.Minute(); err != nil {
			return nil, err
		}
		v, ok, err := t.Number(name)
		if err != nil {
			return nil, err
		}
		if !ok {
			return nil, fail.Of(fail.Required, t.Place(name), "test.empty_gauge", nil)
		}
		if p.Pressure = units.Pressure(v * scale); !(p.Pressure >= 0 && p.Pressure <= 120e3) {
			return nil, fail.Of(fail.Range, t.Place(name), "vacuum.typed", fail.Args{"pressure": v})
		}
		out = append(out, p)
	}
}

// Vacuum is the answer of a vacuum rise test.
func Vacuum(r vacuum.Result) any {
	type grams struct {
		Value float64 `json:"value"`
		High  float64 `json:"high"`
	}
	type labelled struct {
		uncertain
		Low  float64 `json:"low"`
		High float64 `json:"high"`
		Unit string  `json:"unit"`
	}
	label := func(p vacuum.Part, unit string) *labelled {
		return &labelled{uncertain{p.Value, p.U}, p.Low, p.High, unit}
	}
	out := struct {
		Verdict     string           `json:"verdict"`
		Reason      string           `json:"reason,omitempty"`
		Points      int              `json:"points"`
		Span        float64          `json:"span_min"`
		First       float64          `json:"first_micron"`
		Last        float64          `json:"last_micron"`
		Leak        *labelled        `json:"leak_part"`
		Moisture    *labelled        `json:"moisture_part"`
		Horizon     float64          `json:"moisture_part_at_min"`
		PLeak       *float64         `json:"p_leak"`
		PMoisture   *float64         `json:"p_moisture"`
		Tau         *float64         `json:"levelling_min"`
		AllowedLeak float64          `json:"allowed_leak_micron_per_min"`
		AllowedRise float64          `json:"allowed_rise_micron"`
		Dry         *float64         `json:"dryness_limit_micron"`
		Flow        *float64         `json:"leak_pa_m3_per_s"`
		StdCC       *float64         `json:"leak_std_cc_per_s"`
		Water       *float64         `json:"water_vapour_g"`
		Grams       map[string]grams `json:"leak_g_per_year"`
		Unseen      *float64         `json:"not_seen_g_per_year"`
		TightBelow  *float64         `json:"tight_below_g_per_year"`
		Profile     vacuum.Profile   `json:"profile"`
		Left        *float64         `json:"time_left_min"`
		Findings    []string         `json:"findings"`
	}{
		Verdict:     r.Verdict.String(),
		Reason:      r.Reason,
		Points:      r.N,
		Span:        r.Span,
		First:       micron(r.First),
		Last:        micron(r.Last),
		Horizon:     r.Horizon,
		AllowedLeak: r.AllowedLeak,
		AllowedRise: r.AllowedRise,
		Flow:        r.Flow,
		StdCC:       r.StdCC,
		Water:       r.WaterGrams,
		Unseen:      r.Unseen,
		TightBelow:  r.TightBelow,
		Profile:     r.Profile,
		Left:        r.MinutesLeft,
		Findings:    append([]string{}, r.Findings...),
	}
	if r.N >= 4 {
		out.Leak, out.Moisture = label(r.Leak, "micron/min"), label(r.Moisture, "micron")
		out.PLeak, out.PMoisture = &r.PLeak, &r.PMoisture
	}
	if r.Tau > 0 {
		out.Tau = &r.Tau
	}
	if r.DryLimit != nil {
		v := micron(*r.DryLimit)
		out.Dry = &v
	}
	for i, l := range r.Leaks {
		if out.Grams == nil {
			out.Grams = map[string]grams{}
		}
		out.Grams[l.Refrigerant] = grams{l.GramsPerYear, r.LeaksHigh[i].GramsPerYear}
	}
	return out
}

func micron(p units.Pressure) float64 { return float64(p) / units.Micron }
