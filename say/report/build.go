package report

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// Document is the report, ready to be printed or shown.
type Document struct {
	Number, Headline string
	Verdict          verdict.Visit // what it says, as it was judged
	Block            []Pair        // title block
	Sections         []Section
	Figure           *Figure // proof, or the ladder when there is only one end
	Pull             *Figure
	Tests            []TestPart // after the work
	Cycle            *Figure    // on the pressure–enthalpy diagram
	Notes            Section    // what was written down during the visit
	Pictures         []Picture
	Readings         Table
	Refrigerant      *Table
	Signatures       []Signature
	Foot             []string
	Made             time.Time
	Lang             string
	Paper            Paper
}

// Picture is a photo with its caption and what it belongs to.
type Picture struct {
	Hash, Caption, Line string
	Width, Height       int
	JPEG                []byte // empty where the document is not written as PDF
}

// Say is a word or sentence of the frame around the document, in its language.
func (doc Document) Say(code string, args ...string) string {
	return text.Report(code, text.Language(doc.Lang), args...)
}

// Pair is a name and its value.
type Pair struct{ Name, Value string }

// Section is a heading with paragraphs and points.
type Section struct {
	Key, Title string
	Paragraphs []string
	Points     []string
}

// TestPart is a test after the work with its curve, where it has one.
type TestPart struct {
	Section
	State  verdict.State
	Figure *Figure
}

// Figure is a drawing with what explains it and the same numbers as a table.
type Figure struct {
	Title, Caption string
	Scene          plot.Scene
	Table          figure.Table
}

// Table is a titled table; Note stands below it. The first column names the row, the others are numbers. Last says
// that the last row is a sum.
type Table struct {
	Title string
	figure.Table
	Note string
	Last bool
}

