package report

import (
	"time"

	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
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
