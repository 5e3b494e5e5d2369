package boxload

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"coldwright/air"
	"coldwright/fail"
	"coldwright/reading"
	"coldwright/refrigerant"
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

// parser keeps the first error with its place.
type parser struct {
	at  string
	err error
}

func (p *parser) fail(field string, err error) {
	if p.err != nil {
		return
	}
	var e *fail.Error
	if !errors.As(err, &e) {
		e = fail.New(fail.BadValue, "", err.Error(), "")
	}
	c := *e
	c.Field = strings.TrimPrefix(p.at+"."+field, ".")
	p.err = &c
}

func (p *parser) under(at string) *parser { return &parser{at: at} }

func (p *parser) take(q *parser) {
	if p.err == nil {
		p.err = q.err
	}
}

// opt reads a value that may be missing; must one that may not.
func (p *parser) opt(field, text string, read func(string, string) (float64, error)) float64 {
	if text == "" || p.err != nil {
		return 0
	}
	v, err := read(text, "")
	if err != nil {
		p.fail(field, err)
	}
	return v
}

func (p *parser) must(field, text, hint string, read func(string, string) (float64, error)) float64 {
	if text == "" {
		p.fail(field, fail.New(fail.Required, "", "is missing", hint))
		return 0
	}
	return p.opt(field, text, read)
}

func temp(text, fallback string) (float64, error) {
	t, err := units.ParseTemp(text, fallback)
	return float64(t), err
}

func diff(text, fallback string) (float64, error) {
	d, err := units.ParseTempDiff(text, fallback)
	return float64(d), err
}

func mass(text, fallback string) (float64, error) {
	m, err := units.ParseMass(text, fallback)
	return float64(m), err
}

func share(text, _ string) (float64, error) { return units.ParseFraction(text) }

func (p *parser) within(field string, v, lo, hi float64, unit string) {
	if !(v >= lo && v <= hi) {
		p.fail(field, fail.New(fail.Range, "", fmt.Sprintf("%g is outside %g to %g%s", v, lo, hi, unit), "check the number"))
	}
}

func word[T ~int](p *parser, field, text string, words []string) T {
	if text == "" {
		return 0
	}
	i := slices.Index(words, text)
	if i < 1 {
		p.fail(field, fail.New(fail.BadValue, "", fmt.Sprintf("%q is not known here", text), "allowed: "+strings.Join(slices.DeleteFunc(slices.Clone(words), func(s string) bool { return s == "" }), ", ")))
		return 0
	}
	return T(i)
}

var surfaceKinds = []string{"", "wall", "ceiling", "floor", "slab", "glass"}

// Parse reads a room strictly: unknown keys, missing units and impossible values are errors that name line, field, value and what is allowed.
//
//   - in: JSON; see the example of the command load
//   - out: the room and its machine, in SI
//   - errors: [*fail.Error]
//   - assumes: a room of 90 % relative humidity where none is given, outside 55 %; a floor's ground at 13 °C (55 °F, a maker's design figure)
//   - source: definition
func Parse(text []byte) (Job, error) {
	var j jsonRoom
	if err := fail.JSON(text, &j); err != nil {
		return Job{}, err
	}
	job, err := j.job()
	if err != nil {
		return Job{}, fail.InJSON(text, err)
	}
	return job, nil
}

