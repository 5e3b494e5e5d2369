package wire

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/machine/boxload"
	"coldwright/say/text"
	"coldwright/units"
)

const goodRoom = `{
 "room": {"t": "0 F"}, "outside": {"t": "75 F", "rh": "55 %"},
 "box": {"length": "10 ft", "width": "8 ft", "height": "8 ft", "walls": "R-32", "ceiling": "R-32", "floor": "bare slab"},
 "doors": [{"width": "3 ft", "height": "6.5 ft", "passages_per_day": 40, "seconds_each": 20, "protection": "strip curtain"}],
 "products": [{"name": "meat", "per_day": "100 lb", "in": "10 F", "water": "72 %"}],
 "people": [{"hours_per_day": 1}], "lights": [{"power": "60 W", "hours_per_day": 4}], "fans": [{"power": "90 W", "count": 2, "hours_per_day": 22}],
 "defrost": {"kind": "electric", "power": "2 kW", "minutes": 25, "per_day": 3, "ended_by": "thermostat", "drip_min": 5},
 "machine": {"map": "R-404A low scroll 9300", "td": "10 F", "split": "20 F", "ambient": "95 F", "measured": "2 kW"}
}`

func TestReadRoom_Good(t *testing.T) {
	j, err := ReadRoom([]byte(goodRoom))
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Room.Load()
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Items) != 10 || !(l.Sum > 500 && l.Sum < 3000) {
		t.Errorf("%d items, %.0f W", len(l.Items), l.Sum)
	}
	c, p, err := j.Machine.FromMap(units.Temp(j.Room.Inside.T))
	if err != nil || !(c.Expected > 2000 && c.Expected < 6000) || p.Extrapolated {
		t.Errorf("%+v %+v %v", c, p, err)
	}
	if _, err := l.Judge(c); err != nil {
		t.Error(err)
	}
}

// What a room does not say stands in the job, with its place and its reason, and counts as if it had been said.
func TestReadRoom_Assumed(t *testing.T) {
	bare := `{
 "room": {"t": "1 C"}, "outside": {"t": "30 C"},
 "box": {"length": "6 m", "width": "5 m", "height": "4 m", "walls": "R-25", "ceiling": "R-25", "floor": "R-25"},
 "doors": [{"width": "1 m", "height": "2 m", "open": "3 %"}, {"width": "1 m", "height": "2 m", "open": "3 %", "beyond": {"t": "20 C"}}],
 "air_changes": {"volume": "40 m3", "per_day": 2, "beyond": {"t": "20 C"}},
 "products": [{"per_day": "10 kg", "in": "10 C", "water": "70 %", "freezing": "-1 C"}, {"per_day": "10 kg", "in": "10 C", "water": "70 %"}],
 "machine": {"map": "R-404A low scroll 9300", "td": "10 K", "split": "20 K", "ambient": "95 F", "measured": "2 kW"}
}`
	said := strings.NewReplacer(
		`"1 C"`, `"1 C", "rh": "90 %"`, `"30 C"`, `"30 C", "rh": "55 %"`, `"20 C"`, `"20 C", "rh": "55 %"`,
		`"floor": "R-25"`, `"floor": "R-25", "under": "13 C"`, `"70 %"}],`, `"70 %", "freezing": "-2 C"}], "coil": "-4.6 C", "margin": "10 %",`,
		`"td": "10 K"`, `"td": "10 K", "superheat": "7 K", "uncertainty": "10 %", "measured_uncertainty": "15 %"`,
	).Replace(bare)
	read := func(text string) (boxload.Job, boxload.Load) {
		j, err := ReadRoom([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		l, err := j.Room.Load()
		if err != nil {
			t.Fatal(err)
		}
		return j, l
	}
	a, la := read(bare)
	b, lb := read(said)
	var got []string
	for _, x := range a.Assumed {
		got = append(got, fmt.Sprintf("%s %.1f %s", x.Field, x.Value, x.Unit))
		if !strings.HasPrefix(x.Why, "not said; ") {
			t.Errorf("%s: no reason: %q", x.Field, x.Why)
		}
		for _, l := range text.Languages() {
			if s := text.Assumed(x, units.Metric(), l); strings.ContainsAny(s, "_.[") {
				t.Errorf("%s in %s: %q", x.Field, l, s)
			}
		}
	}
	want := []string{
		"room.rh 0.9 share", "outside.rh 0.6 share", "box.under 13.0 C", "doors[1].beyond.rh 0.6 share", "air_changes.beyond.rh 0.6 share",
		"products[1].freezing -2.0 C", "coil -4.6 C", "margin 0.1 share",
		"machine.measured_uncertainty 0.1 share", "machine.superheat 7.0 K", "machine.uncertainty 0.1 share",
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("assumed %q\nwant    %q", got, want)
	}
	if len(b.Assumed) != 0 {
		t.Errorf("everything is said, and %+v is assumed", b.Assumed)
	}
	testkit.Near(t, "said as assumed", lb.Sum, la.Sum, 1e-9, "the same room")
}

// Each wrong line of a room is named with its line, field and what is allowed.
func TestReadRoom_NamesWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ old, new, field, says string }{
		{`"t": "0 F"`, `"t": "0"`, "line 2, room.t", "units.no_unit"},
		{`"0 F"`, `"-400 F"`, "line 2, room", "boxload.no_such_air"},
		{`"55 %"`, `"155 %"`, "line 2, outside.rh", "units.fraction"},
		{`"length"`, `"lenght"`, "line 3, box.lenght", "json.no_key"},
		{`"8 ft", "walls"`, `"8 parsec", "walls"`, "line 3, box.height", "units.other_unit"},
		{`"R-32", "ceiling"`, `"R-x", "ceiling"`, "line 3, box.walls", "units.insulation"},
		{`, "floor": "bare slab"`, ``, "line 3, box.floor", "boxload.floor_missing"},
		{`"seconds_each": 20, `, ``, "line 4, doors[0].seconds_each", "boxload.seconds_missing"},
		{`"passages_per_day": 40, "seconds_each": 20, `, ``, "line 4, doors[0].open", "boxload.open_missing"},
		{`"passages_per_day": 40`, `"open": "3 %", "passages_per_day": 40`, "line 4, doors[0].open", "boxload.open_twice"},
		{`strip curtain`, `beads`, "line 4, doors[0].protection", "word.unknown"},
		{`, "water": "72 %"`, ``, "line 5, products[0].water", "boxload.product_missing"},
		{`"in": "10 F", `, ``, "line 5, products[0].in", "boxload.goods_in_missing"},
		{`"hours_per_day": 1}`, `"hours_per_day": 25}`, "line 6, people[0].hours_per_day", "units.within"},
		{`"power": "60 W", `, ``, "line 6, lights[0].power", "boxload.power_missing"},
		{`"power": "2 kW", `, ``, "line 7, defrost.power", "boxload.heaters_missing"},
		{`"minutes": 25`, `"minutes": 0`, "line 7, defrost.minutes", "units.within"},
		{`"map": "R-404A low scroll 9300", `, ``, "line 8, machine.capacity", "boxload.capacity_sources"},
		{`"td": "10 F", `, ``, "line 8, machine.td", "boxload.td_missing"},
		{`"measured": "2 kW"`, `"measured": 2`, "line 8, machine.measured", "json.text_wanted"},
		{`{"t": "75 F"`, `{"t": 75`, "line 2, outside.t", "json.text_wanted"},
	} {
		bad := strings.Replace(goodRoom, c.old, c.new, 1)
		if bad == goodRoom {
			t.Fatalf("%q is not in the example", c.old)
		}
		_, err := ReadRoom([]byte(bad))
		var e *fail.Error
		if !errors.As(err, &e) || noColumn.ReplaceAllString(e.Field, "") != c.field || e.Key != c.says {
			t.Errorf("%s: %v, want %q and %s", c.new, err, c.field, c.says)
		}
	}
	j, err := ReadRoom([]byte(strings.Replace(goodRoom, "scroll 9300", "scroll 1", 1)))
	if err != nil {
		t.Fatal(err)
	}
	var e *fail.Error
	if _, _, err := j.Machine.FromMap(250); !errors.As(err, &e) || e.Code != fail.NotFound ||
		!slices.Contains(e.Args["keys"].([]string), "R-404A low scroll 9300") {
		t.Errorf("an unknown map: %v", err)
	}
}

