package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"sync"
	"time"

	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/wire"
)

type diagnoseCmd struct {
	File  string `arg:"" optional:"" help:"Sheet in JSON; - is standard input." placeholder:"FILE.json"`
	Table string `help:"Judge every row of a table of machines." placeholder:"CASES.csv"`
	Out   string `help:"Where the judged table goes; default standard output." placeholder:"FILE.csv"`
	JSON  bool   `help:"One JSON document." name:"json"`
	SI    bool   `help:"°C and bar(g) instead of °F and psig, for people's text." name:"si"`
}

// fits hands out one fit per refrigerant for the length of a command.
func fits() func(string) (*refrigerant.Fit, error) {
	type entry struct {
		once sync.Once
		fit  *refrigerant.Fit
		err  error
	}
	var mu sync.Mutex
	all := map[string]*entry{}
	return func(name string) (*refrigerant.Fit, error) {
		mu.Lock()
		e := all[name]
		if e == nil {
			e = new(entry)
			all[name] = e
		}
		mu.Unlock()
		e.once.Do(func() {
			var r *refrigerant.Refrigerant
			if r, e.err = load(name, ""); e.err == nil {
				e.fit, e.err = r.Fit()
			}
		})
		return e.fit, e.err
	}
}

// Run judges.
func (c *diagnoseCmd) Run(ctx context.Context, env *Env) (err error) {
	if (c.File == "") == (c.Table == "") {
		return fail.Of(fail.Usage, "", "usage.sheet_or_table", fail.Args{"table": fail.Setting("table")})
	}
	if c.Table != "" {
		in, err := env.open(c.Table)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, in.Close()) }()
		var st wire.JudgedStats
		err = env.writeFile(c.Out, func(w io.Writer) error {
			st, err = wire.JudgeCases(ctx, in, w, fits(), said, diagnose.Options{})
			return err
		})
		if err != nil {
			return at2(c.Table, err)
		}
		if st.Failed > 0 {
			return fail.Of(fail.NoAnswer, c.Table, "table.rows_failed", fail.Args{"failed": st.Failed, "rows": st.Cases, "column": "error"})
		}
		return nil
	}
	s, err := env.sheet(c.File)
	if err != nil {
		return err
	}
	fit, err := fits()(s.Machine.Refrigerant)
	if err != nil {
		return err
	}
	p, err := diagnose.Run(ctx, diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{Misfit: true})
	if err != nil {
		return err
	}
	if c.JSON {
		return JudgementJSON(env.Stdout, s, p)
	}
	d := units.US()
	if c.SI {
		d = units.Metric()
	}
	PrintJudgement(env.Stdout, s, p, d)
	return nil
}

// JudgementJSON writes what the command prints with --json: the judgement, and the verdict on it under the key "verdict".
func JudgementJSON(w io.Writer, s reading.Sheet, p diagnose.Posterior) error {
	return printJSON(w, wire.Answer(&p, verdict.Of(&p, s)))
}

// at2 puts the file before the place of a failure.
func at2(file string, err error) error {
	var e *fail.Error
	if errors.As(err, &e) {
		f := *e
		f.Field = strings.TrimSuffix(file+": "+f.Field, ": ")
		return &f
	}
	return err
}