func (j *jsonRoom) job() (job Job, err error) {
	p := &parser{}
	ambient := units.Atm
	switch {
	case j.Altitude != "" && j.Barometer != "":
		p.fail("altitude", fail.New(fail.BadData, "", "altitude and barometer are both given", "give one"))
	case j.Altitude != "":
		h := p.opt("altitude", j.Altitude, units.ParseLength)
		if ambient, err = units.Atmosphere(h); err != nil {
			p.fail("altitude", err)
		}
	case j.Barometer != "":
		if ambient, err = units.ParseBarometer(j.Barometer, ""); err != nil {
			p.fail("barometer", err)
		}
	}
	moist := func(field string, a *jsonAir, rh float64) air.State {
		q := p.under(strings.TrimPrefix(p.at+"."+field, "."))
		if a == nil {
			p.fail(field, fail.New(fail.Required, "", "is missing", `such as {"t": "36 F", "rh": "90 %"}`))
			return air.State{}
		}
		T := q.must("t", a.T, "temperature of the air, such as 36 F", temp)
		if a.RH != "" {
			rh = q.opt("rh", a.RH, share)
		}
		p.take(q)
		if p.err != nil {
			return air.State{}
		}
		s, err := air.FromRH(T, rh, float64(ambient))
		if err != nil {
			p.fail(field, fail.New(fail.Range, "", "there is no such air: "+err.Error(), "allowed: −93 °C to 87 °C, 0.1 % to 100 %"))
		}
		return s
	}
	r := Room{Inside: moist("room", j.Room, 0.9)}
	outside := moist("outside", j.Outside, 0.55)
	if p.err != nil {
		return Job{}, p.err
	}
	beyond := func(q *parser, a *jsonAir) air.State {
		if a == nil {
			return outside
		}
		at := p.at
		p.at = q.at
		s := moist("beyond", a, 0.55)
		p.at = at
		return s
	}
	if j.Box != nil {
		q := p.under("box")
		r.Surfaces = j.Box.surfaces(q, units.Temp(outside.T))
		p.take(q)
	}
	for i, s := range j.Surfaces {
		q := p.under(fmt.Sprintf("surfaces[%d]", i))
		r.Surfaces = append(r.Surfaces, s.surface(q, units.Temp(outside.T)))
		p.take(q)
	}
	for i, d := range j.Doors {
		q := p.under(fmt.Sprintf("doors[%d]", i))
		door := Door{
			Name: d.Name, Width: q.must("width", d.Width, "clear width, such as 3 ft", units.ParseSize), Height: q.must("height", d.Height, "clear height, such as 6.5 ft", units.ParseSize),
			Protection: word[Protection](q, "protection", d.Protection, protectionWords), Beyond: beyond(q, d.Beyond), U: q.opt("uncertainty", d.Uncertainty, share),
		}
		q.within("passages_per_day", d.Passages, 0, 1e4, "")
		q.within("seconds_each", d.Seconds, 0, 3600, " s")
		q.within("open_min_per_day", d.Minutes, 0, 1440, " min")
		switch used := d.Passages > 0 || d.Seconds > 0 || d.Minutes > 0; {
		case d.Open != "" && used:
			q.fail("open", fail.New(fail.BadData, "", "the open share and passages are both given", "give one of the two"))
		case d.Open != "":
			door.Open = q.opt("open", d.Open, share)
		case !used:
			q.fail("open", fail.New(fail.Required, "", "nothing says how long the door stands open", "give open (a share of the day), or passages_per_day with seconds_each, or open_min_per_day"))
		case d.Passages > 0 && d.Seconds == 0:
			q.fail("seconds_each", fail.New(fail.Required, "", "is missing", "15 to 25 for a door by hand, 5 to 10 for a fast one (from memory)"))
		default:
			door.Open = OpenShare(d.Passages, d.Seconds, d.Minutes, 24)
		}
		q.within("width", door.Width, 0, 20, " m")
		q.within("height", door.Height, 0, 20, " m")
		r.Doors = append(r.Doors, door)
		p.take(q)
	}
	if c := j.Changes; c != nil {
		q := p.under("air_changes")
		q.within("per_day", c.PerDay, 0, 500, "")
		r.Changes = &Changes{Volume: q.must("volume", c.Volume, "such as 40 m3", units.ParseVolume), PerDay: c.PerDay, Beyond: beyond(q, c.Beyond), RelU: q.opt("uncertainty", c.Uncertainty, share)}
		p.take(q)
	}
	for i, g := range j.Products {
		q := p.under(fmt.Sprintf("products[%d]", i))
		r.Goods = append(r.Goods, g.goods(q))
		p.take(q)
	}
	for _, list := range []struct {
		key   string
		kind  Kind
		items []jsonSource
	}{{"people", People, j.People}, {"lights", Lights, j.Lights}, {"fans", Fans, j.Fans}, {"motors", Motors, j.Motors}, {"heaters", Heaters, j.Heaters}} {
		for i, s := range list.items {
			q := p.under(fmt.Sprintf("%s[%d]", list.key, i))
			src := Source{Name: s.Name, Kind: list.kind, Count: s.Count, Hours: s.Hours, RelU: q.opt("uncertainty", s.Uncertainty, share)}
			if list.kind == People {
				src.Power = q.opt("power", s.Power, units.ParsePower)
			} else {
				src.Power = q.must("power", s.Power, "such as 120 W", units.ParsePower)
			}
			q.within("count", s.Count, 0, 1e4, "")
			q.within("hours_per_day", s.Hours, 0, 24, "")
			if s.Hours == 0 {
				q.fail("hours_per_day", fail.New(fail.Required, "", "is missing", "hours a day, 24 for always"))
			}
			r.Sources = append(r.Sources, src)
			p.take(q)
		}
	}
	if d := j.Defrost; d != nil {
		q := p.under("defrost")
		def := Defrost{Kind: word[DefrostKind](q, "kind", d.Kind, defrostWords), Power: q.opt("power", d.Power, units.ParsePower), Minutes: d.Minutes, PerDay: d.PerDay, DripMin: d.Drip, U: q.opt("uncertainty", d.Uncertainty, share)}
		def.ByTemp = word[int](q, "ended_by", d.EndedBy, []string{"", "clock", "thermostat"}) == 2
		q.within("minutes", d.Minutes, 1, 600, " min")
		q.within("per_day", d.PerDay, 0.1, 48, "")
		q.within("drip_min", d.Drip, 0, 60, " min")
		if def.Kind == DefrostUnknown {
			q.fail("kind", fail.New(fail.Required, "", "is missing", "off-cycle, electric or hot gas"))
		}
		if def.Kind != OffCycle && def.Power == 0 {
			q.fail("power", fail.New(fail.Required, "", "is missing", "the power of the heaters, such as 3 kW"))
		}
		r.Defrosts = []Defrost{def}
		p.take(q)
	}
	r.CoilT = units.Temp(p.opt("coil", j.Coil, temp))
	r.Margin, r.RunHours = 0.1, j.RunHours // 10 % margin: usual, from memory
	if j.Margin != "" {
		r.Margin = p.opt("margin", j.Margin, share)
	}
	if j.RunHours != 0 {
		p.within("run_hours", j.RunHours, 1, 24, " h")
	}
	job.Room = r
	if j.Machine != nil {
		q := p.under("machine")
		job.Machine = j.Machine.machine(q)
		p.take(q)
	}
	return job, p.err
}

