package cli

import (
	"context"
	"fmt"
	"io"
	"strings"

	"coldwright/checks"
	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict/threshold"
	"coldwright/wire"
)

type checksCmd struct {
	File     string `arg:"" optional:"" help:"What is complained of and what was found, in JSON; - is standard input." placeholder:"FILE.json"`
	List     bool   `help:"Every complaint with its causes, and every check with its answers."`
	JSON     bool   `name:"json" help:"One JSON document."`
	Language string `name:"language" help:"Language of sentences: ${languages}." default:"en" placeholder:"LANG"`
}

// Run judges a call, or lists what there is.
func (c *checksCmd) Run(ctx context.Context, env *Env) error {
	l, err := text.ParseLanguage(c.Language)
	if err != nil {
		return at("--language", err)
	}
	if c.List == (c.File != "") {
		return fail.Of(fail.Usage, "", "usage.call_or_list", fail.Args{"list": fail.Setting("list")})
	}
	if c.List {
		if c.JSON {
			return printJSON(env.Stdout, wire.ChecksList())
		}
		printChecksList(env.Stdout, l)
		return nil
	}
	document, err := env.readAll(c.File)
	if err != nil {
		return err
	}
	call, sheet, err := wire.ReadCall(document)
	if err != nil {
		return at2(c.File, err)
	}
	call.Flammable = true // until its class is known: a danger nobody knows is a danger
	if sheet != nil {
		if err := readCircuit(ctx, &call, sheet); err != nil {
			return err
		}
	}
	a, err := checks.Standard().Run(call)
	if err != nil {
		return err
	}
	if c.JSON {
		why := func(x checks.Next) string { return text.CheckWhy(x, l) }
		return printJSON(env.Stdout, wire.CallAnswer(&a, why, func(code string) string { return text.CheckCaution(code, l) }))
	}
	printCall(env.Stdout, call.Complaint, &a, l)
	return nil
}

// readCircuit lets the machine's refrigerant and what its gauges say into a call.
func readCircuit(ctx context.Context, call *checks.Case, s *reading.Sheet) error {
	fit, err := fits()(s.Machine.Refrigerant)
	if err != nil {
		return err
	}
	r, err := load(s.Machine.Refrigerant, "")
	if err != nil {
		return err
	}
	class, _ := r.Safety()
	call.Flammable = class.Burns()
	call.Freezer = strings.Contains(s.Machine.Application.String(), "freezer")
	if r, ok := s.Find(reading.Ambient); ok {
		call.Place.Outside = r.Value
	}
	pressures := 0
	for _, r := range s.Readings {
		if r.At.Kind() == reading.KindPressure {
			pressures++
		}
	}
	if pressures == 0 || len(s.Readings) < 2 { // nothing that a circuit could be judged by
		return nil
	}
	cat, err := fault.Shipped()
	if err != nil {
		return err
	}
	p, err := diagnose.Run(ctx, diagnose.Evidence{Sheet: *s, Fit: fit}, diagnose.Options{})
	if err != nil {
		return err
	}
	call.Odds, call.Read = wire.CircuitOdds(&p, s, &cat)
	return nil
}

