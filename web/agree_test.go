package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/cli"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

// claim is what one way of showing a judgement says of it. What a way does not say is empty.
type claim struct {
	headline          string // the first sentences
	kind              string // of the headline
	healthy           string // yes, no, unknown
	fit               string
	wrong             string // instruments proven wrong
	top, figure       string // the first suspect, and its figure in a hundred
	nothing           string // figure of nothing wrong
	step, at, stepFor string // what to do next; the reading, or the cause acted on
	sheet, entry      string // the sum over what was judged, and the last entry of the record it rests on
	on                string // the same in words
	odd, same         string // which reading cannot belong, what looks alike, of the page only
}

// against lists what two ways say differently of one judgement.
func (c claim) against(o claim) []string {
	var out []string
	for _, x := range []struct{ what, a, b string }{
		{"headline", c.headline, o.headline},
		{"kind", c.kind, o.kind},
		{"healthy", c.healthy, o.healthy},
		{"fit", c.fit, o.fit},
		{"instruments wrong", c.wrong, o.wrong},
		{"first suspect", c.top, o.top},
		{"its figure", c.figure, o.figure},
		{"nothing wrong", c.nothing, o.nothing},
		{"next step", c.step, o.step},
		{"next reading", c.at, o.at},
		{"acted on", c.stepFor, o.stepFor},
		{"sheet judged", c.sheet, o.sheet},
		{"entry judged on", c.entry, o.entry},
	} {
		if x.a != "" && x.b != "" && x.a != x.b {
			out = append(out, fmt.Sprintf("%s: %q and %q", x.what, x.a, x.b))
		}
	}
	return out
}

// none stands where a way says that there is nothing of a kind, so that it can be compared.
const none = "none"

func orNone(s string) string {
	if s = strings.TrimSpace(s); s == "" {
		return none
	}
	return s
}

// find returns the first node that holds.
func find(root *html.Node, ok func(*html.Node) bool) *html.Node {
	var out *html.Node
	walk(root, func(n *html.Node) {
		if out == nil && n.Type == html.ElementNode && ok(n) {
			out = n
		}
	})
	return out
}

func classed(class string) func(*html.Node) bool {
	return func(n *html.Node) bool { return slices.Contains(strings.Fields(attr(n, "class")), class) }
}

func element(name string) func(*html.Node) bool {
	return func(n *html.Node) bool { return n.Data == name }
}

// ofPage reads the judgement's page: its words where people read them, its codes where only a code is exact.
func ofPage(s *sheet) claim {
	say := find(s.root, classed("a-say"))
	c := claim{
		headline: words(find(say, element("h1"))),
		kind:     attr(say, "data-kind"),
		healthy:  attr(say, "data-healthy"),
		fit:      attr(say, "data-fit"),
		wrong:    orNone(attr(say, "data-wrong")),
		sheet:    attr(say, "data-sheet"),
		entry:    attr(say, "data-entry"),
	}
	if c.wrong != none && !strings.Contains(words(say), "the judgement leaves the other out") {
		c.wrong = "not said in words"
	}
	walk(s.root, func(n *html.Node) {
		if n.Type != html.ElementNode || !classed("sus")(n) {
			return
		}
		name, figure := words(find(n, element("h3"))), words(find(n, classed("pc")))
		if c.top == "" {
			c.top, c.figure = name, figure
		}
		if name == text.Fault("healthy").Name {
			c.nothing = figure
		}
	})
	if p := find(s.root, classed("judged-on")); p != nil {
		c.on = words(p)
	}
	if p := find(s.root, classed("misfit")); p != nil {
		c.odd = words(p)
	}
	if p := find(s.root, classed("look-alike")); p != nil {
		c.same = words(p)
	}
	if slab := find(s.root, classed("a-next")); slab != nil {
		c.step, c.at = attr(slab, "data-step"), orNone(attr(slab, "data-at"))
		if c.step == "act" {
			c.stepFor = words(find(slab, element("h2")))
		}
	}
	return c
}

var suspectLine = regexp.MustCompile(`(?m)^  (\S.*?) {2,}(under 1|over 99|\d+) in 100`)

