package record

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"coldwright/fail"
)

const loop = "120 200 30 -40 30 40 30 -40 30 40;300 90 80 0"

func signature(n int, r Role, name, content string) Event {
	s, err := ParseStrokes(loop)
	if err != nil {
		panic(err)
	}
	return event(n, SignedReport, SignBody{Role: r, Name: name, How: SignDrawn, Strokes: s, Content: content, Program: "test"})
}

func TestStrokes_TextBothWays(t *testing.T) {
	s, err := ParseStrokes(" 120 200  30 -40 30 40;300 90 80 0 ")
	if err != nil {
		t.Fatal(err)
	}
	// By hand: each pair after the first of a stroke is a way on.
	want := Strokes{{{120, 200}, {150, 160}, {180, 200}}, {{300, 90}, {380, 90}}}
	if len(s) != 2 || !slices.Equal(s[0], want[0]) || !slices.Equal(s[1], want[1]) {
		t.Errorf("%v", s)
	}
	rapid.Check(t, func(t *rapid.T) {
		var in Strokes
		for range rapid.IntRange(1, SignStrokes).Draw(t, "strokes") {
			var stroke [][2]int
			for range rapid.IntRange(2, 20).Draw(t, "points") {
				stroke = append(stroke, [2]int{rapid.IntRange(0, SignWidth).Draw(t, "x"), rapid.IntRange(0, SignHeight).Draw(t, "y")})
			}
			in = append(in, stroke)
		}
		out, err := ParseStrokes(in.String())
		if err != nil {
			if fail.CodeOf(err) != fail.BadValue {
				t.Fatal(err)
			}
			return // too small to be one
		}
		if len(in) != len(out) {
			t.Fatal("strokes lost")
		}
		for i := range in {
			if !slices.Equal(in[i], out[i]) {
				t.Fatalf("%v came back as %v", in[i], out[i])
			}
		}
	})
}

func TestStrokes_Refused(t *testing.T) {
	many := strings.Repeat("0 0 9 9;", SignStrokes) + "0 0 9 9"
	long := "0 0" + strings.Repeat(" 1 0 -1 0", SignPoints/2)
	for what, s := range map[string]string{
		"half a point": "1 2 3", "a word": "1 2 x 80", "a fraction": "1 2 80.5 3", "outside": "1000 10 1 0", "above": "10 3 90 -4",
		"no line": "1 2 90 9;;3 4 5 6", "a dot": "500 200",
		"a slip": "500 200 20 20", "too many lines": many, "too many points": long, "a flood": strings.Repeat("1 ", 12*SignPoints),
		"a leap": "0 0 99999999999999999999 0",
	} {
		if _, err := ParseStrokes(s); fail.CodeOf(err) != fail.BadValue || strings.Contains(err.Error(), "\n") || len(err.Error()) > 160 {
			t.Errorf("%s: %v", what, err)
		}
	}
	if s, err := ParseStrokes(strings.TrimSuffix(many, ";0 0 9 9")); err != nil || len(s) != SignStrokes {
		t.Errorf("the most lines allowed: %v", err)
	}
	if s, err := ParseStrokes(strings.TrimSuffix(long, " 1 0 -1 0") + " 1 0"); err != nil || len(s[0]) != SignPoints {
		t.Errorf("the most points allowed: %v", err)
	}
	if s, err := ParseStrokes("  "); err != nil || s != nil {
		t.Errorf("nothing drawn: %v, %v", s, err)
	}
}

func TestSignBody_Refused(t *testing.T) {
	good := func() SignBody {
		return SignBody{Role: Customer, Name: "Kitchen lead", How: SignPaper, Content: Content(nil, sample(), id(902))}
	}
	if err := event(1, SignedReport, good()).Check(); err != nil {
		t.Fatal(err)
	}
	for what, change := range map[string]func(*SignBody){
		"no role": func(b *SignBody) { b.Role = "witness" }, "no name": func(b *SignBody) { b.Name = " " },
		"two lines": func(b *SignBody) { b.Name = "a\nb" },
		"long name": func(b *SignBody) { b.Name = strings.Repeat("a", signName+1) }, "not said how": func(b *SignBody) { b.How = "" },
		"drawn without lines": func(b *SignBody) { b.How = SignDrawn },
		"lines on paper":      func(b *SignBody) { b.Strokes, _ = ParseStrokes(loop) }, "nothing signed": func(b *SignBody) { b.Content = "00" },
		"no sum": func(b *SignBody) { b.Content = strings.Repeat("z", 64) },
	} {
		b := good()
		change(&b)
		if event(1, SignedReport, b).Check() == nil {
			t.Errorf("%s was accepted", what)
		}
	}
	bad := event(
		1,
		SignedReport,
		map[string]any{"role": "customer", "name": "a", "how": "drawn", "strokes": "9 9 2000 1", "content": good().Content},
	)
	if bad.Check() == nil {
		t.Error("strokes outside the field were accepted from a file")
	}
}

