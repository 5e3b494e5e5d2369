package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type leakrateCmd struct {
	File       string   `arg:"" help:"CSV with date, added, removed, reason, same_leak; - is standard input." placeholder:"FILE.csv"`
	FullCharge string   `help:"Normal operating charge with its unit, such as 60lb; of a range the midpoint." placeholder:"M" required:""`
	AsOf       string   `help:"The day to judge." placeholder:"DATE" required:""`
	Verified   []string `help:"Day of a follow-up test that showed all leaks repaired; more than one, separated by commas." placeholder:"DATE"`
	Since      string   `help:"Day on which the rule begins: what was added before does not count." placeholder:"DATE"`
	JSON       bool     `help:"One JSON document." name:"json"`
	SI         bool     `help:"Kilograms instead of pounds, for people's text." name:"si"`
}

// day reads a date of a flag.
func day(flag, s string) (ledger.Date, error) {
	d, err := ledger.ParseDate(s)
	return d, at(flag, err)
}

// Run calculates the leak rate.
func (c *leakrateCmd) Run(env *Env) (err error) {
	in := ledger.RateInput{}
	if in.FullCharge, err = units.ParseMass(c.FullCharge, ""); err != nil {
		return at("--full-charge", err)
	}
	if in.FullCharge == 0 {
		return fail.Of(fail.Usage, "--full-charge", "usage.full_charge", fail.Args{"text": c.FullCharge})
	}
	if in.AsOf, err = day("--as-of", c.AsOf); err != nil {
		return err
	}
	if c.Since != "" {
		if in.Since, err = day("--since", c.Since); err != nil {
			return err
		}
	}
	for _, s := range c.Verified {
		d, err := day("--verified", s)
		if err != nil {
			return err
		}
		in.Verified = append(in.Verified, d)
	}
	f, err := env.open(c.File)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if in.Moves, err = wire.ReadMoves(f); err != nil {
		return at2(c.File, err)
	}
	r, err := ledger.LeakRate(in)
	if err != nil {
		return at2(c.File, err)
	}
	out := wire.NewLeakRate(in.AsOf, &r)
	if c.JSON {
		return printJSON(env.Stdout, out)
	}
	printRate(env.Stdout, out, display(c.SI))
	return nil
}

func printRate(w io.Writer, r wire.LeakRateAnswer, d units.Display) {
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	fmt.Fprintf(w, "Leak rate of a machine that holds %s, as of %s\n", mass(r.FullCharge), r.AsOf)
	if r.Annualizing == nil {
		fmt.Fprintln(w, "  annualizing   none: no refrigerant was added to make up a loss")
	} else {
		fmt.Fprintf(w, "  annualizing   %s %% a year, on the last addition that made up a loss\n", units.Fixed(*r.Annualizing, 1))
	}
	fmt.Fprintf(w, "  rolling       %s %%, from %s on\n", units.Fixed(r.Rolling, 1), r.Window)
	if len(r.Additions) > 0 {
		fmt.Fprintf(w, "\n  %-10s  %11s  %11s  %5s  %11s  %8s\n", "date", "added", "lost", "days", "annualizing", "rolling")
	}
	for _, a := range r.Additions {
		annual, rolling := "–", "–"
		if a.Annualizing != nil {
			annual, rolling = units.Fixed(*a.Annualizing, 1)+" %", units.Fixed(*a.Rolling, 1)+" %"
		}
		days := fmt.Sprint(a.Days)
		if a.First {
			days += "*"
		}
		fmt.Fprintf(w, "  %-10s  %11s  %11s  %5s  %11s  %8s\n", a.Date, mass(a.Added), mass(a.Counted), days, annual, rolling)
	}
	if len(r.Additions) > 0 && r.Additions[0].First {
		fmt.Fprintln(w, "\n* No addition before: 365 days are taken.")
	}
	for _, a := range r.Additions {
		if a.Continues {
			fmt.Fprintf(w, "\n%s\n", text.SameLeak(a.Date, *a.Alone, a.Assumed, text.English))
		}
	}
	fmt.Fprintf(w, "\nFormulas: 40 CFR 82.152. %s\n", text.LawCaution(text.English))
}