// PrintJudgement writes what the command prints for people.
func PrintJudgement(w io.Writer, s reading.Sheet, p diagnose.Posterior, d units.Display) {
	j := verdict.Of(&p, s)
	amb := s.Machine.AmbientPressure()
	h1, para := text.Headline(j, d)
	fmt.Fprintf(w, "%s\n%s\n", h1, para)
	if wrong := text.Instruments(j.Instruments, d, text.English); wrong != "" {
		fmt.Fprintln(w, wrong)
	}
	if odd := text.Misfit(j, d, amb, text.English); odd != "" {
		fmt.Fprintln(w, odd)
	}
	if same := text.LookAlike(j, text.English); same != "" {
		fmt.Fprintln(w, same)
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, "Read against what this machine should show today")
	for _, e := range p.Expected {
		if !e.Read {
			continue
		}
		r, _ := s.Find(e.At)
		show := func(v float64) string {
			switch e.At.Kind() {
			case reading.KindPressure:
				return d.PressureNumber(units.Pressure(v), amb)
			case reading.KindTemperature:
				return d.TempNumber(units.Temp(v), 0)
			}
			return units.Fixed(v, 1)
		}
		unit := ""
		switch e.At.Kind() {
		case reading.KindPressure:
			unit = d.PressureUnit()
		case reading.KindTemperature:
			unit = d.Temp
		case reading.KindCurrent:
			unit = "A"
		case reading.KindPower:
			unit = "W"
		}
		off := "in"
		if !e.In {
			off = offBand(e, d)
		}
		fmt.Fprintf(
			w,
			"  %-28s %8s %-7s  healthy %s to %s   %s\n",
			text.Label(e.At.String()),
			show(r.Value),
			unit,
			show(e.Band.Low),
			show(e.Band.High),
			off,
		)
	}
	if len(p.Analysis.Expected) > 0 {
		fmt.Fprintln(w, "\nBy the rule of thumb (box less TD, outside plus split)")
		for _, e := range p.Analysis.Expected {
			fmt.Fprintf(
				w,
				"  %-28s %8s %-7s  %s saturated\n",
				text.Label(e.At.String()),
				d.PressureNumber(units.Pressure(e.P), amb),
				d.PressureUnit(),
				d.FormatTemp(units.Temp(e.Temp), 0),
			)
		}
	}
	if len(p.Analysis.Derived) > 0 {
		fmt.Fprintln(w, "\nDerived")
		for _, q := range p.Analysis.Derived {
			v := d.DiffNumber(units.TempDiff(q.Value), 1) + " ± " + d.DiffNumber(units.TempDiff(q.U), 1) + " " + d.DiffUnit()
			if q.Key == "compression_ratio" {
				v = units.FormatUncertain(q.Value, q.U)
			}
			fmt.Fprintf(w, "  %-28s %s\n", text.Derived(q.Key), v)
		}
	}
	fmt.Fprintln(w, "\nSuspects (two can be present at once, so the figures may add up to more than 100)")
	none := false
	for _, x := range j.Suspects { // in the order of the verdict, as on the page
		switch x.Code {
		case fault.Healthy:
			fmt.Fprintf(w, "  %-44s %s\n", "Nothing wrong", text.HundredWord(x.Probability))
			continue
		case fault.NoneOfThese:
			none = true
			fmt.Fprintf(w, "  %-44s %s\n", "None of these", text.HundredWord(x.Probability))
			continue
		}
		fmt.Fprintf(w, "  %-44s %s, %s\n", text.Fault(x.Code.String()).Name, text.HundredWord(x.Probability), text.Level(x.Level()))
		if x.Severity != nil {
			fmt.Fprintf(w, "      %s\n", text.SeverityFrom(*x.Severity, d))
		}
	}
	if !none {
		fmt.Fprintf(w, "  %-44s %s\n", "None of these", text.HundredWord(j.PNone))
	}
	fmt.Fprintf(w, "\n%s\n", text.Fit(j))
	n := j.Next
	switch n.Kind {
	case verdict.Read:
		words := text.NextFrom(*n.Reading)
		fmt.Fprintf(w, "\nNext reading, %s min: %s\n  %s\n", units.Fixed(n.Reading.Minutes, 0), words.Title, words.Why)
		if risk := text.Risk(n.Reading.Risk); risk != "" {
			fmt.Fprintf(w, "  %s\n", risk)
		}
	case verdict.Act:
		fmt.Fprintf(w, "\nNext: %s\n%s\n", text.Act(n, text.English), strings.TrimSpace(text.Also(n, text.English)+" "+text.Advice(n)))
	case verdict.Prove:
		fmt.Fprintln(w, "\nNext: prove the instrument.")
	case verdict.Hands:
		fmt.Fprintf(w, "\nNext: hands and eyes.\n%s\n", text.Advice(n))
		for _, x := range j.Causes()[:min(2, len(j.Causes()))] {
			fmt.Fprintf(w, "  %s: %s\n", text.Fault(x.Code.String()).Name, text.Fault(x.Code.String()).Check)
		}
	case verdict.Stop:
		fmt.Fprintln(w, "\nNext: prove the cold and write it down.")
	}
	if proof := text.Proof(n, text.English); proof != "" {
		fmt.Fprintf(w, "\n%s\n", proof)
	}
	if danger := text.RefrigerantCautions(text.DangerOf(s.Machine.Refrigerant, s.Machine.Application)); len(danger) > 0 {
		fmt.Fprintln(w, "\nBefore the circuit is opened")
		for _, c := range danger {
			fmt.Fprintln(w, wrap(c.Text, "  ", 80))
		}
	}
	if len(p.Warnings) > 0 {
		fmt.Fprintln(w, "\nNoticed")
		for _, f := range p.Warnings {
			fmt.Fprintf(w, "  %s\n", text.Finding(f, d, amb))
		}
	}
	if len(p.Assumed) > 0 {
		fmt.Fprintf(w, "\nAssumed: %s\n", strings.Join(text.AssumedList(p.Assumed, d), "; "))
	}
}

type pulldownCmd struct {
	File     string `arg:"" help:"CSV with minute (or time) and box_f or box_c; - is standard input." placeholder:"FILE.csv"`
	Setpoint string `help:"What the box must hold, such as -5F." placeholder:"T" required:""`
	Before   string `help:"CSV of the same box before the work, compared at the same temperatures." placeholder:"FILE.csv"`
	Sheet    string `help:"Readings of its machine, JSON: judged together with the box; all in band: when it is cold." placeholder:"FILE.json"`
	Language string `name:"language" help:"Language of sentences: ${languages}." default:"en" placeholder:"LANG"`
	JSON     bool   `help:"One JSON document." name:"json"`
	SI       bool   `help:"°C instead of °F, for people's text." name:"si"`
}

