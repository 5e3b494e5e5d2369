package text

import (
	"math"
	"strconv"
	"strings"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
)

// WhyNext is the sentence for why a reading comes next.
func WhyNext(code string) string {
	switch code {
	case diagnose.WhySeparates:
		return "It separates the first two suspects."
	case diagnose.WhyConfirms:
		return "It confirms or clears the first suspect."
	}
	return "It tells more than any other reading now."
}

// NextFrom returns the words for a reading a judgement asks for.
func NextFrom(n diagnose.Next) NextWords {
	var between []string
	for _, s := range n.Shows {
		if len(between) < 2 && s.Name != fault.Healthy.String() {
			between = append(between, s.Name)
		}
	}
	out := Next(n.At, between)
	out.Minutes = int(math.Round(n.Minutes))
	if n.Why != diagnose.WhySeparates || len(between) < 2 {
		out.Sentence = WhyNext(n.Why)
	}
	return out
}

// SeverityFrom is a severity of a judgement in words.
func SeverityFrom(s diagnose.Severity, d units.Display) string {
	return Severity(s.Fault.String(), s.Low, s.Mid, s.High, s.Unit, d)
}

// Headline says the finding first, in one or two short sentences, and the reason in a paragraph. nil: nothing was judged.
func Headline(j *verdict.Judgement, d units.Display) (h1, para string) {
	if j == nil {
		j = verdict.Form(verdict.Facts{})
	}
	if first := SaidFirst(j, English); first != "" {
		return first, "By the readings: " + LowerFirst(headline(j)) + " " + reason(j, d)
	}
	return headline(j), reason(j, d)
}

func headline(j *verdict.Judgement) string {
	name, noun := func(a verdict.Answer) string { return Fault(a.Code.String()).Name }, func(a verdict.Answer) string {
		if a.Code == fault.Healthy {
			return "nothing wrong"
		}
		return Fault(a.Code.String()).Noun
	}
	c := j.Cause
	first, second := c.First, c.Second
	healthy, more := first.Code == fault.Healthy, second.Code != fault.Unknown
	read := ""
	if j.Next.Kind == "" || j.Next.Kind == verdict.Read {
		read = " One more reading is needed."
	}
	switch c.Kind {
	case verdict.TooLittle:
		return "Too little read to judge."
	case verdict.DoesNotFit:
		return "No single cause explains all readings."
	case verdict.NothingWrong:
		switch {
		case first.Level() != verdict.AlmostCertain:
			return "Likely nothing wrong."
		case len(j.Off) > 0:
			return "Nothing wrong."
		}
		return "Nothing wrong. All stands where it should today."
	case verdict.Sure:
		if c.Both {
			return name(first) + ". " + UpperFirst(noun(second)) + " is there as well."
		}
		return name(first) + ". " + Fault(first.Code.String()).Act
	case verdict.Probable:
		out := "Likely " + LowerFirst(name(first)) + "."
		switch {
		case c.Both:
			return out + " " + UpperFirst(noun(second)) + " is likely there as well."
		case more:
			return out + " " + UpperFirst(noun(second)) + " looks almost the same."
		}
		return out
	case verdict.Even:
		if healthy || second.Code == fault.Healthy {
			return "About even: " + noun(first) + ", or " + noun(second) + "."
		}
		return "About even: " + noun(first) + " or " + noun(second) + "."
	case verdict.Leaning:
		switch {
		case healthy:
			return "Nothing clearly wrong."
		case more && second.Code != fault.Healthy:
			return "More likely " + noun(first) + " than " + noun(second) + ". Not sure yet."
		}
		return "Perhaps " + LowerFirst(name(first)) + ". Not sure yet."
	}
	if !healthy && more {
		return "Not clear yet. First suspects: " + noun(first) + " and " + noun(second) + "."
	}
	return "Not clear yet." + read
}

// InstrumentWrong says that an instrument is proven wrong, and by how much.
func InstrumentWrong(i verdict.Instrument, d units.Display, l Language) string {
	by := units.TempDiff(i.Off)
	if by < 0 {
		return l.say("instrument_wrong.low", d.FormatDiff(-by, 0))
	}
	return l.say("instrument_wrong.high", d.FormatDiff(by, 0))
}

// Instruments says what [InstrumentWrong] says of every instrument proven wrong; empty for none.
func Instruments(list []verdict.Instrument, d units.Display, l Language) string {
	var out []string
	for _, i := range list {
		out = append(out, InstrumentWrong(i, d, l))
	}
	return strings.Join(out, " ")
}

// Fit says whether the first answer explains what was read.
func Fit(j *verdict.Judgement) string {
	switch j.Fit.Rule {
	case verdict.AllWithin:
		return "Fit: the first suspect explains every reading within its tolerance."
	case verdict.ReadingFar:
		return "Fit: the first suspect leaves a reading " + units.Fixed(j.Fit.Sigma, 1) + " times its tolerance away. Read that one again."
	case verdict.NoneIsFirst:
		return "Fit: no cause on the list explains these readings together. Read the odd one again."
	}
	return ""
}