func (b *jsonBox) surfaces(q *parser, outside units.Temp) []Surface {
	length := q.must("length", b.Length, "inside, such as 10 ft", units.ParseSize)
	width := q.must("width", b.Width, "inside, such as 8 ft", units.ParseSize)
	height := q.must("height", b.Height, "inside, such as 8 ft", units.ParseSize)
	around, above, under := outside, outside, units.Celsius(13)
	for _, t := range []struct {
		field, text string
		to          []*units.Temp
	}{{"beyond", b.Beyond, []*units.Temp{&around, &above}}, {"ceiling_beyond", b.CeilingBeyond, []*units.Temp{&above}}, {"under", b.Under, []*units.Temp{&under}}} {
		if t.text != "" {
			for _, to := range t.to {
				*to = units.Temp(q.opt(t.field, t.text, temp))
			}
		}
	}
	const hint = "R-25, 0.23 W/m2K"
	out := []Surface{
		{Kind: Wall, Area: 2 * (length + width) * height, U: q.must("walls", b.Walls, hint, units.ParseTransmittance), Beyond: around},
		{Kind: Ceiling, Area: length * width, U: q.must("ceiling", b.Ceiling, hint, units.ParseTransmittance), Beyond: above},
	}
	if b.Floor == "bare slab" {
		if b.Under == "" {
			under = around // of a slab the mean temperature around the room counts
		}
		return append(out, Surface{Kind: Slab, Area: length * width, U: SlabU(max(length*width, 1e-6), max(2*(length+width), 1e-6), 0, 0), Beyond: under})
	}
	return append(out, Surface{Kind: Floor, Area: length * width, U: q.must("floor", b.Floor, hint+" or bare slab", units.ParseTransmittance), Beyond: under})
}

