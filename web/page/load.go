package page

import (
	"cmp"
	"maps"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/boxload"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type loadBody struct {
	measureForm
	Verdict, Sentence, Unit, Assumed string
	Good, Known, Judged              bool
	Cells                            []cell
	Rows                             [][]string
	Lines, Findings                  []string
}

// lengths are the units of the room and of its door.
func lengths(d units.Display) (room, door string) {
	if d.Temp == "°C" {
		return "m", "m"
	}
	return "ft", "in"
}

// insulation reads an R or U value; where °F is shown a bare number is an R value.
func insulation(d units.Display) func(string, string) (float64, error) {
	return func(s, fallback string) (float64, error) {
		if _, err := strconv.ParseFloat(strings.TrimSpace(s), 64); err == nil && d.Temp != "°C" {
			s = "R-" + strings.TrimSpace(s)
		}
		return units.ParseTransmittance(s, fallback)
	}
}

func plainNumber(s, _ string) (float64, error) {
	v, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(s), ",", "."), 64)
	if err != nil || v < 0 || v > 1e6 {
		return 0, fail.Of(fail.BadValue, "", "form.not_a_number", fail.Args{"text": s})
	}
	return v, nil
}

func percent(s, _ string) (float64, error) {
	if !strings.Contains(s, "%") {
		s += " %"
	}
	return units.FractionValue(s, "")
}

// roomField is a number of the room's form: where it is kept, how it is read and how it is shown.
type roomField struct {
	name, label, hint, unit string
	parse                   func(string, string) (float64, error)
	at                      func(*record.RoomBody) *float64
	optional                func(*record.RoomBody) **float64
	show                    func(float64) string
}

