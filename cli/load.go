package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/boxload"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type loadCmd struct {
	File string `arg:"" help:"Room in JSON; - is standard input." placeholder:"FILE.json"`
	answered
}

// answered are the options of a command that reckons one document and answers in sentences.
type answered struct {
	JSON     bool   `name:"json" help:"One JSON document."`
	SI       bool   `name:"si" help:"°C, W and kg instead of °F, Btu/h and lb, for people's text."`
	Language string `name:"language" help:"Language of sentences: ${languages}." default:"en" placeholder:"LANG"`
}

// begin reads the document.
func (c answered) begin(env *Env, file string) (lang text.Language, document []byte, err error) {
	if lang, err = text.ParseLanguage(c.Language); err != nil {
		return lang, nil, at("--language", err)
	}
	document, err = env.readAll(file)
	return lang, document, err
}

// end gives the answer.
func (c answered) end(env *Env, a interface {
	print(io.Writer, text.Language, units.Display) error
}, lang text.Language,
) error {
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	return a.print(env.Stdout, lang, display(c.SI))
}

// readAll reads a document of at most 1 MB.
func (e *Env) readAll(name string) (text []byte, err error) {
	in, err := e.open(name)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	b, err := io.ReadAll(io.LimitReader(in, 1<<20+1))
	if err != nil {
		return nil, err
	}
	if len(b) > 1<<20 {
		return nil, fail.Of(fail.BadData, name, "file.large_document", nil)
	}
	return b, nil
}

func display(si bool) units.Display {
	if si {
		return units.Metric()
	}
	return units.US()
}

type loadItem struct {
	Kind  string  `json:"kind"`
	Name  string  `json:"name,omitempty"`
	W     float64 `json:"heat_w"`
	U     float64 `json:"u_w"`
	Share float64 `json:"share"`
}

type loadMachine struct {
	Source       string   `json:"source"`
	Expected     float64  `json:"expected_w"`
	ExpectedU    float64  `json:"expected_u_w"`
	Measured     *float64 `json:"measured_w"`
	MeasuredU    *float64 `json:"measured_u_w"`
	Power        *float64 `json:"compressor_power_w"`
	MassFlow     *float64 `json:"mass_flow_kg_s"`
	Extrapolated bool     `json:"extrapolated"`
	Hours        float64  `json:"hours_needed_per_day"`
	Available    float64  `json:"hours_available_per_day"`
	PBox         float64  `json:"p_box_too_much"`
	PShort       float64  `json:"p_short"`
	PWeak        *float64 `json:"p_machine_weak"`
}

type loadExcess struct {
	Share float64 `json:"share"`
	U     float64 `json:"u"`
	Unit  string  `json:"unit"`
}

type loadAnswer struct {
	Room      float64           `json:"room_c"`
	Items     []loadItem        `json:"items"`
	Sum       float64           `json:"load_w"`
	U         float64           `json:"load_u_w"`
	Margin    float64           `json:"margin"`
	RunHours  float64           `json:"run_hours_per_day"`
	Required  float64           `json:"required_w"`
	Water     float64           `json:"water_kg_per_day"`
	FrostLeft float64           `json:"frost_left_kg_per_day"`
	Stopped   float64           `json:"defrost_h_per_day"`
	Doubt     *loadItem         `json:"most_doubtful"`
	Machine   *loadMachine      `json:"machine"`
	Verdict   *string           `json:"verdict"`
	Excess    *loadExcess       `json:"excess_load"`
	Findings  []reading.Finding `json:"findings"`
	Reason    string            `json:"reason,omitempty"`
}

// plateCapacity scales what the plate promises at its design point to today's room and outside air.
func plateCapacity(m *boxload.Machine, room units.Temp) (boxload.Capacity, error) {
	fit, err := fits()(m.Plate.Refrigerant)
	if err != nil {
		return boxload.Capacity{}, at("machine.plate.refrigerant", err)
	}
	r, _ := m.Plate.Resolve()
	p, err := plant.New(plant.FromMachine(r), fit)
	if err != nil {
		return boxload.Capacity{}, fail.Of(fail.NoAnswer, "machine.plate", "plate.no_design", fail.Args{"why": err})
	}
	today := p.Solve(plant.Inputs{BoxT: float64(room), AmbientT: float64(m.Ambient)}, plant.Change{}, plant.Options{})
	if !today.Status.OK() || today.Trip != plant.TripNone {
		return boxload.Capacity{}, fail.Of(fail.NoAnswer, "machine.plate", "plate.no_state", fail.Args{"trip": today.Trip.String()})
	}
	q := m.PlateCapacity * today.Out[plant.Capacity]
	return boxload.Capacity{Expected: q, ExpectedU: m.RelU * q, Measured: m.Measured, MeasuredU: m.MeasuredU}, nil
}

