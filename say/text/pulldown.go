package text

import (
	"math"
	"time"

	"coldwright/proof/pulldown"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

// PullFacts are the numbers of a pull-down that its sentence needs.
type PullFacts struct {
	Verdict        string // too_short, reached, falling, undecided, slow, stalled, warming
	Minutes        float64
	Box            units.Temp // last reading
	SetPoint       units.Temp
	RatePerHour    units.TempDiff // per hour, negative is falling
	PReaches6h     float64
	Soon, Mid      float64 // minutes to the set point, low and middle; NaN when not known
	DecidesAt      float64 // minute of the reading that decides; only where it is undecided
	HaveProjection bool
	Held           *pulldown.Band       // where its control then holds it; nil: not likely there in six hours
	Against        *pulldown.Comparison // nil: no other pull-down of the box
}

// PullFactsFrom takes the sentence's numbers from a pull-down.
func PullFactsFrom(r *pulldown.Result, set units.Temp) PullFacts {
	f := PullFacts{
		Verdict: r.Verdict.String(), Minutes: r.Span, Box: r.Last, SetPoint: set, RatePerHour: r.RateLast,
		PReaches6h: r.PReaches6h, Soon: math.NaN(), Mid: math.NaN(), DecidesAt: r.DecidesAt, Against: r.Against,
	}
	if t := r.ToSetPoint; t != nil {
		f.Soon, f.Mid, f.HaveProjection = t.Low, t.Mid, true
	}
	if n := len(r.Forecast); n > 0 && r.PReaches6h >= threshold.PullHolds {
		f.Held = &r.Forecast[n-1]
	}
	return f
}

// Pull is a line about a pull-down with its arguments put in. A code without words is shown by its own name.
func Pull(l Language, code string, args ...string) string {
	if s, ok := l.words().Pulls[code]; ok {
		return put(s, args...)
	}
	return plain(code)
}

// PullDownVerdict is the verdict in three words at most.
func PullDownVerdict(code string, lang ...Language) string {
	words := one(lang).words().Pulls
	if s, ok := words["verdict."+code]; ok {
		return s
	}
	return words["verdict.unknown"]
}

// Faster says how fast a box falls after the work against before it, with the interval; nothing without a comparison.
func Faster(c *pulldown.Comparison, d units.Display, l Language) string {
	if c == nil {
		return ""
	}
	code := "pull_no_faster"
	if c.Faster.Low > 1 || c.Faster.High < 1 {
		code = "pull_faster"
	}
	n := func(v float64) string { return units.Fixed(v, 1) }
	return Report(code, l, n(c.Faster.Mid), n(c.Faster.Low), n(c.Faster.High), d.FormatTemp(c.From, 0), d.FormatTemp(c.To, 0))
}

// PullDown is the sentence under the verdict, with the comparison behind it.
func PullDown(p PullFacts, d units.Display, lang ...Language) string {
	s := pullDown(p, d, one(lang))
	if f := Faster(p.Against, d, one(lang)); f != "" {
		s += " " + f
	}
	return s
}

func pullDown(p PullFacts, d units.Display, l Language) string {
	set := d.FormatTemp(p.SetPoint, 0)
	whole := func(v float64) string { return units.Fixed(v, 0) }
	chance := UpperFirst(Pull(l, "chance", HundredWord(p.PReaches6h, l)))
	switch p.Verdict {
	case "reached":
		return Pull(l, "reached", set, whole(p.Minutes))
	case "falling", "undecided", "slow":
		out := ""
		if p.HaveProjection && !math.IsNaN(p.Mid) && p.Mid < threshold.PullInSight {
			code := "arrives"
			if !math.IsNaN(p.Soon) && math.Round(p.Soon) < math.Round(p.Mid) {
				code = "arrives_soonest"
			}
			out = Pull(l, code, set, whole(p.Mid), whole(p.Soon)) + " "
		}
		if out += chance; p.Verdict == "undecided" {
			out += " " + Pull(l, "decides", whole(p.DecidesAt))
		} else if b := p.Held; b != nil {
			out += " " + Pull(l, "held", d.FormatTemp(b.Low, 0), d.FormatTemp(b.High, 0))
		}
		return out
	case "stalled":
		return Pull(l, "stalled", set, d.FormatTemp(p.Box, 0)) + " " + chance + " " + Pull(l, "start_suspects")
	case "warming":
		return Pull(l, "warming", d.FormatDiff(units.TempDiff(math.Abs(float64(p.RatePerHour))), 1))
	case "too_short":
		return Pull(l, "too_short", whole(p.Minutes))
	}
	return ""
}

// Coming says of a box that is not cold yet, with its machine's readings in band, when it will be; nothing of nil. last is
// when it was read last, on the clock of its place; zero: minutes are said.
func Coming(c *verdict.Coming, last time.Time, d units.Display, l Language) string {
	if c == nil {
		return ""
	}
	code, at := "coming", func(m float64) string {
		t := last.Add(time.Duration(math.Round(m)) * time.Minute)
		if t.YearDay() != last.YearDay() {
			return DayMonthClock(t, l)
		}
		return t.Format("15:04")
	}
	if last.IsZero() {
		code, at = "coming_minutes", func(m float64) string { return units.Fixed(m, 0) }
	}
	if c.Late {
		code += "_late"
	}
	return Pull(l, code, d.FormatTemp(c.SetPoint, 0), at(c.Minutes.Mid), at(c.Minutes.Low), at(c.Minutes.High))
}