// ofTerminal reads what the terminal prints.
func ofTerminal(out string) claim {
	head, _, _ := strings.Cut(out, "\n")
	c := claim{headline: head, wrong: none, at: none}
	if strings.Contains(strings.SplitN(out, "\n\n", 2)[0], "Box thermometer reads") {
		c.wrong = fault.BoxThermometer.String()
	}
	for i, m := range suspectLine.FindAllStringSubmatch(out[strings.Index(out, "\nSuspects"):], -1) {
		if m[1] == "Nothing wrong" {
			c.nothing = m[2]
		}
		if i == 0 {
			c.top, c.figure = m[1], m[2]
		}
	}
	for step, words := range map[string]string{
		"read_next": "\nNext reading, ", "prove_instrument": "\nNext: prove the instrument.", "hands_and_eyes": "\nNext: hands and eyes.",
		"stop": "\nNext: prove the cold and write it down.",
	} {
		if strings.Contains(out, words) {
			c.step = step
		}
	}
	if _, after, ok := strings.Cut(out, "\nNext: "); ok && c.step == "" {
		c.step = "act"
		c.stepFor, _, _ = strings.Cut(after, "\n")
	}
	for rule, words := range map[string]string{
		"every_reading_within_tolerance": "explains every reading", "a_reading_far_off": "leaves a reading",
		"no_cause_explains_the_readings": "no cause on the list",
	} {
		if strings.Contains(out, "Fit: ") && strings.Contains(out, words) {
			c.fit = rule
		}
	}
	if c.step == "read_next" {
		c.at = "" // the terminal says it in words only
	}
	return c
}

// rank orders shown figures.
func rank(figure string) int {
	switch figure {
	case "under 1":
		return 0
	case "over 99":
		return 100
	}
	n, _ := strconv.Atoi(figure)
	return n
}

// ofJSON reads the document of the judgement; its first suspect by the verdict and by its own marginals must be one.
func ofJSON(t *testing.T, doc []byte) claim {
	t.Helper()
	var d struct {
		Marginals map[string]float64 `json:"marginals"`
		PNone     float64            `json:"p_none_of_these"`
		Verdict   struct {
			Kind     string `json:"kind"`
			Suspects []struct {
				Fault string  `json:"fault"`
				P     float64 `json:"probability"`
			} `json:"suspects"`
			Healthy     struct{ Status, Rule string }    `json:"healthy"`
			Fit         struct{ Status, Rule string }    `json:"fit"`
			Instruments []struct{ Fault, Rule string }   `json:"instruments_wrong"`
			Next        struct{ Kind, At, Fault string } `json:"next_step"`
			On          struct {
				Sheet string
				Used  []string
				Left  []struct{ At, Why string } `json:"left_out"`
				Entry struct{ ID string }
			} `json:"judged_on"`
		} `json:"verdict"`
	}
	if err := json.Unmarshal(doc, &d); err != nil {
		t.Fatal(err)
	}
	v := d.Verdict
	c := claim{kind: v.Kind, healthy: v.Healthy.Status, fit: v.Fit.Rule, step: v.Next.Kind, at: orNone(v.Next.At)}
	c.sheet, c.entry = v.On.Sheet, v.On.Entry.ID
	wrong := []string{}
	for _, i := range v.Instruments {
		if i.Rule == "" {
			t.Errorf("%s is proven wrong by no rule", i.Fault)
		}
		wrong = append(wrong, i.Fault)
	}
	c.wrong = orNone(strings.Join(wrong, " "))
	for i, s := range v.Suspects {
		if i == 0 {
			c.top, c.figure = text.Fault(s.Fault).Name, text.Hundred(s.P)
		}
		if s.Fault == "healthy" {
			c.nothing = text.Hundred(s.P)
		} else if s.Fault != "none_of_these" && s.P != d.Marginals[s.Fault] {
			t.Errorf("%s: the verdict says %v, its document %v", s.Fault, s.P, d.Marginals[s.Fault])
		}
		if slices.Contains(wrong, s.Fault) {
			t.Errorf("%s is proven wrong and a suspect", s.Fault)
		}
	}
	if v.Next.Kind == "act" {
		c.stepFor = text.Fault(v.Next.Fault).Act
	}
	return c
}