type dutiesCmd struct {
	File     string `arg:"" help:"Machine and events in JSON; - is standard input." placeholder:"FILE.json"`
	On       string `help:"The day to judge." placeholder:"DATE" required:""`
	Retrofit string `help:"What giving it this refrigerant would mean." placeholder:"REFRIGERANT"`
	ICS      string `help:"Write the days that are due as a calendar." placeholder:"FILE.ics" name:"ics"`
	Language string `help:"Language of people's text: ${languages}." enum:"${language_codes}" default:"en"`
	JSON     bool   `help:"One JSON document." name:"json"`
	SI       bool   `help:"Kilograms instead of pounds, for people's text." name:"si"`
}

// Run judges what the rules ask.
func (c *dutiesCmd) Run(env *Env) (err error) {
	on, err := day("--on", c.On)
	if err != nil {
		return err
	}
	f, err := env.open(c.File)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	m, err := wire.ReadOwned(f)
	if err != nil {
		return at2(c.File, err)
	}
	r, err := law.Duties(m, on)
	if err != nil {
		return at2(c.File, err)
	}
	out := struct {
		law.Result
		Retrofit []law.Change `json:"retrofit,omitempty"`
		Caution  string       `json:"caution"`
	}{Result: r, Caution: text.LawCaution(text.English)}
	if c.Retrofit != "" {
		if out.Retrofit, err = law.Retrofit(m, c.Retrofit, on); err != nil {
			return at("--retrofit", err)
		}
	}
	l := text.Language(c.Language)
	if c.ICS != "" {
		stamp, err := time.Parse(time.DateOnly, on.String())
		if err != nil {
			return err
		}
		err = env.writeFile(c.ICS, func(w io.Writer) error {
			return law.WriteCalendar(
				w,
				stamp,
				law.Calendar(
					r,
					r.Name+"|"+r.Refrigerant+"|"+string(r.Class),
					func(d law.Duty) (string, string) { return text.Appointment(d, r.Name, l) },
				),
			)
		})
		if err != nil || c.ICS == "-" {
			return err
		}
	}
	if c.JSON {
		return printJSON(env.Stdout, out)
	}
	printDuties(env.Stdout, r, out.Retrofit, c.Retrofit, l, display(c.SI))
	return nil
}

func printDuties(w io.Writer, r law.Result, changes []law.Change, to string, l text.Language, d units.Display) {
	head := []string{}
	for _, s := range []string{r.Name, r.Refrigerant, string(r.Class), string(r.Jurisdiction), r.On.String()} {
		if s != "" {
			head = append(head, s)
		}
	}
	if r.FullChargeKg != nil {
		head = append(head, d.FormatMass(units.Mass(*r.FullChargeKg)))
	}
	if r.CO2eKg != nil {
		head = append(head, units.Fixed(*r.CO2eKg/units.Tonne, 1)+" t CO₂e ("+r.GWPEdition+")")
	}
	fmt.Fprintln(w, strings.Join(head, ", "))
	state := law.State("")
	for _, x := range r.Duties {
		if x.State != state {
			state = x.State
			fmt.Fprintf(w, "\n%s\n", text.DutyState(state, l))
		}
		words := text.Duty(x.Code, l)
		due := ""
		if !x.Due.IsZero() {
			due = x.Due.String()
		}
		fmt.Fprintf(w, "  %-10s  %s\n", due, words.Name)
		do := ""
		if x.State == law.Open || x.State == law.Overdue {
			do = words.Do
		}
		for _, s := range []string{text.Sentences(do, text.DutyFacts(x, l), text.DutyReason(x.Reason, l), text.DutyLate(x, l)), x.Article +
			", " + x.Edition + ". " + text.Trust(x.Trust, l)} {
			if s != "" {
				fmt.Fprintf(w, "  %-10s  %s\n", "", s)
			}
		}
	}
	if len(changes) > 0 {
		fmt.Fprintf(w, "\n%s → %s\n", r.Refrigerant, to)
		for _, c := range changes {
			fmt.Fprintf(w, "  %s%s\n", text.Change(c.Code, l), text.ChangeValues(c))
		}
	}
	fmt.Fprintln(w)
	for _, a := range r.Assumed {
		fmt.Fprintln(w, text.LawAssumed(a, l))
	}
	fmt.Fprintln(w, text.LawCaution(l))
}

// changeValues is from and to in brackets.
