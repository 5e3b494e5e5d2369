package boxload

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/refrigerant"
	"coldwright/units"
)

func maps(t *testing.T) map[string]Map {
	t.Helper()
	list, err := Maps()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Map{}
	for _, m := range list {
		out[m.Key] = m
	}
	if len(out) != 15 || len(list) != 15 {
		t.Fatalf("%d maps, 15 expected", len(list))
	}
	return out
}

// Every map at its rating point against the capacity and power the maker prints beside it: rounded to three or two digits.
func TestMaps_PrintedNominal(t *testing.T) {
	for key, m := range maps(t) {
		s, d := m.RatedS.C(), m.RatedD.C()
		testkit.Near(t, key+" capacity", m.Capacity.At(s, d), m.PrintedCapacity, 0.006*m.PrintedCapacity, "printed nominal, EnergyPlus data set")
		testkit.Near(t, key+" power", m.Power.At(s, d), m.PrintedPower, 51, "printed to 0.1 kW, EnergyPlus data set")
	}
}

// Values from the coefficients worked out by hand elsewhere: order of coefficients.
func TestCubic_CheckValues(t *testing.T) {
	for _, c := range []struct {
		key                   string
		s, d, capacity, power float64
	}{
		{"R-404A low semi-hermetic 16300", -31.6667, 40.5556, 4790.5, 3363},
		{"R-404A med semi-hermetic 34600", -6.6667, 48.8889, 10132.5, 4473},
		{"R-22 med semi-hermetic 34900", -6.6667, 48.8889, 10224.7, 4038},
		{"R-404A low scroll 9300", -31.6667, 40.5556, 2737.9, 2072},
		{"R-134a high semi-hermetic 47700", 7.2222, 54.4444, 13964.1, 4426},
	} {
		m, ok := maps(t)[c.key]
		if !ok {
			t.Errorf("no map %s", c.key)
			continue
		}
		testkit.Near(t, c.key, m.Capacity.At(c.s, c.d), c.capacity, 0.1, "check table")
		testkit.Near(t, c.key, m.Power.At(c.s, c.d), c.power, 0.6, "check table")
	}
}

// Mass flow at the rating point, derived elsewhere from the same coefficients with a reference property library.
func TestMapAt_MassFlow(t *testing.T) {
	for _, c := range []struct {
		key  string
		flow float64
	}{{"R-404A low semi-hermetic 16300", 0.03666}, {"R-404A med semi-hermetic 34600", 0.09127}, {"R-134a high semi-hermetic 47700", 0.10389}} {
		m := maps(t)[c.key]
		r, err := refrigerant.Load(m.Refrigerant)
		if err != nil {
			t.Fatal(err)
		}
		p, err := m.At(r, Duty{S: m.RatedS, D: m.RatedD, Suction: m.ReturnGas, Coil: m.ReturnGas, Liquid: m.RatedD})
		if err != nil {
			t.Fatal(err)
		}
		testkit.Near(t, c.key, p.MassFlow, c.flow, 2e-3*c.flow, "derived with reference equations")
		testkit.Near(t, c.key+": at its rating a map is its own capacity", p.Capacity, p.Map, 1e-9*p.Map, "identity")
		// Colder gas is denser, colder liquid carries less back, and superheat outside the room does not cool it.
		cold, err1 := m.At(r, Duty{S: m.RatedS, D: m.RatedD, Suction: m.ReturnGas - 10, Coil: m.ReturnGas - 10, Liquid: m.RatedD - 10})
		outside, err2 := m.At(r, Duty{S: m.RatedS, D: m.RatedD, Suction: m.ReturnGas, Coil: m.RatedS + 5, Liquid: m.RatedD})
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if !(cold.MassFlow > p.MassFlow && cold.Capacity > p.Capacity && outside.MassFlow == p.MassFlow && outside.Capacity < p.Capacity) {
			t.Errorf("%s: %+v %+v %+v", c.key, p, cold, outside)
		}
	}
}

func TestMapAt_Refuses(t *testing.T) {
	m := maps(t)["R-404A low scroll 9300"]
	r, err := refrigerant.Load("R-404A")
	if err != nil {
		t.Fatal(err)
	}
	c := units.Celsius
	for _, d := range []Duty{
		{S: c(40), D: c(-20), Suction: c(50), Coil: c(50), Liquid: c(20)},
		{S: c(-20), D: c(40), Suction: c(-30), Coil: c(-10), Liquid: c(20)},
		{S: c(-20), D: c(90), Suction: c(0), Coil: c(-10), Liquid: c(20)},
		{S: units.Temp(math.NaN()), D: c(40), Suction: c(0), Coil: c(-10), Liquid: c(20)},
		{S: c(-120), D: c(40), Suction: c(0), Coil: c(-10), Liquid: c(20)},
	} {
		if p, err := m.At(r, d); err == nil {
			t.Errorf("%+v gives %+v", d, p)
		}
	}
	p, err := m.At(r, Duty{S: c(-45), D: c(40), Suction: c(0), Coil: c(-40), Liquid: c(30)})
	if err != nil || !p.Extrapolated {
		t.Errorf("below the limits of the map: %+v %v", p, err)
	}
}
