package app

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// CylinderEntry is something that happened to a cylinder, as typed: it was bought, sent away, some of it went into
// another cylinder, or it was weighed.
type CylinderEntry struct {
	Kind           record.Kind // of [record.CylinderKinds]
	Cylinder       string
	Refrigerant    string // empty: the one that the book says is in it
	How            string // bought: bought, had; sent: reclaimer, supplier, destroyed
	Other          string // moved: the cylinder that got it
	With, Receipt  string
	On             string // the day when it was not now, 2026-11-25
	Mass, MassUnit string // weighed: what is in it; MassUnit stands beside the field
	Tare           string // weighed: the empty cylinder, when Mass is what the scale showed with it; empty otherwise
}

// cylinderName is one name for however its number was typed.
func cylinderName(s string) string {
	return strings.ToUpper(strings.Join(strings.Fields(s), " "))
}

// mostInCylinder is more than any cylinder of this trade holds, a ton tank included, grams.
const mostInCylinder = 2_000_000

// SaveCylinder records what happened to a cylinder. A record that makes the book odd, such as more out than ever came
// in, is taken all the same: the book then says so.
//
//   - in: the entry as typed
//   - errors: [*fail.Error] naming the field
func (a *App) SaveCylinder(ctx context.Context, act Act, e CylinderEntry) error {
	if !slices.Contains(record.CylinderKinds(), e.Kind) {
		return fail.Of(fail.BadValue, "kind", "cylinder.kind", fail.Args{"kind": e.Kind})
	}
	b := record.CylinderBody{
		Cylinder: cylinderName(e.Cylinder),
		How:      e.How,
		With:     strings.TrimSpace(e.With),
		Receipt:  strings.TrimSpace(e.Receipt),
		On:       strings.TrimSpace(e.On),
		Text:     strings.TrimSpace(e.Mass),
	}
	for field, v := range map[string]string{"cylinder": b.Cylinder, "with": b.With, "receipt": b.Receipt} {
		if len(v) > 200 {
			return fail.Of(fail.Range, field, "text.longer_200", nil)
		}
	}
	if err := required(b.Cylinder, fail.Of(fail.Required, "cylinder", "cylinder.number", nil)); err != nil {
		return err
	}
	gas := strings.TrimSpace(e.Refrigerant)
	if gas == "" {
		book, err := a.Cylinders(ctx)
		if err != nil {
			return err
		}
		c, ok := book.Find(b.Cylinder)
		if !ok || len(c.Holds) != 1 {
			return fail.Of(fail.Required, "refrigerant", "cylinder.refrigerant", nil)
		}
		gas = c.Holds[0].Refrigerant
	}
	r, err := refrigerant.Load(gas)
	if err != nil {
		return fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
	}
	b.Refrigerant = r.Designation()
	m, err := units.ParseMass(e.Mass, e.MassUnit)
	if err != nil {
		return asFail(err).At("mass")
	}
	b.Grams = int64(math.Round(float64(m) * units.Kilo))
	if !hasUnit(b.Text) {
		b.Text += " " + e.MassUnit
	}
	if tare := strings.TrimSpace(e.Tare); tare != "" && e.Kind == record.CylinderWeighed {
		t, err := units.ParseMass(tare, e.MassUnit)
		if err != nil {
			return asFail(err).At("tare")
		}
		if t > m {
			return fail.Of(fail.Range, "tare", "cylinder.tare", fail.Args{"tare": tare})
		}
		b.Grams -= int64(math.Round(float64(t) * units.Kilo))
		if !hasUnit(tare) {
			tare += " " + e.MassUnit
		}
		b.Text += " less " + tare
	}
	if b.Grams < 0 || b.Grams > mostInCylinder || b.Grams == 0 && e.Kind != record.CylinderWeighed {
		return fail.Of(fail.Range, "mass", "cylinder.content", fail.Args{"mass": e.Mass})
	}
	switch e.Kind {
	case record.CylinderBought:
		if b.How != "bought" && b.How != "had" {
			return fail.Of(fail.Required, "how", "cylinder.how_came", nil)
		}
	case record.CylinderSent:
		if b.How != "reclaimer" && b.How != "supplier" && b.How != "destroyed" {
			return fail.Of(fail.Required, "how", "cylinder.how_went", nil)
		}
	case record.CylinderMoved:
		if b.Other = cylinderName(e.Other); b.Other == "" {
			return fail.Of(fail.Required, "other", "cylinder.other", nil)
		}
		if b.Other == b.Cylinder {
			return fail.Of(fail.BadValue, "other", "cylinder.same", nil)
		}
	default:
		b.How = ""
	}
	if b.On != "" {
		d, err := ledger.ParseDate(b.On)
		if err != nil {
			return asFail(err).At("on")
		}
		// Somewhere it is tomorrow already.
		if d.After(ledger.On(a.Now().Add(14*time.Hour), time.UTC)) {
			return fail.Of(fail.Range, "on", "date.future", fail.Args{"day": d})
		}
	}
	ev, err := a.event(act.By, "", "", "", e.Kind, b)
	if err != nil {
		return err
	}
	return a.append(ctx, act, ev)
}

// WithdrawCylinder takes an event of a cylinder back.
func (a *App) WithdrawCylinder(ctx context.Context, act Act, event record.ID) error {
	return a.again(ctx, act, func() ([]Mark, []record.Event, error) {
		house, err := a.store.SiteEvents(ctx, "") // cylinders belong to the house
		if err != nil {
			return nil, nil, err
		}
		there := func(e record.Event) bool { return e.ID == event && slices.Contains(record.CylinderKinds(), e.Kind) }
		switch {
		case takenBackIn(house, event):
			return nil, nil, nil
		case !slices.ContainsFunc(house, there):
			return nil, nil, notFound("entry")
		}
		e, err := a.event(act.By, "", "", "", record.Withdrawn, record.EmptyBody{})
		e.Corrects = event
		return []Mark{{Events: len(house)}}, []record.Event{e}, err
	})
}

