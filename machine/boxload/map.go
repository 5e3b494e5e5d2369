package boxload

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
)

//go:embed maps.csv
var mapsCSV string

// Cubic is a polynomial of third degree in two temperatures in °C, in the order of AHRI 540.
type Cubic [10]float64

// At evaluates the polynomial.
//
//   - in: s, d, dew temperatures at suction and discharge, °C
//   - out: W
//   - source: AHRI 540 ten-coefficient form, as written in the EnergyPlus Engineering Reference
func (c *Cubic) At(s, d float64) float64 {
	return c[0] + c[1]*s + c[2]*d + c[3]*s*s + c[4]*s*d + c[5]*d*d + c[6]*s*s*s + c[7]*d*s*s + c[8]*s*d*d + c[9]*d*d*d
}

// Map is the performance of a compressor.
type Map struct {
	Key, Refrigerant, Class string
	Capacity, Power         Cubic
	SMin, SMax, DMin, DMax  units.Temp
	ReturnGas               units.Temp // suction gas of the rating; subcooling of the rating is zero
	PrintedCapacity         float64    // W, as printed by the maker at the rating point
	PrintedPower            float64    // W
	RatedS, RatedD          units.Temp
}

// Maps reads the compressor maps on file. Makers' names are left out; a key is refrigerant, class, kind and nominal capacity in Btu/h.
func Maps() ([]Map, error) {
	r := csv.NewReader(strings.NewReader(mapsCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	var out []Map
	for _, row := range rows[1:] {
		var v [18]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[4+i], 64); err != nil {
				return nil, fmt.Errorf("boxload: maps.csv: %s: %w", row[0], err)
			}
		}
		if row[3] == "capacity" {
			out = append(out, Map{
				Key:             row[0],
				Refrigerant:     row[1],
				Class:           row[2],
				SMin:            units.Celsius(v[10]),
				SMax:            units.Celsius(v[11]),
				DMin:            units.Celsius(v[12]),
				DMax:            units.Celsius(v[13]),
				ReturnGas:       units.Celsius(v[14]),
				PrintedCapacity: v[15] * units.BtuPerH,
				RatedS:          units.Celsius(v[16]),
				RatedD:          units.Celsius(v[17]),
				Capacity:        Cubic(v[:10]),
			})
			continue
		}
		m := &out[len(out)-1]
		if m.Key != row[0] {
			return nil, fmt.Errorf("boxload: maps.csv: power of %s without its capacity", row[0])
		}
		m.Power, m.PrintedPower = Cubic(v[:10]), v[15]*units.Kilo
	}
	return out, nil
}

// Duty is the state a compressor works in.
type Duty struct {
	S, D    units.Temp // dew at suction and discharge
	Suction units.Temp // gas entering the compressor
	Coil    units.Temp // gas leaving the coil: what is warmer than this was not cooling the room
	Liquid  units.Temp // liquid before the valve
}

// Performance is what a compressor does in a duty.
type Performance struct {
	Map          float64 // W, capacity as the map has it, at its own return gas and no subcooling
	Capacity     float64 // W, useful in the coil
	Power        float64 // W
	MassFlow     float64 // kg/s
	Extrapolated bool    // outside the limits of the map
}

// At evaluates a map in a duty.
//
//		m = m_map · ρ(p_s, T_suction)/ρ(p_s, T_return),  Q = m (h(p_s, T_coil) − h(p_d, T_liquid))
//
//	  - in: r, the refrigerant of the map; the duty, with S < D, suction and coil not below S, liquid not above the bubble temperature at D
//	  - out: the performance
//	  - errors: what the refrigerant refuses; a duty that contradicts itself
//	  - assumes: the swept volume stays filled alike, so mass flow follows density
//	  - source: density and enthalpy correction of the EnergyPlus Engineering Reference, refrigeration compressors
//	  - cost: six states
func (m *Map) At(r *refrigerant.Refrigerant, d Duty) (Performance, error) {
	if !(d.S < d.D && d.Suction >= d.S && d.Coil >= d.S) {
		return Performance{}, fail.Of(fail.Range, "", "boxload.duty",
			fail.Args{"evaporating": d.S, "condensing": d.D, "coil": d.Coil, "suction": d.Suction})
	}
	o := refrigerant.Options{}
	low, err := r.DewT(float64(d.S), o)
	if err != nil {
		return Performance{}, err
	}
	high, err := r.DewT(float64(d.D), o)
	if err != nil {
		return Performance{}, err
	}
	bubble, err := r.BubbleP(high.P, o)
	if err != nil {
		return Performance{}, err
	}
	vapour := func(T units.Temp) (rho, h float64, err error) {
		if T <= d.S+1e-6 {
			return low.RhoVapour, low.HVapour, nil
		}
		s, err := r.StatePT(low.P, float64(T), o)
		return s.Rho, s.H, err
	}
	rhoMap, hMap, err := vapour(max(m.ReturnGas, d.S))
	if err != nil {
		return Performance{}, err
	}
	rho, _, err := vapour(d.Suction)
	if err != nil {
		return Performance{}, err
	}
	_, hCoil, err := vapour(d.Coil)
	if err != nil {
		return Performance{}, err
	}
	hLiquid := bubble.HLiquid
	if float64(d.Liquid) < bubble.T-1e-6 {
		s, err := r.StatePT(high.P, float64(d.Liquid), o)
		if err != nil {
			return Performance{}, err
		}
		hLiquid = s.H
	}
	s, c := d.S.C(), d.D.C()
	p := Performance{
		Map:          m.Capacity.At(s, c),
		Power:        m.Power.At(s, c),
		Extrapolated: d.S < m.SMin || d.S > m.SMax || d.D < m.DMin || d.D > m.DMax,
	}
	p.MassFlow = p.Map / (hMap - bubble.HLiquid) * rho / rhoMap
	p.Capacity = p.MassFlow * (hCoil - hLiquid)
	if !(p.Map > 0 && p.Power > 0 && p.Capacity > 0) {
		return Performance{}, fail.Of(fail.NoAnswer, "", "boxload.map_no_capacity",
			fail.Args{"map": m.Key, "evaporating": units.Celsius(s), "condensing": units.Celsius(c)})
	}
	return p, nil
}