// Run judges a pull-down.
func (c *pulldownCmd) Run(ctx context.Context, env *Env) (err error) {
	l, err := text.ParseLanguage(c.Language)
	if err != nil {
		return at("--language", err)
	}
	set, err := units.ParseTemp(c.Setpoint, "")
	if err != nil {
		return at("--setpoint", err)
	}
	read := func(file string) (pts []pulldown.Point, err error) {
		in, err := env.open(file)
		if err != nil {
			return nil, err
		}
		defer func() { err = errors.Join(err, in.Close()) }()
		pts, err = wire.ReadPullDown(in)
		return pts, at2(file, err)
	}
	pts, err := read(c.File)
	if err != nil {
		return err
	}
	o := pulldown.Options{SetPoint: set}
	if c.Before != "" {
		if o.Earlier, err = read(c.Before); err != nil {
			return err
		}
	}
	p, coming, err := c.judge(ctx, env, pts, o)
	if err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, wire.PullDown(p, coming))
	}
	d := units.US()
	if c.SI {
		d = units.Metric()
	}
	printPullDown(env.Stdout, &p, coming, set, d, l)
	return nil
}

// judge judges the points, with the machine's readings where they are known, and then says when the box will be cold.
func (c *pulldownCmd) judge(ctx context.Context, env *Env, pts []pulldown.Point, o pulldown.Options) (
	p pulldown.Result, coming *verdict.Coming, err error,
) {
	if c.Sheet == "" {
		p, err = pulldown.Judge(pts, o)
		return p, nil, at2(c.File, err)
	}
	s, err := env.sheet(c.Sheet)
	if err != nil {
		return p, nil, err
	}
	fit, err := fits()(s.Machine.Refrigerant)
	if err != nil {
		return p, nil, err
	}
	post, p, err, wrong := diagnose.RunWithPull(ctx, diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{}, pts, o)
	if err = cmp.Or(at2(c.Sheet, err), at2(c.File, wrong)); err != nil {
		return p, nil, err
	}
	return p, verdict.OfComing(verdict.Of(&post, s), &post, &p, o.SetPoint), nil
}

// printPullDown writes what the command prints for people.
func printPullDown(w io.Writer, p *pulldown.Result, coming *verdict.Coming, set units.Temp, d units.Display, l text.Language) {
	facts := text.PullFactsFrom(p, set)
	fmt.Fprintf(w, "%s.\n%s\n", text.PullDownVerdict(p.Verdict.String(), l), text.PullDown(facts, d, l))
	if s := text.Coming(coming, time.Time{}, d, l); s != "" {
		fmt.Fprintln(w, s)
	}
	fmt.Fprintf(w, "\n%s\n", text.Pull(l, "last", d.FormatTemp(p.Last, 0), d.FormatDiff(p.RateLast, 1)))
	if len(p.Forecast) == 0 {
		return
	}
	fmt.Fprintln(w, text.Pull(l, "forecast"))
	for _, b := range p.Forecast {
		row := text.Pull(l, "forecast_row", units.Fixed(b.Minute, 0), d.FormatTemp(b.Mid, 0), d.TempNumber(b.Low, 0), d.TempNumber(b.High, 0))
		fmt.Fprintf(w, "  %s\n", row)
	}
	fmt.Fprintln(w, text.Pull(l, "food"))
}

// sheet reads a sheet of readings.
func (e *Env) sheet(file string) (s reading.Sheet, err error) {
	in, err := e.open(file)
	if err != nil {
		return s, err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	b, err := io.ReadAll(io.LimitReader(in, 1<<20+1))
	if err != nil {
		return s, err
	}
	if len(b) > 1<<20 {
		return s, fail.Of(fail.BadData, file, "file.large_sheet", nil)
	}
	s, err = wire.ReadSheet(b)
	return s, at2(file, err)
}

// offBand says how far a reading stands from the middle of its healthy band: in degrees where it is one or means one, as
// a share of full current or power otherwise.
func offBand(e diagnose.Expectation, d units.Display) string {
	word := "over"
	if e.Off < 0 {
		word = "under"
	}
	if e.At == reading.HeaterAmps {
		return word
	}
	off := math.Abs(e.Off)
	if k := e.At.Kind(); k == reading.KindCurrent || k == reading.KindPower {
		return units.Fixed(100*off, 0) + " % of full " + word
	}
	return d.DiffNumber(units.TempDiff(off), 0) + " " + d.DiffUnit() + " " + word
}
