package boxload

import (
	"fmt"

	"coldwright/air"
	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The JSON form of a room. Values with a unit are text; counts, minutes and hours are numbers.
type (
	jsonRoom struct {
		Room      *jsonAir      `json:"room"`
		Outside   *jsonAir      `json:"outside"`
		Altitude  string        `json:"altitude"`
		Barometer string        `json:"barometer"`
		Box       *jsonBox      `json:"box"`
		Surfaces  []jsonSurface `json:"surfaces"`
		Doors     []jsonDoor    `json:"doors"`
		Changes   *jsonChanges  `json:"air_changes"`
		Products  []jsonProduct `json:"products"`
		People    []jsonSource  `json:"people"`
		Lights    []jsonSource  `json:"lights"`
		Fans      []jsonSource  `json:"fans"`
		Motors    []jsonSource  `json:"motors"`
		Heaters   []jsonSource  `json:"heaters"`
		Defrost   *jsonDefrost  `json:"defrost"`
		Coil      string        `json:"coil"`
		Margin    string        `json:"margin"`
		RunHours  float64       `json:"run_hours"`
		Machine   *jsonMachine  `json:"machine"`
	}
	jsonAir struct {
		T  string `json:"t"`
		RH string `json:"rh"`
	}
	jsonBox struct {
		Length        string `json:"length"`
		Width         string `json:"width"`
		Height        string `json:"height"`
		Walls         string `json:"walls"`
		Ceiling       string `json:"ceiling"`
		Floor         string `json:"floor"`
		Beyond        string `json:"beyond"`
		CeilingBeyond string `json:"ceiling_beyond"`
		Under         string `json:"under"`
	}
	jsonSurface struct {
		Name        string  `json:"name"`
		Kind        string  `json:"kind"`
		Area        string  `json:"area"`
		Perimeter   string  `json:"perimeter"`
		U           string  `json:"u"`
		DaysCold    float64 `json:"days_cold"`
		Beyond      string  `json:"beyond"`
		Sun         string  `json:"sun"`
		Uncertainty string  `json:"uncertainty"`
	}
	jsonDoor struct {
		Name        string   `json:"name"`
		Width       string   `json:"width"`
		Height      string   `json:"height"`
		Open        string   `json:"open"`
		Passages    float64  `json:"passages_per_day"`
		Seconds     float64  `json:"seconds_each"`
		Minutes     float64  `json:"open_min_per_day"`
		Protection  string   `json:"protection"`
		Beyond      *jsonAir `json:"beyond"`
		Uncertainty string   `json:"uncertainty"`
	}
	jsonChanges struct {
		Volume      string   `json:"volume"`
		PerDay      float64  `json:"per_day"`
		Beyond      *jsonAir `json:"beyond"`
		Uncertainty string   `json:"uncertainty"`
	}
	jsonProduct struct {
		Name          string  `json:"name"`
		PerDay        string  `json:"per_day"`
		In            string  `json:"in"`
		Out           string  `json:"out"`
		Water         string  `json:"water"`
		Bound         string  `json:"bound_water"`
		Freezing      string  `json:"freezing"`
		Above         string  `json:"c_above"`
		Below         string  `json:"c_below"`
		Latent        string  `json:"latent"`
		Packaging     string  `json:"packaging_per_day"`
		PackagingHeat string  `json:"c_packaging"`
		Stored        string  `json:"stored"`
		Respiration   string  `json:"respiration"`
		CO2           float64 `json:"respiration_mg_co2_kg_h"`
		Uncertainty   string  `json:"uncertainty"`
	}
	jsonSource struct {
		Name        string  `json:"name"`
		Power       string  `json:"power"`
		Count       float64 `json:"count"`
		Hours       float64 `json:"hours_per_day"`
		Uncertainty string  `json:"uncertainty"`
	}
	jsonDefrost struct {
		Kind        string  `json:"kind"`
		Power       string  `json:"power"`
		Minutes     float64 `json:"minutes"`
		PerDay      float64 `json:"per_day"`
		EndedBy     string  `json:"ended_by"`
		Drip        float64 `json:"drip_min"`
		Uncertainty string  `json:"uncertainty"`
	}
	jsonMachine struct {
		Capacity            string     `json:"capacity"`
		Uncertainty         string     `json:"uncertainty"`
		Map                 string     `json:"map"`
		Plate               *jsonPlate `json:"plate"`
		Ambient             string     `json:"ambient"`
		TD                  string     `json:"td"`
		Split               string     `json:"split"`
		Superheat           string     `json:"superheat"`
		Suction             string     `json:"suction_line"`
		Liquid              string     `json:"liquid_line"`
		Measured            string     `json:"measured"`
		MeasuredUncertainty string     `json:"measured_uncertainty"`
	}
	jsonPlate struct {
		Capacity    string `json:"capacity"`
		Refrigerant string `json:"refrigerant"`
		Application string `json:"application"`
		Box         string `json:"box"`
		Ambient     string `json:"ambient"`
		TD          string `json:"td"`
		Split       string `json:"split"`
	}
)

// Machine is what is known of the machine that carries the room.
type Machine struct {
	Capacity, RelU      float64 // W, as stated; relative standard uncertainty, 10 % where nobody says
	Map                 string
	Plate               *reading.Machine // with PlateCapacity at its design point
	PlateCapacity       float64
	Ambient             units.Temp
	TD, Split           units.TempDiff
	Superheat           units.TempDiff
	Suction, Liquid     units.Temp // zero where nobody measured
	Measured, MeasuredU float64    // W
}

// Job is a room with the machine on it.
type Job struct {
	Room    Room
	Machine *Machine
}

var surfaceKinds = []string{"", "wall", "ceiling", "floor", "slab", "glass"}

// Parse reads a room strictly: unknown keys, missing units and impossible values are errors that name line, field,
// value and what is allowed.
//
//   - in: JSON; see the example of the command load
//   - out: the room and its machine, in SI
//   - errors: [*fail.Error]
//   - assumes: a room of 90 % relative humidity where none is given, outside 55 %; a floor's ground at 13 °C (55 °F,
//     a maker's design figure)
//   - source: definition
func Parse(text []byte) (Job, error) {
	var j jsonRoom
	if err := strictjson.Decode(text, &j); err != nil {
		return Job{}, err
	}
	job, err := j.job()
	if err != nil {
		return Job{}, strictjson.Locate(text, err)
	}
	return job, nil
}

func (j *jsonRoom) job() (job Job, err error) {
	p := &units.Fields{}
	ambient := units.Atm
	switch {
	case j.Altitude != "" && j.Barometer != "":
		p.Fail("altitude", fail.Of(fail.BadData, "", "boxload.altitude_twice", nil))
	case j.Altitude != "":
		h := p.Opt("altitude", j.Altitude, units.ParseLength)
		if ambient, err = units.Atmosphere(h); err != nil {
			p.Fail("altitude", err)
		}
	case j.Barometer != "":
		if ambient, err = units.ParseBarometer(j.Barometer, ""); err != nil {
			p.Fail("barometer", err)
		}
	}
	moist := func(field string, a *jsonAir, rh float64) air.State {
		q := p.Under(field)
		if a == nil {
			p.Fail(field, fail.Of(fail.Required, "", "boxload.air_missing", nil))
			return air.State{}
		}
		T := q.Must("t", a.T, fail.Of(fail.Required, "", "boxload.air_temperature_missing", nil), units.TempValue)
		if a.RH != "" {
			rh = q.Opt("rh", a.RH, units.FractionValue)
		}
		p.Take(q)
		if p.Err != nil {
			return air.State{}
		}
		s, err := air.FromRH(T, rh, float64(ambient))
		if err != nil {
			p.Fail(field, fail.Of(fail.Range, "", "boxload.no_such_air", fail.Args{"why": err}))
		}
		return s
	}
	r := Room{Inside: moist("room", j.Room, 0.9)}
	outside := moist("outside", j.Outside, 0.55)
	if p.Err != nil {
		return Job{}, p.Err
	}
	beyond := func(q *units.Fields, a *jsonAir) air.State {
		if a == nil {
			return outside
		}
		at := p.At
		p.At = q.At
		s := moist("beyond", a, 0.55)
		p.At = at
		return s
	}
	if j.Box != nil {
		q := p.Under("box")
		r.Surfaces = j.Box.surfaces(q, units.Temp(outside.T))
		p.Take(q)
	}
	for i, s := range j.Surfaces {
		q := p.Under(fmt.Sprintf("surfaces[%d]", i))
		r.Surfaces = append(r.Surfaces, s.surface(q, units.Temp(outside.T)))
		p.Take(q)
	}
	for i, d := range j.Doors {
		q := p.Under(fmt.Sprintf("doors[%d]", i))
		door := Door{
			Name:   d.Name,
			Width:  q.Must("width", d.Width, fail.Of(fail.Required, "", "boxload.door_width_missing", nil), units.ParseSize),
			Height: q.Must("height", d.Height, fail.Of(fail.Required, "", "boxload.door_height_missing", nil), units.ParseSize),
			Protection: units.Word[Protection](
				q,
				"protection",
				d.Protection,
				protectionWords,
			),
			Beyond: beyond(q, d.Beyond),
			U:      q.Opt("uncertainty", d.Uncertainty, units.FractionValue),
		}
		q.Within("passages_per_day", d.Passages, 0, 1e4, "")
		q.Within("seconds_each", d.Seconds, 0, 3600, "s")
		q.Within("open_min_per_day", d.Minutes, 0, 1440, "min")
		switch used := d.Passages > 0 || d.Seconds > 0 || d.Minutes > 0; {
		case d.Open != "" && used:
			q.Fail("open", fail.Of(fail.BadData, "", "boxload.open_twice", nil))
		case d.Open != "":
			door.Open = q.Opt("open", d.Open, units.FractionValue)
		case !used:
			q.Fail(
				"open",
				fail.Of(fail.Required, "", "boxload.open_missing", nil),
			)
		case d.Passages > 0 && d.Seconds == 0:
			q.Fail(
				"seconds_each",
				fail.Of(fail.Required, "", "boxload.seconds_missing", nil),
			)
		default:
			door.Open = OpenShare(d.Passages, d.Seconds, d.Minutes, 24)
		}
		q.Within("width", door.Width, 0, 20, "m")
		q.Within("height", door.Height, 0, 20, "m")
		r.Doors = append(r.Doors, door)
		p.Take(q)
	}
	if c := j.Changes; c != nil {
		q := p.Under("air_changes")
		q.Within("per_day", c.PerDay, 0, 500, "")
		r.Changes = &Changes{
			Volume: q.Must("volume", c.Volume, fail.Of(fail.Required, "", "boxload.volume_missing", nil), units.ParseVolume),
			PerDay: c.PerDay,
			Beyond: beyond(q, c.Beyond),
			RelU:   q.Opt("uncertainty", c.Uncertainty, units.FractionValue),
		}
		p.Take(q)
	}
	for i, g := range j.Products {
		q := p.Under(fmt.Sprintf("products[%d]", i))
		r.Goods = append(r.Goods, g.goods(q))
		p.Take(q)
	}
	for _, list := range []struct {
		key   string
		kind  Kind
		items []jsonSource
	}{
		{"people", People, j.People},
		{"lights", Lights, j.Lights},
		{"fans", Fans, j.Fans},
		{"motors", Motors, j.Motors},
		{"heaters", Heaters, j.Heaters},
	} {
		for i, s := range list.items {
			q := p.Under(fmt.Sprintf("%s[%d]", list.key, i))
			src := Source{
				Name:  s.Name,
				Kind:  list.kind,
				Count: s.Count,
				Hours: s.Hours,
				RelU:  q.Opt("uncertainty", s.Uncertainty, units.FractionValue),
			}
			if list.kind == People {
				src.Power = q.Opt("power", s.Power, units.ParsePower)
			} else {
				src.Power = q.Must("power", s.Power, fail.Of(fail.Required, "", "boxload.power_missing", nil), units.ParsePower)
			}
			q.Within("count", s.Count, 0, 1e4, "")
			q.Within("hours_per_day", s.Hours, 0, 24, "")
			if s.Hours == 0 {
				q.Fail("hours_per_day", fail.Of(fail.Required, "", "boxload.hours_missing", nil))
			}
			r.Sources = append(r.Sources, src)
			p.Take(q)
		}
	}
	if d := j.Defrost; d != nil {
		q := p.Under("defrost")
		def := Defrost{
			Kind:    units.Word[DefrostKind](q, "kind", d.Kind, defrostWords),
			Power:   q.Opt("power", d.Power, units.ParsePower),
			Minutes: d.Minutes,
			PerDay:  d.PerDay,
			DripMin: d.Drip,
			U:       q.Opt("uncertainty", d.Uncertainty, units.FractionValue),
		}
		def.ByTemp = units.Word[int](q, "ended_by", d.EndedBy, []string{"", "clock", "thermostat"}) == 2
		q.Within("minutes", d.Minutes, 1, 600, "min")
		q.Within("per_day", d.PerDay, 0.1, 48, "")
		q.Within("drip_min", d.Drip, 0, 60, "min")
		if def.Kind == DefrostUnknown {
			q.Fail("kind", fail.Of(fail.Required, "", "boxload.defrost_missing", nil))
		}
		if def.Kind != OffCycle && def.Power == 0 {
			q.Fail("power", fail.Of(fail.Required, "", "boxload.heaters_missing", nil))
		}
		r.Defrosts = []Defrost{def}
		p.Take(q)
	}
	r.CoilT = units.Temp(p.Opt("coil", j.Coil, units.TempValue))
	r.Margin, r.RunHours = 0.1, j.RunHours // 10 % margin: usual, from memory
	if j.Margin != "" {
		r.Margin = p.Opt("margin", j.Margin, units.FractionValue)
	}
	if j.RunHours != 0 {
		p.Within("run_hours", j.RunHours, 1, 24, "h")
	}
	job.Room = r
	if j.Machine != nil {
		q := p.Under("machine")
		job.Machine = j.Machine.machine(q)
		p.Take(q)
	}
	return job, p.Err
}

func (b *jsonBox) surfaces(q *units.Fields, outside units.Temp) []Surface {
	length := q.Must("length", b.Length, fail.Of(fail.Required, "", "boxload.length_missing", nil), units.ParseSize)
	width := q.Must("width", b.Width, fail.Of(fail.Required, "", "boxload.inside_missing", nil), units.ParseSize)
	height := q.Must("height", b.Height, fail.Of(fail.Required, "", "boxload.inside_missing", nil), units.ParseSize)
	around, above, under := outside, outside, units.Celsius(13)
	for _, t := range []struct {
		field, text string
		to          []*units.Temp
	}{
		{"beyond", b.Beyond, []*units.Temp{&around, &above}},
		{"ceiling_beyond", b.CeilingBeyond, []*units.Temp{&above}},
		{"under", b.Under, []*units.Temp{&under}},
	} {
		if t.text != "" {
			for _, to := range t.to {
				*to = units.Temp(q.Opt(t.field, t.text, units.TempValue))
			}
		}
	}
	noU := fail.Of(fail.Required, "", "boxload.u_missing", nil)
	out := []Surface{
		{Kind: Wall, Area: 2 * (length + width) * height, U: q.Must("walls", b.Walls, noU, units.ParseTransmittance), Beyond: around},
		{Kind: Ceiling, Area: length * width, U: q.Must("ceiling", b.Ceiling, noU, units.ParseTransmittance), Beyond: above},
	}
	if b.Floor == "bare slab" {
		if b.Under == "" {
			under = around // of a slab the mean temperature around the room counts
		}
		return append(
			out,
			Surface{Kind: Slab, Area: length * width, U: SlabU(max(length*width, 1e-6), max(2*(length+width), 1e-6), 0, 0), Beyond: under},
		)
	}
	return append(
		out,
		Surface{
			Kind:   Floor,
			Area:   length * width,
			U:      q.Must("floor", b.Floor, fail.Of(fail.Required, "", "boxload.floor_missing", nil), units.ParseTransmittance),
			Beyond: under,
		},
	)
}

func (s *jsonSurface) surface(q *units.Fields, outside units.Temp) Surface {
	out := Surface{
		Name:   s.Name,
		Kind:   units.Word[Kind](q, "kind", s.Kind, surfaceKinds),
		Area:   q.Must("area", s.Area, fail.Of(fail.Required, "", "boxload.area_missing", nil), units.ParseArea),
		Beyond: outside,
		Sun:    units.TempDiff(q.Opt("sun", s.Sun, units.DiffValue)),
		RelU:   q.Opt("uncertainty", s.Uncertainty, units.FractionValue),
	}
	if s.Kind == "" {
		q.Fail("kind", fail.Of(fail.Required, "", "boxload.kind_missing", nil))
	}
	if s.Beyond != "" {
		out.Beyond = units.Temp(q.Opt("beyond", s.Beyond, units.TempValue))
	}
	if out.Kind != Slab {
		out.U = q.Must("u", s.U, fail.Of(fail.Required, "", "boxload.u_missing", nil), units.ParseTransmittance)
		return out
	}
	// A slab: insulation in place of a U value, none for bare concrete.
	q.Within("days_cold", s.DaysCold, 0, 36525, "days")
	r := 0.0
	if u := q.Opt("u", s.U, units.ParseTransmittance); u > 0 {
		r = 1 / u
	}
	per := q.Must("perimeter", s.Perimeter, fail.Of(fail.Required, "", "boxload.perimeter_missing", nil), units.ParseSize)
	if q.Err == nil {
		if !(out.Area > 0 && per > 0) {
			q.Fail("area", fail.Of(fail.Range, "", "boxload.slab", nil))
			return out
		}
		out.U = SlabU(out.Area, per, r, s.DaysCold)
	}
	return out
}

func (g *jsonProduct) goods(q *units.Fields) Goods {
	out := Goods{
		Name:      g.Name,
		PerDay:    q.Opt("per_day", g.PerDay, units.MassValue),
		Packaging: q.Opt("packaging_per_day", g.Packaging, units.MassValue),
		Stored:    q.Opt("stored", g.Stored, units.MassValue),
		RelU:      q.Opt("uncertainty", g.Uncertainty, units.FractionValue),
		Respiration: q.Opt(
			"respiration",
			g.Respiration,
			units.ParseHeatRate,
		),
		PackagingHeat: q.Opt("c_packaging", g.PackagingHeat, units.ParseSpecificHeat),
		Out:           units.Temp(q.Opt("out", g.Out, units.TempValue)),
		Food: Food{
			Water: q.Opt(
				"water",
				g.Water,
				units.FractionValue,
			),
			Bound:    q.Opt("bound_water", g.Bound, units.FractionValue),
			Freezing: units.Celsius(-2),
			Above: q.Opt(
				"c_above",
				g.Above,
				units.ParseSpecificHeat,
			),
			Below:  q.Opt("c_below", g.Below, units.ParseSpecificHeat),
			Latent: q.Opt("latent", g.Latent, units.ParseEnthalpy),
		},
	}
	q.Within("respiration_mg_co2_kg_h", g.CO2, 0, 2000, "")
	if g.CO2 > 0 {
		if g.Respiration != "" {
			q.Fail(
				"respiration",
				fail.Of(fail.BadData, "", "boxload.respiration_twice", nil),
			)
		}
		out.Respiration = RespirationHeat(g.CO2)
	}
	if out.Stored > 0 && out.Respiration == 0 {
		q.Fail(
			"respiration",
			fail.Of(fail.Required, "", "boxload.respiration_missing", nil),
		)
	}
	if g.Freezing != "" {
		out.Food.Freezing = units.Temp(q.Opt("freezing", g.Freezing, units.TempValue))
	}
	if out.PerDay > 0 || out.Packaging > 0 {
		out.In = units.Temp(q.Must("in", g.In, fail.Of(fail.Required, "", "boxload.goods_in_missing", nil), units.TempValue))
	}
	if out.PerDay > 0 && g.Water == "" && g.Above == "" && g.Below == "" {
		q.Fail(
			"water",
			fail.Of(fail.Required, "", "boxload.product_missing", nil),
		)
	}
	if out.Packaging > 0 && out.PackagingHeat == 0 {
		q.Fail("c_packaging", fail.Of(fail.Required, "", "boxload.packaging_missing", nil))
	}
	if out.Food.Freezing.C() > 0 {
		q.Fail("freezing", fail.Of(fail.Range, "", "boxload.freezing", nil))
	}
	return out
}