func roomFields(d units.Display) map[string]roomField {
	room, door := lengths(d)
	meters := func(unit string) func(float64) string {
		return func(v float64) string {
			switch unit {
			case "ft":
				v /= units.Foot
			case "in":
				v /= units.Inch
			}
			return units.Whole(strings.TrimSuffix(units.Fixed(v, 2), "0"))
		}
	}
	plainShow := func(v float64) string { return units.Whole(units.Fixed(v, 1)) }
	power := func(v float64) string { return text.Power(v, d) }
	u, uUnit := func(v float64) string { return units.Fixed(v, 3) }, "W/m2K"
	if d.Temp != "°C" {
		u, uUnit = func(v float64) string { return units.Whole(units.Fixed(units.USTransmittance/v, 1)) }, ""
	}
	uHint := "U value, or write R-25"
	if d.Temp != "°C" {
		uHint = "R value as sold: 25 for R-25"
	}
	temp := func(v float64) string { return units.Whole(d.TempNumber(units.Temp(v), 1)) }
	list := []roomField{
		{
			name:  "length",
			label: "Length",
			unit:  room,
			parse: units.ParseSize,
			at:    func(b *record.RoomBody) *float64 { return &b.LengthM },
			show:  meters(room),
		},
		{
			name:  "width",
			label: "Width",
			unit:  room,
			parse: units.ParseSize,
			at:    func(b *record.RoomBody) *float64 { return &b.WidthM },
			show:  meters(room),
		},
		{
			name:  "height",
			label: "Height",
			unit:  room,
			parse: units.ParseSize,
			at:    func(b *record.RoomBody) *float64 { return &b.HeightM },
			show:  meters(room),
		},
		{
			name:  "walls",
			label: "Walls, insulation",
			hint:  uHint,
			unit:  uUnit,
			parse: insulation(d),
			at:    func(b *record.RoomBody) *float64 { return &b.WallsU },
			show:  u,
		},
		{
			name:  "ceiling",
			label: "Ceiling, insulation",
			unit:  uUnit,
			parse: insulation(d),
			at:    func(b *record.RoomBody) *float64 { return &b.CeilingU },
			show:  u,
		},
		{
			name:     "floor",
			label:    "Floor, insulation",
			hint:     "Empty: a bare slab on the ground",
			unit:     uUnit,
			parse:    insulation(d),
			optional: func(b *record.RoomBody) **float64 { return &b.FloorU },
			show:     u,
		},
		{
			name:  "outside",
			label: "Air around the box",
			unit:  d.Temp,
			parse: units.TempValue,
			at:    func(b *record.RoomBody) *float64 { return &b.OutsideK },
			show:  temp,
		},
		{
			name:  "outside_rh",
			label: "Its humidity",
			hint:  "55 when nobody measured",
			unit:  "%",
			parse: percent,
			at:    func(b *record.RoomBody) *float64 { return &b.OutsideRH },
			show:  func(v float64) string { return units.Fixed(100*v, 0) },
		},
		{
			name:  "door_width",
			label: "Door, clear width",
			unit:  door,
			parse: units.ParseSize,
			at:    func(b *record.RoomBody) *float64 { return &b.DoorWidthM },
			show:  meters(door),
		},
		{
			name:  "door_height",
			label: "Door, clear height",
			unit:  door,
			parse: units.ParseSize,
			at:    func(b *record.RoomBody) *float64 { return &b.DoorHeightM },
			show:  meters(door),
		},
		{
			name:  "door_minutes",
			label: "Open in a day",
			unit:  "min",
			parse: units.ParseMinutes,
			at:    func(b *record.RoomBody) *float64 { return &b.DoorMinutes },
			show:  plainShow,
		},
		{
			name:  "goods",
			label: "Goods coming in each day",
			unit:  massUnit(d),
			parse: units.MassValue,
			at:    func(b *record.RoomBody) *float64 { return &b.GoodsKg },
			show: func(v float64) string {
				if massUnit(d) == "kg" {
					return units.Whole(units.Fixed(v, 1))
				}
				return units.Whole(units.Fixed(v/units.Pound, 1))
			},
		},
		{
			name:     "goods_in",
			label:    "They come in at",
			unit:     d.Temp,
			parse:    units.TempValue,
			optional: func(b *record.RoomBody) **float64 { return &b.GoodsInK },
			show:     temp,
		},
		{
			name:  "people",
			label: "People inside",
			unit:  "",
			parse: plainNumber,
			at:    func(b *record.RoomBody) *float64 { return &b.People },
			show:  plainShow,
		},
		{
			name:  "people_hours",
			label: "They stay",
			unit:  "h a day",
			parse: plainNumber,
			at:    func(b *record.RoomBody) *float64 { return &b.PeopleHours },
			show:  plainShow,
		},
		{
			name:  "lights",
			label: "Lights",
			unit:  "W",
			parse: units.ParsePower,
			at:    func(b *record.RoomBody) *float64 { return &b.LightsW },
			show:  plainShow,
		},
		{
			name:  "lights_hours",
			label: "Lights on",
			unit:  "h a day",
			parse: plainNumber,
			at:    func(b *record.RoomBody) *float64 { return &b.LightsHours },
			show:  plainShow,
		},
		{
			name:  "fans",
			label: "Coil fans",
			hint:  "All together, running all day",
			unit:  "W",
			parse: units.ParsePower,
			at:    func(b *record.RoomBody) *float64 { return &b.FansW },
			show:  plainShow,
		},
		{
			name:  "defrost_power",
			label: "Heaters",
			unit:  "W",
			parse: units.ParsePower,
			at:    func(b *record.RoomBody) *float64 { return &b.DefrostW },
			show:  plainShow,
		},
		{
			name:  "defrost_minutes",
			label: "Each lasts",
			unit:  "min",
			parse: units.ParseMinutes,
			at:    func(b *record.RoomBody) *float64 { return &b.DefrostMin },
			show:  plainShow,
		},
		{
			name:  "defrost_daily",
			label: "In a day",
			unit:  "",
			parse: plainNumber,
			at:    func(b *record.RoomBody) *float64 { return &b.DefrostDaily },
			show:  plainShow,
		},
		{
			name:     "capacity",
			label:    "Its capacity at the design point",
			hint:     "From the plate or the maker's sheet; it is brought to today's air",
			unit:     text.PowerUnit(d),
			parse:    units.ParsePower,
			optional: func(b *record.RoomBody) **float64 { return &b.CapacityW },
			show:     power,
		},
		{
			name:     "measured",
			label:    "Measured on the machine",
			hint:     "Empty when nobody did",
			unit:     text.PowerUnit(d),
			parse:    units.ParsePower,
			optional: func(b *record.RoomBody) **float64 { return &b.MeasuredW },
			show:     power,
		},
	}
	out := map[string]roomField{}
	for _, f := range list {
		out[f.name] = f
	}
	return out
}

// roomGroups is the order of the room's form; words that are no number are chosen.
var roomGroups = []struct {
	title string
	names []string
}{
	{"The room, inside", []string{"length", "width", "height", "walls", "ceiling", "floor", "outside", "outside_rh"}},
	{"The door", []string{"door_width", "door_height", "door_minutes", "door_curtain"}},
	{"The goods", []string{"goods", "goods_in", "goods_kind"}},
	{"People, lights, fans", []string{"people", "people_hours", "lights", "lights_hours", "fans"}},
	{"Defrost", []string{"defrost_kind", "defrost_power", "defrost_minutes", "defrost_daily"}},
	{"The machine", []string{"capacity", "measured"}},
}