// ofList reads a machine's row of the list, or the slab of the start page.
func ofList(n *html.Node) claim {
	return claim{
		kind: attr(n, "data-kind"), healthy: attr(n, "data-healthy"), fit: attr(n, "data-fit"), wrong: orNone(attr(n, "data-wrong")),
		headline: words(n), sheet: attr(n, "data-sheet"), entry: attr(n, "data-entry"),
	}
}

// agreement counts what was compared.
type agreement struct {
	d                                        *desk
	visits, ends, wrong, lists, papers       int
	kinds, steps, outcomes, becauses, states map[string]int
}

func newAgreement(d *desk) *agreement {
	return &agreement{
		d:        d,
		kinds:    map[string]int{},
		steps:    map[string]int{},
		outcomes: map[string]int{},
		becauses: map[string]int{},
		states:   map[string]int{},
	}
}

// end compares the ways of showing one end of a visit; ok is false where it is not judged.
func (a *agreement) end(v *app.VisitView, p record.Phase) (c claim, ok bool) {
	t, e := a.d.t.(*testing.T), v.End(p)
	if e.Posterior == nil {
		return c, false
	}
	a.ends++
	page := ofPage(a.d.get("/visits/" + string(v.Visit.ID) + "/judge?end=" + string(p)).want(200))
	var terminal, doc bytes.Buffer
	cli.PrintJudgement(&terminal, e.Sheet, *e.Posterior, units.US())
	if err := cli.JudgementJSON(&doc, e.Sheet, *e.Posterior); err != nil {
		t.Fatal(err)
	}
	term, js := ofTerminal(terminal.String()), ofJSON(t, doc.Bytes())
	recorded, err := json.Marshal(wire.Answer(e.Posterior, e.Judged))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range page.against(ofJSON(t, recorded)) {
		t.Errorf("%s %s: page and JSON of the record: %s", v.Visit.ID, p, s)
	}
	on := e.Judged.On
	if len(on.Used)+len(on.LeftOut) != len(e.Sheet.Readings) || page.sheet == "" || page.entry == "" || page.on == "" || js.sheet == "" {
		t.Errorf("%s %s: judged on %+v of %d readings; the page says %q, %q", v.Visit.ID, p, on, len(e.Sheet.Readings), page.sheet, page.entry)
	}
	for _, x := range []struct {
		name string
		a, b claim
	}{{"page and terminal", page, term}, {"page and JSON", page, js}, {"terminal and JSON", term, js}} {
		for _, s := range x.a.against(x.b) {
			t.Errorf("%s %s: %s: %s", v.Visit.ID, p, x.name, s)
		}
	}
	if page.kind == "" || page.headline == "" || page.top == "" || js.step == "" || term.step == "" || term.fit == "" {
		t.Errorf("%s %s: nothing to compare: %+v %+v", v.Visit.ID, p, page, term)
	}
	// Which reading cannot belong is said by page, terminal and document, or by none; it is said where nothing fits.
	odd := text.Misfit(e.Judged, units.US(), v.Machine.Plate().AmbientPressure(), text.English)
	if (odd != "") != (page.kind == "does_not_fit") || strings.Contains(doc.String(), `"misfit"`) != (odd != "") {
		t.Errorf("%s %s: kind %s, misfit %q", v.Visit.ID, p, page.kind, odd)
	}
	if odd != "" && (page.odd != odd || !strings.Contains(terminal.String(), "\n"+odd+"\n")) {
		t.Errorf("%s %s: %q, the page says %q, the terminal %s", v.Visit.ID, p, odd, page.odd, terminal.String())
	}
	// So are two causes that only the hand tells apart.
	same := text.LookAlike(e.Judged, text.English)
	if strings.Contains(doc.String(), `"look_alike"`) != (same != "") || page.same != same ||
		same != "" && !strings.Contains(terminal.String(), "\n"+same+"\n") {
		t.Errorf("%s %s: %q, the page says %q, the terminal %s", v.Visit.ID, p, same, page.same, terminal.String())
	}
	a.kinds[page.kind]++
	a.steps[js.step]++
	if page.wrong != none {
		a.wrong++
	}
	return page, true
}