func (s *jsonSurface) surface(q *parser, outside units.Temp) Surface {
	out := Surface{Name: s.Name, Kind: word[Kind](q, "kind", s.Kind, surfaceKinds), Area: q.must("area", s.Area, "such as 12 m2", units.ParseArea), Beyond: outside, Sun: units.TempDiff(q.opt("sun", s.Sun, diff)), RelU: q.opt("uncertainty", s.Uncertainty, share)}
	if s.Kind == "" {
		q.fail("kind", fail.New(fail.Required, "", "is missing", "wall, ceiling, floor, slab or glass"))
	}
	if s.Beyond != "" {
		out.Beyond = units.Temp(q.opt("beyond", s.Beyond, temp))
	}
	if out.Kind != Slab {
		out.U = q.must("u", s.U, "such as R-25 or 0.23 W/m2K", units.ParseTransmittance)
		return out
	}
	// A slab: insulation in place of a U value, none for bare concrete.
	q.within("days_cold", s.DaysCold, 0, 36525, " days")
	r := 0.0
	if u := q.opt("u", s.U, units.ParseTransmittance); u > 0 {
		r = 1 / u
	}
	per := q.must("perimeter", s.Perimeter, "of the slab, such as 12 m", units.ParseSize)
	if q.err == nil {
		if !(out.Area > 0 && per > 0) {
			q.fail("area", fail.New(fail.Range, "", "area and perimeter of a slab are above zero", "measure them inside"))
			return out
		}
		out.U = SlabU(out.Area, per, r, s.DaysCold)
	}
	return out
}

func (g *jsonProduct) goods(q *parser) Goods {
	out := Goods{
		Name: g.Name, PerDay: q.opt("per_day", g.PerDay, mass), Packaging: q.opt("packaging_per_day", g.Packaging, mass), Stored: q.opt("stored", g.Stored, mass), RelU: q.opt("uncertainty", g.Uncertainty, share),
		Respiration: q.opt("respiration", g.Respiration, units.ParseHeatRate), PackagingHeat: q.opt("c_packaging", g.PackagingHeat, units.ParseSpecificHeat),
		Out: units.Temp(q.opt("out", g.Out, temp)),
		Food: Food{
			Water: q.opt("water", g.Water, share), Bound: q.opt("bound_water", g.Bound, share), Freezing: units.Celsius(-2),
			Above: q.opt("c_above", g.Above, units.ParseSpecificHeat), Below: q.opt("c_below", g.Below, units.ParseSpecificHeat), Latent: q.opt("latent", g.Latent, units.ParseEnthalpy),
		},
	}
	q.within("respiration_mg_co2_kg_h", g.CO2, 0, 2000, "")
	if g.CO2 > 0 {
		if g.Respiration != "" {
			q.fail("respiration", fail.New(fail.BadData, "", "the heat of respiration is given twice", "give respiration or respiration_mg_co2_kg_h"))
		}
		out.Respiration = RespirationHeat(g.CO2)
	}
	if out.Stored > 0 && out.Respiration == 0 {
		q.fail("respiration", fail.New(fail.Required, "", "is missing for what is stored", "such as 30 W/t, or leave stored out: goods that do not breathe give no heat"))
	}
	if g.Freezing != "" {
		out.Food.Freezing = units.Temp(q.opt("freezing", g.Freezing, temp))
	}
	if out.PerDay > 0 || out.Packaging > 0 {
		out.In = units.Temp(q.must("in", g.In, "temperature as it comes in, such as 45 F", temp))
	}
	if out.PerDay > 0 && g.Water == "" && g.Above == "" && g.Below == "" {
		q.fail("water", fail.New(fail.Required, "", "nothing says what the product is", "give its water content (lean meat 75 %, fruit 85 %, vegetables 90 %; common values), or c_above and c_below"))
	}
	if out.Packaging > 0 && out.PackagingHeat == 0 {
		q.fail("c_packaging", fail.New(fail.Required, "", "is missing", "such as 1.4 kJ/kgK for cardboard (common value), 0.5 for steel"))
	}
	if out.Food.Freezing.C() > 0 {
		q.fail("freezing", fail.New(fail.Range, "", "no food freezes above 0 °C", "most freeze between −3 °C and −0.5 °C"))
	}
	return out
}