func roomPicks() map[string]form.Choice {
	goods := []form.Option{{Value: "", Label: "Choose"}}
	for _, k := range slices.SortedFunc(maps.Keys(app.GoodsWater), cmp.Compare) {
		goods = append(goods, form.Option{Value: k, Label: text.UpperFirst(k)})
	}
	return map[string]form.Choice{
		"door_curtain": {
			Name:  "door_curtain",
			Label: "In the opening",
			Options: []form.Option{
				{Value: "", Label: "Nothing"},
				{Value: boxload.StripCurtain.String(), Label: "Strip curtain"},
				{Value: boxload.AirCurtain.String(), Label: "Air curtain"},
			},
		},
		"goods_kind": {ID: "f-goods_kind", Name: "goods_kind", Label: "What they are", Options: goods},
		"defrost_kind": {
			Name:  "defrost_kind",
			Label: "How the coil is cleared",
			Options: []form.Option{
				{Value: "", Label: "Not at all"},
				{Value: boxload.OffCycle.String(), Label: "Off-cycle"},
				{Value: boxload.Electric.String(), Label: "Electric"},
				{Value: boxload.HotGas.String(), Label: "Hot gas"},
			},
		},
	}
}

func goodsKind(water float64) string {
	for k, v := range app.GoodsWater {
		if v == water {
			return k
		}
	}
	return ""
}