// Run reckons the room.
func (c *loadCmd) Run(env *Env) error {
	lang, b, err := c.begin(env, c.File)
	if err != nil {
		return err
	}
	job, err := wire.ReadRoom(b)
	if err != nil {
		return at2(c.File, err)
	}
	l, err := job.Room.Load()
	if err != nil {
		return at2(c.File, err)
	}
	room := units.Temp(job.Room.Inside.T)
	a := loadAnswer{
		Room:      room.C(),
		Sum:       l.Sum,
		U:         l.U,
		Margin:    l.Margin,
		RunHours:  l.RunHours,
		Required:  l.Required,
		Water:     l.Water,
		FrostLeft: l.FrostLeft,
		Stopped:   l.StoppedH,
		Findings:  append([]reading.Finding{}, l.Findings...),
	}
	item := func(it boxload.Item) loadItem {
		out := loadItem{Kind: it.Kind.String(), Name: it.Name, W: it.W, U: it.U}
		if l.Sum > 0 {
			out.Share = it.W / l.Sum
		}
		return out
	}
	for _, it := range l.Items {
		a.Items = append(a.Items, item(it))
	}
	if d, share := l.Doubt(); share > 0 {
		it := item(d)
		a.Doubt = &it
	}
	a.Reason = "no machine is given, so there is no verdict"
	if m := job.Machine; m != nil {
		if err := a.judge(m, &l, room); err != nil {
			return at2(c.File, strictjson.Locate(b, err))
		}
	}
	return c.end(env, &a, lang)
}

func (a *loadAnswer) judge(m *boxload.Machine, l *boxload.Load, room units.Temp) error {
	out := loadMachine{Source: "stated"}
	capacity := boxload.Capacity{Expected: m.Capacity, ExpectedU: m.RelU * m.Capacity, Measured: m.Measured, MeasuredU: m.MeasuredU}
	var err error
	switch {
	case m.Map != "":
		out.Source = "map"
		var p boxload.Performance
		if capacity, p, err = m.FromMap(room); err == nil {
			out.Power, out.MassFlow = &p.Power, &p.MassFlow
		}
	case m.Plate != nil:
		out.Source = "plate"
		capacity, err = plateCapacity(m, room)
	}
	if err != nil {
		return err
	}
	v, err := l.Judge(capacity)
	if err != nil {
		return err
	}
	out.Expected, out.ExpectedU, out.Extrapolated = capacity.Expected, capacity.ExpectedU, capacity.Extrapolated
	if capacity.Measured > 0 {
		out.Measured, out.MeasuredU = &capacity.Measured, &capacity.MeasuredU
	}
	out.Hours, out.Available, out.PBox, out.PShort, out.PWeak = v.HoursNeeded, v.HoursAvailable, v.PBoxTooMuch, v.PShort, v.PMachineWeak
	word := v.Outcome.String()
	a.Machine, a.Verdict, a.Reason = &out, &word, ""
	a.Excess = &loadExcess{v.ExcessShare, v.ExcessU, "share of what a sound machine carries"}
	if capacity.Extrapolated {
		a.Findings = append(a.Findings, reading.Finding{Code: boxload.MapExtrapolated, Severity: reading.Warn})
	}
	return nil
}

// pad fills a cell on the right by runes, not bytes.
func pad(s string, width int) string {
	if n := utf8.RuneCountInString(s); n < width {
		return s + strings.Repeat(" ", width-n)
	} else if n > width {
		return string([]rune(s)[:width-1]) + "…"
	}
	return s
}

// wrap breaks a sentence into lines of at most width, all behind an indent.
func wrap(s, indent string, width int) string {
	var b strings.Builder
	line := indent
	for _, w := range strings.Fields(s) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > width && strings.TrimSpace(line) != "" {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line = indent
		}
		if line != indent {
			line += " "
		}
		line += w
	}
	b.WriteString(line)
	return b.String()
}

func (a *loadAnswer) print(w io.Writer, lang text.Language, d units.Display) error {
	h := func(key string, args ...string) string { return text.Terminal(lang, "load."+key, args...) }
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	row := func(name, w, u, share string) {
		line("%s", strings.TrimRight(fmt.Sprintf("  %s%10s%10s%9s", pad(name, 44), w, u, share), " "))
	}
	percent := func(v float64) string { return units.Fixed(100*v, 0) + " %" }
	line("%s", h("title", d.FormatTemp(units.Celsius(a.Room), 0)))
	line("")
	row(h("item"), text.PowerUnit(d), "± u", h("share"))
	name := func(it loadItem) string {
		s := text.Word(lang, it.Kind)
		if it.Name != "" {
			s += ": " + it.Name
		}
		return s
	}
	for _, it := range a.Items {
		row(name(it), text.Power(it.W, d), text.Power(it.U, d), percent(it.Share))
	}
	row(h("sum"), text.Power(a.Sum, d), text.Power(a.U, d), "")
	row(h("required", units.Fixed(100*a.Margin, 0), units.Fixed(a.RunHours, 0)), text.Power(a.Required, d), "", "")
	if m := a.Machine; m != nil {
		row(h("expected"), text.Power(m.Expected, d), text.Power(m.ExpectedU, d), "")
		if m.Measured != nil {
			row(h("measured"), text.Power(*m.Measured, d), text.Power(*m.MeasuredU, d), "")
		}
		line("\n%s", wrap(text.Sentence(lang, *a.Verdict), "", 80))
		line("%s", h("hours", units.Fixed(m.Hours, 1), units.Fixed(m.Available, 1)))
		if a.Excess.Share > 0 {
			line("%s", h("excess", percent(a.Excess.Share), percent(a.Excess.U)))
		}
	}
	if a.Doubt != nil {
		line("%s", wrap(h("doubt", name(*a.Doubt), percent(a.Doubt.U*a.Doubt.U/(a.U*a.U))), "", 80))
	}
	if len(a.Findings) > 0 {
		line("\n%s", h("noticed"))
		for _, f := range a.Findings {
			line("%s", wrap(text.Say(lang, f, d, units.Atm), "  ", 80))
		}
	}
	line("\n%s", h("order"))
	_, err := io.WriteString(w, b.String())
	return err
}
