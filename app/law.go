package app

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// Clocks is what the rules ask of a machine today. Known is false when it is not known whose rules hold; None says
// that a person said that none on file do.
type Clocks struct {
	law.Result
	Known, None bool
}

// NoRules is the word of a site for which no rules on file hold.
const NoRules = "none"

// Rules is whose rules hold at a site. Guessed: taken from the time zone, since nobody said; Known is false when
// neither says. None: a person said that no rules on file hold.
type Rules struct {
	law.Jurisdiction
	Known, Guessed, None bool
}

// RulesOf returns whose rules hold at a site: what a person said, else what its time zone suggests.
//
//   - errors: the zones do not load
func RulesOf(s record.Site) (Rules, error) {
	if s.Jurisdiction == NoRules {
		return Rules{None: true}, nil
	}
	if j := law.Jurisdiction(s.Jurisdiction); slices.Contains(law.Jurisdictions(), j) {
		return Rules{Jurisdiction: j, Known: true}, nil
	}
	j, known, err := law.JurisdictionOf(s.Zone)
	return Rules{Jurisdiction: j, Known: known, Guessed: known}, err
}

// clocks returns the duties of a machine on the site's calendar day at an instant.
//
//   - out: Result.Assumed names what was taken for granted: the jurisdiction from the site's time zone, the class
//     from what the machine cools
//   - errors: those of package law
//   - source: package law
func clocks(m *record.Machine, s record.Site, at time.Time) (*Clocks, error) {
	rules, err := RulesOf(s)
	if err != nil || !rules.Known {
		return &Clocks{None: rules.None}, err
	}
	on := ledger.On(at, s.Location())
	lm, assumed := lawMachine(m, rules.Jurisdiction, s.Location(), on)
	if rules.Guessed {
		assumed = append([]string{"jurisdiction_from_zone"}, assumed...)
	}
	r, err := law.Duties(lm, on)
	if err != nil {
		return nil, err
	}
	r.Assumed = append(assumed, r.Assumed...)
	return &Clocks{Result: r, Known: true}, nil
}

// retrofit says what another refrigerant would mean for a machine.
//
//   - in: the machine; a designation
//   - out: as [law.Retrofit]
//   - errors: an unknown designation; fail.Required where nobody knows whose rules hold
func retrofit(m *record.Machine, s record.Site, to string, at time.Time) ([]law.Change, error) {
	rules, err := RulesOf(s)
	if err != nil {
		return nil, err
	}
	if !rules.Known {
		return nil, fail.Of(fail.Required, "to", "law.jurisdiction_unknown", nil)
	}
	on := ledger.On(at, s.Location())
	lm, _ := lawMachine(m, rules.Jurisdiction, s.Location(), on)
	return law.Retrofit(lm, to, on)
}

// lawEventOf maps kinds of work to what the rules count.
var lawEventOf = map[string]law.EventKind{
	"leak_repaired":       law.Repaired,
	"joint_brazed":        law.Repaired,
	"repair_tested":       law.InitialTest,
	"repair_tested_again": law.FollowUpTest,
	"leak_inspected":      law.LeakInspection,
}

// lawMachine is a machine as the rules see it.
func lawMachine(m *record.Machine, j law.Jurisdiction, zone *time.Location, on ledger.Date) (law.Machine, []string) {
	var assumed []string
	out := law.Machine{
		Name:         m.Name,
		Jurisdiction: j,
		Class:        law.Class(m.Law.Class),
		Refrigerant:  m.Refrigerant,
		Subsector:    m.Law.Subsector,
		Hermetic:     m.Law.Hermetic,
		Residential:  m.Law.Residential,
		Exempt:       law.Exemption(m.Law.Exempt),
		Shutdown:     m.Law.Shutdown,
		Method:       ledger.Method(m.Law.Method),
	}
	if out.Class == "" {
		assumed = append(assumed, "class_from_application")
		out.Class = law.Commercial
		if x, _ := reading.ParseApplication(m.Application); x == reading.AirConditioning {
			out.Class = law.Comfort
		}
	}
	if m.FullChargeG != nil && *m.FullChargeG > 0 {
		out.FullCharge = mass(*m.FullChargeG)
	}
	switch d, why := installed(m.Installed); {
	case why != "":
		assumed = append(assumed, why)
		fallthrough
	default:
		if !d.After(on) {
			out.Installed = d
		}
	}
	for _, v := range m.Visits {
		at := func(t time.Time) ledger.Date { return ledger.On(t, zone) }
		for _, x := range v.Leaks {
			out.Events = append(out.Events, law.Event{Date: at(x.At), Kind: law.LeakFound})
		}
		for _, x := range v.Work {
			if k, ok := lawEventOf[x.Code]; ok {
				out.Events = append(out.Events, law.Event{Date: at(x.At), Kind: k})
			}
		}
	}
	for _, x := range LawEvents(m, zone) {
		switch {
		case x.Day.After(on):
		case x.What == DetectionRemoved:
			out.Detection = false
		default:
			out.Detection = out.Detection || x.What == string(law.DetectionStarted)
			out.Events = append(out.Events, law.Event{Date: x.Day, Kind: law.EventKind(x.What)})
		}
	}
	for _, b := range balances(m) {
		e := law.Event{Date: ledger.On(b.at, zone), Kind: law.Added, Mass: mass(b.net), Reason: ledger.Leak, SameLeak: b.same}
		switch {
		case b.net < 0:
			e.Kind, e.Mass, e.Reason, e.SameLeak = law.Removed, mass(-b.net), "", ""
		case b.lost < b.net:
			e.Reason = ledger.Recharge
		}
		out.Events = append(out.Events, e)
	}
	out.Events = slices.DeleteFunc(out.Events, func(e law.Event) bool { return e.Date.After(on) })
	return out, assumed
}

