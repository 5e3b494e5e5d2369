package casebook

import (
	"math"
	"slices"
	"testing"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

func places(s reading.Sheet) []string {
	var out []string
	for _, r := range s.Readings {
		out = append(out, r.At.String())
	}
	return out
}

// TestVisits_Seeded: a seed always gives the same visits, more of them begin with the same, and a world with other
// laws meets the same machines on the same days with other readings where its laws differ. Definition.
func TestVisits_Seeded(t *testing.T) {
	cat, _ := fault.Shipped()
	var fits Fits
	draw := func(w World, n int) []Visit {
		v, err := w.Visits(5, n, &cat, &fits)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	see := View{Set: Full, OnFile: true}
	of := func(list []Visit, c fault.Code) []Visit {
		return slices.DeleteFunc(slices.Clone(list), func(v Visit) bool { return v.Truth() != c })
	}
	a, b := draw(World{Kind: WalkIn, Law: Spread}, 2), draw(World{Kind: WalkIn, Law: Spread}, 3)
	other := draw(World{Kind: WalkIn, Law: Different}, 2)
	moved := 0
	for _, c := range append([]fault.Code{fault.Healthy}, Truths(WalkIn)...) {
		x, y, z := of(a, c), of(b, c), of(other, c)
		for i := range x {
			r, q := x[i].Sheet(see), y[i].Sheet(see)
			if !slices.Equal(r.Readings, q.Readings) || !slices.Equal(r.HealthyVisits[0].Readings, q.HealthyVisits[0].Readings) ||
				r.Seen != q.Seen {
				t.Errorf("%s: visit %d differs between counts", c, i)
			}
			u := z[i].Sheet(see)
			if u.Machine.Refrigerant == r.Machine.Refrigerant && !slices.Equal(u.Readings, r.Readings) {
				moved++
			}
		}
	}
	if moved < len(a)/2 {
		t.Errorf("other laws changed the readings of %d visits of %d", moved, len(a))
	}
}

// TestWorlds: every kind of machine can be visited with every cause it can have. Definition.
func TestWorlds(t *testing.T) {
	cat, _ := fault.Shipped()
	var fits Fits
	for _, k := range Kinds() {
		v, err := World{Kind: k, Law: Spread}.Visits(1, 1, &cat, &fits)
		if err != nil {
			t.Fatal(err)
		}
		if len(v) != 3+len(Truths(k)) {
			t.Errorf("%s: %d visits", k, len(v))
		}
		sum := cat.HealthyRate
		for _, c := range Truths(k) {
			sum += BaseRate(&cat, k, c)
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: base rates of what is simulated add up to %.3f", k, sum)
		}
	}
}

// TestSheet_View: a view shows what it names, today and on file, and a lying box thermometer alone unless a second
// one is asked for. Definition.
func TestSheet_View(t *testing.T) {
	cat, _ := fault.Shipped()
	var fits Fits
	row, _ := cat.Find(fault.BoxThermometer)
	w := World{Kind: WalkIn, Law: Spread}
	list, err := w.VisitsOf(1, 1, &fits, 1, row)
	if err != nil {
		t.Fatal(err)
	}
	healthy, err := w.VisitsOf(1, 1, &fits, 0)
	if err != nil {
		t.Fatal(err)
	}
	if z := list[0].Causes[0].Z; math.Abs(z) < 1 {
		t.Errorf("asked for errors of one standard deviation and more, got %.2f", z)
	}
	for _, c := range []struct {
		v    *Visit
		see  View
		want []string
	}{
		{&healthy[0], View{Set: 'a'}, []string{"box_air", "ambient", "suction_pressure", "discharge_pressure"}},
		{&list[0], View{Set: 'a'}, []string{"box_display", "ambient", "suction_pressure", "discharge_pressure"}},
		{&list[0], View{Set: 'a', Second: true}, []string{"box_air", "box_display", "ambient", "suction_pressure", "discharge_pressure"}},
		{
			&healthy[0],
			View{Set: 'a', With: []string{"amps"}, Drop: []string{"ambient"}},
			[]string{"box_air", "suction_pressure", "discharge_pressure", "amps"},
		},
		{
			&healthy[0],
			View{Set: 'b', OnFile: true},
			[]string{"box_air", "ambient", "suction_pressure", "discharge_pressure", "coil_outlet_line", "liquid_line"},
		},
	} {
		s := c.v.Sheet(c.see)
		if got := places(s); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v, want %v", c.see, got, c.want)
		}
		if s.Seen.Glass == 0 || s.Seen.CoilIce != 0 {
			t.Errorf("%+v: seen %+v", c.see, s.Seen)
		}
		if c.see.OnFile != (len(s.HealthyVisits) == 1) || c.see.OnFile && !slices.Equal(places(s.HealthyVisits[0]), c.want) {
			t.Errorf("%+v: visits on file %d", c.see, len(s.HealthyVisits))
		}
	}
	if got := len((View{Set: Full}).Readings()); got != 3+2+2+2+5+2+3 {
		t.Errorf("the full set has %d readings", got)
	}
}
