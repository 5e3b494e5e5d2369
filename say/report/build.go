package report

import (
	"strings"
	"time"

	"coldwright/machine/reading"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// Build makes the document.
func Build(d Data) Document {
	if d.Lang == "" {
		d.Lang = text.English
	}
	doc := Document{Number: d.Number, Headline: Headline(d), Verdict: d.Verdict, Made: made(d), Lang: string(d.Lang), Paper: d.Paper}
	pair := func(name, value string) {
		if value != "" {
			doc.Block = append(doc.Block, Pair{name, value})
		}
	}
	site := d.Site
	if d.Address != "" {
		site = strings.TrimPrefix(site+", "+d.Address, ", ")
	}
	pair(d.say("site"), site)
	pair(d.say("machine"), d.Machine)
	pair(d.say("date"), dates(d))
	pair(d.say("mechanic"), d.Mechanic)

	section := func(key, title string, paragraphs, points []string) {
		if len(paragraphs)+len(points) > 0 {
			doc.Sections = append(doc.Sections, Section{key, title, paragraphs, points})
		}
	}
	section("wrong", d.say("wrong"), wrong(d), nil)
	section("done", d.say("done"), nil, done(d))
	section("proven", d.say("proven"), nil, proven(d))
	section("do", d.say("do"), nil, todo(d))
	section("clocks", d.say("clocks"), nil, running(d))
	if s := text.Unread(d.Unread, d.Lang); s != "" {
		section("left_out", d.say("left_out"), []string{s}, nil)
	}
	for _, t := range d.Tests {
		points := t.Lines
		if t.Criterion != "" {
			points = append(points[:len(points):len(points)], t.Criterion)
		}
		doc.Tests = append(doc.Tests, TestPart{Section{t.Key, t.Title + stateWord(t.State, d), []string{t.Verdict}, points}, t.State, t.Figure})
	}

	doc.Notes, doc.Pictures = notes(d), pictures(d)
	doc.Figure, doc.Pull, doc.Cycle = proof(d), pull(d), cycle(d)
	doc.Readings = readings(d)
	doc.Refrigerant = moved(d)
	doc.Signatures = []Signature{
		signature(forWhom(d), d.CustomerSigned, d.Closed, d.Lang),
		signature(byWhom(d), d.MechanicSigned, d.Closed, d.Lang),
	}
	doc.Foot = foot(d)
	return doc
}

// stamped says what something belongs to and when it was put down.
func stamped(where string, at time.Time, l text.Language) string {
	return where + ", " + text.DayClock(at, l)
}

func notes(d Data) Section {
	s := Section{Key: "notes", Title: d.say("notes")}
	for _, n := range d.Notes {
		s.Points = append(s.Points, stamped(n.Where, n.At, d.Lang)+": "+strings.Join(strings.Fields(n.Text), " "))
	}
	return s
}

func pictures(d Data) []Picture {
	var out []Picture
	for _, p := range d.Photos {
		out = append(out, Picture{p.Hash, p.Caption, stamped(p.Where, p.At, d.Lang), p.Width, p.Height, p.JPEG})
	}
	return out
}

// stateWord is what stands behind the title of a test: a reader of the paper sees no colour and no sign.
func stateWord(s verdict.State, d Data) string {
	if s == 0 {
		return ""
	}
	return ": " + d.say("state_"+s.String())
}

func forWhom(d Data) string {
	if d.Customer == "" {
		return d.say("sign_customer")
	}
	return d.say("sign_named", d.Customer)
}

func byWhom(d Data) string {
	if d.Mechanic == "" {
		return d.say("sign_mechanic")
	}
	return d.say("sign_mechanic_named", d.Mechanic)
}

func made(d Data) time.Time {
	if !d.Closed.IsZero() {
		return d.Closed
	}
	return d.Opened
}

func dates(d Data) string {
	const day, clock = "2006-01-02", "15:04"
	full := func(t time.Time) string { return text.DayClock(t, d.Lang) + " " + text.ZoneMark(t) }
	from := func(t time.Time) string { return text.DayClock(t, d.Lang) }
	switch {
	case d.Opened.IsZero() && d.Closed.IsZero():
		return ""
	case d.Closed.IsZero():
		return full(d.Opened)
	case d.Opened.IsZero():
		return full(d.Closed)
	case d.Opened.Format(day) == d.Closed.In(d.Opened.Location()).Format(day):
		end := d.Closed.In(d.Opened.Location())
		return d.say("from_to", from(d.Opened), end.Format(clock)+" "+text.ZoneMark(end))
	}
	return d.say("from_to", full(d.Opened), full(d.Closed.In(d.Opened.Location())))
}

func signature(label string, s Signed, closed time.Time, l text.Language) Signature {
	out := Signature{Label: label, Name: signed(s, closed, l), Drawing: s.Drawing}
	if n := strings.Join(s.Notes, "; "); n != "" {
		out.Notes = strings.ToUpper(n[:1]) + n[1:] + "."
	}
	if s.Changed {
		out.Changed = text.SignChanged(l)
	}
	return out
}

func signed(s Signed, closed time.Time, l text.Language) string {
	if s.Name == "" {
		return ""
	}
	if s.At.IsZero() {
		return s.Name
	}
	return s.Name + ", " + text.DayClock(s.At.In(closed.Location()), l)
}

// altitude is how high the site lies, in feet where degrees are Fahrenheit's.
func altitude(d Data) string {
	if figure.TempUnit(d.Display) == "°F" {
		return units.Fixed(d.AltitudeM/units.Foot, 0) + " ft"
	}
	return units.Fixed(d.AltitudeM, 0) + " m"
}

func foot(d Data) []string {
	var out []string
	add := func(s string) {
		if s != "" {
			out = append(out, s)
		}
	}
	s := ""
	if d.Refrigerant != "" {
		s = d.say("foot_refrigerant", d.Refrigerant) + " "
	}
	if d.Display.Pressure != "kPa(a)" {
		s += d.say("foot_gauge", altitude(d)) + " "
	}
	add(s + d.say("foot_counted"))
	var learned, plain bool
	var assumed []reading.Assumed
	for _, p := range []Phase{d.Before, d.After} {
		if p.Posterior == nil {
			continue
		}
		for _, e := range p.Posterior.Expected {
			learned = learned || e.Basis == "history"
			plain = plain || e.Basis != "history"
		}
		if len(assumed) == 0 {
			assumed = p.Posterior.Assumed
		}
	}
	switch {
	case learned:
		add(d.say("foot_learned"))
	case plain:
		add(d.say("foot_design"))
	}
	if len(assumed) > 0 {
		add(d.say("foot_assumed", strings.Join(text.AssumedList(assumed, d.Display, d.Lang), ", ")))
	}
	for _, end := range []struct{ name, on string }{{"before", d.Before.JudgedOn}, {"after", d.After.JudgedOn}} {
		if end.on != "" {
			add(d.say(end.name) + ": " + text.LowerFirst(end.on))
		}
	}
	s = ""
	if d.Version != "" {
		s = d.say("foot_program", d.Version) + " "
	}
	if d.Grade != "" {
		if d.GradeReason != "" {
			s += d.say("foot_grade_why", d.Grade, strings.TrimSuffix(text.GradeReason(d.GradeReason, d.Lang), ".")) + " "
		} else {
			s += d.say("foot_grade", d.Grade) + " "
		}
	}
	for _, e := range d.Editions {
		s += text.Stop(e) + " "
	}
	if d.PriorSource != "" {
		s += d.say("foot_priors", text.Stop(d.PriorSource))
	}
	add(strings.TrimSpace(s))
	return out
}