// JudgedOn says what a judgement rests on, so that a page and a paper show that they judged the same. Times as a clock
// in zone shows them.
func JudgedOn(b verdict.Basis, zone *time.Location, l Language) string {
	w := l.words().JudgedOn
	n := "counts.n"
	switch len(b.Used) {
	case 0:
		n = "counts.0"
	case 1:
		n = "counts.1"
	}
	s := put(w[n], strconv.Itoa(len(b.Used)))
	var left []string
	for _, x := range b.LeftOut {
		name := x.At
		if p, err := reading.ParsePlace(x.At); err == nil {
			name = LowerFirst(Place(p, l).Label)
		}
		left = append(left, name+" ("+w[string(x.Why)]+")")
	}
	if len(left) > 0 {
		s += " " + put(w["left_out"], strings.Join(left, ", "))
	}
	if b.Reason != reading.ReasonUnknown {
		s += " " + w["reason."+b.Reason.String()]
	}
	switch n := b.Taught; {
	case n.Machines == 1:
		s += " " + w["taught.1"]
	case n.Machines > 1:
		s += " " + put(w["taught.n"], strconv.Itoa(n.Machines), strconv.Itoa(n.Here))
	}
	if e := b.Entry; e.ID != "" {
		s += " " + put(w["entry"], strconv.FormatInt(e.Number, 10), DayClock(e.At.In(zone), l))
	}
	return s + " " + put(w["sum"], b.Sheet[:min(len(b.Sheet), shownSum)])
}

// shownSum is how much of a sum is shown: two sheets that differ share it once in four thousand million.
const shownSum = 8

// UpperFirst begins with a capital.
func UpperFirst(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[0])) + string(r[1:])
}

func reason(j *verdict.Judgement, d units.Display) string {
	var off []string
	for _, g := range j.Off {
		by, way := g.By, "over"
		if by < 0 {
			by, way = -by, "under"
		}
		name, _, _ := strings.Cut(At(g.At), ", ")
		if g.Share != 0 {
			if s := offFull(g, name); s != "" && len(off) < 3 {
				off = append(off, s)
			}
			continue
		}
		n := d.DiffNumber(by, 0)
		if n == "0" {
			continue
		}
		if g.AtLeast {
			n = "at least " + n
		}
		switch len(off) {
		case 0:
			off = append(off, name+" stands "+n+" "+d.DiffUnit()+" "+way+" where this machine should be today.")
		case 1, 2:
			off = append(off, name+" is "+n+" "+way+".")
		}
	}
	out := "No reading stands outside its band alone; it is how they stand together that speaks."
	switch {
	case j.Cause.Kind == verdict.TooLittle:
		return "Read suction and head first, then the box and the outside air."
	case len(off) > 0:
		out = strings.Join(off, " ")
	case j.Healthy == verdict.Yes:
		out = "Every reading stands inside its band at today's box and outside temperature."
	}
	return out
}

// offFull says of a current or a power how far it stands from its band; empty where that rounds to nothing.
func offFull(g verdict.Gap, name string) string {
	if g.At == reading.HeaterAmps.String() {
		return "The defrost heater draws current while the machine cools."
	}
	n, way := units.Fixed(100*math.Abs(g.Share), 0), "over"
	if g.Share < 0 {
		way = "under"
	}
	if n == "0" {
		return ""
	}
	return name + " stands " + n + " % of full " + way + " what this machine should draw today."
}

// NextWords are the words for the reading to take next.
type NextWords struct {
	Title    string // "Clamp both sides of the drier"
	Sentence string // what it decides
	Why      string // why that is so
	Minutes  int
}

// nextWords are a reading as something to do, and why.
type nextWords struct {
	Title string `json:"title"`
	Why   string `json:"why"`
}

// Next returns the words for the reading to take next. between are the codes of the suspects it separates, most likely first.
func Next(at string, between []string, lang ...Language) NextWords {
	l := one(lang)
	n, ok := l.words().NextReadings[at]
	if !ok {
		n.Title = l.say("next.read", LowerFirst(Label(at, l)))
	}
	out := NextWords{Title: n.Title, Why: n.Why, Minutes: Minutes(at), Sentence: l.say("next.tells_most")}
	if len(between) >= 2 {
		out.Sentence = l.say("next.tells_apart", Fault(between[0], l).Noun, Fault(between[1], l).Noun)
	}
	return out
}

// Minutes is what a reading or a look costs in time; common practice, no source.
func Minutes(at string) int {
	if p, err := reading.ParsePlace(at); err == nil {
		return placeMinutes[p]
	}
	return seenMinutes[at]
}
