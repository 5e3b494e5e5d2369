package page

import (
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/verdict"
	"coldwright/web/form"
)

// tag is a word with a shape: in, under, over, unknown.
type tag struct{ Kind, Words string }

// row is a line of a list.
type row struct {
	Href, Main, Small string
	Tag               *tag
	Lines             []string
	Soft              bool // its lines are in the soft colour
}

// slab is the one next thing of a page.
type slab struct {
	Over, Head, Text, Href, Key, Post, Form string
	Field                                   form.Field
	Picks                                   form.Choice        // with Post, beside Field
	Judged                                  *verdict.Judgement // nil: Text is not about one
}

type key struct {
	Href, Label string
	Second      bool
}

// measureForm asks for what is measured once of a machine: its parts, its room.
type measureForm struct {
	Base, Action, Form, Asks, Lead, Key string
	Errors                              []string
	Groups                              []form.Group
	Open                                bool // nothing is known yet, or something was refused
}

type formBody struct {
	Head, Text, Action, Key, Form string
	Groups                        []form.Group
	Errors                        []string
}

// typedText is what somebody typed into a field of a form that comes back; false: the form did not have the field.
type typedText func(field string) (string, bool)

// untyped is that of a page asked for: nobody typed anything.
func untyped(string) (string, bool) { return "", false }

// take is the form that takes one entry back and then shows the page at Back.
type take struct{ Action, Back, Event, Form, Words, Shown string }

func newTake(action, back, event, formID string) *take {
	return &take{Action: action, Back: back, Event: event, Form: formID, Words: "Take back"}
}

// Saying is the same form with other words on its key.
func (t *take) Saying(words string) *take {
	out := *t
	out.Words = words
	return &out
}

// Take is the form that takes an entry of this page back; nil without an entry.
func (p *Page) Take(action, back, event, formID string) *take {
	if event == "" {
		return nil
	}
	t := newTake(action, back, event, formID)
	t.Shown = p.Shown
	return t
}

// testRow is one reading of a test.
type testRow struct {
	Cells       []string
	Event, Form string
}

// points are the readings of a test as a table.
type points struct {
	Head []string
	Rows []pointRow
}

type pointRow struct {
	Cells []string
	Take  *take // nil: it stays
}

// Points are readings of a test, each to be taken back unless the visit is closed.
func (p *Page) Points(head []string, rows []testRow, closed bool, action, back string) points {
	out := points{Head: head}
	for _, x := range rows {
		one := pointRow{Cells: x.Cells}
		if !closed {
			one.Take = p.Take(action, back, x.Event, x.Form)
		}
		out.Rows = append(out.Rows, one)
	}
	return out
}

// drawn is a figure with its numbers as a table under Words.
type drawn struct {
	Words, Caption, Class string
	Scene                 plot.Scene
	Table                 figure.Table
	Print                 bool
}

// Drawn is a figure of this page; printed, its table is open.
func (p *Page) Drawn(words string, scene plot.Scene, caption string, table figure.Table) drawn {
	return drawn{Words: words, Caption: caption, Scene: scene, Table: table, Print: p.Print}
}

// As is the same figure with a class.
func (d drawn) As(class string) drawn {
	d.Class = class
	return d
}

// Grid is a table for the template of that name: the first Words columns are words, the others figures.
type Grid struct {
	Label   string
	Words   int
	Head    []string
	Rows    [][]string
	Figures bool // the first column, which names the row, is a figure too
}

// NewGrid is a table under a label for who cannot see it.
func NewGrid(label string, words int, head []string, rows [][]string) Grid {
	return Grid{Label: label, Words: words, Head: head, Rows: rows}
}

// Numbered is the same table with rows named by figures.
func (g Grid) Numbered() Grid {
	g.Figures = true
	return g
}
