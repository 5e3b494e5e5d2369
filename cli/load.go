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
func (c answered) end(env *Env, a any, print func(io.Writer, units.Display) error) error {
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	return print(env.Stdout, display(c.SI))
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

// plateCapacity scales what the plate promises at its design point to today's room and outside air, and says what the
// plate did not say.
func plateCapacity(m *boxload.Machine, room units.Temp) (boxload.Capacity, []reading.Assumed, error) {
	fit, err := fits()(m.Plate.Refrigerant)
	if err != nil {
		return boxload.Capacity{}, nil, at("machine.plate.refrigerant", err)
	}
	r, assumed := m.Plate.Resolve()
	p, err := plant.New(plant.FromMachine(r), fit)
	if err != nil {
		return boxload.Capacity{}, nil, fail.Of(fail.NoAnswer, "machine.plate", "plate.no_design", fail.Args{"why": err})
	}
	today := p.Solve(plant.Inputs{BoxT: float64(room), AmbientT: float64(m.Ambient)}, plant.Change{}, plant.Options{})
	if !today.Status.OK() || today.Trip != plant.TripNone {
		why := fail.Args{"trip": today.Trip.String()}
		return boxload.Capacity{}, nil, fail.Of(fail.NoAnswer, "machine.plate", "plate.no_state", why)
	}
	for i := range assumed {
		assumed[i].Field = "machine.plate." + strings.TrimPrefix(assumed[i].Field, "design.") // its place in this document
	}
	q := m.PlateCapacity * today.Out[plant.Capacity]
	return boxload.Capacity{Expected: q, ExpectedU: m.RelU * q, Measured: m.Measured, MeasuredU: m.MeasuredU}, assumed, nil
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
	a := wire.NewLoad(&job, &l)
	if m := job.Machine; m != nil {
		if err := judgeLoad(a, m, &l, room); err != nil {
			return at2(c.File, strictjson.Locate(b, err))
		}
	}
	return c.end(env, a, func(w io.Writer, d units.Display) error { return printLoad(w, a, lang, d) })
}

// judgeLoad holds a machine against the load.
func judgeLoad(a *wire.LoadAnswer, m *boxload.Machine, l *boxload.Load, room units.Temp) error {
	source := "stated"
	capacity := boxload.Capacity{Expected: m.Capacity, ExpectedU: m.RelU * m.Capacity, Measured: m.Measured, MeasuredU: m.MeasuredU}
	var more *boxload.Performance
	var err error
	switch {
	case m.Map != "":
		source = "map"
		var p boxload.Performance
		capacity, p, err = m.FromMap(room)
		more = &p
	case m.Plate != nil:
		source = "plate"
		var assumed []reading.Assumed
		capacity, assumed, err = plateCapacity(m, room)
		a.Assumed = append(a.Assumed, assumed...)
	}
	if err != nil {
		return err
	}
	v, err := l.Judge(capacity)
	if err != nil {
		return err
	}
	a.Judge(source, &capacity, more, &v)
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

func printLoad(w io.Writer, a *wire.LoadAnswer, lang text.Language, d units.Display) error {
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
	name := func(it wire.LoadItem) string {
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
	if len(a.Assumed) > 0 {
		line("\n%s", wrap(h("assumed", strings.Join(text.AssumedList(a.Assumed, d, lang), ", ")), "", 80))
	}
	line("\n%s", h("order"))
	_, err := io.WriteString(w, b.String())
	return err
}