func mass(grams int64) units.Mass { return units.Mass(float64(grams) / units.Kilo) }

// balance is a visit's refrigerant: net is what went in less what came out, lost what of it made up a loss.
type balance struct {
	visit     *record.Visit
	at        time.Time
	net, lost int64
	same      ledger.SameLeak
}

// AddedBefore is the day of the last visit before another that added refrigerant to make up a loss, and whether that is
// so near to the day asked that what is added now is proposed to make up the loss of the same leak.
//
//   - out: false where there is none
func AddedBefore(m *record.Machine, visit record.ID, zone *time.Location, on ledger.Date) (day ledger.Date, proposed, ok bool) {
	for _, b := range balances(m) {
		if b.visit.ID == visit || b.lost <= 0 {
			continue
		}
		if d := ledger.On(b.at, zone); !d.After(on) {
			day, ok = d, true
		}
	}
	return day, ok && ledger.ContinuesByDate(day, on), ok
}

// balances weighs each visit that moved refrigerant. What was taken out goes back first, in the same visit or within
// the next 30 days (judgement: a repair that took two visits); what goes in beyond that was lost.
func balances(m *record.Machine) []balance {
	var out []balance
	var owed int64
	var since time.Time
	for _, v := range m.Visits {
		b := balance{visit: v}
		for _, g := range v.Moves {
			b.at = g.At
			if g.Direction == "added" {
				b.net += g.Grams
				if said := ledger.SameLeak(g.SameLeak); said != "" {
					b.same = said
				}
			} else {
				b.net -= g.Grams
			}
		}
		if b.at.Sub(since) > 30*24*time.Hour {
			owed = 0
		}
		switch {
		case b.net == 0:
			continue
		case b.net < 0:
			owed, since = owed-b.net, b.at
		default:
			back := min(owed, b.net)
			owed -= back
			b.lost = b.net - back
		}
		out = append(out, b)
	}
	return out
}

// installed reads the plate's day of installation: a date, or a year.
func installed(s string) (d ledger.Date, why string) {
	s = strings.TrimSpace(s)
	if s == "" {
		return ledger.Date{}, ""
	}
	if d, err := ledger.ParseDate(s); err == nil {
		return d, ""
	}
	if d, err := ledger.ParseDate(s + "-01-01"); err == nil {
		return d, "installed_year_only"
	}
	return ledger.Date{}, "installed_unreadable"
}

// ledgerKinds are the kinds of event that the ledger is made from.
var ledgerKinds = append(record.CylinderKinds(), record.MachineSaved, record.VisitOpened, record.GasMoved, record.Withdrawn)

// Ledger returns the refrigerant of all machines and cylinders as double entry: every movement, and for each visit
// that put in more than it took out the loss that this proves. Machines begin with their full charge where it is
// known.
//
//   - errors: the store fails
//   - assumes: a movement without a cylinder's number is booked on "unnamed"; what happened on a day of the past stands at that day in UTC
//   - source: definition
//   - cost: reads every movement, visit and plate, not the readings
func (a *App) Ledger(ctx context.Context) (*ledger.Book, error) {
	b, _, err := a.ledger(ctx)
	return b, err
}

// ledger returns the ledger and the names of the machines in it.
func (a *App) ledger(ctx context.Context) (*ledger.Book, map[string]string, error) {
	var entries []ledger.Entry
	machines := map[record.ID][]record.Event{}
	ofCylinder := map[record.ID]bool{}
	var gone []record.Event
	for cursor := int64(0); ; {
		events, next, err := a.store.Kinds(ctx, cursor, 2000, ledgerKinds...)
		if err != nil {
			return nil, nil, err
		}
		if len(events) == 0 {
			break
		}
		cursor = next
		for _, e := range events {
			switch x, ok := cylinderEntry(e); {
			case ok:
				ofCylinder[e.ID] = true
				entries = append(entries, x)
			case e.Machine != "":
				machines[e.Machine] = append(machines[e.Machine], e)
			case e.Kind == record.Withdrawn && e.Known():
				gone = append(gone, e)
			}
		}
	}
	for _, e := range gone {
		if ofCylinder[e.Corrects] {
			entries = append(entries, withdrawal(e))
		}
	}
	names := map[string]string{}
	for id, events := range machines {
		m, ok := record.ProjectMachine(events)
		if !ok {
			continue
		}
		names[string(id)] = m.Name
		entries = append(entries, moves(&m, events)...)
	}
	b, err := ledger.New(entries)
	return b, names, err
}