func FuzzReadRoom(f *testing.F) {
	f.Add([]byte(goodRoom))
	f.Add(
		[]byte(
			`{"room": {"t": "2 C"}, "outside": {"t": "30 C"}, "air_changes": {"volume": "40 m3", "per_day": 12},
			 "surfaces": [{"kind": "slab", "area": "9 m2", "perimeter": "12 m"}]}`,
		),
	)
	f.Fuzz(func(t *testing.T, text []byte) {
		j, err := ReadRoom(text)
		if err != nil {
			if fail.CodeOf(err) == fail.Internal {
				t.Fatalf("an error without code: %v", err)
			}
			return
		}
		if l, err := j.Room.Load(); err == nil && !(l.Sum == l.Sum && l.U >= 0 && l.Required >= 0) {
			t.Fatalf("%+v", l)
		}
	})
}

// A tutorial that is wrong in print: a room of 6 × 5 × 4 m, U 0.28, 30 to 1 °C, "113 m², 22 kWh a day". Its own
// surfaces, added up by the room as walls and ceiling, give 118 m² and 23.0.
func TestTutorial_Misprint(t *testing.T) {
	j, err := ReadRoom([]byte(`{
 "room": {"t": "1 C"}, "outside": {"t": "30 C"},
 "box": {"length": "6 m", "width": "5 m", "height": "4 m", "walls": "0.28 W/m2K", "ceiling": "0.28 W/m2K", "floor": "0.28 W/m2K", "under": "1 C"}
}`))
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Room.Load()
	if err != nil {
		t.Fatal(err)
	}
	area := 0.0
	for _, x := range j.Room.Surfaces {
		if x.Kind != boxload.Floor {
			area += x.Area
		}
	}
	testkit.Near(t, "walls and roof", area, 118, 1e-9, "geometry; the tutorial prints 113")
	testkit.Near(t, "kWh a day", l.Sum*24/1000, 23.0, 0.05, "recalculation; the tutorial prints 22")
}