func (m *jsonMachine) machine(q *parser) *Machine {
	out := &Machine{
		Capacity: q.opt("capacity", m.Capacity, units.ParsePower), RelU: q.opt("uncertainty", m.Uncertainty, share), Map: m.Map, Ambient: units.Temp(q.opt("ambient", m.Ambient, temp)),
		TD: units.TempDiff(q.opt("td", m.TD, diff)), Split: units.TempDiff(q.opt("split", m.Split, diff)), Superheat: units.TempDiff(q.opt("superheat", m.Superheat, diff)),
		Suction: units.Temp(q.opt("suction_line", m.Suction, temp)), Liquid: units.Temp(q.opt("liquid_line", m.Liquid, temp)), Measured: q.opt("measured", m.Measured, units.ParsePower),
	}
	if out.RelU == 0 {
		out.RelU = 0.10
	}
	if out.Measured > 0 {
		rel := 0.15 // an air-side or refrigerant-side measurement in the field: judgement
		if m.MeasuredUncertainty != "" {
			rel = q.opt("measured_uncertainty", m.MeasuredUncertainty, share)
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
		q.fail("capacity", fail.New(fail.Required, "", "the machine's capacity must come from one place", "give capacity, or map with td, ambient and split, or plate"))
		return out
	}
	if m.Map != "" || m.Plate != nil {
		if m.Ambient == "" {
			q.fail("ambient", fail.New(fail.Required, "", "is missing", "air entering the condenser today, such as 95 F"))
		}
	}
	if m.Map != "" {
		for _, d := range []struct {
			field, text string
			v           units.TempDiff
		}{{"td", m.TD, out.TD}, {"split", m.Split, out.Split}} {
			if d.text == "" {
				q.fail(d.field, fail.New(fail.Required, "", "is missing", "td: room less evaporating; split: condensing less ambient; such as 10 F"))
			}
			q.within(d.field, float64(d.v), 1, 45, " K")
		}
		if m.Superheat == "" {
			out.Superheat = units.TempDiff(0.7) * out.TD // common practice, no source
		}
		q.within("superheat", float64(out.Superheat), 0, float64(out.TD), " K (no more than the TD)")
	}
	if pl := m.Plate; pl != nil {
		pq := q.under(q.at + ".plate")
		out.PlateCapacity = pq.must("capacity", pl.Capacity, "at the design point, such as 4.7 kW", units.ParsePower)
		app, err := reading.ParseApplication(pl.Application)
		if err != nil {
			pq.fail("application", err)
		}
		if pl.Refrigerant == "" {
			pq.fail("refrigerant", fail.New(fail.Required, "", "is missing", "such as R-448A"))
		}
		out.Plate = &reading.Machine{Refrigerant: pl.Refrigerant, Application: app}
		set := func(field, text string) *units.Temp {
			if text == "" {
				return nil
			}
			t := units.Temp(pq.opt(field, text, temp))
			return &t
		}
		gap := func(field, text string) *units.TempDiff {
			if text == "" {
				return nil
			}
			d := units.TempDiff(pq.opt(field, text, diff))
			pq.within(field, float64(d), 1, 45, " K")
			return &d
		}
		out.Plate.Design = reading.Design{Box: set("box", pl.Box), Ambient: set("ambient", pl.Ambient), TD: gap("td", pl.TD), Split: gap("split", pl.Split)}
		q.take(pq)
	}
	return out
}

// FromMap returns what a machine with a compressor map gives today at its TD and split.
//
//   - in: the room's temperature; the machine with Map, TD, Split, Ambient
//   - out: the capacity, with the relative uncertainty stated (10 % where nobody says, judgement: the map is good to 5 %, TD and split are guesses)
//   - errors: [*fail.Error] for a map not on file; as [Map.At]
//   - assumes: suction gas at the coil outlet and liquid 2 K below bubble where nobody measured
//   - source: [Map.At]
func (m *Machine) FromMap(room units.Temp) (Capacity, Performance, error) {
	list, err := Maps()
	if err != nil {
		return Capacity{}, Performance{}, err
	}
	var keys []string
	for _, one := range list {
		keys = append(keys, one.Key)
		if one.Key != m.Map {
			continue
		}
		r, err := refrigerant.Load(one.Refrigerant)
		if err != nil {
			return Capacity{}, Performance{}, err
		}
		d := Duty{S: room.Add(-m.TD), D: m.Ambient.Add(m.Split), Suction: m.Suction, Liquid: m.Liquid}
		d.Coil = d.S.Add(m.Superheat)
		if d.Suction == 0 {
			d.Suction = d.Coil
		}
		if d.Liquid == 0 {
			d.Liquid = d.D - 2
		}
		p, err := one.At(r, d)
		if err != nil {
			return Capacity{}, Performance{}, fail.New(fail.NoAnswer, "machine.map", err.Error(), "check td, split, ambient and the line temperatures")
		}
		return Capacity{Expected: p.Capacity, ExpectedU: m.RelU * p.Capacity, Measured: m.Measured, MeasuredU: m.MeasuredU, Extrapolated: p.Extrapolated}, p, nil
	}
	return Capacity{}, Performance{}, fail.New(fail.NotFound, "machine.map", fmt.Sprintf("no compressor map %q", m.Map), "on file: "+strings.Join(keys, "; "))
}
