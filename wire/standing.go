package wire

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/proof/standing"
	"coldwright/units"
)

// Standing is the answer of a standing-pressure test.
func Standing(h standing.Result) any {
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
		Change       *uncertain         `json:"corrected_change_kpa"`
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
		Unseen       *float64           `json:"not_seen_g_per_year"`
		TightBelow   *float64           `json:"tight_below_g_per_year"`
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
		Unseen:       h.Unseen,
		TightBelow:   h.TightBelow,
		Left:         h.MinutesLeft,
		Cautions:     append([]string{}, h.Cautions...),
		Findings:     append([]string{}, h.Findings...),
	}
	if h.N > 1 {
		out.Change = &uncertain{h.Change.Value / units.Kilo, h.Change.U / units.Kilo}
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
		out.Leaks[l.Refrigerant] = leak{l.Viscous, l.Molecular, kpa(l.Working)}
	}
	return out
}

func kpa(p units.Pressure) float64 { return float64(p) / units.Kilo }

// uncertain is a value with its standard uncertainty.
type uncertain struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

// ReadStanding reads a table with the columns minute (or time, RFC 3339), pressure_kpa (absolute) or pressure_psig, and
// gas_c or gas_f, or gas_1_c, gas_2_c … A column barometer_kpa beside pressure_psig takes the place of the site's
// ambient pressure.
//
//   - in: CSV with dot decimals; ambient pressure of the site
//   - out: the points; whether the gauge read against an unread barometer
//   - errors: [*fail.Error] naming line and column
//   - source: definition
func ReadStanding(r io.Reader, ambient units.Pressure) (points []standing.Point, gauge bool, err error) {
	const columns = "minute or time; pressure_kpa (absolute) or pressure_psig; gas_c or gas_f, or gas_1_c, gas_2_c …; barometer_kpa"
	gasName := func(k int, f bool) string {
		s := "gas_"
		if k > 0 {
			s += fmt.Sprint(k) + "_"
		}
		if f {
			return s + "f"
		}
		return s + "c"
	}
	var isGas []string
	for k := range 21 {
		isGas = append(isGas, gasName(k, false), gasName(k, true))
	}
	t, err := table.Open(r, func(h string) bool {
		return slices.Contains([]string{"minute", "time", "pressure_kpa", "pressure_psig", "barometer_kpa"}, h) || slices.Contains(isGas, h)
	}, columns)
	if err != nil {
		return nil, false, err
	}
	if err := cmp.Or(t.OneOf("minute", "time"), t.OneOf("pressure_kpa", "pressure_psig")); err != nil {
		return nil, false, err
	}
	gauge = t.Has("pressure_psig")
	if !gauge && t.Has("barometer_kpa") {
		return nil, false, fail.Of(fail.BadData, "line 1", "standing.barometer_column", nil)
	}
	var gases []string
	for k := range 21 {
		c, f := t.Has(gasName(k, false)), t.Has(gasName(k, true))
		if c && f {
			return nil, false, fail.Of(fail.BadData, "line 1", "standing.gas_twice",
				fail.Args{"one": gasName(k, false), "other": gasName(k, true)})
		}
		if c || f {
			if k > 1 && len(gases) != k-1 || k > 0 && (t.Has("gas_c") || t.Has("gas_f")) {
				return nil, false, fail.Of(fail.BadData, "line 1", "standing.gas_hole",
					fail.Args{"column": gasName(k, f), "volumes": fail.Setting("volumes")})
			}
			gases = append(gases, gasName(k, f))
		}
	}
	if len(gases) == 0 {
		return nil, false, fail.Of(fail.BadData, "line 1", "standing.no_gas", fail.Args{"columns": columns})
	}
	for {
		ok, err := t.Next(len(points))
		if err != nil {
			return nil, false, err
		}
		if !ok {
			return points, gauge && !t.Has("barometer_kpa"), nil
		}
		var p standing.Point
		if p.Minute, err = t.Minute(); err != nil {
			return nil, false, err
		}
		name, outside := "pressure_kpa", ambient
		if gauge {
			name = "pressure_psig"
			b, ok, err := t.Number("barometer_kpa")
			if err != nil {
				return nil, false, err
			}
			if ok {
				if outside = units.Pressure(b * units.Kilo); outside < 30e3 || outside > 110e3 {
					return nil, false, fail.Of(fail.Range, t.Place("barometer_kpa"), "standing.barometer", fail.Args{"barometer": b})
				}
			}
		}
		v, ok, err := t.Number(name)
		if err != nil {
			return nil, false, err
		}
		if !ok {
			return nil, false, fail.Of(fail.Required, t.Place(name), "test.empty_gauge", nil)
		}
		if gauge {
			p.Pressure = units.Psig(v).Absolute(outside)
		} else {
			p.Pressure = units.Pressure(v * units.Kilo)
		}
		if !(p.Pressure >= 20e3 && p.Pressure <= 30e6) {
			return nil, false, fail.Of(fail.Range, t.Place(name), "standing.pressure", fail.Args{"pressure": v})
		}
		for _, g := range gases {
			v, ok, err := t.Number(g)
			if err != nil {
				return nil, false, err
			}
			if !ok {
				return nil, false, fail.Of(fail.Required, t.Place(g), "standing.empty_gas", nil)
			}
			x := units.Celsius(v)
			if strings.HasSuffix(g, "_f") {
				x = units.Fahrenheit(v)
			}
			if !(x >= 200 && x <= 400) {
				return nil, false, fail.Of(fail.Range, t.Place(g), "standing.gas_cannot_be", fail.Args{"gas": x})
			}
			p.Gas = append(p.Gas, x)
		}
		points = append(points, p)
	}
}