// list compares the machine's row with the page of the end that counts.
func (a *agreement) list(v *app.VisitView, page claim) {
	t := a.d.t
	name := v.Machine.Name
	row := find(a.d.get("/machines").want(200).root, func(n *html.Node) bool {
		return n.Data == "tr" && strings.Contains(words(n), name+" ")
	})
	if row == nil {
		t.Fatalf("no row for %s", name)
	}
	cell := find(row, classed("c-what"))
	got := ofList(cell)
	short, _, _ := strings.Cut(page.headline, ". ")
	if want := strings.TrimSuffix(short, "."); !strings.HasPrefix(got.headline, want) {
		t.Errorf("%s: the list says %q, the page %q", v.Visit.ID, got.headline, page.headline)
	}
	if (page.wrong != none) != strings.Contains(got.headline, "Box thermometer reads") {
		t.Errorf("%s: the list says %q, the page that %s is wrong", v.Visit.ID, got.headline, page.wrong)
	}
	got.headline = ""
	for _, s := range page.against(got) {
		t.Errorf("%s: page and list: %s", v.Visit.ID, s)
	}
	a.lists++
}

// report compares the report, page and document, with the pages of both ends and of the tests.
func (a *agreement) report(v *app.VisitView, before, after claim, pdf bool) {
	t, id := a.d.t.(*testing.T), string(v.Visit.ID)
	h1 := find(a.d.get("/visits/"+id+"/report").want(200).root, element("h1"))
	doc := report.Build(report.FromVisit(v, units.US(), time.UTC))
	if words(h1) != doc.Headline {
		t.Errorf("%s: the report's page says %q, its document %q", id, words(h1), doc.Headline)
	}
	all := doc.Headline
	for _, s := range doc.Sections {
		all += " " + strings.Join(append(s.Paragraphs, s.Points...), " ")
	}
	// The foot of the report says word for word what the page of each end was judged on.
	for _, c := range []claim{before, after} {
		if c.kind != "" && !slices.ContainsFunc(doc.Foot, func(line string) bool {
			return strings.HasSuffix(line, text.LowerFirst(c.on)) && strings.Contains(line, c.sheet[:8])
		}) {
			t.Errorf("%s: its page says %q (%s), the report's foot %q", id, c.on, c.sheet, doc.Foot)
		}
	}
	because, outcome := attr(h1, "data-because"), attr(h1, "data-outcome")
	a.outcomes[outcome]++
	a.becauses[because]++
	// The cause, from the figures people see on the page.
	want := "no_cause"
	switch {
	case len(v.Visit.Leaks) > 0:
		want = "leak_found"
	case before.kind == "does_not_fit":
		want = "not_certain"
	case before.kind == "" || before.top == text.Fault("healthy").Name:
	case rank(before.figure) >= 95:
		want = "certain"
	case rank(before.figure) >= 70:
		want = "most_likely"
	default:
		want = "not_certain"
	}
	changed := len(v.Visit.Work)+len(v.Visit.Moves) > 0
	if outcome == "works" && !changed && after.healthy != "yes" {
		want = "no_cause"
	}
	if because != want {
		t.Errorf(
			"%s: the report says the cause is %s; by the page (%s, %s at %s) %s",
			id,
			because,
			before.kind,
			before.top,
			before.figure,
			want,
		)
	}
	if because == "certain" || because == "most_likely" {
		said := ""
		for _, c := range fault.Singles() {
			if w := text.Fault(c.String()); w.Name == before.top {
				said = w.Customer
			}
		}
		if said == "" || !strings.Contains(strings.ToLower(doc.Headline), strings.ToLower(strings.TrimSuffix(said, "."))) {
			t.Errorf("%s: the page says %q, the report %q", id, before.top, doc.Headline)
		}
	}
	// Healthy or not, of the end that counts.
	counts, judged := before, before.kind != ""
	if app.AfterCounts(v.Visit) {
		counts, judged = after, after.kind != ""
	}
	healthy := "unknown"
	if judged && (!changed || app.AfterCounts(v.Visit)) {
		healthy = counts.healthy
	}
	if got := attr(h1, "data-healthy"); got != healthy {
		t.Errorf("%s: the report says healthy %s, the page %s", id, got, healthy)
	}
	for _, odd := range []string{before.odd, after.odd, before.same, after.same} {
		if odd != "" && !strings.Contains(all, odd) {
			t.Errorf("%s: the report does not say %q", id, odd)
		}
	}
	if outcome == "works" && after.healthy != "yes" && before.healthy != "yes" {
		t.Errorf("%s: it works by the report, healthy by no page", id)
	}
	// Instruments proven wrong.
	if (before.wrong == fault.BoxThermometer.String() || after.wrong == fault.BoxThermometer.String()) !=
		strings.Contains(all, "The thermometer on the box read ") {
		t.Errorf("%s: wrong by the pages: %q, %q; the report: %s", id, before.wrong, after.wrong, all)
	}
	// Proofs: the page of a test is green exactly where the report says proven, and the document's part says the same.
	for stage, path := range map[string]string{"tight": "tight", "dry": "dry"} {
		state := attr(h1, "data-"+stage)
		a.states[stage+" "+state]++
		tag := find(a.d.get("/visits/"+id+"/"+path).want(200).root, classed("big-tag"))
		if green := tag != nil && classed("in")(tag); green != (state == "proven") {
			t.Errorf("%s: %s is %q in the report; green on its page: %v", id, stage, state, green)
		}
		for _, part := range doc.Tests {
			if part.Key == stage && part.State.String() != state {
				t.Errorf("%s: %s is %s in its part and %s in the verdict", id, stage, part.State, state)
			}
		}
	}
	cold := attr(h1, "data-cold")
	a.states["cold "+cold]++
	saysCold := slices.Contains([]string{"cold_again", "cold_not_settled", "holds"}, outcome)
	if saysCold && cold != "proven" || outcome == "not_yet_proven" && cold == "proven" {
		t.Errorf("%s: %s with the cold %s", id, outcome, cold)
	}
	for _, p := range v.Verdict.Proofs {
		if p.Rule == "" {
			t.Errorf("%s: %s is %s by no rule", id, p.Stage, p.State)
		}
	}
	if !pdf {
		return
	}
	var paper bytes.Buffer
	if err := report.PDF(&paper, report.FromVisit(v, units.US(), time.UTC)); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("pdftotext", "-", "-")
	cmd.Stdin = &paper
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), "") }
	printed := squeeze(string(out))
	said := []string{doc.Headline}
	for _, s := range doc.Sections {
		said = append(append(said, s.Paragraphs...), s.Points...)
	}
	for _, part := range doc.Tests {
		said = append(said, part.Paragraphs...)
	}
	said = append(said, doc.Foot...)
	for _, s := range said {
		if !strings.Contains(printed, squeeze(s)) {
			t.Errorf("%s: the paper does not say %q", id, s)
		}
	}
	a.papers++
}

