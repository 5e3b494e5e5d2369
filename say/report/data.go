package report

import (
	"time"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// Data are the facts of a visit. Times carry the site's zone. What is not known stays empty and is left out.
type Data struct {
	Number                  string
	Site, Customer, Address string
	Machine                 string
	Application             reading.Application
	Mechanic                string
	Opened, Closed          time.Time
	Refrigerant             string

	Complaint string
	SetPoint  *units.Temp
	FoodLimit *units.Temp // the limit the operator named for its food
	Food      string      // what the operator did with the food, as told

	Before, After Phase
	Faster        *pulldown.Comparison // the pull-down after the work against the one before it; nil: not compared
	Coming        string               // of a box not cold yet with its machine's readings in band: when it will be
	Verdict       verdict.Visit        // on all of it: the report forms none of its own
	Work          []Work
	Moves         []Move
	FullCharge    *units.Mass
	Leaks         []Leak
	Tests         []Test   // nitrogen, vacuum, scale, logger's record
	Advice        []string // what the mechanic wrote for the customer
	Notes         []Note
	Photos        []Photo

	GWP        float64 // 100 years; 0: not known
	GWPEdition string

	Clocks       []Clock // legal clocks that run
	ClocksFailed string  // why they could not be reckoned, in one line

	Unread int // entries that this program cannot read

	CustomerSigned, MechanicSigned Signed

	// Chart is the pressure–enthalpy chart of the refrigerant; nil leaves the cycle out.
	Chart *refrigerant.Chart

	Lang        text.Language // "" is English
	Paper       Paper         // "" is A4
	Display     units.Display
	AltitudeM   float64
	Version     string   // of the program
	Grade       string   // of the refrigerant's data
	GradeReason string   //
	Editions    []string // of other data: "base rates 2026-11"
	PriorSource string   // where the base rates come from
}

// say is a sentence of the report in its language.
func (d Data) say(code string, args ...string) string { return text.Report(code, d.Lang, args...) }

// Phase is one end of the visit. Posterior is nil when nothing was judged, Failed says why in one line.
type Phase struct {
	At        time.Time
	Sheet     reading.Sheet
	Posterior *diagnose.Posterior
	JudgedOn  string // what the judgement rests on, in one line
	Misfit    string // which reading cannot belong, where nothing fits
	LookAlike string // two causes that only hand and eye tell apart
	Failed    string
	PullDown  []figure.PullPoint
}

// Work is something that was done.
type Work struct{ Code, Text string }

// Move is refrigerant out of or into the machine.
type Move struct {
	Cylinder string
	Out, In  units.Mass
}

// Test is a test after the work, in the order in which it is done: its verdict and numbers in the words of package
// text. Plain is the one sentence the customer reads; State is where its proof stands.
type Test struct {
	Key, Title, Plain string // keys: tight, dry, charge, record
	State             verdict.State
	Verdict           string
	Lines             []string
	Criterion         string // what it was held against, with its source
	Figure            *Figure
}

// Clock is a duty that a rule has started, as it stood on the day of the report.
type Clock struct{ Name, State, Due, Rule string }

// Leak is a leak that was found.
type Leak struct{ Place, How string }

// Note is what was written down, and where it belongs.
type Note struct {
	Where, Text string
	At          time.Time
}

// Photo is a picture: a JPEG kept under its hash, its size in pixels. JPEG is needed where the report is written as PDF.
type Photo struct {
	Where, Caption, Hash string
	At                   time.Time
	Width, Height        int
	JPEG                 []byte
}

// Signed is who signed and when. Drawing is nil unless it was drawn on the screen; Notes say how else it was signed
// and what has happened since.
type Signed struct {
	Name    string
	At      time.Time
	Drawing *plot.Scene
	Notes   []string
	Changed bool // the report is another one since
}