func withdrawal(e record.Event) ledger.Entry {
	return ledger.Entry{
		ID:       string(e.ID),
		At:       e.At,
		Device:   e.Device,
		Seq:      e.Seq,
		Site:     string(e.Site),
		Kind:     ledger.Withdrawn,
		Corrects: string(e.Corrects),
	}
}

// afterAll sorts what is reckoned after what was entered at the same instant.
const afterAll = "~"

// moves books the events of one machine.
func moves(m *record.Machine, events []record.Event) []ledger.Entry {
	var out []ledger.Entry
	holds := ledger.Account{Holder: ledger.Machine, Name: string(m.ID)}
	moved := map[record.ID]bool{}
	var first time.Time
	for _, e := range events {
		if first.IsZero() || e.At.Before(first) {
			first = e.At
		}
		var b record.MoveBody
		if e.Kind != record.GasMoved || !e.Known() || json.Unmarshal(e.Body, &b) != nil || b.Grams <= 0 {
			continue
		}
		cylinder := ledger.Account{Holder: ledger.Cylinder, Name: cylinderName(b.Cylinder)}
		if cylinder.Name == "" {
			cylinder.Name = "unnamed"
		}
		x := ledger.Entry{
			ID:          string(e.ID),
			At:          e.At,
			Device:      e.Device,
			Seq:         e.Seq,
			Site:        string(e.Site),
			Kind:        ledger.TopUp,
			Refrigerant: b.Refrigerant,
			From:        cylinder,
			To:          holds,
			Grams:       b.Grams,
			Note:        b.Text,
		}
		if x.Refrigerant == "" {
			x.Refrigerant = m.Refrigerant
		}
		if b.Direction != "added" {
			x.Kind, x.From, x.To = ledger.Recover, holds, cylinder
		}
		moved[e.ID] = true
		out = append(out, x)
	}
	for _, e := range events {
		if e.Known() && e.Kind == record.Withdrawn && moved[e.Corrects] {
			out = append(out, withdrawal(e))
		}
	}
	if len(out) == 0 {
		return nil
	}
	if m.FullChargeG != nil && *m.FullChargeG > 0 {
		out = append(out, ledger.Entry{
			ID:          string(m.ID) + "-opening",
			At:          first,
			Site:        string(m.Site),
			Kind:        ledger.Opening,
			Refrigerant: m.Refrigerant,
			From:        ledger.Account{Holder: ledger.Supplier},
			To:          holds,
			Grams:       *m.FullChargeG,
		})
	}
	for _, b := range balances(m) {
		if b.lost > 0 {
			out = append(out, ledger.Entry{
				ID:          string(b.visit.ID) + "-loss",
				At:          b.at,
				Device:      afterAll,
				Site:        string(m.Site),
				Kind:        ledger.Loss,
				Refrigerant: m.Refrigerant,
				From:        holds,
				To:          ledger.Account{Holder: ledger.Atmosphere},
				Grams:       b.lost,
			})
		}
	}
	return out
}

// RefrigerantMonth returns the refrigerant book of a site in a month, with the names of its machines in place of their ids.
//
//   - in: the month as the site's clock shows it
//   - out: CO₂ equivalents by the edition the site's jurisdiction goes by (the European Union's own, AR4 elsewhere)
//   - errors: [*fail.Error] not found; the store fails
func (a *App) RefrigerantMonth(ctx context.Context, site record.ID, year int, month time.Month) (ledger.Month, error) {
	v, err := a.Site(ctx, site)
	if err != nil {
		return ledger.Month{}, err
	}
	b, names, err := a.ledger(ctx)
	if err != nil {
		return ledger.Month{}, err
	}
	edition := "AR4"
	if rules, err := RulesOf(v.Site); err != nil {
		return ledger.Month{}, err
	} else if rules.Jurisdiction == law.EU {
		edition = "EU 2024/573"
	}
	m, err := b.Month(string(site), year, month, v.Site.Location(), edition)
	if err != nil {
		return m, err
	}
	call := func(x *ledger.Account) {
		if n, ok := names[x.Name]; ok && x.Holder == ledger.Machine {
			x.Name = n
		}
	}
	for i := range m.Entries {
		call(&m.Entries[i].From)
		call(&m.Entries[i].To)
	}
	for i := range m.Accounts {
		call(&m.Accounts[i].Account)
	}
	slices.SortStableFunc(m.Accounts, func(x, y ledger.AccountLine) int {
		return cmp.Or(cmp.Compare(y.Account.Holder, x.Account.Holder), cmp.Compare(x.Account.Name, y.Account.Name))
	})
	return m, nil
}
