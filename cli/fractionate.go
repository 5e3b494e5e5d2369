package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/wire"
)

type fractionateCmd struct {
	Refrigerant string `arg:"" optional:"" help:"Designation, such as R-407C."`
	Charge      string `help:"Charge at the start: 4kg, 9 lb 8 oz." placeholder:"M"`
	Volume      string `help:"Inner volume of the vessel or circuit: 20L, 0.7ft3." placeholder:"V"`
	T           string `help:"Temperature it stands at: 25C, 77F." placeholder:"T"`
	Phase       string `help:"What stands at the hole: vapour or liquid." enum:"vapour,vapor,liquid" default:"vapour"`
	Remove      string `help:"Share of the charge that leaks: 50%." placeholder:"SHARE"`
	Recharge    bool   `help:"Top up with the nominal blend, as liquid, to the charge at the start."`
	Cycles      int    `help:"Leak and top up so many times; more than 1 implies --recharge." placeholder:"N" default:"1"`
	Steps       int    `help:"Steps shown of each leak." placeholder:"N" default:"10"`
	P           string `help:"Pressure at which the card is compared: 60psig; default: where the card says bubble at --t." placeholder:"P"`
	Composition string `help:"Mass fractions in place of a designation." placeholder:"LIST"`
	JSON        bool   `help:"One JSON document." name:"json"`
	where
}

// read turns the flags into a leak; every wrong one is named.
func (c *fractionateCmd) read() (l refrigerant.Leak, err error) {
	for _, q := range []struct{ flag, text string }{{"--charge", c.Charge}, {"--volume", c.Volume}, {"--t", c.T}, {"--remove", c.Remove}} {
		if q.text == "" {
			return l, fail.Of(fail.Usage, "", "usage.fractionate_give", fail.Args{
				"setting": fail.Setting(q.flag[2:]), "charge": fail.Setting("charge"), "volume": fail.Setting("volume"),
				"t": fail.Setting("t"), "remove": fail.Setting("remove"),
			})
		}
	}
	m, err := units.ParseMass(c.Charge, "")
	if err == nil && m <= 0 {
		err = fail.Of(fail.Range, "", "usage.charge", fail.Args{"text": c.Charge})
	}
	if err != nil {
		return l, at("--charge", err)
	}
	v, err := units.ParseVolume(c.Volume, "")
	if err == nil && v <= 0 {
		err = fail.Of(fail.Range, "", "usage.volume", fail.Args{"text": c.Volume})
	}
	if err != nil {
		return l, at("--volume", err)
	}
	t, err := units.ParseTemp(c.T, "")
	if err != nil {
		return l, at("--t", err)
	}
	x, err := units.ParseFraction(c.Remove)
	if err == nil && x > 0.999 {
		err = fail.Of(fail.Range, "", "usage.remove", fail.Args{"text": c.Remove})
	}
	if err != nil {
		return l, at("--remove", err)
	}
	if c.Steps < 1 || c.Steps > 1000 {
		return l, fail.Of(fail.Usage, "--steps", "usage.steps", fail.Args{"steps": c.Steps})
	}
	if c.Cycles < 1 || c.Cycles > 100 {
		return l, fail.Of(fail.Usage, "--cycles", "usage.cycles", fail.Args{"cycles": c.Cycles})
	}
	l = refrigerant.Leak{Charge: float64(m), Volume: v, T: float64(t), Phase: refrigerant.Vapour, Remove: x, Steps: c.Steps}
	if c.Phase == "liquid" {
		l.Phase = refrigerant.Liquid
	}
	return l, nil
}

