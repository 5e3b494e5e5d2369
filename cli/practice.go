package cli

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/practice"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type practiceCmd struct {
	Seed    *uint64 `help:"Draws the exercise; the same seed gives the same one. Default: at random." placeholder:"N"`
	Level   int     `help:"1 one plain fault, 2 one of any size, 3 two faults, 4 nothing is certain." placeholder:"1..4" default:"1"`
	Machine string  `help:"Machine of the bench; default: drawn. ${benches}." placeholder:"NAME"`
	JSON    bool    `help:"Say nothing, print one JSON document at the end." name:"json"`
	SI      bool    `help:"°C and bar(g) instead of °F and psig, for people's text." name:"si"`
}

// Run reads commands from standard input until a cause is named.
func (c *practiceCmd) Run(ctx context.Context, env *Env) error {
	seed, err := c.seed(env)
	if err != nil {
		return err
	}
	e, err := practice.New(seed, c.Level, c.Machine, fits())
	if err != nil {
		var f *fail.Error
		if errors.As(err, &f) && f.Code == fail.BadValue {
			return at("--"+f.Field, err)
		}
		return err
	}
	b := bench{w: env.Stdout, d: units.US(), s: e.Start()}
	if c.SI {
		b.d = units.Metric()
	}
	if c.JSON {
		b.w = io.Discard
	}
	b.start()
	in := bufio.NewScanner(env.Stdin)
	for {
		fmt.Fprint(b.w, "> ")
		if !in.Scan() {
			break
		}
		r, err := b.command(ctx, strings.Fields(in.Text()))
		var f *fail.Error
		switch {
		case errors.Is(err, errQuit):
			return nil
		case err != nil && (c.JSON || !errors.As(err, &f)):
			return err
		case err != nil:
			s := env.say(err)
			fmt.Fprintln(b.w, oneLine(s.Says))
			if s.Do != "" {
				fmt.Fprintln(b.w, "hint:", oneLine(s.Do))
			}
		case r != nil:
			if c.JSON {
				return printJSON(env.Stdout, wire.Practice(e, b.s.Done(), r))
			}
			b.result(r)
			return nil
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	return fail.Of(fail.Required, "", "practice.ended", nil)
}

func (c *practiceCmd) seed(env *Env) (uint64, error) {
	if c.Seed != nil {
		return *c.Seed, nil
	}
	var b [4]byte // short enough to type again
	if _, err := io.ReadFull(env.Rand, b[:]); err != nil {
		return 0, fmt.Errorf("randomness: %w", err)
	}
	return uint64(binary.LittleEndian.Uint32(b[:])), nil
}

var errQuit = errors.New("quit")

// bench is an exercise in a terminal.
type bench struct {
	w io.Writer
	d units.Display
	s practice.Session
}

func (b *bench) start() {
	b.say(fmt.Sprintf("Seed %d, level %d: %s.", b.s.Seed, b.s.Level, text.LowerFirst(text.PracticeLevel(b.s.Level))))
	fmt.Fprintf(b.w, "%s.\n", text.PracticeMachine(b.s.Key))
	b.say(text.PracticePlate(b.s.Exercise, b.d), text.PracticeComplaint(b.s.Level), "")
	b.offers()
	fmt.Fprintln(b.w, `
Type a number to read. "list" shows what is left, "causes" what can be wrong and
how it is repaired, "name CAUSE REPAIR" ends it (two of each: joined by +),
"quit" leaves. In brackets: minutes and refrigerant spent so far.`)
}

func (b *bench) offers() {
	for i, o := range b.s.Offers() {
		if o.Taken {
			continue
		}
		note := text.RiskShort(o.Risk)
		if note != "" {
			note = "  " + note
		}
		fmt.Fprintf(b.w, "%3d  %-38s %3.0f min%s\n", i+1, text.PracticeName(o.At), o.Minutes, note)
	}
}

func (b *bench) causes() {
	fmt.Fprintln(b.w, "Causes")
	for i, c := range b.s.Candidates() {
		fmt.Fprintf(b.w, "%3d  %-42s %s\n", i+1, text.Fault(c.String()).Name, c)
	}
	fmt.Fprintln(b.w, "Repairs")
	for i, r := range b.s.Repairs() {
		fmt.Fprintf(b.w, "%3d  %s\n", i+1, text.Remedy(r))
	}
}

// command does what a line says; a result ends the exercise.
func (b *bench) command(ctx context.Context, words []string) (*practice.Result, error) {
	if len(words) == 0 {
		return nil, nil
	}
	switch words[0] {
	case "quit":
		return nil, errQuit
	case "list":
		b.offers()
		return nil, nil
	case "causes":
		b.causes()
		return nil, nil
	case "name":
		return b.name(ctx, words[1:])
	}
	for _, w := range words {
		key := pick(w, b.s.Keys())
		s, err := b.s.Take(key)
		if err != nil {
			return nil, err
		}
		b.s = s
		i := slices.IndexFunc(s.Events, func(e practice.Event) bool { return e.At == key })
		fmt.Fprintf(
			b.w,
			"%-38s %s  (%.0f min, %.0f g)\n",
			text.PracticeName(key),
			text.PracticeShown(s.Events[i], b.d),
			s.Minutes(),
			s.Grams(),
		)
	}
	return nil, nil
}

func (b *bench) name(ctx context.Context, words []string) (*practice.Result, error) {
	if len(words) == 0 || len(words) > 2 {
		return nil, fail.Of(fail.BadValue, "name", "practice.name_how", nil)
	}
	var codes, repair []string
	for _, c := range b.s.Candidates() {
		codes = append(codes, c.String())
	}
	var cause []fault.Code
	for w := range strings.SplitSeq(words[0], "+") {
		c, err := fault.Parse(pick(w, codes))
		if err != nil {
			return nil, fail.Of(fail.BadValue, "cause", "practice.no_cause", fail.Args{"text": w, "causes": codes})
		}
		cause = append(cause, c)
	}
	if len(words) == 2 {
		for w := range strings.SplitSeq(words[1], "+") {
			repair = append(repair, pick(w, b.s.Repairs()))
		}
	}
	return b.s.Name(ctx, cause, repair)
}

// pick is the entry of a list by its number, or the word itself.
func pick(word string, list []string) string {
	if n, err := strconv.Atoi(word); err == nil && n >= 1 && n <= len(list) {
		return list[n-1]
	}
	return word
}

func (b *bench) result(r *practice.Result) {
	h1, para := text.PracticeHeadline(r)
	b.say("", h1, fmt.Sprintf("%s %d of 100 points.", para, r.Points), "")
	for _, t := range r.Truth {
		b.say(text.PracticeTruth(t, b.d))
	}
	for _, m := range r.Remedies {
		fmt.Fprintf(b.w, "Repair: %s.\n", text.LowerFirst(text.Remedy(m)))
	}
	b.say(text.PracticeProof(r), text.PracticePace(r), text.PracticeExpert(r))
	if len(r.Ladder) > 0 {
		fmt.Fprintf(b.w, "\n%-38s %12s %12s %12s\n", "What you read", "read", "healthy", "it stands at")
		for _, a := range r.Ladder {
			show := func(v float64) string { return text.PracticeValue(a.At, v, b.d) }
			fmt.Fprintf(b.w, "%-38s %12s %12s %12s\n", text.Label(a.At.String()), show(a.Read), show(a.Healthy), show(a.Truth))
		}
	}
	b.path("Your readings", r.Path)
	b.path("The expert's", r.Expert)
	fmt.Fprintln(b.w, "\nBy hand, before you act:")
	b.say(text.PracticeLessons(r)...)
}

// say prints sentences in lines a terminal holds.
func (b *bench) say(lines ...string) {
	for _, l := range lines {
		fmt.Fprintln(b.w, wrap(l, "", 80))
	}
}

func (b *bench) path(title string, steps []practice.Step) {
	fmt.Fprintf(b.w, "\n%-38s %5s  %s\n", title, "min", "shows")
	sum := 0.0
	for _, s := range steps {
		sum += s.Minutes
		fmt.Fprintf(b.w, "%-38s %5.0f  %s\n", text.PracticeName(s.At), sum, text.PracticeShown(s.Event, b.d))
		if s.First != "" {
			fmt.Fprintf(b.w, "      most likely: %s, %s\n", text.LowerFirst(text.Fault(s.First).Name), text.HundredWord(s.Sure))
		}
		if n := text.PracticeAdvice(s); n != "" {
			fmt.Fprintf(b.w, "      then: %s\n", text.LowerFirst(n))
		}
	}
}
