package wire

import (
	"fmt"

	"coldwright/air"
	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/boxload"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The JSON form of a room. Values with a unit are text; counts, minutes and hours are numbers.
type (
	jsonRoom struct {
		Room      *jsonAir         `json:"room"`
		Outside   *jsonAir         `json:"outside"`
		Altitude  string           `json:"altitude"`
		Barometer string           `json:"barometer"`
		Box       *jsonBox         `json:"box"`
		Surfaces  []jsonSurface    `json:"surfaces"`
		Doors     []jsonDoor       `json:"doors"`
		Changes   *jsonChanges     `json:"air_changes"`
		Products  []jsonProduct    `json:"products"`
		People    []jsonSource     `json:"people"`
		Lights    []jsonSource     `json:"lights"`
		Fans      []jsonSource     `json:"fans"`
		Motors    []jsonSource     `json:"motors"`
		Heaters   []jsonSource     `json:"heaters"`
		Defrost   *jsonDefrost     `json:"defrost"`
		Coil      string           `json:"coil"`
		Margin    string           `json:"margin"`
		RunHours  float64          `json:"run_hours"`
		Machine   *jsonRoomMachine `json:"machine"`
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
	jsonRoomMachine struct {
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

const bareSlab = "bare slab" // the word for a floor without insulation

var surfaceKinds = []string{"", "wall", "ceiling", "floor", "slab", "glass"}

// ReadRoom reads a room strictly: unknown keys, missing units and impossible values are errors that name line, field,
// value and what is allowed.
//
//   - in: JSON; see the example of the command load
//   - out: the room and its machine, in SI
//   - errors: [*fail.Error]
//   - assumes: what the room does not say, listed in the job's Assumed with its reason
//   - source: definition
func ReadRoom(text []byte) (boxload.Job, error) {
	var j jsonRoom
	if err := strictjson.Decode(text, &j); err != nil {
		return boxload.Job{}, err
	}
	job, err := j.job()
	if err != nil {
		return boxload.Job{}, strictjson.Locate(text, err)
	}
	return job, nil
}

func (j *jsonRoom) job() (job boxload.Job, err error) {
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
	assume := func(field string, v float64) { job.Assumed = append(job.Assumed, boxload.Assume(field, v)) }
	moist := func(field string, a *jsonAir, rh float64) air.State {
		q := p.Under(field)
		if a == nil {
			p.Fail(field, fail.Of(fail.Required, "", "boxload.air_missing", nil))
			return air.State{}
		}
		T := q.Must("t", a.T, fail.Of(fail.Required, "", "boxload.air_temperature_missing", nil), units.TempValue)
		if a.RH != "" {
			rh = q.Opt("rh", a.RH, units.FractionValue)
		} else {
			assume(q.At+".rh", rh)
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
	r := boxload.Room{Inside: moist("room", j.Room, boxload.RoomRH)}
	outside := moist("outside", j.Outside, boxload.OutsideRH)
	if p.Err != nil {
		return boxload.Job{}, p.Err
	}
	beyond := func(q *units.Fields, a *jsonAir) air.State {
		if a == nil {
			return outside
		}
		at := p.At
		p.At = q.At
		s := moist("beyond", a, boxload.OutsideRH)
		p.At = at
		return s
	}
	if j.Box != nil {
		q := p.Under("box")
		r.Surfaces = j.Box.surfaces(q, units.Temp(outside.T))
		p.Take(q)
		if j.Box.Floor != bareSlab && j.Box.Under == "" {
			assume("box.under", boxload.GroundC)
		}
	}
	for i, s := range j.Surfaces {
		q := p.Under(fmt.Sprintf("surfaces[%d]", i))
		r.Surfaces = append(r.Surfaces, s.surface(q, units.Temp(outside.T)))
		p.Take(q)
	}
	for i, d := range j.Doors {
		q := p.Under(fmt.Sprintf("doors[%d]", i))
		door := boxload.Door{
			Name:   d.Name,
			Width:  q.Must("width", d.Width, fail.Of(fail.Required, "", "boxload.door_width_missing", nil), units.ParseSize),
			Height: q.Must("height", d.Height, fail.Of(fail.Required, "", "boxload.door_height_missing", nil), units.ParseSize),
			Protection: units.Word[boxload.Protection](
				q,
				"protection",
				d.Protection,
				boxload.ProtectionWords(),
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
			q.Fail("open", fail.Of(fail.Required, "", "boxload.open_missing", nil))
		case d.Passages > 0 && d.Seconds == 0:
			q.Fail("seconds_each", fail.Of(fail.Required, "", "boxload.seconds_missing", nil))
		default:
			door.Open = boxload.OpenShare(d.Passages, d.Seconds, d.Minutes, 24)
		}
		q.Within("width", door.Width, 0, 20, "m")
		q.Within("height", door.Height, 0, 20, "m")
		r.Doors = append(r.Doors, door)
		p.Take(q)
	}
	if c := j.Changes; c != nil {
		q := p.Under("air_changes")
		q.Within("per_day", c.PerDay, 0, 500, "")
		r.Changes = &boxload.Changes{
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
		if g.PerDay != "" && g.Freezing == "" {
			assume(q.At+".freezing", boxload.FreezingC)
		}
	}
	for _, list := range []struct {
		key   string
		kind  boxload.Kind
		items []jsonSource
	}{
		{"people", boxload.People, j.People},
		{"lights", boxload.Lights, j.Lights},
		{"fans", boxload.Fans, j.Fans},
		{"motors", boxload.Motors, j.Motors},
		{"heaters", boxload.Heaters, j.Heaters},
	} {
		for i, s := range list.items {
			q := p.Under(fmt.Sprintf("%s[%d]", list.key, i))
			src := boxload.Source{
				Name:  s.Name,
				Kind:  list.kind,
				Count: s.Count,
				Hours: s.Hours,
				RelU:  q.Opt("uncertainty", s.Uncertainty, units.FractionValue),
			}
			if list.kind == boxload.People {
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
		def := boxload.Defrost{
			Kind:    units.Word[boxload.DefrostKind](q, "kind", d.Kind, boxload.DefrostWords()),
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
		if def.Kind == boxload.DefrostUnknown {
			q.Fail("kind", fail.Of(fail.Required, "", "boxload.defrost_missing", nil))
		}
		if def.Kind != boxload.OffCycle && def.Power == 0 {
			q.Fail("power", fail.Of(fail.Required, "", "boxload.heaters_missing", nil))
		}
		r.Defrosts = []boxload.Defrost{def}
		p.Take(q)
	}
	r.CoilT = units.Temp(p.Opt("coil", j.Coil, units.TempValue))
	if j.Coil == "" {
		assume("coil", units.Temp(r.Inside.T).C()-boxload.CoilBelowK)
	}
	r.Margin, r.RunHours = boxload.Margin, j.RunHours
	if j.Margin != "" {
		r.Margin = p.Opt("margin", j.Margin, units.FractionValue)
	} else {
		assume("margin", r.Margin)
	}
	if j.RunHours != 0 {
		p.Within("run_hours", j.RunHours, 1, 24, "h")
	}
	job.Room = r
	if j.Machine != nil {
		q := p.Under("machine")
		job.Machine = j.Machine.machine(q, assume)
		p.Take(q)
	}
	return job, p.Err
}

func (b *jsonBox) surfaces(q *units.Fields, outside units.Temp) []boxload.Surface {
	length := q.Must("length", b.Length, fail.Of(fail.Required, "", "boxload.length_missing", nil), units.ParseSize)
	width := q.Must("width", b.Width, fail.Of(fail.Required, "", "boxload.inside_missing", nil), units.ParseSize)
	height := q.Must("height", b.Height, fail.Of(fail.Required, "", "boxload.inside_missing", nil), units.ParseSize)
	around, above, under := outside, outside, units.Celsius(boxload.GroundC)
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
	out := []boxload.Surface{
		{Kind: boxload.Wall, Area: 2 * (length + width) * height, U: q.Must("walls", b.Walls, noU, units.ParseTransmittance), Beyond: around},
		{Kind: boxload.Ceiling, Area: length * width, U: q.Must("ceiling", b.Ceiling, noU, units.ParseTransmittance), Beyond: above},
	}
	if b.Floor == bareSlab {
		if b.Under == "" {
			under = around // of a slab the mean temperature around the room counts
		}
		return append(
			out,
			boxload.Surface{
				Kind:   boxload.Slab,
				Area:   length * width,
				U:      boxload.SlabU(max(length*width, 1e-6), max(2*(length+width), 1e-6), 0, 0),
				Beyond: under,
			},
		)
	}
	return append(
		out,
		boxload.Surface{
			Kind:   boxload.Floor,
			Area:   length * width,
			U:      q.Must("floor", b.Floor, fail.Of(fail.Required, "", "boxload.floor_missing", nil), units.ParseTransmittance),
			Beyond: under,
		},
	)
}

func (s *jsonSurface) surface(q *units.Fields, outside units.Temp) boxload.Surface {
	out := boxload.Surface{
		Name:   s.Name,
		Kind:   units.Word[boxload.Kind](q, "kind", s.Kind, surfaceKinds),
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
	if out.Kind != boxload.Slab {
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
		out.U = boxload.SlabU(out.Area, per, r, s.DaysCold)
	}
	return out
}

func (g *jsonProduct) goods(q *units.Fields) boxload.Goods {
	out := boxload.Goods{
		Name:          g.Name,
		PerDay:        q.Opt("per_day", g.PerDay, units.MassValue),
		Packaging:     q.Opt("packaging_per_day", g.Packaging, units.MassValue),
		Stored:        q.Opt("stored", g.Stored, units.MassValue),
		RelU:          q.Opt("uncertainty", g.Uncertainty, units.FractionValue),
		Respiration:   q.Opt("respiration", g.Respiration, units.ParseHeatRate),
		PackagingHeat: q.Opt("c_packaging", g.PackagingHeat, units.ParseSpecificHeat),
		Out:           units.Temp(q.Opt("out", g.Out, units.TempValue)),
		Food: boxload.Food{
			Water:    q.Opt("water", g.Water, units.FractionValue),
			Bound:    q.Opt("bound_water", g.Bound, units.FractionValue),
			Freezing: units.Celsius(boxload.FreezingC),
			Above:    q.Opt("c_above", g.Above, units.ParseSpecificHeat),
			Below:    q.Opt("c_below", g.Below, units.ParseSpecificHeat),
			Latent:   q.Opt("latent", g.Latent, units.ParseEnthalpy),
		},
	}
	q.Within("respiration_mg_co2_kg_h", g.CO2, 0, 2000, "")
	if g.CO2 > 0 {
		if g.Respiration != "" {
			q.Fail("respiration", fail.Of(fail.BadData, "", "boxload.respiration_twice", nil))
		}
		out.Respiration = boxload.RespirationHeat(g.CO2)
	}
	if out.Stored > 0 && out.Respiration == 0 {
		q.Fail("respiration", fail.Of(fail.Required, "", "boxload.respiration_missing", nil))
	}
	if g.Freezing != "" {
		out.Food.Freezing = units.Temp(q.Opt("freezing", g.Freezing, units.TempValue))
	}
	if out.PerDay > 0 || out.Packaging > 0 {
		out.In = units.Temp(q.Must("in", g.In, fail.Of(fail.Required, "", "boxload.goods_in_missing", nil), units.TempValue))
	}
	if out.PerDay > 0 && g.Water == "" && g.Above == "" && g.Below == "" {
		q.Fail("water", fail.Of(fail.Required, "", "boxload.product_missing", nil))
	}
	if out.Packaging > 0 && out.PackagingHeat == 0 {
		q.Fail("c_packaging", fail.Of(fail.Required, "", "boxload.packaging_missing", nil))
	}
	if out.Food.Freezing.C() > 0 {
		q.Fail("freezing", fail.Of(fail.Range, "", "boxload.freezing", nil))
	}
	return out
}

func (m *jsonRoomMachine) machine(q *units.Fields, assume func(string, float64)) *boxload.Machine {
	out := &boxload.Machine{
		Capacity:  q.Opt("capacity", m.Capacity, units.ParsePower),
		RelU:      q.Opt("uncertainty", m.Uncertainty, units.FractionValue),
		Map:       m.Map,
		Ambient:   units.Temp(q.Opt("ambient", m.Ambient, units.TempValue)),
		TD:        units.TempDiff(q.Opt("td", m.TD, units.DiffValue)),
		Split:     units.TempDiff(q.Opt("split", m.Split, units.DiffValue)),
		Superheat: units.TempDiff(q.Opt("superheat", m.Superheat, units.DiffValue)),
		Suction:   units.Temp(q.Opt("suction_line", m.Suction, units.TempValue)),
		Liquid:    units.Temp(q.Opt("liquid_line", m.Liquid, units.TempValue)),
		Measured:  q.Opt("measured", m.Measured, units.ParsePower),
	}
	if out.RelU == 0 {
		out.RelU = boxload.CapacityRel
		assume(q.At+".uncertainty", out.RelU)
	}
	if out.Measured > 0 {
		rel := boxload.MeasuredRel
		if m.MeasuredUncertainty != "" {
			rel = q.Opt("measured_uncertainty", m.MeasuredUncertainty, units.FractionValue)
		} else {
			assume(q.At+".measured_uncertainty", rel)
		}
		out.MeasuredU = rel * out.Measured
	}
	given := 0
	for _, b := range []bool{m.Capacity != "", m.Map != "", m.Plate != nil} {
		if b {
			given++
		}
	}
	if given != 1 {
		q.Fail("capacity", fail.Of(fail.Required, "", "boxload.capacity_sources", nil))
		return out
	}
	if m.Map != "" || m.Plate != nil {
		if m.Ambient == "" {
			q.Fail("ambient", fail.Of(fail.Required, "", "boxload.ambient_missing", nil))
		}
	}
	if m.Map != "" {
		for _, d := range []struct {
			field, text string
			v           units.TempDiff
		}{{"td", m.TD, out.TD}, {"split", m.Split, out.Split}} {
			if d.text == "" {
				q.Fail(d.field, fail.Of(fail.Required, "", "boxload.td_missing", nil))
			}
			q.Within(d.field, float64(d.v), 1, 45, "K")
		}
		if m.Superheat == "" {
			out.Superheat = units.TempDiff(0.7) * out.TD // common practice, no source
			assume(q.At+".superheat", float64(out.Superheat))
		}
		q.Within("superheat", float64(out.Superheat), 0, float64(out.TD), " K (no more than the TD)")
	}
	if pl := m.Plate; pl != nil {
		pq := q.Under("plate")
		out.PlateCapacity = pq.Must("capacity", pl.Capacity, fail.Of(fail.Required, "", "boxload.plate_capacity_missing", nil), units.ParsePower)
		app, err := reading.ParseApplication(pl.Application)
		if err != nil {
			pq.Fail("application", err)
		}
		if pl.Refrigerant == "" {
			pq.Fail("refrigerant", fail.Of(fail.Required, "", "boxload.refrigerant_missing", nil))
		}
		out.Plate = &reading.Machine{Refrigerant: pl.Refrigerant, Application: app}
		set := func(field, text string) *units.Temp {
			if text == "" {
				return nil
			}
			t := units.Temp(pq.Opt(field, text, units.TempValue))
			return &t
		}
		gap := func(field, text string) *units.TempDiff {
			if text == "" {
				return nil
			}
			d := units.TempDiff(pq.Opt(field, text, units.DiffValue))
			pq.Within(field, float64(d), 1, 45, "K")
			return &d
		}
		out.Plate.Design = reading.Design{
			Box:     set("box", pl.Box),
			Ambient: set("ambient", pl.Ambient),
			TD:      gap("td", pl.TD),
			Split:   gap("split", pl.Split),
		}
		q.Take(pq)
	}
	return out
}
