package law

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// node is a JSON value with where it stands.
type node struct {
	at   int64
	v    any // string, json.Number, bool, nil, []*node or fields
	name string
}

type field struct {
	key string
	at  int64
	val *node
}

type fields []field

// place turns an offset into line and column, both from 1, the column in characters.
func place(text []byte, at int64) string {
	head := text[:min(int(at), len(text))]
	line := bytes.Count(head, []byte("\n")) + 1
	col := len([]rune(string(head[bytes.LastIndexByte(head, '\n')+1:]))) + 1
	return fmt.Sprintf("line %d, column %d", line, col)
}

// parser walks the tokens of a JSON text and keeps their places.
type parser struct {
	text []byte
	dec  *json.Decoder
}

// skip finds where the next token begins.
func (p *parser) skip() int64 {
	at := p.dec.InputOffset()
	for int(at) < len(p.text) && strings.IndexByte(" \t\r\n,:", p.text[at]) >= 0 {
		at++
	}
	return at
}

func (p *parser) value(name string) (*node, error) {
	n := &node{at: p.skip(), name: name}
	tok, err := p.dec.Token()
	if err != nil {
		return nil, err
	}
	switch d, _ := tok.(json.Delim); d {
	case '{':
		var f fields
		for p.dec.More() {
			at := p.skip()
			key, err := p.dec.Token()
			if err != nil {
				return nil, err
			}
			k := key.(string)
			v, err := p.value(k)
			if err != nil {
				return nil, err
			}
			f = append(f, field{k, at, v})
		}
		n.v = f
		_, err = p.dec.Token()
	case '[':
		list := []*node{}
		for p.dec.More() {
			v, err := p.value(name)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		n.v = list
		_, err = p.dec.Token()
	default:
		n.v = tok
	}
	return n, err
}

// ReadMachine reads a machine with its events from JSON.
//
//		{"jurisdiction": "US", "class": "commercial refrigeration", "refrigerant": "R-404A", "full_charge": "60 lb", "installed": "2014-05-01",
//		 "hermetic": false, "detection": false, "shutdown": false, "subsector": "supermarket", "method": "annualizing", "gwp100": 3922,
//		 "events": [{"date": "2026-03-01", "kind": "added", "mass": "15 lb", "reason": "leak"}, {"date": "2026-03-10", "kind": "repaired"},
//		            {"date": "2026-03-11", "kind": "initial_verification", "result": "passed"}]}
//
//	  - in: at most 1 MB; jurisdiction, class and refrigerant are required; class may be left out for commercial refrigeration
//	  - out: the machine, checked
//	  - errors: [*fail.Error] whose field names line and column, message the value, hint what is allowed
//	  - source: definition
func ReadMachine(r io.Reader) (Machine, error) {
	const most = 1 << 20
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return Machine{}, err
	}
	if len(text) > most {
		return Machine{}, fail.New(fail.BadData, "", "is larger than 1 MB", "one machine a file")
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	p := &parser{text, json.NewDecoder(bytes.NewReader(text))}
	p.dec.UseNumber()
	if !json.Valid(text) {
		var v any
		var syntax *json.SyntaxError
		at := int64(len(text))
		msg := "the text ends too early"
		if err := json.Unmarshal(text, &v); errors.As(err, &syntax) {
			at, msg = max(syntax.Offset-1, 0), syntax.Error()
		}
		return Machine{}, fail.New(fail.BadData, place(text, at), "is not JSON: "+msg, "coldwright duties --help shows a file")
	}
	top, err := p.value("")
	if err != nil {
		return Machine{}, fail.New(fail.BadData, "", err.Error(), "")
	}
	m := Machine{Class: Commercial}
	c := &reader{text: text}
	f, ok := top.v.(fields)
	if !ok {
		return Machine{}, c.bad(top, "is no object", "write {…}")
	}
	err = c.each(f, map[string]func(*node) error{
		"name":         func(n *node) error { return c.text1(n, &m.Name) },
		"jurisdiction": func(n *node) error { return word(c, n, &m.Jurisdiction, Jurisdictions()) },
		"class":        func(n *node) error { return word(c, n, &m.Class, Classes()) },
		"subsector":    func(n *node) error { return c.text1(n, &m.Subsector) },
		"refrigerant": func(n *node) error {
			if err := c.text1(n, &m.Refrigerant); err != nil {
				return err
			}
			r, err := refrigerant.Load(m.Refrigerant)
			if err != nil {
				return c.bad(n, err.Error(), "name it by its designation, such as R-404A")
			}
			m.Refrigerant = r.Designation()
			return nil
		},
		"full_charge": func(n *node) error { return c.mass(n, &m.FullCharge) },
		"installed":   func(n *node) error { return c.date(n, &m.Installed) },
		"hermetic":    func(n *node) error { return c.yes(n, &m.Hermetic) },
		"detection":   func(n *node) error { return c.yes(n, &m.Detection) },
		"shutdown":    func(n *node) error { return c.yes(n, &m.Shutdown) },
		"method": func(n *node) error {
			return word(c, n, &m.Method, []ledger.Method{ledger.Annualizing, ledger.Rolling})
		},
		"gwp100": func(n *node) error {
			num, ok := n.v.(json.Number)
			v, err := num.Float64()
			if !ok || err != nil || !(v >= 0 && v < 3e4) {
				return c.bad(n, fmt.Sprintf("%v is no warming potential", shown(n.v)), "a number from 0 to 30,000")
			}
			m.GWP = &v
			return nil
		},
		"events": func(n *node) error {
			list, ok := n.v.([]*node)
			if !ok {
				return c.bad(n, "is no list", "write […]")
			}
			for _, e := range list {
				if err := c.event(e, &m); err != nil {
					return err
				}
			}
			return nil
		},
	})
	if err != nil {
		return Machine{}, err
	}
	for what, missing := range map[string]bool{"jurisdiction": m.Jurisdiction == "", "refrigerant": m.Refrigerant == ""} {
		if missing {
			return Machine{}, fail.New(fail.Required, place(text, top.at)+", "+what, "is missing", "required: jurisdiction and refrigerant")
		}
	}
	return m, m.Check()
}

type reader struct{ text []byte }

func (c *reader) where(n *node) string {
	where := place(c.text, n.at)
	if n.name != "" {
		where += ", " + n.name
	}
	return where
}

func (c *reader) bad(n *node, msg, hint string) error {
	return fail.New(fail.BadValue, c.where(n), msg, hint)
}

// at puts the place of a value before a failure.
func (c *reader) at(n *node, err error) error {
	var e *fail.Error
	if errors.As(err, &e) {
		said := *e
		said.Code, said.Field = fail.BadValue, c.where(n)
		return &said
	}
	return c.bad(n, err.Error(), "")
}

// each calls the function of every key; an unknown or repeated key is an error.
func (c *reader) each(f fields, known map[string]func(*node) error) error {
	allowed := make([]string, 0, len(known))
	for k := range known {
		allowed = append(allowed, k)
	}
	slices.Sort(allowed)
	seen := map[string]bool{}
	for _, x := range f {
		read, ok := known[x.key]
		switch {
		case !ok:
			return fail.New(fail.BadData, place(c.text, x.at), fmt.Sprintf("no key %q", x.key), "keys: "+strings.Join(allowed, ", "))
		case seen[x.key]:
			return fail.New(fail.BadData, place(c.text, x.at), fmt.Sprintf("key %q is there twice", x.key), "")
		}
		seen[x.key] = true
		if err := read(x.val); err != nil {
			return err
		}
	}
	return nil
}

func (c *reader) text1(n *node, to *string) error {
	s, ok := n.v.(string)
	if !ok || strings.TrimSpace(s) == "" {
		return c.bad(n, fmt.Sprintf("%v is no text", shown(n.v)), "write it in quotes")
	}
	*to = strings.TrimSpace(s)
	return nil
}

func shown(v any) any {
	switch v.(type) {
	case fields:
		return "an object"
	case []*node:
		return "a list"
	case string:
		return fmt.Sprintf("%q", v)
	}
	return v
}

func word[T ~string](c *reader, n *node, to *T, allowed []T) error {
	var s string
	if err := c.text1(n, &s); err != nil {
		return err
	}
	if !slices.Contains(allowed, T(s)) {
		names := make([]string, len(allowed))
		for i, a := range allowed {
			names[i] = string(a)
		}
		return c.bad(n, fmt.Sprintf("%q is not on the list", s), "one of: "+strings.Join(names, ", "))
	}
	*to = T(s)
	return nil
}

func (c *reader) mass(n *node, to *units.Mass) error {
	s, ok := n.v.(string)
	if !ok {
		return c.bad(
			n,
			fmt.Sprintf("%v is no mass with a unit", shown(n.v)),
			"in quotes with its unit: \"60 lb\", \"9 lb 8 oz\", \"4.3 kg\"",
		)
	}
	v, err := units.ParseMass(s, "")
	if err != nil {
		return c.at(n, err)
	}
	if v <= 0 {
		return c.bad(n, fmt.Sprintf("%q is nothing", s), "more than 0; leave it out when it is not known")
	}
	*to = v
	return nil
}

func (c *reader) date(n *node, to *ledger.Date) error {
	s, ok := n.v.(string)
	if !ok {
		return c.bad(n, fmt.Sprintf("%v is no date", shown(n.v)), "in quotes: \"2026-11-25\"")
	}
	d, err := ledger.ParseDate(s)
	if err != nil {
		return c.at(n, err)
	}
	*to = d
	return nil
}

func (c *reader) yes(n *node, to *bool) error {
	b, ok := n.v.(bool)
	if !ok {
		return c.bad(n, fmt.Sprintf("%v is neither true nor false", shown(n.v)), "true or false, without quotes")
	}
	*to = b
	return nil
}

func (c *reader) event(n *node, m *Machine) error {
	f, ok := n.v.(fields)
	if !ok {
		return c.bad(n, "is no event", "such as {\"date\": \"2026-11-25\", \"kind\": \"repaired\"}")
	}
	var e Event
	var result string
	err := c.each(f, map[string]func(*node) error{
		"date":   func(n *node) error { return c.date(n, &e.Date) },
		"kind":   func(n *node) error { return word(c, n, &e.Kind, EventKinds()) },
		"mass":   func(n *node) error { return c.mass(n, &e.Mass) },
		"reason": func(n *node) error { return word(c, n, &e.Reason, ledger.Reasons()) },
		"result": func(n *node) error { return word(c, n, &result, []string{"passed", "failed"}) },
		"note":   func(n *node) error { var s string; return c.text1(n, &s) },
	})
	e.Failed = result == "failed"
	switch {
	case err != nil:
		return err
	case e.Date.IsZero():
		return c.bad(n, "an event without date", "such as \"date\": \"2026-11-25\"")
	case e.Kind == "":
		return c.bad(n, "an event without kind", fmt.Sprintf("one of %q", EventKinds()))
	case (e.Kind == Added || e.Kind == Removed) && e.Mass == 0:
		return c.bad(n, string(e.Kind)+" without mass", "such as \"mass\": \"5 lb\"")
	case e.Kind != Added && e.Kind != Removed && e.Mass != 0:
		return c.bad(n, fmt.Sprintf("a mass does not belong to %q", e.Kind), "only added and removed carry one")
	}
	m.Events = append(m.Events, e)
	return nil
}