func printCall(w io.Writer, complaint string, a *checks.Answer, l text.Language) {
	say := func(key string, args ...string) string { return text.CheckLine(l, key, args...) }
	fmt.Fprintln(w, text.Complaint(complaint, l))
	switch {
	case a.Proven != "":
		fmt.Fprintln(w, say("proven", text.CheckCause(a.Proven, l)))
	case a.Call:
		fmt.Fprintln(w, say("call"))
	default:
		fmt.Fprintln(w, say("proof.in", units.Fixed(a.ToProof, 0)))
	}
	if len(a.Next) > 0 {
		fmt.Fprintf(w, "\n%s\n", say("next"))
	}
	if len(a.Cautions) > 0 && a.Cautions[0] == checks.Burns {
		fmt.Fprintln(w, wrap(text.CheckCaution(checks.Burns, l), "  ", 96))
	}
	for i, x := range a.Next {
		printNext(w, fmt.Sprintf("%d. ", i+1), x, l)
	}
	fmt.Fprintf(w, "\n%s\n", say("suspects"))
	for _, s := range a.Ranked {
		if s.Probability >= threshold.Unlikely {
			fmt.Fprintln(w, "  "+say("suspect", text.CheckCause(s.Cause, l), text.HundredWord(s.Probability, l)))
		}
	}
	fmt.Fprintln(w, "  "+say("suspect", say("other"), text.HundredWord(a.Other, l)))
	if len(a.Forbidden) > 0 {
		fmt.Fprintf(w, "\n%s\n", say("forbidden"))
		for _, f := range a.Forbidden {
			before, answer := text.CheckDo(f.Until.Check, l), text.CheckAnswer(f.Until.Check, f.Until.Answer, l)
			until := say("forbidden.until", text.CheckDo(f.Check, l), before, answer)
			for _, line := range strings.Split(until, "\n") {
				fmt.Fprintln(w, wrap(line, "  ", 96))
			}
		}
	}
	if len(a.Plan) > 1 {
		fmt.Fprintf(w, "\n%s\n", say("plan"))
		for _, p := range a.Plan {
			fmt.Fprintln(w, wrap(text.CheckDo(p.Check, l), "  ", 96))
			if p.Try {
				fmt.Fprintf(w, "    %s\n", say("plan.try"))
			}
		}
	}
	for _, code := range a.Twice {
		fmt.Fprintf(w, "\n%s\n", wrap(say("twice", text.CheckDo(code, l)), "", 96))
	}
	fmt.Fprintf(w, "\n%s\n", wrap(say("defer"), "", 96))
}

func printNext(w io.Writer, number string, x checks.Next, l text.Language) {
	say := func(key string, args ...string) string { return text.CheckLine(l, key, args...) }
	how := []string{}
	title := ""
	if x.Check == nil {
		title = say("repair", text.CheckCause(x.Repair, l))
	} else {
		title = text.CheckDo(x.Check.Code, l)
		for _, o := range x.Opens {
			how = append(how, say("open."+o))
		}
		how = append(how, say("power."+string(x.Check.Power)))
	}
	fmt.Fprintln(w, wrap(number+title, "  ", 96))
	fmt.Fprintln(w, wrap(units.Fixed(x.Minutes, 0)+" min. "+strings.Join(how, " "), "     ", 96))
	fmt.Fprintln(w, wrap(text.CheckWhy(x, l), "     ", 96))
	if x.Check != nil {
		for _, code := range x.Check.Cautions {
			if code != checks.Burns {
				fmt.Fprintln(w, wrap(say("mind", text.CheckCaution(code, l)), "     ", 96))
			}
		}
	}
	for _, m := range x.Answers {
		leads := text.CheckCause(m.Leads.Cause, l)
		line := say("answer", text.CheckAnswer(x.Check.Code, m.Answer, l), leads, text.HundredWord(m.Leads.Probability, l))
		fmt.Fprintln(w, wrap(line, "       ", 96))
	}
}

func printChecksList(w io.Writer, l text.Language) {
	n := checks.Standard()
	for _, c := range n.Complaints {
		fmt.Fprintf(w, "%s\n    %s\n", c.Code, text.Complaint(c.Code, l))
		for _, x := range c.Causes {
			fmt.Fprintf(w, "      %s: %s\n", x.Cause, text.CheckCause(x.Cause, l))
		}
	}
	fmt.Fprintln(w)
	for i := range n.Checks {
		k := &n.Checks[i]
		fmt.Fprintf(w, "%s\n%s\n", k.Code, wrap(text.CheckDo(k.Code, l), "    ", 96))
		for _, answer := range k.Answers {
			fmt.Fprintf(w, "      %s: %s\n", answer, text.CheckAnswer(k.Code, answer, l))
		}
	}
}