// Run follows the leak.
func (c *fractionateCmd) Run(env *Env) error {
	r, err := load(c.Refrigerant, c.Composition)
	if err != nil {
		return err
	}
	l, err := c.read()
	if err != nil {
		return err
	}
	ambient, err := c.ambient()
	if err != nil {
		return err
	}
	a := wire.ShiftAnswer{
		Refrigerant:  r.Designation(),
		Phase:        l.Phase.String(),
		TemperatureC: units.Temp(l.T).C(),
		Charge:       l.Charge,
		Volume:       l.Volume,
	}
	grade, why := r.Grade()
	a.Grade = grade
	if lim := r.Limits(); l.T < lim.TMin || l.T >= lim.TCrit {
		return fail.Of(fail.Range, "--t", "usage.no_two_phases", fail.Args{
			"refrigerant": r.Designation(), "temperature": units.Temp(l.T), "min": units.Temp(lim.TMin), "max": units.Temp(lim.TCrit),
		})
	}
	var p float64
	if c.P != "" {
		e, err := units.ParsePressure(c.P, "")
		if err != nil {
			return at("--p", err)
		}
		p = float64(e.Absolute(ambient))
	} else {
		b, err := r.BubbleT(l.T, refrigerant.Options{})
		if err != nil {
			return physics(err)
		}
		p = b.P
	}
	d, err := r.DewP(p, refrigerant.Options{})
	if err != nil {
		return physics(err)
	}
	b, err := r.BubbleP(p, refrigerant.Options{})
	if err != nil {
		return physics(err)
	}
	a.CardKpa, a.CardDew, a.CardBubble = p/units.Kilo, units.Temp(d.T).C(), units.Temp(b.T).C()
	if a.Steps, err = c.follow(r, l, p); err != nil {
		return err
	}
	if c.JSON {
		return printJSON(env.Stdout, a)
	}
	if grade > "B" {
		fmt.Fprintf(env.Stderr, "coldwright: %s is approximate: %s\n", r.Designation(), why)
	}
	return printShift(env.Stdout, &a, ambient)
}

// follow runs the cycles.
func (c *fractionateCmd) follow(nominal *refrigerant.Refrigerant, l refrigerant.Leak, p float64) ([]wire.ShiftStep, error) {
	var out []wire.ShiftStep
	held := nominal
	for cycle := 1; cycle <= c.Cycles; cycle++ {
		run, err := held.Leak(l)
		if err != nil {
			return nil, leakFailure(err, l)
		}
		for i, s := range run.Steps {
			if cycle > 1 && i == 0 {
				continue // stands as the recharge before
			}
			event := "leak"
			if run.Dry && s.Removed == run.DryAt {
				event = "last_liquid"
			}
			out = append(out, wire.NewShiftStep(nominal, l, p, s, event, cycle, said))
		}
		if !c.Recharge && c.Cycles == 1 {
			break
		}
		last := run.Steps[len(run.Steps)-1]
		if held, err = nominal.TopUp(last.Left, last.Mass, l.Charge-last.Mass); err != nil {
			return nil, physics(err)
		}
		full := l
		full.Remove = 0
		if run, err = held.Leak(full); err != nil {
			return nil, leakFailure(err, l)
		}
		out = append(out, wire.NewShiftStep(nominal, l, p, run.Steps[0], "recharge", cycle, said))
	}
	return out, nil
}

// leakFailure puts a charge that does not fit into the words of the flags.
func leakFailure(err error, l refrigerant.Leak) error {
	var r *refrigerant.RangeError
	if errors.As(err, &r) && r.Quantity == refrigerant.QuantityChargePerVolume {
		return fail.Of(fail.Range, "", "usage.full_of_liquid", fail.Args{
			"charge": fmt.Sprintf("%.2f kg", l.Charge), "volume": fmt.Sprintf("%.1f L", l.Volume*units.Kilo), "temperature": units.Temp(l.T),
			"most": fmt.Sprintf("%.2f kg", r.Max*l.Volume), "one": fail.Setting("charge"), "other": fail.Setting("volume"),
		})
	}
	return physics(err)
}