func (s *Pages) Load(w http.ResponseWriter, r *http.Request) error {
	return s.showLoad(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showLoad(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.Room(r.Context(), id(r, "machine"))
	if err != nil {
		return err
	}
	d, m := form.Units(r), v.Machine
	b := loadBody{
		measureForm: measureForm{
			Base:   machinePath(m.ID),
			Action: machinePath(m.ID) + "/load",
			Form:   s.formID(),
			Key:    "Save the room",
			Open:   m.Room == nil || status != http.StatusOK,
		},
		Unit: text.PowerUnit(d),
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	b.judge(v, d)
	stored := func(name string) string { return "" }
	if m.Room != nil {
		room := *m.Room
		stored = func(name string) string {
			switch name {
			case "door_curtain":
				return room.DoorCurtain
			case "defrost_kind":
				return room.DefrostKind
			case "goods_kind":
				return goodsKind(room.GoodsWater)
			}
			f := roomFields(d)[name]
			if f.optional != nil {
				if p := *f.optional(&room); p != nil {
					return f.show(*p)
				}
				return ""
			}
			if x := *f.at(&room); x != 0 {
				return f.show(x)
			}
			return ""
		}
	} else if status == http.StatusOK {
		stored = func(name string) string { return map[string]string{"outside_rh": "55"}[name] }
	}
	all, chosen := roomFields(d), roomPicks()
	for _, g := range roomGroups {
		out := form.Group{Title: g.title}
		for _, name := range g.names {
			value := stored(name)
			if status != http.StatusOK {
				value = r.PostForm.Get(name)
			}
			if p, ok := chosen[name]; ok {
				p.Value = value
				wrong.PlaceChoice(r, &p)
				if p.ID != "" {
					out.Items = append(out.Items, form.Item{Select: &p})
				} else {
					out.Items = append(out.Items, form.Item{Picks: &p})
				}
				continue
			}
			f := all[name]
			in := form.NumberField(f.name, f.label, f.hint, f.unit, value)
			wrong.Place(r, &in)
			out.Items = append(out.Items, form.Item{Field: &in})
		}
		b.Groups = append(b.Groups, out)
	}
	b.Errors, b.Asks = wrong.Rest(r), "Measure the room"
	if b.Known {
		b.Asks = "Correct the room"
	}
	p := &Page{Title: "Room load, " + text.LowerFirst(m.Name), Tab: "machines", Class: "two", Body: b, Plate: plate(v.Site, m, nil, d)}
	s.show(w, r, status, "load", p)
	return nil
}

// sure is a power to the digits that its uncertainty leaves: two of the uncertainty.
func sure(w, u float64, d units.Display) (value, off string) {
	size := 1.0
	if text.PowerUnit(d) != "W" {
		size = units.BtuPerH
	}
	step := 1.0
	if x := math.Abs(u / size); x >= 100 {
		step = math.Pow(10, math.Floor(math.Log10(x))-1)
	}
	return units.Fixed(math.Round(w/size/step)*step, 0), units.Fixed(math.Round(u/size/step)*step, 0)
}

// judge says what the load is and how it stands against the machine.
func (b *loadBody) judge(v *app.RoomView, d units.Display) {
	l := v.Load
	if l == nil {
		if v.Err != nil {
			b.Sentence = text.Voice{Display: d}.Mistake(failure(v.Err)).Beside()
		}
		return
	}
	b.Known = true
	b.Verdict, b.Sentence = "Not judged", "Enter what the machine gives, and box and machine can be held against each other."
	unit := b.Unit
	sum, off := sure(l.Sum, l.U, d)
	need, _ := sure(l.Required, l.U, d)
	b.Cells = []cell{
		{Name: "Heat into the box", Value: sum, Unit: unit, From: "± " + off},
		{Name: "Machine to carry it", Value: need, Unit: unit, From: "in " + units.Fixed(l.RunHours, 0) + " h a day"},
	}
	switch x := v.Verdict; {
	case v.Err != nil:
		b.Sentence = text.Voice{Display: d}.Mistake(failure(v.Err)).Beside()
	case x != nil:
		b.Judged, b.Good = x.Outcome != boxload.Undecided, x.Outcome == boxload.Enough
		b.Verdict, b.Sentence = outcomeWords(x.Outcome), text.Sentence(text.English, x.Outcome.String())
		gives, off := sure(x.ExpectedW, x.ExpectedU, d)
		b.Cells = append(b.Cells, cell{Name: "A sound machine gives", Value: gives, Unit: unit, From: "± " + off})
		b.Lines = append(
			b.Lines,
			"It needs "+units.Fixed(x.HoursNeeded, 1)+" hours a day of the "+units.Fixed(x.HoursAvailable, 1)+" that defrost leaves.",
		)
		if v.Capacity.Measured > 0 {
			value, off := sure(v.Capacity.Measured, v.Capacity.MeasuredU, d)
			b.Lines = append(b.Lines, "Measured: "+value+" ± "+off+" "+unit+".")
		}
		if x.ExcessShare > 0 {
			b.Lines = append(
				b.Lines,
				"The load is "+units.Fixed(100*x.ExcessShare, 0)+" % ± "+units.Fixed(
					100*x.ExcessU,
					0,
				)+" % above what a sound machine carries around the clock.",
			)
		}
	}
	name := func(it boxload.Item) string {
		s := text.UpperFirst(text.Word(text.English, it.Kind.String()))
		if it.Name != "" {
			s += ": " + it.Name
		}
		return s
	}
	for _, it := range l.Items {
		share := ""
		if l.Sum > 0 {
			share = units.Fixed(100*it.W/l.Sum, 0) + " %"
		}
		value, off := sure(it.W, it.U, d)
		b.Rows = append(b.Rows, []string{name(it), value, off, share})
	}
	if it, share := l.Doubt(); share > 0 {
		b.Lines = append(b.Lines, "Least sure: "+text.LowerFirst(name(it))+", "+units.Fixed(100*share, 0)+" % of the doubt.")
	}
	b.Assumed = strings.Join(text.AssumedList(v.Assumed, d), ", ")
	for _, f := range l.Findings {
		b.Findings = append(b.Findings, text.Say(text.English, f, d, units.Atm))
	}
}

func outcomeWords(o boxload.Outcome) string {
	switch o {
	case boxload.Enough:
		return "Enough machine"
	case boxload.BoxTooMuch:
		return "Too much box"
	case boxload.MachineTooWeak:
		return "Machine too weak"
	case boxload.Both:
		return "Both want work"
	case boxload.Short:
		return "Not enough"
	}
	return "Too close to call"
}

func (s *Pages) SaveLoad(w http.ResponseWriter, r *http.Request) error {
	d, wrong := form.Units(r), form.Mistakes{}
	f := r.PostForm
	b := record.RoomBody{
		DoorCurtain: oneWord(f.Get("door_curtain"), boxload.StripCurtain.String(), boxload.AirCurtain.String()),
		DefrostKind: oneWord(f.Get("defrost_kind"), boxload.OffCycle.String(), boxload.Electric.String(), boxload.HotGas.String()),
		GoodsWater:  app.GoodsWater[f.Get("goods_kind")],
	}
	for name, x := range roomFields(d) {
		v := wrong.Optional(name, f.Get(name), x.unit, x.parse)
		switch {
		case x.optional != nil:
			*x.optional(&b) = v
		case v != nil:
			*x.at(&b) = *v
		}
		if v == nil && wrong[name] == nil &&
			slices.Contains([]string{"length", "width", "height", "walls", "ceiling", "outside", "outside_rh"}, name) {
			wrong[name] = fail.Of(fail.Required, name, "field.missing", nil)
		}
	}
	if len(wrong) == 0 {
		err := s.app.SaveRoom(r.Context(), s.act(r), id(r, "machine"), b)
		if err == nil {
			return redirect(w, r, machinePath(id(r, "machine"))+"/load")
		}
		if !wrong.Take(err) {
			return err
		}
	}
	return s.showLoad(w, r, http.StatusUnprocessableEntity, wrong)
}
