package units

import (
	"math"
	"testing"

	"coldwright/fail"
)

func TestFields_KeepsTheFirstFailureWithItsPlace(t *testing.T) {
	var f Fields
	q := f.Under("doors[0]")
	if v := q.Must("width", "3 ft", nil, ParseSize); math.Abs(v-3*Foot) > 1e-12 || q.Err != nil {
		t.Errorf("%v %v", v, q.Err)
	}
	if q.Opt("height", "", ParseSize) != 0 || q.Err != nil {
		t.Errorf("a missing optional value: %v", q.Err)
	}
	q.Within("count", 5, 0, 3, "pieces")
	q.Must("height", "", fail.Of(fail.Required, "", "some.height", nil), ParseSize)
	f.Take(q)
	f.Take(f.Under("later"))
	e, ok := f.Err.(*fail.Error)
	if !ok || e.Field != "doors[0].count" || e.Error() != "doors[0].count: units.within (max=3, min=0, unit=pieces, value=5)" {
		t.Errorf("%v", f.Err)
	}
	var g Fields
	if Word[int](&g, "kind", "wall", []string{"", "floor", "wall"}) != 2 || Word[int](&g, "kind", "", []string{"", "x"}) != 0 ||
		g.Err != nil {
		t.Error("words")
	}
	Word[int](&g, "kind", "roof", []string{"", "floor", "wall"})
	if g.Err == nil || g.Err.Error() != "kind: word.unknown (text=roof, words=[floor wall])" {
		t.Errorf("%v", g.Err)
	}
	var h Fields
	if math.Abs(h.Opt("t", "32 F", TempValue)-273.15) > 1e-9 || math.Abs(h.Opt("d", "9 F", DiffValue)-5) > 1e-12 ||
		h.Opt("m", "1 kg", MassValue) != 1 ||
		h.Opt("s", "50 %", FractionValue) != 0.5 ||
		h.Err != nil {
		t.Errorf("values: %v", h.Err)
	}
}