// printShift writes two tables that fit 80 columns for blends of up to five components.
func printShift(w io.Writer, a *wire.ShiftAnswer, ambient units.Pressure) error {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	gauge := func(kpa float64) string {
		return units.Fixed(float64(units.Pressure(kpa*units.Kilo).Gauge(ambient))/units.Psi, 1)
	}
	opt := func(v *float64, n int) string {
		if v == nil {
			return "–"
		}
		return units.Fixed(*v, n)
	}
	line("%s, %s kg in %s L at %s °C (%s °F); %s leaks", a.Refrigerant, units.Fixed(a.Charge, 2), units.Fixed(a.Volume*units.Kilo, 1),
		units.Fixed(a.TemperatureC, 1), units.Fixed(units.Celsius(a.TemperatureC).F(), 1), a.Phase)
	line("\nWhat is left: composition in %% by mass, liquid in %% of the volume\n")
	head := fmt.Sprintf("%-11s%8s%8s%9s", "gone", "left kg", "liquid", "psig")
	var widths []int
	for _, p := range a.Steps[0].Composition {
		name := strings.TrimPrefix(p.Designation, "R-")
		widths = append(widths, max(7, utf8.RuneCountInString(name)+1))
		head += fmt.Sprintf("%*s", widths[len(widths)-1], name)
	}
	line("%s", head)
	label := func(s wire.ShiftStep) string {
		switch s.Event {
		case "recharge":
			return "topped up"
		case "last_liquid":
			return units.Fixed(100*s.Removed, 1) + " % dry"
		}
		return units.Fixed(100*s.Removed, 1) + " %"
	}
	for _, s := range a.Steps {
		row := fmt.Sprintf("%-11s%8s%8s%9s", label(s), units.Fixed(s.Mass, 2), units.Fixed(100*s.LiquidVolume, 1), gauge(s.Pressure))
		for i, p := range s.Composition {
			row += fmt.Sprintf("%*s", widths[i], units.Fixed(100*p.Mass, 2))
		}
		line("%s", row)
	}
	line(
		"\nAt %s psig (%s kPa) the card says dew %s °C, bubble %s °C.",
		gauge(a.CardKpa),
		units.Fixed(a.CardKpa, 1),
		units.Fixed(a.CardDew, 2),
		units.Fixed(a.CardBubble, 2),
	)
	line("The truth, how many K above the card it is, and both pressures at %s °C:\n", units.Fixed(a.TemperatureC, 1))
	line("%-11s%9s%7s%11s%7s%10s%13s%10s", "gone", "dew °C", "off", "bubble °C", "off", "dew psig", "bubble psig", "glide K")
	pressure := func(v *float64) string {
		if v == nil {
			return "–"
		}
		return gauge(*v)
	}
	for _, s := range a.Steps {
		line(
			"%-11s%9s%7s%11s%7s%10s%13s%10s",
			label(s),
			opt(s.Dew, 2),
			opt(s.DewError, 2),
			opt(s.Bubble, 2),
			opt(s.BubbleError, 2),
			pressure(s.DewKpa),
			pressure(s.BubbleKpa),
			opt(s.Glide, 2),
		)
		if s.Reason != "" {
			line("  – %s", s.Reason)
		}
	}
	last := a.Steps[len(a.Steps)-1]
	if last.DewError != nil {
		word := func(v float64, more, less string) string {
			if v < 0 {
				return units.Fixed(-v, 1) + " K too " + less
			}
			return units.Fixed(v, 1) + " K too " + more
		}
		line(
			"\nIn the end the card shows superheat %s and subcooling %s.",
			word(*last.DewError, "large", "small"),
			word(*last.BubbleError, "small", "large"),
		)
	}
	if last.Event != "recharge" && last.Pressure*units.Kilo < float64(ambient) {
		line("The vessel ends below the outside pressure: a real leak stops before that.")
	}
	line("Glide at 101.3 kPa. Slow leak at one temperature, no oil, no air.")
	_, err := io.WriteString(w, b.String())
	return err
}