// cylinderEntry books an event of a cylinder; ok is false for any other event.
func cylinderEntry(e record.Event) (x ledger.Entry, ok bool) {
	var b record.CylinderBody
	if !slices.Contains(record.CylinderKinds(), e.Kind) || !e.Known() || json.Unmarshal(e.Body, &b) != nil {
		return x, false
	}
	cylinder := ledger.Account{Holder: ledger.Cylinder, Name: cylinderName(b.Cylinder)}
	x = ledger.Entry{
		ID:          string(e.ID),
		At:          e.At,
		Device:      e.Device,
		Seq:         e.Seq,
		Refrigerant: b.Refrigerant,
		From:        cylinder,
		To:          cylinder,
		Grams:       b.Grams,
	}
	note := []string{b.Text}
	outside := func(h ledger.Holder) ledger.Account { return ledger.Account{Holder: h, Name: b.With} }
	day, err := ledger.ParseDate(b.On)
	past := err == nil
	// On a day of the past what came in comes first, what was weighed last.
	var into time.Duration
	switch e.Kind {
	case record.CylinderBought:
		x.Kind, x.From = ledger.Bought, outside(ledger.Supplier)
		if b.How == "had" {
			x.Kind = ledger.Opening
		}
	case record.CylinderSent:
		into = 18 * time.Hour
		switch b.How {
		case "destroyed":
			x.Kind, x.To = ledger.Destroy, outside(ledger.Destroyed)
		case "supplier":
			x.Kind, x.To = ledger.SentAway, outside(ledger.Supplier)
		default:
			x.Kind, x.To = ledger.SentAway, outside(ledger.Reclaimer)
		}
	case record.CylinderMoved:
		into = 12 * time.Hour
		x.Kind, x.To = ledger.Transfer, ledger.Account{Holder: ledger.Cylinder, Name: cylinderName(b.Other)}
	case record.CylinderWeighed:
		into = 24*time.Hour - time.Second
		x.Kind, x.From, x.Content, x.Grams = ledger.Counted, ledger.Account{Holder: ledger.Difference}, b.Grams, 0
	}
	if past {
		x.At = day.Start().Add(into)
	}
	if b.Receipt != "" {
		note = append(note, "receipt "+b.Receipt)
	}
	x.Note = strings.Join(note, ", ")
	return x, x.Check() == nil
}

// CylinderBook is every cylinder that the house ever had.
type CylinderBook struct {
	Cylinders []Cylinder // by name
	Totals    []ledger.Total
	// Names are the machines by id, as everyone calls them with their site.
	Names map[string]string
}

// Cylinder is one cylinder.
type Cylinder struct {
	Name     string
	Holds    []ledger.Balance // what it holds or held last by the book; zero when it is empty
	Findings []ledger.Finding
	Lines    []CylinderLine // oldest first
}

// CylinderLine is an entry as the cylinder sees it.
type CylinderLine struct {
	ledger.Entry
	Change int64 // grams into it, out of it when negative
	After  int64 // of this refrigerant, by the book
	// Own says that the entry came from a form of the cylinder's own and can be taken back there.
	Own bool
}

// Find returns a cylinder however its number is typed.
func (b *CylinderBook) Find(name string) (*Cylinder, bool) {
	name = cylinderName(name)
	for i := range b.Cylinders {
		if b.Cylinders[i].Name == name {
			return &b.Cylinders[i], true
		}
	}
	return nil, false
}

// Cylinders returns the house's cylinders with what they hold and their history.
//
//   - errors: the store fails
//   - cost: as [App.Ledger]
func (a *App) Cylinders(ctx context.Context) (*CylinderBook, error) {
	book, names, err := a.ledger(ctx)
	if err != nil {
		return nil, err
	}
	out := &CylinderBook{Totals: book.Totals(), Names: names}
	at := map[string]*Cylinder{}
	running := map[string]map[string]int64{}
	for _, e := range book.Entries() {
		for _, way := range []struct {
			a    ledger.Account
			sign int64
		}{{e.From, -1}, {e.To, 1}} {
			if way.a.Holder != ledger.Cylinder {
				continue
			}
			c := at[way.a.Name]
			if c == nil {
				c = &Cylinder{Name: way.a.Name}
				at[way.a.Name], running[way.a.Name] = c, map[string]int64{}
			}
			r := running[way.a.Name]
			r[e.Refrigerant] += way.sign * e.Grams
			own := e.From.Holder != ledger.Machine && e.To.Holder != ledger.Machine
			c.Lines = append(c.Lines, CylinderLine{e, way.sign * e.Grams, r[e.Refrigerant], own})
		}
	}
	for name, c := range at {
		for gas, g := range running[name] {
			c.Holds = append(
				c.Holds,
				ledger.Balance{Account: ledger.Account{Holder: ledger.Cylinder, Name: name}, Refrigerant: gas, Grams: g},
			)
		}
		slices.SortFunc(c.Holds, func(x, y ledger.Balance) int { return strings.Compare(x.Refrigerant, y.Refrigerant) })
		for _, f := range book.Findings() {
			if f.Account == (ledger.Account{Holder: ledger.Cylinder, Name: name}) {
				c.Findings = append(c.Findings, f)
			}
		}
		out.Cylinders = append(out.Cylinders, *c)
	}
	slices.SortFunc(out.Cylinders, func(x, y Cylinder) int { return strings.Compare(x.Name, y.Name) })
	return out, nil
}