// Of a role the last signature counts; one that is taken back is gone.
func TestVisit_Signed(t *testing.T) {
	sum := Content(nil, sample(), id(902))
	all := append(
		sample(),
		signature(20, Customer, "First", sum),
		signature(21, Customer, "Second", sum),
		signature(22, Mechanic, "Van 7", sum),
	)
	m, _ := ProjectMachine(all)
	v := m.Visits[0]
	if len(v.Signatures) != 3 || v.Signed(Customer).Name != "Second" || v.Signed(Mechanic).Name != "Van 7" ||
		v.Signed(Customer).Strokes.String() != loop {
		t.Errorf("%+v", v.Signatures)
	}
	for i, want := range []string{"First", ""} {
		gone := event(30+i, Withdrawn, EmptyBody{})
		gone.Corrects = id(21 - i)
		all = append(all, gone)
		m, _ = ProjectMachine(all)
		if s := m.Visits[0].Signed(Customer); s == nil && want != "" || s != nil && s.Name != want {
			t.Errorf("after %d taken back: %+v", i+1, s)
		}
	}
}

func TestContent(t *testing.T) {
	site := event(0, SiteSaved, SiteBody{Name: "School kitchen", Address: "Marsh Lane"})
	site.Machine, site.Visit = "", ""
	old := func(e Event) Event { e.Visit, e.At = id(899), e.At.AddDate(0, -1, 0); return e }
	base := append(
		sample(),
		old(event(60, VisitOpened, OpenBody{})),
		old(event(61, ReadingTaken, ReadingBody{At: "box_air", Value: 256, Text: "1 F", Phase: Before})),
		old(event(62, JudgedHealthy, EmptyBody{})),
	)
	sum := func(site Event, machine ...Event) string { return Content([]Event{site}, machine, id(902)) }
	want := sum(site, base...)
	plate := func(b MachineBody) Event {
		e := event(70, MachineSaved, b)
		e.Visit = ""
		return e
	}
	take := func(n int) Event { e := event(71, Withdrawn, EmptyBody{}); e.Corrects = id(n); return e }
	named := MachineBody{Name: "Walk-in freezer", Refrigerant: "R-404A", Application: "walk-in freezer"}
	noted, charged := named, named
	noted.Note, noted.Serial = "key at the bar", "7"
	grams := int64(4300)
	charged.FullChargeG = &grams
	// The same report.
	other := slices.Clone(base)
	for i := range other {
		var v any
		if err := json.Unmarshal(other[i].Body, &v); err != nil {
			t.Fatal(err)
		}
		other[i].Body, _ = json.MarshalIndent(v, "", "  ") // spaced, keys sorted
	}
	rand.New(rand.NewPCG(5, 6)).Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
	for what, got := range map[string]string{
		"order and spaces": sum(site, other...), "a signature": sum(site, append(base, signature(80, Customer, "A", want))...),
		"learned later": sum(site, append(base, event(81, JudgedHealthy, EmptyBody{}), event(82, CauseConfirmed, ConfirmBody{"low_charge"}))...),
		"a serial":      sum(site, append(base, plate(noted))...),
		"another visit": sum(site, append(base,
			func() Event { e := event(83, WorkDone, WorkBody{Code: "evacuated"}); e.Visit = id(903); return e }())...),
	} {
		if got != want {
			t.Errorf("%s: counts as a change", what)
		}
	}
	moved := site
	moved.Body = json.RawMessage(`{"name":"School kitchen","altitude_m":1600}`)
	for what, got := range map[string]string{
		"work added":      sum(site, append(base, event(84, WorkDone, WorkBody{Code: "evacuated"}))...),
		"work taken back": sum(site, append(base, take(8))...), "full charge": sum(site, append(base, plate(charged))...),
		"altitude": sum(moved, base...), "an earlier healthy visit is none": sum(site, append(base, take(62))...),
		"a reading of an earlier healthy visit": sum(site, append(base, take(61))...),
		"another visit's report":                Content([]Event{site}, base, id(899)),
	} {
		if got == want {
			t.Errorf("%s: no change seen", what)
		}
	}
}

func FuzzStrokes(f *testing.F) {
	f.Add(loop)
	f.Add("0 0 1000 400 -1000 0")
	f.Fuzz(func(t *testing.T, s string) {
		in, err := ParseStrokes(s)
		if err != nil {
			return
		}
		out, err := ParseStrokes(in.String())
		if err != nil || out.String() != in.String() {
			t.Fatalf("%q came back as %q, %v", in, out, err)
		}
	})
}
