package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones of a logger's clock on machines without a zone database

	"coldwright/fail"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

// spoken is the language of a command's text.
type spoken struct {
	Lang string `name:"language" aliases:"lang" help:"Language of the text: ${languages}." enum:"${language_codes}" default:"en"`
}

func (s spoken) say(code string) string { return text.Trial(code, text.Language(s.Lang)) }

// line is a line of the text with its arguments put in.
func (s spoken) line(key string, args ...string) string {
	return text.Terminal(text.Language(s.Lang), key, args...)
}

// span is a length of time.
func (s spoken) span(minutes float64) string { return text.Span(minutes, text.Language(s.Lang)) }

// compared are the refrigerants a leak is expressed in when none is named.
const compared = "R-404A,R-134a,R-448A,R-22,R-290"

func loadAll(list string) (out []*refrigerant.Refrigerant, err error) {
	if list == "" {
		list = compared
	}
	for n := range strings.SplitSeq(list, ",") {
		r, err := load(strings.TrimSpace(n), "")
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// pressures reads a list such as "150psig,300psig".
func pressures(flag, list string, ambient units.Pressure) (out []units.Pressure, err error) {
	if list == "" {
		return nil, nil
	}
	for s := range strings.SplitSeq(list, ",") {
		e, err := units.ParsePressure(s, "")
		if err != nil {
			return nil, at(flag, err)
		}
		out = append(out, e.Absolute(ambient))
	}
	return out, nil
}

// fileOf is how errors name a file.
func (e *Env) fileOf(name string) string {
	if name == "-" {
		return text.Terminal(e.voice.Language, "standard_input")
	}
	return name
}

// series reads the readings of a test; what is wrong with them names the file.
func (e *Env) series(file string, read func(io.Reader) error) (err error) {
	in, err := e.open(file)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	if err := read(in); err != nil {
		return at2(e.fileOf(file), err)
	}
	return nil
}

// charged reads a full charge; empty is not known.
func charged(s string) (units.Mass, error) {
	if s == "" {
		return 0, nil
	}
	m, err := units.ParseMass(s, "")
	if err == nil && m <= 0 {
		err = fail.Of(fail.Usage, "--charge", "usage.full_charge", fail.Args{"text": s})
	}
	return m, at("--charge", err)
}

type holdCmd struct {
	File        string `arg:"" help:"CSV with ${hold_columns}; - is standard input." placeholder:"FILE.csv"`
	Volumes     string `help:"Inner volumes in the order of gas_1, gas_2 …: 12L,8L. One for one gas temperature." placeholder:"LIST"`
	Nameplate   string `help:"Test pressures on the plates of all pressurised parts: 150psig,300psig. The lowest counts." placeholder:"LIST"`
	Ask         string `help:"Loss asked about, share of the gas in a day." placeholder:"SHARE" default:"5%"`
	Refrigerant string `help:"Refrigerants in which the smallest leak is expressed; default ${compared}." placeholder:"LIST"`
	Charge      string `help:"Full charge of the machine: 4kg, 9lb. Without it tight is not said." placeholder:"M"`
	Working     string `help:"Pressure of the refrigerant at the leak; default its dew pressure at 40 °C (104 °F)." placeholder:"P"`
	JSON        bool   `help:"One JSON document." name:"json"`
	SI          bool   `help:"bar(g) instead of psig, for people's text." name:"si"`
	where
	spoken
}

// Run judges a standing-pressure test.
func (c *holdCmd) Run(env *Env) (err error) {
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	o := standing.Options{Ambient: ambient}
	if c.Volumes != "" {
		for s := range strings.SplitSeq(c.Volumes, ",") {
			v, err := units.ParseVolume(s, "")
			if err != nil {
				return at("--volumes", err)
			}
			o.Volumes = append(o.Volumes, v)
		}
	}
	if o.Nameplate, err = pressures("--nameplate", c.Nameplate, ambient); err != nil {
		return err
	}
	if o.Share, err = units.ParseFraction(c.Ask); err != nil {
		return at("--ask", err)
	}
	if o.Charge, err = charged(c.Charge); err != nil {
		return err
	}
	if w, err := pressures("--working", c.Working, ambient); err != nil {
		return err
	} else if len(w) > 0 {
		o.Working = w[0]
	}
	if o.Refrigerants, err = loadAll(c.Refrigerant); err != nil {
		return err
	}
	var pts []standing.Point
	if err := env.series(c.File, func(in io.Reader) (err error) {
		pts, o.Gauge, err = wire.ReadStanding(in, ambient)
		return err
	}); err != nil {
		return err
	}
	h, err := standing.Judge(pts, o)
	if err != nil {
		return at2(env.fileOf(c.File), err)
	}
	if above := text.HoldPlate(&h, c.display(), ambient, text.Language(c.Lang)); above != "" {
		fmt.Fprintf(env.Stderr, "coldwright: %s\n", above)
	}
	if c.JSON {
		return printJSON(env.Stdout, wire.Standing(h))
	}
	c.print(env.Stdout, &h, ambient)
	return nil
}

func (c *holdCmd) display() units.Display {
	if c.SI {
		return units.Metric()
	}
	return units.US()
}

func (c *holdCmd) print(w io.Writer, h *standing.Result, ambient units.Pressure) {
	d, unit, scale := c.display(), "psi", units.Psi
	if c.SI {
		unit, scale = "bar", units.Bar
	}
	if h.Reason != "" {
		fmt.Fprintln(w, c.say(h.Verdict.String()))
	}
	fmt.Fprintln(w, text.HoldSentence(h, d, text.Language(c.Lang)))
	if h.MinutesLeft != nil {
		fmt.Fprintln(w, c.line("more", c.span(*h.MinutesLeft)))
	}
	fmt.Fprintf(w, "\n%s\n", c.line(
		"hold.read",
		d.FormatPressure(h.First, ambient),
		d.FormatPressure(h.Last, ambient),
		c.span(h.Span),
		d.FormatPressure(h.Expected, ambient),
	))
	if h.N > 1 {
		fmt.Fprintln(w, c.line("hold.change",
			units.FormatUncertain(h.Change.Value/scale, h.Change.U/scale), unit, units.Fixed(h.Low/scale, 2), units.Fixed(h.High/scale, 2)))
		fmt.Fprintln(w, c.line("hold.smallest", text.AtMost(100*h.SmallestShare)))
	}
	if len(h.Leaks) > 0 {
		fmt.Fprintln(w, c.line("hold.hole"))
		for _, l := range h.Leaks {
			fmt.Fprintf(w, "  %s\n", c.line(
				"hold.leak",
				fmt.Sprintf("%-8s", l.Refrigerant),
				fmt.Sprintf("%8s", grams(l.GramsPerYear)),
				grams(l.Viscous),
				d.FormatPressure(l.Working, ambient),
				grams(l.Molecular),
			))
		}
	} else if h.NoLeakReason != "" {
		fmt.Fprintln(w, c.say(h.NoLeakReason))
		for _, l := range h.PerLitre {
			fmt.Fprintf(
				w, "  %s\n",
				c.line("hold.per_litre", fmt.Sprintf("%-8s", l.Refrigerant), fmt.Sprintf("%8s", grams(l.GramsPerYear))),
			)
		}
	}
	for _, f := range h.Findings {
		fmt.Fprintln(w, c.say(f))
	}
	fmt.Fprintf(w, "\n%s\n", c.line("hold.nitrogen"))
	for _, k := range h.Cautions {
		fmt.Fprintf(w, "  %s\n", c.say(k))
	}
}

// grams keeps two significant digits.
func grams(v float64) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64)
	if err != nil {
		r = v
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

type riseCmd struct {
	File        string `arg:"" help:"CSV with ${rise_columns} from when the pump was shut off; - is standard input." placeholder:"FILE.csv"`
	Volume      string `help:"Inner volume under vacuum: 20L, 0.7ft3. Without it no leak in grams." placeholder:"V"`
	Coldest     string `help:"Temperature of the coldest part under vacuum, such as -10F. Without it dryness is not proven." placeholder:"T"`
	Charge      string `help:"Full charge of the machine: 4kg, 9lb. Without it tight is not said." placeholder:"M"`
	Profile     string `help:"Published criterion: ${profiles}; default a house rule." placeholder:"NAME"`
	Refrigerant string `help:"Refrigerants in which the leak is expressed; default ${compared}." placeholder:"LIST"`
	JSON        bool   `help:"One JSON document." name:"json"`
	where
	spoken
}

// Run judges a rise test.
func (c *riseCmd) Run(env *Env) (err error) {
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	o := vacuum.Options{Outside: ambient}
	if c.Volume != "" {
		if o.Volume, err = units.ParseVolume(c.Volume, ""); err != nil {
			return at("--volume", err)
		}
	}
	if o.Charge, err = charged(c.Charge); err != nil {
		return err
	}
	if c.Coldest != "" {
		if o.Coldest, err = units.ParseTemp(c.Coldest, ""); err != nil {
			return at("--coldest", err)
		}
		if !(o.Coldest >= 180 && o.Coldest <= 373) {
			return fail.Of(fail.Usage, "--coldest", "vacuum.coldest", fail.Args{"coldest": c.Coldest})
		}
	}
	if c.Profile != "" {
		p, err := vacuum.FindProfile(c.Profile)
		if err != nil {
			return at("--profile", err)
		}
		o.Profile = &p
	}
	if o.Refrigerants, err = loadAll(c.Refrigerant); err != nil {
		return err
	}
	var pts []vacuum.Point
	if err := env.series(c.File, func(in io.Reader) (err error) {
		pts, err = wire.ReadVacuum(in)
		return err
	}); err != nil {
		return err
	}
	r, err := vacuum.Judge(pts, o)
	if err != nil {
		return at2(env.fileOf(c.File), err)
	}
	if c.JSON {
		return printJSON(env.Stdout, wire.Vacuum(r))
	}
	w := env.Stdout
	if r.Verdict == vacuum.Undecided {
		fmt.Fprintln(w, c.say(r.Verdict.String()))
	}
	fmt.Fprintln(w, text.RiseSentence(&r, units.US(), text.Language(c.Lang)))
	if r.MinutesLeft != nil {
		fmt.Fprintln(w, c.line("more", c.span(*r.MinutesLeft)))
	}
	micron := func(p units.Pressure) string { return units.Fixed(float64(p)/units.Micron, 0) }
	unit := text.VacuumUnit(units.US(), text.Language(c.Lang))
	fmt.Fprintf(w, "\n%s\n", c.line("rise.from_to", micron(r.First), micron(r.Last), unit, c.span(r.Span)))
	if r.N >= 4 {
		fmt.Fprintln(w, c.line(
			"rise.straight",
			units.FormatUncertain(r.Leak.Value, r.Leak.U),
			units.Fixed(r.Leak.Low, 1),
			units.Fixed(r.Leak.High, 1),
			units.Fixed(r.AllowedLeak, 1),
			unit,
		))
		fmt.Fprintln(w, c.line(
			"rise.levelling",
			c.span(r.Horizon),
			units.FormatUncertain(r.Moisture.Value, r.Moisture.U),
			units.Fixed(r.Moisture.Low, 0),
			units.Fixed(r.Moisture.High, 0),
			units.Fixed(r.AllowedRise, 0),
			unit,
		))
	}
	if r.DryLimit != nil {
		fmt.Fprintln(w, c.line("rise.ice", micron(*r.DryLimit), unit))
	}
	if r.WaterGrams != nil {
		fmt.Fprintln(w, c.line(
			"rise.let_in", strconv.FormatFloat(*r.StdCC, 'g', 2, 64), strconv.FormatFloat(*r.WaterGrams, 'g', 2, 64),
		))
		for i, l := range r.Leaks {
			fmt.Fprintf(w, "  %s\n", c.line(
				"rise.leak",
				fmt.Sprintf("%-8s", l.Refrigerant),
				fmt.Sprintf("%8s", grams(l.GramsPerYear)),
				grams(r.LeaksHigh[i].GramsPerYear),
			))
		}
	}
	for _, f := range r.Findings {
		fmt.Fprintln(w, c.say(f))
	}
	l := text.Language(c.Lang)
	fmt.Fprintln(w, c.line("rise.criterion", text.ProfileName(r.Profile, l), text.ProfileSource(r.Profile, l)))
	return nil
}

type coldRecordCmd struct {
	File       string `arg:"" help:"A logger's file of any layout; - is standard input." placeholder:"FILE.csv"`
	Limit      string `help:"Limit: a temperature such as 41F, or ${limits}." placeholder:"LIMIT" default:"cold_holding"`
	Unit       string `help:"C or F, where the file does not say." placeholder:"UNIT"`
	Dates      string `help:"dmy or mdy, where the file leaves it in doubt." placeholder:"ORDER"`
	Zone       string `help:"Zone of the logger's clock: Europe/Madrid, America/Denver, UTC or +02:00." placeholder:"ZONE"`
	Air        string `help:"Column of the air: its heading or its number." placeholder:"COLUMN"`
	Product    string `help:"Column of the product." placeholder:"COLUMN"`
	Tolerance  string `help:"Accuracy of the logger, plus or minus: 0.5K, 1F; default what the Food Code asks." placeholder:"DIFF"`
	Layout     string `help:"Read the layout that --save-layout wrote, instead of finding it." placeholder:"FILE.json"`
	SaveLayout string `help:"Write the layout found, for the next file of this logger." placeholder:"FILE.json"`
	Partial    bool   `help:"Set rows that cannot be read aside in FILE.rejected.csv and judge the rest."`
	JSON       bool   `help:"One JSON document." name:"json"`
	SI         bool   `help:"°C instead of °F, for people's text." name:"si"`
	spoken
}

func (c *coldRecordCmd) options() (o templog.Options, rule *templog.FoodLimit, err error) {
	if strings.ContainsAny(c.Limit, "0123456789") {
		if o.Limit, err = units.ParseTemp(c.Limit, ""); err != nil {
			return o, nil, at("--limit", err)
		}
	} else {
		l, err := templog.FindFoodLimit(c.Limit)
		if err != nil {
			return o, nil, at("--limit", err)
		}
		o.Limit, rule = l.Limit(), &l
	}
	switch u := strings.ToUpper(strings.Trim(c.Unit, "° ")); u {
	case "", "C", "F", "K":
		o.Unit = u
	default:
		return o, nil, fail.Of(fail.Usage, "--unit", "logger.unit", fail.Args{"unit": c.Unit})
	}
	if c.Dates != "" {
		if err := o.Dates.UnmarshalText([]byte(c.Dates)); err != nil {
			return o, nil, at("--dates", err)
		}
	}
	if c.Tolerance != "" {
		if o.Tolerance, err = units.ParseTempDiff(c.Tolerance, ""); err != nil {
			return o, nil, at("--tolerance", err)
		}
		if !(o.Tolerance > 0 && o.Tolerance <= 10) {
			return o, nil, fail.Of(fail.Usage, "--tolerance", "logger.tolerance", fail.Args{"tolerance": c.Tolerance})
		}
	}
	if c.Zone != "" {
		if o.Zone, err = zone(c.Zone); err != nil {
			return o, nil, err
		}
	}
	o.Air, o.Product = c.Air, c.Product
	return o, rule, nil
}

// zone reads a zone's name or an offset.
func zone(s string) (*time.Location, error) {
	if t, err := time.Parse("-07:00", s); err == nil {
		_, off := t.Zone()
		return time.FixedZone(s, off), nil
	}
	if z, err := time.LoadLocation(s); err == nil && s != "Local" {
		return z, nil
	}
	return nil, fail.Of(fail.Usage, "--zone", "logger.zone", fail.Args{"text": s})
}

// Run judges a logger's record.
func (c *coldRecordCmd) Run(env *Env) (err error) {
	o, rule, err := c.options()
	if err != nil {
		return err
	}
	if c.Layout != "" {
		in, err := env.open(c.Layout)
		if err != nil {
			return err
		}
		d := json.NewDecoder(io.LimitReader(in, 1<<20))
		d.DisallowUnknownFields()
		var m templog.Mapping
		if err := errors.Join(d.Decode(&m), in.Close()); err != nil {
			return fail.Of(fail.BadData, c.Layout, "logger.no_layout",
				fail.Args{"why": err, "setting": fail.Setting("save-layout")})
		}
		o.Mapping = &m
	}
	open := func() (io.ReadCloser, error) { return env.open(c.File) }
	if c.File == "-" { // read more than once, so kept
		b, err := io.ReadAll(env.Stdin)
		if err != nil {
			return err
		}
		open = func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }
	}
	var rejected [][]string
	if c.Partial {
		seen := map[int]bool{} // a file out of order is read twice
		o.Reject = func(line int, cells []string, why error) error {
			if !seen[line] {
				seen[line] = true
				rejected = append(rejected, append([]string{strconv.Itoa(line), oneLine(env.say(why).Line())}, cells...))
			}
			return nil
		}
	}
	r, err := templog.Judge(open, o)
	if err != nil {
		return at2(env.fileOf(c.File), err)
	}
	r.Rule = rule
	if len(rejected) > 0 {
		name := c.File + ".rejected.csv"
		if c.File == "-" {
			name = "rejected.csv"
		}
		if err := env.writeFile(name, func(w io.Writer) error {
			return csv.NewWriter(w).WriteAll(append([][]string{{"line", "reason", "cells"}}, rejected...))
		}); err != nil {
			return err
		}
		fmt.Fprintf(env.Stderr, "coldwright: %s\n", c.line("set_aside", strconv.Itoa(len(rejected)), name))
	}
	if c.SaveLayout != "" {
		if err := env.writeFile(c.SaveLayout, func(w io.Writer) error { return printJSON(w, r.Mapping) }); err != nil {
			return err
		}
	}
	if c.JSON {
		return printJSON(env.Stdout, wire.TemperatureRecord(r))
	}
	c.print(env.Stdout, &r)
	return nil
}

func (c *coldRecordCmd) print(w io.Writer, r *templog.Record) {
	d := units.US()
	if c.SI {
		d = units.Metric()
	}
	temp := func(t units.Temp) string { return d.FormatTemp(t, 1) }
	stamp := func(t time.Time) string {
		if t.IsZero() {
			return "?"
		}
		return strings.Replace(r.Stamp(t), "T", " ", 1)
	}
	fmt.Fprintln(w, c.line(
		"cold.readings",
		strconv.Itoa(r.Rows),
		stamp(r.First),
		stamp(r.Last),
		c.span(r.Every),
		temp(r.Min),
		temp(r.Max),
		temp(r.Mean),
	))
	rule := ""
	if r.Rule != nil {
		rule = fmt.Sprintf(" (%s, %s)", r.Rule.Source, r.Rule.Section)
	}
	channel := text.Channel(r.Channel, text.Language(c.Lang))
	fmt.Fprintf(w, "%s\n\n", c.line("cold.limit", temp(r.Limit), rule, d.FormatDiff(r.Tolerance, 1), channel))
	defrosts := 0
	for _, e := range r.Excursions {
		if e.Defrost {
			defrosts++
		}
	}
	fmt.Fprintln(w, c.line("cold.above", strconv.Itoa(r.Count), strconv.Itoa(defrosts), c.span(r.AboveLow), c.span(r.AboveHigh)))
	shown := 0
	for _, e := range r.Excursions {
		if e.Defrost {
			continue
		}
		if shown++; shown > 20 {
			fmt.Fprintf(w, "  %s\n", c.line("cold.more"))
			break
		}
		note := ""
		if !e.Sure {
			note = c.line("cold.within")
		}
		if e.ToEnd {
			note += c.line("cold.still")
		}
		fmt.Fprintf(w, "  %s\n", c.line(
			"cold.row",
			stamp(e.Start.After),
			stamp(e.Start.Before),
			stamp(e.End.After),
			stamp(e.End.Before),
			c.span(e.Low),
			c.span(e.High),
			temp(e.Peak),
			note,
		))
	}
	if l := r.Longest; l != nil {
		fmt.Fprintln(w, c.line("cold.longest", c.span(l.Low), c.span(l.High), stamp(l.Start.Before)))
	}
	how := "cold.product_logged"
	if !r.ProductLogged {
		how = "cold.product_reckoned"
	}
	fmt.Fprintln(w, c.line(how, c.span(r.ProductMinutes.Mid), c.span(r.ProductMinutes.Low), c.span(r.ProductMinutes.High)))
	if x := r.Defrosts; x.Count > 0 {
		fmt.Fprintln(w, c.line("cold.defrosts", strconv.Itoa(x.Count), c.span(x.Every), c.span(x.Minutes), d.FormatDiff(x.Rise, 0)))
	}
	if len(r.Notes) > 0 {
		fmt.Fprintf(w, "\n%s\n", c.line("cold.noticed"))
		for _, n := range r.Notes {
			fmt.Fprintf(w, "  %s (%d)\n", c.say(n.Code), n.N)
		}
	}
	fmt.Fprintf(w, "\n%s\n", c.line("cold.needs"))
	for _, n := range r.Needs {
		fmt.Fprintf(w, "  %s\n", c.say(n))
	}
	fmt.Fprintf(w, "%s\n", c.say(templog.FoodDecision))
}