// visit compares every way of showing a visit.
func (a *agreement) visit(id record.ID, listed, pdf bool) {
	a.visits++
	v, err := a.d.app.Visit(context.Background(), id, report.Needs(units.US(), pdf))
	if err != nil {
		a.d.t.Fatal(err)
	}
	before, _ := a.end(v, record.Before)
	after, _ := a.end(v, record.After)
	page := before
	if app.AfterCounts(v.Visit) {
		page = after
	}
	if listed && page.kind != "" {
		a.list(v, page)
	}
	a.report(v, before, after, pdf)
}

// What a visit comes to is said the same by the page, the terminal, JSON, the list, the report and its paper: every
// demonstration visit.
func TestAgree_Demonstration(t *testing.T) {
	d := open(t)
	ctx := context.Background()
	if err := keep.Demo(ctx, d.app); err != nil {
		t.Fatal(err)
	}
	list, err := d.app.Machines(ctx, "", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	a := newAgreement(d)
	for _, row := range list.Rows {
		m, err := d.app.Machine(ctx, row.Machine.ID, app.MachineParts{})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range m.Machine.Visits {
			a.visit(v.ID, false, i == len(m.Machine.Visits)-1)
		}
	}
	if a.visits < 10 || a.wrong == 0 {
		t.Errorf("compared %+v", a)
	}
}

// drawn is a machine and a way to draw visits to it.
type drawn struct {
	*desk
	rng   *rand.Rand
	id    record.ID
	sheet record.MachineBody
}

func (d *drawn) do(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

// read simulates the machine with a change of it and enters what a mechanic might read: not everything, and not exactly.
func (d *drawn) read(visit record.ID, phase record.Phase, ch plant.Change) bool {
	ctx, rng := context.Background(), d.rng
	v, err := d.app.Visit(ctx, visit, app.Parts{})
	d.do(err)
	plate := v.Machine.Plate()
	rm, _ := plate.Resolve()
	fit, err := d.app.Fit(v.Machine.Refrigerant)
	d.do(err)
	p, err := plant.New(plant.FromMachine(rm), fit)
	d.do(err)
	box, out := float64(v.Machine.SetPoint())+4*rng.Float64()-1, 290+14*rng.Float64()
	r := p.Solve(plant.Inputs{BoxT: box, AmbientT: out}, ch, plant.Options{})
	if !r.Status.OK() || r.Trip != plant.TripNone {
		return false
	}
	run := 45.0
	o := app.Observed{RunningMin: &run, SetRunning: true, Seen: map[string]string{}}
	temp := func(at reading.Place, k float64) {
		o.Entries = append(o.Entries, app.Entry{Place: at, Text: units.Fixed(units.Temp(k+0.3*rng.NormFloat64()).F(), 1), Unit: "°F"})
	}
	gauge := func(at reading.Place, dew float64) {
		psi := float64(units.Pressure(fit.DewT(dew)).Gauge(plate.AmbientPressure())) / units.Psi
		o.Entries = append(o.Entries, app.Entry{
			Place: at, Text: units.Fixed(psi+0.4*rng.NormFloat64(), 1), Unit: "psig", Instrument: reading.DigitalGauge.String(),
		})
	}
	temp(reading.BoxAir, box)
	temp(reading.Ambient, out)
	gauge(reading.SuctionPressure, r.Out[plant.SuctionDew])
	if rng.IntN(8) > 0 {
		gauge(reading.DischargePressure, r.Out[plant.DischargeDew])
	}
	if rm.Expansion == reading.Valve && rng.IntN(3) > 0 {
		o.Seen["glass"] = "clear"
		if r.Out[plant.GlassQuality] > 0 {
			o.Seen["glass"] = "bubbling"
		}
	}
	few := rng.IntN(3) // every third visit reads little, every third everything
	for _, x := range []struct {
		at reading.Place
		k  plant.Output
	}{
		{reading.CoilOutletLine, plant.CoilOutletT},
		{reading.SuctionLine, plant.SuctionLineT},
		{reading.LiquidLine, plant.LiquidLineT},
		{reading.DischargeLine, plant.DischargeLineT},
		{reading.CoilAirOff, plant.AirOffT},
		{reading.CondenserAirOff, plant.CondenserOffT},
	} {
		if few == 0 || few == 1 && rng.IntN(2) == 0 {
			temp(x.at, r.Out[x.k])
		}
	}
	switch rng.IntN(4) {
	case 0: // the box's own thermometer, right
		temp(reading.BoxDisplay, box)
	case 1: // and wrong
		temp(reading.BoxDisplay, box+3*rng.NormFloat64())
	}
	if rng.IntN(2) == 0 {
		o.Seen["condenser_dirt"] = []string{"none", "some", "heavy"}[min(2, int(3*ch.CondenserAir+rng.Float64()))]
		o.Seen["coil_ice"] = []string{"none", "some", "heavy"}[min(2, int(3*ch.CoilAir+rng.Float64()))]
	}
	if rng.IntN(12) == 0 { // a misread gauge: nothing fits
		o.Entries[2].Text = units.Fixed(1+90*rng.Float64(), 0)
	}
	if err := d.app.SaveReadings(ctx, app.Act{By: "test"}, visit, phase, o); err != nil {
		return false
	}
	return true
}

// call draws a visit up to its end, closed or not.
func (d *drawn) call(faults []fault.Fault) (record.ID, bool) {
	ctx, rng, act := context.Background(), d.rng, app.Act{By: "test"}
	d.now = d.now.Add(26 * time.Hour)
	visit, err := d.app.OpenVisit(ctx, act, d.id, "drawn")
	d.do(err)
	var ch plant.Change
	for range max(0, rng.IntN(5)-2) { // three in five are healthy
		f := faults[rng.IntN(len(faults))]
		ch = fault.Apply(ch, f.Code, f.Severity(rng.NormFloat64()))
	}
	d.read(visit, record.Before, ch)
	if rng.IntN(2) == 0 {
		d.do(d.app.AddWork(ctx, act, visit, record.WorkBody{Code: "condenser_cleaned"}))
	}
	if rng.IntN(5) == 0 {
		d.do(d.app.AddLeak(ctx, act, visit, record.LeakBody{Place: "flare", How: "bubbles"}))
	}
	if rng.IntN(3) == 0 {
		d.hold(visit)
	}
	if rng.IntN(3) == 0 {
		d.rise(visit)
	}
	if rng.IntN(5) > 1 {
		d.do(d.app.SetPhase(ctx, act, visit, record.After))
		if rng.IntN(3) == 0 {
			ch = plant.Change{}
		}
		d.read(visit, record.After, ch)
		if rng.IntN(2) == 0 {
			set := v(d).SetPoint().F()
			at := set + 12
			for k := range 6 {
				minute := 12 * float64(k)
				d.do(d.app.AddPull(ctx, act, visit, record.After, &minute, units.Fixed(at, 1), "°F", true, true))
				at -= 12 * rng.Float64() / 3
			}
		}
	}
	closed := rng.IntN(4) > 0
	return visit, closed
}

func v(d *drawn) *record.Machine {
	m, err := d.app.Machine(context.Background(), d.id, app.MachineParts{})
	d.do(err)
	return m.Machine
}

func (d *drawn) hold(visit record.ID) {
	ctx, act, rng := context.Background(), app.Act{By: "test"}, d.rng
	lost := 0.0
	if rng.IntN(2) == 0 {
		lost = 20 * rng.Float64() // psi over the test
	}
	entry := func(k int, minute float64) app.HoldEntry {
		return app.HoldEntry{
			Minute:   &minute,
			Pressure: units.Fixed(150-lost*float64(k)/8+0.2*rng.NormFloat64(), 1),
			Unit:     "psig",
			Gas:      []string{"70"},
			TempUnit: "°F",
		}
	}
	first := entry(0, 0)
	first.Minute = nil
	d.do(d.app.StartHold(ctx, act, visit, app.HoldStart{HoldEntry: first, Volumes: [...]string{"", "0.3 L", "20 L"}[rng.IntN(3)]}))
	n, every := 2+rng.IntN(7), 30+300*rng.Float64()
	d.now = d.now.Add(time.Duration(float64(n) * every * float64(time.Minute)))
	for k := 1; k <= n; k++ {
		d.do(d.app.AddHold(ctx, act, visit, entry(k, every*float64(k))))
	}
}

func (d *drawn) rise(visit record.ID) {
	ctx, act, rng := context.Background(), app.Act{By: "test"}, d.rng
	leak, wet := 0.0, 0.0
	switch rng.IntN(4) {
	case 0:
		leak = 40 * rng.Float64() // micron a minute
	case 1:
		wet = 4000 * rng.Float64()
	}
	at := func(minute float64) app.RiseEntry {
		p := 150 + leak*minute + wet*minute/(minute+20) + 2*rng.NormFloat64()
		return app.RiseEntry{Minute: &minute, Pressure: units.Fixed(p, 0), Unit: "micron"}
	}
	first := at(0)
	first.Minute = nil
	d.do(d.app.StartRise(ctx, act, visit, app.RiseStart{RiseEntry: first, Coldest: "70", TempUnit: "°F"}))
	n := 5 + rng.IntN(14)
	d.now = d.now.Add(time.Duration(2*n) * time.Minute)
	for k := 1; k <= n; k++ {
		d.do(d.app.AddRise(ctx, act, visit, at(2*float64(k))))
	}
}

// visitsOf is how many drawn visits are compared: 60, in a short run 10, or as many as COLDWRIGHT_VISITS says; 500 in the gate.
func visitsOf(t *testing.T) int {
	if testing.Short() {
		return 10
	}
	if s := os.Getenv("COLDWRIGHT_VISITS"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			t.Fatalf("COLDWRIGHT_VISITS=%s", s)
		}
		return n
	}
	return 60
}

// The same for visits drawn at random: any faults, any part of the readings, thermometers that lie, gauges misread, tests
// that pass, fail or stay open.
func TestAgree_DrawnVisits(t *testing.T) {
	n := visitsOf(t)
	d := open(t)
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(26, 11))
	site, err := d.app.SaveSite(ctx, app.Act{By: "test"}, "", record.SiteBody{Name: "Drawn"})
	if err != nil {
		t.Fatal(err)
	}
	yes, no := true, false
	var machines []*drawn
	kinds := []record.MachineBody{
		{Refrigerant: "R-404A", Application: "walk-in freezer", Expansion: "valve", Receiver: &yes},
		{Refrigerant: "R-134a", Application: "walk-in cooler", Expansion: "valve", Receiver: &yes},
		{Refrigerant: "R-448A", Application: "display case", Expansion: "valve", Receiver: &yes},
		{Refrigerant: "R-290", Application: "reach-in cooler", Expansion: "capillary", Receiver: &no},
	}
	// As many as the list judges on its first page, so that each has a judged row and few visits.
	for i := range 12 {
		b := kinds[i%len(kinds)]
		b.Name, b.HeadControl = fmt.Sprintf("Machine %02d", i), "none"
		set := 276.0
		if b.Application == "walk-in freezer" {
			set = 253
		}
		full := int64(5000)
		b.SetPointK, b.FullChargeG = &set, &full
		id, err := d.app.SaveMachine(ctx, app.Act{By: "test"}, site, "", b)
		if err != nil {
			t.Fatal(err)
		}
		machines = append(machines, &drawn{d, rng, id, b})
	}
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	a := newAgreement(d)
	for i := range n {
		m := machines[i%len(machines)]
		visit, closed := m.call(cat.Faults)
		if closed {
			m.do(d.app.CloseVisit(ctx, app.Act{By: "test"}, visit, record.CloseBody{Mechanic: "test"}))
		}
		a.visit(visit, true, i%20 == 0)
		if !closed {
			m.do(d.app.CloseVisit(ctx, app.Act{By: "test"}, visit, record.CloseBody{Mechanic: "test"}))
		}
		if t.Failed() && i > 20 {
			break
		}
	}
	t.Logf(
		"%d visits, %d ends judged, %d with an instrument proven wrong, %d rows of the list, %d papers",
		a.visits,
		a.ends,
		a.wrong,
		a.lists,
		a.papers,
	)
	t.Logf("headlines %v, steps %v, outcomes %v, causes %v, proofs %v", a.kinds, a.steps, a.outcomes, a.becauses, a.states)
	if n < 60 {
		return
	}
	// The draw reaches what it is there for.
	for _, k := range []string{"nothing_wrong", "sure", "likely", "about_even"} {
		if a.kinds[k] == 0 {
			t.Errorf("no visit with the headline %s", k)
		}
	}
	for _, k := range []string{"act", "read_next", "stop"} {
		if a.steps[k] == 0 {
			t.Errorf("no visit with the step %s", k)
		}
	}
	for _, k := range []string{"tight proven", "tight failed", "dry proven", "dry failed", "cold proven"} {
		if a.states[k] == 0 {
			t.Errorf("no visit with %s", k)
		}
	}
	if a.wrong == 0 || a.lists == 0 || a.papers == 0 {
		t.Error("nothing compared of instruments, lists or paper")
	}
}
