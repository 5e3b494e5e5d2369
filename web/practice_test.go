package web_test

import (
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// link follows the link whose words begin so.
func (s *sheet) link(starts string) *sheet {
	s.d.t.Helper()
	var to string
	walk(s.root, func(n *html.Node) {
		if n.Type == html.ElementNode && n.Data == "a" && to == "" && strings.HasPrefix(words(n), starts) {
			to = attr(n, "href")
		}
	})
	if to == "" {
		s.d.t.Fatalf("%s has no link %q", s.url, starts)
	}
	u, err := s.url.Parse(to)
	if err != nil {
		s.d.t.Fatal(err)
	}
	resp, err := s.d.client.Get(u.String())
	return s.d.read(resp, err)
}

// From the start page to the truth, with links and plain forms. Exercise 2 of level 1 is warm air at the condenser of a freezer.
func TestPractice_FromStartToTruth(t *testing.T) {
	d := open(t)
	p := d.get("/").want(200).link("Practice on a machine").want(200, "Practice", "One fault, plain to see", "Draw one", "Prep table")
	if p.form("/practice/run").values.Get("seed") == "" {
		t.Error("no number is offered")
	}
	p = p.form("/practice/run").
		set("seed", "2", "level", "1").
		send().
		want(200, "What is wrong?", "Walk-in freezer", "R-404A", "Exercise 2", "Gauges go on", "Machine must stand", "Two readings at least",
			"no refrigerant lost").
		not("Name the cause")
	p = p.link("Box air").
		want(200, "Read so far", "5 minutes").
		link("Air entering the condenser").
		want(200, "9 minutes", "Name the cause").
		not("And also")
	p = p.link("Air right at the condenser").want(200, "13 minutes")
	// A cause is needed; what was chosen stays.
	q := p.form("/practice/result").set("repair", "clean_condenser").send().want(422, "This is needed", "What is wrong?", "Read so far")
	if got := q.form("/practice/result").values.Get("repair"); got != "clean_condenser" {
		t.Errorf("the repair chosen was %q afterwards", got)
	}
	r := q.form("/practice/result").set("cause", "condenser_recirculation", "repair", "clear_condenser_exhaust").send().want(200,
		"Right: warm air drawn back into the condenser.", "of 100 points", "Give the condenser clear air.",
		"Measure the air right at the face", "What an expert reads", "What you read", "Read, healthy, and the truth",
		"The ladder", "nothing wrong, read with the same instruments", "You: 13 minutes",
		"The expert names warm air drawn back into the condenser: right.")
	r.not("NaN", "%!", "_")
	r.link("Same machine from the start").want(200, "Exercise 2", "no refrigerant lost").not("Read so far")
	r.link("Draw it").want(200, "What is wrong?")
	// Named wrong: what it was comes first.
	q.form("/practice/result").
		set("cause", "low_charge", "repair", "find_and_repair_leak").
		send().
		want(200, "It was warm air drawn back into the condenser.", "You named a shortage of refrigerant.")
}

func TestPractice_Refuses(t *testing.T) {
	d := open(t)
	for _, c := range []struct {
		path   string
		status int
		words  string
	}{
		{"/practice/run?seed=x&level=1", 422, "Is a whole number from 0 up"},
		{"/practice/run?seed=2&level=9", 422, "There is no level 9"},
		{"/practice/run?seed=2", 422, "This is needed"},
		{"/practice/run?seed=2&level=1&machine=ship", 422, "No machine \"ship\" on the bench"},
		{"/practice/run?seed=2&level=1&did=coil_fans", 422, "cannot be read on this machine"},
		{"/practice/result?seed=2&level=1&did=box_air&cause=low_charge", 422, "Two readings at least"},
		{"/practice/result?seed=2&level=1&did=box_air,ambient&cause=nonsense", 422, "cannot be named here"},
		{"/practice/result?seed=2&level=1&did=box_air,ambient&cause=low_charge&repair=hope", 422, "is no repair of the list"},
	} {
		d.get(c.path).want(c.status, c.words).not("NaN", "%!")
	}
	// Level 3 asks for two, in the units of the person.
	d.get("/me").form("/me").set("temp", "°C", "pressure", "bar(g)").send()
	d.get("/practice/run?seed=2&level=3&machine=prep-table&did=box_air,suction_pressure").
		want(200, "And also", "°C", "bar(g)", "Prep table", "R-290", "no receiver").
		not("Sight glass")
}