// Signature is a line to sign on, with the name and time when it was signed on the device. Drawing stands on the
// line, Notes and Changed below it.
type Signature struct {
	Label, Name    string
	Drawing        *plot.Scene
	Notes, Changed string
}

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
		doc.Tests = append(doc.Tests, TestPart{Section{t.Key, t.Title, []string{t.Verdict}, points}, t.State, t.Figure})
	}

	doc.Notes, doc.Pictures = notes(d), pictures(d)
	doc.Figure, doc.Pull, doc.Cycle = proof(d), pull(d), cycle(d)
	doc.Readings = readings(d)
	doc.Refrigerant = moved(d)
	doc.Signatures = []Signature{
		signature(forWhom(d), d.CustomerSigned, d.Closed, d.Lang),
		signature(d.say("sign_mechanic"), d.MechanicSigned, d.Closed, d.Lang),
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

func forWhom(d Data) string {
	if d.Customer == "" {
		return d.say("sign_customer")
	}
	return d.say("sign_named", d.Customer)
}

func made(d Data) time.Time {
	if !d.Closed.IsZero() {
		return d.Closed
	}
	return d.Opened
}

func dates(d Data) string {
	const day, clock = "2006-01-02", "15:04"
	full := func(t time.Time) string { return text.DayClock(t, d.Lang) }
	switch {
	case d.Opened.IsZero() && d.Closed.IsZero():
		return ""
	case d.Closed.IsZero():
		return full(d.Opened)
	case d.Opened.IsZero():
		return full(d.Closed)
	case d.Opened.Format(day) == d.Closed.In(d.Opened.Location()).Format(day):
		return d.say("from_to", full(d.Opened), d.Closed.In(d.Opened.Location()).Format(clock))
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

// box is the box air of a phase.
func box(p Phase) (units.Temp, bool) {
	if r, ok := p.Sheet.Find(reading.BoxAir); ok {
		return units.Temp(r.Value), true
	}
	if n := len(p.PullDown); n > 0 {
		return p.PullDown[n-1].Box, true
	}
	return 0, false
}

// cold reports whether the box is proven to hold what it must.
func cold(d Data) bool { return d.Verdict.Proof(verdict.Cold).State == verdict.Proven }

// because is the customer's sentence about the cause, as sure as the verdict is.
func because(d Data) string {
	switch v := d.Verdict; v.Because {
	case verdict.FoundLeak, verdict.CauseIs:
		return text.Fault(v.Cause.String(), d.Lang).Customer
	case verdict.CauseLikely:
		return text.MostLikely(text.Fault(v.Cause.String(), d.Lang).Customer, d.Lang)
	case verdict.CauseUnclear:
		return d.say("not_certain")
	}
	return ""
}

// Headline is what the report says first. Of a visit it needs both ends judged.
func Headline(d Data) string {
	if d.Lang == "" {
		d.Lang = text.English
	}
	out := d.say(string(cmp.Or(d.Verdict.Outcome, verdict.NeedsMoreWork)), text.TheMachine(d.Application, d.Lang))
	if why := because(d); why != "" {
		out += " " + why
	}
	return out
}

func wrong(d Data) []string {
	var out []string
	s := ""
	if d.Complaint != "" {
		s = d.say("reported", text.Stop(d.Complaint)) + " "
	}
	if b, ok := box(d.Before); ok {
		if d.SetPoint != nil {
			s += d.say("box_stood_hold", d.Display.FormatTemp(b, 0), d.Display.FormatTemp(*d.SetPoint, 0)) + " "
		} else {
			s += d.say("box_stood", d.Display.FormatTemp(b, 0)) + " "
		}
	}
	s += because(d)
	for _, l := range d.Leaks {
		s += " " + d.say("leak_found", text.Stop(l.Place))
		if l.How != "" {
			s = strings.TrimSuffix(s, ".") + " (" + strings.TrimSuffix(l.How, ".") + ")."
		}
	}
	if s = strings.TrimSpace(s); s != "" {
		out = append(out, s)
	}
	for _, i := range d.Verdict.Instruments {
		if i.Fault != fault.BoxThermometer {
			continue
		}
		code, diff := "display_high", units.TempDiff(i.Off)
		if diff < 0 {
			code, diff = "display_low", -diff
		}
		out = append(out, d.say(code, d.Display.FormatDiff(diff, 0)))
	}
	if d.Before.Failed != "" {
		out = append(out, d.say("not_judged", text.Stop(d.Before.Failed)))
	}
	if len(out) == 0 {
		out = append(out, d.say("nothing_read"))
	}
	return out
}

func done(d Data) []string {
	var out []string
	for _, w := range d.Work {
		s := ""
		if w.Code != "" && w.Code != "other" {
			s = text.Work(w.Code, d.Lang)
		}
		if w.Text != "" {
			if s != "" {
				s += ": "
			}
			s += w.Text
		}
		out = append(out, text.Stop(s))
	}
	in, gone := sums(d)
	if gone > 0 {
		out = append(out, d.say("took_out", d.Display.FormatMass(gone)))
	}
	if in > 0 {
		s := d.say("charged", d.Display.FormatMass(in))
		if d.FullCharge != nil {
			s = d.say("charged_plate", d.Display.FormatMass(in), d.Display.FormatMass(*d.FullCharge))
		}
		out = append(out, s)
	}
	if in == 0 {
		for _, t := range d.Tests {
			if t.Key == "charge" {
				out = append(out, d.say("weighed_in"))
			}
		}
	}
	if len(out) == 0 {
		out = append(out, d.say("looked_only"))
	}
	return out
}

func sums(d Data) (in, out units.Mass) {
	for _, m := range d.Moves {
		in, out = in+m.In, out+m.Out
	}
	return in, out
}

// bands counts readings inside their bands.
func bands(p Phase) (in, all int) {
	if p.Posterior == nil {
		return 0, 0
	}
	for _, e := range p.Posterior.Expected {
		if e.Read && e.At != reading.StandingPressure {
			all++
			if e.In {
				in++
			}
		}
	}
	return in, all
}

func proven(d Data) []string {
	var out []string
	was, of := bands(d.Before)
	if in, all := bands(d.After); all > 0 {
		s := d.say("some_stand", count(in), count(all))
		if in == all {
			s = d.say("all_stand", count(all))
		}
		if of > 0 {
			s += d.say("before_it_was", count(was), count(of))
		}
		out = append(out, s+".")
	}
	if n := len(d.After.PullDown); n > 1 {
		a, b := d.After.PullDown[0], d.After.PullDown[n-1]
		code := "box_fell"
		if b.Box > a.Box {
			code = "box_rose"
		}
		s := d.say(code, d.Display.FormatTemp(a.Box, 0), d.Display.FormatTemp(b.Box, 0), units.Fixed(b.Minute-a.Minute, 0))
		if !cold(d) && d.SetPoint != nil {
			s += " " + d.say("not_reached", d.Display.FormatTemp(*d.SetPoint, 0))
		}
		out = append(out, s)
	} else if b, ok := box(d.After); ok {
		out = append(out, d.say("box_at_end", d.Display.FormatTemp(b, 0)))
	}
	if d.After.Failed != "" {
		out = append(out, d.say("not_judged_after", text.Stop(d.After.Failed)))
	}
	for _, t := range d.Tests {
		if t.Plain != "" {
			out = append(out, t.Plain)
		}
	}
	if len(out) == 0 {
		if len(d.Work)+len(d.Moves) == 0 && of > 0 {
			return []string{d.say("some_stand", count(was), count(of)) + "."}
		}
		out = append(out, d.say("nothing_is_proven"))
	}
	return out
}

func count(n int) string { return units.Fixed(float64(n), 0) }

// running are the legal clocks with the day they end or why there are none, and the word of caution that goes with them.
func running(d Data) []string {
	var out []string
	for _, c := range d.Clocks {
		out = append(out, d.say("clock_line", c.Name, c.Due, strings.ToLower(c.State[:1])+c.State[1:], c.Rule))
	}
	if d.ClocksFailed != "" {
		out = append(out, d.say("clocks_failed", text.Stop(d.ClocksFailed)))
	}
	if len(out) > 0 {
		out = append(out, text.LawCaution(d.Lang))
	}
	return out
}

func todo(d Data) []string {
	var out []string
	for _, a := range d.Advice {
		if strings.TrimSpace(a) != "" {
			out = append(out, text.Stop(a))
		}
	}
	if s := food(d); s != "" {
		out = append(out, s)
	}
	for _, t := range d.Tests {
		if t.State != verdict.Proven && t.Plain != "" && (t.Key == string(verdict.Tight) || t.Key == string(verdict.Dry)) {
			out = append(out, d.say("left_open"))
			break
		}
	}
	if wrongThermometer(d.Verdict.Before) {
		_, read := d.After.Sheet.Find(reading.BoxDisplay)
		set := slices.ContainsFunc(d.Work, func(w Work) bool { return w.Code == "thermometer_set" })
		if wrongThermometer(d.Verdict.After) || !read && !set {
			out = append(out, d.say("set_thermometer"))
		}
	}
	for _, w := range d.Work {
		if w.Code == "leak_repaired" || w.Code == "joint_brazed" {
			out = append(out, d.say("test_again"))
			break
		}
	}
	if !cold(d) && d.SetPoint != nil && len(d.Work)+len(d.Moves) > 0 {
		out = append(out, d.say("read_again", d.Display.FormatTemp(*d.SetPoint, 0)))
	}
	if len(out) == 0 {
		out = append(out, d.say("nothing_for_now"))
	}
	return out
}

// wrongThermometer reports whether the box's own thermometer is proven wrong at an end of the visit.
func wrongThermometer(j *verdict.Judgement) bool {
	return j != nil && slices.ContainsFunc(j.Instruments, func(i verdict.Instrument) bool { return i.Fault == fault.BoxThermometer })
}

// food says what was told and who decides. It stands whenever the box was warmer than it must be.
func food(d Data) string {
	b, ok := box(d.Before)
	limit, code := d.FoodLimit, "above_limit"
	if limit == nil {
		limit, code = d.SetPoint, "above_set"
	}
	if d.Food == "" && (!ok || limit == nil || verdict.Holds(b, *limit)) {
		return ""
	}
	s := ""
	if ok && limit != nil && b > *limit {
		s = d.say(code, d.Display.FormatTemp(*limit, 0)) + " "
	}
	if d.Food != "" {
		s += d.say("food_told", text.Stop(d.Food)) + " "
	}
	return s + d.say("food_decides")
}

func proof(d Data) *Figure {
	marks := func(p Phase) []figure.Mark {
		if p.Posterior == nil {
			return nil
		}
		return figure.Marks(p.Posterior, p.Sheet, d.Lang)
	}
	before, after := marks(d.Before), marks(d.After)
	switch {
	case len(before) > 0 && len(after) > 0:
		f := figure.ProofData{ID: "proof", Before: before, After: after, Display: d.Display, Compact: true, Lang: d.Lang}
		return &Figure{d.say("proof", tempUnit(d.Display)), f.Caption(), figure.Proof(f), f.Table()}
	case len(before)+len(after) > 0:
		f := figure.LadderData{ID: "ladder", Marks: append(before, after...), Display: d.Display, Compact: true, Lang: d.Lang}
		return &Figure{d.say("what_read", tempUnit(d.Display)), f.Caption(), figure.Ladder(f), f.Table()}
	}
	return nil
}

func tempUnit(d units.Display) string {
	if d.Temp == "°C" {
		return "°C"
	}
	return "°F"
}

func pull(d Data) *Figure {
	f := figure.PullDownData{ID: "pull", SetPoint: d.SetPoint, Display: d.Display, Compact: true, Lang: d.Lang}
	f.Points, f.Second = d.Before.PullDown, d.After.PullDown
	if len(f.Points) < 2 {
		f.Points, f.Second = d.After.PullDown, nil
	}
	if len(f.Points) < 2 {
		return nil
	}
	return &Figure{d.say("pull"), d.say("pull_caption", f.Caption()), figure.PullDown(f), f.Table()}
}

// cycle is the last cycle that was read: after the work, or as found.
func cycle(d Data) *Figure {
	for _, e := range []struct {
		phase Phase
		code  string
	}{{d.After, "cycle_after"}, {d.Before, "cycle_found"}} {
		f := figure.PHFrom(e.phase.Sheet, e.phase.Posterior, d.Chart, d.Display)
		f.ID, f.Compact, f.Lang = "cycle", true, d.Lang
		if f.Known() {
			return &Figure{d.say(e.code), strings.Join(append([]string{f.Caption()}, f.Notes()...), " "), figure.PH(f), f.Table()}
		}
	}
	return nil
}

// derivedRows are the derived quantities of the table, differences in K.
var derivedRows = []string{circuit.Superheat, circuit.Subcooling, circuit.TD, circuit.Split, circuit.DrierDrop}

func readings(d Data) Table {
	t := Table{
		Title: d.say("readings"),
		Table: figure.Table{
			Head: []string{d.say("unless_stated", tempUnit(d.Display)), d.say("before"), d.say("after"), d.say("healthy_then")},
		},
	}
	cell := func(p Phase, at reading.Place) string {
		r, ok := p.Sheet.Find(at)
		if !ok {
			return ""
		}
		switch at.Kind() {
		case reading.KindPressure:
			return d.Display.PressureNumber(units.Pressure(r.Value), p.Sheet.Machine.AmbientPressure())
		case reading.KindTemperature:
			return d.Display.TempNumber(units.Temp(r.Value), 1)
		case reading.KindCurrent:
			return units.Fixed(r.Value, 1)
		}
		return units.Fixed(r.Value/units.Kilo, 2)
	}
	healthy := func(p Phase, at reading.Place) string {
		if p.Posterior == nil {
			return ""
		}
		for _, e := range p.Posterior.Expected {
			if e.At != at || !e.Read {
				continue
			}
			b := e.Band
			switch at.Kind() {
			case reading.KindPressure:
				amb := p.Sheet.Machine.AmbientPressure()
				return d.say(
					"from_to",
					d.Display.PressureNumber(units.Pressure(b.Low), amb),
					d.Display.PressureNumber(units.Pressure(b.High), amb),
				)
			case reading.KindTemperature:
				return d.say("from_to", d.Display.TempNumber(units.Temp(b.Low), 0), d.Display.TempNumber(units.Temp(b.High), 0))
			case reading.KindCurrent:
				return d.say("from_to", units.Fixed(b.Low, 1), units.Fixed(b.High, 1))
			case reading.KindPower:
				return d.say("from_to", units.Fixed(b.Low/units.Kilo, 2), units.Fixed(b.High/units.Kilo, 2))
			}
		}
		return ""
	}
	for _, at := range reading.Places() {
		b, a := cell(d.Before, at), cell(d.After, at)
		if b == "" && a == "" {
			continue
		}
		name := text.Place(at, d.Lang).Name
		switch at.Kind() {
		case reading.KindPressure:
			name += ", " + d.Display.PressureUnit()
		case reading.KindCurrent:
			name += ", A"
		case reading.KindPower:
			name += ", kW"
		}
		h := healthy(d.After, at)
		if h == "" {
			h = healthy(d.Before, at)
		}
		t.Rows = append(t.Rows, []string{name, b, a, h})
	}
	derived := func(p Phase, key string) string {
		if p.Posterior == nil {
			return ""
		}
		q, ok := p.Posterior.Analysis.Find(key)
		if !ok {
			return ""
		}
		return d.Display.DiffNumber(units.TempDiff(q.Value), 1)
	}
	for _, key := range derivedRows {
		if b, a := derived(d.Before, key), derived(d.After, key); b != "" || a != "" {
			name := text.Derived(key, d.Lang)
			if tempUnit(d.Display) == "°C" {
				name += ", K"
			}
			t.Rows = append(t.Rows, []string{name, b, a, ""})
		}
	}
	for _, key := range reading.SeenKeys() {
		b, a := d.Before.Sheet.Seen.Get(key), d.After.Sheet.Seen.Get(key)
		if b == "" && a == "" {
			continue
		}
		word := func(s string) string { return strings.ToLower(text.SeenAnswer(key, s, d.Lang)) }
		t.Rows = append(t.Rows, []string{text.Seen(key, d.Lang).Name, word(b), word(a), ""})
	}
	return t
}

func moved(d Data) *Table {
	if len(d.Moves) == 0 {
		return nil
	}
	title := d.say("refrigerant")
	if d.Refrigerant != "" {
		title += " " + d.Refrigerant
	}
	t := &Table{Title: title, Table: figure.Table{Head: []string{d.say("cylinder"), d.say("out_of"), d.say("into")}}, Last: true}
	mass := func(m units.Mass) string {
		if m == 0 {
			return ""
		}
		return d.Display.FormatMass(m)
	}
	for _, m := range d.Moves {
		name := m.Cylinder
		if name == "" {
			name = d.say("not_named")
		}
		t.Rows = append(t.Rows, []string{name, mass(m.Out), mass(m.In)})
	}
	in, out := sums(d)
	net := in - out
	row := []string{d.say("more_in"), "", mass(net)}
	if net < 0 {
		row = []string{d.say("more_out"), mass(-net), ""}
	}
	if math.Abs(float64(net)) < 0.0005 {
		row = []string{d.say("as_much"), "", ""}
	}
	t.Rows = append(t.Rows, row)
	if net > 0.0005 {
		t.Note = d.say("more_went_in", units.Fixed(float64(net), 2))
		if d.GWP > 0 {
			gwp := units.Fixed(d.GWP, 0)
			if d.GWPEdition != "" {
				gwp += ", " + d.GWPEdition
			}
			t.Note += " " + d.say("warms_like", units.Fixed(float64(net)*d.GWP/units.Kilo, 1), gwp)
		}
	}
	return t
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
		s += d.say("foot_gauge", units.Fixed(d.AltitudeM, 0)) + " "
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
		var words []string
		for _, a := range assumed {
			words = append(words, text.Assumed(a, d.Display, d.Lang))
		}
		add(d.say("foot_assumed", strings.Join(words, ", ")))
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
